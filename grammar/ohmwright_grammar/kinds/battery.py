"""Batteries and their management systems."""

from __future__ import annotations

from dataclasses import dataclass

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.quantities import Coulomb, Quantity, Second, Share, Volt
from ohmwright_grammar.things import Thing

__all__ = ["Battery", "Bms", "Capacity", "RestPoint"]


@dataclass(frozen=True, slots=True)
class Capacity:
    """A capacity, and the time over which it was measured (for lead-acid 20 h unless said)."""

    charge: Quantity[Coulomb]
    over: Quantity[Second] | None = None


@dataclass(frozen=True, slots=True)
class RestPoint:
    """A voltage at rest at one charge level."""

    voltage: Quantity[Volt]
    level: Quantity[Share]


@dataclass(frozen=True, slots=True)
class Bms(Thing):
    """The management system inside a battery."""

    KIND = "bms"

    charge_limit = say.current("charge at most <current>", doc="largest charge current that it lets pass", above=0)
    low_cut_off = say.voltage("opens below <voltage>", doc="low cut-off", above=0)
    own_drain = say.current("own drain <current>", doc="own drain")


@dataclass(frozen=True, slots=True)
class Battery(Part):
    """A battery or a pack."""

    KIND = "battery"
    PLURAL = "batteries"
    TERMINALS = ("plus", "minus")
    ALIASES = {
        "+": "plus",
        "-": "minus",
        "B+": "plus",
        "B-": "minus",
        "pos": "plus",
        "neg": "minus",
        "positive": "plus",
        "negative": "minus",
    }

    chemistry = say.choice(
        "<choice>",
        doc="chemistry and build",
        of={
            "LFP": "LFP",
            "other lithium": "other lithium",
            "flooded": "flooded",
            "flooded lead-acid": "flooded",
            "AGM": "AGM",
            "gel": "gel",
        },
    )
    cells = say.count("<count> cell|cells [in series]", doc="cells in series", at_least=1)
    capacity = say.record(Capacity, "<charge:charge>", "<charge:charge> over <over:time>", doc="capacity, at which rate")
    nominal_voltage = say.voltage("<voltage>", "nominal <voltage>", doc="nominal voltage", above=0)
    rest_voltages = say.records(
        RestPoint,
        "rest <voltage:voltage> at <level:share>",
        tail="<voltage:voltage> at <level:share>",
        doc="rest voltage by charge level",
    )
    internal_resistance = say.resistance(
        "internal resistance <resistance>", doc="cells, joints and BMS; measured, or at most", above=0
    )
    own_drain = say.current("own drain <current>", doc="drain of what is built in")
    bms = say.block(lambda: Bms, "bms", doc="management system")
