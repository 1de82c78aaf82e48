"""Busbars, fuse blocks, shunts, meters, diodes and resistors."""

from __future__ import annotations

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.kinds.part import POLES, Part
from ohmwright_grammar.quantities import Ampere, Quantity, Volt
from ohmwright_grammar.records import record

__all__ = ["Bus", "Diode", "FuseBlock", "Meter", "Resistor", "Shunt", "ShuntRating"]


@record
class ShuntRating:
    """The voltage of a shunt at a current."""

    voltage: Quantity[Volt]
    current: Quantity[Ampere]


class Bus(Part):
    """A busbar: one node, named without a terminal."""

    __slots__ = ()
    KIND = "bus"
    PLURAL = "buses"

    rated_current = say.current(
        "<current>", "rated <current>", "rated current <current>", "carries <current>", doc="rated current", above=0
    )
    resistance = say.resistance("<resistance>", "resistance <resistance>", doc="resistance from end to end")


class FuseBlock(Part):
    """A block with one feed and numbered ways, each with a place for a fuse; the fuses are parts of their own."""

    __slots__ = ()
    KIND = "fuse block"
    PLURAL = "fuse blocks"
    TERMINALS = ("feed", *(str(way) for way in range(1, 25)))
    ALIASES = {"in": "feed", "line": "feed", "+": "feed"}

    rated_current = say.current(
        "<current> total",
        "<current>",
        "total <current>",
        "rated <current>",
        "<current> in total",
        "rated current <current>",
        doc="rated current of the whole block",
        above=0,
    )
    way_current = say.current(
        "<current> each", "<current> per way", "<current> a way", "each way <current>", doc="rated current of one way", above=0
    )
    ways = say.count("<count> ways|way", "ways <count>", doc="number of ways", at_least=1, at_most=1000)
    resistance = say.resistance("<resistance>", "resistance <resistance>", doc="resistance from the feed to a way")


class Shunt(Part):
    """A shunt in series with the current that it measures."""

    __slots__ = ()
    KIND = "shunt"
    PLURAL = "shunts"
    TERMINALS = ("line", "load", "sense_line", "sense_load")
    ALIASES = {"in": "line", "out": "load", "sense_in": "sense_line", "sense_out": "sense_load"}

    rated_current = say.current(
        "<current>", "rated <current>", "rated current <current>", "carries <current>", doc="rated current", above=0
    )
    rating = say.record(
        ShuntRating,
        "<voltage:voltage> at <current:current>",
        "shunt rating <voltage:voltage> at <current:current>",
        "<current:current> at <voltage:voltage>",
        "<current:current> <voltage:voltage>",
        doc="its voltage at a current",
    )
    resistance = say.resistance("<resistance>", "resistance <resistance>", doc="resistance", above=0)


class Meter(Part):
    """A voltmeter, battery monitor or other instrument."""

    __slots__ = ()
    KIND = "meter"
    PLURAL = "meters"
    TERMINALS = ("plus", "minus", "sense")
    ALIASES = {**POLES}

    own_drain = say.current(
        "own drain <current>", "<current>", "drain <current>", "drains <current>", "takes <current>", "draws <current>",
        "standby <current>", "own consumption <current>",
        doc="current that it takes",
    )  # fmt: skip
    reads_shunt = say.name("reads shunt <name>", "reads <name>", "with shunt <name>", doc="the shunt whose voltage it reads")


class Diode(Part):
    """A diode; it lets current pass from anode to cathode."""

    __slots__ = ()
    KIND = "diode"
    PLURAL = "diodes"
    TERMINALS = ("anode", "cathode")
    ALIASES = {"in": "anode", "out": "cathode", "a": "anode", "k": "cathode"}

    job = say.choice(
        "<choice>", "job <choice>", "for <choice>",
        doc="what it is for",
        of={
            "blocking": "blocking", "blocks": "blocking", "clamp": "clamp", "clamping": "clamp", "coil": "coil",
            "coil suppression": "coil", "across a coil": "coil", "free-wheeling": "coil", "bypass": "bypass",
        },
    )  # fmt: skip
    forward_drop = say.voltage(
        "drops <voltage>",
        "forward drop <voltage>",
        "drop <voltage>",
        "<voltage>",
        "forward <voltage>",
        doc="forward drop",
        above=0,
    )
    rated_current = say.current(
        "<current>", "rated <current>", "carries <current>", "rated current <current>", doc="rated current", above=0
    )
    reverse_voltage = say.voltage(
        "reverse <voltage>",
        "reverse voltage <voltage>",
        "blocks <voltage>",
        "blocks up to <voltage>",
        "<voltage> reverse",
        doc="reverse voltage that it blocks",
        above=0,
    )


class Resistor(Part):
    """A resistor, for instance for precharge or to bleed capacitors."""

    __slots__ = ()
    KIND = "resistor"
    PLURAL = "resistors"
    TERMINALS = ("a", "b")

    resistance = say.resistance("<resistance>", "resistance <resistance>", doc="resistance", above=0)
    rated_power = say.power("<power>", "rated <power>", "rated power <power>", doc="power that it bears for long", above=0)
    job = say.choice(
        "<choice>",
        "job <choice>",
        "for <choice>",
        doc="what it is for",
        of={"precharge": "precharge", "bleed": "bleed", "bleeding": "bleed", "ballast": "ballast", "sensing": "sensing"},
    )
