"""A wire whose current makes a terminal hotter than the terminal may be."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference, Step
from ohmwright.rules import Case, Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.records import replace

from ohmwright_rules.ampacity import Ampacity, demand, terminal_ampacity
from ohmwright_rules.basis import Basis
from ohmwright_rules.conductors import basis_of, cable_of, is_cord, laying_of, said_of_missing
from ohmwright_rules.duty import Loading, carrying
from ohmwright_rules.laying import Laying, Unknown
from ohmwright_rules.terminals import is_bare_metal, place_of_terminal, stud_at
from ohmwright_rules.verdicts import deciding, verdict

RULE = Rule(
    id="hot-terminal",
    title="Terminal cooler than the current of its wire",
    family="conductors",
    subject="conductor",
    covers=("D2",),
    grades=(
        Grade("far-over", Severity.ERROR, "a current is more than 10 % over the column of the cooler terminal's temperature"),
        Grade("over", Severity.WARNING, "a current is over the column of the cooler terminal's temperature"),
    ),
    references=(
        Reference("NFPA 70 (NEC)", "2023", "110.14(C)", "secondary"),
        Reference("33 CFR 183.425", "as on a law mirror, undated", "Table 5, for its columns", "read"),
    ),
)
_FAR = 1.1  # catalogue, D2: an error where it is more than a tenth over


def check(study: Study) -> Iterator[Outcome]:
    """Hold every conductor's worst steady current against the table's column of its cooler terminal."""
    basis = basis_of(study)
    left = {
        "a cord": 0,
        "inside a bought device or part of it": 0,
        "carries no steady current in any state": 0,
        "ends on unmarked bare metal only": 0,
    }
    for wire in study.circuit.wires():
        conductor = wire.conductor
        assert conductor is not None
        ends = [
            node for node in (wire.start, wire.end) if not is_bare_metal(study, node) or _temperature(study, node) is not None
        ]
        if conductor.inside_device:
            left["inside a bought device or part of it"] += 1
        elif is_cord(conductor, cable_of(study, wire)):
            left["a cord"] += 1
        elif not ends:
            left["ends on unmarked bare metal only"] += 1
        elif basis is None:
            yield NotChecked("far-over", (wire.name,), "basis", wire.span, declare=said_of_missing("basis"))
        else:
            loaded = carrying(study, wire.name)
            if loaded:
                yield from _judge(study, basis, wire, ends, loaded)
            else:
                left["carries no steady current in any state"] += 1
    for condition, count in left.items():
        if count:
            yield DoesNotApply(condition, count)


def _judge(study: Study, basis: Basis, wire: Branch, ends: list[str], loaded: list[tuple[Loading, float]]) -> Iterator[Outcome]:
    laying = laying_of(study, wire)
    if isinstance(laying, Unknown):
        yield NotChecked("far-over", (wire.name,), laying.missing, wire.span, declare=said_of_missing(laying.missing))
        return
    found_at: list[tuple[Ampacity, str]] = []
    limits: dict[bool, tuple[Ampacity, str] | Unknown] = {}
    for loading, total in loaded:
        large = total > basis.terminal_current.value * (1 + 1e-9)
        if large not in limits:
            limits[large] = _cooler(study, basis, laying, ends, total)
        limit = limits[large]
        if isinstance(limit, Unknown):
            yield NotChecked("far-over", (wire.name,), limit.missing, wire.span, loading.name, said_of_missing(limit.missing))
            return
        found_at.append(limit)
    values = [(total, at.value) for (_, total), (at, _) in zip(loaded, found_at, strict=True)]
    cases: list[Case] = []
    for place in deciding(study, values, "at-most"):
        loading, (total, most) = loaded[place][0], values[place]
        cases.append(Case(loading.name, Amount(total, "current"), Amount(most, "current"), (loading, *found_at[place])))
    found = verdict(study, cases, "at-most", "burn")
    worst = found.worst
    measured, limit_at = worst.measured, worst.limit
    if not found.broken:
        yield Passed("far-over", (wire.name,), measured, limit_at, state=worst.state)
        return
    far = Amount(limit_at.value * _FAR, "current")
    grade = "far-over" if measured.value > far.value * (1 + 1e-9) else "over"
    if grade == "over":
        yield Passed("far-over", (wire.name,), measured, far, state=worst.state)
    note = worst.note
    assert isinstance(note, tuple)
    loading, rating, node = note
    assert wire.conductor is not None and wire.conductor.gauge is not None
    gauge = wire.conductor.gauge.text
    degrees = _temperature_words(study, basis, node, rating)
    shown_measured, allowed = shown_pair(measured, limit_at)
    yield Finding(
        grade,
        (wire.name,),
        f"{wire.name}: {shown_measured} flows here {loading.when(wire.name)}; {gauge} on {node}, {degrees}, may carry {allowed}.",
        wire.span,
        measured,
        limit_at,
        state=worst.state,
        states=found.broken,
        working=(*rating.steps, loading.current_step(wire.name), *loading.steps()),
        remedy=_remedy(study, basis, laying, node, loading, measured.value, wire),
        related=(Related(f"the terminal: {degrees}", place_of_terminal(study, node)),),
        reference=rating.weakest,
        at_most=found.at_most,
    )


def _cooler(study: Study, basis: Basis, laying: Laying, ends: list[str], current: float) -> tuple[Ampacity, str] | Unknown:
    """Return the table value at the end whose terminal allows less, and that end's node."""
    found: list[tuple[Ampacity, str]] = []
    for node in ends:
        value = terminal_ampacity(basis, laying, _temperature(study, node), current)
        if isinstance(value, Unknown):
            by_area = _by_area(basis, laying, _temperature(study, node), current)
            if by_area is None or by_area.value < current * (1 - 1e-9):
                return value
            value = by_area
        if value is not None:
            found.append((value, node))
    return min(found, key=lambda item: item[0].value)


