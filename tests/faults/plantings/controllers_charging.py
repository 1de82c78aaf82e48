"""Faults of everything that charges: how much, to what voltage, how cold, how long, and for which battery."""

from __future__ import annotations

from faults import Edit, Planting, add, also, say, threefold, unsay, yes_no

_NO_CUT = (
    say("house", "bms { no low-temperature charge cut }"),
    say("wall", "no low-temperature charge cut"),
)


def _cuts(below: int) -> Edit:
    """A management system that stops the charge below so many degC."""
    return say("house", f"bms {{ blocks charge below {below} degC }}")


# Two lithium blocks in place of the vented ones.
_LITHIUM = (
    say(("block_1", "block_2"), "same as lfp12_100; store at 40 % to 100 %"),
    say("mill", "charges LFP; absorption 28.4 V; float 27 V; no temperature compensation; blocks charge below 0 degC"),
    say("sun", "absorption 28.4 V; float 27 V; no temperature compensation"),
)

# 13 A of a 200 W panel through 3.4 m more of 10 AWG than in the base: 0.16 V more than its 0.08 V.
_LONG = say(("sun_out", "sun_back"), "2.2 m")
_SENSE = (
    add("""
fuse sense_fuse { same as cc_1 except { in bench; line on house.plus } }
wires 16 AWG {
  sense_1 from sense_fuse.load to sun.sense_plus, 1 m, red
  sense_2 from house.minus to sun.sense_minus, 1 m, black
}
label sense_label { same as fuse_label except { at sense_fuse } }
"""),
)

