"""Assemblies placed once, or many times in a row."""

from __future__ import annotations

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.quantities import Measure
from ohmwright_grammar.records import record
from ohmwright_grammar.things import Thing

__all__ = ["Cord", "JoinedRange", "ParameterValue", "Placement", "Ports", "Row", "RowOf"]


@record
class ParameterValue:
    """The value of one parameter of a placed assembly."""

    name: str
    value: Measure


@record
class RowOf:
    """How many of which assembly."""

    count: int
    assembly: str


@record
class Ports:
    """The port that faces the start of a row, and the one that faces the next thing."""

    near: str
    far: str


@record
class Cord:
    """The assembly or cable that joins one thing of a row to the next, and which of its ports is the near and the far one."""

    assembly: str
    near: str = ""
    far: str = ""


@record
class JoinedRange:
    """How few and how many things of a row may be joined."""

    least: int
    most: int


def _up_to(most: int) -> JoinedRange:
    return JoinedRange(0, most)


class Placement(Thing):
    """One placed assembly: `place pack of expansion_pack { with lead 2 m }`."""

    __slots__ = ()

    KIND = "place"

    assembly = say.name("of <name>", doc="the assembly")
    values = say.records(
        ParameterValue, "with <name:term> <value:measure>", "<name:term> <value:measure>", doc="values of parameters"
    )
    zone = say.name("in <name>", doc="zone that it lies in")


class Row(Thing):
    """Alike assemblies placed in a row and chained: `row pack of 3 expansion_pack { starts at out; joins inlet to outlet; … }`."""

    __slots__ = ()

    KIND = "row"

    of = say.record(RowOf, "of <count:count> <assembly:name>", doc="how many of which assembly")
    start = say.name("starts at <name>", doc="the connector half that the first one joins")
    ports = say.record(Ports, "joins <near:name> to <far:name>", doc="the port that faces the start, and the one that faces on")
    cord = say.record(
        Cord, "cord <assembly:name>", "cord <assembly:name> from <near:name> to <far:name>", doc="the cord between two of them"
    )
    joined = say.record(
        JoinedRange,
        "<least:count> to <most:count> joined",
        "<least:count> to <most:count> may be joined",
        doc="how many may be joined",
    )
    up_to_joined = say.record(_up_to, "up to <most:count> joined", doc="how many may be joined")
    values = say.records(ParameterValue, "with <name:term> <value:measure>", doc="values of parameters")
    zone = say.name("in <name>", doc="zone that they lie in")
    while_charging = say.flag("joined while charging", "may be joined while charging", doc="may be joined while chargers run")
    joins_through = say.choice(
        "through <choice>",
        doc="what eases the joining",
        of={
            "precharge": "precharge", "a precharge resistor": "precharge", "current limit": "current limit",
            "a current limit": "current limit", "voltage-checked contactor": "voltage-checked contactor",
            "a voltage-checked contactor": "voltage-checked contactor",
        },
    )  # fmt: skip
    joining_current = say.current("joining current at most <current>", doc="limit of what eases the joining")
    balancer = say.flag("balancer", doc="a balancer lies across a series string")
