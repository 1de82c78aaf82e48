"""Write the tables of the language's manual: run it after every change of the lexicon, a test keeps the manual current.

Run `python tools/make_manual.py`. Between the markers `<!-- made: NAME -->` and `<!-- end -->` of grammar/LANGUAGE.md stands what this program writes.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "grammar"))
from ohmwright_grammar.heads import RESERVED, STATEMENTS
from ohmwright_grammar.kinds import INNER, KINDS, PLURALS, kind_of
from ohmwright_grammar.kinds.conductor import Conductor
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.rig import Rig
from ohmwright_grammar.phrases import Literal, Node, Optional, Slot, compile_phrase
from ohmwright_grammar.quantities import DIMENSIONS
from ohmwright_grammar.saying import phrase_words
from ohmwright_grammar.things import Datum, Thing, data_of
from ohmwright_grammar.tidying import tidied

MANUAL = Path(__file__).resolve().parents[1] / "grammar" / "LANGUAGE.md"

# Values that stand in the tables, one for each shape; a second one where the datum is told to be a range.
FIGURES: dict[str, str] = {
    "voltage": "12 V", "current": "10 A", "resistance": "5 mohm", "power": "60 W", "energy": "500 Wh", "charge": "60 Ah",
    "capacitance": "2 mF", "length": "1.2 m", "area": "40 cm2", "temperature": "40 degC", "difference": "6 K", "time": "2 h",
    "share": "60 %", "duty": "3 h/day", "share_rate": "3 %/month", "per_kelvin": "-0.3 %/K", "voltage_per_kelvin": "-30 mV/K",
    "irradiance": "900 W/m2", "heat_transfer": "5 W/m2K", "frequency": "50 Hz", "mass": "2 kg", "force": "200 N", "torque": "4 Nm",
    "let_through": "500 A2s", "money": "12 EUR",
}  # fmt: skip
RANGES: dict[str, str] = {
    "voltage": "10 V to 15 V", "temperature": "-10 degC to 40 degC", "length": "6 mm to 10 mm", "count": "2",
}  # fmt: skip
OTHERS: dict[str, str] = {
    "count": "3", "moment": "2 s", "number": "1.5", "name": "my_part", "names": "my_pump, my_lamp", "term": "my_panel", "text": '"…"',
    "texts": '"…", "…"', "word": '"…"', "date": "2027-06-30", "gauge": "10 AWG", "gauges": "14 AWG to 4 AWG", "measure": "3 %",
    "dutys": "1.1, 1.9, 3.0, 4.2 h/day", "voltages": "12, 24 V",
}  # fmt: skip
NAMES: dict[str, str] = {"zone": "my_zone", "duct": "my_duct"}

# Examples that say more than the usual values would.
EXAMPLES: dict[str, str] = {
    "Rig.title": 'rig "Pump box"', "Rig.revision": "revision 4.0", "Rig.basis": "basis us-small-craft", "Rig.parts_from": 'parts from "shelf.rig"',
    "Rig.author": 'by "Kim"', "Rig.adapts": 'adapts "published/box.rig" revision 4.0 hash "3b1f…"', "Rig.joints": "my_fuse.line on my_battery.plus",
    "Rig.never_together": "never together my_pump, my_heater", "Rig.barred_together": "barred together my_switch, my_other_switch",
    "Rig.ports": "port my_port at my_plug",
    "Part.joints": "line on my_battery.plus", "Part.reference": "reference F1", "Part.mounted_on": "screwed to plywood", "Part.terminals": "terminal plus { M8 }",
    "Part.own_drain": "own drain 3 mA", "Part.own_drain_power": "own drain 0.5 W", "Part.clearance": "clearance 50 mm", "Part.stand_off": "stand-off 10 mm",
    "Part.size": "size 120 x 80 x 60 mm", "Part.heat": "gives off 5 W", "Part.highest_temperature": "works up to 60 degC",
    "Bought.make": 'made by "…"', "Bought.series": 'product series "…"',
    "Terminal.temperature": "75 degC", "Terminal.own_metal": "made of brass", "Terminal.stud_size": "stud M8", "Terminal.lug_hole": "lug hole M8",
    "Terminal.wires_allowed": "2 wires", "Terminal.lug_order": "lugs from the bottom my_wire, my_other_wire", "Terminal.tool": 'needs tool "…"',
    "ConductorData.insulation_temperature": "105 degC insulation", "ConductorData.insulation_voltage": "600 V insulation",
    "ConductorData.own_temperature": "at 55 degC", "ConductorData.holes": "through my_hole", "ConductorData.measured_resistance": "measured 11 mohm",
    "Conductor.ends": "from my_battery.plus to my_fuse.line", "Conductor.sleeves": "sleeve red at my_battery.plus", "Conductor.senses_for": "senses for my_meter",
    "Conductor.reference": 'id "…"', "Conductor.wire_ends": "ends in lugs",
    "Charging.absorption_voltage": "absorption 14.2 V", "Charging.float_voltage": "float 13.5 V", "Charging.equalise_voltage": "no equalise",
    "Charging.cold_charge_cut": "low-temperature charge cut 0 degC", "Charging.sensor_on": "sensor on my_battery",
    "MainsPort.earth_pin_joined_to": "earth pin joined to my_case", "Switching.barred_with": "never closed with my_switch", "Switching.ganged_with": "moves with my_other_switch",
    "Switching.breaks": "breaks 50 A at 14 V dc", "Switching.contact_resistance": "contact resistance 0.3 mohm",
    "Site.record_low": "record low -21 degC", "Site.sun_by_month": "sun by month 1.1, 1.9, 3.0, 4.2, 5.1, 5.6, 5.5, 4.8, 3.7, 2.3, 1.3, 0.9 h/day",
    "Site.colour_roles": "colour red for plus", "Site.scheme_exceptions": "exceptions to the scheme my_wire", "Site.label_language": "labels in English",
    "Site.colour_scheme": 'colour scheme "…"', "Site.altitude": "altitude 310 m", "Site.night": "night 14 h",
    "Battery.rest_voltages": "rest 13.2 V at 60 %, 13.4 V at 100 %", "Battery.nominal_voltage": "12.8 V", "Battery.cells": "4 cells",
    "Battery.highest_charge_voltage": "charge voltage at most 14.4 V", "Battery.lowest_charge_voltage": "charge voltage at least 14 V",
    "Battery.lowest_voltage": "lowest voltage 10.8 V", "Battery.internal_resistance": "internal resistance 9 mohm",
    "Battery.charge_end_voltage": "near the end of charge 13.9 V", "Battery.cycle_life": "3000 cycles at 80 %", "Battery.usable_depth": "usable 80 %",
    "Bms.low_cut_off": "low cut-off 10.5 V", "Bms.low_reconnect": "reconnects at 12 V", "Bms.high_trip": "high trip 14.8 V", "Bms.own_drain": "own drain 2 mA",
    "Bms.short_circuit_trip": "short-circuit trip 300 A", "Bms.cold_charge_cut": "low-temperature charge cut 0 degC",
    "Controller.pv_voltage_limit": "PV at most 100 V", "Controller.array_power_factor": "array at most 1.3 times its rated power",
    "Inverter.no_load_draw": "draws 8 W with no load", "Inverter.cut_off": "cut-off 10.5 V", "Inverter.rated_power": "600 W", "Inverter.efficiency": "efficiency 90 %",
    "Load.voltage_window": "works on 10.5 V to 15 V", "Load.own_cut_off": "own cut-off 10.5 V", "Load.start": "starts at 3 times its running current for 1 s",
    "Fuse.breaks": "breaks 2 kA at 32 V dc", "Fuse.rated_current": "40 A", "Fuse.curve": "opens in 0.1 s at 200 A", "Fuse.held_by": "held by my_holder", "Fuse.joints": "in way 1 of my_block",
    "Fuse.line_terminal": "line terminal is line", "Outlet.pattern": "household socket", "Selector.positions": "position my_position joins my_terminal",
    "Half.mate": "mates with my_plug", "Half.pin_pairs": "meets 1 to 2, 2 to 1", "Half.ganged": "ganged 1, 2", "Half.family": 'family "…"',
    "Half.keying": 'keying "…"', "Half.colour_key": "colour key grey", "Half.contact_resistance": "contact resistance 0.8 mohm",
    "Pin.function": '"pump plus"', "Pin.polarity": "plus", "Pin.mate_pin": "meets 2", "Pin.pin_name": "named my_pin",
    "Interlock.members": "loop my_socket.3, my_plug.my_jumper, my_socket.4", "Interlock.stops": "stops my_relay",
    "Enclosure.inside_size": "inside 400 x 300 x 200 mm", "Enclosure.faces_blocked": "faces blocked bottom, back", "Enclosure.bonded_at": "bonded at my_bus",
    "Cover.covers": "covers my_fuse, my_bus", "Hole.panel": "in my_panel", "Hole.centre": "centre 40 x 30 mm", "Hole.part": "for my_socket", "Hole.diameter": "22 mm",
    "Hole.gland": "gland 6 mm to 10 mm", "Panel.extent": "size 300 x 200 mm", "Panel.thickness": "3 mm thick", "Label.at": "at my_battery", "Label.size": "size 60 x 20 mm",
    "Label.language": "in English", "Sheet.model_hash": 'drawn from model "3b1f…"', "Sheet.rows": "lists 3 F1", "Sheet.file": 'file "wiring.pdf"',
    "Procedure.connect_order": "connect in order my_battery, my_plug", "Procedure.disconnect_order": "disconnect in order my_plug, my_battery",
    "Procedure.steps": 'then "…"', "Procedure.off_before_unplugging": "switch off my_switch before unplugging",
    "Procedure.storage_time": "store for 6 months", "Procedure.storage_start_level": "store from 60 %", "Procedure.storage_least_level": "store down to 20 %",
    "Step.state": 'in state "my evening"', "Step.points": "between my_battery.plus and my_battery.minus", "Step.at": "at my_battery", "Step.expected": "expect 12.8 V to 13.6 V",
    "Step.meter": 'meter "V dc"', "Version.changed": "changed my_cord",
    "State.settings": "my_switch, my_relay closed", "State.levels": "my_battery at 60 %", "State.positions": "my_selector at my_position", "State.sources": "my_array gives 11 A",
    "Row.joined": "0 to 3 joined", "State.joined": "my_row 2 joined", "State.sun": "sun 900 W/m2", "State.bms_open": "bms of my_battery open", "State.short_at": "short at my_bus",
    "State.ambient": "31 degC", "State.inside": "inside 45 degC", "State.lasts": "lasts 1 s", "State.returns_after": "back after 10 min",
    "Requirement.run": "run my_pump, my_lamp for 4 h", "Requirement.shelf_time": "on the shelf for 6 months", "Requirement.cord": "my_cord of 6 m with drop at most 5 %",
    "Requirement.drop": "drop at my_pump at most 5 %", "Requirement.start": "start my_pump", "Requirement.highest_mass": "weigh at most 23 kg",
    "Requirement.fits": "fit 600 x 400 x 300 mm", "Requirement.tools": "built with my_crimper, my_screwdriver", "Requirement.life": "last 10 years",
    "Requirement.recharge_by_sun": "recharge by sun in 3 days", "Requirement.recharge_by_mains": "recharge by mains in 8 h", "Requirement.cycles": "last 3000 cycles",
    "Requirement.touch_voltage": "nothing touchable above 60 V", "Requirement.highest_cost": "cost at most 900 EUR",
    "Requirement.days_without_sun": "3 days without sun", "Requirement.work_temperatures": "work from -10 degC to 40 degC",
    "Waiver.on": "on my_wire", "Waiver.up_to": "up to 0.3 m", "Waiver.down_to": "down to 10.9 V", "Waiver.because": 'because "…"', "Waiver.by": 'by "Kim"',
    "Placement.assembly": "of my_assembly", "Placement.values": "with my_parameter 3 m", "Row.of": "of 3 my_assembly", "Row.start": "starts at pack_socket",
    "Row.ports": "joins my_port to my_other_port", "Row.cord": "cord my_link", "Row.values": "with my_parameter 0.25 m", "Zone.enclosure": "in my_case",
    "Zone.temperature": "10 degC to 60 degC", "Core.spare_end": "cut back", "Cable.reel_wound": "reel marked 1000 W wound",
    "Cable.reel_unwound": "reel marked 3000 W unwound", "Array.voc": "Voc 22.6 V", "Array.vmp": "Vmp 18.9 V", "Array.isc": "Isc 6.1 A", "Array.imp": "Imp 5.8 A",
    "Array.cells_above_ambient": "cells 28 K above ambient", "Array.largest_series_fuse": "largest series fuse 15 A", "Diode.forward_drop": "drops 0.5 V",
    "FuseBlock.way_current": "30 A each", "FuseBlock.rated_current": "100 A total", "Shunt.rating": "50 mV at 200 A", "Meter.own_drain": "own drain 1 mA",
    "Meter.reads_shunt": "reads shunt my_shunt", "Converter.output_voltage": "output 5 V", "Converter.input_window": "input 10 V to 15 V",
    "Relay.coil_power": "coil 1.2 W", "Disconnect.opens_at": "opens at 11.6 V", "Disconnect.closes_at": "closes at 12.6 V",
}  # fmt: skip


# examples of phrases ------------------------------------------------------------------------------------------------


def example(datum: Datum[Any], phrase: str) -> str:
    """Return a phrase with values in its slots and without what may be left out."""
    return " ".join(_words(compile_phrase(phrase), datum, phrase))


def _words(nodes: tuple[Node, ...], datum: Datum[Any], phrase: str) -> Iterator[str]:
    order = re.findall(r"<[^>]+>|\[[^\]]*\]|[^\s<\[]+", phrase)
    for node, written in zip(nodes, order, strict=True):
        if isinstance(node, Literal):
            yield written.split("|")[0]
        elif isinstance(node, Slot):
            yield _value(node, datum)
        else:
            assert isinstance(node, Optional)


def _value(slot: Slot, datum: Datum[Any]) -> str:
    shape = slot.shapes[0]
    if shape == "choice":
        return next(iter(datum.choices or {}))
    if shape in ("name", "names", "term"):
        owner = datum.owner.__name__ if datum.owner is not None else ""
        special = NAMES.get(f"{owner}.{datum.name}") or NAMES.get(datum.name)
        if special is not None:
            return special
    ranged = re.search(r"\b(range|temperatures|voltages at|diameters)\b", datum.doc)
    if ranged and shape in RANGES:
        return RANGES[shape]
    return FIGURES.get(shape) or OTHERS[shape]


# tables --------------------------------------------------------------------------------------------------------------


def table(kind: type[Thing], data: list[Datum[Any]]) -> list[str]:
    """Return a table of what may be said: an example of each datum, and what it says."""
    lines = ["| write | it says |", "|---|---|"]
    for datum in data:
        lines.append(f"| {_write(datum)} | {_says(datum)} |")
    return lines


def _write(datum: Datum[Any]) -> str:
    if datum.shape == "block":
        return f"`{datum.phrases[0]} {{ … }}`"
    if datum.shape == "blocks":
        one, several = datum.phrases[0], datum.phrases[1]
        return f"`{one} 1 …`, `{several} 1, 2 {{ … }}`"
    special = EXAMPLES.get(f"{datum.owner.__name__ if datum.owner is not None else ''}.{datum.name}")
    if special is not None:
        return f"`{special}`"
    first = example(datum, datum.phrases[0])
    shown = [first]
    if datum.shape not in ("flag", "choice"):
        worded = next((phrase for phrase in datum.phrases if phrase_words(phrase)), "")
        if not phrase_words(datum.phrases[0]) and worded:
            shown.append(example(datum, worded))
    return ", ".join(f"`{words}`" for words in dict.fromkeys(shown))


def _says(datum: Datum[Any]) -> str:
    words = datum.doc[0].lower() + datum.doc[1:] if datum.doc[:1].isupper() and not datum.doc[1:2].isupper() else datum.doc
    options = _options(datum)
    denied = f"; contrary: `{example(datum, datum.denied[0])}`" if datum.denied else ""
    return f"{words}: {options}{denied}" if options else f"{words}{denied}"


def _options(datum: Datum[Any]) -> str:
    """Return the words to choose from, the usual one of each value, where they are few."""
    choices = datum.choices or {}
    usual: dict[str, str] = {}
    for wording, value in choices.items():
        usual.setdefault(value, wording)
    if not usual or len(usual) < 2 or (len(usual) > 30 and all(word.startswith("IP") for word in usual)):
        return ""
    return ", ".join(usual.values())


def own_data(kind: type[Thing]) -> list[Datum[Any]]:
    """Return the data that a class itself declares, in its order."""
    return [value for value in vars(kind).values() if isinstance(value, Datum)]


# kinds ---------------------------------------------------------------------------------------------------------------

SHARED: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("Every part", "What may be said of everything with terminals, and of cases.", ("part:Part", "part:Bought", "part:Sourced")),
    ("Every terminal", "Said in the block of its part: `terminal plus { M8; takes up to 2/0 AWG }`, or of many: `all terminals { 75 degC }`.", ("part:Terminal",)),
    ("Every conductor and cable", "What may be said of a wire, a core, a jumper, and of a cable for all of its cores.", ("conductor:ConductorData",)),
    ("Every wire, core and jumper", "Beside the above.", ("conductor:Conductor",)),
    ("Everything that charges", "Controllers, chargers, and inverters that also charge.", ("charging:Charging", "charging:Charger")),
    ("Everything on mains", "Mains chargers and inverters.", ("charging:MainsPort",)),
    ("Everything that switches", "Switches, relays, selectors and disconnects.", ("switch:Switching",)),
    ("Plugs and switches that join packs", "", ("part:Joining",)),
    ("AC outlets", "Of an inverter, or a connector that is an outlet.", ("outlet:OutletData",)),
)  # fmt: skip

# In the order of the manual: the kind's words, an example, words of explanation.
ORDER: tuple[tuple[str, str, str], ...] = (
    ("site", "site { ambient -12 degC to 38 degC; record low -21 degC; sun 4.1 h/day }", "Once in a build."),
    ("zone", "zone hot_side { in box; 10 degC to 60 degC }", "Things declared inside its block lie in it."),
    ("battery", "battery second { LFP; 4 cells; 100 Ah; internal resistance 5 mohm; bms { cuts both; short-circuit trip 300 A } }", ""),
    ("array", "array roof { 2 in series; Voc 22.6 V; Vmp 18.9 V; Isc 6.1 A; Imp 5.8 A; Voc coefficient -0.3 %/K }", "Data of one module."),
    ("controller", "controller sun { MPPT; 20 A; PV at most 100 V; for 12 V battery; charges LFP; absorption 14.2 V }", ""),
    ("mains charger", "mains charger depot { 15 A; charges LFP; absorption 14.2 V; float 13.5 V }", ""),
    ("dc-dc charger", "DC-DC charger from_van { 20 A; charges LFP }", ""),
    ("alternator", "alternator engine { 60 A }", ""),
    ("wind turbine", "wind turbine mill { 15 A }", ""),
    ("hydro turbine", "hydro turbine wheel { 15 A }", ""),
    ("charger", "charger other { 10 A }", "A plain `charger` is any other source that charges."),
    ("inverter", "inverter mains { 600 W; peak 1200 W for 5 s; efficiency 90 %; draws 8 W with no load; cut-off 10.5 V }", ""),
    ("inverter-charger", "inverter-charger both { 1000 W; efficiency 90 %; 30 A }", "Of an inverter-charger also what is said of everything that charges."),
    ("converter", "converter five_volt { input 10 V to 15 V; gives 5 V; gives at most 3 A; efficiency 88 % }", ""),
    ("load", "load fan { 24 W; works on 10.5 V to 15 V; for 6 h/day }", ""),
    ("ac load", "AC load kettle { 800 W; for 0.3 h/day }", ""),
    ("fuse", "fuse first { 40 A bolt-down; breaks 2 kA at 32 V dc; line on house.plus }", ""),
    ("breaker", "breaker second { 20 A; thermal; breaks 2 kA at 32 V dc; reset by hand }", ""),
    ("holder", "fuse holder clip { in-line; 30 A }", ""),
    ("switch", "switch isolator { 100 A; breaks 50 A at 14 V dc; contact resistance 0.3 mohm }", ""),
    ("relay", "relay horn_relay { 30 A; coil 12 V; normally open }", ""),
    ("selector", "selector choice { 50 A; position 1 joins first; position both joins first, second; position off joins nothing }", ""),
    ("disconnect", "low-voltage disconnect guard { 60 A; opens at 11.6 V; closes at 12.6 V }", ""),
    ("bus", "bus plusbar { 150 A }", "One node: its name stands for its terminal."),
    ("fuse block", "fuse block ways { 6 ways; 100 A total; 30 A each }", ""),
    ("shunt", "shunt counter { 50 mV at 200 A }", ""),
    ("meter", "meter monitor { takes 1 mA }", ""),
    ("diode", "diode one_way { blocking; drops 0.5 V; 30 A }", ""),
    ("resistor", "resistor soft_start { 10 ohm; 50 W; precharge }", ""),
    ("wire", "wire tail from house.plus to hub, 8 AWG, 0.4 m, red", ""),
    ("cable", "cable cord { 14 AWG; 6 m; core out from house.plus to lamp.plus, red; core back from lamp.minus to house.minus, black }", ""),
    ("core", "", "A line of its cable."),
    ("jumper", "", "A jumper is a line inside a connector half: `jumper loop from 3 to 4 { 16 AWG; 40 mm }`."),
    ("connector", "connector socket with plug { 15 A; pin 1 plus; pin 2 minus; plug { cap } }", "Its terminals are its pins."),
    ("pin", "", "A line of its connector."),
    ("interlock", "interlock loop { loop lamp_socket.3, lamp_socket.4; stops pump_relay }", ""),
    ("case", "case shell { polycarbonate; inside 400 x 300 x 200 mm; floats }", "One node: its name stands for its terminal."),
    ("cover", "cover lid { needs a tool }", ""),
    ("panel", "panel front { plastic; 3 mm thick; hole a { 22 mm; centre 40 x 30 mm; for lamp_socket } }", ""),
    ("hole", "hole gland_hole { in box; 20 mm; gland 6 mm to 10 mm }", ""),
    ("vent", "", "A line of its case."),
    ("label", 'label warning { "Disconnect before opening"; at box }', ""),
    ("sheet", 'sheet wiring { "wiring.pdf"; kept by hand }', ""),
    ("procedure", "procedure { connect in order house, lamp_plug; store for 6 months; store from 60 % }", "Once in a build."),
    ("commissioning", 'commissioning { step 1 { "Check the pole."; between house.plus and house.minus; expect 12.8 V to 13.6 V } }', "Once in a build."),
    ("step", "", "A line of the commissioning."),
    ("history", 'history { version 4 { 2026-03-01; by "Kim"; "Longer pump cord."; because "the well moved" } }', "Once in a build."),
    ("procedure:Version", "", "A line of the history."),
    ("state", 'state "evening" { lamp on for 4 h/day; house at 60 %; sun 0 % }', ""),
    ("require", "require run lamp for 6 h", "One promise a statement."),
    ("waive", 'waive far-fuse on feed up to 0.3 m because "moves at the next refit" until 2027-06-30', "Its name is the rule, or rule.grade."),
    ("place", "place extra of spare_pack { in box }", "One assembly, placed; see [assemblies and rows](#assemblies-and-rows)."),
    ("row", "row packs of 3 spare_pack { starts at lamp_socket; joins inlet to outlet; 0 to 3 joined }", "Alike assemblies, one behind the other; see [assemblies and rows](#assemblies-and-rows)."),
)  # fmt: skip
# Kinds that share a section, since nothing is said of one that is not said of the others.
TOGETHER = {
    "mains charger": ("dc-dc charger", "alternator", "wind turbine", "hydro turbine", "charger"),
    "inverter": ("inverter-charger",), "load": ("ac load",), "fuse": ("breaker",), "wire": ("jumper",),
}  # fmt: skip
BLOCKS = {"bms": "battery:Bms", "outlet": "outlet:Outlet"}  # blocks of a thing that have a table of their own
PREAMBLE = "box"  # what the examples of kinds are completed by, see tests/grammar/test_manual.py


def _class(name: str) -> type[Thing]:
    from importlib import import_module

    module, _, attribute = name.partition(":")
    found: type[Thing] = getattr(import_module(f"ohmwright_grammar.kinds.{module}"), attribute)
    return found


def _kind(words: str) -> type[Thing]:
    return _class(words) if ":" in words else kind_of(words)


def shared() -> list[str]:
    """Return the tables of what several kinds have in common."""
    lines: list[str] = []
    for title, words, classes in SHARED:
        data = [datum for name in classes for datum in own_data(_class(name))]
        lines += [f"### {title}", "", *([words, ""] if words else []), *table(_class(classes[0]), data), ""]
    return lines


def kinds() -> list[str]:
    """Return a section for every kind: the words that declare it, its terminals, its table."""
    in_shared = {datum for _, _, classes in SHARED for name in classes for datum in own_data(_class(name))}
    lines: list[str] = []
    listed: set[Datum[Any]] = set(in_shared)
    for words, sample, explained in ORDER:
        if any(words in others for others in TOGETHER.values()):
            continue
        kind = _kind(words)
        with_it = [other for other in ORDER if other[0] in TOGETHER.get(words, ())]
        lines += [f"### {', '.join([kind.KIND, *(_kind(other).KIND for other, _, _ in with_it)])}", ""]
        sample = "\n".join(text for text in (sample, *(more for _, more, _ in with_it)) if text)
        explained = " ".join(text for text in (explained, *(more for _, _, more in with_it)) if text)
        heads = [other for other in KINDS if kind_of(other) is kind and other != kind.KIND.lower()]
        facts = [explained] if explained else []
        if heads:
            facts.append(f"Also: {', '.join(f'`{head}`' for head in heads)}.")
        facts += list(_terminals(kind, tuple(_kind(other) for other, _, _ in with_it)))
        beside = [title for title, _, classes in SHARED if any(issubclass(kind, _class(name)) for name in classes)]
        base = next((other for other, _, _ in ORDER if _kind(other) in kind.__mro__[1:]), None)
        if base is not None and set(own_data(_kind(base))) - in_shared:
            beside.append(f"what is said of {'an' if _kind(base).KIND[0] in 'aeiou' else 'a'} {_kind(base).KIND}")
        if beside:
            facts.append(
                f"Beside the table: {'; '.join(title if title[:2].isupper() else title[0].lower() + title[1:] for title in beside)}."
            )
        if facts:
            lines += [" ".join(facts), ""]
        if sample:
            lines += [f"<!-- with {PREAMBLE} -->", "", "```rig", tidied(sample, "").text.strip(), "```", ""]
        data = [datum for datum in data_of(kind).values() if datum not in listed]
        listed.update(data)
        if data:
            lines += [*table(kind, data), ""]
        for block, name in BLOCKS.items():
            inner = _class(name)
            if any(datum.kind is not None and datum.kind() is inner for datum in data):
                lines += [
                    f"In its block `{block} {{ … }}`:",
                    "",
                    *table(inner, [d for d in data_of(inner).values() if d not in listed]),
                    "",
                ]
                listed.update(data_of(inner).values())
    missing = {kind_of(words).__name__ for words in (*KINDS, *INNER)} - {_kind(words).__name__ for words, _, _ in ORDER}
    missing -= {"Bms", "Conductor", "Part", "Terminal"}
    if missing:
        raise SystemExit(f"the manual has no section for {sorted(missing)}: add them to ORDER")
    return lines


def _terminals(kind: type[Thing], others: tuple[type[Thing], ...] = ()) -> Iterator[str]:
    if not issubclass(kind, Part) or not kind.TERMINALS:
        return
    if kind.KIND == "fuse block":
        yield "Terminals: `feed` and the numbers of its ways."
        return
    yield f"Terminals: {', '.join(f'`{name}`' for name in kind.TERMINALS)}."
    for names in dict.fromkeys(other.TERMINALS for other in others if issubclass(other, Part)):
        if names == kind.TERMINALS:
            continue
        alike = [other.KIND for other in others if issubclass(other, Part) and names == other.TERMINALS]
        yield f"Of {', '.join(alike)}: {', '.join(f'`{name}`' for name in names)}."
    signs = [f"`{alias}`" for alias in kind.ALIASES]
    if signs:
        yield f"Read as well: {', '.join(signs)}."


def plurals() -> list[str]:
    """Return which kinds each plural covers: those that cover more than their own kind in a table, the others in a list."""
    every = [_kind(words) for words, _, _ in ORDER] + [kind_of(words) for words in INNER]
    lines = ["| after `all`, or before a group | covers |", "|---|---|"]
    alone: list[str] = []
    by_kind: dict[type[Thing], list[str]] = {}
    for plural, words in PLURALS.items():
        by_kind.setdefault(kind_of(words), []).append(plural)
    for kind, words in sorted(by_kind.items(), key=lambda item: item[1][0]):
        covered = Conductor if kind is kind_of("wire") else kind
        names = list(
            dict.fromkeys(
                other.KIND for other in every if issubclass(other, covered) and other.KIND not in ("conductor", "part")
            )
        )
        if kind is kind_of("part"):
            names = ["everything with terminals, and cases"]
        if len(words) == 1 and names == [kind.KIND] and words[0] != "pins":
            alone.append(words[0])
        else:
            lines.append(f"| {', '.join(f'`{word}`' for word in words)} | {', '.join(names)} |")
    return [*lines, "", f"Each of these covers its own kind: {', '.join(f'`{word}`' for word in alone)}."]


def units() -> list[str]:
    """Return the units of every quantity."""
    lines = ["| quantity | units |", "|---|---|"]
    for dimension in DIMENSIONS.values():
        plain = [symbol for symbol in dimension.symbols if symbol.isascii()]
        lines.append(
            f"| {dimension.words.removeprefix('a ').removeprefix('an ')} | {', '.join(f'`{symbol}`' for symbol in plain)} |"
        )
    return [*lines, "| size of a conductor | `AWG` (also `1/0 AWG` to `4/0 AWG`), `mm2` |"]


def rig() -> list[str]:
    """Return the table of statements about the build as a whole."""
    return table(Rig, own_data(Rig))


def words() -> list[str]:
    """Return the reserved words and those that begin a statement."""
    heads = [*sorted(KINDS, key=str.lower), *STATEMENTS]
    return [
        f"Reserved, never a name: {', '.join(f'`{word}`' for word in sorted(RESERVED))}.",
        "",
        f"Words that begin a statement: {', '.join(f'`{word}`' for word in heads)}; and every plural of the table above, where a block follows.",
    ]


SECTIONS = {"shared": shared, "kinds": kinds, "plurals": plurals, "units": units, "rig": rig, "words": words}


def made(text: str) -> str:
    """Return the manual's text with its tables made anew."""
    for name, make in SECTIONS.items():
        pattern = re.compile(rf"(<!-- made: {name} -->\n).*?(<!-- end -->)", re.DOTALL)
        if not pattern.search(text):
            raise SystemExit(f"the manual has no place for {name}: write <!-- made: {name} --> and <!-- end -->")
        body = "\n".join(make()).strip()
        text = pattern.sub(lambda found, body=body: f"{found.group(1)}\n{body}\n\n{found.group(2)}", text)  # type: ignore[misc]
    return text


def main() -> None:
    """Write the manual."""
    MANUAL.write_text(made(MANUAL.read_text(encoding="utf-8")), encoding="utf-8")


if __name__ == "__main__":
    main()
