"""Which way round things lie between the poles of the sources, by the graph alone."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from ohmwright.circuit.batteries import nominal_voltage
from ohmwright.circuit.graph import Source
from ohmwright.study import Study
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.charging import Charging
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.inverter import Converter
from ohmwright_grammar.kinds.switch import Relay
from ohmwright_grammar.records import record

from ohmwright_rules.nets import Field, Layout, Push

__all__ = ["Port", "field_of", "ports"]

_FIRST = {"battery": 0, "converter": 1, "array": 2, "charger": 3, "controller": 4}  # who tells the polarity of a net first
_UNKNOWN = 12.0  # V: only the sign counts


@record
class Port:
    """Two terminals of a part that have a plus and a minus; `side` tells which of several ("PV side", "input", "output")."""

    part: str
    plus: str
    minus: str
    side: str = ""


def field_of(study: Study, layout: Layout, without: Collection[str] = ()) -> Field:
    """Return how high nets lie over each other by the signs of all sources: batteries tell first, then converters, arrays and chargers."""
    sources = [source for source in study.circuit.sources if source.name not in without]
    sources.sort(key=lambda source: (_FIRST[source.kind], source.name))
    return Field(layout, [Push(source, _volt(source)) for source in sources])


def _volt(source: Source) -> float:
    part = source.part
    found: float | None = None
    if isinstance(part, Battery):
        found = nominal_voltage(part)
    elif isinstance(part, Converter):
        found = float(part.output_voltage.nominal) if part.output_voltage is not None else None
    elif isinstance(part, Array):
        found = float(part.voc.nominal) * (part.in_series or 1) if part.voc is not None else None
    elif isinstance(part, Charging):
        found = float(part.absorption_voltage.nominal) if part.absorption_voltage is not None else None
    return found or _UNKNOWN


def ports(study: Study) -> tuple[Port, ...]:
    """Return everything that has a plus and a minus, each once, in name order; a coil only where a diode lies across it."""
    found = dict.fromkeys(_ports(study))
    return tuple(sorted(found, key=lambda port: (port.part, port.side, port.plus)))


def _ports(study: Study) -> Iterator[Port]:
    known = study.networker.number
    for source in study.circuit.sources:
        yield Port(source.name, source.plus, source.minus, "output" if source.kind == "converter" else "")
        part = source.part
        if isinstance(part, Controller) and f"{part.name}.pv_plus" in known and f"{part.name}.pv_minus" in known:
            yield Port(part.name, f"{part.name}.pv_plus", f"{part.name}.pv_minus", "PV side")
    for consumer in study.circuit.consumers:
        part = consumer.part
        if consumer.kind == "coil" and not (isinstance(part, Relay) and part.coil_suppression == "diode"):
            continue
        side = {"coil": "coil", "converter": "input"}.get(consumer.kind, "")
        yield Port(part.name, consumer.plus, consumer.minus, side)
