"""Faults of protection that a short circuit shows: what burns before it is broken, what never opens, what opens too early, and what is weaker than its fuse."""

from __future__ import annotations

from faults import Planting, also, say, threefold
from faults.edits import Edit

_MAINS_BEAR_MORE = say(("main_in", "main_out", "battery_return"), "90 degC insulation; XLPE")
_THIN_BOND = (say("case_bond", "12 AWG"),)
_TOO_THIN = also("thin-bond.too-thin", "case_bond", "12 AWG are under 8 AWG and under the 6 AWG of the battery's lead")
_THIN = also("thin-fault-return.thin", "case_bond", "more than the 110 000 A2s that 12 AWG bear, less than four times as much")
_SLOW = also("weak-fault.slow", "lamp_breaker", "less than 3 times the rating, which is the lesser grade")

_LAMP_30 = (say("lamp_breaker", "30 A"), say("lamps", "12 W"))
_LAMP_20 = (say("lamp_breaker", "20 A"), say("lamps", "8 W"))
_BEARS_NOTHING = say("sun", "not bears PV with no battery")
_EXPOSED = also(
    "panel-without-battery.load-exposed",
    "sun",
    "once the bar has lost its battery, the panel's 30.3 V come to the pump that bears 16 V",
)
_IN_LINE = (say("keeper_fuse", "30 A; blade; holder { blade in-line; 30 A }"),)


def _opens(seconds: str) -> Edit:
    return say("main_fuse", f"opens in 5 s at 120 A, {seconds} at 800 A")


