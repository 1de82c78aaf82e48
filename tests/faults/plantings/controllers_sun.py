"""Faults on the sun's side of controllers: volts, amperes and watts of arrays, and arrays with no controller."""

from __future__ import annotations

from faults import Edit, Planting, add, also, drop, in_state, say, threefold, unchecked, unsay, yes_no

_PUMP_BEARS = say("butt_pump", "works on 10 V to 32 V")


def _trickle(words: str, zone: str, minus: str = "house.minus") -> Edit:
    """A small panel straight on the posts of the battery, with its fuse there and a diode at its end."""
    return add(f"""
array trickle {{ same as panel100 except {{ Vmp 18 V; Voc 22 V; {words} }} }}
diode one_way {{
  blocking; 10 A; drops 0.5 V; blocks 60 V; in {zone}; works up to 85 degC
  terminals {{ clamp plate; takes 18 AWG to 6 AWG; 1 wire; 75 degC; for copper; torque 1.2 Nm; made of brass; tin-plated }}
}}
fuse trickle_fuse {{ same as cc_5 except {{ in {zone}; line on house.plus }} }}
wires 12 AWG {{
  trickle_1 from trickle.plus to one_way.anode, 1 m, red
  trickle_2 from one_way.cathode to trickle_fuse.load, 0.2 m, red
  trickle_3 from {minus} to trickle.minus, 1 m, black
}}
label trickle_label {{ same as fuse_label except {{ at trickle_fuse }} }}
""")


def _open_trickle(leakage: str) -> tuple[Edit, ...]:
    """The same panel with no diode; 1.4 A are 1.4 % of 100 Ah in an hour."""
    return (
        _PUMP_BEARS,
        _trickle(f"Isc 1.4 A; Imp 1.32 A; 23.8 W; dark leakage {leakage}", "in_bay"),
        drop("one_way"),
        drop("trickle_2"),
        say("trickle_1", "from trickle.plus to trickle_fuse.load"),
    )


# The same panel with a controller for lithium between, and a switch that opens its lead and the battery's.
_CONTROLLED = (
    add("""
array trickle { same as panel100 except { Vmp 18 V; Voc 22 V; Isc 2.1 A; Imp 2 A; 36 W } }
controller trickle_control {
  same as tracker20 except {
    in inside; absorption 14.2 V; float 13.5 V; no equalise; no temperature compensation; sensor on house
  }
}
switch trickle_switch { same as pole_pair except { in inside } }
fuse trickle_fuse { same as cc_5 except { in inside; line on house.plus } }
wires 12 AWG {
  trickle_1 from trickle.plus to trickle_switch.line, 1 m, red
  trickle_5 from trickle_switch.load to trickle_control.pv_plus, 0.2 m, red
  trickle_6 from trickle_control.batt_plus to trickle_switch.load2, 0.2 m, red
  trickle_2 from trickle_control.pv_minus to trickle.minus, 1 m, black
  trickle_3 from trickle_switch.line2 to trickle_fuse.load, 0.2 m, red
  trickle_4 from house.minus to trickle_control.batt_minus, 0.2 m, black
}
label trickle_label { same as fuse_label except { at trickle_fuse } }
"""),
    in_state("all states", "main, trickle_switch closed"),
    in_state("stored", "main, trickle_switch open"),
)
# With nothing between, the cold panel's voltage may come to all loads once the management system opens.
_IN_SERIES = say("sheet", "re-pluggable; or 2 in series and 1 in parallel")
_SIDE_BY_SIDE = say("roof", "re-pluggable; or 1 in series and 2 in parallel")
_BEARS = say(("amplifier", "board"), "works on 10 V to 32 V")


