"""A fuse or breaker that cannot interrupt the current of a short right behind it."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.batteries import resistance_low, rest_voltage_of
from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.protection.prospective import Battery as Pushing
from ohmwright.protection.prospective import Prospective, prospective
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.battery import LITHIUM, Battery
from ohmwright_grammar.kinds.fuse import BreakingRating, Fuse
from ohmwright_grammar.records import record

from ohmwright_rules.guarding import device_word
from ohmwright_rules.live_sides import live_sides
from ohmwright_rules.silent_battery import silent_voltage
from ohmwright_rules.wording import listed

RULE = Rule(
    id="weak-breaking",
    title="Interrupting rating below the short-circuit current",
    family="protection",
    subject="device",
    covers=("F6",),
    grades=(
        Grade("over-rating", Severity.ERROR, "a short beside the device draws more than it interrupts at the system's voltage"),
    ),
    references=(
        Reference("46 CFR 111.54-1", "as on a law mirror, undated", "(a)(3)", "read"),
        Reference("ABYC E-11", "as quoted on a forum", "interrupting capacity by the size of the bank", "secondary"),
    ),
)
_GRADE = "over-rating"
_FULL = 1.0
_BLADE = 1000.0  # A, at 32 V: what a blade fuse of 1 to 40 A interrupts (fuse_interrupting.csv, a design note)
_NOTHING = 1e9  # ohm: in place of what is not known, where it must not add to a current
_TOO_HIGH = 1.35  # times the declared system voltage: a bank that rests above that is another system


@record
class _Shorts:
    """The largest short at each device of one part: with what is not declared of conductors as nothing, and as without end."""

    most: Prospective
    least: Prospective


def check(study: Study) -> Iterator[Outcome]:
    """Hold the interrupting rating of every device against the largest current of a short beside it."""
    most = _by_part(study, 0.0)
    told = not any(branch.conductor is not None and branch.assumed for branch in study.circuit.branches)
    least = most if told else _by_part(study, _NOTHING)
    parts = sorted({branch.part for branch in study.circuit.branches if branch.device})
    without = 0
    for part in parts:
        if part in most and part in least:
            yield from _judge(study, _Shorts(most[part], least[part]))
        else:
            without += 1
    if without:
        yield DoesNotApply("no battery can push a short through it", without)


def _by_part(study: Study, unmeasured: float) -> dict[str, Prospective]:
    """Return the largest short at any pole of each device, over every setting, by part."""
    batteries = {battery.name: _pushing(battery) or Pushing(1.0, _NOTHING) for battery in study.of(Battery)}

    def ohm(wire: Branch) -> float:
        conductor = wire.conductor
        if wire.assumed or conductor is None:
            return unmeasured
        if conductor.measured_resistance is not None:
            return float(conductor.measured_resistance.low)
        length = conductor.length
        return wire.ohm * (length.low / length.high) if length is not None and length.high > 0 else wire.ohm

    found: dict[str, Prospective] = {}
    for poles in live_sides(study):
        for short in prospective(poles, batteries, ohm).values():
            known = found.get(short.device.part)
            if known is None or short.ampere > known.ampere:
                found[short.device.part] = short
    return found


def _pushing(battery: Battery) -> Pushing | None:
    volt, ohm = rest_voltage_of(battery, _FULL), resistance_low(battery)
    return Pushing(volt, ohm) if volt is not None and ohm is not None else None


def _judge(study: Study, shorts: _Shorts) -> Iterator[Outcome]:
    most, least = shorts.most, shorts.least
    part = study.part(most.device.part)
    assert isinstance(part, Fuse)
    subject = (part.name,)
    system = _system_voltage(study, most)
    rating = _rating_at(part, system)
    if rating is None:
        volt = shown(Amount(system, "voltage"))
        what = f"interrupting rating at {volt} or more" if part.breaks else "interrupting rating"
        yield Missing(what, part.span, f"breaks {_round_up(most.ampere)} at ^32 V dc").outcome(_GRADE, subject)
        return
    limit = Amount(float(rating.current.low), "current", rating.current.unit)
    unknown = next((name for name in most.batteries if _unknown(study, name)), None)
    if is_broken(least.ampere, limit.value, "at-most"):
        yield _finding(study, part, least, rating, limit, system)
    elif unknown is not None:
        battery = study.part(unknown)
        assert isinstance(battery, Battery)
        if rest_voltage_of(battery, _FULL) is None:
            missing = silent_voltage(battery)
        else:
            what = f"measured internal resistance, or short-circuit current, of {unknown}"
            missing = Missing(what, battery.span, "internal resistance 3 mohm")
        yield missing.outcome(_GRADE, subject)
    elif is_broken(most.ampere, limit.value, "at-most"):
        wire = _unmeasured_on_the_way(study, most)
        what, of = (
            ("gauge and length of the wires before it", part.span)
            if wire is None
            else (f"gauge or length of {wire.name}", wire.span)
        )
        yield Missing(what, of, "8 AWG, 0.3 m long").outcome(_GRADE, subject)
    else:
        yield Passed(_GRADE, subject, Amount(most.ampere, "current", limit.unit), limit)


def _unknown(study: Study, name: str) -> bool:
    battery = study.part(name)
    return isinstance(battery, Battery) and _pushing(battery) is None


def _system_voltage(study: Study, short: Prospective) -> float:
    """Return the system's voltage [V]: the declared one unless the bank rests far above it, else that of the full bank."""
    said = study.system_voltage
    return said if said is not None and short.open_volt <= _TOO_HIGH * said else short.open_volt


