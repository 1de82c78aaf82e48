"""From elements and their modes to plain branches: one pass over a network gives its structure key and its numbers.

A branch runs from a to b; a source's from its minus to its plus, so that a positive current is one that it gives.
"""

from __future__ import annotations

from collections.abc import Callable
from math import inf
from typing import Any

from .curves import Curve, Junction, PowerFeed
from .elements import (
    Array,
    Charger,
    Converter,
    CurrentLoad,
    CurrentSource,
    Diode,
    Emf,
    Network,
    PowerLoad,
    Resistor,
    SeriesController,
    Tracker,
)
from .plan import (
    CURVE,
    CURVE_SOURCE,
    DRAW,
    FEED,
    FEED_TIED,
    HELD,
    LOAD,
    MERGE,
    OFF_TIED,
    PAIR_BY_CURRENT,
    PAIR_BY_VOLTAGE,
    SOURCE,
    TWO_PORT,
)

__all__ = ["SMALL_OHM", "SOFT_OHM", "Device", "Pair", "Peak", "Reading", "check_tracker", "read"]

SMALL_OHM = 1e-6
"""Below this resistance [ohm] two nodes are one, and a current follows from Kirchhoff's law, not from a difference of voltages."""

SOFT_OHM = 1e-9
"""What a held output gets in series [ohm] where it closes a loop without resistance, so that several share their current."""

Device = Charger | Converter | CurrentLoad | SeriesController | Tracker


class Peak:
    """The largest power [W] that a tracker finds at its input, and the voltage [V] and current [A] there."""

    __slots__ = ("ampere", "volt", "watt")

    def __init__(self, volt: float, ampere: float) -> None:
        self.volt = volt
        self.ampere = ampere
        self.watt = volt * ampere


class Pair:
    """What the input of a two-sided element takes: (factor * X + idle) / U, or factor * X where it passes current, not power.

    X is the current of a held output (`ohm` None), the current behind a resistance ((volt - U_out) / ohm), or the output's voltage
    itself (`ohm` 0). `scaled` inputs are multiplied by the share of the load. Beyond `most` of X, or the power of `peak`, an input takes
    no more: such a point is not in its right mode, but it must not look like a collapse.
    """

    __slots__ = ("element", "factor", "idle", "most", "name", "ohm", "peak", "power", "scaled", "volt")

    def __init__(
        self,
        element: int,
        name: str,
        factor: float,
        idle: float,
        ohm: float | None,
        volt: float,
        power: bool = True,
        scaled: bool = False,
        most: float = inf,
        peak: Peak | None = None,
    ) -> None:
        self.element = element
        self.name = name
        self.factor = factor
        self.idle = idle
        self.ohm = ohm
        self.volt = volt
        self.power = power
        self.scaled = scaled
        self.most = most
        self.peak = peak


class Reading:
    """The branches of a network with given modes, by class; names are those under which currents are reported."""

    __slots__ = (
        "curve_names",
        "curves",
        "draw_amperes",
        "draw_loads",
        "draw_names",
        "feed_amperes",
        "feed_names",
        "held",
        "key",
        "load_elements",
        "load_names",
        "load_watts",
        "merge_names",
        "merge_owners",
        "merge_volts",
        "pairs",
        "resistor_names",
        "resistor_siemens",
        "source_names",
        "source_siemens",
        "source_volts",
        "two_port_names",
        "two_port_siemens",
    )

    def __init__(self) -> None:
        self.key: list[int] = []
        self.resistor_names: list[str] = []
        self.resistor_siemens: list[float] = []
        self.source_names: list[str] = []
        self.source_siemens: list[float] = []
        self.source_volts: list[float] = []
        self.merge_names: list[str] = []
        self.merge_volts: list[float] = []
        self.merge_owners: list[str] = []
        self.held: dict[int, int] = {}  # merge -> element, for outputs that a mode holds
        self.load_elements: list[int] = []
        self.load_names: list[str] = []
        self.load_watts: list[float] = []
        self.draw_names: list[str] = []
        self.draw_amperes: list[float] = []
        self.draw_loads: list[int] = []  # the element, where it is a load that can be switched off; else -1
        self.feed_names: list[str] = []
        self.feed_amperes: list[float] = []
        self.curve_names: list[str] = []
        self.curves: list[Curve] = []
        self.pairs: list[Pair] = []
        self.two_port_names: list[str] = []
        self.two_port_siemens: list[float] = []