PLANTINGS: tuple[Planting, ...] = (
    # 22.4 V x 8.93 A = 200 W; 1.3 x 158 W = 205 W, the power that is given as such counts where it is less.
    *threefold(
        "array-ceiling.over-ceiling", "sun", "camper_van",
        inside=say("sun", "158 W"),
        over=say("sun", "array at most 195 W"),
        far=say("sun", "array at most 0.5 times its rated power"),
    ),
    # Three strings side by side, 3 x 2 x 18.4 V x 5.45 A = 602 W.
    *threefold(
        "array-ceiling.over-ceiling", "sun", "string_field",
        inside=say("sun", "array at most 620 W"),
        over=say("sun", "array at most 585 W"),
        far=say("sun", "array at most 400 W"),
    ),
    # 200 W against 0.71, 0.67 and 0.4 times 290 W: 206, 194 and 116 W.
    *threefold(
        "array-ceiling.swapped-leads", "sun", "camper_van",
        inside=say("sun", "leads swapped at most 0.71 times its rated power"),
        over=say("sun", "leads swapped at most 0.67 times its rated power"),
        far=say("sun", "leads swapped at most 0.4 times its rated power"),
    ),
    # 1.25 x 9.5 A = 11.9 A (NEC 690.8(A)).
    *threefold(
        "array-current.over-limit", "sun", "camper_van",
        inside=say("sun", "PV at most 12.2 A"),
        over=say("sun", "PV at most 11.5 A"),
        far=say("sun", "PV at most 8 A"),
    ),
    # Three strings of 5.9 A: 22.1 A.
    *threefold(
        "array-current.over-limit", "sun", "string_field",
        inside=say("sun", "PV at most 22.8 A"),
        over=say("sun", "PV at most 21.4 A"),
        far=say("sun", "PV at most 14 A"),
    ),
    # 1.25 x 5.9 A = 7.38 A, over 5.9 A by the factor alone, which is from memory on this basis; far it is over without it.
    *threefold(
        "array-current.over-limit", "sun", "iec_hut",
        inside=say("sun", "PV at most 7.6 A"),
        over=say("sun", "PV at most 7.1 A"),
        far=say("sun", "PV at most 5 A"),
    ),
    # A series switch that states nothing bears its rated current: 1.25 x 5.9 A = 7.38 A.
    *threefold(
        "array-current.over-limit", "sun", "garden_shed",
        inside=(unsay("sun", "pv_current_limit"), say("sun", "7.6 A")),
        over=(unsay("sun", "pv_current_limit"), say("sun", "7.1 A")),
        far=(unsay("sun", "pv_current_limit"), say("sun", "5 A")),
    ),
    # Plugged as two side by side 2 x 1.25 x 5.9 A = 14.8 A.
    *threefold(
        "array-current.over-limit", "sun", "garden_shed", tag="plugged",
        inside=(_SIDE_BY_SIDE, say("sun", "PV at most 15.2 A")),
        over=(_SIDE_BY_SIDE, say("sun", "PV at most 14.3 A")),
        far=_SIDE_BY_SIDE,
    ),
    # Two in series at -18 degC: 2 x Voc x (1 + 0.0029 x 43) = 2.249 x Voc against 60 V (IEC 61140 as quoted); four of
    # 22.3 V are 100 V.
    *threefold(
        "array-touch-voltage.over-limit", "sheet", "portable_box",
        inside=say("sheet", "re-pluggable; or 2 in series and 1 in parallel; Voc 26 V"),
        over=say("sheet", "re-pluggable; or 2 in series and 1 in parallel; Voc 27.4 V"),
        far=say("sheet", "re-pluggable; or 4 in series and 1 in parallel"),
        companions=[
            also("parted-under-load.over-touch-voltage", "sun_socket", "its rating for parting ends at 60 V, and plugged so the panels reach more"),
            unchecked("live-within-reach.high-dc", "sun", "above 60 V its bare terminals want a cover, of which nothing is said"),
            unchecked("live-within-reach.high-dc", "sun_socket", "so do the terminals behind the socket"),
        ],
        far_also=[also("cold-array-voltage.over-limit", "sun", "plugged so it reaches 100 V, and its input bears 75 V")],
    ),
    # It is damp on a boat: 30 V. At -10 degC 26.5 V x 1.1015 = 29.2 V; two panels of 22 V in series 48.5 V.
    *threefold(
        "array-touch-voltage.over-limit", "deck", "boat",
        inside=(say("deck", "re-pluggable; Voc 26.5 V"), say("sun", "PV at most 60 V")),
        over=(say("deck", "re-pluggable; Voc 28 V"), say("sun", "PV at most 60 V")),
        far=(say("deck", "re-pluggable; or 2 in series and 1 in parallel"), say("sun", "PV at most 60 V")),
        far_also=[also("wasted-array-voltage.pulled-down", "sun", "plugged so 36 V are pulled down to the mean charge voltage: 13.6 / 36 is 38 %")],
    ),
    # 26.8 V x (1 + 0.0028 x 47) = 30.3 V at -22 degC (NEC 690.7(A), the module's own coefficient).
    *threefold(
        "cold-array-voltage.over-limit", "sun", "camper_van",
        inside=say("sun", "PV at most 31 V"),
        over=say("sun", "PV at most 29.5 V"),
        far=say("sun", "PV at most 20 V"),
        inside_also=[also("cold-array-voltage.thin-margin", "sun", "30.3 V is within 5 % of 31 V")],
    ),
    # Without a coefficient 1.20 from -21 to -25 degC (NEC Table 690.7(A)): 26.8 V x 1.20 = 32.2 V.
    *threefold(
        "cold-array-voltage.over-limit", "sun", "camper_van",
        inside=(unsay("roof", "voc_coefficient"), say("sun", "PV at most 33 V")),
        over=(unsay("roof", "voc_coefficient"), say("sun", "PV at most 31.5 V")),
        far=(unsay("roof", "voc_coefficient"), say("sun", "PV at most 24 V")),
        inside_also=[also("cold-array-voltage.thin-margin", "sun", "32.2 V is within 5 % of 33 V")],
        tag="table",
    ),
    # Plugged as two in series 2 x 22.3 V x (1 + 0.0029 x 43) = 50.2 V at -18 degC.
    *threefold(
        "cold-array-voltage.over-limit", "sun", "portable_box",
        inside=(_IN_SERIES, say("sun", "PV at most 51.5 V")),
        over=(_IN_SERIES, say("sun", "PV at most 48.8 V")),
        far=(_IN_SERIES, say("sun", "PV at most 30 V")),
        inside_also=[also("cold-array-voltage.thin-margin", "sun", "50.2 V is within 5 % of 51.5 V")],
    ),
    # Of three strings side by side the one with more volts: 2 x 24 V x (1 + 0.0029 x 47) = 54.5 V,
    # the others 50.7 V.
    *threefold(
        "cold-array-voltage.over-limit", "sun", "string_field",
        inside=(say("middle", "Voc 24 V"), say("sun", "PV at most 56 V")),
        over=(say("middle", "Voc 24 V"), say("sun", "PV at most 53 V")),
        far=(say("middle", "Voc 24 V"), say("sun", "PV at most 40 V")),
        inside_also=[also("cold-array-voltage.thin-margin", "sun", "54.5 V is within 5 % of 56 V")],
    ),
    # 0.95 of the limit: 31.2 V of 32.8 V, 29.6 V of 31.2 V, 28.9 V of 30.4 V for the 30.3 V.
    *threefold(
        "cold-array-voltage.thin-margin", "sun", "camper_van",
        inside=say("sun", "PV at most 32.8 V"),
        over=say("sun", "PV at most 31.2 V"),
        far=say("sun", "PV at most 30.4 V"),
        coarse="from 5 % on it is over the limit itself, which is another grade",
    ),
    # 36.8 V x (1 - 0.0036 x (36 + rise - 25)): 30.3 V and 28.6 V against 28.4 V + 1 V + 0.1 V in the leads; one panel
    # alone has 15.7 V.
    *threefold(
        "hot-array-voltage.too-low", "sun", "cargo_trike",
        inside=say("roof", "cells 38 K above ambient"),
        over=say("roof", "cells 51 K above ambient"),
        far=say("roof", "1 in series"),
    ),
    # 15.3 V of one panel on a boat at 36 degC against 14.4 V + 0.06 V and the headroom; at 12 V the panel has 10.2 V.
    *threefold(
        "hot-array-voltage.too-low", "sun", "boat",
        inside=say("sun", "headroom 0.55 V"),
        over=say("sun", "headroom 1.3 V"),
        far=say("deck", "Vmp 12 V; Imp 1.7 A; Voc 14.6 V; 20 W"),
    ),
    # 1 % of 100 Ah in 14 h are 71.4 mA.
    *threefold(
        "night-leakage.over-share", "house", "garden_shed",
        inside=(say("sun", "current back into the array"), say("roof", "dark leakage 69.5 mA")),
        over=(say("sun", "current back into the array"), say("roof", "dark leakage 73.5 mA")),
        far=(say("sun", "current back into the array"), say("roof", "dark leakage 150 mA")),
    ),
    # Straight on the battery with no diode.
    *threefold(
        "night-leakage.over-share", "house, trickle", "garden_shed",
        inside=_open_trickle("69 mA"),
        over=_open_trickle("74 mA"),
        far=_open_trickle("120 mA"),
    ),
    # Two ways add: 40 mA straight, and 29 to 60 mA back through the controller.
    *threefold(
        "night-leakage.over-share", "house, sun, roof, trickle", "garden_shed",
        inside=(*_open_trickle("40 mA"), say("sun", "current back into the array"), say("roof", "dark leakage 29 mA")),
        over=(*_open_trickle("40 mA"), say("sun", "current back into the array"), say("roof", "dark leakage 34 mA")),
        far=(*_open_trickle("40 mA"), say("sun", "current back into the array"), say("roof", "dark leakage 60 mA")),
    ),
    # 200 W / 10.8 V = 18.5 A.
    *threefold(
        "over-panelled.clips", "sun", "camper_van",
        inside=say("sun", "19 A"),
        over=say("sun", "18 A"),
        far=say("sun", "12 A"),
    ),
    *yes_no(
        "unregulated-array.lithium", "house", "bench_supply",
        wrong=(_BEARS, _trickle("Isc 2.1 A; Imp 2 A; 36 W; dark leakage 5 mA", "inside")),
        wrong_too=(_BEARS, _trickle("Isc 0.3 A; Imp 0.28 A; 5 W; dark leakage 5 mA", "inside", "minusbar")),
        silent=(_BEARS, *_CONTROLLED),
    ),
    # 1.5 % of 100 Ah in an hour are 1.5 A (common practice, from memory).
    *threefold(
        "unregulated-array.lead-acid", "house", "garden_shed",
        inside=(_PUMP_BEARS, _trickle("Isc 1.45 A; Imp 1.36 A; 24.5 W; dark leakage 5 mA", "in_bay")),
        over=(_PUMP_BEARS, _trickle("Isc 1.55 A; Imp 1.45 A; 26 W; dark leakage 5 mA", "in_bay")),
        far=(_PUMP_BEARS, _trickle("Isc 3 A; Imp 2.8 A; 50 W; dark leakage 5 mA", "in_bay")),
    ),
    # 13.6 V / 0.70 = 19.4 V; a panel of 72 cells has 37.6 V, of which 36 % are used.
    *threefold(
        "wasted-array-voltage.pulled-down", "sun", "garden_shed",
        inside=say("roof", "Vmp 18.9 V; Imp 5.3 A; Voc 22.9 V"),
        over=say("roof", "Vmp 20 V; Imp 5 A; Voc 24 V"),
        far=(say("roof", "200 W; Vmp 37.6 V; Imp 5.3 A; Voc 45 V"), say("sun", "PV at most 80 V")),
    ),
)  # fmt: skip
