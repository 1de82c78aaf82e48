"""Faults of mains: inlets without earth or breaker, neutrals bonded twice or nowhere, ports that are not isolated."""

from __future__ import annotations

from faults import Planting, add, drop, say, threefold, unsay, yes_no

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
)  # fmt: skip
