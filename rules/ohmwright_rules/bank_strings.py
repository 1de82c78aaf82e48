"""The strings of a bank: its batteries in series between the pole that is nobody's plus and the one that is nobody's minus."""

from __future__ import annotations

from collections.abc import Iterable

from ohmwright.circuit.graph import Source
from ohmwright.study import Study

from ohmwright_rules.strings import joined, strings_in

__all__ = ["bank_strings", "heads_of"]


def bank_strings(
    study: Study, names: Iterable[str], open_gates: frozenset[str], kind: str = "battery"
) -> tuple[tuple[str, ...], ...]:
    """Return the strings of sources of a kind that make one bank while some gates are open, each from minus to plus; one that is in none is one of its own."""
    by_name = {source.name: source for source in study.circuit.sources if source.kind == kind}
    ours = [by_name[name] for name in names if name in by_name]
    group = joined(study, open_gates)
    pluses, minuses = {group[source.plus] for source in ours}, {group[source.minus] for source in ours}
    firsts = {group[source.minus]: source for source in ours if group[source.minus] not in pluses}
    lasts = {group[source.plus]: source for source in ours if group[source.plus] not in minuses}
    found: dict[tuple[str, ...], None] = {}
    for first in firsts.values():
        for last in lasts.values():
            found.update(dict.fromkeys(strings_in(study, kind, first.minus, last.plus, open_gates)))
    met = {name for string in found for name in string}
    found.update({(source.name,): None for source in ours if source.name not in met})
    return tuple(found)


def heads_of(study: Study, sources: Iterable[Source], open_gates: frozenset[str]) -> list[Source]:
    """Return those of some sources that no other one of them stands on: their currents side by side are what the bank gives."""
    ours = list(sources)
    group = joined(study, open_gates)
    minuses = {group[source.minus] for source in ours}
    return [source for source in ours if group[source.plus] not in minuses]
