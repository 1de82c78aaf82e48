"""What may be said of every part, and of every terminal."""

from __future__ import annotations

from datetime import date
from typing import ClassVar

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.kinds.values import IP_CODES, Sizes, WireRange, sizes, wire_range, wording
from ohmwright_grammar.records import record
from ohmwright_grammar.things import Thing

__all__ = [
    "POLES",
    "STUDS",
    "WIRE_ENDS",
    "Bought",
    "Consumable",
    "Joining",
    "Joint",
    "Part",
    "RatingSource",
    "Sizes",
    "Sourced",
    "Spares",
    "Terminal",
    "WireRange",
]

POLES: dict[str, str] = {
    "+": "plus", "-": "minus", "pos": "plus", "neg": "minus", "positive": "plus", "negative": "minus",
}  # fmt: skip

STUDS: dict[str, str] = {size: size for size in ("M3", "M4", "M5", "M6", "M8", "M10", "M12")}

WIRE_ENDS: dict[str, str] = {
    "lug": "lug", "lugs": "lug", "crimped lug": "lug", "crimped lugs": "lug", "ring lug": "lug", "ring lugs": "lug",
    "ferrule": "ferrule", "ferrules": "ferrule", "bare": "bare", "bare strands": "bare", "bare wire": "bare",
    "tinned": "tinned", "tinned strands": "tinned", "soldered only": "soldered only", "contact": "contact",
    "crimped contact": "contact",
}  # fmt: skip


@record
class Joint:
    """A terminal that sits directly on another terminal or on a bus, without a wire."""

    terminal: str
    at: str


@record
class RatingSource:
    """The document that a rating comes from; `rating` names the rating where it is one among several."""

    document: str
    page: str = ""
    day: date | None = None
    rating: str = ""


@record
class Spares:
    """How many spares are kept, and where."""

    count: int
    place: str = ""


@record
class Consumable:
    """Something that is used up in building, beyond what the circuit counts."""

    count: int
    what: str


class Sourced(Thing):
    """What may be said of everything that has ratings."""

    __slots__ = ()

    rating_sources = say.records(
        RatingSource,
        "ratings from <document:text> [page <page:word>] [dated|of <day:date>]",
        "data sheet <document:text> [page <page:word>] [dated|of <day:date>]",
        "rating <rating:text> from <document:text> [page <page:word>] [dated|of <day:date>]",
        doc="document, page and date of the ratings, or of one of them",
    )
    ratings_assumed = say.flag(
        "assumed", "ratings assumed", "ratings are assumed", "assumed ratings", "ratings unverified",
        doc="the ratings are assumed, not verified",
    )  # fmt: skip


class Bought(Sourced):
    """What may be said of everything that is bought: parts, wires, cables."""

    __slots__ = ()

    description = say.text("described as <text>", "description <text>", doc="maker-neutral description")
    specification = say.text("specification <text>", "spec <text>", "specified as <text>", doc="maker-neutral specification")
    alternatives = say.texts("alternative <text>", "or instead <text>", "alternatives <text>", doc="what may be used instead")
    make = say.word("made by <word>", "make <word>", "maker <word>", doc="who makes it")
    series = say.word(
        "product series <word>",
        "model <word>",
        "of series <word>",
        "part number <word>",
        "type <word>",
        doc="series or model of the maker",
    )
    price = say.money("costs <money>", "<money>", "price <money>", doc="price of one")
    suppliers = say.texts("bought from <text>", "sold by <text>", "suppliers|supplier <text>", doc="where it can be bought")


