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

_NOT_SUMMED = "the heat of its own losses is not summed yet; a range of temperature, said of a zone in it, holds that rise"
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
    """Yield the zones and closed cases whose warming by what is lost inside is not counted: those that give no range of temperature of their own.

    A case that does not say whether it is closed counts as closed; one with a zone that gives its range is left to that.
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
        yield Assumed(name, "temperature rise inside", "0 K", _NOT_SUMMED)


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
