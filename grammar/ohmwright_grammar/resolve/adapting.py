"""Adaptations: a published build with a reader's changes laid over it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ohmwright_grammar.bodies import AssemblyText, Body, Change, Default, Entry
from ohmwright_grammar.diagnostics import Diagnostic, names_near
from ohmwright_grammar.kinds.waiver import Waiver
from ohmwright_grammar.properties import FactReader
from ohmwright_grammar.resolve.defaults import merged
from ohmwright_grammar.spans import Span
from ohmwright_grammar.things import Fact

__all__ = ["Source", "laid_over"]

_MEANT_TO_DIFFER = frozenset({"title", "revision", "written", "author", "adapts", "parts_from"})


@dataclass(slots=True)
class Source:
    """What is to be placed: a body's entries with everything that a base brought."""

    body: Body
    entries: list[Entry]
    defaults: list[tuple[Default, ...]]
    assemblies: dict[str, tuple[AssemblyText, tuple[Default, ...]]]
    waivers_of_base: list[Entry]
    changed: dict[str, Span]


def own(body: Body) -> Source:
    """Return a body as it stands, without a base."""
    assemblies: dict[str, tuple[AssemblyText, tuple[Default, ...]]] = {
        name: (text, ()) for name, text in body.assemblies.items()
    }
    return Source(body, list(body.entries), [tuple(body.defaults)], assemblies, [], {})


def laid_over(base: Source, body: Body, problems: list[Diagnostic]) -> Source:
    """Lay an adaptation's body over its base: removals, changes, new things, the rig's own facts."""
    by_name = {entry.name: index for index, entry in enumerate(base.entries) if entry.kind.NAMED}
    entries: list[Entry | None] = list(base.entries)
    changed: dict[str, Span] = dict(base.changed)
    for removal in body.removals:
        index = by_name.get(removal.name)
        if index is None:
            problems.append(_lost(removal.name, removal.span, by_name))
            continue
        entries[index] = None
        changed[removal.name] = removal.span
    for change in body.changes:
        index = by_name.get(change.name)
        entry = entries[index] if index is not None else None
        if index is None or entry is None:
            problems.append(_lost(change.name, change.span, by_name))
            continue
        entries[index] = _changed(entry, change, body.path, problems)
        changed[change.name] = change.span
    waivers = [entry for entry in entries if entry is not None and entry.kind is Waiver]
    kept = [entry for entry in entries if entry is not None and entry.kind is not Waiver]
    named = {entry.name for entry in body.entries if entry.kind.NAMED and entry.kind.KIND == "state"}
    unnamed = {entry.kind for entry in body.entries if entry.kind.KIND == "site"}
    result: list[Entry] = []
    for entry in kept:
        if entry.kind.KIND == "state" and entry.name in named:
            continue  # a state said again takes the published one's place
        if entry.kind in unnamed:
            site = next(item for item in body.entries if item.kind is entry.kind)
            result.append(
                Entry(
                    entry.kind,
                    entry.name,
                    site.span,
                    merged(entry.facts, site.facts, entry.kind, "base"),
                    site.base,
                    site.groups,
                )
            )
            continue
        result.append(entry)
    result.extend(entry for entry in body.entries if entry.kind not in unnamed)
    facts: dict[str, Fact[Any]] = {
        name: fact.carried("base")
        for name, fact in base.body.rig.facts.items()
        if name not in _MEANT_TO_DIFFER or name == "parts_from"
    }
    below = facts.pop("parts_from", None)
    facts.update(body.rig.facts)
    if below is not None and "parts_from" not in facts:
        facts["parts_from"] = below
    combined = Body(body.path)
    combined.rig.facts = facts
    combined.statements = body.statements + base.body.statements
    assemblies = {**base.assemblies, **{name: (text, ()) for name, text in body.assemblies.items()}}
    return Source(
        combined, result, [*base.defaults, tuple(body.defaults)], assemblies, [*base.waivers_of_base, *waivers], changed
    )


def _lost(name: str, place: Span, known: dict[str, int]) -> Diagnostic:
    return Diagnostic(
        "lost-property", f"The published build has no {name!r} that could be changed.", place,
        names_near(name, known) or "Take the statement out, or declare the thing anew.", name,
    )  # fmt: skip


def _changed(entry: Entry, change: Change, path: str, problems: list[Diagnostic]) -> Entry:
    facts = FactReader(path, problems).read(entry.kind, change.name, change.head, change.block)
    laid = {name: fact.carried("changed") for name, fact in facts.facts.items()}
    base = facts.base if facts.base is not None else entry.base
    lower = entry.facts if facts.base is None else {}
    return Entry(entry.kind, entry.name, change.span, merged(lower, laid, entry.kind, "base"), base, entry.groups, entry.mate)
