"""Batteries and their management systems."""

from __future__ import annotations

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.kinds.part import POLES, Part
from ohmwright_grammar.kinds.values import CurrentFor, ShareAt, share_a_month
from ohmwright_grammar.quantities import Ampere, Coulomb, Quantity, Second, Share, Volt
from ohmwright_grammar.records import record
from ohmwright_grammar.things import Thing

__all__ = ["CHEMISTRIES", "LEAD_ACID", "LITHIUM", "Battery", "Bms", "Capacity", "CycleLife", "Gassing", "RestPoint"]

CHEMISTRIES: dict[str, str] = {
    "LFP": "LFP", "LiFePO4": "LFP", "lithium iron phosphate": "LFP", "other lithium": "other lithium",
    "lithium-ion": "other lithium", "lithium ion": "other lithium", "NMC": "other lithium", "flooded": "flooded",
    "flooded lead-acid": "flooded", "wet lead-acid": "flooded", "AGM": "AGM", "AGM lead-acid": "AGM",
    "sealed lead-acid": "AGM", "gel": "gel", "gel lead-acid": "gel",
}  # fmt: skip
LEAD_ACID: dict[str, str] = {"flooded": "vented", "AGM": "valve-regulated", "gel": "valve-regulated"}  # and how each is built
LITHIUM = frozenset({"LFP", "other lithium"})


@record
class Capacity:
    """A capacity, and the time over which it was measured (for lead-acid 20 h unless said)."""

    charge: Quantity[Coulomb]
    over: Quantity[Second] | None = None


@record
class RestPoint:
    """A voltage at rest at one charge level."""

    voltage: Quantity[Volt]
    level: Quantity[Share]


_FULLNESS = {"full": "full", "half full": "half full", "empty": "empty"}
_LEVELS = {"full": 1.0, "half full": 0.5, "empty": 0.0}


def _rest_point(voltage: Quantity[Volt], level: Quantity[Share] | None = None, how: str = "") -> RestPoint:
    if level is None:
        share = Share(_LEVELS[how])
        level = Quantity(share, share, share, "%")
    return RestPoint(voltage, level)


@record
class CycleLife:
    """How many cycles it lasts at one depth of discharge."""

    cycles: int
    depth: Quantity[Share]


@record
class Gassing:
    """The current that makes gas, for so much capacity."""

    current: Quantity[Ampere]
    per: Quantity[Coulomb]


