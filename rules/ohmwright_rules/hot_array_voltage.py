"""An array whose voltage on a hot day is too low to finish the charge."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator

from ohmwright.circuit.arrays import CELLS_ABOVE_AMBIENT
from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.states.setup import Setup
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.site import Site
from ohmwright_grammar.records import record

from ohmwright_rules.strings import Arrangement
from ohmwright_rules.sunside import NO_ARRAY, Side, sides

RULE = Rule(
    id="hot-array-voltage",
    title="Array on a hot day too low to finish the charge",
    family="controllers",
    subject="controller",
    covers=("A2",),
    grades=(
        Grade("too-low", Severity.WARNING, "the hot voltage at maximum power is under absorption voltage, drop and headroom"),
    ),
    references=(common_practice("hot cells; shown by measurement on a 60-cell module at 24 V"),),
)
_GRADE = "too-low"
_STANDARD_CELL = 25.0  # degC, standard test conditions


@record
class _Hot:
    """The voltage of a string on a hot day, what its leads take, the first datum that is missing, and the working. Voltages in V."""

    string: tuple[str, ...]
    volt: float
    drop: float
    missing: Missing | None
    steps: tuple[Step, ...]


def check(study: Study) -> Iterator[Outcome]:
    """Hold the hot voltage at maximum power of every array against what its controller needs."""
    without = 0
    for side in sides(study):
        if side.arrays:
            yield _judge(study, side)
        else:
            without += 1
    if without:
        yield DoesNotApply(NO_ARRAY, without)


def _judge(study: Study, side: Side) -> Outcome:
    controller = side.controller
    subject = (controller.name, *(array.name for array in side.arrays))
    absorb = controller.absorption_voltage
    if absorb is None:
        return Missing("absorption voltage", controller.span, "absorption ~14.2 V").outcome(_GRADE, subject)
    cell = _hottest_cell(study, side)
    if isinstance(cell, Missing):
        return cell.outcome(_GRADE, subject)
    worst: _Hot | None = None
    for way in side.arrangements:
        drops = _drops(study, controller, way)
        for string in way.strings:
            found = _hot(study, string, cell, drops)
            if isinstance(found, Missing):
                return found.outcome(_GRADE, subject)
            if worst is None or found.volt - found.drop < worst.volt - worst.drop:
                worst = found
    assert worst is not None
    headroom = controller.headroom
    margin = float(headroom.high) if headroom is not None else 0.0
    needed = float(absorb.high) + worst.drop + margin
    measured, limit = Amount(worst.volt, "voltage", absorb.unit), Amount(needed, "voltage", absorb.unit)
    if not is_broken(measured.value, limit.value, "at-least"):
        missing = worst.missing
        if headroom is None:
            missing = Missing("headroom over the battery", controller.span, "headroom 1 V")
        if missing is not None:
            return missing.outcome(_GRADE, subject)
        return Passed(_GRADE, subject, measured, limit, "at-least")
    return _finding(side, subject, worst, cell, measured, limit)


def _finding(side: Side, subject: tuple[str, ...], worst: _Hot, cell: float, measured: Amount, limit: Amount) -> Finding:
    controller = side.controller
    absorb = controller.absorption_voltage
    assert absorb is not None
    gives, needs = shown_pair(measured, limit)
    parts = [f"{shown(Amount(float(absorb.high), 'voltage', absorb.unit))} absorption"]
    steps = [*worst.steps, Step("V_absorb", controller.name, float(absorb.high), "V", "as declared")]
    if worst.drop > 0:
        parts.append(f"{shown(Amount(worst.drop, 'voltage'))} in the leads")
    if controller.headroom is not None:
        parts.append(f"{shown(Amount(float(controller.headroom.high), 'voltage'))} headroom")
        steps.append(Step("V_headroom", controller.name, float(controller.headroom.high), "V", "as declared"))
    steps.append(Step("V_needed", "absorption + leads + headroom", limit.value, "V", "all that lies between"))
    what = " + ".join(worst.string)
    return Finding(
        _GRADE,
        subject,
        f"{controller.name}: with cells at {cell:g} degC {what} works at {gives}; to finish the charge it takes {needs} ({', '.join(parts)}).",
        controller.span,
        measured,
        limit,
        "at-least",
        working=tuple(steps),
        remedy=_remedy(side, worst, limit),
        related=(
            *(Related(f"{array.name}: its modules", array.place_of(Array.vmp)) for array in side.arrays),
            Related("the absorption voltage", controller.place_of(Controller.absorption_voltage)),
        ),
    )


def _remedy(side: Side, worst: _Hot, limit: Amount) -> str:
    share = limit.value / worst.volt
    array = next(array for array in side.arrays if array.name == worst.string[0])
    if len(worst.string) == 1 and array.vmp is not None:
        count = math.ceil(array.lowest.series * share * (1 - 1e-9))
        volt = shown(Amount(float(array.vmp.low) * share, "voltage", array.vmp.unit))
        return f"Put {count} modules in series (and look at cold-array-voltage), or use modules with a Vmp of {volt} or more."
    return f"Use strings with {share:.3g} times this voltage (and look at cold-array-voltage)."


def _hottest_cell(study: Study, side: Side) -> float | Missing:
    """Return the temperature of the cells in full sun at the hot end of the site's range [degC]."""
    site = next(study.of(Site), None)
    if site is None or site.ambient is None:
        span = site.span if site is not None else study.build.rig.span
        declare = "ambient 0 degC to 40 degC" if site is not None else "site { ambient 0 degC to 40 degC }"
        return Missing("temperature of the air", span, declare)
    rises = [
        float(array.cells_above_ambient.high) if array.cells_above_ambient is not None else CELLS_ABOVE_AMBIENT
        for array in side.arrays
    ]
    return float(site.ambient.high) + max(rises)


