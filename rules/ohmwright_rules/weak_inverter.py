"""A load whose start asks for more than the peak of the inverter that it hangs on."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.kinds.load import Load

from ohmwright_rules.promised_loads import is_promised
from ohmwright_rules.surges import MOTOR_START, start_power

RULE = Rule(
    id="weak-inverter",
    title="Start of a load above the peak of its inverter",
    family="mains",
    subject="load",
    covers=("I4",),
    grades=(
        Grade("cannot-start", Severity.ERROR, "the start of a promised load asks for more than the inverter gives for that long"),
        Grade("cannot-start-unrequired", Severity.WARNING, "the start of another load asks for more than the inverter gives for that long"),
    ),
    references=(Reference("a maker's list of loads on inverters", "", "motors start at 3 to 6 times their running power", "secondary"),),
)  # fmt: skip
_NO_LOAD = "no AC load hangs on it"


def check(study: Study) -> Iterator[Outcome]:
    """Hold what every AC load takes at its start against the peak of its inverter."""
    idle = steady = 0
    for inverter in sorted(study.of(Inverter), key=lambda part: part.name):
        names = study.ac_side.loads_of(inverter.name)
        idle += not names
        for name in sorted(names):
            load = study.part(name)
            if not isinstance(load, Load):
                continue
            if load.motor is False and load.start is None:
                steady += 1
            else:
                yield _judge(study, inverter, load)
    if idle:
        yield DoesNotApply(_NO_LOAD, idle)
    if steady:
        yield DoesNotApply("is no motor and says no start", steady)


def _judge(study: Study, inverter: Inverter, load: Load) -> Outcome:
    subject = (load.name, inverter.name)
    grade = "cannot-start" if is_promised(study, load) else "cannot-start-unrequired"
    volt = float(inverter.ac_voltage.nominal) if inverter.ac_voltage is not None else None
    power = start_power(load, volt)
    if power is None:
        return _unsaid(inverter, load).outcome(grade, subject)
    measured = Amount(power, "power")
    peak, rated = inverter.peak_power, inverter.rated_power
    lasts = load.start.lasts if load.start is not None else None
    short = (
        peak is not None
        and peak.time is not None
        and lasts is not None
        and is_broken(float(peak.time.low), float(lasts.high), "at-least")
    )
    bears = rated if short or peak is None else peak.power
    if bears is None:
        return Missing(
            f"{'rated' if short else 'peak'} power of {inverter.name}",
            inverter.span,
            "600 W" if short else "peak 1200 W for 3 s",
        ).outcome(grade, subject)
    limit = Amount(float(bears.low), "power", bears.unit)
    if not is_broken(power, limit.value, "at-most"):
        return Passed(grade, subject, measured, limit)
    if peak is None:  # it gives more than its rated power for a moment, nobody says how much
        return Missing(f"peak power of {inverter.name}", inverter.span, "peak 1200 W for 3 s").outcome(grade, subject)
    takes, gives = shown_pair(measured, limit)
    why = ""
    if short and peak.time is not None and lasts is not None:
        time, long = shown_pair(
            Amount(float(peak.time.low), "time", peak.time.unit), Amount(float(lasts.high), "time", lasts.unit)
        )
        why = f" for as long as that: its peak lasts {time}, the start {long}"
    return Finding(
        grade,
        subject,
        f"{load.name}: its start takes {takes}; {inverter.name} gives {gives} at most{why}.",
        load.span,
        measured,
        limit,
        working=(_step(load, power), Step("P_most", f"{'rated' if short else 'peak'} power of {inverter.name}", limit.value, "W", "as declared")),
        remedy=f"Use an inverter with a peak of {takes} or more, a load that starts softly, or run it on another supply.",
        related=(Related(f"{inverter.name}: what it gives", inverter.place_of(Inverter.rated_power if short else Inverter.peak_power)),),
    )  # fmt: skip


def _unsaid(inverter: Inverter, load: Load) -> Missing:
    """Return what nobody said and the power at a start needs."""
    if load.start is not None and load.start.current is not None:
        return Missing(f"AC voltage of {inverter.name}", inverter.span, "230 V AC")
    if load.power is None and (load.motor or load.start is not None):
        return Missing("power", load.span, "90 W")
    return Missing("whether it is a motor, or what it takes when it starts", load.span, "not motor")


def _step(load: Load, power: float) -> Step:
    start = load.start
    if start is None or start.times is not None:
        times = float(start.times.high) if start is not None and start.times is not None else MOTOR_START
        running = float(load.power.high) if load.power is not None else 0.0
        source = "as declared" if start is not None else "a motor that says nothing"
        return Step("P_start", f"{times:.3g} x {running:.4g} W", power, "W", source)
    return Step("P_start", f"start of {load.name}, {shown(Amount(power, 'power'))}", power, "W", "as declared")
