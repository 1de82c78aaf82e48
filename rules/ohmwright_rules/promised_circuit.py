"""Promises that the solved circuit answers: a cord of a length, the drop at a terminal, loads that start."""

from __future__ import annotations

from collections.abc import Callable

from ohmwright.circuit.graph import Branch
from ohmwright.missing import Missing
from ohmwright.references import Step, common_practice
from ohmwright.states.setup import DEFAULT_CHARGE, Level, Running
from ohmwright.study import SolvedState, Study
from ohmwright.values import Amount, shown
from ohmwright_grammar.kinds.cable import Cable
from ohmwright_grammar.kinds.inverter import Converter, Inverter
from ohmwright_grammar.kinds.load import AcLoad, Load
from ohmwright_grammar.kinds.requirement import Requirement
from ohmwright_grammar.records import record, replace

from ohmwright_rules.basis import get
from ohmwright_rules.conductors import basis_of, cables_of
from ohmwright_rules.drops import Run, Supplied, run_of, supplied_things
from ohmwright_rules.promises import Answer
from ohmwright_rules.run_energy import taken_by
from ohmwright_rules.strings import joined_without
from ohmwright_rules.surges import start_power
from ohmwright_rules.warm_copper import warm_state

__all__ = ["dropping", "on_a_cord", "starting"]

_DROP = "voltage lost from the posts to the load / nominal voltage <= promised"
_START = "power at its start, with what else runs on the inverter <= peak power"
_LENGTH = "0.3 m long"


@record
class _Lost:
    """The worst drop of something that is supplied: a share of the nominal voltage, and where it was met."""

    thing: Supplied
    run: Run
    share: float
    extra: float
    nominal: float


def on_a_cord(study: Study, requirement: Requirement) -> Answer:
    """Hold the drop at whatever lies beyond a cord of the promised length against what is promised (R11)."""
    cord = requirement.cord
    assert cord is not None
    cables = [cables_of(study)[cord.cord]] if cord.cord in cables_of(study) else []
    if not cord.cord:
        cables = sorted(cables_of(study).values(), key=lambda cable: cable.name)
    if not cables:
        return Answer("cannot-do", _DROP, (cord.cord or "rig",), missing=Missing("a cord of that name", study.build.rig.span))
    length = float(cord.length.high)
    if cord.drop is None:
        return _long_enough(study, cables, length, cord.length.unit)
    worst, missing = None, None
    for cable in cables:
        found = _worst(study, frozenset(branch.name for branch in _cores(study, cable)), length)
        if isinstance(found, Missing):
            missing = missing or found
        elif worst is None or (found is not None and found.share > worst.share):
            worst = found
    subject = (cables[0].name,) if len(cables) == 1 else tuple(cable.name for cable in cables)
    limit = Amount(float(cord.drop.low), "share")
    if worst is None:
        return Answer("cannot-do", _DROP, subject, missing=missing or Missing("a load beyond it", cables[0].span))
    return _answer(study, subject, worst, limit, missing, f" on a cord of {shown(Amount(length, 'length', cord.length.unit))}")


def _cores(study: Study, cable: Cable) -> list[Branch]:
    return [branch for branch in study.circuit.wires() if branch.part == cable.name]


def _long_enough(study: Study, cables: list[Cable], length: float, unit: str) -> Answer:
    formula = "promised length <= length of the cord"
    known: list[tuple[float, Cable]] = []
    for cable in cables:
        lengths = [branch.conductor.length for branch in _cores(study, cable) if branch.conductor is not None]
        said = [float(item.low) for item in lengths if item is not None]
        if said:
            known.append((min(said), cable))
    if not known:
        return Answer(
            "cannot-do", formula, (cables[0].name,), missing=Missing(f"length of {cables[0].name}", cables[0].span, "10 m")
        )
    longest, cable = max(known, key=lambda item: item[0])
    return Answer(
        "cannot-do", formula, (cable.name,), Amount(longest, "length", unit), Amount(length, "length", unit), "at-least",
        words=f"{cable.name} is {{value}} long, {{limit}} are promised",
        remedy="Use a longer cord.",
        reference=common_practice("as promised"),
    )  # fmt: skip