def _rating_at(part: Fuse, volt: float) -> BreakingRating | None:
    """Return the largest rating that holds at a voltage: one at that voltage or above."""
    holding = [rating for rating in part.breaks or () if float(rating.at.low) >= volt * (1 - 1e-9)]
    return max(holding, key=lambda rating: float(rating.current.low), default=None)


def _round_up(ampere: float) -> str:
    for step in (1000.0, 2000.0, 5000.0, 10_000.0, 20_000.0):
        if ampere <= step:
            return f"{step / 1000:g} kA"
    return "20 kA"


def _unmeasured_on_the_way(study: Study, short: Prospective) -> Branch | None:
    ends = {source.plus for source in study.circuit.sources if source.name in short.batteries}
    way = study.circuit.path(short.side, ends, lambda branch: branch.name != short.device.name) or ()
    return next((branch for branch in way if branch.conductor is not None and branch.assumed), None)


def _finding(study: Study, part: Fuse, short: Prospective, rating: BreakingRating, limit: Amount, system: float) -> Finding:
    measured = Amount(short.ampere, "current", limit.unit)
    drawn, breaks = shown_pair(measured, limit)
    word = device_word(part)
    at = shown(Amount(float(rating.at.low), "voltage", rating.at.unit))
    who = listed(short.batteries)
    message = f"{part.name}: a short beside it draws {drawn} from {who}; this {word} interrupts {breaks} at {at}."
    lithium = any(isinstance(battery := study.part(name), Battery) and battery.chemistry in LITHIUM for name in short.batteries)
    if lithium and limit.value <= _BLADE:
        message += " Even one small lithium battery gives more than the 1 kA that a blade fuse interrupts."
    volt = shown(Amount(system, "voltage"))
    remedy = f"Use a {word} that interrupts {shown(Amount(short.ampere, 'current', limit.unit))} or more at {volt}"
    if 2000.0 < short.ampere <= 20_000.0:
        remedy += " (class T fuses interrupt 20 kA at 125 V dc)"
    return Finding(
        _GRADE,
        (part.name,),
        message,
        part.span,
        measured,
        limit,
        working=_steps(study, short),
        remedy=f"{remedy}.",
        related=(
            Related("the interrupting rating", part.place_of(Fuse.breaks)),
            *(Related(f"the battery {name}", study.span(name)) for name in short.batteries[:8]),
        ),
    )


def _steps(study: Study, short: Prospective) -> tuple[Step, ...]:
    steps: list[Step] = []
    for name in short.batteries:
        battery = study.part(name)
        pushing = _pushing(battery) if isinstance(battery, Battery) else None
        if pushing is not None:
            steps.append(Step("U_full", f"{name}, full, at rest", pushing.volt, "V", "rest voltages"))
            steps.append(Step("R_low", f"{name}, lower end", pushing.ohm, "ohm", "as declared"))
    words = "batteries and the live conductors up to it, copper at 20 degC; return, contacts and devices as nothing"
    steps.append(
        Step("R", f"{short.side}: {words}", short.ohm, "ohm", "IEC 60909-0 for the largest fault current, from memory")
    )
    steps.append(Step("I_short", f"{short.open_volt:.4g} / {short.ohm:.4g}", short.ampere, "A", "Ohm's law"))
    return tuple(steps)
