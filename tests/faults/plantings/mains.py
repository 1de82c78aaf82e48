"""Faults of mains: inlets without earth or breaker, neutrals bonded twice or nowhere, ports that are not isolated."""

from __future__ import annotations

from faults import Planting, add, also, drop, say, threefold, unsay, yes_no

PLANTINGS: tuple[Planting, ...] = (
    *yes_no(
        "earthless-inlet.no-earth", "wall", "bench_supply",
        wrong=(unsay("wall", "earth_pin_joined_to"), drop("inlet_PE")),
        wrong_too=(unsay("wall", "earth_pin_joined_to"), say("inlet_PE", "from inlet.3 to wall.PE")),
        silent=unsay("wall", "earth_pin_joined_to"),
    ),
    # The inlet is made for 10 A.
    *threefold(
        "earthless-inlet.no-breaker", "wall", "bench_supply",
        inside=say("wall", "mains fuse 10 A"), over=say("wall", "mains fuse 10.4 A"), far=say("wall", "mains fuse 16 A"),
    ),
    *yes_no(
        "earthless-inlet.no-breaker", "home", "choir_stage",
        wrong=say("home", "no mains fuse"),
        wrong_too=say("home", "no mains breaker; mains inlet 16 A"),
        silent=say("home", "mains breaker 10 A"),
    ),
    *threefold(
        "neutral-bonds.two-bonds", "power", "narrow_boat",
        inside=say("power", "neutral bonded when alone; shore neutral bonded at its source"),
        over=say("power", "neutral always bonded"),
        far=(say("power", "neutral always bonded"), add("wire neutral_bond from power.N to cabinet { 2.5 mm2; 0.3 m; green and yellow; earth }")),
        coarse="bonds are counted whole",
    ),
    *yes_no(
        "neutral-bonds.no-bond", "power", "narrow_boat",
        wrong=say("power", "neutral never bonded"),
        wrong_too=say("power", "not shore neutral bonded at its source"),
        silent=(say("power", "neutral never bonded"), add("wire neutral_bond from power.N to cabinet { 2.5 mm2; 0.3 m; green and yellow; earth }"), say("power", "not shore neutral bonded at its source")),
    ),
    *yes_no(
        "unisolated-mains.not-isolated", "power", "narrow_boat",
        wrong=say("power", "not mains port isolated"),
        wrong_too=say("power", "not mains port isolated; not metal case"),
        silent=say("power", "mains port isolated"),
    ),
    # 14 W for 5.3 h a day are 74.2 Wh; the loads take 60 W x 5 h and 900 W x 0.3 h, 15 % of which are 85.5 Wh.
    *threefold(
        "oversized-inverter.idle-share", "power", "cabin48",
        inside=say("power", "draws 15.6 W with no load"), over=say("power", "draws 16.6 W with no load"), far=say("power", "draws 22 W with no load"),
    ),
    *yes_no(
        "unsuitable-waveform.modified", "saw", "workshop_cart",
        wrong=(say("mains", "modified sine"), say("saw", "needs a sine wave")),
        wrong_too=(say("mains", "modified sine; peak 3000 W for 3 s"), say("saw", "needs a sine wave; not motor")),
        silent=(say("mains", "modified sine"), say("saw", "no needs a sine wave")),
    ),
    # 700 W x 2.5.
    *threefold(
        "weak-inverter.cannot-start", "saw", "workshop_cart",
        inside=say("mains", "peak 1800 W for 3 s"), over=say("mains", "peak 1700 W for 3 s"), far=say("mains", "peak 1300 W for 3 s"),
        companions=[also("broken-promise.cannot-do", "saw", "the cart promises that it starts")],
    ),
    # 900 W x 2.15, 2.3 and 3, for the peak of 2000 W.
    *threefold(
        "weak-inverter.cannot-start-unrequired", "kettle_unit", "narrow_boat",
        inside=say("kettle_unit", "motor; starts at 2.15 times for 1 s"),
        over=say("kettle_unit", "motor; starts at 2.3 times for 1 s"),
        far=say("kettle_unit", "motor; starts at 3 times for 1 s"),
    ),
)  # fmt: skip