class Terminal(Thing):
    """One terminal of a part, or several alike."""

    __slots__ = ()
    KIND = "terminal"
    PLURAL = "terminals"

    kind = say.choice(
        "<choice>", "kind <choice>", "held by a|an <choice>",
        doc="how it holds the wire",
        of={
            "stud": "stud", "threaded post": "stud", "bolt": "stud", "bare screw": "bare screw", "screw": "bare screw",
            "direct-bearing screw": "bare screw", "set screw": "bare screw", "clamp plate": "clamp plate",
            "screw with clamp plate": "clamp plate", "box clamp": "clamp plate", "spring cage": "spring cage",
            "cage clamp": "spring cage", "lever clamp": "spring cage", "push-in": "spring cage", "spring clip": "spring clip",
            "crocodile clip": "spring clip", "wing nut": "wing nut", "crimp": "crimp", "crimp contact": "crimp", "tab": "tab",
            "blade tab": "tab", "post clamp": "post clamp", "solder": "solder", "solder cup": "solder",
        },
    )  # fmt: skip
    temperature = say.temperature(
        "<temperature>", "rated <temperature>", "rated for <temperature>", "temperature <temperature>",
        doc="temperature rating",
    )  # fmt: skip
    wire_range = say.record(
        wire_range,
        "takes <range:gauges>", "wire range <range:gauges>", "accepts <range:gauges>", "wires from <range:gauges>",
        "takes up to <thickest:gauge>", "accepts up to <thickest:gauge>", "wires up to <thickest:gauge>",
        "<thinnest:gauge> to <thickest:gauge>", "up to <thickest:gauge>",
        doc="conductor sizes that it takes",
    )  # fmt: skip
    wires_allowed = say.count(
        "<count> wires|wire [allowed]", "holds [at] [most] <count> wires|wire", "up to <count> wires|wire",
        "at most <count> wires|wire", "wires allowed <count>",
        doc="how many wires it may hold", at_least=1,
    )  # fmt: skip
    takes_metal = say.choice(
        "for <choice>", "takes <choice>", "metals <choice>", "conductors of <choice>", "<choice>",
        doc="the metals of conductor that it takes",
        of={
            "copper": "copper", "copper only": "copper", "CU": "copper", "AL/CU": "copper and aluminium",
            "CU/AL": "copper and aluminium", "copper wire": "copper", "copper conductors": "copper",
            "aluminium": "aluminium", "aluminum": "aluminium", "aluminium only": "aluminium",
            "copper and aluminium": "copper and aluminium", "copper or aluminium": "copper and aluminium",
            "copper and aluminum": "copper and aluminium", "copper or aluminum": "copper and aluminium",
            "aluminium and copper": "copper and aluminium",
        },
    )  # fmt: skip
    own_metal = say.word("made of <word>", "own metal <word>", "of <word>", doc="its own metal")
    plating = wording(
        "<choice>", "plated with <word>", "plating <word>",
        doc="its plating",
        of={
            "tin-plated": "tin", "tin plated": "tin", "nickel-plated": "nickel", "nickel plated": "nickel",
            "silver-plated": "silver", "silver plated": "silver", "gold-plated": "gold", "zinc-plated": "zinc",
        },
    )  # fmt: skip
    stud_size = wording("stud <word>", "<choice> stud", "<choice>", "stud size <word>", doc="size of the stud", of=STUDS)
    lug_hole = wording("lug hole <word>", "<choice> lug", "<choice> hole", "hole <word>", doc="hole of the lugs", of=STUDS)
    lug_order = say.names(
        "lugs from the bottom <names>", "lug order <names>", "stacked from the bottom <names>",
        doc="wires whose lugs lie on the stud, the lowest first",
    )  # fmt: skip
    torque = say.torque("torque <torque>", "<torque>", "tighten|tightened to <torque>", doc="tightening torque")
    wire_end = say.choice(
        "<choice>", "wire ends|end <choice>", "wire in a <choice>", doc="how the wires end in it", of=WIRE_ENDS
    )
    strands_cut = say.flag("strands cut off to fit", "strands cut off", "strands cut", doc="strands were cut off to fit")
    tool = say.word("needs tool <word>", "tool <word>", "needs a <text>", doc="the tool that the joint needs")
    boot = say.flag(
        "boot", "a boot", "boot or shield", "boot fitted", "booted", "shield", "shielded", doc="boot or shield over it"
    )


class Joining(Thing):
    """What may be said of a plug or switch through which packs are joined."""

    __slots__ = ()

    while_charging = say.flag(
        "may be joined while charging",
        "joined while charging",
        "may be closed while charging",
        doc="packs may be joined by it while chargers run",
    )
    joins_through = say.choice(
        "joins through <choice>", "joins through a <choice>", "joins packs through <choice>", "joins packs through a <choice>",
        doc="what eases the joining of packs",
        of={
            "precharge": "precharge", "precharge resistor": "precharge", "current limit": "current limit",
            "current limiter": "current limit", "voltage-checked contactor": "voltage-checked contactor",
        },
    )  # fmt: skip
    joining_current = say.current(
        "joining current at most <current>", "joining current <current>", "joins at most at <current>",
        doc="limit of what eases the joining", above=0,
    )  # fmt: skip


