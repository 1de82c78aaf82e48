"""Faults of protection: ratings of fuses, breakers, holders and of what lies behind them."""

from __future__ import annotations

from faults import Planting, add, also, say, threefold, unchecked, unsay, yes_no

_RADIO_AT_ITS_END = (
    unsay("radio_breaker", "joints"),
    say("radio_breaker", "load on radio.plus"),
)
_LATE = also(
    "unselective-fuse.darkens",
    "main_fuse",
    "the base's note without the radio's breaker: 1.5 m away a short is weak enough for it to open first",
)
_UNMARKED = also("unmarked-fuse.no-label", "sun_fuse", "M3 asks for a label whatever the holder takes")
_UNLABELLED = say("fuse_labels", "at main_fuse, lamp_fuse, radio_fuse, phone_fuse")
_ROOF_FUSE = (
    add("fuse roof_fuse { same as string_fuse except { line on roof.plus } }"),
    say("roof_1", "from roof_fuse.load to roof_switch.line"),
    say("roof", "largest series fuse 25 A"),
    say("fuse_labels", "at main_fuse, sun_fuse, hall_fuse, bunk_fuse, cool_fuse, phone_fuse, roof_fuse"),
)
_SNAG = 'state "on a snag" {{ bow_side at plus; shore_side at minus; winch on at {}; lasts {}; back after 30 min }}'
_SNAGGED = (say("bow_lead", "10 AWG"), say("motor_fuse", "same as post_60"))