def read(
    network: Network,
    modes: dict[int, str],
    soft: frozenset[int] = frozenset(),
    peaks: dict[int, Peak] | None = None,
) -> Reading:
    """Translate a network.

    `modes` names the mode of each two-sided element, charger or current load, by its index; `soft` are those whose held output gets a
    resistance of its own because it closes a loop without any; `peaks` the peak power of each tracker. Raises ValueError,
    naming the element, where a value has no physical sense.
    """
    reading = Reading()
    key = reading.key
    add_key = key.append
    add_name = reading.resistor_names.append
    add_siemens = reading.resistor_siemens.append
    for index, element in enumerate(network.elements):
        kind = element.__class__
        if kind is Resistor:
            ohm = element.ohm  # type: ignore[union-attr]
            if SMALL_OHM <= ohm < inf:
                add_key(element.a)  # type: ignore[union-attr]
                add_key(element.b)  # type: ignore[union-attr]
                add_name(element.name)
                add_siemens(1.0 / ohm)
            elif 0 <= ohm < inf:
                _merge(reading, element.name, element.name, MERGE, element.a, element.b, 0.0)  # type: ignore[union-attr]
            else:
                raise ValueError(f"{element.name}: a resistance of {ohm} ohm has no sense here")
        else:
            _READERS[kind](reading, element, index, modes.get(index, ""), index in soft, peaks.get(index) if peaks else None)
    return reading


def _finite(element: object, *values: float) -> None:
    for value in values:
        if not -inf < value < inf:
            raise ValueError(f"{element.name}: a value of {value} has no sense here")  # type: ignore[attr-defined]


def _merge(reading: Reading, name: str, owner: str, code: int, a: int, b: int, volt: float) -> None:
    reading.key += (code, a, b)
    reading.merge_names.append(name)
    reading.merge_owners.append(owner)
    reading.merge_volts.append(volt)


def _hold(reading: Reading, name: str, owner: str, minus: int, plus: int, volt: float, index: int, is_soft: bool) -> None:
    """An output at a fixed voltage: without resistance, or with the least one where it closes a loop."""
    if is_soft:
        _behind(reading, name, minus, plus, volt, SOFT_OHM)
        return
    reading.held[len(reading.merge_names)] = index
    _merge(reading, name, owner, HELD, minus, plus, volt)


def _behind(reading: Reading, name: str, minus: int, plus: int, volt: float, ohm: float) -> None:
    reading.key += (SOURCE, minus, plus)
    reading.source_names.append(name)
    reading.source_siemens.append(1.0 / ohm)
    reading.source_volts.append(volt)


def _feed(reading: Reading, name: str, minus: int, plus: int, ampere: float, code: int) -> None:
    reading.key += (code, minus, plus)
    reading.feed_names.append(name)
    reading.feed_amperes.append(ampere)


def _draw(reading: Reading, name: str, plus: int, minus: int, ampere: float, index: int = -1) -> None:
    reading.key += (DRAW, plus, minus)
    reading.draw_loads.append(index)
    reading.draw_names.append(name)
    reading.draw_amperes.append(ampere)


def _load(reading: Reading, name: str, plus: int, minus: int, watt: float, index: int) -> None:
    reading.load_elements.append(index)
    reading.key += (LOAD, plus, minus)
    reading.load_names.append(name)
    reading.load_watts.append(watt)


def _curve(reading: Reading, name: str, plus: int, minus: int, curve: Curve, code: int) -> None:
    reading.key += (code, plus, minus)
    reading.curve_names.append(name)
    reading.curves.append(curve)


def _read_emf(reading: Reading, e: Emf, index: int, mode: str, soft: bool, peak: Peak | None) -> None:
    _finite(e, e.volt, e.ohm)
    if e.ohm >= SMALL_OHM:
        _behind(reading, e.name, e.minus, e.plus, e.volt, e.ohm)
    elif e.ohm >= 0:
        _merge(reading, e.name, e.name, HELD, e.minus, e.plus, e.volt)
    else:
        raise ValueError(f"{e.name}: a resistance of {e.ohm} ohm has no sense here")


