"""An inverter whose own draw is large beside what hangs on it."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.kinds.load import Load

from ohmwright_rules.day_energy import hours_of_inverter, hours_of_load

RULE = Rule(
    id="oversized-inverter",
    title="Inverter too big for its job",
    family="mains",
    subject="inverter",
    covers=("I12",),
    grades=(Grade("idle-share", Severity.NOTE, "its draw with no load takes more than 15 % of what its loads take a day"),),
    references=(common_practice("15 % of the energy of its loads"),),
)
_GRADE = "idle-share"
_SHARE = 0.15  # catalogue, I12
_DAY = 86400.0


def check(study: Study) -> Iterator[Outcome]:
    """Hold what every inverter draws with no load in a day against what its loads take."""
    without = 0
    for inverter in sorted(study.of(Inverter), key=lambda part: part.name):
        names = sorted(study.ac_side.loads_of(inverter.name))
        loads = [load for name in names if isinstance(load := study.part(name), Load)]
        if loads:
            yield _judge(study, inverter, loads)
        else:
            without += 1
    if without:
        yield DoesNotApply("no AC load hangs on it", without)


def _judge(study: Study, inverter: Inverter, loads: list[Load]) -> Outcome:
    subject = (inverter.name,)
    if inverter.no_load_draw is None:
        return Missing("draw with no load", inverter.span, "idle 8 W").outcome(_GRADE, subject)
    share = hours_of_inverter(study, inverter)
    idle = Amount(float(inverter.no_load_draw.high) * share * _DAY, "energy", "Wh")
    energy = 0.0
    steps: list[Step] = []
    gap: Missing | None = None
    for load in loads:
        hours, power = hours_of_load(load), load.power
        if power is None or hours is None:
            what, line = ("power", "90 W") if power is None else ("hours a day", "for 4 h/day")
            gap = gap or Missing(f"{what} of {load.name}", load.span, line)
        else:
            taken = float(power.high) * hours * _DAY
            energy += taken
            words = f"{float(power.high):.4g} W x {24 * hours:.4g} h"
            steps.append(Step(f"E_{load.name}", words, taken / 3600.0, "Wh", "as declared"))
    limit = Amount(_SHARE * energy, "energy", "Wh")
    if not is_broken(idle.value, limit.value, "at-most"):
        return Passed(_GRADE, subject, idle, limit)
    if gap is not None:
        return gap.outcome(_GRADE, subject)
    draws, allowed = shown_pair(idle, limit)
    draw = shown(Amount(float(inverter.no_load_draw.high), "power", inverter.no_load_draw.unit))
    of_loads = f", {idle.value / energy * 100:.3g} % of what its loads take" if energy > 0 else ""
    hours_on = shown(Amount(24.0 * 3600.0 * share * limit.value / idle.value, "time", "h"))
    return Finding(
        _GRADE,
        subject,
        f"{inverter.name}: its draw with no load of {draw} takes {draws} a day{of_loads}; 15 % is {allowed}.",
        inverter.place_of(Inverter.no_load_draw),
        idle,
        limit,
        working=(
            Step("E_idle", f"{draw} x {24 * share:.4g} h", idle.value / 3600.0, "Wh", "hours a day in which it is on"),
            *steps,
            Step("E_limit", f"0.15 x {energy / 3600.0:.4g}", limit.value / 3600.0, "Wh", "common practice, no source"),
        ),
        remedy=f"Use a smaller inverter for these loads, one that sleeps by itself, or switch it on for {hours_on} a day at most.",
        related=tuple(Related(f"{load.name} hangs on it", load.span) for load in loads[:8]),
    )
