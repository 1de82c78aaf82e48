"""Everything that was implied, defaulted or assumed, each with where it comes from."""

from __future__ import annotations

from typing import Any

from ohmwright_grammar.printing import say_value
from ohmwright_grammar.things import Thing, data_of

from ohmwright.results import Assumed
from ohmwright.study import Study

__all__ = ["everything_assumed"]

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
    return tuple(found)


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
