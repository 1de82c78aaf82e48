"""A combination of switches and plugs that nobody means, and that a hand can make: a panel alone on a controller, a short, reversed poles."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice, product

from ohmwright.circuit.parts import gate_of_position
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.states.reaching import barred_groups
from ohmwright.study import Study
from ohmwright_grammar.kinds.label import Label
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.kinds.procedure import Procedure
from ohmwright_grammar.records import record

from ohmwright_rules.nobattery import Way, ways_without_battery
from ohmwright_rules.strings import joined
from ohmwright_rules.sunside import Side, cold_of, sides
from ohmwright_rules.wording import listed

RULE = Rule(
    id="unsafe-order",
    title="Forbidden combination of switches can be reached",
    family="switching",
    subject="switch",
    covers=("H5",),
    grades=(
        Grade(
            "exposes-load",
            Severity.ERROR,
            "a combination leaves a panel on a controller without a battery, and a load that bears less on it",
        ),
        Grade("panel-alone", Severity.WARNING, "a combination leaves a panel on a controller without a battery"),
        Grade("shorts", Severity.ERROR, "a combination of selector positions joins both poles of a battery"),
        Grade("reverses", Severity.ERROR, "a combination of selector positions swaps the poles of something"),
    ),
    references=(common_practice("no combination that a hand can make breaks a rule, or a mechanical interlock bars it"),),
)
_MOST = 512  # combinations of selector positions and of what bars let be closed
_NO_PANEL = "no controller with a panel that must not stand alone"


@record
class _Combination:
    """Where every selector stands, with all else closed that bars let be closed: the gates that are open, in words, and the levers moved."""

    open_gates: frozenset[str]
    words: str
    names: tuple[str, ...]


def check(study: Study) -> Iterator[Outcome]:
    """Look through every combination that hands can make, without regard to which states are declared."""
    idle = 0
    for side in sides(study):
        if not side.arrays or side.controller.bears_no_battery is not False:
            idle += 1
        else:
            yield from _panel(study, side)
    if idle:
        yield DoesNotApply(_NO_PANEL, idle)
    yield from _selectors(study)


# a panel alone -----------------------------------------------------------------------------------------------------


def _panel(study: Study, side: Side) -> Iterator[Outcome]:
    way = ways_without_battery(study, side).shortest(by_hand=True)
    exposing = next(
        (item for item in ways_without_battery(study, side).found if item.by_hand and _weakest(study, side, item)), None
    )
    name = side.controller.name
    if exposing is not None:
        yield _alone(study, side, exposing, "exposes-load", _weakest(study, side, exposing))
        return
    yield Passed("exposes-load", (name,))
    yield _alone(study, side, way, "panel-alone", "") if way is not None else Passed("panel-alone", (name,))


def _weakest(study: Study, side: Side, way: Way) -> str:
    """Return a load that stays on the output and bears less than the cold panel gives, "" where none is known to."""
    cold = cold_of(study, side.arrangements, plugged=True)
    if isinstance(cold, Missing):
        return ""
    for item in way.exposed:
        if item.bears is not None and is_broken(cold.volt, float(item.bears.high), "at-most"):
            return item.part.name
    return ""


def _alone(study: Study, side: Side, way: Way, grade: str, load: str) -> Finding:
    levers = tuple(dict.fromkeys(departure.lever.name for departure in way.departures))
    name = side.controller.name
    subject = (*levers, name, *(array.name for array in side.arrays), *((load,) if load else ()))
    exposed = f", and {load} stays on it" if load else ""
    posted = any(label.states_connection_order for label in study.of(Label)) or any(
        procedure.order_posted for procedure in study.of(Procedure)
    )
    chief = levers[0] if levers else name
    return Finding(
        grade,
        subject or (name,),
        f"{chief}: nothing keeps a hand from {way.words}. That leaves {side.names} on {name} without a battery{exposed}.",
        study.span(chief),
        state=way.words,
        remedy="Use one switch with two poles for panel and battery, or a mechanical interlock, and declare it: barred with",
        related=(Related(name, side.controller.span),),
        at_most=Severity.WARNING if posted else None,
    )


# selectors ---------------------------------------------------------------------------------------------------------


def _selectors(study: Study) -> Iterator[Outcome]:
    selectors = study.anatomy.selectors
    groups = barred_groups(study.build, study.anatomy)
    if not selectors and not groups:
        return
    shorted: tuple[_Combination, str] | None = None
    swapped: tuple[_Combination, str] | None = None
    usual = {state.open_gates for state in study.states}
    both_ways = _turned_both_ways(study)
    for combination in _combinations(study):
        group = joined(study, combination.open_gates)
        if shorted is None:
            battery = next(
                (
                    item.name
                    for item in study.circuit.sources
                    if item.kind == "battery" and group[item.plus] == group[item.minus]
                ),
                "",
            )
            shorted = (combination, battery) if battery and combination.open_gates not in usual else None
        if swapped is None:
            part = _swapped(study, group, both_ways)
            swapped = (combination, part) if part and combination.open_gates not in usual else None
    names = tuple(sorted(selectors)) or tuple(sorted({name for group in groups for name in group}))
    yield _told(study, "shorts", *shorted) if shorted is not None else Passed("shorts", names)
    yield _told(study, "reverses", *swapped) if swapped is not None else Passed("reverses", names)


def _combinations(study: Study) -> Iterator[_Combination]:
    """Yield every combination of selector positions, with each switch of a barred group closed in turn."""
    selectors = study.anatomy.selectors
    groups = [tuple(sorted(group)) for group in barred_groups(study.build, study.anatomy)]
    choices = [[(name, position) for position in positions] for name, positions in selectors.items()]
    for chosen in islice(product(*choices, *([(name, "") for name in group] for group in groups)), _MOST):
        opened: set[str] = set()
        words: list[str] = []
        for name, position in chosen:
            if position:
                opened |= {gate_of_position(name, other) for other in selectors[name] if other != position}
                words.append(gate_of_position(name, position))
        for group, (kept_closed, _) in zip(groups, chosen[len(choices) :], strict=True):
            opened |= set(group) - {kept_closed}
            words.append(f"{kept_closed} closed")
        yield _Combination(frozenset(opened), ", ".join(words), tuple(dict.fromkeys(name for name, _ in chosen)))


def _turned_both_ways(study: Study) -> frozenset[str]:
    """Return the motors that one combination joins the right way round and another the wrong way round: they are meant to turn both ways."""
    motors = [
        item for item in study.circuit.consumers if item.kind == "load" and isinstance(item.part, Load) and item.part.motor
    ]
    if not motors:
        return frozenset()
    right: set[str] = set()
    for combination in _combinations(study):
        group = joined(study, combination.open_gates)
        poles = {(group[item.plus], group[item.minus]) for item in study.circuit.sources if item.kind == "battery"}
        right |= {item.part.name for item in motors if (group[item.plus], group[item.minus]) in poles}
    return frozenset(right)


def _swapped(study: Study, group: dict[str, int], but: frozenset[str]) -> str:
    """Return a consumer whose plus is joined to the minus of a battery and its minus to the plus of that battery, "" where there is none."""
    poles = [(group[item.plus], group[item.minus]) for item in study.circuit.sources if item.kind == "battery"]
    for consumer in study.circuit.consumers:
        if consumer.kind in ("load", "inverter", "converter", "drain") and consumer.part.name not in but:
            plus, minus = group[consumer.plus], group[consumer.minus]
            if plus != minus and (minus, plus) in poles and (plus, minus) not in poles:
                return consumer.part.name
    return ""


def _told(study: Study, grade: str, combination: _Combination, name: str) -> Finding:
    what = f"joins both poles of {name}" if grade == "shorts" else f"swaps the poles of {name}"
    return Finding(
        grade,
        (*combination.names, name),
        f"{listed(combination.names)}: the combination {combination.words} {what}; nothing keeps a hand from it.",
        study.span(combination.names[0]),
        state=combination.words,
        remedy="Use one switch whose poles move together, or a mechanical interlock, and declare it: barred with",
        related=(Related(name, study.span(name)),),
    )
