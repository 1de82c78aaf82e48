"""Faults of wiring: strings and banks, terminals of batteries, outputs side by side, lengths, wires and their terminals."""

from __future__ import annotations

from faults import Companion, Edit, Planting, add, also, drop, say, threefold, unchecked, unsay, yes_no

_NO_BANK = "nothing feeds it, so that what it takes is not known"
_UNFUSED = also("far-fuse.missing", "radio_3", "1 m from the middle of the string, which the lower battery feeds past no fuse")
_NO_LENGTH = "its resistance is not known"


def _rest(volts: float) -> Edit:
    """The battery of the box stands so much higher than the packs, at every charge."""
    return say("house", f"rest {13.0 + volts:g} V at 20 %, {13.2 + volts:g} V at 60 %, {13.4 + volts:g} V at 100 %")


def _second(volts: str) -> Edit:
    """A second converter beside the one for 12 V."""
    return add(
        f"converter second {{ same as twelve_volt except {{ output {volts}; in inside }} }}; wires 2.5 mm2, in inside {{ "
        "second_1 from twelve_fuse.load to second.in_plus, 0.3 m, red; second_2 from second.in_minus to minusbar, 0.3 m, black; "
        "second_3 from second.out_plus to twelve_plus, 0.2 m, orange }"
    )


def _tap(plus: str, minus: str) -> Edit:
    """A radio between two points, behind a fuse and a switch of its own."""
    volts = "24 V; works on 20 V to 32 V" if (plus, minus) == ("plusbar", "minusbar") else "12 V"
    return add(
        f"fuse radio_fuse {{ same as cc_5 except {{ in inside; line on {plus} }} }}; label radio_label {{ same as fuse_label except {{ at radio_fuse }} }}; "
        "switch radio_switch { same as small_switch except { in inside; breaks 20 A at 48 V dc } }; "
        f"load radio {{ same as receiver except {{ {volts}; for 0.2 h/day }} }}; wires 14 AWG, in inside {{ "
        "radio_1 from radio_fuse.load to radio_switch.line, 0.3 m, red; radio_2 from radio_switch.load to radio.plus, 1 m, red; "
        f"radio_3 from radio.minus to {minus}, 1 m, black }}"
    )


def _no_bms(*names: str) -> list[Companion]:
    return [
        also("unguarded-lithium.no-bms", name, "lithium without a management system is a fault by itself") for name in names
    ]


