"""Connectors by halves, their pins, and the jumpers inside a half."""

from __future__ import annotations

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.kinds.conductor import Conductor
from ohmwright_grammar.kinds.outlet import OUTLET_PATTERNS, OutletData
from ohmwright_grammar.kinds.part import Joining, Part, Terminal
from ohmwright_grammar.kinds.values import IP_CODES, wire_range, wording
from ohmwright_grammar.quantities import Ampere, Quantity, Volt
from ohmwright_grammar.records import record

__all__ = ["Ganged", "Half", "Jumper", "LoadBreak", "Pin", "PinPair"]

_ORDER = {"first": "first", "last": "last", "equal": "equal", "together": "equal", "at once": "equal"}


@record
class PinPair:
    """A pin of this half and the pin of its mate that it meets, where they are not like to like."""

    pin: str
    mate: str


@record
class Ganged:
    """Pins that carry one current together."""

    pins: tuple[str, ...]


@record
class LoadBreak:
    """The current and voltage under which a connector may be parted."""

    current: Quantity[Ampere]
    at: Quantity[Volt] | None = None


class Pin(Terminal):
    """One pin of a connector half, or several alike; its name is its number or word."""

    __slots__ = ()
    KIND = "pin"
    PLURAL = "pins"

    polarity = say.choice(
        "<choice>", "polarity <choice>",
        doc="polarity, or the AC conductor, that it promises",
        of={
            "plus": "plus", "+": "plus", "positive": "plus", "minus": "minus", "-": "minus", "negative": "minus", "L": "L",
            "live": "L", "N": "N", "neutral": "N", "PE": "PE", "earth": "PE", "protective earth": "PE",
        },
    )  # fmt: skip
    voltage = say.voltage(
        "<voltage>", "voltage <voltage>", "at <voltage>", "promises <voltage>", doc="voltage that it promises"
    )
    function = say.text("<text>", "function <text>", "carries <text>", doc="what it is for")
    pin_name = say.word("named <word>", "name <word>", doc="its name, where the number is not enough")
    mates = say.choice(
        "mates|mate <choice>", "pin length mates <choice>", doc="it mates first, last, or with the others", of=_ORDER
    )
    parts = say.choice("parts|part <choice>", "breaks <choice>", doc="it parts first, last, or with the others", of=_ORDER)
    mate_pin = say.name(
        "meets <name>", "meets pin <name>", "mates with pin <name>", doc="pin of the mate that it meets, where it is another"
    )
    plugged = say.flag("plugged", "cavity plugged", "blanked off", doc="an unused cavity that is plugged")
    spare = say.flag("spare", "reserve", "unused", doc="it is spare")
    rated_current = say.current(
        "<current>",
        "rated <current>",
        "carries [at] [most] <current>",
        "contact <current>",
        doc="continuous current of its contact",
        above=0,
    )
    contact_resistance = say.resistance(
        "contact resistance <resistance>", "<resistance>", "resistance <resistance>", doc="resistance of its contact"
    )


class Jumper(Conductor):
    """A wire between two pins inside one half."""

    __slots__ = ()
    KIND = "jumper"
    PLURAL = "jumpers"


