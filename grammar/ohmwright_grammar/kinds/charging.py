"""What everything that charges a battery may say, and the chargers themselves."""

from __future__ import annotations

from typing import ClassVar

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.kinds.battery import CHEMISTRIES
from ohmwright_grammar.kinds.part import POLES, Part
from ohmwright_grammar.kinds.values import VoltageList, choices
from ohmwright_grammar.records import record

__all__ = ["Alternator", "Charger", "Charging", "DcCharger", "HydroTurbine", "MainsCharger", "MainsPort", "WindTurbine"]

_OUT = {
    "B+": "plus", "B-": "minus", "out+": "plus", "out-": "minus", "out_plus": "plus", "out_minus": "minus", "output_plus": "plus",
    "output_minus": "minus", "chassis": "case", **POLES,
}  # fmt: skip
_DC_IN = {"in+": "in_plus", "in-": "in_minus", **_OUT}
_MAINS = {"line": "L", "live": "L", "hot": "L", "neutral": "N", "earth": "PE", "ground": "PE"}


class Charging(Part):
    """What a charge controller, a charger and an inverter that also charges have in common."""

    __slots__ = ()

    rated_current = say.current(
        "<current>", "rated <current>", "rated current <current>", "gives at most <current>", "gives up to <current>",
        "gives <current>", "output current <current>", "output [at] [most] <current>", "charge current <current>",
        "charges at|with [at] [most] <current>", "charges at up to <current>",
        doc="highest current out to the battery", above=0,
    )  # fmt: skip
    battery_voltages = say.record(
        VoltageList,
        "for <voltages:voltages> batteries|battery", "for <voltages:voltages> systems|system|banks|bank",
        "battery voltages|voltage <voltages:voltages>", "system voltages|voltage <voltages:voltages>",
        "works on|with <voltages:voltages> [batteries|battery]",
        doc="nominal battery voltages that it has steps for",
    )  # fmt: skip
    chemistries = choices(
        "charges <choice>", "profiles|profile <choice>", "for <choice>", "for <choice> batteries|battery",
        "has steps for <choice>",
        "and <choice>",
        "<choice> profiles|profile",
        doc="chemistries that it has steps for", of=CHEMISTRIES,
    )  # fmt: skip
    absorption_voltage = say.voltage(
        "absorption <voltage>", "absorption at <voltage>", "absorption voltage <voltage>", "absorbs at <voltage>",
        "charges to <voltage>", "set to <voltage>", "boost <voltage>",
        "bulk <voltage>", "charge to <voltage>",
        doc="set-point of absorption", above=0,
    )  # fmt: skip
    float_voltage = say.voltage(
        "float <voltage>",
        "float at <voltage>",
        "float voltage <voltage>",
        "floats at <voltage>",
        doc="set-point of float",
        above=0,
        denied=("float off", "does not float"),
    )
    equalise_voltage = say.voltage(
        "equalise <voltage>", "equalize <voltage>", "equalise|equalize at <voltage>", "equalising|equalizing <voltage>",
        "equalise|equalize voltage <voltage>", "equalisation|equalization <voltage>",
        doc="set-point of equalising, or none", above=0,
        denied=(
            "equalise|equalize off", "equalising|equalizing off", "equalisation|equalization off", "never equalises|equalizes",
            "does not equalise|equalize",
        ),
    )  # fmt: skip
    absorption_time = say.time(
        "absorption for <time>", "absorption <time>", "absorption time <time>", "absorbs for <time>",
        "for <time>",
        doc="how long absorption lasts", above=0,
    )  # fmt: skip
    float_stage = say.flag("float stage", "has a float stage", "goes to float", doc="has a float stage")
    timer = say.flag("timer", "a timer", "ends by timer", "stops by timer", doc="a timer ends the charge")
    temperature_compensation = say.voltage_per_kelvin(
        "temperature compensation <voltage_per_kelvin>", "compensation <voltage_per_kelvin>",
        "compensates <voltage_per_kelvin>",
        denied=("temperature compensation off", "compensation off"),
        doc="how the set-points follow the battery's temperature, for the whole battery; or none",
    )  # fmt: skip
    battery_temperature_sensor = say.flag(
        "battery temperature sensor",
        "temperature sensor",
        "a battery temperature sensor",
        "sensor",
        "a temperature sensor",
        doc="has a sensor on the battery",
    )
    cold_charge_cut = say.temperature(
        "low-temperature charge cut <temperature>", "low-temperature charge cut below|at <temperature>",
        "low-temperature cut [below|at] <temperature>", "blocks charge below <temperature>", "no charge below <temperature>",
        "charge blocked below <temperature>", "cold cut [below|at] <temperature>",
        "no charging below <temperature>", "low-temperature cut-off [below|at] <temperature>",
        doc="battery temperature below which it does not charge",
    )  # fmt: skip
    sensor_on = say.names("sensor on <names>", "temperature sensor on <names>", doc="packs that its temperature sensor is on")
    own_drain = say.current(
        "own drain <current>", "drain <current>", "drains <current>", "standby <current>", "own consumption <current>",
        "own current <current>", "self-consumption <current>", "idle <current>", "idles at <current>",
        doc="current it takes for itself while fed",
    )  # fmt: skip
    efficiency = say.share("efficiency <share>", "<share> efficient", "<share> efficiency", doc="output power over input power")


