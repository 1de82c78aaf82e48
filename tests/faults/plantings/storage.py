"""Faults of storage: coils and inverters that drain, packs that are joined, batteries that are not held down."""

from __future__ import annotations

from dataclasses import replace

from faults import Edit, Planting, add, also, drop, in_state, say, threefold, unsay, yes_no

# Packs of two_packs: 13.4 V full, 11.0 V at the cut-off; 0.9 m of 2 AWG (0.513 mohm/m) and a switch of 0.2 mohm on each side: 1.32 mohm in all.
_SWITCHES = ("left_switch", "right_switch")
_SWITCHED = unsay(_SWITCHES, "joins_through", "joining_current")
_WITHOUT_RULE = unsay("procedure", "joining_difference")
_RESTING = say(_SWITCHES, "not joined while charging")
_BOTH = ("left", "right")
_CHARGED_FAST = tuple(say(name, "charge at most 200 A; bms { charge at most 200 A }") for name in _BOTH)


def of_bank(names: str, plantings: tuple[Planting, ...]) -> tuple[Planting, ...]:
    """Let the planting that lies inside name the whole bank: what passes is said of the whole bank, what is found of one of its packs."""
    inside, *rest = plantings
    return replace(inside, subject=names), *rest


def _resistance(each: str) -> Edit:
    return say(_BOTH, f"internal resistance {each}")


def _joint_meter(drain: str) -> tuple[Edit, ...]:
    """A meter where packs join, and a switch that takes the battery of the box off it, as the box is stored."""
    return (
        drop("main_in"),
        add("switch house_switch { same as battery_switch except { in inside; within reach } }"),
        add("fuse joint_fuse { same as cc_1 except { in inside; line on joint_plus } }"),
        add(f"meter joint_meter {{ same as panel_meter except {{ takes {drain}; in inside }} }}"),
        add(
            "wires 6 AWG, in inside, red { main_in from main_fuse.load to house_switch.line, 0.25 m; main_mid from house_switch.load to joint_plus, 0.2 m }"
        ),
        add(
            "wires 16 AWG, in inside { meter_plus from joint_fuse.load to joint_meter.plus, 0.3 m, red; meter_minus from joint_meter.minus to minusbar, 0.3 m, black }"
        ),
        in_state("all states", "main, house_switch closed"),
        in_state("stored", "main, house_switch open"),
        say("procedure", 'to store "turn both switches off and unplug the packs"'),
    )


def _stored_joined(loss: str) -> tuple[Edit, ...]:
    return (
        in_state("stored", "packs 2 joined"),
        say("house", f"self-discharge {loss}/month"),
        say("procedure", 'to store "turn the main switch off"'),
    )


_FOR_GOOD = (
    drop("left_fuse", "right_fuse", "left_switch", "right_switch", "left_1", "left_2", "right_1", "right_2"),
    add(
        "wires 2 AWG, in inside, red { left_plus from left.plus to bank_plus, 0.5 m; right_plus from right.plus to bank_plus, 0.5 m }"
    ),
)

_NO_FUSE = [
    also("unfused-pack.no-fuse", name, "packs with nothing between them that opens have no fuse either") for name in _BOTH
]

_BEFORE_MAIN = [
    also("fed-when-off.stays-fed", "joint_meter", "with every switch open and their plugs in, the packs still feed the meter")
]

