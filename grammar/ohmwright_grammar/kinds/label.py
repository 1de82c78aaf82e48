"""Labels, and the sheets of a document set."""

from __future__ import annotations

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.kinds.values import COLOURS, extent, named
from ohmwright_grammar.records import record
from ohmwright_grammar.things import Thing

__all__ = ["Label", "Sheet", "SheetRow"]


class Label(Thing):
    """A label: its text, where it goes, and what it states."""

    __slots__ = ()
    KIND = "label"
    PLURAL = "labels"

    text = say.text("<text>", "reads <text>", "text <text>", doc="its text")
    at = named("at <names>", "on <names>", "for <names>", doc="what it belongs to")
    size = say.record(
        extent,
        "size <width:length> x|by|× <height:length>", "size <width:number> x|by|× <height:length>",
        "<width:number> x|by|× <height:length>", "<width:length> x|by|× <height:length>",
        doc="width and height",
    )  # fmt: skip
    place = say.text("placed <text>", "place <text>", doc="where it sits, in words")
    colour = say.choice("<choice>", "colour|color <choice>", doc="colour", of=COLOURS)
    count = say.count("<count> pieces|piece", "<count> off", "quantity <count>", doc="how many", at_least=1)
    language = say.word("in <word>", "language <word>", doc="language")
    generated_text = say.flag(
        "carries the generated text", "generated text", "the generated text", doc="it carries the text that the schedule makes"
    )
    states_current = say.flag("states current", "current", "states the current", "states amperes", doc="it states the current")
    states_voltage = say.flag(
        "states voltage", "voltage", "states the voltage", "states volts", doc="it states the voltage, for fuses in DC"
    )
    states_family = say.flag("states family", "family", "states the family", doc="it states the family of fuse")
    states_polarity = say.flag("states polarity", "polarity", "states the polarity", doc="it states the polarity")
    states_direction = say.flag("states direction", "direction", "states the direction", doc="it states inlet or outlet")
    states_chemistry = say.flag("states chemistry", "chemistry", "states the chemistry", doc="it states the chemistry")
    states_energy = say.flag(
        "states energy", "energy", "states the energy", "states watt-hours", doc="it states the energy in Wh"
    )
    states_date = say.flag("states date", "date", "states the date", doc="it states the date made")
    states_transport_mark = say.flag(
        "states transport mark", "transport mark", "states the transport mark", doc="it states the mark for transport"
    )
    states_neutral = say.flag(
        "states bonded or floating",
        "bonded or floating",
        "states whether the neutral is bonded",
        doc="it states whether the neutral is bonded or floats",
    )
    states_not_for_house_wiring = say.flag(
        "states not for house wiring",
        "warns of house wiring",
        "house wiring warning",
        doc="it says that the outlet is not for house wiring",
    )
    states_connection_order = say.flag(
        "states connection order", "connection order", "states the connection order", doc="it states battery first on, last off"
    )
    polarity_marks = say.flag(
        "polarity marks at both ends", "polarity marked at both ends", doc="polarity marks at both ends of the lead"
    )


@record
class SheetRow:
    """One id on a sheet that is kept by hand, with its quantity."""

    id: str
    count: int = 1


class Sheet(Thing):
    """A sheet of the document set."""

    __slots__ = ()
    KIND = "sheet"
    PLURAL = "sheets"

    file = say.text("file <text>", "<text>", "kept in <text>", doc="the file that it is in")
    model_hash = say.word(
        "drawn from model <word>",
        "model hash <word>",
        "hash <word>",
        "drawn from hash <word>",
        doc="hash of the model that it was drawn from",
    )
    kept_by_hand = say.flag("kept by hand", "drawn by hand", doc="it is kept by hand")
    rows = say.records(
        SheetRow, "lists <count:count> <id:term>", "lists <id:term>", "lists <count:count> of <id:term>",
        doc="ids on a sheet kept by hand, with their quantities",
    )  # fmt: skip
