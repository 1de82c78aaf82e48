"""Faults of connectors: plugs that fit the wrong circuit, are of two makes, carry too much or are pulled under load, and connectors nobody has finished."""

from __future__ import annotations

from faults import Edit, Planting, add, also, drop, in_state, say, threefold, unchecked, unsay, yes_no

_STEADY = """
converter steady {{ same as phone_feed except {{ output {}; output at most 3 A; in inside }} }}
wires 14 AWG, in inside {{
  radio_3 from steady.out_plus to radio_socket.1, 0.2 m, orange
  radio_4 from radio_socket.2 to steady.out_minus, 0.2 m, black
}}
"""


def _steady(volts: str) -> tuple[Edit, ...]:
    """The radio's socket behind a converter of so many volts, with the keying of the lamps."""
    return (
        say(("radio_socket", "radio_plug"), 'keying "B"'),
        say("radio_1", "from radio_fuse.load to steady.in_plus"),
        say("radio_2", "from steady.in_minus to minusbar"),
        add(_STEADY.format(volts)),
    )


def _lighter(power: str, breaker: str = "15 A") -> tuple[Edit, ...]:
    """The bench's amplifier on a lighter socket that says nothing of its contacts."""
    return (
        say(("big_socket", "big_plug"), "lighter socket"),
        unsay(("big_socket", "big_plug"), "rated_current"),
        say("amplifier", power),
        say("big_breaker", breaker),
    )


_ROOF_SOCKET = """
connector roof_socket with roof_plug {{
  same as round_two except {{ 40 A; load-break {}; pin 1 plus "panels"; pin 2 minus "panels, return" }}
  roof_socket {{ on the panel; inlet }}
}}
wires 8 AWG, PV wire, 1000 V {{
  roof_in from roof_socket.1 to roof_switch.line, 0.5 m, red
  roof_back from roof_switch.line2 to roof_socket.2, 0.5 m, black
}}
label roof_label {{ same as socket_label except {{ at roof_socket }} }}
"""


def _roof_socket(parted: str) -> tuple[Edit, ...]:
    """The cabin's panels on a plug before the switch."""
    return (
        add(_ROOF_SOCKET.format(parted)),
        say("roof_1", "from roof.plus to roof_plug.1"),
        say("roof_2", "from roof_plug.2 to roof.minus"),
        say("guard", "covers power, kitchen_breaker, room_breaker, sun, roof_switch, roof_socket"),
    )


_SWAPPED_RADIO = (
    say(("radio_socket", "radio_plug"), 'pin 1 minus "return"; pin 2 plus "radio"'),
    say("radio_1", "from radio_fuse.load to radio_socket.2"),
    say("radio_2", "from radio_socket.1 to minusbar"),
    say("radio_cord", "core radio_plus from radio_plug.2 to radio.plus; core radio_minus from radio.minus to radio_plug.1"),
)

# The trolley's box of steel, bonded to minus by a wire as thick as the packs' leads.
_STEEL = (
    unsay("box", "floats"),
    say(
        "box",
        "steel; metal; bonded at minusbar; bond reachable and clean; terminals { stud; M8 stud; M8 lug; takes 16 AWG to 2/0 AWG; 4 wires; torque 9 Nm; "
        "for copper; made of steel; zinc-plated; 75 degC }",
    ),
    add("wire case_bond from minusbar to box { 4 AWG; 0.2 m; green; bond; in inside }"),
)
_IN_THE_RETURN = (
    say("loop_2", "from pump_switch.load to pump_relay.coil_plus"),
    say("loop_3", "from pump_socket.4 to minusbar; black"),
    say("loop_4", "from pump_relay.coil_minus to pump_socket.3"),
)
_KEY = """
fuse key_fuse {{ same as cc_1 except {{ in inside; line on plusbar }} }}
connector key_socket with key_plug {{
  2 pins; touch-safe; 10 A; contact resistance 1 mohm; takes 18 AWG to 12 AWG; family "key"
  made by "maker one"; product series "key"; load-break 10 A at 60 V dc; works up to 85 degC; pins 1, 2 {{ "key" }}; assumed
  key_socket {{ on the panel }}
  key_plug {{ jumper bridge from 1 to 2 {{ 16 AWG; 40 mm; copper; stranded; 90 degC insulation; 600 V; in free air }} }}
}}
interlock key_loop {{ loop key_socket.1, key_plug.bridge, key_socket.2; stops mains; enable current 20 mA }}
label key_label {{ same as fuse_label except {{ at key_fuse }} }}
label key_socket_label {{ same as socket_label except {{ at key_socket }} }}
wires 16 AWG, control, in inside {{ {} }}
"""
_KEY_IN_RETURN = """
  key_1 from key_fuse.load to mains.enable, 0.5 m, red; key_2 from mains.enable_return to key_socket.1, 0.5 m, black
  key_3 from key_socket.2 to minusbar, 0.3 m, black
"""
_KEY_IN_SUPPLY = """
  key_1 from key_fuse.load to key_socket.1, 0.5 m, red; key_2 from key_socket.2 to mains.enable, 0.5 m, red
  key_3 from mains.enable_return to minusbar, 0.3 m, black
"""
_LOOP_CABLE = "cable loop_lead {{ 16 AWG; 0.3 m; sheathed; in inside; not coiled; core {}, red; core {}, red }}"
_SPARE = """
connector spare_socket {{ same as round_two except {{ keying "C"; pin 1 plus "spare, 12 V"; pin 2 minus "return"; on the panel; outlet{} }} }}
wires 12 AWG, in inside {{
  spare_1 from small_breaker.load to spare_socket.1, 0.3 m, red
  spare_2 from spare_socket.2 to minusbar, 0.3 m, black
}}
label spare_label {{ same as socket_label except {{ at spare_socket }} }}
"""