class Bms(Thing):
    """The management system inside a battery."""

    __slots__ = ()
    KIND = "bms"

    cuts = say.choice(
        "cuts <choice>", "can cut <choice>", "opens <choice>",
        doc="which side it can cut: charge, discharge or both",
        of={
            "charge and discharge": "both", "charge and discharge side": "both", "both": "both", "both sides": "both",
            "charge": "charge", "charge side": "charge", "the charge side": "charge", "charge only": "charge",
            "discharge": "discharge", "discharge side": "discharge", "the discharge side": "discharge",
            "discharge only": "discharge",
        },
    )  # fmt: skip
    charge_current_limit = say.current(
        "charge at most <current>", "charge current [at] [most] <current>", "charge limit <current>", "charge <current>",
        "max|maximum charge current <current>", "charging at most <current>", "highest charge current <current>",
        doc="largest charge current that it lets pass", above=0,
    )  # fmt: skip
    discharge_current_limit = say.current(
        "discharge at most <current>", "discharge current [at] [most] <current>", "discharge limit <current>",
        "discharge <current>", "continuous discharge <current>", "<current>",
        "max|maximum discharge current <current>", "highest discharge current <current>", "continuous <current>",
        doc="largest continuous discharge current", above=0,
    )  # fmt: skip
    discharge_peak = say.record(
        CurrentFor, "peak <current:current> for <time:time>", "peak <current:current>",
        "discharge peak <current:current> [for <time:time>]", "peak discharge <current:current> [for <time:time>]",
        doc="largest discharge current, and for how long",
    )  # fmt: skip
    short_circuit_trip = say.current(
        "short-circuit trip <current>", "short-circuit trip at <current>", "short circuit trip [at] <current>",
        "trips at|above <current>",
        "trip <current>", "trip at <current>", "short circuit <current>", "short-circuit <current>",
        doc="current at which it opens at once", above=0,
    )  # fmt: skip
    low_cut_off = say.voltage(
        "low cut-off <voltage>", "opens below <voltage>", "cuts off below|at <voltage>", "cut-off [below|at] <voltage>",
        "low cutoff <voltage>",
        "low-voltage cut-off [at|below] <voltage>", "low voltage cut-off [at|below] <voltage>",
        "disconnects below <voltage>", "low cut-off at|below <voltage>", "under-voltage trip <voltage>",
        doc="voltage below which it cuts off", above=0,
    )  # fmt: skip
    low_reconnect = say.voltage(
        "reconnects at <voltage>", "reconnects above <voltage>", "reconnect [at|above] <voltage>", "closes at|above <voltage>",
        doc="voltage at which it closes again after the low cut-off", above=0,
    )  # fmt: skip
    high_trip = say.voltage(
        "high trip <voltage>", "high cut-off <voltage>", "opens above <voltage>", "cuts off above <voltage>",
        "high-voltage cut-off [at|above] <voltage>", "high voltage cut-off [at|above] <voltage>",
        "disconnects above <voltage>", "over-voltage trip <voltage>", "high cut-off at|above <voltage>",
        doc="voltage above which it cuts off", above=0,
    )  # fmt: skip
    cold_charge_cut = say.temperature(
        "low-temperature charge cut <temperature>", "low-temperature charge cut below|at <temperature>",
        "low-temperature cut [below|at] <temperature>", "blocks charge below <temperature>", "no charge below <temperature>",
        "charge blocked below <temperature>", "cold cut [below|at] <temperature>",
        "no charging below <temperature>", "cold cut-off [below|at] <temperature>",
        "low-temperature cut-off [below|at] <temperature>", "charge cut below <temperature>",
        "low-temperature charge cut-off [below|at] <temperature>",
        doc="temperature below which it lets no charge current pass",
    )  # fmt: skip
    blocking_voltage = say.voltage(
        "transistors block <voltage>", "blocks <voltage>", "blocking voltage <voltage>",
        doc="voltage that its transistors block", above=0,
    )  # fmt: skip
    own_drain = say.current("own drain <current>", "drain <current>", "own consumption <current>", doc="own drain")
    drain_after_cut_off = say.current(
        "drain after cut-off <current>", "drain after the low cut-off <current>", "after cut-off <current>",
        doc="own drain after the low cut-off",
    )  # fmt: skip
    charge_left_after_cut_off = say.charge(
        "charge left after cut-off <charge>", "<charge> left after cut-off", "after cut-off <charge>", "reserve <charge>",
        doc="charge that is left at the low cut-off",
    )  # fmt: skip


