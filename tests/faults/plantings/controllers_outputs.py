"""Faults of what hangs on controllers and cut-offs: load outputs, the order of cut-offs, one-way disconnects, panels with no battery."""

from __future__ import annotations

from faults import Edit, Planting, add, also, say, threefold, unsay, yes_no


def _cut(opens: str, words: str = "") -> Edit:
    """A low-voltage disconnect beside the bars of the van, with the lead of its own supply."""
    return add(f"""
disconnect cut {{ same as low_voltage_cut except {{ opens at {opens}; closes at 13 V; in bench{words} }} }}
wire cut_minus from cut.minus to minusbar {{ 12 AWG; 0.3 m; black }}
""")


def _lamp_cut(opens: str) -> tuple[Edit, ...]:
    """A disconnect before the lamps, and an inverter that gives up at 12.0 V."""
    return (
        _cut(opens),
        say("mains", "cut-off 12.0 V; restarts at 12.8 V"),
        say("lamp_1", "from cut.load to lamps.plus"),
        add("wire lamp_0 from lamp_breaker.load to cut.line { 12 AWG; 0.3 m; red }"),
    )


def _mains_cut(words: str) -> tuple[Edit, ...]:
    """A disconnect before the inverter."""
    return (
        _cut("11.8 V", words),
        say("mains_plus", "from cut.load to mains.plus"),
        add("wire mains_0 from mains_fuse.load to cut.line { 6 AWG; 0.3 m; red; in bench }"),
    )


_POSITIVE = say("sun", "common positive")
_FROM_BATTERY = say("sun", "common positive; terminal batt_plus { 2 wires }"), say("light_fuse", "line on sun.batt_plus")
_TWO_BLACK = say("sun", "terminals batt_minus, load_minus { 2 wires }")
_JUMPER = add("wire lights_home from sun.load_minus to sun.batt_minus { 12 AWG; 0.2 m; black }")
_STRAIGHT = also("unregulated-array.lead-acid", "house", "past the controller 3 A go on 35 Ah, that bear 0.525 A")
_BEHIND_FUSE = say("sun_tap", "10 AWG; from main.line to sun_fuse.line")
_FUSE_FIRST = also(
    "unselective-fuse.leaves-panel", "main_fuse", "a short behind a breaker opens it as soon, which now leaves the panel alone"
)
_PUMP_BEARS = say("butt_pump", "works on 10 V to 32 V")
_DEEP = say("house", "bms { low cut-off 10 V }")
_UNDER = also("cut-off-order.bms-under-minimum", "house", "10 V are under 10.8 V")
_NEEDS = say("sun", "needs its battery")
_BEHIND_CUT = say("cut_fuse", "same as cc_30"), say("sun_fuse", "same as cc_15; line on cut_bar")
_FOUNTAIN = say("far_lights", "6 W; motor"), unsay("far_lights", "start")
# A load output that would bear the inverter's current.
_STRONG = say("sun", "load output at most 60 A; load output peak 120 A; load output opens at 12 V; terminals { 2 wires }")