def _radio(metal: str) -> tuple[Edit, ...]:
    """A radio whose plus terminal is of some metal and says nothing of what it is made for."""
    terminals = (
        f"terminal plus {{ clamp plate; takes 18 AWG to 6 AWG; 1 wire; 75 degC; torque 1.2 Nm; {metal} }}; "
        "terminal minus { clamp plate; takes 18 AWG to 6 AWG; 1 wire; 75 degC; torque 1.2 Nm; of brass; tin-plated }"
    )
    return drop("radio"), add(f"load radio {{ 12 W; works on 10.5 V to 16 V; not motor; for 4 h/day; {terminals} }}")


_BOARD = """
connector board_inlet with board_plug {{
  same as round_two except {{ keying "C"; pin 1 plus "bench, 12 V"; pin 2 minus "return" }}
  board_inlet {{ {}; on the panel; inlet }}
  board_plug {{ {} }}
}}
wires 14 AWG {{ board_1 from board_inlet.1 to board.plus, 0.1 m, red; board_2 from board.minus to board_inlet.2, 0.1 m, black }}
label board_label {{ same as socket_label except {{ at board_inlet }} }}
"""


def _loose_cord(plug: str, socket: str, board_inlet: str, board_plug: str) -> tuple[Edit, ...]:
    """The cord of the board ends in plugs on both sides, with contacts of these forms."""
    return (
        say("small_plug", plug),
        say("small_socket", socket),
        add(_BOARD.format(board_inlet, board_plug)),
        say(
            "small_cord",
            "core small_plus from small_plug.1 to board_plug.1, red; core small_minus from board_plug.2 to small_plug.2, black",
        ),
    )


_MAINS_CORD = """
connector near_plug {{ same as household except {{ pin 1 L; pin 2 N; pin 3 PE; male; mates with room_outlet }} }}
connector far_plug {{ same as household except {{ pin 1 L; pin 2 N; pin 3 PE; {} }} }}
cable joining_cord {{
  12 AWG; 3 m; rubber; flexible cord; sheathed; in free air; not coiled
  core joined_L from near_plug.1 to far_plug.1, black; core joined_N from near_plug.2 to far_plug.2, white
  core joined_PE from near_plug.3 to far_plug.3, green
}}
"""
_LIGHTER_FUSE = also(
    "weak-part.user-load", "big_socket", "its breaker is over the 10 A of a lighter socket, and anybody can plug in more"
)

