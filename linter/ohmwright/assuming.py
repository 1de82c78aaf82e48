"""Everything that was implied, defaulted or assumed, each with where it comes from."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ohmwright_grammar.kinds.enclosure import Enclosure
from ohmwright_grammar.kinds.site import Zone
from ohmwright_grammar.printing import say_value
from ohmwright_grammar.things import Thing, data_of

from ohmwright.results import Assumed
from ohmwright.study import Study

__all__ = ["everything_assumed"]

_NOT_SUMMED = "the heat of its own losses is not summed"
_RISE = "temperature rise inside"
_RANGE = "a range of temperature, said of a zone in it, holds that rise"
_ORIGINS = {"default": "default", "group": "group", "derived": "derived"}


def everything_assumed(study: Study) -> tuple[Assumed, ...]:
    """Return implied states, facts that came from defaults (with the line that set them), and what the circuit assumed."""
    found: list[Assumed] = []
    for state in study.states:
        if state.setup.origin == "implied":
            found.append(Assumed(f'"{state.name}"', "state", "implied", "always added beside the declared ones"))
    things: list[Thing] = [*study.build.parts.values(), *(run.conductor for run in study.build.runs), *study.build.things]
    for thing in things:
        found.extend(_from_defaults(thing))
    found.extend(Assumed(item.subject, item.what, item.value, item.source) for item in study.assumptions())
    found.extend(_own_heat(study))
    return tuple(found)


def _own_heat(study: Study) -> Iterator[Assumed]:
    """Yield how much warmer closed cases and zones are taken than outside: as summed from their losses, or not at all where that cannot be told.

    Those that give a range of temperature of their own are left out. A case that does not say whether it is closed counts as closed; one with a zone that
    gives its range is left to that.
    """
    cases = {
        case.name: case for case in study.of(Enclosure) if case.closed is not False and not case.says_none(Enclosure.closed)
    }
    zones = list(study.of(Zone))
    open_cases = {case.name for case in study.of(Enclosure)} - set(cases)
    told = {zone.enclosure for zone in zones if zone.temperature is not None}
    silent = [zone for zone in zones if zone.temperature is None and zone.enclosure not in open_cases]
    held = {zone.enclosure for zone in silent}
    for name in sorted({*(zone.name for zone in silent), *(set(cases) - told - held)}):
        yield _rise(study, name, cases)


def _rise(study: Study, zone: str, cases: dict[str, Enclosure]) -> Assumed:
    hottest = study.hottest_air(zone) if zone in study.summed_zones else None
    if hottest is not None:
        from ohmwright.missing import Missing  # only a build with a closed case asks

        air = study.air(zone, hottest[1])
        if not isinstance(air, Missing) and air.balance:
            rise = f"{air.rise:.3g} K"
            if air.lacking is not None and air.high > air.low:
                rise = f"{rise} or more"
            sums = "; ".join(
                f"{step.symbol} = {step.value:.4g} {step.unit}" for step in air.steps if step.symbol in ("P", "A", "h")
            )
            open_to = (
                f"; {air.lacking.what} is not declared and counts as no loss" if rise.endswith("more") and air.lacking else ""
            )
            return Assumed(zone, _RISE, rise, f"computed from the losses of state {air.state!r}: {sums}{open_to}")
        if not isinstance(air, Missing):
            return Assumed(
                zone, _RISE, "none is enough", f"what is lost in state {air.state!r} cannot leave at any temperature"
            )
    why = _why_not(study, zone, cases)
    return Assumed(zone, _RISE, "0 K", f"{_NOT_SUMMED}{why}; {_RANGE}")


def _why_not(study: Study, zone: str, cases: dict[str, Enclosure]) -> str:
    """Return what keeps the heat of a zone or case from being summed, as words that follow."""
    if not cases:
        return ": it lies in no case"
    name = zone if zone in cases else study.airs.case_of(zone)
    case = cases.get(name)
    if case is None:
        return ": the case that it lies in is not declared"
    if case.size is None and case.inside_size is None:
        return f": the size of {name} is not declared"
    from ohmwright.thermal.walls import unsure_of  # only a build with a closed case asks

    unsure = unsure_of(case)
    if unsure is not None:
        return f": {unsure.what} is not declared"
    return ": nothing is said to lie in it" if zone not in study.summed_zones else ": no state is solved"


def _from_defaults(thing: Thing) -> list[Assumed]:
    data = data_of(type(thing))
    rows: list[Assumed] = []
    for name, fact in thing.facts.items():
        origin = _ORIGINS.get(fact.origin)
        if origin is None or name not in data:
            continue
        value: Any = fact.value
        place = f"{fact.source.path} line {fact.source.line}"
        said = say_value(data[name], value) if fact.answer == "said" else fact.answer
        rows.append(Assumed(thing.name, name.replace("_", " "), said, f"{origin}, {place}"))
    return rows
