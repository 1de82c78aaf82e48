"""What is to be said of a build that adapts a published one: that the base is the one named, and which of its waivers do not carry over."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from ohmwright_grammar.files import Source
from ohmwright_grammar.kinds.rig import Adapts, Rig
from ohmwright_grammar.kinds.site import Site
from ohmwright_grammar.kinds.waiver import Waiver
from ohmwright_grammar.model import AdaptedFrom, Build
from ohmwright_grammar.printing import say_change, say_fact
from ohmwright_grammar.records import replace
from ohmwright_grammar.resolve import Loader
from ohmwright_grammar.spans import Edit, Span
from ohmwright_grammar.things import data_of

from ohmwright.engine import Ruled
from ohmwright.findings import Finding, Related
from ohmwright.results import Adapted, Judged, Unchecked
from ohmwright.rules import Rule
from ohmwright.text_rules import engine_rule
from ohmwright.values import shown
from ohmwright.waiving import bound_of

__all__ = ["about_base", "adapted_from", "ruled_here"]

Judge = Callable[[str, Rule, Finding], Judged]


def about_base(build: Build, judge: Judge) -> tuple[Judged, ...]:
    """Return the findings of an adaptation about its base, none for a build that stands alone."""
    if build.adapted is None:
        return ()
    changed, confirm = engine_rule("changed-base"), engine_rule("waiver-to-confirm")
    found = [judge(build.path, changed, finding) for finding in _changed(build, build.adapted)]
    found += [judge(build.path, confirm, finding) for finding in _to_confirm(build, build.adapted)]
    return tuple(found)


_NO_PART = frozenset({"waive", "state", "require", "site", "procedure", "label"})


def adapted_from(build: Build, loader: Loader) -> Adapted | None:
    """Return what an adaptation says otherwise than its base: the site, and each thing that it changes, leaves out or adds, in name order."""
    base = build.adapted
    own, copy = loader.file(build.path), loader.file(base.path) if base is not None else None
    if base is None or copy is None or isinstance(own, Source) or isinstance(copy, Source):
        return None
    changes: dict[str, str] = {}
    for change in own.body.changes:
        name = change.name or change.head
        changes[name] = "; ".join(words for words in (changes.get(name, ""), say_change(change)) if words)
    changes.update({removal.name: "not built" for removal in own.body.removals})
    changes.update(
        {entry.name: f"new {entry.kind.KIND}" for entry in own.body.entries if entry.name and entry.kind.KIND not in _NO_PART}
    )
    title = copy.body.rig.facts.get(Rig.title.name)
    return Adapted(
        base.path,
        str(title.value) if title is not None else "",
        base.revision_found,
        _site(build),
        tuple(sorted(changes.items())),
    )


def _site(build: Build) -> str:
    """Return the site of a build in the figures that decide most: its air, the record low, the sun."""
    site = build.one(Site)
    if site is None:
        return ""
    known = data_of(Site)
    wanted = (Site.ambient.name, Site.record_low.name, Site.sun.name)
    return "; ".join(say_fact(known[name], site.facts[name]) for name in wanted if name in site.facts)


def _placed_here(build: Build, span: Span) -> Span:
    """Return the place in the inspected file that is answerable for a thing: of what the base declares, the statement that adapts it."""
    if build.adapted is None or span.path == build.path:
        return span
    return build.adapted.span


def _told_here(build: Build, item: Judged) -> Judged:
    """Return a finding with its primary place in the inspected file; where its thing is declared is then a related place."""
    finding = item.finding
    place = _placed_here(build, finding.span)
    if place is finding.span:
        return item
    related = (Related("It is declared here.", finding.span), *finding.related)
    return replace(item, finding=replace(finding, span=place, related=related))


def _changed(build: Build, base: AdaptedFrom) -> Iterator[Finding]:
    adapts: Adapts | None = build.rig.adapts
    written = adapts.path if adapts is not None else base.path
    line = f'adapts "{written}"'
    if base.revision_found:
        line += f" revision {_word(base.revision_found)}"
    line += f' hash "{base.hash_found}"'
    subject = (base.path,)
    if not base.hash_said:
        message = (
            f"The published build {base.path} is named without its content hash, so that a change of it would not be noticed."
        )
        yield Finding("no-hash", subject, message, base.span, remedy=f"Write: {line}", edits=(Edit(base.span, line),))
    elif base.hash_said.lower() != base.hash_found:
        message = (
            f"The published build {base.path} is not the one named: its content hash begins with {base.hash_found[:12]}, "
            f"not with {base.hash_said[:12]}."
        )
        remedy = f"Put back the copy that was adapted; or look at what has changed in it, and then write: {line}"
        yield Finding("other-hash", subject, message, base.span, remedy=remedy)
    if base.revision_said and base.revision_said != base.revision_found:
        found = f"has revision {base.revision_found}" if base.revision_found else "names no revision"
        message = f"The published build {base.path} {found}; revision {base.revision_said} is the one named."
        yield Finding(
            "other-revision", subject, message, base.span, remedy=f"Look at what has changed in it, and then write: {line}"
        )


def _word(text: str) -> str:
    plain = bool(text) and not any(c.isspace() or c in ';,{}"#=:()' for c in text)
    return text if plain else f'"{text}"'


def _to_confirm(build: Build, base: AdaptedFrom) -> Iterator[Finding]:
    own = {(waiver.name, name) for waiver in build.waivers for name in waiver.on or ()}
    for waiver in base.waivers:
        open_on = tuple(name for name in waiver.on or () if (waiver.name, name) not in own)
        if not open_on and waiver.on:
            continue
        names = ", ".join(open_on) or "nothing"
        message = (
            f"The published build waives {waiver.name} on {names}{_up_to(waiver)}; that does not carry over to this build."
        )
        remedy = (
            f"If it holds here too, write: {_statement(waiver, open_on)}"
            if open_on
            else "Nothing is to be done: it excuses nothing."
        )
        related = (Related("It is waived here.", waiver.span),)
        yield Finding("to-confirm", (waiver.name, *open_on), message, base.span, remedy=remedy, related=related)


def _up_to(waiver: Waiver) -> str:
    if waiver.up_to is not None:
        return f" up to {shown(bound_of(waiver.up_to))}"
    return f" down to {shown(bound_of(waiver.down_to))}" if waiver.down_to is not None else ""


def _statement(waiver: Waiver, names: tuple[str, ...]) -> str:
    until = f" until {waiver.until.isoformat()}" if waiver.until is not None else " until …"
    return f'waive {waiver.name} on {", ".join(names)}{_up_to(waiver)} because "{waiver.because or "…"}"{until}'


def ruled_here(build: Build, ruled: Ruled) -> Ruled:
    """Return what the rules said of an adaptation with the primary places in the adaptation itself."""

    def unchecked(item: Unchecked) -> Unchecked:
        return replace(item, outcome=replace(item.outcome, span=_placed_here(build, item.outcome.span)))

    return replace(
        ruled,
        findings=tuple(_told_here(build, item) for item in ruled.findings),
        waived=tuple(_told_here(build, item) for item in ruled.waived),
        yielded=tuple(_told_here(build, item) for item in ruled.yielded),
        baselined=tuple(_told_here(build, item) for item in ruled.baselined),
        switched_off=tuple(_told_here(build, item) for item in ruled.switched_off),
        not_checked=tuple(unchecked(item) for item in ruled.not_checked),
        promises=tuple(replace(item, span=_placed_here(build, item.span)) for item in ruled.promises),
    )
