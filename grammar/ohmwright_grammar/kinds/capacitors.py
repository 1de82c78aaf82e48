"""Capacitors at the direct-current input of a part, and how they are charged."""

from __future__ import annotations

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.things import Thing

__all__ = ["InputCapacitors"]


class InputCapacitors(Thing):
    """What may be said of the capacitors at the battery side of an inverter, a converter, a controller or a load."""

    __slots__ = ()

    input_capacitance = say.capacitance(
        "input capacitance <capacitance>",
        "<capacitance>",
        "input capacitors|capacitor <capacitance>",
        "capacitance <capacitance>",
        doc="input capacitance",
        above=0,
    )
    input_capacitor_resistance = say.resistance(
        "input capacitance resistance <resistance>", "capacitor resistance <resistance>", "input capacitance <resistance>",
        "input capacitors|capacitor <resistance>",
        doc="resistance of the input capacitors",
    )  # fmt: skip
    precharge_resistor = say.resistance(
        "precharge <resistance>",
        "precharge resistor <resistance>",
        "precharge through <resistance>",
        "precharged through <resistance>",
        doc="resistor through which its input is charged first",
        above=0,
    )
    precharge_time = say.time(
        "precharge for <time>",
        "precharge <time>",
        "precharge time <time>",
        "precharged for <time>",
        doc="how long the precharge lasts",
        above=0,
    )