PLANTINGS: tuple[Planting, ...] = (
    # Common practice: the inverter's line is held at the controller's 56.8 V.
    *threefold(
        "fuse-voltage.over-voltage", "power_fuse", "cabin48",
        inside=say("power_fuse", "58.5 V"), over=say("power_fuse", "55 V"), far=say("power_fuse", "32 V"),
    ),
    # As weak-array-device: an arc of direct current has no zero crossing. The house breaker says neither a voltage nor what it interrupts at DC.
    *yes_no(
        "fuse-voltage.ac-only", "pump_breaker", "camper_van",
        wrong=say("pump_breaker", "AC only"),
        wrong_too=say("pump_breaker", "same as house_breaker except { 15 A }"),
        silent=say("pump_breaker", "curve C; not AC only"),
        wrong_too_also=[unchecked("weak-breaking.over-rating", "pump_breaker", "a house breaker says nothing of what it interrupts at DC")],
    ),
    # NFPA 70 210.20(A): 25 A x 0.8 x (1 - 0.005 x (32 - 25)) = 19.3 A.
    *threefold(
        "nuisance-fuse.over-loading", "keeper_fuse", "radio_station",
        inside=say("keeper", "18.8 A"), over=say("keeper", "19.8 A"), far=say("keeper", "28 A"),
    ),
    # 33 CFR 183.455(c), Table 5: 1.5 x 35 A x sqrt((105 - T) / 75) behind 50 A: 51.7 A at 32.5 degC, 48.5 A at 41; 16 AWG carry 25 A: 36.9 A at 32.5 degC.
    *threefold(
        "oversized-fuse.too-large", "lamp_1", "camper_van",
        inside=[say("lamp_breaker", "50 A"), say("lamp_1", "14 AWG; at 32.5 degC")],
        over=[say("lamp_breaker", "50 A"), say("lamp_1", "14 AWG; at 41 degC")],
        far=[say("lamp_breaker", "50 A"), say("lamp_1", "16 AWG; 2 m; at 32.5 degC")],
    ),
    # The radio's own breaker stands at its far end, 60 A before the bar: 1.5 x 45 A x sqrt((105 - T) / 75) are 61.9 A at 42 degC, 58.3 A at 49; 16 AWG: 34.4 A.
    *threefold(
        "oversized-fuse.step-down", "radio_1", "boat",
        inside=[*_RADIO_AT_ITS_END, say("radio_1", "from plusbar to radio_breaker.line; at 42 degC")],
        over=[*_RADIO_AT_ITS_END, say("radio_1", "from plusbar to radio_breaker.line; at 49 degC")],
        far=[*_RADIO_AT_ITS_END, say("radio_1", "from plusbar to radio_breaker.line; 16 AWG; at 42 degC")],
        companions=[_LATE], inside_also=[_LATE],
    ),
    # No label states a current: the holder's largest fuse against 1.5 x 60 A x sqrt((105 - 45) / 75) = 80.5 A of the 10 AWG behind it.
    *threefold(
        "roomy-holder.unlabelled", "sun_fuse", "portable_box",
        inside=[_UNLABELLED, say("sun_fuse", "holder { DIN rail; 30 A; largest fuse 78 A }")],
        over=[_UNLABELLED, say("sun_fuse", "holder { DIN rail; 30 A; largest fuse 83 A }")],
        far=[_UNLABELLED, say("sun_fuse", "holder { DIN rail; 30 A; largest fuse 125 A }")],
        companions=[_UNMARKED], inside_also=[_UNMARKED],
    ),
    # IEC 60364-4-43 434.5.2: 10 AWG at 90 degC bears (100 x 5.26)2 = 277 000 A2s; 12.9 V / 9.38 mohm = 1375 A at the breaker, for 142 ms 268 000, for 151 ms 285 000 A2s;
    # 12 AWG bears (100 x 3.31)2 = 110 000 A2s of 1375 A for 95 ms = 180 000.
    *threefold(
        "short-circuit-heat.over-limit", "battery_on", "path_lights",
        inside=say("main", "opens in 5 s at 60 A, 0.5 s at 120 A, 142 ms at 210 A"),
        over=say("main", "opens in 5 s at 60 A, 0.5 s at 120 A, 151 ms at 210 A"),
        far=[say("main", "opens in 5 s at 60 A, 0.5 s at 120 A, 95 ms at 210 A"), say("battery_on", "12 AWG")],
    ),
    # readings.md, Continuous, D12: 10 AWG at 105 degC bears (87 x 5.26)2 = 209 500 A2s; its ampacity is 60 A x sqrt((105 - 42) / 75) = 55 A. 64 A for 50 s are 204 800, for 52.5 s
    # 215 000 A2s, 72 A for 58 s 300 700 A2s.
    *threefold(
        "short-circuit-heat.surge", "bow_lead", "windlass",
        inside=[*_SNAGGED, add(_SNAG.format("64 A", "50 s"))],
        over=[*_SNAGGED, add(_SNAG.format("64 A", "52.5 s"))],
        far=[*_SNAGGED, add(_SNAG.format("72 A", "58 s"))],
    ),
    # Label of the module: 15 A at most.
    *threefold(
        "string-fuse.too-large", "east_fuse", "string_field",
        inside=say("east_fuse", "14.6 A"), over=say("east_fuse", "15.4 A"), far=say("east_fuse", "20 A"),
    ),
    # NEC 690.8: 1.5625 x 5.9 A = 9.22 A; over 80 % of 6 A in air of 34 degC (4.58 A) the 5.48 A of the string are too much for long as well.
    *threefold(
        "string-fuse.too-small", "east_fuse", "string_field",
        inside=say("east_fuse", "9.5 A"), over=say("east_fuse", "9 A"), far=say("east_fuse", "6 A"),
        far_also=[also("nuisance-fuse.over-loading", "east_fuse", "5.48 A for 0.8 x 6 A x 0.955 = 4.58 A")],
    ),
    # IEC 62548: 2.4 x 5.9 A = 14.16 A, within what the label (25 A) allows.
    *threefold(
        "string-fuse.over-window", "roof_fuse", "iec_hut",
        inside=[*_ROOF_FUSE, say("roof_fuse", "13.8 A")], over=[*_ROOF_FUSE, say("roof_fuse", "14.6 A")], far=[*_ROOF_FUSE, say("roof_fuse", "20 A")],
    ),
    # 1.5 x 80 A x sqrt((105 - T) / 75) of the 8 AWG behind two posts of 50 A: 103.7 A at 49 degC, 98.0 A at 55; 10 AWG: 69.7 A at 60 degC.
    *threefold(
        "two-feeds.over-sum", "main_out", "pump_trolley",
        inside=say("main_out", "8 AWG; at 49 degC"), over=say("main_out", "8 AWG; at 55 degC"), far=say("main_out", "10 AWG; at 60 degC"),
    ),
)  # fmt: skip