def _read_current_load(reading: Reading, e: CurrentLoad, index: int, mode: str, soft: bool, peak: Peak | None) -> None:
    _finite(e, e.ampere)
    if mode == "reversed":
        _draw(reading, e.name, e.plus, e.minus, 0.0, index)
    elif mode != "starved":
        _draw(reading, e.name, e.plus, e.minus, e.ampere, index)
    elif soft:
        reading.key += (e.plus, e.minus)
        reading.resistor_names.append(e.name)
        reading.resistor_siemens.append(1.0 / SOFT_OHM)
    else:
        reading.held[len(reading.merge_names)] = index
        _merge(reading, e.name, e.name, MERGE, e.plus, e.minus, 0.0)


def _read_power_load(reading: Reading, e: PowerLoad, index: int, mode: str, soft: bool, peak: Peak | None) -> None:
    _finite(e, e.watt)
    _load(reading, e.name, e.plus, e.minus, e.watt, index)


def _read_current_source(reading: Reading, e: CurrentSource, index: int, mode: str, soft: bool, peak: Peak | None) -> None:
    _finite(e, e.ampere)
    if mode != "open":
        _feed(reading, e.name, e.minus, e.plus, e.ampere, FEED)


def _read_diode(reading: Reading, e: Diode, index: int, mode: str, soft: bool, peak: Peak | None) -> None:
    _finite(e, e.saturation, e.slope, e.ohm)
    _curve(reading, e.name, e.anode, e.cathode, Junction(e), CURVE)


def _read_array(reading: Reading, e: Array, index: int, mode: str, soft: bool, peak: Peak | None) -> None:
    _finite(e, e.photo, e.saturation, e.slope, e.series)
    _curve(reading, e.name, e.plus, e.minus, Junction(e), CURVE_SOURCE if e.photo > 0 else CURVE)


def _read_charger(reading: Reading, e: Charger, index: int, mode: str, soft: bool, peak: Peak | None) -> None:
    _finite(e, e.volt, e.ampere)
    if mode == "voltage":
        _hold(reading, e.name, e.name, e.minus, e.plus, e.volt, index, soft)
    elif mode == "current":
        _feed(reading, e.name, e.minus, e.plus, e.ampere, FEED_TIED)
    else:
        reading.key += (OFF_TIED, e.minus, e.plus)


def _read_converter(reading: Reading, e: Converter, index: int, mode: str, soft: bool, peak: Peak | None) -> None:
    _finite(e, e.volt, e.ohm, e.efficiency, e.idle)
    if not (e.efficiency > 0 and e.ohm >= 0):
        raise ValueError(f"{e.name}: a converter needs an efficiency above 0 and an output resistance of 0 or more")
    out = f"{e.name}.out"
    into = f"{e.name}.in"
    four = (e.in_plus, e.in_minus, e.out_plus, e.out_minus)
    if mode == "voltage":
        ohm = e.ohm if e.ohm >= SMALL_OHM else SOFT_OHM if soft else None
        most = inf if e.ampere is None else e.ampere
        if ohm is None:
            _hold(reading, out, e.name, e.out_minus, e.out_plus, e.volt, index, False)
            reading.key += (PAIR_BY_CURRENT, e.in_plus, e.in_minus)
        else:
            _behind(reading, out, e.out_minus, e.out_plus, e.volt, ohm)
            reading.key += (PAIR_BY_VOLTAGE, *four)
        reading.pairs.append(Pair(index, into, e.volt / e.efficiency, e.idle, ohm, e.volt, scaled=True, most=most))
    elif mode == "current":
        ampere = e.ampere or 0.0
        _feed(reading, out, e.out_minus, e.out_plus, ampere, FEED_TIED)
        reading.key += (PAIR_BY_VOLTAGE, *four)
        reading.pairs.append(
            Pair(index, into, ampere / e.efficiency, e.idle + e.ohm * ampere * ampere / e.efficiency, 0.0, 0.0, scaled=True)
        )
    elif mode == "off":
        reading.key += (OFF_TIED, e.out_minus, e.out_plus)
        _load(reading, into, e.in_plus, e.in_minus, e.idle, index)