class Battery(Part):
    """A battery or a pack."""

    __slots__ = ()
    KIND = "battery"
    PLURAL = "batteries"
    TERMINALS = ("plus", "minus")
    ALIASES = {"B+": "plus", "B-": "minus", **POLES}

    chemistry = say.choice("<choice>", "chemistry <choice>", doc="chemistry and build", of=CHEMISTRIES)
    cells = say.count(
        "<count> cells|cell [in series]", "<count> s", "cells <count>", "cells in series <count>",
        doc="cells in series", at_least=1,
    )  # fmt: skip
    nominal_voltage = say.voltage(
        "<voltage>", "nominal <voltage>", "nominal voltage <voltage>", "<voltage> nominal", doc="nominal voltage", above=0
    )
    capacity = say.record(
        Capacity,
        "<charge:charge>", "<charge:charge> over <over:time>", "<charge:charge> at [the] <over:time> [rate]",
        "capacity <charge:charge> [over|at <over:time>]", "rated capacity <charge:charge> [over|at <over:time>]",
        "rated <charge:charge> [over|at <over:time>]",
        doc="capacity, and the time over which it was measured",
    )  # fmt: skip
    charge_end_voltage = say.voltage(
        "near the end of charge <voltage>", "end of charge <voltage>", "voltage near the end of charge <voltage>",
        "nearly full <voltage>",
        doc="its voltage near the end of charge", above=0,
    )  # fmt: skip
    rest_voltages = say.records(
        _rest_point,
        "rest <voltage:voltage> at <level:share>", "rests at <voltage:voltage> at <level:share>",
        "rest voltage <voltage:voltage> at <level:share>", "rest <voltage:voltage> <how:choice>",
        "rest voltage <voltage:voltage> <how:choice>", "rest <voltage:voltage> when <how:choice>",
        tail="<voltage:voltage> at <level:share>", of=_FULLNESS,
        doc="rest voltage by charge level",
    )  # fmt: skip
    internal_resistance = say.resistance(
        "internal resistance <resistance>", "resistance <resistance>", "<resistance>",
        doc="resistance of cells, joints and BMS; measured, or at most", above=0,
    )  # fmt: skip
    short_circuit_current = say.current(
        "short-circuit current <current>", "short-circuit <current>", "short circuit [current] <current>",
        doc="short-circuit current", above=0,
    )  # fmt: skip
    made = say.day("made <date>", "made on <date>", "date made <date>", "built <date>", doc="date made")
    usable_depth = say.share(
        "usable <share>",
        "usable depth <share>",
        "<share> usable",
        "depth of discharge <share>",
        doc="share of its charge that may be used",
    )
    capacity_by_temperature = say.records(
        ShareAt,
        "capacity <share:share> at <temperature:temperature>", "keeps <share:share> at <temperature:temperature>",
        tail="<share:share> at <temperature:temperature>",
        doc="share of the capacity at a temperature",
    )  # fmt: skip
    ageing_factor = say.share(
        "ageing factor <share>",
        "aging factor <share>",
        "aged to <share>",
        "ageing <share>",
        doc="share of the capacity left with age",
    )
    charge_efficiency = say.share(
        "charge efficiency <share>",
        "charging efficiency <share>",
        "efficiency <share>",
        doc="share of the charged energy that comes back",
    )
    peukert_exponent = say.number(
        "Peukert exponent <number>", "exponent <number>", "exponent of rate loss <number>", "Peukert <number>",
        doc="exponent of the loss at fast discharge", above=0,
    )  # fmt: skip
    cycle_life = say.records(
        CycleLife,
        "<cycles:count> cycles at <depth:share> [depth]", "cycle life <cycles:count> [cycles] at <depth:share> [depth]",
        "lasts <cycles:count> cycles at <depth:share> [depth]",
        tail="<cycles:count> [cycles] at <depth:share> [depth]",
        doc="cycle life at a depth of discharge",
    )  # fmt: skip
    self_discharge = share_a_month(
        "self-discharge <share_rate>", "self discharge <share_rate>", "loses <share_rate>", "loses <share:share> a|per month",
        "self-discharge <share:share> a|per month",
        doc="self-discharge",
    )  # fmt: skip
    highest_charge_voltage = say.voltage(
        "charge voltage at most <voltage>", "charge at most <voltage>", "charge to at most <voltage>",
        "highest charge voltage <voltage>", "charge voltage <voltage>", "charge to <voltage>", "charge up to <voltage>",
        "max|maximum charge voltage <voltage>", "charging voltage at most <voltage>", "charge voltage max <voltage>",
        doc="highest charge voltage", above=0,
    )  # fmt: skip
    highest_float_voltage = say.voltage(
        "float at most <voltage>", "float voltage at most <voltage>", "float voltage <voltage>", "float <voltage>",
        "highest float voltage <voltage>",
        doc="highest float voltage", above=0,
    )  # fmt: skip
    lowest_charge_voltage = say.voltage(
        "charge voltage at least <voltage>", "charge at least <voltage>", "lowest useful charge voltage <voltage>",
        "lowest charge voltage <voltage>",
        doc="lowest useful charge voltage", above=0,
    )  # fmt: skip
    lowest_voltage = say.voltage(
        "lowest voltage <voltage>", "lowest <voltage>", "discharge to at least <voltage>", "discharge to <voltage>",
        "minimum voltage <voltage>", "never below <voltage>", "empty at <voltage>",
        "discharge down to <voltage>", "discharge at least to <voltage>", "minimum <voltage>",
        doc="lowest voltage that it may be discharged to", above=0,
    )  # fmt: skip
    charge_current_advised = say.current(
        "charge advised at most <current>", "charge advised <current>", "advised charge current <current>",
        "advised charge <current>", "charge current advised <current>", "recommended charge current <current>",
        "recommended charge <current>",
        doc="charge current by the maker's advice", above=0,
    )  # fmt: skip
    charge_current_limit = say.current(
        "charge at most <current>", "charge current at most <current>", "charge current <current>", "charge limit <current>",
        "highest charge current <current>", "charge <current>",
        "max|maximum charge current <current>", "charge current max <current>", "charging at most <current>",
        "charge up to <current>",
        doc="charge current, a hard limit", above=0,
    )  # fmt: skip
    discharge_current_limit = say.current(
        "discharge at most <current>", "discharge current at most <current>", "discharge current <current>",
        "discharge limit <current>", "continuous discharge <current>", "highest discharge current <current>",
        "discharge <current>",
        "max|maximum discharge current <current>", "discharge current max <current>", "discharge up to <current>",
        doc="continuous discharge current", above=0,
    )  # fmt: skip
    discharge_peak = say.record(
        CurrentFor, "peak <current:current> for <time:time>", "peak <current:current>",
        "discharge peak <current:current> [for <time:time>]", "peak discharge <current:current> [for <time:time>]",
        doc="largest discharge current, and for how long",
    )  # fmt: skip
    charge_temperatures = say.temperature(
        "charge at <temperature>", "charge from <temperature>", "charge temperatures|temperature <temperature>",
        "charge <temperature>",
        doc="temperatures between which it may be charged",
    )  # fmt: skip
    cells_above_zone = say.difference(
        "cells <difference> above the zone", "cells <difference> above ambient", "cells <difference> warmer",
        "cell rise <difference>", "cells above the zone by <difference>",
        doc="how much warmer its cells are than its zone",
    )  # fmt: skip
    heater = say.flag("heater", "a heater", "heated", doc="has a heater")
    waits_until_warm = say.flag(
        "charging waits until warm", "charging waits until the pack is warm", "charges only when warm",
        doc="charging waits until the pack is warm",
    )  # fmt: skip
    most_in_series = say.count(
        "at most <count> in series", "up to <count> in series", "most packs in series <count>", "most in series <count>",
        doc="most packs in series", at_least=1,
    )  # fmt: skip
    balancer = say.flag("balancer", "a balancer", "balanced", doc="a balancer lies across the series string that it is in")
    held_down = say.flag("held down", "strapped down", "hold-down", "strapped", "fixed down", doc="it is held down")
    hold_down_force = say.force(
        "held down with <force>", "hold-down <force>", "hold-down force <force>", "strap rated <force>",
        "hold-down rated <force>",
        "strap <force>",
        doc="force that its hold-down bears",
    )  # fmt: skip
    hold_down_movement = say.length(
        "moves at most <length>", "hold-down movement <length>", "movement at most <length>", "movement <length>",
        doc="how far it can move in its hold-down",
    )  # fmt: skip
    gassing = say.record(
        Gassing, "gassing <current:current> per <per:charge>", "gassing current <current:current> per <per:charge>",
        doc="gassing current for so much capacity",
    )  # fmt: skip
    storage_temperatures = say.temperature(
        "store at <temperature>", "stored at <temperature>", "store <temperature>", "stored <temperature>", "storage <temperature>",
        "storage temperatures|temperature <temperature>",
        doc="temperatures for storage",
    )  # fmt: skip
    storage_level = say.share(
        "store at <share>", "stored at <share>", "storage <share>", "storage charge <share>", "storage charge level <share>",
        doc="charge level for storage",
    )  # fmt: skip
    top_up_interval = say.time(
        "top up every <time>", "top up at least every <time>", "longest top-up interval <time>", "top-up interval <time>",
        doc="longest interval between top-up charges in storage", above=0,
    )  # fmt: skip
    transport_mark = say.word("transport mark <word>", "transport marking <word>", doc="its mark for transport")
    bms = say.block(lambda: Bms, "bms", doc="management system")
