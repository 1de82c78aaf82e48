"""Solar charge controllers."""

from __future__ import annotations

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.kinds.capacitors import InputCapacitors
from ohmwright_grammar.kinds.charging import Charging
from ohmwright_grammar.kinds.values import VoltageList

__all__ = ["Controller"]


class Controller(Charging, InputCapacitors):
    """A charge controller between an array and a battery."""

    __slots__ = ()
    KIND = "controller"
    PLURAL = "controllers"
    TERMINALS = ("pv_plus", "pv_minus", "batt_plus", "batt_minus", "load_plus", "load_minus", "sense_plus", "sense_minus")
    ALIASES = {
        "PV+": "pv_plus", "PV-": "pv_minus", "B+": "batt_plus", "B-": "batt_minus", "BAT+": "batt_plus", "BAT-": "batt_minus",
        "battery_plus": "batt_plus", "battery_minus": "batt_minus", "bat_plus": "batt_plus", "bat_minus": "batt_minus",
        "solar_plus": "pv_plus", "solar_minus": "pv_minus", "L+": "load_plus", "L-": "load_minus", "load+": "load_plus",
        "load-": "load_minus", "sense+": "sense_plus", "sense-": "sense_minus",
    }  # fmt: skip

    battery_voltages = say.record(
        VoltageList,
        "for <voltages:voltages> batteries|battery", "<voltages:voltages>", "for <voltages:voltages>",
        "for <voltages:voltages> systems|system|banks|bank", "battery voltages|voltage <voltages:voltages>",
        "system voltages|voltage <voltages:voltages>", "works on|with <voltages:voltages> [batteries|battery]",
        "<voltages:voltages> systems|system|batteries|battery",
        doc="nominal battery voltages that it has steps for",
    )  # fmt: skip
    kind = say.choice(
        "<choice>", "kind <choice>",
        doc="kind of controller",
        of={
            "MPPT": "MPPT", "peak-tracking": "MPPT", "maximum power tracking": "MPPT", "PWM": "PWM", "series-switch": "PWM",
            "series switch": "PWM", "switching": "PWM",
        },
    )  # fmt: skip
    pv_voltage_limit = say.voltage(
        "PV at most <voltage>", "PV voltage at most <voltage>", "PV voltage <voltage>", "PV input [at] [most] <voltage>",
        "PV up to <voltage>", "PV input up to <voltage>", "PV limit <voltage>", "PV <voltage>", "highest PV voltage <voltage>",
        "max|maximum PV voltage <voltage>", "PV voltage limit <voltage>",
        doc="highest voltage that its PV input bears", above=0,
    )  # fmt: skip
    pv_current_limit = say.current(
        "PV at most <current>", "PV short-circuit current at most <current>", "PV short-circuit current <current>",
        "PV current at most <current>", "PV current <current>", "PV input [at] [most] <current>", "PV up to <current>",
        "PV limit <current>", "PV <current>",
        "PV short circuit current [at] [most] <current>", "max|maximum PV current <current>",
        doc="highest short-circuit current of the array", above=0,
    )  # fmt: skip
    pv_power_limit = say.power(
        "PV at most <power>", "PV power at most <power>", "PV power <power>", "PV input [at] [most] <power>",
        "PV up to <power>",
        "PV limit <power>", "PV <power>", "array at most <power>",
        doc="highest power of the array, where the maker gives it as such", above=0,
    )  # fmt: skip
    rated_power = say.power("<power>", "rated <power>", "rated power <power>", doc="rated power", above=0)
    array_power_factor = say.number(
        "array at most <number> times [its] [the] [rated] [power]", "array up to <number> times [its] [the] [rated] [power]",
        "array may have <number> times [its] [the] [rated] [power]",
        doc="how many times its rated power the array may have", above=0,
    )  # fmt: skip
    array_power_factor_swapped = say.number(
        "array with swapped leads at most <number> times [its] [the] [rated] [power]",
        "with leads swapped at most <number> times",
        "leads swapped at most <number> times [its] [the] [rated] [power]", "swapped leads at most <number> times",
        doc="the same with the array's leads swapped", above=0,
    )  # fmt: skip
    headroom = say.voltage(
        "headroom <voltage>", "headroom <voltage> over the battery", "needs <voltage> over the battery",
        "needs <voltage> above the battery",
        "needs <voltage> headroom",
        doc="how far the array's voltage must lie over the battery's", above=0,
    )  # fmt: skip
    bears_no_battery = say.flag(
        "bears PV with no battery", "bears PV without battery", "bears PV without a battery", "bears no battery",
        "survives PV without a battery", "works without a battery", "PV with no battery allowed",
        "tolerates no battery", "tolerates PV without a battery",
        denied=("needs a|its battery", "needs a|its battery before PV"),
        doc="bears PV while no battery is joined",
    )  # fmt: skip
    lets_current_back = say.flag(
        "current back into the array", "lets current back into the array", "lets current back", "current back to the array",
        "backfeed into the array", "backfeed", "reverse current into the array",
        "reverse current", "reverse current to the array",
        denied=(
            "blocks current back into|to the array", "blocks current back", "blocks reverse current", "blocks backfeed",
            "lets no current back into the array", "lets no current back",
        ),
        doc="lets current back into the array",
    )  # fmt: skip
    load_output_current = say.current(
        "load output at most <current>", "load output <current>", "load output current <current>",
        "load output rated <current>",
        "load terminals [at] [most] <current>",
        doc="highest current of the load output", above=0,
    )  # fmt: skip
    load_output_peak = say.current(
        "load output peak <current>", "load output peaks at <current>", "load output surge <current>",
        doc="highest peak current of the load output", above=0,
    )  # fmt: skip
    load_cut_off = say.voltage(
        "load output opens at <voltage>", "load output opens below <voltage>", "load output off at|below <voltage>",
        "load output cut-off <voltage>", "load cut-off <voltage>", "load output cuts off at|below <voltage>",
        "load disconnect [at|below] <voltage>",
        "load off at|below <voltage>",
        doc="voltage below which the load output opens", above=0,
    )  # fmt: skip
    load_reconnect = say.voltage(
        "load output closes at <voltage>", "load output closes above <voltage>", "load output on at|above <voltage>",
        "load output reconnects at|above <voltage>", "load reconnect [at|above] <voltage>",
        "load on at|above <voltage>",
        doc="voltage above which the load output closes again", above=0,
    )  # fmt: skip
    common_pole = say.choice(
        "common <choice>",
        "common pole <choice>",
        "<choice> common",
        doc="the pole that its inputs and outputs have in common",
        of={"negative": "negative", "minus": "negative", "positive": "positive", "plus": "positive"},
    )
