"""Packs that only a device joins which opens when nothing charges: a relay that works with the engine, or one that feels the charging voltage.

Such packs are no bank that shares its charge at rest (a starting battery beside a house battery).
"""

from __future__ import annotations

from ohmwright.circuit.batteries import rest_voltage_of
from ohmwright.study import SolvedState, Study
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.switch import Disconnect, Relay

from ohmwright_rules.kept import kept
from ohmwright_rules.nets import layout_of
from ohmwright_rules.packs import Bank, Pack, core_of

__all__ = ["banks_at_rest"]


def banks_at_rest(study: Study, bank: Bank) -> tuple[Bank, ...]:
    """Return what stays of a bank when every device is open that opens at rest: itself, smaller banks, or nothing."""
    gates = frozenset(gate for gate in kept(study, _opening) if gate not in bank.open_gates)
    if not gates:
        return (bank,)
    layout = layout_of(study, bank.open_gates | gates)
    groups: dict[tuple[int, int], list[Pack]] = {}
    for pack in bank.packs:
        groups.setdefault((layout.net(pack.minus), layout.net(pack.plus)), []).append(pack)
    if len(groups) == 1:
        return (bank,)
    return tuple(Bank(tuple(packs), bank.open_gates | gates) for packs in groups.values() if len(packs) > 1)


def _opening(study: Study) -> frozenset[str]:
    """Return the gates between batteries that are open whenever nothing charges."""
    parts = {branch.gate: study.part(branch.part) for branch in core_of(study) if branch.gate}
    found = {gate for gate, part in parts.items() if isinstance(part, Disconnect) and _closes_by_charging_only(study, part)}
    relays = {gate for gate, part in parts.items() if isinstance(part, Relay) and not part.latching}
    if relays:
        quiet = [state for state in study.states if _is_quiet(study, state)]
        found |= {
            gate
            for gate in relays
            if quiet and all(gate in state.open_gates and gate not in state.unsettled for state in quiet)
        }
    return frozenset(found)


def _closes_by_charging_only(study: Study, part: Disconnect) -> bool:
    """Tell whether a device that feels the voltage closes only above what every battery has at rest; silence is no."""
    if part.closes_at is None:
        return False
    volts = [rest_voltage_of(battery, 1.0) for battery in study.of(Battery)]
    return bool(volts) and all(volt is not None and float(part.closes_at.low) > volt * (1 + 1e-9) for volt in volts)


def _is_quiet(study: Study, state: SolvedState) -> bool:
    """Tell whether a declared state is one in which no source but the batteries gives any current."""
    setup = state.setup
    if setup.origin != "declared" or not state.solved or setup.after_failure:
        return False
    return not any(
        abs(state.current(source.name)) > 1e-6
        for source in study.circuit.sources
        if source.kind in ("charger", "controller", "array")
    )
