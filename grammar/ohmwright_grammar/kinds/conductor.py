"""Wires, and what may be said of every conductor."""

from __future__ import annotations

from dataclasses import dataclass

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.quantities import Metre, Quantity
from ohmwright_grammar.things import Thing

__all__ = ["COLOURS", "Bundle", "Conductor", "Ends", "Wire"]

COLOURS = {
    colour: colour
    for colour in ("red", "black", "white", "grey", "green", "yellow", "blue", "brown", "orange", "purple", "pink", "violet")
} | {"green and yellow": "green and yellow", "gray": "grey"}


@dataclass(frozen=True, slots=True)
class Ends:
    """The two terminals that a conductor joins."""

    start: str
    end: str


@dataclass(frozen=True, slots=True)
class Bundle:
    """How many other loaded conductors it lies with, and over what length."""

    others: int
    over: Quantity[Metre] | None = None


@dataclass(frozen=True, slots=True)
class Conductor(Thing):
    """A wire, a core of a cable or a jumper."""

    KIND = "conductor"
    PLURAL = "conductors"

    ends = say.record(Ends, "from <start:name> to <end:name>", doc="the terminals that it joins")
    gauge = say.gauge("<gauge>", doc="size")
    length = say.length("<length> [long]", doc="length one way, slack included", above=0)
    metal = say.choice(
        "<choice>",
        doc="metal",
        of={
            "copper": "copper",
            "tinned copper": "tinned copper",
            "copper-clad aluminium": "copper-clad",
            "aluminium": "aluminium",
        },
    )
    insulation_temperature = say.temperature(
        "<temperature> insulation", "<temperature>", doc="temperature rating of the insulation"
    )
    colour = say.choice("<choice>", doc="colour", of=COLOURS)
    bundle = say.record(
        Bundle, "with <others:count> others", "with <others:count> others over <over:length>", doc="lies with others"
    )
    free_air = say.flag("in free air", doc="laid free")


@dataclass(frozen=True, slots=True)
class Wire(Conductor):
    """A single wire."""

    KIND = "wire"
    PLURAL = "wires"
