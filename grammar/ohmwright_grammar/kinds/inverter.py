"""Inverters, inverters that also charge, and DC-DC converters."""

from __future__ import annotations

from typing import ClassVar

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.kinds.capacitors import InputCapacitors
from ohmwright_grammar.kinds.charging import Charging, MainsPort
from ohmwright_grammar.kinds.outlet import Outlet, OutletData
from ohmwright_grammar.kinds.part import POLES, Part
from ohmwright_grammar.kinds.values import PowerFor, hertz

__all__ = ["Converter", "Inverter", "InverterCharger"]


class Inverter(MainsPort, OutletData, InputCapacitors):
    """An inverter; L, N and PE are its outlet, shore_L, shore_N and shore_PE its mains port where it has one."""

    __slots__ = ()
    KIND = "inverter"
    PLURAL = "inverters"
    TERMINALS = ("plus", "minus", "case", "L", "N", "PE", "enable", "enable_return", "shore_L", "shore_N", "shore_PE")
    ALIASES = {
        "B+": "plus", "B-": "minus", "live": "L", "line": "L", "hot": "L", "neutral": "N", "earth": "PE", "ground": "PE",
        "chassis": "case", "remote": "enable", "remote_return": "enable_return", **POLES,
    }  # fmt: skip
    AC_TERMINALS = ("L", "N", "PE", "shore_L", "shore_N", "shore_PE")
    ALWAYS_CHARGES: ClassVar[bool] = False  # the statement's own words say that current may reverse

    rated_power = say.power(
        "<power>",
        "rated <power>",
        "rated power <power>",
        "continuous <power>",
        "<power> continuous",
        doc="rated power",
        above=0,
    )
    peak_power = say.record(
        PowerFor, "peak <power:power> for <time:time>", "peak <power:power>", "surge <power:power> [for <time:time>]",
        "peak power <power:power> [for <time:time>]",
        doc="peak power, and for how long",
    )  # fmt: skip
    efficiency = say.share(
        "efficiency <share>",
        "<share> efficient",
        "<share> efficiency",
        doc="output power over input power, without the draw with no load",
    )
    no_load_draw = say.power(
        "draws <power> with no load", "idle <power>", "no-load draw <power>", "draw with no load <power>", "no load <power>",
        "idle draw <power>", "draws <power> idle", "idles at <power>",
        "consumes <power> idle", "consumes <power> with no load", "idle consumption <power>",
        doc="power that it draws with no load",
    )  # fmt: skip
    cut_off = say.voltage(
        "cut-off <voltage>", "cuts off at|below <voltage>", "cut-off at|below <voltage>", "low cut-off <voltage>",
        "shuts down at|below <voltage>", "cutoff <voltage>",
        "low-voltage cut-off [at|below] <voltage>", "shuts off at|below <voltage>", "low voltage cut-off [at|below] <voltage>",
        doc="input voltage below which it stops", above=0,
    )  # fmt: skip
    restart_voltage = say.voltage(
        "restarts at <voltage>", "restarts above <voltage>", "restart [at|above] <voltage>", "restart voltage <voltage>",
        doc="input voltage above which it starts again", above=0,
    )  # fmt: skip
    bleed_resistor = say.resistance(
        "bleed resistor <resistance>",
        "bleed <resistance>",
        "bleeds through <resistance>",
        doc="resistor that discharges its input",
        above=0,
    )
    nominal_voltage = say.voltage(
        "input <voltage>",
        "<voltage> input",
        "<voltage> DC",
        "nominal <voltage>",
        "input voltage <voltage>",
        doc="nominal or permitted input voltage",
        above=0,
    )
    ac_voltage = say.voltage(
        "<voltage> AC",
        "AC <voltage>",
        "output <voltage> [AC]",
        "output voltage <voltage>",
        "gives <voltage> [AC]",
        "AC voltage <voltage>",
        doc="AC voltage",
        above=0,
    )
    frequency = hertz("<frequency>", "frequency <frequency>", doc="frequency of the output")
    waveform = say.choice(
        "<choice>", "waveform <choice>",
        doc="waveform of the output",
        of={
            "sine": "sine", "sine wave": "sine", "pure sine": "sine", "pure sine wave": "sine", "true sine": "sine",
            "modified sine": "modified", "modified sine wave": "modified", "modified wave": "modified", "modified": "modified",
            "square wave": "modified",
        },
    )  # fmt: skip
    sleeps = say.flag(
        "sleeps with no load",
        "sleeps by itself with no load",
        "sleeps by itself",
        "sleeps",
        "sleeps without load",
        "sleep mode",
        "auto-sleep",
        "sleeps when idle",
        doc="sleeps by itself with no load",
    )
    also_charges = say.flag(
        "also charges",
        "charges as well",
        "current may reverse",
        "inverter-charger",
        doc="it also charges: its current may reverse",
    )
    neutral_bond = say.choice(
        "neutral bonded <choice>", "neutral bonded to earth <choice>", "neutral bond <choice>",
        "neutral bonded inside <choice>",
        "neutral <choice>", "<choice> neutral", "neutral is <choice>",
        doc="whether its neutral is bonded to earth inside",
        of={
            "always": "always", "bonded": "always", "always bonded": "always", "only when alone": "only when alone",
            "bonded when alone": "only when alone",
            "when alone": "only when alone", "only when inverting": "only when alone", "only without shore": "only when alone",
            "bonded only when alone": "only when alone", "never": "never", "never bonded": "never", "not bonded": "never",
            "unbonded": "never",
        },
    )  # fmt: skip
    output_isolated = say.flag(
        "output isolated from the frame", "output isolated from frame", "output isolated", "isolated output", "two-wire output",
        doc="its output is isolated from the frame, two wires",
    )  # fmt: skip
    ac_system = say.choice(
        "<choice>", "AC system <choice>",
        doc="the AC system that it makes",
        of={
            "earthed neutral": "earthed neutral", "grounded neutral": "earthed neutral", "floating": "floating",
            "floating output": "floating", "output floats": "floating", "floating neutral": "floating",
            "neutral floating": "floating", "neutral floats": "floating", "isolated neutral": "floating", "floats": "floating",
        },
    )  # fmt: skip
    feeds = say.choice(
        "feeds <choice>", "for <choice>",
        doc="what its output feeds",
        of={
            "plug-in loads": "plug-in loads", "plug-in loads only": "plug-in loads", "plugged-in loads": "plug-in loads",
            "house wiring": "house wiring", "fixed wiring": "house wiring",
        },
    )  # fmt: skip
    shore_neutral_bonded = say.flag(
        "shore neutral bonded at its source", "shore neutral bonded", "shore neutral bonded at the source",
        doc="the neutral of the shore supply is bonded at its source",
    )  # fmt: skip
    transfer_breaks_first = say.flag(
        "transfer breaks before it makes", "transfer breaks before making", "break-before-make transfer",
        doc="its transfer switch breaks before it makes",
    )  # fmt: skip
    outlet = say.block(lambda: Outlet, "outlet", doc="its AC outlet")
    isolated_from_mains = say.flag(  # "isolated" alone might as well mean its output
        "mains port isolated", "mains port isolated from the DC side", "isolated mains port", "isolated from the mains",
        doc="its mains port is isolated from the DC side",
    )  # fmt: skip

    @property
    def outlet_is_guarded(self) -> bool | None:
        """Tell whether a residual-current device guards its outlet; None where neither outlet nor inverter says it."""
        own = self.residual_current_device
        return own if own is not None or self.outlet is None else self.outlet.residual_current_device

    @property
    def charges(self) -> bool:
        """Tell whether it is known that current may flow back into the battery."""
        return self.ALWAYS_CHARGES or self.also_charges is True