def check_tracker(e: Tracker) -> None:
    """Raise ValueError where the values of a tracker have no sense."""
    _finite(e, e.volt, e.ampere, e.efficiency)
    if not e.efficiency > 0:
        raise ValueError(f"{e.name}: a tracker needs an efficiency above 0")


def _read_tracker(reading: Reading, e: Tracker, index: int, mode: str, soft: bool, peak: Peak | None) -> None:
    check_tracker(e)
    out = f"{e.name}.out"
    into = f"{e.name}.in"
    four = (e.in_plus, e.in_minus, e.out_plus, e.out_minus)
    if mode == "sun":
        assert peak is not None
        _curve(reading, out, e.out_plus, e.out_minus, PowerFeed(e.efficiency * peak.watt, e.volt), CURVE_SOURCE)
        _draw(reading, into, e.in_plus, e.in_minus, peak.ampere)
    elif mode == "voltage":
        ohm = SOFT_OHM if soft else None
        _hold(reading, out, e.name, e.out_minus, e.out_plus, e.volt, index, soft)
        reading.key += (PAIR_BY_CURRENT, *four[:2]) if ohm is None else (PAIR_BY_VOLTAGE, *four)
        reading.pairs.append(Pair(index, into, e.volt / e.efficiency, 0.0, ohm, e.volt, peak=peak))
    elif mode == "current":
        _feed(reading, out, e.out_minus, e.out_plus, e.ampere, FEED_TIED)
        reading.key += (PAIR_BY_VOLTAGE, *four)
        reading.pairs.append(Pair(index, into, e.ampere / e.efficiency, 0.0, 0.0, 0.0, peak=peak))
    else:
        reading.key += (OFF_TIED, e.out_minus, e.out_plus)


def _read_series(reading: Reading, e: SeriesController, index: int, mode: str, soft: bool, peak: Peak | None) -> None:
    _finite(e, e.volt, e.ampere, e.ohm)
    out = f"{e.name}.out"
    into = f"{e.name}.in"
    four = (e.in_plus, e.in_minus, e.out_plus, e.out_minus)
    if mode == "sun":
        if e.in_minus == e.out_minus or e.in_plus == e.out_plus:
            a, b = (e.in_plus, e.out_plus) if e.in_minus == e.out_minus else (e.out_minus, e.in_minus)
            if e.ohm >= SMALL_OHM:
                reading.key += (a, b)
                reading.resistor_names.append(out)
                reading.resistor_siemens.append(1.0 / e.ohm)
            else:
                _merge(reading, out, e.name, MERGE, a, b, 0.0)
        else:
            reading.key += (TWO_PORT, *four)
            reading.two_port_names.append(out)
            reading.two_port_siemens.append(1.0 / max(e.ohm, SOFT_OHM))
            reading.key += (OFF_TIED, e.out_minus, e.out_plus)
    elif mode == "voltage":
        ohm = SOFT_OHM if soft else None
        _hold(reading, out, e.name, e.out_minus, e.out_plus, e.volt, index, soft)
        reading.key += (PAIR_BY_CURRENT, *four[:2]) if ohm is None else (PAIR_BY_VOLTAGE, *four)
        reading.pairs.append(Pair(index, into, 1.0, 0.0, ohm, e.volt, power=False))
    elif mode == "current":
        _feed(reading, out, e.out_minus, e.out_plus, e.ampere, FEED_TIED)
        _draw(reading, into, e.in_plus, e.in_minus, e.ampere)
    elif mode == "off":
        reading.key += (OFF_TIED, e.out_minus, e.out_plus)


_READERS: dict[type, Callable[[Reading, Any, int, str, bool, Peak | None], None]] = {
    Emf: _read_emf,
    CurrentLoad: _read_current_load,
    PowerLoad: _read_power_load,
    CurrentSource: _read_current_source,
    Diode: _read_diode,
    Array: _read_array,
    Charger: _read_charger,
    Converter: _read_converter,
    Tracker: _read_tracker,
    SeriesController: _read_series,
}