class Half(Part, OutletData, Joining):
    """One half of a connector; its terminals are its pins."""

    __slots__ = ()
    KIND = "connector"
    PLURAL = "connectors"

    pins = say.blocks(lambda: Pin, "pin", "pins", doc="its pins")
    pin_count = say.count(
        "<count> pins|pin|-pin|contacts|contact",
        "number of pins <count>",
        doc="how many pins it has, listed or not",
        at_least=1,
    )
    jumpers = say.blocks(lambda: Jumper, "jumper", "jumpers", doc="wires between two of its pins")
    family = wording("family <word>", "<choice>", "pattern <word>", doc="family or pattern", of=OUTLET_PATTERNS)
    keying = say.word("keying <word>", "keyed <word>", "key <word>", doc="keying")
    colour_key = say.word("colour key <word>", "color key <word>", "colour-keyed <word>", doc="colour key")
    form = say.choice(
        "<choice>", "form <choice>", "contacts <choice>",
        doc="form of its contacts",
        of={
            "bare pins": "pins", "has pins": "pins", "male": "pins", "male pins": "pins", "sockets": "sockets",
            "has sockets": "sockets", "female": "sockets",
            "female sockets": "sockets", "shrouded": "shrouded", "shrouded pins": "shrouded",
            "has shrouded pins": "shrouded", "touch-safe": "touch-safe",
            "touch safe": "touch-safe", "finger-safe": "touch-safe", "same both": "same both", "same both halves": "same both",
            "genderless": "same both", "hermaphroditic": "same both",
        },
    )  # fmt: skip
    cap = say.flag("cap", "a cap", "capped", "has a cap", "cap fitted", "with cap", "with a cap", doc="a cap for it when apart")
    mate = say.name(
        "mates with <name>",
        "mate is <name>",
        "intended mate <name>",
        "goes with <name>",
        doc="the half that it is meant to mate with",
    )
    pin_pairs = say.records(
        PinPair, "meets <pin:name> to <mate:name>", "mates <pin:name> to <mate:name>", tail="<pin:name> to <mate:name>",
        doc="which pin meets which pin of the mate, where not like to like",
    )  # fmt: skip
    approved_with = say.texts(
        "approved with <text>", "approved together with <text>", doc="makes and series approved together with it"
    )
    rated_current = say.current(
        "<current>", "<current> per contact|pin", "<current> each", "contacts|contact <current>", "rated <current>",
        "carries <current>",
        "rated current <current>",
        doc="continuous current of one contact", above=0,
    )  # fmt: skip
    neighbour_factor = say.number(
        "neighbour factor <number>", "factor <number> with loaded neighbours", "<share> with loaded neighbours",
        "neighbor factor <number>",
        "<share> with all contacts loaded",
        doc="share of its current that a contact carries with loaded neighbours", above=0,
    )  # fmt: skip
    ganged = say.records(
        Ganged, "ganged <pins:names>", "contacts <pins:names> ganged", doc="contacts that carry one current together"
    )
    contact_resistance = say.resistance(
        "contact resistance <resistance>",
        "<resistance>",
        "resistance <resistance>",
        "contacts <resistance>",
        doc="resistance of one contact, both halves together",
    )
    mates = say.choice("contacts mate <choice>", doc="its contacts mate first, last or equal", of=_ORDER)
    wire_range = say.record(
        wire_range,
        "takes <range:gauges>", "wire range <range:gauges>", "accepts <range:gauges>", "takes up to <thickest:gauge>",
        "accepts up to <thickest:gauge>",
        "<thinnest:gauge> to <thickest:gauge>", "up to <thickest:gauge>",
        doc="conductor sizes that its contacts take",
    )  # fmt: skip
    load_break = say.record(
        LoadBreak,
        "load-break <current:current> at <at:voltage> [dc]", "load-break <current:current>",
        "load break <current:current> [at <at:voltage>]",
        "may be parted at <current:current> [and|at] <at:voltage>", "may be parted at <current:current>",
        "breaks <current:current> at <at:voltage> [dc]",
        doc="current and voltage under which it may be parted; none where never under load",
    )  # fmt: skip
    parted_under_load = say.flag(
        "to be parted under load",
        "parted under load",
        "may be parted under load",
        "for parting under load",
        "under load",
        doc="it may be parted under load at all",
    )
    ingress_mated = say.choice(
        "<choice> mated", "mated <choice>", "<choice> when mated", doc="ingress rating when mated", of=IP_CODES
    )
    ingress_apart = say.choice(
        "<choice> apart",
        "apart <choice>",
        "<choice> when apart",
        "<choice> unmated",
        "unmated <choice>",
        doc="ingress rating when apart",
        of=IP_CODES,
    )
    on_panel = say.flag(
        "on the panel",
        "on a panel",
        "panel-mounted",
        "panel mounted",
        "in the panel",
        "on panel",
        "panel mount",
        doc="it sits on the panel",
    )
    direction = say.choice(
        "<choice>",
        "direction <choice>",
        "is an <choice>",
        doc="whether power comes in or goes out",
        of={
            "inlet": "inlet",
            "input": "inlet",
            "outlet": "outlet",
            "output": "outlet",
            "both ways": "both",
            "inlet and outlet": "both",
        },
    )
    drawn_from = say.choice(
        "pin-out drawn from the <choice>",
        "drawn from the <choice>",
        "pin-out seen from the <choice>",
        "seen from the <choice>",
        "numbered from the <choice>",
        doc="the side from which its pin-out is drawn",
        of={
            "mating side": "mating side",
            "mating face": "mating side",
            "front": "mating side",
            "wire side": "wire side",
            "back": "wire side",
        },
    )
