"""The kinds of things that a build may hold, one file for each family.

A kind is a class with its data. To add one, write its class, and name it in `KINDS` below (its module is read only when a file
uses the kind). A kind adds rows to `Thing` but no fields, so `__slots__ = ()` is enough: it is frozen and compared as Thing is,
and needs no decorator of its own, which would cost a quarter of a millisecond for each at every start.
"""

from __future__ import annotations

from functools import cache
from importlib import import_module

from ohmwright_grammar.things import Thing

__all__ = ["HEADS", "INNER", "KINDS", "PLURALS", "kind_of"]

# Words that begin a statement, in small letters, and the class of what it declares.
KINDS: dict[str, str] = {
    "ac load": "load:AcLoad",
    "alternator": "charging:Alternator",
    "array": "array:Array",
    "battery": "battery:Battery",
    "box": "enclosure:Enclosure",
    "breaker": "fuse:Breaker",
    "bus": "distribution:Bus",
    "busbar": "distribution:Bus",
    "cable": "cable:Cable",
    "case": "enclosure:Enclosure",
    "charge controller": "controller:Controller",
    "charger": "charging:Charger",
    "commissioning": "procedure:Commissioning",
    "connector": "connector:Half",
    "contactor": "switch:Relay",
    "controller": "controller:Controller",
    "converter": "inverter:Converter",
    "cord": "cable:Cable",
    "cover": "enclosure:Cover",
    "dc-dc charger": "charging:DcCharger",
    "dc-dc converter": "inverter:Converter",
    "diode": "distribution:Diode",
    "disconnect": "switch:Disconnect",
    "enclosure": "enclosure:Enclosure",
    "fuse": "fuse:Fuse",
    "fuse block": "distribution:FuseBlock",
    "fuse holder": "fuse:Holder",
    "history": "procedure:History",
    "holder": "fuse:Holder",
    "hole": "enclosure:Hole",
    "hydro turbine": "charging:HydroTurbine",
    "interlock": "interlock:Interlock",
    "inverter": "inverter:Inverter",
    "inverter-charger": "inverter:InverterCharger",
    "isolator": "switch:Switch",
    "label": "label:Label",
    "load": "load:Load",
    "low-voltage disconnect": "switch:Disconnect",
    "mains charger": "charging:MainsCharger",
    "meter": "distribution:Meter",
    "panel": "enclosure:Panel",
    "place": "assembly:Placement",
    "procedure": "procedure:Procedure",
    "pv array": "array:Array",
    "relay": "switch:Relay",
    "require": "requirement:Requirement",
    "resistor": "distribution:Resistor",
    "row": "assembly:Row",
    "selector": "switch:Selector",
    "sheet": "label:Sheet",
    "shunt": "distribution:Shunt",
    "site": "site:Site",
    "solar array": "array:Array",
    "solar panel": "array:Array",
    "state": "state:State",
    "switch": "switch:Switch",
    "voltmeter": "distribution:Meter",
    "waive": "waiver:Waiver",
    "wind turbine": "charging:WindTurbine",
    "wire": "conductor:Wire",
    "zone": "site:Zone",
}

# Kinds that stand inside others, or that gather several; they begin no statement but may follow "all".
INNER: dict[str, str] = {
    "bms": "battery:Bms",
    "conductor": "conductor:Conductor",
    "core": "cable:Core",
    "jumper": "connector:Jumper",
    "part": "part:Part",
    "pin": "connector:Pin",
    "step": "procedure:Step",
    "terminal": "part:Terminal",
    "vent": "enclosure:Vent",
}

# Words after "all", and of blocks that group; each with the words of its kind.
PLURALS: dict[str, str] = {
    "ac loads": "ac load",
    "alternators": "alternator",
    "arrays": "array",
    "batteries": "battery",
    "boxes": "case",
    "breakers": "breaker",
    "busbars": "bus",
    "buses": "bus",
    "cables": "cable",
    "cases": "case",
    "charge controllers": "controller",
    "chargers": "charger",
    "conductors": "conductor",
    "connectors": "connector",
    "contactors": "relay",
    "contacts": "pin",
    "controllers": "controller",
    "converters": "converter",
    "cords": "cable",
    "cores": "core",
    "covers": "cover",
    "dc-dc chargers": "dc-dc charger",
    "dc-dc converters": "converter",
    "diodes": "diode",
    "disconnects": "disconnect",
    "enclosures": "case",
    "fuse blocks": "fuse block",
    "fuse holders": "holder",
    "fuses": "fuse",
    "holders": "holder",
    "holes": "hole",
    "hydro turbines": "hydro turbine",
    "interlocks": "interlock",
    "inverter-chargers": "inverter-charger",
    "inverters": "inverter",
    "isolators": "switch",
    "jumpers": "jumper",
    "labels": "label",
    "loads": "load",
    "low-voltage disconnects": "disconnect",
    "mains chargers": "mains charger",
    "meters": "meter",
    "panels": "panel",
    "parts": "part",
    "pins": "pin",
    "places": "place",
    "pv arrays": "array",
    "relays": "relay",
    "requirements": "require",
    "resistors": "resistor",
    "rows": "row",
    "selectors": "selector",
    "sheets": "sheet",
    "shunts": "shunt",
    "solar arrays": "array",
    "solar panels": "array",
    "states": "state",
    "steps": "step",
    "switches": "switch",
    "terminals": "terminal",
    "vents": "vent",
    "voltmeters": "meter",
    "waivers": "waive",
    "wind turbines": "wind turbine",
    "wires": "wire",
    "zones": "zone",
}

HEADS: tuple[tuple[str, ...], ...] = tuple(sorted((tuple(words.split()) for words in KINDS), key=lambda words: -len(words)))


@cache
def kind_of(words: str) -> type[Thing]:
    """Return the class of a kind by the words of its statement; KeyError where there is none."""
    module, _, name = (KINDS.get(words) or INNER[words]).partition(":")
    found: type[Thing] = getattr(import_module(f"ohmwright_grammar.kinds.{module}"), name)
    return found
