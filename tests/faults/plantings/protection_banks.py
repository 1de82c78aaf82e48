"""Faults of protection of packs and arrays: packs without a fuse, lithium that nothing guards, strings side by side, devices in array leads."""

from __future__ import annotations

from faults import Planting, add, also, drop, say, threefold, unsay, yes_no

_STRINGS = ("east", "middle", "west")
_NO_STRING_FUSE = (
    drop("east_fuse", "middle_fuse", "west_fuse"),
    say("east_1", "from east.plus to roof_plus"),
    say("middle_1", "from middle.plus to roof_plus"),
    say("west_1", "from west.plus to roof_plus"),
)
_HORN = (
    add("load horn { same as lamp except { 5 W; always on; for 0.02 h/day } }"),
    add("wire horn_1 from house.plus to horn.plus { 14 AWG; 0.3 m; red; in inside }"),
)
_NO_DEVICE = also("far-fuse.missing", "horn_1", "no device from the post to the horn")

PLANTINGS: tuple[Planting, ...] = (
    # 33 CFR 183.455(a), (b): a device in each pack's branch, within 7 in = 0.178 m of the pack. None at all, or only behind the bar that both share.
    *yes_no(
        "unfused-pack.no-fuse", "left", "two_packs",
        wrong=[drop("left_fuse"), say("left_1", "from left.plus to left_switch.line")],
        wrong_too=[
            drop("left_fuse", "right_fuse"), say("left_1", "from left.plus to left_switch.line"), say("right_1", "from right.plus to right_switch.line"),
        ],
        silent=[
            unsay("left_fuse", "joints"), say("left_1", "from left.plus to left_fuse.line; 0.17 m"),
            add("wire left_0 from left_fuse.load to left_switch.line { 2 AWG; 0.2 m; red; in inside }"),
        ],
        wrong_too_also=[also("unfused-pack.no-fuse", "right", "its fuse is gone as well")],
    ),
    # NEC 690.9(A): two strings push 2 x 1.25 x 5.9 A = 14.75 A into the third.
    *threefold(
        "unfused-strings.over-series-fuse", "sun, east, middle, west", "string_field",
        inside=[*_NO_STRING_FUSE, say(_STRINGS, "largest series fuse 15.2 A")],
        over=[*_NO_STRING_FUSE, say(_STRINGS, "largest series fuse 14.3 A")],
        far=[*_NO_STRING_FUSE, say(_STRINGS, "largest series fuse 10 A")],
    ),
    # Declared property: lithium cells that nothing supervises, one battery alone or one of two.
    Planting("unguarded-lithium.no-bms", "house", "portable_box", (say("house", "no bms"),), "wrong"),
    Planting("unguarded-lithium.no-bms", "right", "two_packs", (say("right", "no bms"),), "wrong"),
    Planting("unguarded-lithium.no-bms", "house", "portable_box", (say("house", "bms { cuts charge and discharge }"),), "silent"),
    # A practitioner on standards: the system's own limit is not counted; a horn straight on the posts has nothing else, nor has one on a switch; with a fuse in its return it has.
    *yes_no(
        "unguarded-lithium.bms-alone", "house", "portable_box",
        wrong=[*_HORN, add("wire horn_2 from horn.minus to house.minus { 14 AWG; 0.3 m; black; in inside }")],
        wrong_too=[
            *_HORN, say("horn_1", "from house.plus to horn_key.line"), add("switch horn_key { same as small_switch except { in inside } }"),
            add("wires 14 AWG, in inside { horn_3 from horn_key.load to horn.plus, 0.3 m, red; horn_2 from horn.minus to minusbar, 0.3 m, black }"),
        ],
        silent=[
            *_HORN, add("fuse horn_fuse { same as cc_5 except { in inside; line on minusbar } }"), say("fuse_labels", "at main_fuse, sun_fuse, lamp_fuse, radio_fuse, phone_fuse, horn_fuse"),
            add("wire horn_2 from horn.minus to horn_fuse.load { 14 AWG; 0.3 m; black; in inside }"),
        ],
        companions=[_NO_DEVICE], silent_also=[_NO_DEVICE],
    ),
    # Declared property against its use: AC only in the array's leads.
    *yes_no(
        "weak-array-device.ac-only", "roof_switch", "garden_shed",
        wrong=say("roof_switch", "AC only"),
        wrong_too=[unsay("roof_switch", "breaks"), say("roof_switch", "AC only")],
        silent=say("roof_switch", "not AC only"),
    ),
    # NEC 690.7: 3 x 37.2 V x (1 + 0.0027 x (25 + 28)) = 127.6 V.
    *threefold(
        "weak-array-device.under-voltage", "roof_switch", "cabin48",
        inside=say("roof_switch", "breaks 40 A at 131.5 V dc"), over=say("roof_switch", "breaks 40 A at 124 V dc"), far=say("roof_switch", "breaks 40 A at 60 V dc"),
    ),
    # NEC 690.8: a plain switch for 1.25 x 3 x 5.9 A = 22.1 A; 16.4 A flow at noon.
    *threefold(
        "weak-array-device.under-current", "roof_switch", "string_field",
        inside=say("roof_switch", "22.8 A"), over=say("roof_switch", "21.5 A"), far=say("roof_switch", "16.6 A"),
    ),
)  # fmt: skip
