"""Plugs that fit where they are not meant to: another voltage, the poles the other way round, a fuse too large for the contacts."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import combinations

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown_pair
from ohmwright_grammar.kinds.connector import Half, Pin
from ohmwright_grammar.records import record

from ohmwright_rules.guarding import rating_of
from ohmwright_rules.halves import (
    Connector,
    closed_gates,
    connectors,
    has_mains,
    highest_on,
    is_labelled,
    mates_of,
    pin_total,
    poles_of,
)
from ohmwright_rules.terminals import nearest, pin_at
from ohmwright_rules.voltage_lines import Gap

RULE = Rule(
    id="mistakable-plug",
    title="Plug fits where it is not meant to",
    family="connectors",
    subject="connector",
    covers=("G2",),
    grades=(
        Grade("voltage", Severity.ERROR, "two circuits of different voltage have connectors that fit each other"),
        Grade(
            "polarity", Severity.ERROR, "two circuits with the poles the other way round have connectors that fit each other"
        ),
        Grade("fuse", Severity.ERROR, "a plug fits where the fuse is larger than its contacts may carry"),
    ),
    references=(
        Reference("NFPA 70 (NEC)", "2008", "406.3(F), noninterchangeable receptacles", "secondary"),
        Reference("rating of the contact", "", "as declared", "read"),
    ),
)
_SAME = 1.05  # of the lower voltage: catalogue, G2
_CLASS = 13.6  # V, about where a system of 12 V stands: circuits that batteries hold are compared by their nominal voltage
_MATES = {"pins": ("sockets", "touch-safe"), "shrouded": ("sockets", "touch-safe"), "same both": ("same both", "touch-safe")}
_FAMILY = "family of the connector"
_DECLARE = 'family "round two"'


@record
class _Circuit:
    """What a connector promises: mains or DC, how high [V], whether batteries hold it, which pin is which pole, how much a contact carries [A]."""

    mains: bool
    volt: float | None
    battery: bool
    poles: tuple[tuple[str, str], ...]
    rated: float | None
    gap: Gap | None
    words: str


@record
class _Kind:
    """Connectors that are alike: what they promise, and what decides where they fit."""

    circuit: _Circuit
    members: tuple[Connector, ...]


def check(study: Study) -> Iterator[Outcome]:
    """Compare the circuits of all connectors that fit each other and are not meant to."""
    kinds, dead = _kinds(study)
    told: dict[str, NotChecked] = {}
    touched: set[str] = set()
    for one, two in combinations(kinds, 2):
        for outcome in _compare(study, one, two):
            names = outcome.subject if isinstance(outcome, Finding | NotChecked) else ()
            touched.update(names)
            if isinstance(outcome, NotChecked):
                told.setdefault(outcome.subject[0], outcome)
            else:
                yield outcome
    yield from (told[name] for name in sorted(told))
    for kind in kinds:
        for connector in kind.members:
            if touched.isdisjoint(connector.names):
                for grade in ("voltage", "polarity"):
                    yield Passed(grade, connector.names)
    if dead:
        yield DoesNotApply("lies on no source, and promises no voltage", dead)


def _kinds(study: Study) -> tuple[list[_Kind], int]:
    groups: dict[tuple[object, ...], list[tuple[_Circuit, Connector]]] = defaultdict(list)
    dead = 0
    for connector in connectors(study):
        circuit = _circuit(study, connector)
        if circuit.volt is None and circuit.gap is None and not circuit.mains:
            dead += 1
            continue
        fit = tuple(
            (half.family, half.keying, half.colour_key, pin_total(half), half.form, bool(half.on_panel))
            for half in connector.halves
        )
        volt = round(circuit.volt, 3) if circuit.volt is not None else None
        groups[fit, circuit.mains, volt, circuit.poles, circuit.rated, circuit.gap].append((circuit, connector))
    return [_Kind(members[0][0], tuple(connector for _, connector in members)) for members in groups.values()], dead


def _circuit(study: Study, connector: Connector) -> _Circuit:
    nodes = [node for half in connector.halves for node in study.circuit.nodes_of(half.name)]
    nodes = list(dict.fromkeys([*nodes, *(node for pair in connector.pairs for node in pair)]))
    rated = min((amps for node in nodes if (amps := _rated(study, node)) is not None), default=None)
    poles = poles_of(study)
    found: dict[str, str] = {}
    promised: list[float] = []
    for node in nodes:
        said = pin_at(study, node)
        pin = said[1] if said is not None else None
        name = node.rpartition(".")[2]
        pole = (pin.polarity if pin is not None else None) or poles.of(node)
        if pole in ("plus", "minus"):
            found.setdefault(name, pole)
        if pin is not None and pin.voltage is not None:
            promised.append(float(pin.voltage.high))
    if any(has_mains(study, half) for half in connector.halves):
        return _Circuit(True, max(promised, default=None), False, (), rated, None, "mains")
    signs = tuple(sorted(found.items()))
    if promised:
        return _Circuit(False, max(promised), False, signs, rated, None, "as its pins promise")
    line, gap = highest_on(study, tuple(nodes))
    if line is None:
        return _Circuit(False, None, False, signs, rated, gap, "")
    groups = {poles.group[node] for node in nodes if poles.of(node) == "plus"}
    feeding = {source.kind for source in study.circuit.sources if poles.group[source.plus] in groups}
    return _Circuit(False, line.value, feeding <= {"battery", "charger", "controller"}, signs, rated, None, line.words)


def _rated(study: Study, node: str) -> float | None:
    said = pin_at(study, node)
    if said is None:
        return None
    current = nearest(said[1], Pin.rated_current, said[0], Half.rated_current)
    return float(current.low) if current is not None else None


def _compare(study: Study, one: _Kind, two: _Kind) -> Iterator[Outcome]:
    fit = _fitting(study, one.members[0], two.members[0])
    if fit is None:
        return
    first, second, certain = fit
    grades = list(_faults(one.circuit, two.circuit))
    gap = one.circuit.gap or two.circuit.gap
    subject = (first.name, second.name)
    if not certain:
        if grades or gap is not None:
            lacking = first if first.family is None else second
            yield NotChecked("voltage", (lacking.name,), _FAMILY, lacking.span, declare=_DECLARE)
        return
    if gap is not None and "polarity" not in grades:
        yield NotChecked("voltage", subject, gap.missing, gap.span, declare=gap.declare)
        return
    for grade in grades[:1]:
        yield _finding(study, one, two, first, second, grade)
    if not grades:
        yield from _fuses(study, one, two, first, second)


def _fitting(study: Study, one: Connector, two: Connector) -> tuple[Half, Half, bool] | None:
    """Return two halves that fit without being meant to, and whether that is certain; None where none do."""
    unsure: tuple[Half, Half, bool] | None = None
    for first in one.halves:
        for second in two.halves:
            if first.name == second.name or second.name in mates_of(study, first.name) or not _may_fit(first, second):
                continue
            if first.family is not None and second.family is not None:
                if first.family == second.family:
                    return first, second, True
            elif unsure is None:
                unsure = first, second, False
    return unsure


def _may_fit(one: Half, two: Half) -> bool:
    """Tell whether nothing but the family keeps two halves apart."""
    counts = pin_total(one), pin_total(two)
    if None not in counts and counts[0] != counts[1]:
        return False
    if one.on_panel and two.on_panel:
        return False
    for a, b in ((one.keying, two.keying), (one.colour_key, two.colour_key)):
        if a is not None and b is not None and a != b:
            return False
    if one.form is None or two.form is None:
        return True
    return one.form == two.form == "touch-safe" or two.form in _MATES.get(one.form, ()) or one.form in _MATES.get(two.form, ())


def _faults(one: _Circuit, two: _Circuit) -> Iterator[str]:
    if one.mains != two.mains:
        yield "voltage"
        return
    if one.volt is not None and two.volt is not None:
        low, high = sorted((one.volt, two.volt))
        same_class = one.battery and two.battery and round(low / _CLASS) == round(high / _CLASS)
        if not same_class and is_broken(high, low * _SAME, "at-most"):
            yield "voltage"
    signs = dict(two.poles)
    if any(name in signs and signs[name] != pole for name, pole in one.poles):
        yield "polarity"


def _finding(study: Study, one: _Kind, two: _Kind, first: Half, second: Half, grade: str) -> Finding:
    names = [half.name for kind in (one, two) for connector in kind.members for half in connector.halves]
    subject = tuple(dict.fromkeys((first.name, second.name, *names)))
    bare = [half.name for half in (first, second) if not is_labelled(study, half.name)]
    unlabelled = f" No label at {' or '.join(bare)} states the voltage." if bare else ""
    others = len(one.members) + len(two.members) - 2
    more = f" The same holds for {others} more of their kind." if others else ""
    measured = limit = None
    steps: tuple[Step, ...] = ()
    if grade == "polarity":
        signs = dict(two.circuit.poles)
        pin = next(name for name, pole in one.circuit.poles if name in signs and signs[name] != pole)
        what = f"pin {pin} is {dict(one.circuit.poles)[pin]} on {first.name} and {signs[pin]} on {second.name}"
    elif one.circuit.mains != two.circuit.mains:
        what = f"{(first if one.circuit.mains else second).name} carries mains, the other does not"
    else:
        assert one.circuit.volt is not None and two.circuit.volt is not None
        high, low = (one, two) if one.circuit.volt >= two.circuit.volt else (two, one)
        assert high.circuit.volt is not None and low.circuit.volt is not None
        measured, limit = Amount(high.circuit.volt, "voltage"), Amount(low.circuit.volt * _SAME, "voltage")
        upper, lower = shown_pair(measured, Amount(low.circuit.volt, "voltage"))
        at = first if high is one else second
        on = second if high is one else first
        what = f"up to {upper} can stand on {at.name} ({high.circuit.words}), {lower} on {on.name} ({low.circuit.words})"
        steps = (
            Step("U_1", high.circuit.words, high.circuit.volt, "V", "highest voltage, everything closed"),
            Step("U_2", low.circuit.words, low.circuit.volt, "V", "highest voltage, everything closed"),
            Step("U_max", f"{_SAME:g} x {low.circuit.volt:.4g} V", limit.value, "V", "the same within 5 %"),
        )
    return Finding(
        grade,
        subject,
        f"{first.name}: {second.name} fits it ({first.family!r}) and is not meant to; {what}.{unlabelled}{more}",
        first.span,
        measured,
        limit,
        working=steps,
        remedy="Use another family, keying or number of pins for one of the two circuits.",
        related=(Related(f"{second.name}, which fits", second.span),),
        reference=RULE.references[0],
    )


def _fuses(study: Study, one: _Kind, two: _Kind, first: Half, second: Half) -> Iterator[Outcome]:
    """Hold the fuse of each circuit against the contacts of the other, where those carry less than its own."""
    for kind, other, half, plug in ((one, two, first, second), (two, one, second, first)):
        own, theirs = kind.circuit.rated, other.circuit.rated
        if kind.circuit.mains or theirs is None or (own is not None and own <= theirs):
            continue
        device = _device(study, kind.members[0])
        if device is None:
            continue
        name, amps = device
        measured, limit = Amount(amps, "current"), Amount(theirs, "current")
        if not is_broken(amps, theirs, "at-most"):
            yield Passed("fuse", (half.name, plug.name), measured, limit)
            continue
        has, bears = shown_pair(measured, limit)
        yield Finding(
            "fuse",
            (half.name, plug.name),
            f"{half.name}: {plug.name} fits it ({half.family!r}) and is not meant to; {name} of {has} feeds it, and a contact of {plug.name} carries {bears}.",
            half.span,
            measured,
            limit,
            remedy=f"Fuse {half.name} at {bears} or less, or use another family or keying for one of the two.",
            related=(Related(f"{plug.name}, which fits", plug.span), Related(f"{name}, the fuse before it", study.span(name))),
            reference=RULE.references[1],
        )


def _device(study: Study, connector: Connector) -> tuple[str, float] | None:
    """Return the smallest device between the plus pin of a connector and the nearest battery, with its rating [A]; None without one."""
    poles = poles_of(study)
    ends = {source.plus for source in study.circuit.sources if source.kind == "battery"}
    gates = closed_gates(study)
    for half in connector.halves:
        for node in study.circuit.nodes_of(half.name):
            if poles.of(node) != "plus":
                continue
            way = study.circuit.path(node, ends, open_gates=gates) or ()
            rated = [
                (rating, branch.part) for branch in way if branch.device and (rating := rating_of(study, branch)) is not None
            ]
            if rated:
                amps, name = min(rated)
                return name, amps
    return None