class InverterCharger(Inverter, Charging):
    """An inverter that also charges the battery from shore supply."""

    __slots__ = ()
    KIND = "inverter-charger"
    PLURAL = "inverter-chargers"
    ALWAYS_CHARGES = True


class Converter(Part, InputCapacitors):
    """A DC-DC converter that feeds loads."""

    __slots__ = ()
    KIND = "converter"
    PLURAL = "converters"
    MAKES = "output"
    TERMINALS = ("in_plus", "in_minus", "out_plus", "out_minus")
    ALIASES = {
        "in+": "in_plus", "in-": "in_minus", "out+": "out_plus", "out-": "out_minus", "input_plus": "in_plus",
        "input_minus": "in_minus", "output_plus": "out_plus", "output_minus": "out_minus",
    }  # fmt: skip

    output_voltage = say.voltage(
        "output <voltage>",
        "<voltage>",
        "<voltage> output",
        "<voltage> out",
        "output voltage <voltage>",
        "gives <voltage>",
        "makes <voltage>",
        doc="output voltage",
        above=0,
    )
    output_current_limit = say.current(
        "output at most <current>", "<current>", "output <current>", "output current <current>", "gives at most <current>",
        "gives <current>", "current limit <current>", "limited to <current>", "<current> output",
        "at <current>", "at most <current>",
        doc="highest output current", above=0,
    )  # fmt: skip
    input_window = say.voltage(
        "input <voltage>",
        "<voltage> input",
        "<voltage> in",
        "input voltage <voltage>",
        "works on|from <voltage>",
        "takes <voltage>",
        doc="input voltages at which it works",
        above=0,
    )
    cut_off = say.voltage(
        "cut-off <voltage>",
        "cuts off at|below <voltage>",
        "cut-off at|below <voltage>",
        "stops below <voltage>",
        "cutoff <voltage>",
        doc="input voltage below which it stops",
        above=0,
    )
    efficiency = say.share("efficiency <share>", "<share> efficient", "<share> efficiency", doc="output power over input power")
    no_load_draw = say.current(
        "draws <current> with no load", "idle <current>", "no-load draw <current>", "draw with no load <current>",
        "no load <current>",
        "idle draw <current>", "draws <current> idle", "idles at <current>",
        doc="input current with no load",
    )  # fmt: skip
    isolated = say.flag(
        "isolated",
        "input and output isolated",
        "output isolated from the input",
        "isolated output",
        "output floats",
        "floats",
        doc="input and output are isolated from each other; without it their minus is one",
    )