PLANTINGS: tuple[Planting, ...] = (
    # 2 % of what the blocks give is 11.5 Wh; 1.8 h a day by the states: 6.39 W (common practice, no source).
    *threefold(
        "hungry-coil.over-a-fiftieth", "pump_relay", "water_pump",
        inside=say("pump_relay", "coil 6.2 W"),
        over=say("pump_relay", "coil 6.6 W"),
        far=say("pump_relay", "coil 11 W"),
    ),
    # A twentieth of 12 V x 80 Ah is 48 Wh; 17 h a day by the states: 2.82 W (common practice, no source).
    *threefold(
        "idle-inverter.over-a-twentieth", "mains", "market_stall",
        inside=(unsay("mains", "sleeps"), say("mains", "draws 2.75 W with no load")),
        over=(unsay("mains", "sleeps"), say("mains", "draws 2.9 W with no load")),
        far=(unsay("mains", "sleeps"), say("mains", "draws 3.9 W with no load")),
        far_also=[also("oversized-inverter.idle-share", "mains", "66 Wh are over 15 % of the 360 Wh that the till takes")],
    ),
    # Both packs have 2 x 20 Ah, lose 2 x (1.25 Ah + 0.6 mA x 730 h) a month, and 0.73 Ah for each mA of the meter; 6 months.
    *threefold(
        "joined-drain.joined", "packs[1].cells, packs[2].cells", "pump_trolley",
        inside=_joint_meter("4.2 mA"),
        over=_joint_meter("4.8 mA"),
        far=_joint_meter("11 mA"),
        companions=_BEFORE_MAIN, inside_also=_BEFORE_MAIN,
    ),
    # 20 Ah over what it loses by itself and 0.6 mA x 730 h = 0.438 Ah a month; 6 months at 5.79 %.
    *threefold(
        "joined-drain.apart", "house", "pump_trolley",
        inside=_stored_joined("5.6 %"),
        over=_stored_joined("6.0 %"),
        far=_stored_joined("12 %"),
    ),
    # (13.4 V - 11.0 V) / (2 R + 1.32 mohm) for the fuse of 100 A.
    *of_bank("left, right", threefold(
        "joining-surge.over-rating", "right", "two_packs",
        inside=(_SWITCHED, _WITHOUT_RULE, _RESTING, *_CHARGED_FAST, _resistance("11.7 mohm")),
        over=(_SWITCHED, _WITHOUT_RULE, _RESTING, *_CHARGED_FAST, _resistance("11.0 mohm")),
        far=(_SWITCHED, _WITHOUT_RULE, _RESTING, *_CHARGED_FAST, _resistance("6.0 mohm")),
    )),
    # The same for the 80 A that the management system lets in; a posted rule does not mend it.
    *of_bank("left, right", threefold(
        "joining-surge.over-charge", "right", "two_packs",
        inside=(_SWITCHED, _resistance("14.7 mohm")),
        over=(_SWITCHED, _resistance("14.0 mohm")),
        far=(_SWITCHED, _resistance("14.0 mohm"), say(_BOTH, "charge at most 60 A")),
    )),
    # By the posted 0.1 V of 2.4 V it is a twenty-fourth.
    *of_bank("left, right", threefold(
        "joining-surge.by-rule", "right", "two_packs",
        inside=(_SWITCHED, *_CHARGED_FAST, _resistance("11.7 mohm")),
        over=(_SWITCHED, *_CHARGED_FAST, _resistance("11.0 mohm")),
        far=(_SWITCHED, *_CHARGED_FAST, _resistance("6.0 mohm")),
    )),
    # 2 x 0.9 m of 2 AWG: 2.4 V / (2 R + 0.923 mohm) for 80 A.
    *threefold(
        "joining-surge.work-step", "left", "two_packs",
        inside=(*_FOR_GOOD, _resistance("14.9 mohm")),
        over=(*_FOR_GOOD, _resistance("14.2 mohm")),
        far=(*_FOR_GOOD, _resistance("7 mohm")),
        companions=_NO_FUSE, inside_also=_NO_FUSE,
    ),
    # What the resistor lets pass, and half of the controller's 40 A, for the fuse of 100 A.
    *of_bank("left, right", threefold(
        "joining-while-charging.over-rating", "right", "two_packs",
        inside=(*_CHARGED_FAST, say(_SWITCHES, "joining current at most 77 A")),
        over=(*_CHARGED_FAST, say(_SWITCHES, "joining current at most 83 A")),
        far=(*_CHARGED_FAST, say(_SWITCHES, "joining current at most 120 A")),
    )),
    # The same for the 80 A that the management system lets in.
    *of_bank("left, right", threefold(
        "joining-while-charging.over-charge", "right", "two_packs",
        inside=say(_SWITCHES, "joining current at most 58 A"),
        over=say(_SWITCHES, "joining current at most 62 A"),
        far=(say(_SWITCHES, "joining current at most 62 A"), say(_BOTH, "charge at most 60 A")),
    )),
    *yes_no(
        "loose-battery.not-held", "house", "portable_box",
        wrong=unsay("house", "held_down", "hold_down_force", "hold_down_movement"),
        wrong_too=(unsay("house", "hold_down_force", "hold_down_movement"), say("house", "not held down")),
        silent=unsay("house", "held_down"),
    ),
    # 2 x 6.1 kg x 9.81 m/s2 = 119.7 N (33 CFR 183.420(a)).
    *threefold(
        "loose-battery.weak", "house", "portable_box",
        inside=say("house", "hold-down force 123 N"),
        over=say("house", "hold-down force 117 N"),
        far=say("house", "hold-down force 60 N"),
    ),
    # 1 inch, 25 mm (33 CFR 183.420(a)).
    *threefold(
        "loose-battery.moves", "house", "boat",
        inside=say("house", "moves at most 24 mm"),
        over=say("house", "moves at most 26 mm"),
        far=say("house", "moves at most 40 mm"),
    ),
    # 26 kg would be 510 N: 90 lbf, 400 N, are enough.
    *threefold(
        "loose-battery.fixed", "house", "garden_shed",
        inside=say("house", "hold-down force 410 N"),
        over=say("house", "hold-down force 390 N"),
        far=say("house", "hold-down force 200 N"),
    ),
    # In a shed nobody says anything of it either.
    *yes_no(
        "loose-battery.fixed", "house", "garden_shed",
        wrong=unsay("house", "held_down", "hold_down_force", "hold_down_movement"),
        wrong_too=say("house", "moves at most 60 mm"),
        silent=say("house", "moves at most 24 mm"),
    ),
)  # fmt: skip