class MainsPort(Part):
    """What a part with a port for mains may say of it."""

    __slots__ = ()

    isolated_from_mains = say.flag(
        "mains port isolated", "mains port isolated from the DC side", "isolated mains port", "isolated from the mains",
        "isolated",
        doc="its mains port is isolated from the DC side",
    )  # fmt: skip
    inlet_rating = say.current(
        "mains inlet <current>",
        "inlet <current>",
        "inlet rated <current>",
        "mains inlet rated <current>",
        doc="rating of its mains inlet",
        above=0,
    )
    inlet_protection = say.current(
        "mains breaker <current>", "mains fuse <current>", "inlet breaker <current>", "inlet fuse <current>",
        "inlet behind a|an <current> breaker|fuse",
        doc="breaker or fuse of its mains inlet", above=0,
    )  # fmt: skip
    earth_pin_joined_to = say.names(
        "earth pin joined to <names>",
        "earth pin to <names>",
        "earth joined to <names>",
        doc="what the earth pin of its inlet is joined to",
    )
    metal_case = say.flag("metal case", "case of metal", "case is metal", doc="its case is metal")
    drain_unplugged = say.current(
        "drain when unplugged <current>", "drain unplugged <current>", "unplugged drain <current>",
        "drains <current> unplugged",
        "drains <current> when unplugged",
        doc="current it takes from the battery when unplugged",
    )  # fmt: skip


@record
class Charger(Charging, MainsPort):
    """A charger of any kind; the words "mains charger", "DC-DC charger", "alternator" and so on fix its kind."""

    KIND = "charger"
    PLURAL = "chargers"
    TERMINALS: ClassVar[tuple[str, ...]] = ("plus", "minus", "L", "N", "PE", "case", "in_plus", "in_minus")
    ALIASES = {**_OUT, **_DC_IN, **_MAINS}
    AC_TERMINALS: ClassVar[tuple[str, ...]] = ("L", "N", "PE")
    FIXED_KIND: ClassVar[str] = ""  # the kind of charger that the statement's words already say

    kind = say.choice(
        "<choice>", "kind <choice>", "fed by <choice>", "driven by <choice>",
        doc="kind of charger",
        of={
            "mains": "mains", "from mains": "mains", "from the mains": "mains", "vehicle DC-DC": "DC-DC", "DC-DC": "DC-DC",
            "vehicle": "DC-DC", "alternator": "alternator", "wind": "wind", "wind turbine": "wind", "hydro": "hydro",
            "water": "hydro", "water turbine": "hydro",
        },
    )  # fmt: skip
    dump_load = say.flag(
        "dump load", "a dump load", "dump load or clamp", "clamp", "a clamp", doc="a dump load or a clamp takes surplus"
    )
    used_at = say.temperature(
        "used only at <temperature>", "used at <temperature>", "used only from <temperature>", "used indoors at <temperature>",
        doc="temperatures at which it is used",
    )  # fmt: skip
    input_window = say.voltage(
        "input <voltage>", "input voltage <voltage>", "fed with <voltage>", doc="input voltage of a DC-DC charger", above=0
    )

    @property
    def kind_of_charger(self) -> str | None:
        """Return mains, DC-DC, alternator, wind or hydro; None where neither the statement nor a fact says it."""
        return self.FIXED_KIND or self.kind


class MainsCharger(Charger):
    """A charger fed by mains."""

    __slots__ = ()
    KIND = "mains charger"
    PLURAL = "mains chargers"
    TERMINALS = ("plus", "minus", "L", "N", "PE", "case")
    FIXED_KIND = "mains"
    ALIASES = {**_OUT, **_MAINS}


class DcCharger(Charger):
    """A charger fed by another battery, for instance a vehicle's."""

    __slots__ = ()
    KIND = "DC-DC charger"
    PLURAL = "DC-DC chargers"
    TERMINALS = ("plus", "minus", "in_plus", "in_minus", "case")
    AC_TERMINALS = ()
    FIXED_KIND = "DC-DC"
    ALIASES = _DC_IN


class Alternator(Charger):
    """A vehicle's or engine's alternator."""

    __slots__ = ()
    KIND = "alternator"
    PLURAL = "alternators"
    TERMINALS = ("plus", "minus", "case")
    AC_TERMINALS = ()
    FIXED_KIND = "alternator"
    ALIASES = _OUT


class WindTurbine(Charger):
    """A wind turbine with its rectifier."""

    __slots__ = ()
    KIND = "wind turbine"
    PLURAL = "wind turbines"
    TERMINALS = ("plus", "minus", "case")
    AC_TERMINALS = ()
    FIXED_KIND = "wind"
    ALIASES = _OUT


class HydroTurbine(Charger):
    """A water turbine with its rectifier."""

    __slots__ = ()
    KIND = "hydro turbine"
    PLURAL = "hydro turbines"
    TERMINALS = ("plus", "minus", "case")
    AC_TERMINALS = ()
    FIXED_KIND = "hydro"
    ALIASES = _OUT
