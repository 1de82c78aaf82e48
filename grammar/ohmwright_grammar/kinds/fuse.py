"""Fuses and breakers, and what holds them."""

from __future__ import annotations

from dataclasses import dataclass

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.quantities import Ampere, Quantity, Volt

__all__ = ["Breaker", "BreakingRating", "Fuse"]


@dataclass(frozen=True, slots=True)
class BreakingRating:
    """The largest current that can be interrupted at a voltage."""

    current: Quantity[Ampere]
    at: Quantity[Volt]


@dataclass(frozen=True, slots=True)
class Fuse(Part):
    """A fuse; its terminals are line (towards the source) and load."""

    KIND = "fuse"
    PLURAL = "fuses"
    TERMINALS = ("line", "load")

    rated_current = say.current("<current>", doc="rated current", above=0)
    family = say.choice(
        "<choice>", "family <choice>",
        doc="family of fuses",
        of={"blade": "blade", "mini blade": "mini blade", "maxi blade": "maxi blade", "bolt-down": "bolt-down", "gG": "gG"},
    )  # fmt: skip
    breaks = say.records(
        BreakingRating, "breaks <current:current> at <at:voltage> [dc]", doc="interrupting rating at a voltage"
    )
    voltage_dc = say.voltage("<voltage> [dc]", "rated <voltage> [dc]", doc="voltage for DC", above=0)
    voltage_ac_only = say.flag("AC only", doc="rated for AC only")


@dataclass(frozen=True, slots=True)
class Breaker(Fuse):
    """A circuit breaker."""

    KIND = "breaker"
    PLURAL = "breakers"
