"""Wires, and what may be said of every conductor and cable."""

from __future__ import annotations

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.kinds.part import Bought
from ohmwright_grammar.kinds.values import COLOURS, terms
from ohmwright_grammar.quantities import Metre, Quantity
from ohmwright_grammar.records import record

__all__ = ["COLOURS", "Bundle", "Conductor", "ConductorData", "Ends", "Sleeve", "Wire"]


@record
class Ends:
    """The two terminals that a conductor joins."""

    start: str
    end: str


@record
class Bundle:
    """How many other loaded conductors it lies with, and over what length."""

    others: int
    over: Quantity[Metre] | None = None


def _bundle(others: int | None = None, over: Quantity[Metre] | None = None, total: int | None = None) -> Bundle:
    if others is None:
        assert total is not None
        others = max(total - 1, 0)
    return Bundle(others, over)


@record
class Sleeve:
    """A coloured sleeve at one end, or at both where no end is named."""

    colour: str
    at: str = ""


class ConductorData(Bought):
    """What may be said of one conductor, and of a cable for each of its cores."""

    __slots__ = ()

    gauge = say.gauge("<gauge>", "gauge <gauge>", "size <gauge>", doc="size")
    length = say.length(
        "<length> [long]",
        "length <length>",
        "<length> one way",
        "length one way <length>",
        doc="length one way, slack included",
        above=0,
    )
    metal = say.choice(
        "<choice>", "metal <choice>", "of <choice>",
        doc="metal",
        of={
            "copper": "copper", "bare copper": "copper", "plain copper": "copper", "tinned copper": "tinned copper",
            "tinned": "tinned copper", "copper-clad aluminium": "copper-clad", "copper-clad aluminum": "copper-clad",
            "copper-clad": "copper-clad", "CCA": "copper-clad", "aluminium": "aluminium", "aluminum": "aluminium",
        },
    )  # fmt: skip
    stranding = say.choice(
        "<choice>", "stranding <choice>",
        doc="stranding",
        of={
            "stranded": "stranded", "solid": "solid", "class 1": "solid", "class 2": "stranded", "class 5": "class 5",
            "fine-stranded": "class 5", "fine stranded": "class 5", "flexible": "class 5", "class 6": "class 6",
            "extra-flexible": "class 6",
        },
    )  # fmt: skip
    insulation_temperature = say.temperature(
        "<temperature> insulation", "<temperature>", "insulation <temperature>", "insulation rated [for] <temperature>",
        "insulated for <temperature>", "rated <temperature>", "insulation temperature <temperature>",
        doc="temperature rating of the insulation",
    )  # fmt: skip
    insulation_material = say.choice(
        "<choice>", "<choice> insulation", "insulation <choice>", "insulated with <choice>", "insulation of <choice>",
        doc="material of the insulation",
        of={
            "PVC": "PVC", "XLPE": "XLPE", "rubber": "rubber", "EPR": "rubber", "silicone": "silicone", "PTFE": "PTFE",
            "thermoplastic": "thermoplastic", "thermoset": "thermoset", "cross-linked": "XLPE", "polyurethane": "polyurethane",
        },
    )  # fmt: skip
    insulation_voltage = say.voltage(
        "<voltage> insulation", "<voltage>", "insulation <voltage>", "insulated for <voltage>",
        "insulation rated [for] <voltage>",
        "rated <voltage>", "insulation voltage <voltage>",
        doc="voltage rating of the insulation", above=0,
    )  # fmt: skip
    cable_kind = say.choice(
        "<choice>", "kind <choice>",
        doc="kind of cable or single wire",
        of={
            "flexible cord": "flexible cord", "cord": "flexible cord", "extension cord": "flexible cord",
            "boat cable": "boat", "boat wire": "boat",
            "boat": "boat",
            "building wire": "building", "building cable": "building", "building": "building", "PV wire": "PV",
            "PV cable": "PV",
            "PV": "PV", "battery cable": "battery", "battery lead": "battery", "battery": "battery",
        },
    )  # fmt: skip
    bundle = say.record(
        _bundle,
        "with <others:count> others|other over <over:length>", "with <others:count> others|other",
        "bundled with <others:count> others|other [over <over:length>]",
        "with <others:count> other wires|wire|conductors|conductor [over <over:length>]",
        "bundled with <others:count> other wires|wire|conductors|conductor [over <over:length>]",
        "lies with <others:count> others|other [over <over:length>]",
        "bundled with <others:count> [over <over:length>]", "bundled with <others:count> wires [over <over:length>]",
        "in a bundle of <total:count> [over <over:length>]", "bundle of <total:count> [over <over:length>]",
        doc="how many other loaded conductors it lies with, and over what length",
    )  # fmt: skip
    free_air = say.flag("in free air", "free in air", "laid free", doc="laid free in air")
    in_conduit = say.flag("in conduit", "in a conduit", "in tube", "in pipe", doc="laid in conduit")
    enclosed = say.flag(
        "enclosed all the way", "enclosed", "enclosed over its whole length", "sheathed all the way", "in a sheath all the way",
        doc="enclosed all the way, by sheath or conduit",
    )  # fmt: skip
    split_loom = say.flag(
        "in split loom", "in loom", "in a split loom", "split loom", doc="in a loom that is split along its length"
    )
    laying_method = say.choice(
        "method <choice>", "laid by method <choice>", "laying method <choice>", "installation method <choice>",
        doc="laying method of the basis (iec)",
        of={method: method for method in ("A1", "A2", "B1", "B2", "C", "D1", "D2", "E", "F", "G")},
    )  # fmt: skip
    why_not_nearer = say.text(
        "nearer fuse impractical because <text>", "short distance impractical because <text>",
        doc="why a fuse within 7 in is impractical",
    )  # fmt: skip
    duct = say.name("duct <name>", "in [the] duct <name>", "shares duct <name>", doc="name of the duct that it lies in")
    zone = say.name("in [the] <name>", "zone <name>", "in zone <name>", "compartment <name>", doc="zone that it lies in")
    own_temperature = say.temperature(
        "at <temperature>",
        "own temperature <temperature>",
        "runs at <temperature>",
        doc="temperature around it, in place of its zone's",
    )
    measured_resistance = say.resistance(
        "measured <resistance>",
        "<resistance>",
        "measured resistance <resistance>",
        "resistance <resistance>",
        doc="resistance as measured",
        above=0,
    )
    holes = terms(
        "through [the] <term>", "through holes|hole <term>", "passes <term>", "passes through <term>",
        tail="through <term>",
        doc="holes that it passes",
    )  # fmt: skip
    inside_device = say.flag(
        "inside a bought device",
        "part of a bought device",
        "inside a device",
        doc="inside a bought device's own case, or part of it",
    )
    outer_diameter = say.length(
        "outer diameter <length>", "diameter <length>", "<length> diameter", "<length> thick", doc="outer diameter", above=0
    )
    tightest_bend = say.length(
        "bent to <length>",
        "bent to a radius of <length>",
        "tightest bend <length>",
        "bends within <length>",
        doc="radius of the tightest bend that it is laid in",
        above=0,
    )
    polarity_marked = say.flag(
        "polarity marked at both ends", "polarity marks at both ends", "marked plus and minus at both ends",
        doc="polarity marks at both ends",
    )  # fmt: skip
    route = say.text("route <text>", "runs along <text>", "routed <text>", doc="route, in words")
    label_text = say.text(
        "label <text>", "labelled|labeled <text>", "marked <text>", doc="text of its label, where it is not its name"
    )


