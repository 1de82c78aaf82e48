"""The elements of a network, each between numbered nodes, all quantities in SI units.

Signs of the currents that a solution reports (`Operation.currents`):
a resistor's or diode's current is positive from its first node to its second, through it; a load's from plus to minus, through it;
a source's (Emf, Charger, CurrentSource, Array) is positive out of its plus. Elements with two sides report two currents,
`NAME.in` (into the in-plus, or out of the array for controllers) and `NAME.out` (out of the out-plus).
"""

from __future__ import annotations

from ohmwright_grammar.records import record

__all__ = [
    "Array",
    "Charger",
    "Converter",
    "CurrentLoad",
    "CurrentSource",
    "Diode",
    "Element",
    "Emf",
    "Network",
    "PowerLoad",
    "Resistor",
    "SeriesController",
    "Tracker",
]


@record
class Resistor:
    """A wire, contact, fuse, shunt or resistive load; 0 ohm joins its two nodes."""

    name: str
    a: int
    b: int
    ohm: float


@record
class Emf:
    """A battery at one charge level: a voltage [V] behind a resistance [ohm, may be 0]."""

    name: str
    plus: int
    minus: int
    volt: float
    ohm: float


@record
class CurrentLoad:
    """A consumer of constant current [A] while it has voltage; none where its island has no source."""

    name: str
    plus: int
    minus: int
    ampere: float


@record
class PowerLoad:
    """A consumer of constant power [W]: I = P / U."""

    name: str
    plus: int
    minus: int
    watt: float


@record
class CurrentSource:
    """A source of fixed current [A] out of its plus, as a state may declare it."""

    name: str
    plus: int
    minus: int
    ampere: float


@record
class Charger:
    """A source that gives at most `ampere` [A] and lets its terminals rise to at most `volt` [V]; it takes no current back.

    Modes: "current" (held by its current), "voltage" (held by its voltage), "off" (terminals already above its voltage).
    """

    name: str
    plus: int
    minus: int
    volt: float
    ampere: float


@record
class Diode:
    """A junction I = saturation * (exp(Uj / slope) - 1) [A; slope = n k T / q in V] behind a series resistance [ohm]."""

    name: str
    anode: int
    cathode: int
    saturation: float
    slope: float
    ohm: float = 0.0


@record
class Array:
    """A photovoltaic array by the single-diode model, already scaled to the whole array.

    I = photo - saturation * (exp((U + I series) / slope) - 1) - (U + I series) / shunt
    photo and saturation in A, slope (n Ns k T / q) in V, series and shunt in ohm.
    """

    name: str
    plus: int
    minus: int
    photo: float
    saturation: float
    slope: float
    series: float
    shunt: float


@record
class Converter:
    """A DC-DC converter that only passes power forward: its output is `volt` [V] behind `ohm` [ohm], at most `ampere` [A].

    It draws (U_set * I_out, or (U_out + ohm * I_out) * I_out while it is held by its current) / efficiency + idle [W] from its input:
    the output resistance is outside the efficiency, and the input does not jump where one mode passes into the other.
    Modes: "voltage", "current", "off" (no input voltage, or the output is driven above its set voltage).
    """

    name: str
    in_plus: int
    in_minus: int
    out_plus: int
    out_minus: int
    volt: float
    ohm: float
    efficiency: float
    idle: float
    ampere: float | None = None


@record
class Tracker:
    """A peak-tracking charge controller between an array side and a battery side (minus poles may or may not be one node).

    Modes: "sun" (at the array's peak as seen at its own terminals: P_out = efficiency * P_peak), "current" (output held at
    `ampere`), "voltage" (output held at `volt`), "off" (battery side above `volt`, or no sun), "no battery" (nothing on
    its output side holds a voltage: it works in regulation if anything is connected). Held by current or voltage it works on the
    high-voltage side of the array's peak. Its own drain is a load of its own that the caller adds.
    """

    name: str
    in_plus: int
    in_minus: int
    out_plus: int
    out_minus: int
    efficiency: float
    volt: float
    ampere: float


@record
class SeriesController:
    """A series-switch charge controller: it joins the array to the battery, and throttles at `volt` [V] and `ampere` [A].

    Modes: "sun" (switch closed, both sides at one voltage but for `ohm`), "voltage", "current" (throttled: the mean current is the same on
    both sides, the array works at that current on its high-voltage side), "off" (battery side above `volt`, or no sun, or
    the array's voltage is below the battery's), "no battery" (as Tracker). It blocks current back into the array.
    """

    name: str
    in_plus: int
    in_minus: int
    out_plus: int
    out_minus: int
    volt: float
    ampere: float
    ohm: float = 0.0


Element = (
    Resistor | Emf | CurrentLoad | PowerLoad | CurrentSource | Charger | Diode | Array | Converter | Tracker | SeriesController
)


@record
class Network:
    """Elements between the nodes 0 .. nodes-1.

    `references` lists, in order of preference, the nodes that a connected island is measured against (the minus of the bank
    first, then each source's minus); an island without any of them is measured against the minus of its first source by element
    order, and one without a source is dead.
    """

    nodes: int
    elements: tuple[Element, ...]
    references: tuple[int, ...] = ()
