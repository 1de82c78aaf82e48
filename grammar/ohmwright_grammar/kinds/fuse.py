"""Fuses and breakers, and what holds them."""

from __future__ import annotations

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.kinds.part import Joint, Part
from ohmwright_grammar.kinds.values import BreakingRating, ShareAt, choice_or_word
from ohmwright_grammar.quantities import Ampere, Quantity, Second, SquareAmpereSecond
from ohmwright_grammar.records import record

__all__ = ["FAMILIES", "Breaker", "BreakingRating", "CurvePoint", "Fuse", "Holder", "LetThrough"]

FAMILIES: dict[str, str] = {
    family: family
    for family in (
        "blade", "mini blade", "micro blade", "maxi blade", "bolt-down", "large bolt-down", "post", "class T", "class J",
        "class CC",
        "gG", "gPV", "aR", "glass", "ceramic", "cylindrical", "thermal", "magnetic", "thermal-magnetic", "hydraulic-magnetic",
        "curve B", "curve C", "curve D", "curve Z",
    )
} | {
    "bolt down": "bolt-down", "strip": "bolt-down", "small bolt-down": "bolt-down", "standard blade": "blade",
    "post-mounted": "post", "cube": "post", "glass tube": "glass",
}  # fmt: skip


@record
class LetThrough:
    """What a fuse lets through before it has opened, at a current where that was said."""

    let_through: Quantity[SquareAmpereSecond]
    at: Quantity[Ampere] | None = None


@record
class CurvePoint:
    """One point of a time-current curve."""

    time: Quantity[Second]
    current: Quantity[Ampere]


def _joint(terminal: str = "line", at: str = "", way: str = "", block: str = "") -> Joint:
    """Return where a terminal sits; a fuse in a way of a fuse block has its line on that way."""
    return Joint(terminal, at or f"{block}.{way}")


class Holder(Part):
    """What holds a fuse."""

    __slots__ = ()
    KIND = "holder"
    PLURAL = "holders"

    kind = say.choice(
        "<choice>", "kind <choice>",
        doc="kind of holder",
        of={
            "blade in-line": "blade in-line", "in-line blade": "blade in-line", "in-line": "blade in-line", "block": "block",
            "fuse block": "block", "bolt-down": "bolt-down", "bolted": "bolt-down", "post": "post", "on the post": "post",
            "panel": "panel", "panel-mounted": "panel", "DIN rail": "DIN rail", "rail": "DIN rail", "clip": "clip",
        },
    )  # fmt: skip
    rated_current = say.current(
        "<current>", "rated <current>", "rated current <current>", "carries <current>", doc="rated current", above=0
    )
    largest_fuse = say.current(
        "largest fuse <current>", "takes fuses up to <current>", "takes up to <current>", "fuse at most <current>",
        "fuses up to <current>",
        doc="largest fuse that it takes", above=0,
    )  # fmt: skip


class Fuse(Part):
    """A fuse; its terminals are line (towards the source) and load, line2 and load2 of a second pole."""

    __slots__ = ()
    KIND = "fuse"
    PLURAL = "fuses"
    TERMINALS = ("line", "load", "line2", "load2")
    ALIASES = {"in": "line", "out": "load"}

    rated_current = say.current("<current>", "rated <current>", "rated current <current>", doc="rated current", above=0)
    family = choice_or_word(
        "<choice>",
        "family <choice>",
        "family <word>",
        "<choice> family",
        doc="family of fuses, or sort of breaker",
        of=FAMILIES,
    )
    breaks = say.records(
        BreakingRating,
        "breaks <current:current> at <at:voltage> [dc]", "interrupts <current:current> at <at:voltage> [dc]",
        "interrupting rating <current:current> at <at:voltage> [dc]",
        "breaking capacity <current:current> at <at:voltage> [dc]",
        tail="<current:current> at <at:voltage> [dc]",
        doc="interrupting rating at a voltage",
    )  # fmt: skip
    voltage_dc = say.voltage(
        "<voltage> [dc]",
        "rated <voltage> [dc]",
        "for up to <voltage> [dc]",
        "voltage <voltage> [dc]",
        doc="voltage rating for DC",
        above=0,
    )
    voltage_ac_only = say.flag("AC only", "rated for AC only", "for AC only", "only rated for AC", doc="rated for AC only")
    let_through = say.records(
        LetThrough, "lets through <let_through:let_through> at <at:current>", "lets through <let_through:let_through>",
        "let-through <let_through:let_through> [at <at:current>]",
        tail="<let_through:let_through> at <at:current>",
        doc="let-through, at a current",
    )  # fmt: skip
    curve = say.records(
        CurvePoint, "opens in <time:time> at <current:current>", "opens within <time:time> at <current:current>",
        "curve <time:time> at <current:current>",
        tail="<time:time> at <current:current>",
        doc="points of its time-current curve",
    )  # fmt: skip
    must_open = say.number(
        "must open at <number> times [its] [the] [rating]", "opens at <number> times [its] [the] [rating]",
        doc="multiple of its rating at which it must open", above=0,
    )  # fmt: skip
    current_by_temperature = say.records(
        ShareAt, "carries <share:share> at <temperature:temperature>", "derates to <share:share> at <temperature:temperature>",
        tail="<share:share> at <temperature:temperature>",
        doc="share of its rating that it carries at a temperature",
    )  # fmt: skip
    resistance = say.resistance("<resistance>", "resistance <resistance>", doc="resistance")
    poles = say.count("<count> poles|pole|-pole [opened] [together]", "poles <count>", doc="poles opened together", at_least=1)
    polarised = say.flag("polarised", "polarized", "polarity-marked", "one-way", doc="it breaks current of one direction only")
    line_terminal = say.name(
        "line terminal is <name>",
        "line is <name>",
        "source side is <name>",
        doc="which terminal is marked as line, where it is polarised",
    )
    reset = say.choice(
        "<choice>", "reset <choice>", "resets <choice>",
        doc="how it is reset",
        of={
            "manual reset": "manual", "reset by hand": "manual", "resets by hand": "manual", "by hand": "manual",
            "manual": "manual",
            "self-resetting": "self", "self resetting": "self", "automatic reset": "self", "resets itself": "self",
            "itself": "self", "by itself": "self", "automatic": "self",
        },
    )  # fmt: skip
    trip_free = say.flag("trip-free", "trip free", doc="it trips even while its lever is held")
    part_of_motor = say.flag("part of a motor", "inside a motor", "built into a motor", doc="it is part of a motor")
    is_main = say.flag(
        "main",
        "the main",
        "is the main",
        "main fuse",
        "main breaker",
        "the main fuse",
        "the main breaker",
        doc="it is the main",
    )
    holder = say.block(lambda: Holder, "holder", doc="what holds it")
    joints = say.records(
        _joint, "<terminal:name> on <at:name>", "<terminal:name> sits on <at:name>", "<terminal:name> directly on <at:name>",
        "in way <way:name> of <block:name>", "in the way <way:name> of <block:name>",
        doc="a terminal that sits on another, without a wire; the way of a fuse block that it is in",
    )  # fmt: skip
    held_by = say.name("held by <name>", "sits in holder <name>", "in [the] holder <name>", doc="the part that holds it")


class Breaker(Fuse):
    """A circuit breaker."""

    __slots__ = ()
    KIND = "breaker"
    PLURAL = "breakers"
    ALIASES = {"in": "line", "out": "load", "+": "line", "-": "load"}