def dropping(study: Study, requirement: Requirement) -> Answer:
    """Hold the drop at a load, or at whatever hangs on a terminal or part, against what is promised (R11)."""
    promised = requirement.drop
    assert promised is not None
    name = promised.at
    found = _worst(study, None, None, name)
    limit = Amount(float(promised.drop.low), "share")
    if isinstance(found, Missing):
        return Answer("cannot-do", _DROP, (name,), missing=found)
    if found is None:
        return Answer(
            "cannot-do", _DROP, (name,), missing=Missing(f"a load at {name} that runs in any state", study.span(name))
        )
    return _answer(study, (name,), found, limit, None, "")


def _worst(study: Study, cores: frozenset[str] | None, length: float | None, at: str = "") -> _Lost | Missing | None:
    """Return the worst drop of what is supplied through some cores, of another length where one is given, or at a node or part."""
    basis = basis_of(study) or get("us-small-craft")
    best: _Lost | None = None
    missing: Missing | None = None
    things = list(supplied_things(study, basis))
    named = [thing for thing in things if at and (thing.part.name == at or at in (thing.plus, thing.minus))]
    for thing in named or (_beyond(study, things, cores) if cores is not None else things):
        for state in study.states:
            if thing.sends or not state.solved or state.setup.is_surge or state.setup.blown or state.setup.short_at:
                continue
            if thing.consumer is not None and not thing.runs(state, warm_state(study, state)):
                continue
            warm = warm_state(study, state)
            way = {branch.name: branch for node in (thing.plus, thing.minus) for branch in warm.way(node)}
            if cores is not None and not cores & set(way):
                continue
            if at and not _is_at(study, thing, set(way), at):
                continue
            run = run_of(study, thing, state, warm)
            if run is None:
                continue
            nominal = _nominal(study, run)
            if nominal is None:
                return Missing("nominal system voltage", study.build.rig.span, "system ~12 V")
            unknown = warm.unknown_on_way(thing.plus, thing.minus)
            if unknown is not None and missing is None:
                missing = Missing(f"gauge or length of {unknown.name}", unknown.span, _LENGTH)
            extra = _extra(state, cores or frozenset(), way, length, warm.ohm)
            if isinstance(extra, Missing):
                return extra
            share = max(0.0, run.lost + extra) / nominal
            if best is None or share > best.share:
                best = _Lost(thing, run, share, extra, nominal)
    return best if missing is None else missing


def _beyond(study: Study, things: list[Supplied], cores: frozenset[str]) -> list[Supplied]:
    """Return what no battery and no converter reaches once some cores are taken away."""
    group = joined_without(study, cores)
    pluses = {group[source.plus] for source in study.circuit.sources if source.kind in ("battery", "converter")}
    minuses = {group[source.minus] for source in study.circuit.sources if source.kind in ("battery", "converter")}
    return [thing for thing in things if group[thing.plus] not in pluses or group[thing.minus] not in minuses]


def _is_at(study: Study, thing: Supplied, way: set[str], at: str) -> bool:
    if thing.part.name == at or at in (thing.plus, thing.minus):
        return True
    nodes = {node for name in way for node in (study.circuit.by_name[name].start, study.circuit.by_name[name].end)}
    return at in nodes or any(study.build.nodes.get(node) == at for node in nodes)


def _nominal(study: Study, run: Run) -> float | None:
    supply = study.part(run.supply)
    if isinstance(supply, Converter) and supply.output_voltage is not None:
        return float(supply.output_voltage.nominal)
    return study.system_voltage


def _extra(
    state: SolvedState, cores: frozenset[str], way: dict[str, Branch], length: float | None, ohm: Callable[[Branch], float]
) -> float | Missing:
    """Return what is lost more where the cord had the promised length [V], with the current as it is; one that is longer already counts as it is."""
    total = 0.0
    for name in cores & set(way):
        branch = way[name]
        assert branch.conductor is not None
        own = branch.conductor.length
        if length is None:
            continue
        if own is None or own.high <= 0:
            return Missing(f"length of {name}", branch.span, _LENGTH)
        total += abs(state.current(name)) * ohm(branch) * max(0.0, length / float(own.high) - 1.0)
    return total


