"""Where a build is used, and the zones inside it."""

from __future__ import annotations

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.kinds.values import COLOURS, IP_CODES, MONTHS, hours_a_day
from ohmwright_grammar.quantities import Duty, Quantity
from ohmwright_grammar.records import record
from ohmwright_grammar.things import Thing

__all__ = ["ColourRole", "MonthlySun", "Site", "Zone"]


@record
class MonthlySun:
    """Peak sun hours a day for each month, January first."""

    hours: tuple[Quantity[Duty], ...]


@record
class ColourRole:
    """What a colour means in the scheme."""

    colour: str
    role: str


class Site(Thing):
    """The place and the way of use."""

    __slots__ = ()
    KIND = "site"
    NAMED = False

    ambient = say.temperature(
        "ambient <temperature>",
        "<temperature>",
        "air <temperature>",
        "ambient from <temperature>",
        doc="range of the air's temperature",
    )
    record_low = say.temperature(
        "record low <temperature>",
        "lowest ever <temperature>",
        "record low of <temperature>",
        doc="lowest temperature on record",
    )
    sun = hours_a_day(
        "sun <duty>", "<duty>", "<duty> of sun", "sun for <duty>", "peak sun <duty>", "peak sun hours <duty>",
        "sun <time:time> a|per day", "<time:time> of sun a|per day", "<time:time> a|per day", "<time:time> a|per day of sun",
        doc="peak sun hours a day, one mean figure",
    )  # fmt: skip
    sun_by_month = say.record(
        MonthlySun,
        "sun by month <hours:dutys>",
        "peak sun hours by month <hours:dutys>",
        "sun each month <hours:dutys>",
        doc="peak sun hours a day for each month, January first",
    )
    sizing_month = say.choice(
        "sized for <choice>", "sizing month <choice>", "sized on <choice>", doc="month whose sun the sizing uses", of=MONTHS
    )
    sizing_sun = say.duty("sized for <duty>", "sizing sun <duty>", "sized on <duty>", doc="sun that the sizing uses")
    night = say.time(
        "night <time>",
        "night of <time>",
        "nights of <time>",
        "length of night <time>",
        "nights last <time>",
        doc="length of the night",
        above=0,
    )
    use = say.choice(
        "<choice>", "use <choice>", "used as <choice>", "use is <choice>",
        doc="use: portable, vehicle, boat or fixed",
        of={
            "portable": "portable", "carried": "portable", "vehicle": "vehicle", "in a vehicle": "vehicle", "boat": "boat",
            "in a boat": "boat", "on a boat": "boat", "fixed": "fixed", "stationary": "fixed",
        },
    )  # fmt: skip
    outdoors = say.flag("outdoors", "outdoor", "used outdoors", doc="used outdoors")
    damp = say.flag("damp or wet", "damp", "wet", "damp surroundings", doc="damp or wet surroundings")
    direct_sun = say.flag("in direct sun", "direct sun", "stands in the sun", doc="stands in direct sun")
    near_petrol = say.flag("near petrol", "near gasoline", "near fuel", "petrol nearby", doc="used near petrol")
    water_protection = say.choice(
        "water protection <choice>",
        "<choice>",
        "water protection asked for <choice>",
        "protection <choice>",
        doc="water protection asked for",
        of=IP_CODES,
    )
    colour_scheme = say.word("colour scheme <word>", "color scheme <word>", doc="name of the colour scheme")
    colour_roles = say.records(
        ColourRole,
        "colour <colour:choice> for <role:term>", "color <colour:choice> for <role:term>",
        "colour|color <colour:choice> means <role:term>",
        "colours|colors <colour:choice> for <role:term>", "<colour:choice> means <role:term>",
        tail="<colour:choice> for <role:term>", of=COLOURS,
        doc="what each colour means",
    )  # fmt: skip
    scheme_exceptions = say.names(
        "exceptions to the scheme <names>", "colour exceptions <names>", "scheme exceptions <names>",
        "outside the scheme <names>",
        doc="wires and cables that do not follow the scheme",
    )  # fmt: skip
    label_language = say.word(
        "labels in <word>", "language of labels <word>", "label language <word>", doc="language of the labels"
    )
    generated_labels = say.flag(
        "labels as generated",
        "labels from the label sheet",
        "the generated labels",
        doc="every fuse holder, panel connector, battery, outlet and lead carries the label of the generated label sheet",
    )
    altitude = say.length("altitude <length>", "<length> above sea level", "altitude of <length>", doc="altitude")


class Zone(Thing):
    """A zone or compartment inside the build."""

    __slots__ = ()
    KIND = "zone"
    PLURAL = "zones"

    enclosure = say.name(
        "in [the] <name>", "inside [the] <name>", "lies in <name>", "part of <name>", doc="the case that it lies in"
    )
    temperature = say.temperature(
        "<temperature>", "temperature <temperature>", "from <temperature>", "at <temperature>", doc="range of its temperature"
    )
    loose_things = say.flag(
        "loose things kept here", "loose things", "holds loose things", "loose things kept in it", "holds loose adapters",
        "storage",
        "loose things inside",
        doc="loose things are kept in it",
    )  # fmt: skip
    insulating_partition = say.flag(
        "insulating partition", "fixed insulating partition", "fixed insulating partition towards live parts",
        "partition towards live parts",
        doc="a fixed insulating partition keeps it from live parts",
    )  # fmt: skip
    wire_compartment = say.flag(
        "closed compartment for wires", "closed compartment of its own for wires", "closed wire compartment", "wire duct",
        doc="a closed compartment of its own for wires",
    )  # fmt: skip