PLANTINGS: tuple[Planting, ...] = (
    # Catalogue, G2: 5 %. The lamps stand at the controller's 14.2 V; behind a converter of 13.9 V it is 14.6 V, of 13.2 V 13.9 V. The panel's plug has
    # 22.3 V x (1 + 0.0029 x (25 + 18)) = 25.1 V for 1.05 x 14.2 V.
    *threefold(
        "mistakable-plug.voltage", "lamp_socket", "portable_box",
        inside=_steady("13.9 V"), over=_steady("13.2 V"), far=say(("lamp_socket", "lamp_plug"), 'keying "A"'),
    ),
    # Catalogue, G2: as the pins promise, or as they are wired where they promise nothing; another keying is enough.
    *yes_no(
        "mistakable-plug.polarity", "lamp_socket", "portable_box",
        wrong=[*_SWAPPED_RADIO, say(("radio_socket", "radio_plug"), 'keying "B"')],
        wrong_too=[
            *_SWAPPED_RADIO, say(("radio_socket", "radio_plug"), 'keying "B"'), unsay(("radio_socket", "radio_plug"), "pins.1.polarity", "pins.2.polarity"),
        ],
        wrong_too_also=[
            *(unchecked("reversed-polarity.broken-promise", half, "its pins say no polarity any more") for half in ("radio_socket", "radio_plug")),
            also("unmarked-lead.no-marks", "radio_cord", "nothing else told its poles apart at the plug"),
        ],
        silent=_SWAPPED_RADIO,
    ),
    # The contact as declared, before it the 15 A of the other socket.
    *threefold(
        "mistakable-plug.fuse", "big_socket", "bench_supply",
        inside=say(("small_socket", "small_plug"), 'keying "A"; 15.4 A'),
        over=say(("small_socket", "small_plug"), 'keying "A"; 14.6 A'),
        far=say(("small_socket", "small_plug"), 'keying "A"; 10 A'),
    ),
    # NEC 690.33(C): another make, another series of the same make.
    *yes_no(
        "mixed-plugs.mixed", "sun_socket", "portable_box",
        wrong=say("sun_plug", 'made by "maker two"'),
        wrong_too=say("sun_plug", 'product series "square"'),
        silent=say("sun_plug", 'made by "maker two"; approved with "maker one"'),
    ),
    # Common practice: 10 A for hours; at the battery's 10.8 V 104, 111, 150 W are 9.63, 10.3, 13.9 A.
    *threefold(
        "overloaded-accessory-socket.overloaded", "big_socket", "bench_supply",
        inside=_lighter("104 W"), over=_lighter("111 W"), far=_lighter("150 W", "20 A"),
        companions=[_LIGHTER_FUSE], inside_also=[_LIGHTER_FUSE],
    ),
    # As declared: the charger's 15 A.
    *threefold(
        "parted-under-load.under-load", "home_socket", "market_stall",
        inside=say(("home_socket", "home_plug"), "load-break 15.4 A at 60 V dc"),
        over=say(("home_socket", "home_plug"), "load-break 14.6 A at 60 V dc"),
        far=say(("home_socket", "home_plug"), "load-break 8 A at 60 V dc"),
    ),
    # As declared, above 60 V: 3 x 37.2 V x (1 + 0.0027 x 53) = 128 V, with 12.9 A x 1.005 in full sun.
    *threefold(
        "parted-under-load.over-touch-voltage", "roof_socket", "cabin48",
        inside=_roof_socket("13.3 A at 250 V dc"), over=_roof_socket("12.6 A at 250 V dc"), far=_roof_socket("6 A at 250 V dc"),
    ),
    # Catalogue, G15: the gland holds 6 mm to 9 mm, that of the bicycle 6 mm to 14 mm.
    *threefold(
        "unrelieved-cord.wrong-size", "phone_cord", "portable_box",
        inside=say("phone_cord", "outer diameter 8.75 mm"),
        over=say("phone_cord", "outer diameter 9.3 mm"),
        far=say("phone_cord", "outer diameter 14 mm"),
    ),
    *threefold(
        "unrelieved-cord.wrong-size", "lamp_cord", "delivery_bike",
        inside=say("lamp_cord", "outer diameter 6.2 mm"),
        over=say("lamp_cord", "outer diameter 5.8 mm"),
        far=say("lamp_cord", "outer diameter 4 mm"),
    ),
    # NEC 400.14: a hole without a gland, and no hole at all; a clamp is as good.
    *yes_no(
        "unrelieved-cord.missing", "lamp_cord", "delivery_bike",
        wrong=unsay("box", "holes.lamp_hole.gland"),
        wrong_too=unsay("lamp_cord", "holes"),
        silent=say("box", "hole lamp_hole { clamp 8 mm to 10 mm }"),
    ),
    # By connection, in a box that is bonded to minus: a loop in the return of the coil, or of the inverter's enable input, is closed by a wire on the box.
    Planting("pinched-interlock.fails-live", "pump_loop", "pump_trolley", (*_STEEL, *_IN_THE_RETURN), "wrong"),
    Planting("pinched-interlock.fails-live", "key_loop", "workshop_cart", (add(_KEY.format(_KEY_IN_RETURN)),), "wrong"),
    Planting("pinched-interlock.fails-live", "pump_loop", "pump_trolley", _STEEL, "silent"),
    Planting("pinched-interlock.fails-live", "key_loop", "workshop_cart", (add(_KEY.format(_KEY_IN_SUPPLY)),), "silent"),
    # By connection: both sides of the loop in one cable, alone or beside the pump's own wires; the silent cable has one side only.
    *yes_no(
        "pinched-interlock.pinched-together", "pump_loop", "pump_trolley",
        wrong=[
            drop("loop_2", "loop_3"),
            add(_LOOP_CABLE.format("there from pump_switch.load to pump_socket.3", "back from pump_socket.4 to pump_relay.coil_plus")),
        ],
        wrong_too=[
            drop("loop_2", "loop_3", "pump_2", "pump_3"),
            add(
                "cable socket_lead { 10 AWG; 0.3 m; sheathed; in inside; not coiled; core out from pump_relay.load to pump_socket.1, red; "
                "core home from pump_socket.2 to minusbar, black; core there from pump_switch.load to pump_socket.3, red; "
                "core back from pump_socket.4 to pump_relay.coil_plus, red }"
            ),
        ],
        silent=[
            drop("loop_1", "loop_2"),
            add(_LOOP_CABLE.format("there from loop_fuse.load to pump_switch.line", "back from pump_switch.load to pump_socket.3")),
        ],
    ),
    # Beyond the plug: with it out, the two cores to a button at the pump close nothing.
    Planting(
        "pinched-interlock.pinched-together", "pump_loop", "pump_trolley",
        (
            unsay("pump_plug", "jumpers"), say("pump_loop", "loop pump_socket.3, pump_key, pump_socket.4"),
            add("switch pump_key { same as small_switch }"), in_state("all states", "pump_key closed"),
            say("pump_cord", "core key_out from pump_plug.3 to pump_key.line, red; core key_in from pump_key.load to pump_plug.4, red"),
        ),
        "silent", tag="button",
    ),
    # A warning of a consumer regulator: pins on both ends, live from the bench's socket, or from the outlet where two mains plugs are joined.
    *yes_no(
        "pins-to-pins.live", "small_cord", "bench_supply",
        wrong=_loose_cord("bare pins", "female sockets", "female sockets", "bare pins; no cap"),
        wrong_too=_loose_cord("bare pins", "touch-safe", "touch-safe", "bare pins; no cap"),
        silent=_loose_cord("bare pins", "female sockets", "shrouded pins", "female sockets"),
    ),
    Planting("pins-to-pins.live", "joining_cord", "cabin48", (add(_MAINS_CORD.format("male")), in_state("all states", "near_plug apart")), "wrong"),
    Planting("pins-to-pins.live", "joining_cord", "cabin48", (add(_MAINS_CORD.format("female")), in_state("all states", "near_plug apart")), "silent"),
    # Common practice: a socket that nothing goes into, one whose plus has no name, and genderless contacts of which nobody says whether they have a cap.
    *yes_no(
        "unfinished-connector.incomplete", "spare_socket", "bench_supply",
        wrong=add(_SPARE.format("")),
        wrong_too=[add(_SPARE.format("; mates with big_plug")), unsay("spare_socket", "pins.1.polarity", "pins.1.function")],
        silent=add(_SPARE.format("; mates with big_plug")),
    ),
    Planting(
        "unfinished-connector.incomplete", "home_socket", "two_pole_box",
        (say(("home_socket", "home_plug"), "genderless"), unsay("home_socket", "cap"), say("home_plug", "no cap")), "wrong",
        also=(
            unchecked("live-pins.unfused", "home_socket", "a cap would do, behind the main breaker, and nobody says whether there is one"),
            also("live-pins.live", "home_plug", "its genderless contacts are live from the charger, which limits its own current"),
        ),
    ),
    # From memory: plain steel and aluminium do not bear copper, a plated metal does.
    *yes_no(
        "unlike-metals.pair", "radio_1", "two_pole_box",
        wrong=_radio("of steel"), wrong_too=_radio("of aluminium"), silent=_radio("of steel; nickel-plated"),
    ),
)  # fmt: skip