PLANTINGS: tuple[Planting, ...] = (
    # A common positive: the panel's minus must come home through the controller alone.
    *yes_no(
        "bypassed-controller.panel-negative", "sun", "path_lights",
        wrong=(_POSITIVE, say("sheet_minus", "from house.minus to sheet.minus")),
        wrong_too=(_POSITIVE, say("sheet", "terminal minus { 2 wires }"), add("wire sheet_bond from sheet.minus to house.minus { 10 AWG; 2 m; black }")),
        silent=_POSITIVE,
        companions=[_STRAIGHT],
        wrong_also=[also("open-terminal.open", "sun", "nothing is left on pv_minus")],
    ),
    *yes_no(
        "bypassed-controller.load-negative", "sun", "path_lights",
        wrong=(_POSITIVE, say("lights_back", "from near_lights.minus to house.minus")),
        wrong_too=(_POSITIVE, _TWO_BLACK, _JUMPER),
        silent=(_TWO_BLACK, _JUMPER),
        wrong_also=[also("open-terminal.open", "sun", "nothing is left on load_minus")],
    ),
    # 11.0 V of the management system + 0.2 V.
    *threefold(
        "cut-off-order.below-battery", "mains", "camper_van",
        inside=say("mains", "cut-off 11.5 V"),
        over=say("mains", "cut-off 10.9 V"),
        far=say("mains", "cut-off 7.8 V"),
        far_also=[also("nuisance-fuse.over-loading", "mains_fuse", "300 W / 0.88 / 7.8 V are 44 A, over 0.8 x 50 A")],
    ),
    # A management system that opens at 10.0 V, under the battery's lowest voltage of 10.8 V, which counts then.
    *threefold(
        "cut-off-order.below-battery", "mains", "camper_van", tag="minimum",
        inside=(_DEEP, say("mains", "cut-off 11.1 V")),
        over=(_DEEP, say("mains", "cut-off 10.5 V")),
        far=(_DEEP, say("mains", "cut-off 7.5 V; peak 600 W for 3 s")),
        companions=[_UNDER],
        inside_also=[_UNDER],
        far_also=[also("nuisance-fuse.over-loading", "mains_fuse", "300 W / 0.88 / 7.5 V are 45 A, over 0.8 x 50 A")],
    ),
    # Without one, the lowest voltage of two blocks, 2 x 10.8 V, + 0.4 V; far, it is left as for 12 V.
    *threefold(
        "cut-off-order.below-battery", "cut", "windmill_hut",
        inside=say("cut", "opens at 22.6 V"),
        over=say("cut", "opens at 21.4 V"),
        far=say("cut", "opens at 11.8 V; closes at 12.7 V"),
        far_also=[also("over-panelled.clips", "sun", "200 W / 11.8 V are 17 A for 10 A")],
    ),
    # The inverter's 12.0 V.
    *threefold(
        "cut-off-order.loads-last", "cut", "camper_van",
        inside=_lamp_cut("12.3 V"), over=_lamp_cut("11.7 V"), far=_lamp_cut("8 V"),
        far_also=[
            also("cut-off-order.below-battery", "cut", "8 V are under 11.0 V + 0.2 V too"),
            also("over-panelled.clips", "sun", "200 W / 8 V, the lowest disconnect, are 25 A for 20 A"),
        ],
    ),
    # 10.8 V; 7.5 V are 1.88 V a cell.
    *threefold(
        "cut-off-order.bms-under-minimum", "house", "bench_supply",
        inside=say("house", "bms { low cut-off 11.1 V }"),
        over=say("house", "bms { low cut-off 10.5 V }"),
        far=say("house", "bms { low cut-off 7.5 V }"),
    ),
    *yes_no(
        "load-output.inverter", "sun", "camper_van",
        wrong=(_STRONG, say("mains_fuse", "line on sun.load_plus"), say("mains_minus", "from mains.minus to sun.load_minus")),
        wrong_too=(_STRONG, say("mains_fuse", "line on sun.load_plus")),
        silent=(_STRONG, say("lamp_breaker", "line on sun.load_plus"), say("lamp_2", "from lamps.minus to sun.load_minus")),
        companions=[also("nuisance-fuse.over-loading", "sun_fuse", "300 W / 0.88 / 11.4 V come through its 30 A")],
    ),
    # With a common plus the inverter takes that from the bar, and comes home to the negative that the controller switches.
    Planting(
        "load-output.inverter", "sun", "camper_van",
        (_POSITIVE, _STRONG, say("roof_switch", "60 A"), say("mains_minus", "from mains.minus to sun.load_minus")), "wrong", tag="common",
    ),
    Planting("load-output.inverter", "sun", "camper_van", (_POSITIVE, say("roof_switch", "60 A")), "silent", tag="common"),
    *threefold(
        "load-output.over-current", "sun", "path_lights", tag="common",
        inside=(*_FROM_BATTERY, say("sun", "load output at most 1.53 A")),
        over=(*_FROM_BATTERY, say("sun", "load output at most 1.43 A")),
        far=(*_FROM_BATTERY, say("sun", "load output at most 0.9 A")),
    ),
    # Two lamps of 8 W at 10.8 V: 1.48 A.
    *threefold(
        "load-output.over-current", "sun", "path_lights",
        inside=say("sun", "load output at most 1.53 A"),
        over=say("sun", "load output at most 1.43 A"),
        far=say("sun", "load output at most 0.9 A"),
    ),
    # A motor of 6 W that says nothing of its start is taken at six times 0.556 A (a vendor's figure): with 0.741 A of the near
    # lights 4.07 A.
    *threefold(
        "load-output.start", "sun", "path_lights",
        inside=(say("sun", "load output peak 4.2 A"), *_FOUNTAIN),
        over=(say("sun", "load output peak 3.9 A"), *_FOUNTAIN),
        far=(say("sun", "load output peak 2.5 A"), *_FOUNTAIN),
    ),
    *threefold(
        "load-output.start", "sun", "path_lights", tag="declared",
        inside=say("sun", "load output peak 1.53 A"),
        over=say("sun", "load output peak 1.43 A"),
        far=say("sun", "load output peak 0.9 A"),
    ),
    *yes_no(
        "one-way-disconnect.feeds-inverter", "cut", "camper_van",
        wrong=_mains_cut("; 65 A"),
        wrong_too=(*_mains_cut("; 65 A"), say("mains_plus", "from cut.line to mains.plus"), say("mains_0", "from mains_fuse.load to cut.load")),
        silent=_mains_cut("; 65 A; not one direction only"),
        wrong_too_also=[also("one-way-disconnect.reverse-current", "cut", "turned round, all that the inverter takes comes back through it")],
    ),
    # An electronic main switch.
    Planting(
        "one-way-disconnect.feeds-inverter", "main", "camper_van", (say("main", "electronic; one direction only"),), "wrong",
        (also("one-way-disconnect.reverse-current", "main", "what charges at the bars comes back through it"),),
    ),
    Planting("one-way-disconnect.feeds-inverter", "main", "camper_van", (say("main", "electronic; not one direction only"),), "silent"),
    # A charger at the bars of an electronic main switch.
    Planting(
        "one-way-disconnect.reverse-current", "main", "bench_supply", (say("main", "electronic; one direction only"),), "wrong",
    ),
    # What charges on the loads' side, and a disconnect whose line and load are swapped.
    *yes_no(
        "one-way-disconnect.reverse-current", "cut", "windmill_hut",
        wrong=_BEHIND_CUT,
        wrong_too=(say("cut_1", "from cut_fuse.load to cut.load"), say("cut_2", "from cut.line to cut_bar")),
        silent=(*_BEHIND_CUT, say("cut", "not one direction only")),
    ),
    # 22.3 V x (1 + 0.0029 x 45) = 25.2 V at -20 degC, with the main switch open.
    *threefold(
        "panel-without-battery.load-exposed", "sun", "garden_shed",
        inside=(_NEEDS, say("butt_pump", "works on 10 V to 26 V")),
        over=(_NEEDS, say("butt_pump", "works on 10 V to 24.5 V")),
        far=_NEEDS,
        inside_also=[also("panel-without-battery.by-hand", "sun", "the main switch leads there, and no load suffers")],
    ),
    # What hangs on the load output stays on the controller: 22 V x (1 + 0.0029 x 41) = 24.6 V at -16 degC.
    *threefold(
        "panel-without-battery.load-exposed", "sun", "path_lights",
        inside=(_NEEDS, say("far_lights", "works on 10 V to 25.4 V")),
        over=(_NEEDS, say("far_lights", "works on 10 V to 24 V")),
        far=(_NEEDS, say("far_lights", "works on 10 V to 16 V")),
        inside_also=[also("panel-without-battery.by-hand", "sun", "the breaker leads there, and no load suffers")],
    ),
    # The controller behind the main fuse, which blows: 22 V x (1 + 0.0029 x 35) = 24.2 V at -10 degC for the radio.
    *threefold(
        "panel-without-battery.load-exposed", "sun", "boat",
        inside=(_NEEDS, _BEHIND_FUSE, say("radio", "works on 10.5 V to 25 V")),
        over=(_NEEDS, _BEHIND_FUSE, say("radio", "works on 10.5 V to 23.5 V")),
        far=(_NEEDS, _BEHIND_FUSE),
        companions=[_FUSE_FIRST],
        inside_also=[_FUSE_FIRST, also("panel-without-battery.by-failure", "sun", "the main fuse leads there, and no load suffers")],
    ),
    # All that stays on the output bears the cold panel's voltage.
    *yes_no(
        "panel-without-battery.by-hand", "sun", "garden_shed",
        wrong=(_NEEDS, _PUMP_BEARS),
        wrong_too=(_NEEDS, _PUMP_BEARS, say("sun_fuse", "line on main.load")),
        silent=_PUMP_BEARS,
    ),
    Planting("panel-without-battery.by-hand", "sun", "portable_box", (_NEEDS, say("radio", "works on 10 V to 32 V")), "wrong"),
    # One switch opens panel and battery; what is left is the fuse between them.
    Planting(
        "panel-without-battery.by-hand", "sun", "boat", (_NEEDS,), "silent",
        (also("panel-without-battery.by-failure", "sun", "sun_fuse blown leaves the panel alone"),),
    ),
    *yes_no(
        "panel-without-battery.by-failure", "sun", "boat",
        wrong=_NEEDS,
        wrong_too=(_NEEDS, say("sun_return", "from house.minus to sun.batt_minus")),
        silent=say("sun", "survives PV without a battery"),
    ),
    Planting("panel-without-battery.by-failure", "sun", "water_pump", (_NEEDS,), "wrong"),
)  # fmt: skip