PLANTINGS: tuple[Planting, ...] = (
    # A bank of 12 V on lamps for 11.3, 10.7 and 6 V: allowed are 12.4, 11.8 and 6.6 V (10 %, common practice).
    *threefold(
        "bank-voltage.off-nominal", "house", "market_stall",
        inside=say("lamps", "11.3 V"),
        over=say("lamps", "10.7 V"),
        far=say("lamps", "6 V"),
    ),
    # Two 12 V blocks in a row: a breaker that is moved to the middle of them gets half.
    Planting(
        "bank-voltage.off-nominal", "high", "water_pump", (say("pump_breaker", "line on low.plus"),), "wrong",
        (also("tapped-string.unwatched", "pump", "the pump hangs across the lower block alone"),),
    ),
    # 0.5 V over in a loop below 0.1 ohm (common practice): two batteries of 13 mohm, some 3 m of 4 and 6 AWG, four contacts.
    *threefold(
        "bank-voltage.loop", "house, packs[1].cells", "pump_trolley",
        inside=_rest(0.48), over=_rest(0.52), far=_rest(0.7),
        companions=[also("bank-voltage.loop", "house, packs[2].cells", "the same with the second pack")],
    ),
    # 33 CFR 183.420(g): no spring tension at a battery.
    *yes_no(
        "clip-terminal.spring", "house", "market_stall",
        wrong=say("house", "terminal plus { crocodile clip }"),
        wrong_too=say("house", "terminals plus, minus { spring clip }"),
        silent=say("house", "terminals plus, minus { post clamp }"),
    ),
    *yes_no(
        "clip-terminal.wing-nut", "house", "garden_shed",
        wrong=say("house", "terminal plus { wing nut }"),
        wrong_too=say("house", "terminal minus { wing nut }"),
        silent=say("house", "terminal plus { bolt }"),
    ),
    # Beside 12 V: 10.8 to 13.2 V.
    *threefold(
        "conflicting-sources.unlike-outputs", "second", "delivery_bike",
        inside=_second("12.9 V"), over=_second("13.5 V"), far=_second("24 V"),
    ),
    *threefold(
        "long-string.too-many", "block_1", "repeater48",
        inside=say("block_1", "at most 4 in series"),
        over=say("block_1", "at most 3 in series"),
        far=say("block_1", "at most 1 in series"),
        coarse="whole numbers",
    ),
    # 2 x 14.6 V = 29.2 V.
    *threefold(
        "long-string.blocking", "upper", "light_cart",
        inside=say("upper", "bms { transistors block 30 V }"),
        over=say("upper", "bms { transistors block 28.4 V }"),
        far=say("upper", "bms { transistors block 20 V }"),
    ),
    *yes_no(
        "missing-length.not-said", "lamp_1", "market_stall",
        wrong=unsay("lamp_1", "length"),
        wrong_also=[
            unchecked("voltage-collapse.collapse", "lamps", _NO_LENGTH), unchecked("weak-fault.never-opens", "lamp_fuse", _NO_LENGTH),
        ],
        wrong_too=(unsay("lamp_1", "length"), say("lamp_1", "measured 2.5 mohm")),
        silent=say("lamp_1", "0.2 m to 0.4 m"),
    ),
    *yes_no(
        "open-terminal.open", "lamps", "garden_shed",
        wrong=drop("lamp_3"),
        wrong_too=drop("lamp_2"),
        wrong_too_also=[also("open-terminal.open", "lamp_switch", "the wire ended there")],
        silent=say("lamp_3", "from lamps.minus to house.minus"),
        companions=[unchecked("run-time.under-promise", "house", _NO_BANK)],
    ),
    *yes_no(
        "open-terminal.unwired", "spare", "garden_shed",
        wrong=add("switch spare { same as small_switch except { in shed } }"),
        wrong_too=add("breaker spare { same as rail_10 except { in shed } }"),
        silent=add("bus spare { same as bar except { in shed } }"),
    ),
    # A 12 V radio on the lower or on the upper half of 24 V (the fault catalogue's own example).
    *yes_no(
        "tapped-string.unwatched", "radio", "water_pump",
        wrong=_tap("low.plus", "minusbar"),
        wrong_too=_tap("plusbar", "high.minus"),
        wrong_too_also=[_UNFUSED],
        silent=_tap("plusbar", "minusbar"),
    ),
    *yes_no(
        "tapped-string.watched", "radio", "light_cart",
        wrong=_tap("lower.plus", "minusbar"),
        wrong_too=_tap("plusbar", "upper.minus"),
        wrong_too_also=[_UNFUSED],
        silent=_tap("plusbar", "minusbar"),
    ),
    *yes_no(
        "tapped-string.unwatched", "radio", "light_cart",
        wrong=(_tap("lower.plus", "minusbar"), say("upper", "no BMS")),
        wrong_also=_no_bms("upper"),
        wrong_too=(_tap("plusbar", "upper.minus"), say(("lower", "upper"), "no BMS")),
        wrong_too_also=[*_no_bms("lower", "upper"), _UNFUSED],
        silent=_tap("plusbar", "minusbar"),
    ),
    # 14 AWG are 2.08 mm2: 2.15 mm2 do not go in, 2.0 mm2 are not held.
    *threefold(
        "wire-range.too-thick", "lamp_2, lamp_switch.load", "market_stall",
        inside=say("lamp_switch", "terminal load { takes 18 AWG to 14 AWG }"),
        over=(say("lamp_switch", "terminal load { takes 18 AWG to 14 AWG }"), say("lamp_2", "2.15 mm2")),
        far=(say("lamp_switch", "terminal load { takes 18 AWG to 14 AWG }"), say("lamp_2", "12 AWG")),
    ),
    *threefold(
        "wire-range.too-thin", "lamp_2, lamp_switch.load", "market_stall",
        inside=say("lamp_switch", "terminal load { takes 14 AWG to 10 AWG }"),
        over=(say("lamp_switch", "terminal load { takes 14 AWG to 10 AWG }"), say("lamp_2", "2.0 mm2")),
        far=(say("lamp_switch", "terminal load { takes 14 AWG to 10 AWG }"), say("lamp_2", "16 AWG")),
    ),
    # Two wires pass on at these lights.
    *yes_no(
        "wire-range.too-many", "near_lights", "path_lights",
        wrong=say("near_lights", "terminal plus { 1 wire }; terminal minus { 2 wires }"),
        wrong_too=say("near_lights", "terminal plus { 2 wires }; terminal minus { 1 wire }"),
        silent=say("near_lights", "terminal plus { 2 wires }; terminal minus { 3 wires }"),
    ),
    *yes_no(
        "wire-range.strands-cut", "lamp_switch", "garden_shed",
        wrong=say("lamp_switch", "terminal line { strands cut off to fit }"),
        wrong_too=say("lamp_switch", "terminal load { strands cut }"),
        silent=say("lamp_switch", "terminal line { no strands cut }"),
    ),
)  # fmt: skip