class Part(Bought):
    """A thing with terminals, or with a place in the circuit."""

    __slots__ = ()
    KIND = "part"
    PLURAL = "parts"
    TERMINALS: ClassVar[tuple[str, ...]] = ()  # in the usual order of the kind
    ALIASES: ClassVar[dict[str, str]] = {}  # signs as printed on parts, to our names
    AC_TERMINALS: ClassVar[tuple[str, ...]] = ()  # those that carry mains or an inverter's output

    reference = say.word("reference <word>", "ref <word>", "id <word>", doc="reference, where it is not the name")
    spares = say.record(
        Spares,
        "<count:count> spares|spare [kept] in|at <place:text|name>", "<count:count> spares|spare [kept]",
        "keep <count:count> spares|spare in|at <place:text|name>", "keep <count:count> spares|spare", "spares <count:count>",
        doc="spares kept, and where",
    )  # fmt: skip
    consumables = say.records(
        Consumable, "uses up <count:count> <what:text>", "consumables <count:count> <what:text>",
        doc="what is used up in building, beyond the count",
    )  # fmt: skip
    mass = say.mass("weighs <mass>", "<mass>", "mass <mass>", "weight <mass>", doc="mass")
    size = say.record(
        sizes,
        "size <width:length> x|by|× <depth:length> x|by|× <height:length>",
        "size <width:number> x|by|× <depth:number> x|by|× <height:length>",
        "outer size <width:length|number> x|by|× <depth:length|number> x|by|× <height:length>",
        "measures <width:length|number> x|by|× <depth:length|number> x|by|× <height:length>",
        doc="outer width, depth and height",
    )
    clearance = say.length("clearance <length>", "clearance around <length>", "keep <length> clear", doc="clearance around it")
    zone = say.name(
        "in [the] <name>", "zone <name>", "in zone <name>", "compartment <name>", doc="zone or compartment that it lies in"
    )
    highest_temperature = say.temperature(
        "works up to <temperature>", "highest temperature <temperature>", "maximum temperature <temperature>",
        "temperature limit <temperature>", "temperature at most <temperature>", "rated up to <temperature>",
        doc="highest temperature, a hard limit",
    )  # fmt: skip
    derating_temperature = say.temperature(
        "derates above|from <temperature>", "ages above|from <temperature>", "ages faster above <temperature>",
        doc="temperature from which it derates or ages",
    )  # fmt: skip
    derates_itself = say.flag("derates itself when hot", "derates itself", "self-derating", doc="derates itself when hot")
    heat = say.power(
        "gives off <power>", "gives off <power> of heat", "heat <power>", "loses <power> as heat", doc="heat it gives off"
    )
    own_drain = say.current(
        "own drain <current>", "drain <current>", "own current <current>", "drains <current>", "standby <current>",
        "own consumption <current>",
        "self-consumption <current>",
        doc="current it takes for itself while fed",
    )  # fmt: skip
    own_drain_power = say.power(
        "own drain <power>", "drain <power>", "own power <power>", "drains <power>", "standby <power>",
        "own consumption <power>",
        "self-consumption <power>",
        doc="power it takes for itself while fed",
    )  # fmt: skip
    always_on = say.flag("always on", "meant to be always on", "stays on", doc="meant to be always on")
    ingress = say.choice(
        "<choice>", "ingress <choice>", "ingress rating <choice>", "rated <choice>", doc="ingress rating", of=IP_CODES
    )
    sealed = say.flag("sealed", "sealed against sparks", "sparks sealed in", doc="its sparks cannot reach the air")
    ignition_protected = say.flag("ignition-protected", "ignition protected", doc="ignition-protected")
    mounted_on = say.word(
        "screwed to <word>", "mounted on <word>", "screwed on <word>", "fixed to <word>", doc="material that it is screwed to"
    )
    stand_off = say.length(
        "stand-off <length>", "standoff <length>", "stands off <length>", doc="distance from what it is screwed to"
    )
    joints = say.records(
        Joint, "<terminal:name> on <at:name>", "<terminal:name> sits on <at:name>", "<terminal:name> directly on <at:name>",
        doc="a terminal that sits on another, without a wire",
    )  # fmt: skip
    terminals = say.blocks(lambda: Terminal, "terminal", "terminals", doc="facts of one terminal or several alike")
