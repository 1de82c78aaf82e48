"""What may be said of every part, and of every terminal."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.quantities import Gauge, Metre, Quantity
from ohmwright_grammar.things import Thing

__all__ = ["Joint", "Part", "Sizes", "Terminal", "WireRange"]


@dataclass(frozen=True, slots=True)
class WireRange:
    """The conductor sizes that a terminal takes, thin to thick."""

    range: tuple[Gauge, Gauge]


@dataclass(frozen=True, slots=True)
class Sizes:
    """Width, depth and height."""

    sizes: tuple[Quantity[Metre], ...]


@dataclass(frozen=True, slots=True)
class Joint:
    """A terminal that sits directly on another terminal or on a bus, without a wire."""

    terminal: str
    at: str


@dataclass(frozen=True, slots=True)
class Terminal(Thing):
    """One terminal of a part, or several alike."""

    KIND = "terminal"
    PLURAL = "terminals"

    kind = say.choice(
        "<choice>",
        doc="how it holds the wire",
        of={
            "stud": "stud", "bare screw": "bare screw", "clamp plate": "clamp plate", "spring clip": "spring clip",
            "wing nut": "wing nut", "crimp": "crimp", "tab": "tab", "solder": "solder",
        },
    )  # fmt: skip
    temperature = say.temperature("<temperature>", "rated <temperature>", doc="temperature rating of the terminal")
    wire_range = say.record(WireRange, "takes <range:gauges>", doc="conductor sizes that it takes")
    wires_allowed = say.count("<count> wire|wires", "holds <count> wire|wires", doc="wires that it may hold", at_least=1)
    # the rest of the terminal's data follows in the same way


@dataclass(frozen=True, slots=True)
class Part(Thing):
    """A thing with terminals, or with a place in the circuit."""

    PLURAL = "parts"
    TERMINALS: ClassVar[tuple[str, ...]] = ()  # in the usual order of the kind
    ALIASES: ClassVar[dict[str, str]] = {}  # signs as printed on parts, to our names

    mass = say.mass("weighs <mass>", "<mass>", doc="mass")
    price = say.money("costs <money>", "<money>", doc="price of one")
    description = say.text("described as <text>", doc="maker-neutral description")
    zone = say.name("in <name>", doc="zone or compartment that it lies in")
    joints = say.records(Joint, "<terminal:name> on <at:name>", doc="a terminal that sits on another, without a wire")
    terminals = say.blocks(lambda: Terminal, "terminal", "terminals", doc="facts of one terminal or several alike")
