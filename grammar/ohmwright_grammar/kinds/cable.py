"""Cables and their cores."""

from __future__ import annotations

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.kinds.conductor import Conductor, ConductorData
from ohmwright_grammar.quantities import Ampere, Quantity, Watt
from ohmwright_grammar.records import record

__all__ = ["Cable", "Core", "ReelFigure"]


@record
class ReelFigure:
    """What a reel is marked with: a power or a current (its unit tells which)."""

    level: Quantity[Watt] | Quantity[Ampere]


class Core(Conductor):
    """A core of a cable; what it does not say itself, its cable says."""

    __slots__ = ()
    KIND = "core"
    PLURAL = "cores"

    spare = say.flag("spare", "is spare", "unused", doc="it is spare")
    spare_end = say.choice(
        "<choice>", "spare ends|end <choice>",
        doc="how a spare core ends",
        of={
            "cut back": "cut back", "trimmed": "cut back", "cut off": "cut back", "capped": "capped", "taped": "capped",
            "insulated": "capped", "insulated at both ends": "capped", "left long": "left long", "folded back": "left long",
        },
    )  # fmt: skip


class Cable(ConductorData):
    """A cable with named cores; gauge, length, metal and insulation hold for each core that does not say otherwise."""

    __slots__ = ()
    KIND = "cable"
    PLURAL = "cables"

    cores = say.blocks(lambda: Core, "core", "cores", doc="its cores")
    core_count = say.count(
        "<count> cores|core", "number of cores <count>", doc="how many cores it has, used or not", at_least=1
    )
    current_marking = say.current(
        "marked <current>",
        "<current>",
        "current marking <current>",
        "rated <current>",
        doc="the cord's own current marking",
        above=0,
    )
    household_cord = say.flag(
        "household cord", "re-used household cord", "household cord put to DC use", "mains cord put to DC use",
        doc="a household cord put to DC use",
    )  # fmt: skip
    sheathed = say.flag("sheathed", "in a sheath", doc="its cores lie in a sheath")
    length_outside_sheath = say.length(
        "<length> outside the sheath", "outside the sheath <length>",
        doc="length of the cores outside the sheath",
    )  # fmt: skip
    least_bend = say.length(
        "bend at least <length>",
        "least bend <length>",
        "least bend radius <length>",
        "bend radius [at] [least] <length>",
        doc="least bend radius",
        above=0,
    )
    least_bend_diameters = say.number(
        "bend at least <number> times [the] [its] [diameter]", "bend in diameters [at] [least] <number>",
        "least bend <number> times [the] [its] [diameter]",
        "bend radius [at] [least] <number> times [the] [its] [diameter]",
        doc="least bend radius in diameters", above=0,
    )  # fmt: skip
    coiled = say.flag(
        "used coiled", "coiled in use", "coiled", "coiled or reeled in use", "used on a reel", "used reeled", "reeled",
        "on a reel in use",
        "on a reel", "coiled on a reel", "wound on a reel",
        doc="it may be used coiled or on its reel",
    )  # fmt: skip
    coil_layers = say.count(
        "in <count> layers|layer", "<count> layers|layer", "layers <count>", doc="layers of the coil", at_least=1
    )
    reel_wound = say.record(
        ReelFigure,
        "reel marked <level:power|current> wound", "reel <level:power|current> wound", "<level:power|current> wound",
        "reel marking <level:power|current> wound", "wound <level:power|current>",
        doc="what its reel is marked with for use wound up",
    )  # fmt: skip
    reel_unwound = say.record(
        ReelFigure,
        "reel marked <level:power|current> unwound", "reel <level:power|current> unwound", "<level:power|current> unwound",
        "reel marking <level:power|current> unwound", "unwound <level:power|current>",
        doc="what its reel is marked with for use unwound",
    )  # fmt: skip
    mass = say.mass("weighs <mass>", "<mass>", "mass <mass>", doc="mass")
