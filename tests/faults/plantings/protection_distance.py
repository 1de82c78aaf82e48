"""Faults of protection: conductors without a fuse, or with it too far away, and leads that only sense or meter."""

from __future__ import annotations

from faults import Planting, add, also, drop, say, threefold, yes_no

_WAIVED = 'waive far-fuse.{} on {}{} because "moves at the next refit" until 2027-06-30'
_BEFORE = (
    say("battery_lead", "from house.plus to tee; 0.45 m; enclosed all the way"),
    add("bus tee { same as bar except { in inside } }"),
)
_FIRST_NOTE = also("far-fuse.not-nearest", "battery_lead", "0.45 m are over 7 in, enclosed all the way")
_SECOND_NOTE = also("far-fuse.not-nearest", "trunk", "over 7 in and up to 40 in, enclosed all the way")
_TRUNK = "wire trunk from tee to main_fuse.line {{ 16 mm2; {}; red; enclosed all the way; in inside }}"
_VOLTS = """
fuse volts_fuse {{ same as cc_1 except {{ in in_bay }} }}
meter volts {{ same as panel_meter except {{ in room; always on }} }}
wires 16 AWG, with 1 other {{
  volts_1 from house.plus to volts_fuse.line, {}, red, sense, in in_bay
  volts_2 from volts_fuse.load to volts.plus, 0.9 m, red, through lead_hole
  volts_3 from volts.minus to minusbar, 0.6 m, black
}}
label volts_label {{ same as fuse_label except {{ at volts_fuse }} }}
"""

PLANTINGS: tuple[Planting, ...] = (
    # 33 CFR 183.455(b): a device for every live conductor. The bilge pump has none at all, or has it in the return only, which covers nothing of a floating system.
    *yes_no(
        "far-fuse.missing", "bilge_1", "boat",
        wrong=[drop("bilge_fuse", "bilge_tap"), say("bilge_1", "from house.plus to float_switch.line")],
        wrong_too=[
            drop("bilge_tap"), say("bilge_1", "from house.plus to float_switch.line"), say("bilge_3", "from bilge_pump.minus to bilge_fuse.line"),
            add("wire bilge_4 from bilge_fuse.load to minusbar { 12 AWG; 0.2 m; black; in cabin }"),
        ],
        silent=[
            say("bilge_tap", "from house.plus to float_switch.line"), say("bilge_1", "from float_switch.load to bilge_fuse.line; 0.05 m"),
            say("bilge_2", "from bilge_fuse.load to bilge_pump.plus"),
        ],
    ),
    # 33 CFR 183.455(b): 7 in = 0.1778 m in free air.
    *threefold(
        "far-fuse.bare", "battery_lead", "iec_hut",
        inside=say("battery_lead", "0.173 m"),
        over=say("battery_lead", "0.183 m"),
        far=say("battery_lead", "0.9 m"),
    ),
    # 33 CFR 183.455(b): 40 in = 1.016 m enclosed; the second length counts from the post through the first: 0.45 m and 0.54, 0.59, 1.2 m.
    *threefold(
        "far-fuse.far", "trunk", "iec_hut",
        inside=[*_BEFORE, add(_TRUNK.format("0.54 m"))], inside_also=[_FIRST_NOTE, _SECOND_NOTE],
        over=[*_BEFORE, add(_TRUNK.format("0.59 m"))],
        far=[*_BEFORE, add(_TRUNK.format("1.2 m"))],
        companions=[_FIRST_NOTE],
    ),
    # The first stretch is waived, so that what lies behind it stands in full: behind no device, or behind 0.2 m in free air (over 7 in).
    *yes_no(
        "far-fuse.behind", "bilge_2", "boat",
        wrong=[drop("bilge_fuse", "bilge_tap"), say("bilge_1", "from house.plus to float_switch.line"), add(_WAIVED.format("missing", "bilge_1", ""))],
        wrong_too=[
            say("bilge_tap", "from house.plus to float_switch.line; 0.2 m"), say("bilge_2", "from float_switch.load to bilge_fuse.line; 0.05 m"),
            say("bilge_1", "from bilge_fuse.load to bilge_pump.plus"), add(_WAIVED.format("bare", "bilge_tap", " up to 0.2 m")),
        ],
        silent=[
            say("bilge_tap", "from house.plus to float_switch.line; 0.12 m"), say("bilge_2", "from float_switch.load to bilge_fuse.line; 0.05 m"),
            say("bilge_1", "from bilge_fuse.load to bilge_pump.plus"),
        ],
        wrong_also=[also("far-fuse.missing", "bilge_1", "the cause, waived")],
        wrong_too_also=[also("far-fuse.bare", "bilge_tap", "the cause, 0.2 m, waived")],
    ),
    # readings.md F1 with the page: a link in free air up to 40 in = 1.016 m, as the device at the string's end fits it.
    *threefold(
        "far-fuse.series-link", "link", "water_pump",
        inside=say("link", "0.985 m"), over=say("link", "1.05 m"), far=say("link", "1.6 m"),
    ),
    # ABYC E-11 as quoted: over 40 in = 1.016 m and up to 72 in = 1.829 m, straight from the post and enclosed all the way, is a note.
    *threefold(
        "far-fuse.battery-lead", "battery_lead", "iec_hut",
        inside=say("battery_lead", "0.985 m; enclosed all the way"),
        over=say("battery_lead", "1.05 m; enclosed all the way"),
        far=say("battery_lead", "1.5 m; enclosed all the way"),
        inside_also=[also("far-fuse.not-nearest", "battery_lead", "over 7 in, enclosed all the way, and no reason is given")],
    ),
    # 33 CFR 183.455(b): enclosed all the way, 7 in = 0.1778 m need no reason.
    *threefold(
        "far-fuse.not-nearest", "battery_lead", "iec_hut",
        inside=say("battery_lead", "0.173 m; enclosed all the way"),
        over=say("battery_lead", "0.183 m; enclosed all the way"),
        far=say("battery_lead", "0.6 m; enclosed all the way"),
    ),
    # 46 CFR 120.380(c) with the distance of 33 CFR 183.455(b): a voltmeter at the post, its fuse at the end of its lead.
    *threefold(
        "unfused-sense-lead.unfused", "volts_1", "radio_station",
        inside=add(_VOLTS.format("0.173 m")), over=add(_VOLTS.format("0.183 m")), far=add(_VOLTS.format("0.6 m")),
    ),
)  # fmt: skip
