"""Names in the settings that only the installed rule packs know: bases, families, rules and their grades, formats of output."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ohmwright_grammar.diagnostics import names_near
from ohmwright_grammar.spans import Span

from ohmwright.reports import WRITERS
from ohmwright.rules import Pack, Rule
from ohmwright.settings.model import Fault, Settings
from ohmwright.text_rules import ENGINE_RULES, OWN_FAMILIES

__all__ = ["rules_by_family", "unknown_in"]


def unknown_in(settings: Settings, packs: tuple[Pack, ...]) -> tuple[Fault, ...]:
    """Return what the settings name that is not there, or that they have no say over; PackError where a pack is broken."""
    return tuple(sorted(_all(settings, packs), key=lambda fault: fault.span))


def rules_by_family(packs: tuple[Pack, ...]) -> dict[str, list[Rule]]:
    """Return the rules of all packs by their families; PackError where a pack is broken."""
    found: dict[str, list[Rule]] = {}
    for pack in packs:
        for rule, _, _ in pack.load():
            found.setdefault(rule.family, []).append(rule)
    return found


def _all(settings: Settings, packs: tuple[Pack, ...]) -> Iterator[Fault]:
    bases = sorted({basis for pack in packs for basis in pack.bases})
    if settings.basis and settings.basis not in bases:
        yield _unknown("basis", settings.basis, bases, "Bases", settings.spans[("basis",)])
    if settings.format and settings.format not in WRITERS:
        yield _unknown("format", settings.format, sorted(WRITERS), "Formats", settings.spans[("output", "format")])
    families = [item for item in settings.left_out if item.what == "family"]
    if families:
        known = sorted(rules_by_family(packs))
        for item in families:
            if item.name in OWN_FAMILIES:
                yield Fault(
                    f"The family {item.name!r} is the linter's own and cannot be left out.",
                    item.span,
                    f"Families: {', '.join(known)}.",
                )
            elif item.name not in known:
                yield _unknown("family of rules", item.name, known, "Families", item.span)
        yield from _twice("family", [(item.name, item.span) for item in families])
    if settings.grades:
        yield from _grades(settings, packs)
    if settings.accepted:
        from ohmwright.settings.accepting import accepted_waivers

        yield from accepted_waivers(settings)[1]


def _grades(settings: Settings, packs: tuple[Pack, ...]) -> Iterator[Fault]:
    ready = {item.id: item for pack in packs for item in pack.ready()}
    own = {rule.id: rule for rule in ENGINE_RULES}
    for change in settings.grades:
        rule, _, grade = change.grade.partition(".")
        known = ready[rule].rule if rule in ready else own.get(rule)
        if known is None:
            yield _unknown("rule", rule, [*ready, *own], "Rules", change.span, "Print all of them with: ohmwright basis")
        elif known.family == "text":
            yield Fault(
                "A text that cannot be read is an error, whatever the settings say.", change.span, "Take the entry out."
            )
        elif grade not in {item.name for item in known.grades}:
            names = [f"{rule}.{item.name}" for item in known.grades]
            message = (
                f"The rule {rule!r} has no grade {grade!r}." if grade else f"{change.grade!r} names a rule, no grade of it."
            )
            yield Fault(message, change.span, f"Its grades: {', '.join(names)}.")
    yield from _twice("grade", [(item.grade, item.span) for item in settings.grades])


def _twice(what: str, items: list[tuple[str, Span]]) -> Iterator[Fault]:
    first: dict[str, Span] = {}
    for name, span in items:
        before = first.setdefault(name, span)
        if before is not span:
            yield Fault(f"The {what} {name!r} is given twice.", span, f"Line {before.line} names it too.")


def _unknown(what: str, name: str, known: list[str], words: str, span: Span, otherwise: str = "") -> Fault:
    near = names_near(name, known, words) or otherwise or f"{words}: {', '.join(known)}."
    return Fault(f"There is no {what} {name[:60]!r}.", span, near)


def grades_of(packs: tuple[Pack, ...], changes: Mapping[str, str]) -> dict[str, str]:
    """Return what each changed grade would be without the settings, in words."""
    own = {rule.id: rule for rule in ENGINE_RULES}
    ready = {item.id: item for pack in packs for item in pack.ready()}
    return {
        name: (ready[rule].rule if rule in ready else own[rule]).grade(grade).severity.word
        for name in changes
        for rule, _, grade in (name.partition("."),)
    }
