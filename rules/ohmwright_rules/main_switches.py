"""Which switch is the main one, and what it parts."""

from __future__ import annotations

from ohmwright.circuit.graph import Branch
from ohmwright.circuit.parts import gate_of_position
from ohmwright.study import Study
from ohmwright_grammar.kinds.switch import Disconnect, Selector, Switching
from ohmwright_grammar.records import record

from ohmwright_rules.kept import kept

__all__ = ["MainSwitch", "main_switches", "switches_of"]


@record
class MainSwitch:
    """A main switch, the gates that it opens, and its ways through the circuit; `declared` tells that it says so, else it is the only one."""

    part: Switching
    gates: frozenset[str]
    ways: tuple[Branch, ...]
    declared: bool


def switches_of(study: Study) -> tuple[Switching, ...]:
    """Return every switch, relay and selector that stands in the DC circuit, in name order; low-voltage disconnects open by themselves."""
    used = {branch.part for branch in study.circuit.branches if branch.kind in ("switch", "relay", "selector")}
    parts = (study.part(name) for name in sorted(used))
    return tuple(part for part in parts if isinstance(part, Switching) and not isinstance(part, Disconnect))


def main_switches(study: Study) -> tuple[MainSwitch, ...]:
    """Return the main switches: those that say so, else the only switch there is; none where it is not told which of several it is."""
    return kept(study, _mains)


def _mains(study: Study) -> tuple[MainSwitch, ...]:
    found = switches_of(study)
    said = [part for part in found if part.is_main]
    chosen = said or (list(found) if len(found) == 1 and found[0].is_main is None else [])
    return tuple(_main(study, part, bool(said)) for part in chosen)


def _main(study: Study, part: Switching, declared: bool) -> MainSwitch:
    names = {part.name, *(part.ganged_with or ())}
    ways = tuple(
        branch for branch in study.circuit.branches if branch.part in names and branch.kind in ("switch", "relay", "selector")
    )
    gates = {branch.gate for branch in ways}
    if isinstance(part, Selector):
        gates |= {gate_of_position(part.name, position.position) for position in part.positions or ()}
    return MainSwitch(part, frozenset(gates), ways, declared)
