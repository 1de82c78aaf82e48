"""Faults of switches: what they break, make and carry, coils, capacitors, what stays live, what takes a source off."""

from __future__ import annotations

from faults import Companion, Edit, Planting, add, also, in_state, say, threefold, unsay, yes_no


def _stays_fed(*names: str) -> list[Companion]:
    return [
        also("fed-when-off.stays-fed", name, "it is tapped before the main switch, and nothing else takes it off")
        for name in names
    ]


# The selector may lay both batteries on the bar: the fuses (40 A) stand the rush less than its contacts, and it is waived there.
_BOTH = (
    say(
        "choice",
        "position one joins first_end; position two joins second_end; position both joins first_end, second_end; "
        "position off joins nothing; not joined while charging",
    ),
    say(("first_fuse", "second_fuse"), "same as post_40"),
    say(("first", "second"), "charge at most 60 A"),
    add('waive joining-surge on second up to 55 A because "a spare fuse lies in the box" until 2026-12-31'),
)
_BY_RULE = (*_BOTH, say("procedure", "join packs within 0.2 V"))
_NO_PRECHARGE = unsay("mains", "precharge_resistor", "precharge_time")
_PACK_BEHIND = also("live-behind-main.pack-behind", "main", "the packs hang on the bar behind the main switch")


def _mains_switch(reach: str) -> tuple[Edit, ...]:
    """The inverter is fed from before the main switch, through a switch of its own."""
    return (
        say("mains_fuse", "line on main.line"),
        add(f"switch mains_switch {{ same as battery_switch except {{ in inside; {reach} }} }}"),
        say("mains_plus", "from mains_fuse.load to mains_switch.line"),
        add("wire mains_on from mains_switch.load to mains.plus { 6 AWG; 0.3 m; red; in inside }"),
        in_state("all states", "mains_switch closed"),
        in_state("stored", "mains_switch open"),
    )


