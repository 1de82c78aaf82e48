"""What loads take from the bank while they run: the solved circuit with just these loads on, the fewest packs joined, in the dark."""

from __future__ import annotations

from collections.abc import Iterable

from ohmwright.circuit.graph import Consumer
from ohmwright.missing import Missing
from ohmwright.references import Step
from ohmwright.states.implied import resting_setup
from ohmwright.states.setup import AS_DECLARED, Setup
from ohmwright.study import SolvedState, Study
from ohmwright_grammar.kinds.inverter import Converter, Inverter
from ohmwright_grammar.kinds.load import AcLoad, Load
from ohmwright_grammar.records import record, replace

from ohmwright_rules.bank_strings import bank_strings
from ohmwright_rules.strings import groups_of

__all__ = ["Taken", "fewest_packs", "lone_bank", "named_loads", "taken_by", "wiring_share"]


@record
class Taken:
    """What is drawn while some loads run.

    `useful` is what the loads themselves take [W], `parts` what loads, inverters and converters take at their terminals, `posts` what leaves the posts of
    the batteries. `unsaid` is what was not said and would make it more (or less, where an efficiency had to be assumed).
    """

    useful: float
    parts: float
    posts: float
    strings: tuple[tuple[str, ...], ...]
    state: SolvedState
    steps: tuple[Step, ...]
    unsaid: Missing | None = None


def fewest_packs(study: Study, setup: Setup) -> Setup:
    """Return a setup with as few packs joined as the rows allow: a promise holds for the box as it is carried out."""
    apart = {mating for row in study.build.rows for link in row.links[row.least :] for mating in link}
    return replace(setup, open_gates=setup.open_gates | apart)


def named_loads(study: Study, names: Iterable[str]) -> tuple[Load, ...] | Missing:
    """Return loads by their names; what is no load (an inverter, a name of nothing) comes back as missing."""
    found = []
    for name in names:
        part = study.part(name)
        if not isinstance(part, Load):
            return Missing(f"a load named {name}", study.span(name))
        if part.power is None and part.current is None and part.resistance is None:
            return Missing(f"power or current of {name}", part.span, "20 W")
        found.append(part)
    return tuple(found)


def taken_by(study: Study, loads: tuple[Load, ...]) -> Taken | Missing:
    """Return what some loads take while they run together, with everything that is always on."""
    base = fewest_packs(study, resting_setup(study.build, study.anatomy))
    wanted = {load.name for load in loads}
    feeding = {
        name
        for name in study.anatomy.inverters
        if name in study.anatomy.always_on or wanted & set(study.ac_side.loads_of(name))
    }
    setup = replace(
        base,
        name="promised loads on",
        running={**base.running, **dict.fromkeys(sorted(wanted), AS_DECLARED)},
        inverters={name: AS_DECLARED for name in base.inverters if name in feeding},
    )
    for load in loads:
        if isinstance(load, AcLoad) and not any(load.name in study.ac_side.loads_of(name) for name in feeding):
            return Missing(f"an inverter that feeds {load.name}", load.span)
    state = study.solve_setup(setup)
    if not state.solved or not study.lasts(state.open_gates):
        return Missing("an operating point with all of them on", study.build.rig.span)
    for load in loads:
        if not isinstance(load, AcLoad) and abs(state.current(load.name)) < 1e-9:
            return Missing(f"a bank that feeds {load.name}", load.span)
    return _measured(study, loads, state, feeding)


def _measured(study: Study, loads: tuple[Load, ...], state: SolvedState, feeding: set[str]) -> Taken | Missing:
    parts = 0.0
    steps: list[Step] = []
    behind = _behind_converters(study)
    for consumer in study.circuit.consumers:
        power = _taken(state, consumer, behind)
        if power > 1e-9:
            parts += power
            what = {"drain": "own drain", "coil": "coil", "inverter": "output over efficiency, and its draw with no load"}
            words = what.get(consumer.kind, "as it runs")
            name = consumer.part.name
            steps.append(Step(f"P_{name}", f"{name}: {words}", power, "W", "at its terminals, solved circuit"))
    posts, names = _given(study, state)
    if posts <= 0:
        return Missing("a bank that feeds them", study.build.rig.span)
    strings = lone_bank(study, state, names)
    useful = sum(_useful(study, state, load) for load in loads)
    return Taken(useful, parts, posts, strings, state, tuple(steps), _unsaid(study, loads, feeding))