PLANTINGS: tuple[Planting, ...] = (
    # Driving in the sun: the DC-DC charger's 20 A and the controller's 20 A (200 W x 1.25 / 10.8 V are 23.1 A) against
    # what the management system lets in.
    *threefold(
        "charge-current-sum.over-limit", "house", "camper_van",
        inside=say("house", "charge advised at most 41.5 A; bms { charge at most 41.5 A }"),
        over=say("house", "charge advised at most 38.5 A; bms { charge at most 38.5 A }"),
        far=say("house", "charge advised at most 25 A; bms { charge at most 25 A }"),
        companions=[also("charge-current-sum.over-advice", "house", "40 A are over what is advised too")],
    ),
    # A charger of 8 A on a gel battery whose maker permits so much.
    *threefold(
        "charge-current-sum.over-limit", "first", "choir_stage",
        inside=say("first", "charge advised at most 8.3 A; charge at most 8.3 A"),
        over=say("first", "charge advised at most 8 A; charge at most 7.75 A"),
        far=say("first", "charge advised at most 8 A; charge at most 5 A"),
    ),
    *threefold(
        "charge-current-sum.over-advice", "house", "camper_van",
        inside=say("house", "charge advised at most 41.5 A"),
        over=say("house", "charge advised at most 38.5 A"),
        far=say("house", "charge advised at most 25 A"),
    ),
    # The turbine's 5 A and the controller's 10 A, which go through both blocks in series.
    *threefold(
        "charge-current-sum.over-advice", "block_1", "windmill_hut",
        inside=say("block_1", "charge advised at most 15.5 A"),
        over=say("block_1", "charge advised at most 14.5 A"),
        far=say("block_1", "charge advised at most 10 A"),
    ),
    # An inverter-charger of 30 A, while mains is there.
    *threefold(
        "charge-current-sum.over-limit", "house", "narrow_boat", reached=True,
        inside=say("house", "bms { charge at most 31 A }"),
        over=say("house", "bms { charge at most 29 A }"),
        far=say("house", "bms { charge at most 20 A }"),
    ),
    # Two packs alike share the controller's 40 A (400 W x 1.25 / 10.8 V are 46 A).
    *threefold(
        "charge-current-sum.over-advice", "left", "two_packs",
        inside=say("left", "charge advised at most 20.7 A"),
        over=say("left", "charge advised at most 19.4 A"),
        far=say("left", "charge advised at most 12 A"),
    ),
    # 15 A x (0.2 mohm of the switch + 2.1 m of 4 AWG + 2 x L of 8 AWG at 32 degC, 0.854 and 2.158 mohm/m): 145, 154, 237
    # mV for 150 mV.
    *threefold(
        "charge-lead-drop.undercharges", "keeper", "radio_station",
        inside=say(("keeper_plus", "keeper_minus"), "1.78 m"),
        over=say(("keeper_plus", "keeper_minus"), "1.92 m"),
        far=say(("keeper_plus", "keeper_minus"), "3.2 m"),
    ),
    # Long leads with sense leads, which have a fuse of their own: they tell the controller what the battery has.
    Planting("charge-lead-drop.undercharges", "sun", "camper_van", (_LONG,), "wrong"),
    Planting("charge-lead-drop.undercharges", "sun", "camper_van", (_LONG, *_SENSE), "silent"),
    # An inverter-charger on shore: 30 A x 2 x L of 35 mm2 at 42 degC, 0.602 mohm/m, and 28.3 A x 0.89 mohm up to the posts:
    # 289, 305, 423 mV for 300 mV.
    *threefold(
        "charge-lead-drop.undercharges", "power", "narrow_boat", reached=True,
        inside=say(("power_plus", "power_minus"), "7.3 m"),
        over=say(("power_plus", "power_minus"), "7.75 m"),
        far=say(("power_plus", "power_minus"), "11 m"),
        far_also=[also("voltage-drop.over-class", "power", "as an inverter it takes 74 A at 22.4 V: 1.0 V of 24 V, over 3 %")],
    ),
    # 14.6 V; far, it is set for 24 V.
    *threefold(
        "charge-set-point.over-absorption", "drive", "camper_van",
        inside=say("drive", "absorption 14.3 V"),
        over=say("drive", "absorption 14.9 V"),
        far=(say("drive", "absorption 28.4 V"), say("pump", "works on 10 V to 32 V")),
    ),
    # 14.8 V at 25 degC; the loads see the compensated value, 28.8 V + 17 K x 24 mV = 29.2 V.
    *threefold(
        "charge-set-point.over-absorption", "keeper", "radio_station",
        inside=say("keeper", "absorption 14.5 V"),
        over=say("keeper", "absorption 15.1 V"),
        far=say("keeper", "absorption 28.8 V"),
        far_also=[
            also("load-voltage.over-maximum", "transceiver", "29.2 V at 8 degC; it bears 15.8 V"),
            also("load-voltage.over-maximum", "monitor_receiver", "29.2 V at 8 degC; it bears 16 V"),
        ],
    ),
    # An inverter-charger at 24 V: 29.2 V; far, one set for 36 V.
    *threefold(
        "charge-set-point.over-absorption", "power", "narrow_boat",
        inside=say("power", "absorption 28.5 V"),
        over=say("power", "absorption 29.8 V"),
        far=(say("power", "absorption 42.6 V"), say(("lamps", "cool"), "works on 20 V to 60 V")),
    ),
    # 13.8 V.
    *threefold(
        "charge-set-point.over-float", "sun", "camper_van",
        inside=say("sun", "float 13.4 V"),
        over=say("sun", "float 14.1 V"),
        far=(say("sun", "float 27 V"), say("pump", "works on 10 V to 32 V")),
    ),
    *yes_no(
        "charge-set-point.equalises-lithium", "sun", "camper_van",
        wrong=say("sun", "equalise 14.4 V"),
        wrong_too=say("sun", "equalise 15.2 V"),
        silent=say("sun", "equalise off"),
    ),
    *yes_no(
        "charge-set-point.compensates-lithium", "wall", "bench_supply",
        wrong=say("wall", "temperature compensation -24 mV/K"),
        wrong_too=say("wall", "temperature compensation -3 mV/K"),
        silent=say("wall", "temperature compensation off"),
    ),
    # 14.0 V; 2 x 14.3 V of two vented blocks in series.
    *threefold(
        "charge-set-point.under-absorption", "sun", "camper_van",
        inside=say("sun", "absorption 14.3 V"),
        over=say("sun", "absorption 13.7 V; float 13.5 V"),
        far=say("sun", "absorption 9.6 V; float 9.4 V"),
    ),
    *threefold(
        "charge-set-point.under-absorption", "mill", "windmill_hut",
        inside=say(("block_1", "block_2"), "charge voltage at least 14.1 V"),
        over=say("mill", "absorption 28 V"),
        far=say("mill", "absorption 19 V; float 18 V"),
    ),
    # The battery's 13.6 V are what it may be held at for good.
    *yes_no(
        "endless-charge.in-closed-case", "sun", "garden_shed",
        wrong=(unsay("sun", "float_voltage"), say("sun", "no float stage; no timer")),
        wrong_too=say("sun", "absorption 13.9 V; float off; no float stage; no timer"),
        silent=(unsay("sun", "float_voltage"), say("sun", "no float stage; timer")),
        wrong_too_also=[also("charge-set-point.under-absorption", "sun", "13.9 V never fill what needs 14.3 V")],
    ),
    *yes_no(
        "endless-charge.in-the-open", "keeper", "radio_station",
        wrong=(say("bay", "not closed"), unsay("keeper", "float_voltage"), say("keeper", "no float stage; no timer")),
        wrong_too=(say("bay", "not closed"), say("keeper", "absorption 14.2 V; float off; no float stage; no timer")),
        silent=(say("bay", "not closed"), say("keeper", "float off; no float stage; absorption for 3 h")),
    ),
    # 0 degC, and nothing that stops the charge.
    *threefold(
        "freezing-charge.too-cold", "wall", "bench_supply",
        inside=(say("inside", "2 degC to 42 degC"), *_NO_CUT),
        over=(say("inside", "-2 degC to 42 degC"), *_NO_CUT),
        far=(say("inside", "-9 degC to 42 degC"), *_NO_CUT),
    ),
    # Cuts that come too late: the higher of the two counts.
    *threefold(
        "freezing-charge.too-cold", "sun", "camper_van",
        inside=(say("bench", "-8 degC to 42 degC"), _cuts(-4), say("sun", "blocks charge below 1 degC")),
        over=(say("bench", "-8 degC to 42 degC"), _cuts(-4), say("sun", "blocks charge below -3 degC")),
        far=(say("bench", "-8 degC to 42 degC"), _cuts(-20), say("sun", "blocks charge below -20 degC")),
    ),
    # One sensor for two packs: it says nothing of the other one, whose management system has no cut.
    Planting(
        "freezing-charge.too-cold", "sun, right", "two_packs",
        (say("inside", "-6 degC to 41 degC"), say("right", "bms { no low-temperature charge cut }"), say("sun", "sensor on left")), "wrong",
    ),
    Planting(
        "freezing-charge.too-cold", "sun, right", "two_packs",
        (say("inside", "-6 degC to 41 degC"), say("right", "bms { no low-temperature charge cut }")), "silent",
    ),
    # A turbine on two lithium blocks whose management systems cut the charge off.
    *yes_no(
        "load-dump.battery-cuts", "mill", "windmill_hut",
        wrong=(*_LITHIUM, say("mill", "no dump load")),
        wrong_too=(*_LITHIUM, say("mill", "no dump load"), say("block_1", "bms { cuts discharge }")),
        silent=_LITHIUM,
    ),
    *yes_no(
        "missing-sensor.wide-range", "keeper", "radio_station",
        wrong=(unsay("keeper", "battery_temperature_sensor", "sensor_on"), say("keeper", "no battery temperature sensor")),
        wrong_too=unsay("keeper", "battery_temperature_sensor", "sensor_on"),
        silent=(
            unsay("keeper", "battery_temperature_sensor", "sensor_on"),
            say("keeper", "no battery temperature sensor"),
            say("in_bay", "13 degC to 33 degC"),
        ),
    ),
    # 13 K either way; the sensor is on a battery that lies elsewhere.
    Planting(
        "missing-sensor.wide-range", "keeper", "radio_station",
        (
            add("battery spare { same as agm12_22 except { in room; held down; hold-down force 400 N; moves at most 3 mm } }"),
            say("battery_labels", "at house, spare"), say("keeper", "sensor on spare"),
        ),
        "wrong", (also("open-terminal.unwired", "spare", "a spare that nothing is on"),), tag="elsewhere",
    ),
    *yes_no(
        "wrong-controller.wrong-voltage", "sun", "camper_van",
        wrong=say("sun", "for 24 V batteries"),
        wrong_too=say("sun", "for 6 V, 48 V batteries"),
        silent=say("sun", "for 12.8 V batteries"),
    ),
    Planting("wrong-controller.wrong-chemistry", "power", "narrow_boat", (say("power", "charges AGM"),), "wrong"),
    # One charger for two batteries side by side is wrong for both.
    Planting(
        "wrong-controller.wrong-voltage", "home, first", "choir_stage", (say("home", "for 24 V batteries"),), "wrong",
        (also("wrong-controller.wrong-voltage", "home, second", "12 V as well"),),
    ),
    *yes_no(
        "wrong-controller.wrong-chemistry", "sun", "camper_van",
        wrong=say("sun", "charges AGM, flooded, gel"),
        wrong_too=say("sun", "charges NMC"),
        silent=say("sun", "charges LFP"),
    ),
)  # fmt: skip
