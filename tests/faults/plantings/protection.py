"""Faults of protection: which pole is opened, and which end of a lead, a link or a pack has its fuse."""

from __future__ import annotations

from faults import Planting, add, drop, say, threefold, unsay, yes_no

_AT_THE_OUTBOARD = (
    unsay("engine_fuse", "joints"),
    add("wire engine_on from engine_fuse.load to outboard.plus { 8 AWG; 0.1 m; red }"),
)
_LEFT_LEAD = "wire left_0 from left.plus to left_fuse.line {{ 2 AWG; {}; red; in inside }}"
_ONE_POLE = (
    unsay("main", "joints"),
    say("main", "1 pole; line on house.plus"),
    say("main_return", "from minusbar to house.minus"),
)
_METAL = (say("box", "aluminium; metal"), say("home", "earth pin joined to box"))
_ROUND_THE_BREAKER = (say("radio_2", "from radio.minus to house.minus"),)
_POLARISED = "breaker way_breaker { same as rail_40; polarised; in bench }"

PLANTINGS: tuple[Planting, ...] = (
    # 46 CFR 120.380(b): what opens the bonded minus alone leaves the lamps, or the cool box, live against the aluminium box.
    *yes_no(
        "bonded-pole-opened.alone", "lamp_switch", "cargo_trike",
        wrong=[
            say("lamp_1", "from lamp_fuse.load to lamps.plus"),
            say("lamp_2", "from lamps.minus to lamp_switch.line; black"),
            say("lamp_3", "from lamp_switch.load to minusbar"),
        ],
        wrong_too=[
            say("lamp_1", "from lamp_fuse.load to lamps.plus"),
            say("lamp_2", "from lamps.minus to lamp_switch.line2; black"),
            say("lamp_3", "from lamp_switch.load2 to minusbar"),
            say("lamp_switch", "same as pole_pair"),
        ],
        silent=[
            say("lamp_switch", "same as pole_pair"),
            say("lamp_2", "from lamp_switch.load to lamps.plus"),
            say("lamp_3", "from lamps.minus to lamp_switch.line2"),
            add("wire lamp_4 from lamp_switch.load2 to minusbar { 14 AWG; 0.3 m; black; in inside }"),
        ],
    ),
    # 33 CFR 183.455(b): 7 in are 0.1778 m bare and 1.016 m enclosed; the outboard's fuse has gone to its end of the lead.
    *yes_no(
        "charger-lead-fuse.wrong-end", "engine_plus", "boat",
        wrong=[*_AT_THE_OUTBOARD, say("engine_plus", "from house.plus to engine_fuse.line; 0.183 m")],
        wrong_too=[*_AT_THE_OUTBOARD, say("engine_plus", "from house.plus to engine_fuse.line; 1.9 m; enclosed all the way")],
        silent=[*_AT_THE_OUTBOARD, say("engine_plus", "from house.plus to engine_fuse.line; 0.173 m")],
    ),
    # 33 CFR 183.455(b): the left pack's fuse stands at the end of a lead of its own; the right pack is held by its fuse, the left one comes in without.
    *threefold(
        "one-ended-link.one-end", "left_0", "two_packs",
        inside=[unsay("left_fuse", "joints"), add(_LEFT_LEAD.format("0.173 m"))],
        over=[unsay("left_fuse", "joints"), add(_LEFT_LEAD.format("0.183 m"))],
        far=[unsay("left_fuse", "joints"), add(_LEFT_LEAD.format("0.6 m"))],
    ),
    # 33 CFR 183.455(a): a device in each pole where none is bonded, before anything that takes current; the note in a plastic box, the warning in one of metal.
    *yes_no(
        "one-pole-fuse.metal-case", "house", "two_pole_box",
        wrong=[*_METAL, *_ONE_POLE],
        wrong_too=[*_METAL, *_ROUND_THE_BREAKER],
        silent=_METAL,
    ),
    *yes_no(
        "one-pole-fuse.plastic-case", "house", "two_pole_box",
        wrong=_ONE_POLE, wrong_too=_ROUND_THE_BREAKER,
        silent=[
            *_ONE_POLE, say("main_return", "from minusbar to back_fuse.load"), say("fuse_labels", "at main, back_fuse, lamp_fuse, radio_fuse, home_fuse"),
            add("fuse back_fuse { same as post_40 except { in inside; line on house.minus } }"),
        ],
    ),
    # Marking of IEC 60947-2, a maker's article: the arc of a polarised breaker is blown out for one direction only. The panel and the converter charge through theirs;
    # only the starting battery feeds through the silent one, as the charger behind it gives nothing back.
    *yes_no(
        "one-way-breaker.two-way", "way_breaker", "camper_van",
        wrong=[drop("sun_fuse"), add(_POLARISED), say("way_breaker", "line on plusbar"), say("sun_out", "from way_breaker.load to sun.batt_plus")],
        wrong_too=[drop("drive_fuse"), add(_POLARISED), say("way_breaker", "load on plusbar"), say("drive_out", "from way_breaker.line to drive.plus")],
        silent=[
            drop("starter_breaker"), add(_POLARISED), say("way_breaker", "in bonnet; ignition-protected"), say("starter_tap", "from starter.plus to way_breaker.line"),
            say("drive_in", "from way_breaker.load to drive.in_plus"), say("state stored", "main, roof_switch, way_breaker open"),
        ],
    ),
    # As above: the pump takes its current in at line; put the other way round, or marked so, it comes in at the wrong end.
    *yes_no(
        "one-way-breaker.backwards", "pump_breaker", "camper_van",
        wrong=[unsay("pump_breaker", "joints"), say("pump_breaker", "polarised; load on plusbar"), say("pump_1", "from pump_breaker.line to pump.plus")],
        wrong_too=say("pump_breaker", "polarised; line terminal is load"),
        silent=say("pump_breaker", "polarised"),
    ),
    # 33 CFR 183.455(a): manually reset and trip-free, but inside a motor.
    *yes_no(
        "self-resetting.resets", "pump_breaker", "camper_van",
        wrong=say("pump_breaker", "self-resetting"),
        wrong_too=say("pump_breaker", "same as rail except { thermal; self-resetting; 15 A }"),
        silent=say("pump_breaker", "self-resetting; part of a motor"),
    ),
    *yes_no(
        "self-resetting.not-trip-free", "pump_breaker", "camper_van",
        wrong=say("pump_breaker", "not trip-free"),
        wrong_too=say("pump_breaker", "thermal; not trip-free"),
        silent=say("pump_breaker", "not trip-free; part of a motor"),
    ),
)  # fmt: skip
