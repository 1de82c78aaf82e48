"""What each kind of part puts into the circuit: ways for current, sources, consumers.

To add a kind of part: write its class in the grammar's kinds, and a function here that says what its terminals do; the function is
found by the class.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any, TypeVar

from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.charging import Charger, DcCharger
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.distribution import Diode, FuseBlock, Meter, Resistor, Shunt
from ohmwright_grammar.kinds.fuse import Breaker, Fuse
from ohmwright_grammar.kinds.inverter import Converter, Inverter, InverterCharger
from ohmwright_grammar.kinds.load import AcLoad, Load
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.switch import Disconnect, Relay, Selector, Switch
from ohmwright_grammar.quantities import Quantity
from ohmwright_grammar.records import record

from ohmwright.circuit.graph import Branch, BranchKind, Consumer, Source

__all__ = ["BRIGHT_SUN", "Contribution", "contributions_of", "gate_of_position"]

BRIGHT_SUN = 1.25  # NEC 690.8(A): an array gives up to 1.25 times its short-circuit current

Contribution = Branch | Source | Consumer
P = TypeVar("P", bound=Part)
_MAKERS: list[tuple[type[Part], Callable[[Any, _Touched], Iterator[Contribution]]]] = []


@record
class _Touched:
    """Tells which terminals of a part something is joined to."""

    nodes: frozenset[str]

    def has(self, part: Part, *terminals: str) -> bool:
        return all(f"{part.name}.{terminal}" in self.nodes for terminal in terminals)


def _puts_in(
    kind: type[P],
) -> Callable[[Callable[[P, _Touched], Iterator[Contribution]]], Callable[[P, _Touched], Iterator[Contribution]]]:
    def register(maker: Callable[[P, _Touched], Iterator[Contribution]]) -> Callable[[P, _Touched], Iterator[Contribution]]:
        _MAKERS.append((kind, maker))
        return maker

    return register


def contributions_of(part: Part, touched: frozenset[str]) -> Iterator[Contribution]:
    """Yield what a part puts into the circuit; `touched` are the nodes that a conductor, joint or contact reaches."""
    seen = _Touched(touched)
    for kind, maker in _MAKERS:
        if isinstance(part, kind):
            yield from maker(part, seen)


def _most(quantity: Quantity[Any] | None) -> float | None:
    return float(quantity.high) if quantity is not None else None


def _branch(
    part: Part, kind: BranchKind, start: str, end: str, name: str, ohm: Quantity[Any] | None = None, gate: str = ""
) -> Branch:
    return Branch(
        name, kind, f"{part.name}.{start}", f"{part.name}.{end}", part.name, float(ohm.high) if ohm is not None else 0.0, part.span, gate,
        assumed=ohm is None,
    )  # fmt: skip


def _poles(part: Part, kind: BranchKind, ohm: Quantity[Any] | None, touched: _Touched, gate: str) -> Iterator[Branch]:
    for number in ("", "2", "3"):
        if touched.has(part, f"line{number}") or touched.has(part, f"load{number}"):
            name = part.name if not number else f"{part.name} pole {number}"
            yield _branch(part, kind, f"line{number}", f"load{number}", name, ohm, gate)


# sources -----------------------------------------------------------------------------------------------------------


@_puts_in(Battery)
def _battery(part: Battery, touched: _Touched) -> Iterator[Contribution]:
    yield Source(part.name, "battery", f"{part.name}.plus", f"{part.name}.minus", part)


@_puts_in(Array)
def _array(part: Array, touched: _Touched) -> Iterator[Contribution]:
    isc = _most(part.isc)
    limit = isc * part.most_in_parallel * BRIGHT_SUN if isc is not None else None
    yield Source(part.name, "array", f"{part.name}.plus", f"{part.name}.minus", part, limit)


@_puts_in(Controller)
def _controller(part: Controller, touched: _Touched) -> Iterator[Contribution]:
    name = part.name
    yield Source(name, "controller", f"{name}.batt_plus", f"{name}.batt_minus", part, _most(part.rated_current))
    if part.common_pole == "positive":
        if touched.has(part, "pv_plus") or touched.has(part, "pv_minus"):
            yield _branch(part, "inside", "pv_plus", "batt_plus", f"{name} common plus")
    elif touched.has(part, "pv_minus") or (part.common_pole == "negative" and touched.has(part, "pv_plus")):
        yield _branch(part, "inside", "pv_minus", "batt_minus", f"{name} common minus")
    output = touched.has(part, "load_plus")
    if output:
        yield _branch(part, "inside", "batt_plus", "load_plus", f"{name} load output")
    if output or touched.has(part, "load_minus"):  # with a common plus what hangs there may take its plus from the battery
        yield _branch(part, "inside", "load_minus", "batt_minus", f"{name} load return")
    if part.own_drain is not None or part.own_drain_power is not None:
        yield Consumer(name, "drain", f"{name}.batt_plus", f"{name}.batt_minus", part)


@_puts_in(Charger)
def _charger(part: Charger, touched: _Touched) -> Iterator[Contribution]:
    name = part.name
    yield Source(name, "charger", f"{name}.plus", f"{name}.minus", part, _most(part.rated_current))
    if "in_plus" in part.TERMINALS and (isinstance(part, DcCharger) or touched.has(part, "in_plus")):
        yield Consumer(f"{name} input", "converter", f"{name}.in_plus", f"{name}.in_minus", part)
    if part.drain_unplugged is not None:
        yield Consumer(name, "drain", f"{name}.plus", f"{name}.minus", part)


@_puts_in(Converter)
def _converter(part: Converter, touched: _Touched) -> Iterator[Contribution]:
    name = part.name
    yield Source(name, "converter", f"{name}.out_plus", f"{name}.out_minus", part, _most(part.output_current_limit))
    yield Consumer(name, "converter", f"{name}.in_plus", f"{name}.in_minus", part)
    if not part.isolated and (touched.has(part, "out_minus") or touched.has(part, "in_minus")):
        yield _branch(part, "inside", "in_minus", "out_minus", f"{name} common minus")


# consumers ---------------------------------------------------------------------------------------------------------


@_puts_in(Inverter)
def _inverter(part: Inverter, touched: _Touched) -> Iterator[Contribution]:
    yield Consumer(part.name, "inverter", f"{part.name}.plus", f"{part.name}.minus", part)
    if isinstance(part, InverterCharger) or part.also_charges:
        limit = _most(part.rated_current) if isinstance(part, InverterCharger) else None
        yield Source(part.name, "charger", f"{part.name}.plus", f"{part.name}.minus", part, limit)


@_puts_in(Load)
def _load(part: Load, touched: _Touched) -> Iterator[Contribution]:
    if isinstance(part, AcLoad):
        return
    yield Consumer(part.name, "load", f"{part.name}.plus", f"{part.name}.minus", part)


@_puts_in(Meter)
def _meter(part: Meter, touched: _Touched) -> Iterator[Contribution]:
    yield Consumer(part.name, "drain", f"{part.name}.plus", f"{part.name}.minus", part)


# ways --------------------------------------------------------------------------------------------------------------


@_puts_in(Fuse)
def _fuse(part: Fuse, touched: _Touched) -> Iterator[Contribution]:
    yield from _poles(part, "breaker" if isinstance(part, Breaker) else "fuse", part.resistance, touched, part.name)


@_puts_in(Switch)
def _switch(part: Switch, touched: _Touched) -> Iterator[Contribution]:
    yield from _poles(part, "switch", part.contact_resistance, touched, part.name)


@_puts_in(Relay)
def _relay(part: Relay, touched: _Touched) -> Iterator[Contribution]:
    yield from _poles(part, "relay", part.contact_resistance, touched, part.name)
    if touched.has(part, "coil_plus") or touched.has(part, "coil_minus"):
        yield Consumer(part.name, "coil", f"{part.name}.coil_plus", f"{part.name}.coil_minus", part)


@_puts_in(Disconnect)
def _disconnect(part: Disconnect, touched: _Touched) -> Iterator[Contribution]:
    yield _branch(part, "disconnect", "line", "load", part.name, part.contact_resistance, part.name)
    if touched.has(part, "minus") and (part.own_drain is not None or part.own_drain_power is not None):
        yield Consumer(part.name, "drain", f"{part.name}.line", f"{part.name}.minus", part)


def gate_of_position(selector: str, position: str) -> str:
    """Return the name of the gate that is closed while a selector stands in a position."""
    return f"{selector} at {position}"


@_puts_in(Selector)
def _selector(part: Selector, touched: _Touched) -> Iterator[Contribution]:
    for position in part.positions or ():
        for terminal in position.terminals:
            if terminal != "common":
                gate = gate_of_position(part.name, position.position)
                yield _branch(part, "selector", "common", terminal, f"{gate}, {terminal}", part.contact_resistance, gate)


@_puts_in(FuseBlock)
def _fuse_block(part: FuseBlock, touched: _Touched) -> Iterator[Contribution]:
    for terminal in part.TERMINALS:
        if terminal != "feed" and touched.has(part, terminal):
            yield _branch(part, "inside", "feed", terminal, f"{part.name} way {terminal}", part.resistance)


@_puts_in(Shunt)
def _shunt(part: Shunt, touched: _Touched) -> Iterator[Contribution]:
    ohm = float(part.resistance.high) if part.resistance is not None else 0.0
    if part.resistance is None and part.rating is not None and part.rating.current.low > 0:
        ohm = part.rating.voltage.high / part.rating.current.low
    yield Branch(part.name, "shunt", f"{part.name}.line", f"{part.name}.load", part.name, ohm, part.span, assumed=not ohm)
    for sense, at in (("sense_line", "line"), ("sense_load", "load")):
        if touched.has(part, sense):
            yield _branch(part, "inside", at, sense, f"{part.name} {sense}")


@_puts_in(Diode)
def _diode(part: Diode, touched: _Touched) -> Iterator[Contribution]:
    yield _branch(part, "diode", "anode", "cathode", part.name)


@_puts_in(Resistor)
def _resistor(part: Resistor, touched: _Touched) -> Iterator[Contribution]:
    yield _branch(part, "resistor", "a", "b", part.name, part.resistance)