def _answer(study: Study, subject: tuple[str, ...], worst: _Lost, limit: Amount, missing: Missing | None, where: str) -> Answer:
    name = worst.thing.part.name
    state = worst.run.state.name
    steps = [
        Step(
            "U_lost",
            f"from {worst.run.supply} to {name}, both ways, copper warm, state {state!r}",
            worst.run.lost,
            "V",
            "solved circuit",
        ),
    ]
    if abs(worst.extra) > 1e-9:
        steps.append(
            Step("U_more", "for the promised length, with the current as it is", worst.extra, "V", "the cord as declared")
        )
    steps.append(
        Step(
            "drop",
            f"{worst.run.lost + worst.extra:.4g} V / {worst.nominal:.4g} V",
            worst.share,
            "1",
            "share of the nominal voltage",
        )
    )
    return Answer(
        "cannot-do",
        _DROP,
        subject,
        Amount(worst.share, "share"),
        limit,
        steps=tuple(steps),
        words=f"{name}{where} loses {{value}} on its way in state {state!r}; {{limit}} are promised",
        remedy="Use a thicker or a shorter cord, or thicker leads before it.",
        missing=missing,
        related=((name, study.span(name)),),
        reference=common_practice("as promised"),
    )


# starting ----------------------------------------------------------------------------------------------------------


def starting(study: Study, requirement: Requirement) -> Answer:
    """Hold the start of promised loads against the peak of their inverter, or against the voltage that is left at them (R7)."""
    worst: Answer | None = None
    for name in requirement.start or ():
        load = study.part(name)
        if not isinstance(load, Load):
            return Answer("cannot-do", _START, (name,), missing=Missing(f"a load named {name}", study.span(name)))
        answer = _by_inverter(study, load) if isinstance(load, AcLoad) else _by_voltage(study, load)
        if worst is None or _badness(answer) > _badness(worst):
            worst = answer
    return worst if worst is not None else Answer("cannot-do", _START, ("rig",), missing=Missing("a load", requirement.span))


def _badness(answer: Answer) -> float:
    if answer.value is None or answer.limit is None:
        return 1.0
    if answer.sense == "at-most":
        return answer.value.value / answer.limit.value if answer.limit.value > 0 else float("inf")
    return answer.limit.value / answer.value.value if answer.value.value > 0 else float("inf")


def _by_inverter(study: Study, load: AcLoad) -> Answer:
    inverter = next((part for part in study.of(Inverter) if load.name in study.ac_side.loads_of(part.name)), None)
    if inverter is None:
        return Answer("cannot-do", _START, (load.name,), missing=Missing(f"an inverter that feeds {load.name}", load.span))
    volt = float(inverter.ac_voltage.nominal) if inverter.ac_voltage is not None else None
    power = start_power(load, volt)
    subject = (load.name, inverter.name)
    if power is None:
        return Answer(
            "cannot-do", _START, subject, missing=Missing(f"how {load.name} starts", load.span, "starts at 3 times for 1 s")
        )
    if inverter.peak_power is None:
        return Answer(
            "cannot-do",
            _START,
            subject,
            missing=Missing(f"peak power of {inverter.name}", inverter.span, "peak 1000 W for 1 s"),
        )
    peak = inverter.peak_power.power
    steps = (
        Step(
            "P_start",
            f"start of {load.name}",
            power,
            "W",
            "as declared" if load.start is not None else "6 times, a motor: a vendor's range",
        ),
    )
    value, limit = Amount(power, "power", peak.unit), Amount(float(peak.low), "power", peak.unit)
    if power > limit.value * (1 + 1e-9) or inverter.cut_off is None:
        missing = (
            None
            if inverter.cut_off is not None
            else Missing(f"cut-off voltage of {inverter.name}", inverter.span, "cut-off ~10.5 V")
        )
        return Answer(
            "cannot-do", _START, subject, value, limit, steps=steps,
            words=f"{load.name} takes {{value}} when it starts; {inverter.name} gives {{limit}} at most",
            remedy="Use an inverter with a larger peak, or a load with a softer start.", missing=missing,
            related=((f"{inverter.name}: its peak", inverter.span),), reference=common_practice("as promised"),
        )  # fmt: skip
    return _left(study, load, inverter, power, steps)