PLANTINGS: tuple[Planting, ...] = (
    # IEC 60364-4-43 434.5.2: the bond of 6 AWG at 90 degC bears (100 x 13.3)2 = 1.77e6 A2s; beyond 800 A the fuse lets 800 A for 2.69, 2.86, 4.06 s through:
    # 1.72e6, 1.83e6, 2.60e6 A2s. The main wires bear (143 x 13.3)2 = 3.6e6.
    *threefold(
        "thin-fault-return.thin", "case_bond", "bench_supply",
        inside=[_MAINS_BEAR_MORE, _opens("2.69 s")], over=[_MAINS_BEAR_MORE, _opens("2.86 s")], far=[_MAINS_BEAR_MORE, _opens("4.06 s")],
    ),
    # As above with a bond of 12 AWG, (100 x 3.31)2 = 110 000 A2s: half of the area that is needed stands at four times that, 438 000 A2s = 800 A for 0.684 s.
    *threefold(
        "thin-fault-return.under-half", "case_bond", "bench_supply",
        inside=[*_THIN_BOND, _opens("0.665 s")], over=[*_THIN_BOND, _opens("0.705 s")], far=[*_THIN_BOND, _opens("1.1 s")],
        inside_also=[_TOO_THIN, _THIN], companions=[_TOO_THIN],
        coarse="the heat is shown against what the bond bears, and this grade begins at four times that",
    ),
    # Ratio 1.6 within a family (common practice): 80 A over 49, 52 and 80 A; the controller hangs on the bar behind the main fuse, and does not bear its panel alone.
    *threefold(
        "unselective-fuse.leaves-panel", "main_fuse, mains_fuse", "camper_van",
        inside=[_BEARS_NOTHING, say("mains_fuse", "49 A")], over=[_BEARS_NOTHING, say("mains_fuse", "52 A")], far=[_BEARS_NOTHING, say("mains_fuse", "80 A")],
        inside_also=[_EXPOSED], companions=[_EXPOSED],
    ),
    *threefold(
        "unselective-fuse.darkens", "main_fuse, mains_fuse", "market_stall",
        inside=say("mains_fuse", "49 A"), over=say("mains_fuse", "52 A"), far=say("mains_fuse", "80 A"),
    ),
    # 46 CFR 111.54-1(a)(3): 2 x 13.4 V / 6 mohm over the packs' leads are 4.28 kA beside the main fuse.
    *threefold(
        "weak-breaking.over-rating", "main_fuse", "two_packs",
        inside=say("main_fuse", "breaks 4.4 kA at 14 V dc"), over=say("main_fuse", "breaks 4.15 kA at 14 V dc"), far=say("main_fuse", "breaks 2 kA at 14 V dc"),
    ),
    # The rating itself: 13.0 V over 9.3 mohm and 15.8 mohm for each metre of 16 AWG at 70 degC, out and back: 30.9, 29.1, 20.9 A with 30 A before them, while
    # the wire carries 25 A x sqrt((105 - 53) / 75) = 20.8 A. Within the rating the breaker is still below the 1.25 times at which it must open.
    *threefold(
        "weak-fault.never-opens", "lamp_breaker", "camper_van",
        inside=[*_LAMP_30, say(("lamp_1", "lamp_2"), "16 AWG; 13.05 m; at 53 degC")],
        over=[*_LAMP_30, say(("lamp_1", "lamp_2"), "16 AWG; 13.9 m; at 53 degC")],
        far=[*_LAMP_30, say(("lamp_1", "lamp_2"), "16 AWG; 19.45 m; at 53 degC")],
        inside_also=[also("weak-fault.below-must-open", "lamp_breaker", "30.9 A are below 1.25 x 30 A")],
    ),
    # 1.25 x 20 A = 25 A, as declared: 11.8 V over 11.7 mohm and 6.24 mohm for each metre of 12 AWG at 70 degC: 72 m give 25.7 A, 76 m 24.3 A, 109 m 17 A.
    *threefold(
        "weak-fault.below-must-open", "lamp_breaker", "garden_shed",
        inside=[*_LAMP_20, say("lamp_2", "33.9 m"), say("lamp_3", "35.9 m")],
        over=[*_LAMP_20, say("lamp_2", "36 m"), say("lamp_3", "38 m")],
        far=[*_LAMP_20, say("lamp_2", "52.7 m"), say("lamp_3", "54.7 m")],
        inside_also=[_SLOW],
        coarse="what holds while a lesser grade is found is shown against the rating",
    ),
    # 3 x 5 A (common practice): 9.91 mohm for each metre of 14 AWG at 70 degC: 74.6 m give 15.4 A, 79.4 m 14.6 A, 111 m 10.5 A.
    *threefold(
        "weak-fault.slow", "lamp_breaker", "garden_shed",
        inside=[say("lamps", "5 W"), say("lamp_2", "14 AWG; 36.3 m"), say("lamp_3", "14 AWG; 38.3 m")],
        over=[say("lamps", "5 W"), say("lamp_2", "14 AWG; 38.7 m"), say("lamp_3", "14 AWG; 40.7 m")],
        far=[say("lamps", "5 W"), say("lamp_2", "14 AWG; 55 m"), say("lamp_3", "14 AWG; 57 m")],
    ),
    # The holder as declared: 30 A in it.
    *threefold(
        "weak-holder.over-rating", "sun_fuse", "portable_box",
        inside=say("sun_fuse", "holder { 31 A }"), over=say("sun_fuse", "holder { 29 A }"), far=say("sun_fuse", "holder { 20 A }"),
    ),
    # A maker's page: 15 A for long through a blade fuse in an in-line holder; the charger gives 14.6, 15.5, 20 A, a fuse of 30 A leaves 23 A.
    *threefold(
        "weak-holder.in-line", "keeper_fuse", "radio_station",
        inside=[*_IN_LINE, say("keeper", "14.6 A")], over=[*_IN_LINE, say("keeper", "15.5 A")], far=[*_IN_LINE, say("keeper", "20 A")],
    ),
    # The breaker's 10 A before an outlet's contacts.
    *threefold(
        "weak-part.user-load", "small_socket", "bench_supply",
        inside=say(("small_socket", "small_plug"), "10.3 A"), over=say(("small_socket", "small_plug"), "9.7 A"), far=say(("small_socket", "small_plug"), "6 A"),
    ),
    # The breaker's 15 A before a switch with a pump behind it.
    *threefold(
        "weak-part.fixed-load", "pump_switch", "garden_shed",
        inside=say("pump_switch", "15.4 A"), over=say("pump_switch", "14.6 A"), far=say("pump_switch", "10 A"),
    ),
)  # fmt: skip