PLANTINGS: tuple[Planting, ...] = (
    # The pump takes 140 W / 20 V = 7 A at its cut-off; 28.8 V + 48 mV/K x 35 K = 30.5 V are above 30 V.
    *threefold(
        "arcing-switch.high-voltage", "pump_relay", "water_pump",
        inside=say("pump_relay", "breaks 7.2 A at 60 V dc"),
        over=say("pump_relay", "breaks 6.8 A at 60 V dc"),
        far=say("pump_relay", "breaks 4 A at 60 V dc"),
    ),
    # The controller takes the battery to 56.8 V: a figure for 48 V is none there, nor is one for AC.
    *yes_no(
        "arcing-switch.high-voltage", "main", "cabin48",
        wrong=(unsay("main", "breaks"), say("main", "AC only; makes 200 A")),
        wrong_too=say("main", "breaks 200 A at 48 V dc"),
        silent=say("main", "breaks 200 A at 58 V dc; AC only"),
    ),
    # 48 W / 10.8 V, the lowest voltage of the battery, = 4.44 A.
    *threefold(
        "arcing-switch.low-voltage", "pump_switch", "garden_shed",
        inside=say("pump_switch", "breaks 4.6 A at 30 V dc; makes 20 A"),
        over=say("pump_switch", "breaks 4.3 A at 30 V dc; makes 20 A"),
        far=say("pump_switch", "breaks 3 A at 30 V dc; makes 20 A"),
    ),
    # 14.4 V + 24 mV/K x (25 - 8) K = 14.8 V.
    *yes_no(
        "arcing-switch.low-voltage", "main", "radio_station",
        wrong=(unsay("main", "breaks"), say("main", "AC only; makes 200 A")),
        wrong_too=say("main", "breaks 200 A at 12 V dc; makes 200 A"),
        silent=say("main", "breaks 200 A at 16 V dc; AC only"),
    ),
    # Three times the running current: 3 x 48 W / 12.1 V at the pump = 11.9 A; 3 x 140 W / 25 V = 16.8 A.
    *threefold(
        "arcing-switch.inrush", "pump_switch", "garden_shed",
        inside=say("pump_switch", "breaks 5 A at 30 V dc; makes 12.3 A"),
        over=say("pump_switch", "breaks 5 A at 30 V dc; makes 11.5 A"),
        far=say("pump_switch", "breaks 5 A at 30 V dc; makes 6 A"),
    ),
    *threefold(
        "arcing-switch.inrush-high-voltage", "pump_relay", "water_pump",
        inside=say("pump_relay", "breaks 10 A at 60 V dc; makes 17.3 A"),
        over=say("pump_relay", "breaks 10 A at 60 V dc; makes 16.2 A"),
        far=say("pump_relay", "breaks 10 A at 60 V dc; makes 10 A"),
    ),
    # A diode before the switch of the coil takes nothing once that is open.
    *yes_no(
        "bare-coil.unsuppressed", "pump_relay", "pump_trolley",
        wrong=say("pump_relay", "no coil suppression"),
        wrong_too=(
            say("pump_relay", "no coil suppression"),
            add("diode spike { 1 A; in inside; anode on minusbar; cathode on pump_switch.line }"),
        ),
        silent=(
            say("pump_relay", "no coil suppression"),
            add("diode spike { 1 A; in inside; anode on pump_relay.coil_minus; cathode on pump_relay.coil_plus }"),
        ),
    ),
    # 5 x 2 kohm x 4 mF = 40 s.
    *threefold(
        "charged-capacitors.short-wait", "mains", "workshop_cart",
        inside=say("procedure", "wait 41.5 s after switch-off"),
        over=say("procedure", "wait 38.5 s after switch-off"),
        far=say("procedure", "wait 10 s after switch-off"),
    ),
    # Without its precharge: 26.8 V over 11 mohm of battery, 2.15 m of 2 AWG (1.1 mohm), the switch (0.2) and the capacitors (10): 1.2 kA.
    *threefold(
        "capacitor-inrush.over-making", "mains", "workshop_cart",
        inside=(_NO_PRECHARGE, say("house", "bms { short-circuit trip 1500 A }"), say("main", "makes 1240 A")),
        over=(_NO_PRECHARGE, say("house", "bms { short-circuit trip 1500 A }"), say("main", "makes 1160 A")),
        far=(_NO_PRECHARGE, say("house", "bms { short-circuit trip 1500 A }"), say("main", "makes 400 A")),
    ),
    *threefold(
        "capacitor-inrush.trips-battery", "mains", "workshop_cart",
        inside=(_NO_PRECHARGE, say("house", "bms { short-circuit trip 1240 A }"), say("main", "makes 2000 A")),
        over=(_NO_PRECHARGE, say("house", "bms { short-circuit trip 1160 A }"), say("main", "makes 2000 A")),
        far=(_NO_PRECHARGE, say("main", "makes 2000 A")),
    ),
    # 5 x 10 ohm x 4 mF = 0.2 s.
    *threefold(
        "capacitor-inrush.short-precharge", "mains", "workshop_cart",
        inside=say("mains", "precharge for 0.208 s"),
        over=say("mains", "precharge for 0.193 s"),
        far=say("mains", "precharge for 0.1 s"),
    ),
    *yes_no(
        "fed-when-off.stays-fed", "pump", "camper_van",
        wrong=say("pump_breaker", "line on main.line"),
        wrong_too=say("pump_breaker", "line on house.plus"),
        silent=say("pump_breaker", "line on main.load"),
    ),
    # (12.9 - 11.8) V over 2 x 10 mohm, 1.2 m of 6 AWG (1.56 mohm) and two contacts of 0.3 mohm: 1.1 / 0.0222 = 49.6 A.
    *threefold(
        "joining-selector.over-rating", "choice", "choir_stage",
        inside=(*_BOTH, say("choice", "51.5 A")),
        over=(*_BOTH, say("choice", "48 A")),
        far=(*_BOTH, say("choice", "30 A")),
        inside_also=[also("joining-surge.over-rating", "second", "the same rush through the 40 A fuses, waived")],
        companions=[also("joining-surge.over-rating", "second", "the same rush through the 40 A fuses, waived")],
        far_also=[also("weak-part.fixed-load", "choice", "the 40 A fuse before it is larger than it")],
    ),
    # By the rule of 0.2 V it would be 0.2 / 1.1 of that, 9 A.
    *threefold(
        "joining-selector.by-rule", "choice", "choir_stage",
        inside=(*_BY_RULE, say("choice", "51.5 A")),
        over=(*_BY_RULE, say("choice", "48 A")),
        far=(*_BY_RULE, say("choice", "30 A")),
        inside_also=[also("joining-surge.by-rule", "second", "the same rush through the 40 A fuses, waived")],
        companions=[also("joining-surge.by-rule", "second", "the same rush through the 40 A fuses, waived")],
        far_also=[also("weak-part.fixed-load", "choice", "the 40 A fuse before it is larger than it")],
    ),
    *yes_no(
        "live-behind-main.pack-behind", "main", "pump_trolley",
        wrong=say("pack_fuse", "line on plusbar"),
        wrong_too=add("wire around from joint_plus to plusbar { 6 AWG; 0.3 m; red; in inside }"),
        silent=say("pack_fuse", "line on main.line"),
    ),
    *yes_no(
        "live-behind-main.called-dead", "main", "pump_trolley",
        wrong=(say("pack_fuse", "line on plusbar"), add('state "care" { main open; packs 1 joined; pump_plug apart; called dead }')),
        wrong_too=(say("pack_fuse", "line on plusbar"), add('state "care" { main open; packs 2 joined; called dead }')),
        silent=add('state "care" { main open; packs 2 joined; called dead }'),
        companions=[_PACK_BEHIND],
    ),
    # The bank gives more than 50 A when the inverter starts: 600 W / 0.88 are 682 W, 57 A at 12 V and more below.
    *yes_no(
        "no-disconnect.none-over-50-a", "house", "market_stall",
        wrong=(say("mains_fuse", "line on main.line"), in_state("stored", "mains off"), say("mains", "own drain 0.5 mA")),
        wrong_too=(say("mains_fuse", "line on house.plus"), in_state("stored", "mains off"), say("mains", "own drain 0.5 mA")),
        silent=(say("mains_fuse", "line on main.load"), say("lamp_fuse", "line on main.line")),
        companions=_stays_fed("mains"),
    ),
    # Three devices may do it together, four are too many: the main switch and three breakers beside it.
    *yes_no(
        "no-disconnect.none-over-50-a", "house", "camper_van",
        wrong=say(("lamp_breaker", "cool_breaker", "pump_breaker"), "line on main.line"),
        wrong_too=say(("lamp_breaker", "cool_breaker", "pump_breaker"), "line on house.plus"),
        silent=say(("lamp_breaker", "cool_breaker"), "line on main.line"),
        companions=_stays_fed("lamps", "cool", "pump"),
        silent_also=_stays_fed("lamps", "cool"),
    ),
    # The lamps have a switch of their own, the cool box has none; the trike takes 14 A at most.
    *yes_no(
        "no-disconnect.none", "house", "cargo_trike",
        wrong=say("cool_fuse", "line on main.line"),
        wrong_too=say("cool_fuse", "line on house.plus"),
        silent=say("lamp_fuse", "line on main.line"),
        companions=_stays_fed("cool"),
    ),
    *yes_no(
        "no-disconnect.out-of-reach-over-50-a", "house", "market_stall",
        wrong=say("main", "not within reach"),
        wrong_too=_mains_switch("not within reach"),
        silent=_mains_switch("within reach"),
    ),
    *yes_no(
        "no-disconnect.out-of-reach", "house", "cargo_trike",
        wrong=say("main", "not within reach"),
        wrong_too=(say("lamp_fuse", "line on main.line"), say("lamp_switch", "not within reach")),
        silent=(say("lamp_fuse", "line on main.line"), say("lamp_switch", "within reach")),
    ),
    Planting("no-disconnect.out-of-reach", "roof", "garden_shed", (say("roof_switch", "not within reach"),), "wrong"),
    # 4.44 A as above; the breaker of 15 A before it is larger than such a switch.
    *threefold(
        "overloaded-switch.over-rating", "pump_switch", "garden_shed",
        inside=say("pump_switch", "4.6 A"),
        over=say("pump_switch", "4.3 A"),
        far=say("pump_switch", "3 A"),
        inside_also=[also("weak-part.fixed-load", "pump_switch", "15 A before 4.6 A; where it is overloaded this yields")],
    ),
    # The shed gets 38 degC warm: 15 A x 0.31 = 4.65 A, x 0.29 = 4.35 A.
    *threefold(
        "overloaded-switch.over-rating", "pump_switch", "garden_shed", tag="warm",
        inside=say("pump_switch", "15 A; carries 100 % at 25 degC, 31 % at 38 degC"),
        over=say("pump_switch", "15 A; carries 100 % at 25 degC, 29 % at 38 degC"),
        far=say("pump_switch", "15 A; carries 100 % at 25 degC, 20 % at 38 degC"),
    ),
)  # fmt: skip