def _left(study: Study, load: AcLoad, inverter: Inverter, power: float, steps: tuple[Step, ...]) -> Answer:
    formula = "voltage left at the inverter while it starts >= its cut-off"
    subject = (load.name, inverter.name)
    state = _with(study, load, {}, {inverter.name: Running(power=power)})
    if isinstance(state, Missing):
        return Answer("cannot-do", formula, subject, missing=state)
    assert inverter.cut_off is not None
    left = (state.across(f"{inverter.name}.plus", f"{inverter.name}.minus") if state.solved else None) or 0.0
    value, limit = (
        Amount(left, "voltage", inverter.cut_off.unit),
        Amount(float(inverter.cut_off.high), "voltage", inverter.cut_off.unit),
    )
    return Answer(
        "cannot-do", formula, subject, value, limit, "at-least",
        steps=(*steps, Step("U", f"at {inverter.name} while {load.name} starts", left, "V", "solved circuit")),
        words=f"{{value}} is left at {inverter.name} while {load.name} starts; it cuts off at {{limit}}",
        remedy="Use thicker or shorter leads, or a battery of lower resistance.",
        related=((f"{inverter.name}: its cut-off", inverter.span),), reference=common_practice("as promised"),
    )  # fmt: skip


def _by_voltage(study: Study, load: Load) -> Answer:
    formula = "voltage left at the load while it starts >= its lowest"
    start = load.start
    subject = (load.name,)
    if start is None:
        return Answer(
            "cannot-do", formula, subject, missing=Missing(f"how {load.name} starts", load.span, "starts at 3 times for 1 s")
        )
    least = load.bears if load.bears is not None else load.own_cut_off
    if least is None:
        return Answer(
            "cannot-do",
            formula,
            subject,
            missing=Missing(f"voltages at which {load.name} works", load.span, "works on ~10.5 V to ~15 V"),
        )
    taken = taken_by(study, (load,))
    if isinstance(taken, Missing):
        return Answer("cannot-do", formula, subject, missing=taken)
    running = abs(taken.state.current(load.name))
    if start.current is not None:
        level = Running(current=float(start.current.high))
    elif start.power is not None:
        level = Running(power=float(start.power.high))
    else:
        level = Running(current=float(start.times.high) * running if start.times is not None else running)
    state = _with(study, load, {load.name: level}, {})
    if isinstance(state, Missing):
        return Answer("cannot-do", formula, subject, missing=state)
    left = (state.across(f"{load.name}.plus", f"{load.name}.minus") if state.solved else None) or 0.0
    value, limit = Amount(left, "voltage", least.unit), Amount(float(least.low), "voltage", least.unit)
    return Answer(
        "cannot-do", formula, subject, value, limit, "at-least",
        steps=(Step("U", f"at {load.name} while it starts", left, "V", "solved circuit"),),
        words=f"{{value}} is left at {load.name} while it starts; it needs {{limit}}",
        remedy="Use thicker or shorter leads, or a battery of lower resistance.",
        reference=common_practice("as promised"),
    )  # fmt: skip


def _with(study: Study, load: Load, running: dict[str, Running], inverters: dict[str, Running]) -> SolvedState | Missing:
    """Solve the state in which a load starts, at the lowest charge at which it must work, else half full."""
    taken = taken_by(study, (load,))
    if isinstance(taken, Missing):
        return taken
    setup = taken.state.setup
    level = float(load.lowest_charge_level.low) if load.lowest_charge_level is not None else DEFAULT_CHARGE
    state = study.solve_setup(
        replace(
            setup,
            name=f"{load.name} starts",
            running={**setup.running, **running},
            inverters={**setup.inverters, **inverters},
            levels=dict.fromkeys(study.anatomy.batteries, Level(level)),
        )
    )
    if state.solved or state.point.operation.collapse:  # a circuit that collapses leaves no voltage
        return state
    return Missing(f"an operating point while {load.name} starts", load.span)
