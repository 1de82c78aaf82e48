"""What an inverter feeds: its outlets, its own and those on panels, and the settings of switches in which they are joined to it."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

from ohmwright.circuit.graph import Branch
from ohmwright.study import Study
from ohmwright_grammar.kinds.connector import Half, Pin
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.kinds.switch import Switching

from ohmwright_rules.kept import kept
from ohmwright_rules.mains_ports import mains_reach

__all__ = ["ac_near", "ac_reach", "ac_settings", "earth_pin", "feeding_inverters", "has_output", "is_floating", "outlet_halves"]

_MOST_SETTINGS = 256


def feeding_inverters(study: Study) -> tuple[Inverter, ...]:
    """Return the inverters whose output something is joined to, or that say what outlet they have, in name order."""
    found = (part for part in study.of(Inverter) if has_output(study, part))
    return tuple(sorted(found, key=lambda part: part.name))


def has_output(study: Study, part: Inverter) -> bool:
    """Tell whether anything is joined to the output of an inverter, or its outlet is described."""
    return part.outlet is not None or len(mains_reach(study, f"{part.name}.L")) > 1


def outlet_halves(study: Study, part: Inverter) -> tuple[Half, ...]:
    """Return the connector halves that are outlets of an inverter: those that say so, or that sit on a panel and are no inlets."""
    near = mains_reach(study, f"{part.name}.L")
    names = sorted({study.build.nodes.get(node, "") for node in near})
    halves = (study.part(name) for name in names)
    return tuple(half for half in halves if isinstance(half, Half) and _is_outlet(half))


def _is_outlet(half: Half) -> bool:
    if half.direction is not None:
        return half.direction in ("outlet", "both")
    return half.on_panel is True and half.form != "pins"


def earth_pin(half: Half) -> Pin | None:
    """Return the pin of a half that promises protective earth, None where none does."""
    return next((pin for pin in half.pins or () if pin.polarity == "PE"), None)


def is_floating(part: Inverter) -> bool | None:
    """Tell whether the output of an inverter floats: as its system says, else by its neutral; None where nobody says."""
    if part.ac_system is not None:
        return part.ac_system == "floating"
    if part.neutral_bond is not None:
        return part.neutral_bond == "never"
    return None


def ac_near(study: Study) -> dict[str, list[Branch]]:
    """Return the branches of the mains side by their nodes."""
    return kept(study, _near)


def _near(study: Study) -> dict[str, list[Branch]]:
    found: dict[str, list[Branch]] = {}
    for branch in study.circuit.ac_branches:
        found.setdefault(branch.start, []).append(branch)
        found.setdefault(branch.end, []).append(branch)
    return found


def ac_reach(study: Study, start: str, opened: frozenset[str]) -> dict[str, Branch | None]:
    """Return the nodes of the mains side that are joined to one while some gates are open, each with the branch by which it was reached."""
    near = ac_near(study)
    came: dict[str, Branch | None] = {start: None}
    queue = [start]
    for node in queue:
        for branch in near.get(node, ()):
            other = branch.other(node)
            if other not in came and branch.gate not in opened:
                came[other] = branch
                queue.append(other)
    return came


def ac_settings(study: Study) -> tuple[frozenset[str], ...]:
    """Return the sets of open gates of the mains side in which everything else may be closed: selectors in one position, barred switches one at a time."""
    return kept(study, _settings)


def _settings(study: Study) -> tuple[frozenset[str], ...]:
    gates = {branch.gate for branch in study.circuit.ac_branches if branch.gate}
    choices = list(_choices(study, gates))
    total = 1
    for choice in choices:
        total *= len(choice)
    if total > _MOST_SETTINGS:
        return (frozenset(),)
    return tuple(sorted({frozenset().union(*chosen) for chosen in product(*choices)}, key=sorted))


def _choices(study: Study, gates: set[str]) -> Iterator[list[frozenset[str]]]:
    positions: dict[str, set[str]] = {}
    for branch in study.circuit.ac_branches:
        if branch.kind == "selector":
            positions.setdefault(branch.part, set()).add(branch.gate)
    groups = [sorted(found) for _, found in sorted(positions.items())]
    groups += [sorted(set(group) & gates) for group in study.anatomy.barred_together]
    for part in sorted(study.of(Switching), key=lambda part: part.name):
        groups += [sorted({part.name, other} & gates) for other in part.barred_with or ()]
    for _, matings in sorted(study.anatomy.matings_of.items()):
        groups.append(sorted(set(matings) & gates))
    for group in groups:
        if len(group) > 1:
            yield [frozenset(gate for gate in group if gate != chosen) for chosen in group]
