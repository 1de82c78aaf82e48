"""Faults of connectors and joints, the first half: strands, studs, interlock loops, earth pins, live and spare pins, mains patterns, torque."""

from __future__ import annotations

from faults import Edit, Planting, add, also, drop, say, threefold, unsay, yes_no

_RETURNS = {
    "nav_2": "nav_lights",
    "cabin_2": "cabin_lights",
    "radio_2": "radio",
    "bilge_3": "bilge_pump",
    "engine_minus": "outboard",
}


def _on_post(count: int) -> tuple[Edit, ...]:
    """So many circuits of the boat return to the battery's own post in place of the bar; the post is one that takes them."""
    moved = [say(name, f"from {part}.minus to house.minus") for name, part in list(_RETURNS.items())[:count]]
    return (*moved, say("house", "terminal minus { 6 wires }"))


def _coil(pins: str) -> tuple[Edit, ...]:
    """A contactor with a coil of 10 W in place of the pump's relay, and contacts of so much for its loop."""
    return say("pump_relay", "coil 10 W"), say("loop_fuse", "same as cc_3"), say("pump_socket", f"pins 3, 4 {{ {pins} }}")


def _key(before: str, after: str) -> tuple[Edit, ...]:
    """The boat's panel charges only while a key plug with a jumper is in, in a lead that is cut so; its controller does not bear a panel alone."""
    plug = (
        'connector key_socket with key_plug { 2 pins; touch-safe; 30 A; contact resistance 1 mohm; takes 16 AWG to 8 AWG; family "key two"; '
        'made by "maker one"; product series "key"; load-break 30 A at 60 V dc; works up to 85 degC; pins 1, 2 { "key of the panel"; mate last; part first } '
        "key_socket { on the panel; in cabin } key_plug { jumper key_loop from 1 to 2 { 12 AWG; 40 mm; copper; stranded; 105 degC insulation; 600 V } } }"
    )
    name, ends = before.split(": ")
    return (
        say("sun", "not bears PV with no battery"),
        add(plug),
        say(name, ends),
        add(f"wire key_wire {after}"),
        add("label key_label { same as socket_label except { at key_socket } }"),
    )


def _lead(contacts: str) -> tuple[Edit, ...]:
    """The battery of the fence box comes off at a plug whose half on the battery has such contacts."""
    return (
        add(
            'connector lead_socket with lead_plug { same as round_two except { keying "D"; pin 1 plus "battery"; pin 2 minus "battery, return"; in inside } '
            f"lead_socket {{ {contacts} }} }} "
            "wires 12 AWG, in inside { lead_on from lead_plug.1 to main_fuse.line, 0.06 m, red; return_on from minusbar to lead_plug.2, 0.2 m, black }"
        ),
        say("battery_lead", "from house.plus to lead_socket.1; 0.1 m"),
        say("battery_return", "from lead_socket.2 to house.minus; 0.1 m"),
    )


def _panel(voltage: str) -> tuple[Edit, ...]:
    """A panel of such an open-circuit voltage at the portable box."""
    return (
        say("sheet", f"Voc {voltage}; Vmp 42 V; Isc 2.6 A; Imp 2.4 A"),
        say("sun", "PV at most 150 V"),
        say(("sun_plug", "sun_socket"), "load-break 30 A at 150 V dc"),
        add("cover sun_guard { covers sun, sun_socket; with a tool; insulating }"),
    )


_BARE = say("sun_plug", "bare pins")
# The controller charges only while the panel's plug is in: its lead runs out and back through pins as long as those of the panel.
_LOOP = (
    say(("sun_socket", "sun_plug"), '4 pins; pins 3, 4 { "charge lead"; mate equal }'),
    say(
        "sun_plug",
        "jumper charge_loop from 3 to 4 { 10 AWG; 40 mm; copper; stranded; 105 degC insulation; 600 V; in free air }",
    ),
    say("charge_out", "from sun_fuse.load to sun_socket.3"),
    add("wire charge_on from sun_socket.4 to sun.batt_plus { 10 AWG; 0.3 m; red; in inside }"),
)

