"""Faults of voltages from further sources: equalising, converters, arrays, batteries; and drops on further ways."""

from __future__ import annotations

from faults import Planting, also, say, threefold

_THRIFTY = say("phones", "works on 4.2 V to 5.5 V")

# What is equalised gives more gas.
_WIDER = say("bay", "vent low { 60 cm2; leads outside }; vent high { 60 cm2; leads outside }")
# A charger without sense leads may lose 0.15 V on its way to the battery.
_UNDERCHARGED = [also("charge-lead-drop.undercharges", "home", "0.34 V and more are lost on the cord, 0.15 V are allowed")]

PLANTINGS: tuple[Planting, ...] = (
    # 24 mV/K x 33 K at -8 degC on top: 15.6 V and 16.2 V.
    *threefold(
        "load-voltage.over-maximum", "butt_pump", "garden_shed",
        inside=(_WIDER, say("sun", "equalise 14.8 V")),
        over=(_WIDER, say("sun", "equalise 15.4 V")),
        far=(_WIDER, say("sun", "equalise 15.4 V"), say("butt_pump", "works on 10 V to 12 V")),
        tag="equalising",
    ),
    # What the converter gives.
    *threefold(
        "load-voltage.over-maximum", "phones", "portable_box",
        inside=say("five_volt", "output 5.4 V"),
        over=say("five_volt", "output 5.7 V"),
        far=say("five_volt", "output 9 V"),
    ),
    # The alternator holds 14.2 V on the starting battery, and does not compensate.
    *threefold(
        "load-voltage.over-maximum", "drive", "camper_van",
        inside=say("drive", "input 11 V to 14.6 V"),
        over=say("drive", "input 11 V to 13.8 V"),
        far=say("drive", "input 9 V to 10 V"),
    ),
    # 14.4 V + 24 mV/K x 17 K at 8 degC: 14.8 V.
    *threefold(
        "load-voltage.over-maximum", "transceiver", "radio_station",
        inside=say("transceiver", "works on 11.7 V to 15.2 V"),
        over=say("transceiver", "works on 11.7 V to 14.6 V"),
        far=say("transceiver", "works on 5 V to 11 V"),
    ),
    # Half full 12.3 V, less 20 A through 4.4 mohm and 0.12 V on the leads: 12.1 V.
    *threefold(
        "load-voltage.under-minimum", "transceiver", "radio_station",
        inside=say("transceiver", "works on 11.75 V to 15.8 V"),
        over=say("transceiver", "works on 12.3 V to 15.8 V"),
        far=say("transceiver", "works on 20 V to 32 V"),
    ),
    # Two blocks at 80 %, 25.3 V, less 17 A through 13 mohm and 0.79 V on the leads: 24.3 V.
    *threefold(
        "load-voltage.under-minimum", "pump", "water_pump",
        inside=say("pump", "works on 23.5 V to 32 V"),
        over=say("pump", "works on 25 V to 32 V"),
        far=say("pump", "works on 36 V to 48 V"),
    ),
    # 2.1 A on 2 x 7.7 m of 16 AWG: 0.5 V of 5 V, with telephones that need no more than 4.2 V.
    *threefold(
        "voltage-drop.over-class", "phones", "portable_box",
        inside=(_THRIFTY, say("phone_cord", "7.5 m")), over=(_THRIFTY, say("phone_cord", "7.8 m")), far=(_THRIFTY, say("phone_cord", "11 m")),
    ),
    # 5.45 A on 2 x 9 m of 12 AWG and what lies between: 0.57 V of 18.4 V.
    *threefold(
        "voltage-drop.over-class", "sheet", "portable_box",
        inside=say("sun_cord", "8.5 m"), over=say("sun_cord", "9 m"), far=say("sun_cord", "15 m"),
        companions=[also("hot-array-voltage.too-low", "sun", "14.2 V, 1 V and the drop are over the 15.75 V of the panel at 65 degC")],
    ),
    # 15 A on 2 x 2.8 m of 10 AWG, 0.6 m of 8 AWG and two contacts: 0.36 V of 12 V.
    *threefold(
        "voltage-drop.over-class", "home", "market_stall",
        inside=say("home_cord", "2.65 m"), over=say("home_cord", "2.8 m"), far=say("home_cord", "4 m"),
        companions=_UNDERCHARGED, inside_also=_UNDERCHARGED,
    ),
    # 30 A on 2 x 4.2 m of 6 AWG: 0.36 V of 12 V.
    *threefold(
        "voltage-drop.over-class", "mains", "camper_van",
        inside=say(("mains_plus", "mains_minus"), "4 m"), over=say(("mains_plus", "mains_minus"), "4.3 m"), far=say(("mains_plus", "mains_minus"), "6 m"),
        far_also=[also("surge-cut-off.near-cut-off", "mains", "0.5 V at 30 A are 1.1 V at the 66 A of 600 W: 11.5 V, within 0.2 V of 11.4 V")],
    ),
    # 20 A on 2 x 5.8 m of 6 AWG and what lies before: 0.36 V of 12 V, as its drop matters.
    *threefold(
        "voltage-drop.over-class", "transceiver", "radio_station",
        inside=say(("set_1", "set_2"), "5.6 m"), over=say(("set_1", "set_2"), "6 m"), far=say(("set_1", "set_2"), "8 m"),
    ),
    # us-premises: 5 % (note to NEC 215.2, a recommendation).
    *threefold(
        "voltage-drop.over-class", "lamps", "garden_shed",
        inside=say(("lamp_2", "lamp_3"), "16 AWG; 15 m"),
        over=say(("lamp_2", "lamp_3"), "16 AWG; 16 m"),
        far=say(("lamp_2", "lamp_3"), "16 AWG; 22 m"),
    ),
    # iec: 5 % (IEC 60364-5-52 Table G.52.1).
    *threefold(
        "voltage-drop.over-class", "cool", "iec_hut",
        inside=say(("cool_1", "cool_2"), "1.5 mm2; 23 m"),
        over=say(("cool_1", "cool_2"), "1.5 mm2; 24 m"),
        far=say(("cool_1", "cool_2"), "1.5 mm2; 35 m"),
        far_also=[also("weak-fault.slow", "cool_fuse", "26 V over 1.1 ohm are 23 A, less than three times 10 A")],
    ),
)  # fmt: skip