def _given(study: Study, state: SolvedState) -> tuple[float, set[str]]:
    """Return the power that leaves the posts of the banks [W], and the batteries that give it; what flows from pack to pack in a bank stays there."""
    power = {
        source.name: state.current(source.name) * (state.across(source.plus, source.minus) or 0.0)
        for source in study.circuit.sources
        if source.kind == "battery"
    }
    banks = [sum(power[name] for name in group) for group in groups_of(study, "battery", state.open_gates)]
    return sum(bank for bank in banks if bank > 0), {name for name, watts in power.items() if watts > 0}


def lone_bank(study: Study, state: SolvedState, names: Iterable[str]) -> tuple[tuple[str, ...], ...]:
    """Return the strings of the batteries that give current in a state; each battery that is in no string is one of its own."""
    wanted = set(names)
    found: dict[tuple[str, ...], None] = {}
    for group in groups_of(study, "battery", state.open_gates):
        if not wanted.isdisjoint(group):
            found.update(dict.fromkeys(bank_strings(study, group, state.open_gates)))
    return tuple(found)


def _taken(state: SolvedState, consumer: Consumer, behind: set[str]) -> float:
    element = f"{consumer.name} {consumer.kind}" if consumer.kind in ("drain", "coil") else consumer.name
    if consumer.kind == "converter":
        element = f"{consumer.part.name}.in"
    current = abs(state.current(element))
    if current < 1e-12 or consumer.plus in behind:
        return 0.0  # what a load or a second converter behind a converter takes is in the first one's input
    return current * abs(state.across(consumer.plus, consumer.minus) or 0.0)


def _behind_converters(study: Study) -> set[str]:
    known = study.circuit.at_node
    outputs = [f"{part.name}.out_plus" for part in study.of(Converter) if f"{part.name}.out_plus" in known]
    return study.circuit.reach(outputs)


def _useful(study: Study, state: SolvedState, load: Load) -> float:
    if isinstance(load, AcLoad):
        return float(load.power.high) if load.power is not None else 0.0
    consumer = next(item for item in study.circuit.consumers if item.part is load)
    return abs(state.current(load.name)) * abs(state.across(consumer.plus, consumer.minus) or 0.0)


def _unsaid(study: Study, loads: tuple[Load, ...], feeding: set[str]) -> Missing | None:
    for load in loads:
        if isinstance(load, AcLoad) and load.power is None:
            return Missing(f"power of {load.name}", load.span, "100 W")
    for name in sorted(feeding):
        part = study.part(name)
        assert isinstance(part, Inverter)
        if part.efficiency is None:
            return Missing(f"efficiency of {name}", part.span, "efficiency 88 %")
        if part.no_load_draw is None and not part.says_none(Inverter.no_load_draw):
            return Missing(f"draw of {name} with no load", part.span, "draws 6 W with no load")
    wanted = {load.name for load in loads}
    for converter in sorted(study.of(Converter), key=lambda part: part.name):
        behind = study.circuit.reach(f"{converter.name}.out_plus")
        fed = any(item.plus in behind and item.part.name in wanted for item in study.circuit.consumers)
        if fed and converter.efficiency is None:
            return Missing(f"efficiency of {converter.name}", converter.span, "efficiency 90 %")
    return None


def wiring_share(taken: Taken, said: float | None) -> float:
    """Return the share of the energy left after the wiring: as said, else as solved."""
    return said if said is not None else min(1.0, taken.parts / taken.posts)
