"""A pack that keeps the circuits behind the main switch live while that is off."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch, Source
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.states.implied import resting_setup
from ohmwright.study import SolvedState, Study
from ohmwright_grammar.records import record, replace

from ohmwright_rules.main_switches import MainSwitch, main_switches, switches_of
from ohmwright_rules.strings import groups_of, joined
from ohmwright_rules.wording import listed

RULE = Rule(
    id="live-behind-main",
    title="Live behind the main switch with it off",
    family="switching",
    subject="main switch",
    covers=("H4",),
    grades=(
        Grade("pack-behind", Severity.WARNING, "a battery keeps what lies behind the main switch live while that is off"),
        Grade("called-dead", Severity.ERROR, "a state that the procedure calls dead leaves it live"),
    ),
    references=(common_practice("off at the main switch means dead behind it"),),
)


@record
class _Live:
    """What keeps a main switch's far side live in a state: the pole of the switch, and the batteries there (none: a way around it)."""

    way: Branch
    batteries: tuple[str, ...]
    state: SolvedState


def check(study: Study) -> Iterator[Outcome]:
    """Open every main switch, leave everything else closed and mated, and look for batteries on its far side."""
    switches = switches_of(study)
    if not switches:
        yield DoesNotApply("no switch in the DC circuit")
        return
    if len(groups_of(study, "battery", frozenset(study.circuit.gates()))) < 2:
        yield DoesNotApply("one battery only, or batteries that nothing parts")
        return
    mains = main_switches(study)
    if not mains:
        names = tuple(part.name for part in switches)
        yield Missing("which switch is the main switch", switches[0].span, "main switch").outcome("pack-behind", names)
    for main in mains:
        yield _by_hand(study, main)
        yield from _called_dead(study, main)


def _by_hand(study: Study, main: MainSwitch) -> Outcome:
    base = resting_setup(study.build, study.anatomy)
    state = study.solve_setup(replace(base, name=f"{main.part.name} off", open_gates=base.open_gates | main.gates))
    found = _live(study, main, state)
    if found is None:
        return Passed("pack-behind", (main.part.name,))
    return _finding(study, main, found, "pack-behind")


def _called_dead(study: Study, main: MainSwitch) -> Iterator[Outcome]:
    dead = [state for state in study.states if state.setup.origin == "declared" and state.setup.called_dead]
    for state in dead:
        found = _live(study, main, state)
        yield (
            _finding(study, main, found, "called-dead")
            if found is not None
            else Passed("called-dead", (main.part.name,), state=state.name)
        )


def _live(study: Study, main: MainSwitch, state: SolvedState) -> _Live | None:
    """Return what keeps the far side of a main switch live in a state; that is the side on which more consumers are, else its load side."""
    group = joined(study, state.open_gates)
    out = state.setup.failed | state.setup.bms_open
    batteries = [source for source in study.circuit.sources if source.kind == "battery" and source.name not in out]
    for way in main.ways:
        near, far = group[way.start], group[way.end]
        for pole in ("plus", "minus"):
            sides: dict[int, list[str]] = {}
            for source in batteries:
                sides.setdefault(group[getattr(source, pole)], []).append(source.name)
            here, there = sides.get(near, []), sides.get(far, [])
            if near == far and here and pole == _pole_of(study, way):
                return _Live(way, (), state)
            if near != far and here and there and _apart(group, batteries, here, there):
                consumers = [group[getattr(consumer, pole)] for consumer in study.circuit.consumers]
                behind = here if consumers.count(near) > consumers.count(far) else there
                return _Live(way, tuple(sorted(behind)), state)
    return None


def _pole_of(study: Study, way: Branch) -> str:
    """Tell in which lead of the batteries a way of a switch lies, with everything closed."""
    group = joined(study, frozenset())
    minuses = {group[source.minus] for source in study.circuit.sources if source.kind == "battery"}
    pluses = {group[source.plus] for source in study.circuit.sources if source.kind == "battery"}
    return "minus" if group[way.start] in minuses and group[way.start] not in pluses else "plus"


def _apart(group: dict[str, int], batteries: list[Source], here: list[str], there: list[str]) -> bool:
    """Tell whether the batteries of two sides are no two blocks of one string that the switch lies in."""
    ends = {source.name: (group[source.minus], group[source.plus]) for source in batteries}
    return not any(ends[one][1] == ends[two][0] or ends[two][1] == ends[one][0] for one in here for two in there)


def _finding(study: Study, main: MainSwitch, found: _Live, grade: str) -> Finding:
    part = main.part
    name = found.state.name
    only = "" if main.declared else " (the only switch there is)"
    if found.batteries:
        what = f"{listed(found.batteries)} {'keep' if len(found.batteries) > 1 else 'keeps'} what lies behind it live"
        remedy = f"Join {listed(found.batteries)} on the battery's side of {part.name}, or through a pole of it."
    else:
        what = "a way around it keeps what lies behind it live"
        remedy = f"Take the way around {part.name} through a pole of it as well."
    dead = found.state.setup.called_dead
    when = f"in state {name!r}, which is called dead," if dead else "with it off and everything else closed and mated,"
    return Finding(
        grade,
        (part.name, *found.batteries),
        f"{part.name}{only}: {when} {what}. Whoever works there takes it for dead.",
        (found.state.setup.span or part.span) if grade == "called-dead" else part.span,
        state=name if grade == "called-dead" else "",
        remedy=remedy,
        related=tuple(Related(f"{battery}: what keeps it live", study.span(battery)) for battery in found.batteries[:4]),
    )