def _by_area(basis: Basis, laying: Laying, temperature: float | None, current: float) -> Ampacity | None:
    """Return what a size that the column does not list carries at the current density of the smallest larger one that it lists.

    A thinner wire bears a higher density, so that this passes a current and never fails one. None where no larger size is listed.
    """
    from ohmwright_rules.sizing import gauges

    for gauge in gauges(laying.metric):
        if gauge.area <= laying.area * (1 + 1e-9):
            continue
        listed = terminal_ampacity(basis, replace(laying, gauge=gauge.text, area=gauge.area), temperature, current)
        if isinstance(listed, Ampacity):
            value = listed.value * laying.area / gauge.area
            words = f"{listed.value:.4g} x {laying.area * 1e6:.4g} mm2 / {gauge.area * 1e6:.4g} mm2"
            step = Step("I_size", words, value, "A", f"{laying.gauge} is not listed: at the current density of {gauge.text}")
            return replace(listed, value=value, steps=(*listed.steps, step))
    return None


def _temperature(study: Study, node: str) -> float | None:
    terminal = stud_at(study, node)
    return float(terminal.temperature.low) if terminal is not None and terminal.temperature is not None else None


def _temperature_words(study: Study, basis: Basis, node: str, rating: Ampacity) -> str:
    declared = _temperature(study, node)
    if declared is not None:
        return f"a terminal for {shown(Amount(declared, 'temperature'))}"
    unmarked = basis.terminal.value if rating.insulation <= basis.terminal.value else basis.terminal_above.value
    return f"an unmarked terminal taken at {shown(Amount(unmarked, 'temperature'))}"


def _remedy(study: Study, basis: Basis, laying: Laying, node: str, loading: Loading, current: float, wire: Branch) -> str:
    from ohmwright_rules.sizing import smallest_for_current

    carried = loading.carried(wire.name)
    asked = demand(basis, carried.continuous, carried.other)
    larger = smallest_for_current(basis, replace(laying, coiled=False), asked, _temperature(study, node), terminals=True)
    ways = [f"use {larger.gauge.text} or larger"] if larger is not None else []
    hotter = sorted({rating.insulation for rating in basis.terminals})
    for degrees in hotter:
        value = terminal_ampacity(basis, laying, degrees, current)
        if isinstance(value, Ampacity) and value.value >= current * (1 - 1e-9):
            ways.append(f"use terminals marked for {degrees:g} degC or more")
            break
    bound = basis.terminal_current.value
    for tried in (current, min(current, bound)):
        allowed = _cooler(study, basis, laying, [node], tried)
        if not isinstance(allowed, Unknown) and (allowed[0].value > bound) == (tried > bound):
            ways.append(f"bring the current to {shown(Amount(allowed[0].value, 'current'))} or less")
            break
    text = ", or ".join(ways)
    return f"{text[0].upper()}{text[1:]}."