class Conductor(ConductorData):
    """A wire, a core of a cable or a jumper."""

    __slots__ = ()
    KIND = "conductor"
    PLURAL = "conductors"

    ends = say.record(
        Ends, "from <start:name> to <end:name>", "between <start:name> and <end:name>", doc="the terminals that it joins"
    )
    colour = say.choice("<choice>", "colour|color <choice>", doc="colour", of=COLOURS)
    sleeves = say.records(
        Sleeve,
        "sleeve <colour:choice> at <at:name>", "sleeve <colour:choice> at both ends", "sleeve <colour:choice>",
        "sleeved <colour:choice> at <at:name>", "sleeved <colour:choice> at both ends", "sleeved <colour:choice>",
        tail="<colour:choice> at <at:name>", of=COLOURS,
        doc="coloured sleeves, at one end or at both",
    )  # fmt: skip
    wire_ends = say.choice(
        "<choice>", "ends in <choice>", "<choice> at both ends", "both ends <choice>", "wire ends|end <choice>",
        doc="how both of its ends are finished",
        of={
            "lugs": "lug", "lug": "lug", "crimped lugs": "lug", "ring lugs": "lug", "ferrules": "ferrule", "ferrule": "ferrule",
            "bare ends": "bare", "bare strands": "bare", "tinned ends": "tinned", "tinned strands": "tinned",
            "soldered only": "soldered only", "contacts": "contact", "crimped contacts": "contact",
        },
    )  # fmt: skip
    job = say.choice(
        "<choice>", "job <choice>", "<choice> lead|wire", "carries <choice>",
        doc="what it is for",
        of={
            "power": "power", "bond": "bond", "bonding": "bond", "earth": "earth", "sense": "sense", "sensing": "sense",
            "control": "control", "signal": "control", "interlock": "control",
        },
    )  # fmt: skip
    senses_for = say.name(
        "senses for <name>", "sense lead for <name>", "sense lead of <name>", doc="it only senses, for this part"
    )
    reference = say.word("id <word>", "reference <word>", doc="id, where it is not its name")


class Wire(Conductor):
    """A single wire."""

    __slots__ = ()
    KIND = "wire"
    PLURAL = "wires"