_PUMP = ("pump_socket", "pump_plug")
_RADIO = ("radio_socket", "radio_plug")
_EXTRA = add("wire radio_3 from radio_fuse.load to radio_socket.3 { 14 AWG; 0.3 m; red; in inside }")

PLANTINGS: tuple[Planting, ...] = (
    *yes_no(
        "bare-strands.bare", "lamp_2", "garden_shed",
        wrong=say("lamps", "terminal plus { bare screw; bare }"),
        wrong_too=(say("lamp_2", "bare ends"), say("lamps", "terminal plus { wing nut }")),
        silent=(say("lamp_2", "bare ends"), say("lamps", "terminal plus { bare screw; ferrule }")),
    ),
    *yes_no(
        "bare-strands.tinned", "lamp_1", "camper_van",
        wrong=say("lamp_1", "tinned ends"),
        wrong_too=say("lamps", "terminal plus { bare screw; tinned }"),
        silent=say("lamps", "terminal plus { spring cage; tinned }"),
    ),
    *yes_no(
        "bare-strands.soldered-only", "lamp_cord.lamp_plus", "portable_box",
        wrong=say("lamps", "terminal plus { soldered only }"),
        wrong_too=say("lamps", "terminal plus { solder; bare }"),
        silent=say("lamps", "terminal plus { solder; lug }"),
    ),
    # Four lugs on a stud (ABYC E-11).
    *threefold(
        "crowded-stud.too-many", "house", "boat",
        inside=_on_post(3), over=_on_post(4), far=_on_post(5),
        coarse="one lug more than four is a quarter more",
    ),
    *yes_no(
        "crowded-stud.wrong-hole", "house", "garden_shed",
        wrong=say("house", "terminal minus { M10 lug }"),
        wrong_too=say("house", "terminal minus { M6 lug }"),
        silent=say("house", 'terminal minus { hole "5/16 in" }'),
    ),
    *yes_no(
        "crowded-stud.order", "house", "cabin48",
        wrong=say("house", "terminal plus { lugs from the bottom sun_tap, battery_lead }"),
        wrong_too=say("house", "terminal minus { lugs from the bottom sun_2, battery_return }"),
        silent=(
            say("case_bond", "from house.minus to cabinet"),
            say("house", "terminal minus { lugs from the bottom case_bond, battery_return, sun_2 }"),
        ),
    ),
    # 10 W at 12 V are 14.4 ohm: 0.91 A at the 13.1 V of the battery at 60 %.
    *threefold(
        "interlock-loop.over-current", "pump_loop", "pump_trolley",
        inside=_coil("0.94 A"), over=_coil("0.88 A"), far=_coil("0.65 A"),
        inside_also=[also("weak-part.user-load", "pump_socket", "the 3 A fuse of the loop before contacts of 0.94 A, at an outlet")],
    ),
    # Control wiring of 16 AWG: 10 A at most (NEC 725.43).
    *threefold(
        "interlock-loop.oversized-fuse", "pump_loop", "pump_trolley",
        inside=say("loop_fuse", "same as cc_10"),
        over=say("loop_fuse", "12 A"),
        far=(say("loop_fuse", "same as cc_20"), say(("pump_socket", "pump_plug"), "pins 3, 4 { 20 A }")),
        coarse="12 A is the next standard size",
    ),
    *yes_no(
        "interlock-loop.unfused-end", "pump_loop", "pump_trolley",
        wrong=(drop("loop_fuse"), say("loop_1", "from house.plus to pump_switch.line")),
        wrong_too=(
            drop("loop_fuse"),
            say("loop_1", "from house.plus to pump_socket.3"),
            say("loop_2", "from pump_socket.4 to pump_switch.line"),
            say("loop_3", "from pump_switch.load to pump_relay.coil_plus"),
        ),
        silent=say("loop_fuse", "line on joint_plus"),
        companions=[
            also("interlock-loop.oversized-fuse", "pump_loop", "the packs come to it through fuses of 50 A; 10 A for 16 AWG"),
            *(also("unfused-sense-lead.unfused", f"loop_{n}", "a control lead with nothing between it and the post") for n in (1, 2, 3)),
        ],
        wrong_also=[also("oversized-fuse.too-large", "loop_1", "beside the switch, no part of the loop: 50 A of the packs for 1.5 x 22.5 A")],
        wrong_too_also=[also("oversized-fuse.too-large", "loop_3", "beside the switch, no part of the loop: 50 A of the packs for 1.5 x 22.5 A")],
    ),
    *yes_no(
        "interlock-loop.return-side", "pump_loop", "pump_trolley",
        wrong=(
            say("loop_2", "from pump_switch.load to pump_relay.coil_plus"),
            say("loop_3", "from pump_relay.coil_minus to pump_socket.3; black"),
            say("loop_4", "from pump_socket.4 to minusbar"),
        ),
        wrong_too=(
            say("loop_1", "from loop_fuse.load to pump_relay.coil_plus"),
            say("loop_2", "from pump_relay.coil_minus to pump_socket.3; black"),
            say("loop_3", "from pump_socket.4 to pump_switch.line; black"),
            say("loop_4", "from pump_switch.load to minusbar"),
        ),
        silent=(
            say("loop_1", "from loop_fuse.load to pump_socket.3"),
            say("loop_2", "from pump_socket.4 to pump_switch.line"),
            say("loop_3", "from pump_switch.load to pump_relay.coil_plus"),
        ),
    ),
    *yes_no(
        "interlock-loop.panel-alone", "key_plug.key_loop", "boat",
        wrong=_key("sun_out: from deck_switch.load2 to key_socket.1", "from key_socket.2 to sun.batt_plus { 12 AWG; 0.2 m; red }"),
        wrong_too=_key("sun_return: from minusbar to key_socket.1", "from key_socket.2 to sun.batt_minus { 12 AWG; 0.2 m; black }"),
        silent=_key("deck_in: from deck_switch.load to key_socket.1", "from key_socket.2 to sun.pv_plus { 12 AWG; 0.2 m; red }"),
        companions=[also("panel-without-battery.by-hand", "sun", "the key pulled leaves the panel on it alone; its own output then feeds nothing")],
        silent_also=[also("panel-without-battery.by-failure", "sun", "so does its fuse, blown")],
    ),
    # No standard pattern, so that the pins decide.
    *yes_no(
        "late-earth-pin.not-first", "inlet", "bench_supply",
        wrong=say("inlet", 'family "round three"; contacts mate equal'),
        wrong_too=say("inlet", 'family "round three"; pin 1 { mates first }; pin 2 { mates equal }; pin 3 { mates first }'),
        silent=say("inlet", 'family "round three"; pin 1 { mates equal }; pin 2 { mates equal }; pin 3 { mates first }'),
        companions=[also("unfinished-connector.incomplete", "inlet", "no standard says what fits it, and it names no mate")],
        silent_also=[also("unfinished-connector.incomplete", "inlet", "no standard says what fits it, and it names no mate")],
    ),
    *yes_no(
        "late-interlock.not-first", "pump_loop", "pump_trolley",
        wrong=(say(_PUMP, "pins 3, 4 { mate equal }"), unsay(_PUMP, "pins.3.parts", "pins.4.parts")),
        wrong_too=(say(_PUMP, "pins 1, 2, 3, 4 { mate last; part first }")),
        silent=(say(_PUMP, "pin 4 { mates equal }"), unsay(_PUMP, "pins.4.parts")),
    ),
    # Voc at -18 degC is 1 + 0.0029 x 43 = 1.1247 times that at 25 degC: 59.6 V of 53 V, 60.7 V of 54 V, 81 V of 72 V.
    *threefold(
        "late-interlock.over-touch-voltage", "sun_plug.charge_loop", "portable_box",
        inside=(*_panel("53 V"), *_LOOP), over=(*_panel("54 V"), *_LOOP), far=(*_panel("72 V"), *_LOOP),
        inside_also=[also("late-interlock.not-first", "sun_plug.charge_loop", "the same pins below 60 V")],
    ),
    # The battery's own plug lies before its fuse, all of it within 7 in of the post.
    *yes_no(
        "live-pins.unfused", "lead_socket", "fence_box",
        wrong=_lead("bare pins"), wrong_too=_lead("same both"), silent=_lead("female sockets"),
        companions=[also("unfinished-connector.incomplete", "lead_socket", "pins that stay live, and no cap")],
    ),
    *threefold(
        "live-pins.over-touch-voltage", "sun_plug", "portable_box",
        inside=(*_panel("53 V"), _BARE), over=(*_panel("54 V"), _BARE), far=(*_panel("72 V"), _BARE),
        companions=[
            also("unfinished-connector.incomplete", "sun_plug", "pins that stay live, and no cap"),
            also("array-touch-voltage.over-limit", "sheet", "bare pins on a panel of more than 60 V"),
        ],
        inside_also=[
            also("live-pins.live", "sun_plug", "bare, and live in the sun below 60 V"),
            also("unfinished-connector.incomplete", "sun_plug", "pins that stay live, and no cap"),
        ],
    ),
    *yes_no(
        "live-pins.live", "radio_socket", "portable_box",
        wrong=say("radio_socket", "bare pins"),
        wrong_too=say("radio_socket", "same both"),
        silent=say("radio_socket", "female sockets"),
        companions=[also("unfinished-connector.incomplete", "radio_socket", "pins that stay live, and no cap")],
    ),
    *yes_no(
        "live-spare-pin.spare-on-net", "radio_socket", "portable_box",
        wrong=(say("radio_socket", 'pin 3 "reserve"'), _EXTRA),
        wrong_too=(say("radio_socket", 'pin 3 "spare 1"'), _EXTRA),
        silent=(say("radio_socket", 'pin 3 "aerial feed"'), _EXTRA),
    ),
    *yes_no(
        "live-spare-pin.no-function", "radio_socket", "portable_box",
        wrong=(say("radio_socket", "pin 3 { 5 A }"), _EXTRA),
        wrong_too=(say("radio_socket", "pin 3 { takes 16 AWG to 8 AWG }; pin 4 { 5 A }"), _EXTRA, add("wire radio_4 from radio_socket.4 to minusbar { 14 AWG; 0.3 m; black; in inside }")),
        silent=(say("radio_socket", 'pin 3 "aerial feed"'), _EXTRA),
    ),
    *yes_no(
        "live-spare-pin.open-cavity", "radio_socket", "portable_box",
        wrong=say("radio_socket", "3 pins; pin 3 not plugged"),
        wrong_too=say("radio_socket", "4 pins; pins 3, 4 { not plugged }"),
        silent=say("radio_socket", "3 pins; pin 3 plugged"),
    ),
    *yes_no(
        "mains-socket-on-dc.pattern", "radio_socket", "portable_box",
        wrong=say(_RADIO, "household socket"),
        wrong_too=say(_RADIO, 'family "C13"'),
        silent=say(_RADIO, 'family "round IEC"'),
    ),
    *yes_no(
        "missing-torque.not-stated", "main", "bench_supply",
        wrong=unsay("main", "terminals.line.torque"),
        wrong_too=unsay("main", "terminals.*.torque"),
        silent=unsay("meter_fuse", "terminals.line.torque"),
    ),
)  # fmt: skip
