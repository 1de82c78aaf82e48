"""What the builder promises: `require run pump, lamp for 4 h`."""

from __future__ import annotations

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.kinds.values import IP_CODES, sizes
from ohmwright_grammar.quantities import Metre, Quantity, Second, Share, Watt
from ohmwright_grammar.records import record
from ohmwright_grammar.things import Thing

__all__ = ["CordDrop", "DropAt", "Requirement", "Run"]


@record
class Run:
    """Loads, or a power, that must run for so long."""

    time: Quantity[Second]
    loads: tuple[str, ...] = ()
    power: Quantity[Watt] | None = None


@record
class DropAt:
    """The largest drop of voltage at a terminal or load."""

    at: str
    drop: Quantity[Share]


@record
class CordDrop:
    """The length of a cord, named or not, and the largest drop with it."""

    length: Quantity[Metre]
    drop: Quantity[Share] | None = None
    cord: str = ""


@record
class Requirement(Thing):
    """One promise; its words read on after "require"."""

    KIND = "require"
    PLURAL = "requirements"
    NAMED = False

    run = say.record(
        Run,
        "run <loads:names> for <time:time>", "run <power:power> for <time:time>", "<loads:names> for <time:time>",
        "supply <power:power> for <time:time>",
        doc="run these loads, or this power, for so long",
    )  # fmt: skip
    share_after_wiring = say.share(
        "<share> left after wiring",
        "share left after wiring <share>",
        "wiring leaves <share>",
        doc="share of the energy left after the wiring",
    )
    shelf_time = say.time(
        "on the shelf for <time>", "on the shelf <time>", "<time> on the shelf", "survive <time> on the shelf",
        "last <time> on the shelf",
        "storage for <time>", "stored for <time>", "keep <time> on the shelf",
        "shelf life <time>", "shelf life of <time>",
        doc="how long it may stand on the shelf", above=0,
    )  # fmt: skip
    recharge_by_sun = say.time(
        "recharge by sun in <time>", "recharge from sun in <time>", "recharge by|from sun within <time>",
        "recharge by|from the sun in|within <time>",
        "recharge by|from solar in|within <time>", "recharge in <time> by|from sun", "recharge in <time> of sun",
        doc="how long recharging by sun may take", above=0,
    )  # fmt: skip
    recharge_by_mains = say.time(
        "recharge by mains in <time>", "recharge from mains in <time>", "recharge by|from mains within <time>",
        "recharge by|from the mains in|within <time>",
        "recharge in <time> by|from mains",
        doc="how long recharging by mains may take", above=0,
    )  # fmt: skip
    one_person_lifts = say.flag(
        "lifted by one person",
        "lift by one person",
        "one person lifts it",
        "one person can lift it",
        doc="one person can lift it",
    )
    highest_mass = say.mass(
        "weigh at most <mass>",
        "weight at most <mass>",
        "mass at most <mass>",
        "weigh under <mass>",
        "lifted by one person at most <mass>",
        doc="highest mass",
    )
    lift_factor = say.number(
        "task factor <number>",
        "factor <number>",
        "lifting factor <number>",
        doc="factors of the lifting task, multiplied",
        above=0,
    )
    start = say.names("start <names>", "starts <names>", doc="loads that must start")
    work_temperatures = say.temperature(
        "work from <temperature>",
        "work <temperature>",
        "work at <temperature>",
        "works from <temperature>",
        doc="temperatures at which it must work",
    )
    days_without_sun = say.time(
        "<time> without sun",
        "work <time> without sun",
        "last <time> without sun",
        "run <time> without sun",
        "without sun for <time>",
        doc="how long without sun",
        above=0,
    )
    packs = say.count(
        "accept <count> packs|pack",
        "accept up to <count> packs|pack",
        "accept <count> expansion packs|pack",
        "accept up to <count> expansion packs|pack",
        doc="packs that it must accept",
    )
    cord = say.record(
        CordDrop,
        "cord of <length:length> with drop at most <drop:share>", "cord of <length:length> drop at most <drop:share>",
        "<cord:name> of <length:length> with drop at most <drop:share>",
        "<cord:name> of <length:length> drop at most <drop:share>",
        "cord of <length:length>", "<cord:name> of <length:length>",
        doc="length of cord, and the drop with it",
    )  # fmt: skip
    drop = say.record(
        DropAt, "drop at <at:name> at most <drop:share>", "drop at most <drop:share> at <at:name>",
        doc="largest drop of voltage at a terminal",
    )  # fmt: skip
    water_protection = say.choice(
        "water protection <choice>",
        "<choice>",
        "protection <choice>",
        "stand water to <choice>",
        doc="water protection",
        of=IP_CODES,
    )
    touch_voltage = say.voltage(
        "nothing touchable above <voltage>", "touchable at most <voltage>", "nothing above <voltage> touchable",
        doc="highest voltage that can be touched", above=0,
    )  # fmt: skip
    safe_in_any_order = say.flag(
        "safe in any order",
        "safe in any order of plugs and switches",
        "safe in any plug and switch order",
        doc="safe in any order of plugs and switches",
    )
    highest_cost = say.money("cost at most <money>", "costs at most <money>", "cost under <money>", doc="highest cost")
    cost_reserve = say.share("reserve <share>", "<share> reserve", "with <share> reserve", doc="reserve on the cost")
    fits = say.record(
        sizes,
        "fit <width:length> x|by|× <depth:length> x|by|× <height:length>",
        "fit <width:number> x|by|× <depth:number> x|by|× <height:length>",
        "fits|fit in|into|inside <width:length|number> x|by|× <depth:length|number> x|by|× <height:length>",
        doc="size into which it must fit",
    )  # fmt: skip
    cycles = say.count(
        "last <count> cycles",
        "lasts <count> cycles",
        "<count> cycles",
        "cycle life <count> [cycles]",
        doc="cycles that the battery must last",
        at_least=1,
    )
    life = say.time("last <time>", "lasts <time>", "life of <time>", doc="how long the battery must last", above=0)
    tools = say.names("built with <names>", "tools <names>", "build with <names>", "only tools <names>", doc="tools allowed")
    most_sources = say.count(
        "at most <count> suppliers|supplier", "from at most <count> suppliers|supplier", "at most <count> sources|source",
        "parts from at most <count> suppliers|supplier",
        doc="how many suppliers at most", at_least=1,
    )  # fmt: skip
