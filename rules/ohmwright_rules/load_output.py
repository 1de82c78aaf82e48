"""Loads on a controller's load output that its small transistor does not bear."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ohmwright.circuit.assumptions import ASSUMED_EFFICIENCY
from ohmwright.circuit.graph import Consumer
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step, common_practice
from ohmwright.rules import Case, Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.records import record

from ohmwright_rules.verdicts import verdict
from ohmwright_rules.wording import listed

RULE = Rule(
    id="load-output",
    title="Too much on the controller's load output",
    family="controllers",
    subject="controller",
    covers=("B8",),
    grades=(
        Grade("inverter", Severity.ERROR, "an inverter hangs on the load output"),
        Grade("over-current", Severity.ERROR, "what runs together takes more than the load output gives"),
        Grade("start", Severity.ERROR, "the largest start on top of the others is over the peak of the load output"),
    ),
    references=(
        Reference("a controller maker's public support page", "", "no inverter on load terminals", "secondary"),
        common_practice("current and peak of the load output, as declared"),
    ),
)
_MOTOR_START = 6.0  # times the running current: a vendor's upper figure (weak source), where a motor declares none
_UNUSED = "its load output is not used"


def check(study: Study) -> Iterator[Outcome]:
    """Look at everything that hangs on the load output of every controller."""
    left: Counter[str] = Counter()
    for controller in sorted(study.of(Controller), key=lambda part: part.name):
        hanging = _hanging(study, controller)
        if not hanging:
            left[_UNUSED] += 1
            continue
        yield from _inverters(study, controller, hanging)
        yield _current(study, controller, hanging)
        yield from _start(study, controller, hanging)
    for condition, count in sorted(left.items()):
        yield DoesNotApply(condition, count)


def _hanging(study: Study, controller: Controller) -> tuple[Consumer, ...]:
    """Return the consumers that the load output feeds, without going through the controller itself.

    Of a controller with a common plus also those that come home to the negative which it switches, wherever their plus is taken from.
    """
    name = controller.name
    nodes = study.circuit.nodes_of(name)

    def near(terminal: str) -> set[str]:
        node = f"{name}.{terminal}"
        return (
            study.circuit.reach(node, lambda branch: not (branch.kind == "inside" and branch.part == name))
            if node in nodes
            else set()
        )

    plus = near("load_plus")
    minus = near("load_minus") if controller.common_pole == "positive" else set()
    if f"{name}.batt_minus" in minus:
        minus = set()  # bypassed: what comes home there may hang on the battery
    found = [
        consumer
        for consumer in study.circuit.consumers
        if (consumer.plus in plus or consumer.minus in minus) and consumer.part.name != name
    ]
    return tuple(sorted(found, key=lambda consumer: consumer.name))


def _inverters(study: Study, controller: Controller, hanging: tuple[Consumer, ...]) -> Iterator[Outcome]:
    inverters = [consumer.part for consumer in hanging if isinstance(consumer.part, Inverter)]
    for inverter in inverters:
        volt = study.system_voltage or 12.0
        said = inverter.efficiency
        efficiency = float(said.low) if said is not None and said.low > 0 else ASSUMED_EFFICIENCY
        peak = inverter.peak_power.power if inverter.peak_power is not None else inverter.rated_power
        steps: tuple[Step, ...] = ()
        takes = ""
        if peak is not None:
            current = float(peak.high) / (efficiency * volt)
            expression = f"{float(peak.high):.4g} / ({efficiency:.3g} x {volt:g})"
            steps = (Step("I_peak", expression, current, "A", "as declared, at the nominal voltage"),)
            takes = f" It takes up to {shown(Amount(current, 'current'))} when it starts"
            gives = controller.load_output_current
            takes += (
                f"; the output gives {shown(Amount(float(gives.low), 'current', gives.unit))}." if gives is not None else "."
            )
        yield Finding(
            "inverter",
            (controller.name, inverter.name),
            f"{controller.name}: the inverter {inverter.name} hangs on its load output.{takes} Its input capacitors alone are a short circuit"
            " for the output's transistor.",
            inverter.span,
            working=steps,
            remedy=f"Feed {inverter.name} from the battery, through a fuse of its own; use its remote input to switch it.",
            related=(Related(controller.name, controller.span),),
        )
    if not inverters:
        yield Passed("inverter", (controller.name,))


def _current(study: Study, controller: Controller, hanging: tuple[Consumer, ...]) -> Outcome:
    subject = (controller.name, *(consumer.part.name for consumer in hanging))
    gives = controller.load_output_current
    if gives is None:
        missing = Missing("current of its load output", controller.span, "load output at most 20 A")
        return missing.outcome("over-current", subject)
    limit = Amount(float(gives.low), "current", gives.unit)
    cases = [
        Case(case.state.name, Amount(case.current, "current", gives.unit), limit)
        for way in ("output", "return")
        for case in study.currents_of(f"{controller.name} load {way}")
        if not case.state.setup.is_surge
    ]
    if not cases:
        return Passed("over-current", subject, Amount(0.0, "current", gives.unit), limit)
    found = verdict(study, cases, "at-most", "kill")
    worst = found.worst
    if not found.broken:
        return Passed("over-current", subject, worst.measured, limit, state=worst.state)
    measured, allowed = shown_pair(worst.measured, limit)
    return Finding(
        "over-current",
        subject,
        f"{controller.name}: in state {worst.state!r} {measured} flow out of its load output; it gives {allowed}.",
        controller.span,
        worst.measured,
        limit,
        state=worst.state,
        states=found.broken,
        working=(
            Step("I", f"state {worst.state!r}", worst.measured.value, "A", "solved circuit, constant power at its cut-off"),
        ),
        remedy=f"Keep what runs together on it to {allowed}, or feed {_words(hanging)} from the battery through a fuse.",
        related=(
            Related("the limit", controller.place_of(Controller.load_output_current)),
            *(Related(consumer.part.name, consumer.part.span) for consumer in hanging),
        ),
        reference=RULE.references[1],
        at_most=found.at_most,
    )


def _words(hanging: tuple[Consumer, ...]) -> str:
    return listed(dict.fromkeys(consumer.part.name for consumer in hanging))


@record
class _Starting:
    """A load on the output: what it takes when it runs and when it starts [A], the latter None where that is not known."""

    load: Load
    runs: float
    starts: float | None
    why: str


def _start(study: Study, controller: Controller, hanging: tuple[Consumer, ...]) -> Iterator[Outcome]:
    loads = [_starting(study, consumer.part) for consumer in hanging if isinstance(consumer.part, Load)]
    if not loads:
        return
    subject = (controller.name, *(item.load.name for item in loads))
    peak = controller.load_output_peak
    if peak is None:
        missing = Missing("peak current of its load output", controller.span, "load output peak 30 A")
        yield missing.outcome("start", subject)
        return
    limit = Amount(float(peak.low), "current", peak.unit)
    known = [(item, item.starts) for item in loads if item.starts is not None]
    together = {item.load.name: _beside(study, item.load.name, loads) for item in loads}
    sums = [(starts + together[item.load.name], item, starts) for item, starts in known]
    worst = max(sums, key=lambda entry: entry[0], default=None)
    if worst is None or not is_broken(worst[0], limit.value, "at-most"):
        unknown = next((item for item in loads if item.starts is None), None)
        if unknown is not None:
            missing = Missing(f"start current of {unknown.load.name}", unknown.load.span, "starts at 2 A")
            yield missing.outcome("start", subject)
        elif worst is not None:
            yield Passed("start", subject, Amount(worst[0], "current", peak.unit), limit)
        return
    total, item, starts = worst
    others = together[item.load.name]
    measured, allowed = shown_pair(Amount(total, "current", peak.unit), limit)
    beside = f" with {shown(Amount(others, 'current'))} of others beside it" if others > 0 else ""
    yield Finding(
        "start",
        (controller.name, item.load.name),
        f"{controller.name}: when {item.load.name} starts{beside}, {measured} flow out of its load output; its peak is {allowed}.",
        item.load.span,
        Amount(total, "current", peak.unit),
        limit,
        working=(
            Step(
                "I_start",
                f"{item.load.name}: {item.why}",
                starts,
                "A",
                "as declared" if item.load.start is not None else "weak source",
            ),
            Step("I_others", "largest running currents of the others", others, "A", "solved circuit"),
        ),
        remedy=f"Feed {item.load.name} from the battery through a fuse, or choose one that starts at {_left(limit, others)} or less.",
        related=(Related("the peak of the output", controller.place_of(Controller.load_output_peak)),),
        reference=RULE.references[1],
    )


def _left(limit: Amount, others: float) -> str:
    return shown(Amount(max(limit.value - others, 0.0), "current", limit.unit))


def _beside(study: Study, name: str, loads: list[_Starting]) -> float:
    """Return what the other loads that may run together with one take."""
    never = [frozenset(group) for group in study.anatomy.never_together if name in group]
    return sum(item.runs for item in loads if item.load.name != name and not any(item.load.name in group for group in never))


def _starting(study: Study, load: Load) -> _Starting:
    runs = max(
        (
            state.design_current(load.name)
            for state in study.telling_states
            if (state.solved or state.asks) and not state.setup.is_surge
        ),
        default=0.0,
    )
    start = load.start
    if start is not None:
        if start.current is not None:
            return _Starting(load, runs, float(start.current.high), "start current")
        if start.times is not None:
            times = float(start.times.high)
            return _Starting(load, runs, runs * times, f"{times:g} x {runs:.4g}")
        volt = study.networker.cut_off or study.system_voltage
        if start.power is not None and volt:
            watt = float(start.power.high)
            return _Starting(load, runs, watt / volt, f"{watt:.4g} / {volt:.4g}")
    if load.motor:
        return _Starting(load, runs, _MOTOR_START * runs, f"{_MOTOR_START:g} x {runs:.4g}, a motor that declares none")
    return _Starting(load, runs, None, "")