def _hot(study: Study, string: tuple[str, ...], cell: float, drops: dict[tuple[str, ...], float | Missing]) -> _Hot | Missing:
    volt = 0.0
    missing: Missing | None = None
    steps: list[Step] = []
    for name in string:
        array = study.part(name)
        assert isinstance(array, Array)
        if array.vmp is None:
            return Missing(f"voltage at maximum power of {name}", array.span, "Vmp 18.6 V")
        at_25 = float(array.vmp.low) * array.lowest.series
        coefficient, whose = array.vmp_coefficient, ""
        if coefficient is None:
            missing = missing or Missing(f"temperature coefficient of Vmp of {name}", array.span, "Vmp -0.40 %/K")
            coefficient, whose = array.voc_coefficient, ", by the coefficient of Voc: that of Vmp is no smaller"
        if coefficient is None:
            steps.append(Step("Vmp_hot", f"{name}: {at_25:.4g}, no coefficient declared", at_25, "V", "as declared"))
            volt += at_25
            continue
        ends = (abs(float(coefficient.low)), abs(float(coefficient.high)))
        fall = min(ends) if whose else max(ends)
        hot = at_25 * (1.0 - fall * (cell - _STANDARD_CELL))
        rise = (
            "declared" if array.cells_above_ambient is not None else f"{CELLS_ABOVE_AMBIENT:g} K over the air, common practice"
        )
        expression = f"{name}: {at_25:.4g} x (1 - {fall:.4g} x ({cell:g} - 25))"
        steps.append(Step("Vmp_hot", expression, hot, "V", f"as declared{whose}; cells at {cell:g} degC, rise {rise}"))
        volt += hot
    drop = drops[string]
    if isinstance(drop, Missing):
        return _Hot(string, volt, 0.0, missing or drop, tuple(steps))
    steps.append(Step("V_drop", "leads both ways at Imp, warm copper", drop, "V", "resistance of the way to the controller"))
    return _Hot(string, volt, drop, missing, tuple(steps))


def _drops(study: Study, controller: Controller, way: Arrangement) -> dict[tuple[str, ...], float | Missing]:
    """Return what the leads of each string take at the current of maximum power [V]; leads that strings share carry the sum."""
    currents: dict[str, float] = defaultdict(float)
    leads: dict[tuple[str, ...], list[Branch]] = {}
    problems: dict[tuple[str, ...], Missing] = {}
    for string in way.strings:
        arrays = [study.part(name) for name in string]
        imps = [float(a.imp.high) * a.lowest.parallel for a in arrays if isinstance(a, Array) and a.imp is not None]
        if len(imps) < len(string):
            name = next(a.name for a in arrays if isinstance(a, Array) and a.imp is None)
            problems[string] = Missing(f"current at maximum power of {name}", study.span(name), "Imp 5.5 A")
            continue
        leads[string] = _leads(study, controller, string, way)
        for branch in leads[string]:
            currents[branch.name] += max(imps)
    temperatures = study.climate.in_state(Setup("", "implied"))
    found: dict[tuple[str, ...], float | Missing] = dict(problems)
    for string, branches in leads.items():
        bare = next((branch for branch in branches if branch.conductor is not None and branch.assumed), None)
        if bare is not None:
            what = "length" if bare.conductor is not None and bare.conductor.length is None else "gauge"
            found[string] = Missing(f"{what} of {bare.name}", bare.span, "2 m long" if what == "length" else "10 AWG")
            continue
        found[string] = sum(
            currents[branch.name] * branch.ohm * (1.0 + branch.alpha * (study.climate.of_branch(branch, temperatures) - 20.0))
            for branch in branches
        )
    return found


def _leads(study: Study, controller: Controller, string: tuple[str, ...], way: Arrangement) -> list[Branch]:
    """Return the branches from the controller through a string and back, the shortest way between each two of its arrays."""
    nodes = [f"{controller.name}.pv_minus"]
    for name in string:
        nodes += [f"{name}.minus", f"{name}.plus"]
    nodes.append(f"{controller.name}.pv_plus")
    found: list[Branch] = []
    for start, end in zip(nodes[::2], nodes[1::2], strict=True):
        found.extend(study.circuit.path(start, (end,), open_gates=way.open_gates) or ())
    return found
