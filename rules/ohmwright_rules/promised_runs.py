"""What promises of run time take from a bank: loads that run together for so long, a power, days without sun."""

from __future__ import annotations

from ohmwright.missing import Missing
from ohmwright.references import Step
from ohmwright.states.implied import resting_setup
from ohmwright.study import Study
from ohmwright.values import Amount, shown
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.requirement import Requirement
from ohmwright_grammar.records import record

from ohmwright_rules.day_energy import Day, day_energy
from ohmwright_rules.run_energy import fewest_packs, lone_bank, named_loads, taken_by, wiring_share
from ohmwright_rules.wording import listed

__all__ = ["Asked", "asked_by_day", "asked_by_days", "asked_by_run", "every_battery"]

_HOUR, _DAY = 3600.0, 86400.0
_WIRING = 0.97  # of a power that says nothing of its wires: the fault catalogue's own example, J1


@record
class Asked:
    """What one promise (or a day, where nothing is promised) takes from a bank.

    `energy` is what leaves the posts [J], `least` what it is at least while something was not said; `time` [s] what it was asked for, `power` the mean [W].
    """

    words: str
    energy: float
    least: float
    power: float
    time: float
    loads: tuple[str, ...]
    strings: tuple[tuple[str, ...], ...]
    steps: tuple[Step, ...]
    unsaid: Missing | None


def every_battery(study: Study) -> tuple[str, ...]:
    """Return the names of all batteries, in order."""
    return tuple(sorted(battery.name for battery in study.of(Battery)))


def asked_by_run(study: Study, requirement: Requirement) -> Asked | Missing:
    """Return what a promise to run loads, or a power, for so long takes; a datum where that is not known."""
    run = requirement.run
    assert run is not None
    time = float(run.time.high)
    hours = shown(Amount(time, "time", run.time.unit))
    said = _wiring_said(study)
    if run.loads:
        loads = named_loads(study, run.loads)
        if isinstance(loads, Missing):
            return loads
        taken = taken_by(study, loads)
        if isinstance(taken, Missing):
            return taken
        share = wiring_share(taken, said)
        power = taken.parts / share
        steps = (
            *taken.steps,
            Step("eta_wire", "share left after the wiring", share, "1", "solved circuit" if said is None else "as required"),
            Step(
                "E_run",
                f"{taken.parts:.4g} W / {share:.3g} x {time / _HOUR:.4g} h",
                power * time / _HOUR,
                "Wh",
                "from the posts",
            ),
        )
        words = f"running {listed(run.loads)} for {hours}"
        return Asked(words, power * time, taken.useful * time, power, time, run.loads, taken.strings, steps, taken.unsaid)
    assert run.power is not None
    watts = float(run.power.high)
    share = said if said is not None else _WIRING
    strings = _only_bank(study)
    source = "as required" if said is not None else "assumed, common practice, no source"
    steps = (
        Step("eta_wire", "share left after the wiring", share, "1", source),
        Step(
            "E_run", f"{watts:.4g} W x {time / _HOUR:.4g} h / {share:.3g}", watts * time / share / _HOUR, "Wh", "from the posts"
        ),
    )
    words = f"giving {shown(Amount(watts, 'power', run.power.unit))} for {hours}"
    return Asked(words, watts * time / share, watts * time, watts / share, time, (), strings, steps, None)


def _wiring_said(study: Study) -> float | None:
    said = [float(item.share_after_wiring.low) for item in study.of(Requirement) if item.share_after_wiring is not None]
    return min((share for share in said if share > 0), default=None)


def _only_bank(study: Study) -> tuple[tuple[str, ...], ...]:
    """Return the strings of all batteries but packs that may be left away."""
    state = study.solve_setup(fewest_packs(study, resting_setup(study.build, study.anatomy)))
    rows = {name for row in study.build.rows for name in row.instances[row.least :]}
    names = [battery.name for battery in study.of(Battery) if not any(battery.name.startswith(f"{name}.") for name in rows)]
    return lone_bank(study, state, names)


def asked_by_days(study: Study, requirement: Requirement) -> Asked | Missing:
    """Return what promised days without sun take; a datum where that is not known."""
    days = requirement.days_without_sun
    assert days is not None
    return asked_by_day(
        study, float(days.high) / _DAY, f"running for {shown(Amount(float(days.high), 'time', days.unit))} without sun"
    )


def asked_by_day(study: Study, days: float, words: str) -> Asked | Missing:
    """Return what so many days of all loads take; a datum where that is not known."""
    day = day_energy(study)
    if isinstance(day, Missing):
        return day
    steps = day.steps if days == 1.0 else (*day.steps, _of_days(day, days))
    energy = day.energy * days
    return Asked(
        words,
        energy,
        energy if day.unsaid is None else 0.0,
        day.energy / _DAY,
        days * _DAY,
        (),
        day.taken.strings,
        steps,
        day.unsaid,
    )


def _of_days(day: Day, days: float) -> Step:
    return Step("E", f"{day.energy / _HOUR:.4g} Wh x {days:.4g} days", day.energy * days / _HOUR, "Wh", "days without sun")
