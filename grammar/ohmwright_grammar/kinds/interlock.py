"""Interlock loops: wires through spare pins that let something work only while all is plugged in."""

from __future__ import annotations

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.kinds.values import named
from ohmwright_grammar.things import Thing

__all__ = ["Interlock"]


class Interlock(Thing):
    """A loop of pins and wires that must be closed for a part to work."""

    __slots__ = ()
    KIND = "interlock"
    PLURAL = "interlocks"

    members = named(
        "loop <names>", "loop through <names>", "runs through <names>", "through <names>", "loop of <names>",
        doc="the pins and wires that are the loop",
    )  # fmt: skip
    stops = say.names(
        "stops <names>", "must stop <names>", "enables <names>", "holds <names> on",
        doc="what it must stop: a coil, an enable input, a controller's lead",
    )  # fmt: skip
    enable_current = say.current(
        "enable current <current>", "<current>", "enable input takes <current>", "input takes <current>", "takes <current>",
        doc="current that the enable input takes", above=0,
    )  # fmt: skip
