"""From a settled case to an Operation."""

from __future__ import annotations

from .case import Case
from .elements import Charger, Converter, CurrentSource, SeriesController, Tracker
from .flows import Flows
from .operation import Island, Operation
from .plan import Plan
from .supply import held_outputs

__all__ = ["answer", "islands_of"]


def islands_of(plan: Plan) -> tuple[Island, ...]:
    """The islands of a plan."""
    return tuple([Island(nodes, reference, reference is not None) for nodes, reference in plan.islands])


def answer(case: Case) -> Operation:
    """All quantities of a settled case."""
    system = case.system
    plan = system.plan
    flows = Flows(system)
    potentials: list[float | None] = [*system.high[: plan.size + 1], None]
    offset = system.offset
    if offset is None:
        voltages = tuple([potentials[g] for g in plan.group])
    else:
        voltages = tuple([None if (v := potentials[g]) is None else v + c for g, c in zip(plan.group, offset, strict=True)])
    elements = case.network.elements
    modes: dict[str, str] = {}
    dead: list[str] = []
    if case.idle:
        for index, why in sorted(case.idle.items()):
            modes[elements[index].name] = why
            if why == "dead":
                dead.append(elements[index].name)
    if case.modes:
        _add_devices(case, flows, modes)
    return Operation(
        True,
        "",
        voltages,
        flows.currents,
        flows.powers,
        modes,
        islands_of(plan),
        tuple(dead),
        (),
        _shared(case),
    )


def _add_devices(case: Case, flows: Flows, modes: dict[str, str]) -> None:
    """Both sides of every two-sided element, and the modes."""
    elements = case.network.elements
    system = case.system
    silent = {index for index, mode in case.modes.items() if mode == "dead"}
    controllers = any(isinstance(elements[index], Tracker | SeriesController) for index in case.modes)
    held = held_outputs(case.network, case.loops, silent) if controllers else set()
    currents, powers = flows.currents, flows.powers
    for index, mode in case.modes.items():
        element = elements[index]
        name = element.name
        if mode != "on":
            modes[name] = "off" if mode == "dead" else mode
        if isinstance(element, Charger | CurrentSource):
            currents.setdefault(name, 0.0)
            powers.setdefault(name, 0.0)
        elif isinstance(element, Converter | Tracker | SeriesController):
            into, out = f"{name}.in", f"{name}.out"
            currents.setdefault(out, 0.0)
            currents.setdefault(into, currents[out] if isinstance(element, SeriesController) else 0.0)
            live_in = plan_live(system.plan, element.in_plus, element.in_minus)
            live_out = plan_live(system.plan, element.out_plus, element.out_minus)
            powers[into] = system.volt(element.in_plus, element.in_minus) * currents[into] if live_in else 0.0
            powers[out] = system.volt(element.out_plus, element.out_minus) * currents[out] if live_out else 0.0
            powers[name] = powers[into] - powers[out]
            if mode != "off" and not isinstance(element, Converter) and index not in held:
                modes[name] = "no battery"


def plan_live(plan: Plan, plus: int, minus: int) -> bool:
    """Whether both nodes have a potential."""
    return plan.group[plus] <= plan.size and plan.group[minus] <= plan.size


def _shared(case: Case) -> tuple[tuple[str, ...], ...]:
    """Groups of elements without resistance that close loops with one another."""
    forest = case.system.plan.forest
    groups: list[set[int]] = []
    for loop in forest.loops if forest is not None else ():
        joined = set(loop)
        apart = []
        for group in groups:
            if group & joined:
                joined |= group
            else:
                apart.append(group)
        groups = [*apart, joined]
    names = case.system.reading.merge_owners
    found = [tuple([names[k] for k in sorted(group)]) for group in groups if len(group) > 1]
    if case.soft:
        found.append(tuple([case.network.elements[index].name for index in sorted(case.soft)]))
    return tuple(found)
