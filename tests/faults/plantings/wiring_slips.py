"""Faults of wiring: wires that end in the wrong place, poles that are swapped, shorts, what nothing feeds, relays that do not settle."""

from __future__ import annotations

from faults import Edit, Planting, add, also, drop, in_state, say, unchecked, unsay, yes_no

_NO_BANK = "nothing feeds it, so that what it takes is not known"


def _twin(level: str) -> tuple[Edit, ...]:
    """A second battery on the posts of the first."""
    return (
        add(
            "battery twin { same as agm12_35 except { in inside; held down; hold-down force 400 N; moves at most 3 mm; weighs 9 kg; "
            "plus on house.plus; minus on house.minus } }"
        ),
        say("battery_labels", "at house, twin"),
        in_state("all states", f"twin at {level}"),
    )


_SILENT_TWIN = (unsay("house", "internal_resistance"), unsay("twin", "internal_resistance"))
_NO_FUSES = (
    also("unfused-pack.no-fuse", "house", "nothing stands between it and its twin"),
    also("unfused-pack.no-fuse", "twin", "nothing stands between it and its twin"),
    also("one-pole-fuse.plastic-case", "house", "the note of the base, of two batteries now"),
)
_ISLAND = add("bus island { same as bar except { in shed } }")

PLANTINGS: tuple[Planting, ...] = (
    # Two batteries on one post at unlike levels, and neither says its resistance.
    *yes_no(
        "conflicting-sources.unlimited", "house", "fence_box",
        wrong=(*_twin("50 %"), *_SILENT_TWIN),
        wrong_too=(*_twin("100 %"), *_SILENT_TWIN),
        silent=_twin("50 %"),
        companions=[
            *_NO_FUSES,
            unchecked("weak-breaking.over-rating", "main_fuse", "what the batteries can push is not known"),
            unchecked("weak-fault.never-opens", "main_fuse", "what the batteries can push is not known"),
        ],
        silent_also=[*_NO_FUSES, also("joining-surge.work-step", "house", "joined for good: (12.9 - 11.8) V over 2 x 9 mohm, 61 A for 10 A")],
    ),
    # The switch of the lamps, their plug; the inverter, its outlet.
    *yes_no(
        "dead-load.unfed", "lamps", "market_stall",
        wrong=in_state("winter market", "lamp_switch open"),
        wrong_too=in_state("winter market", "lamp_plug apart"),
        silent=in_state("winter market", "lamp_switch open; lamps off"),
    ),
    *yes_no(
        "dead-load.unfed", "till_unit", "market_stall",
        wrong=in_state("market day", "mains off"),
        wrong_too=in_state("market day", "till_plug apart"),
        silent=in_state("market day", "mains, till_unit off"),
    ),
    # The starting battery and the house battery have nothing in common but the charger between them.
    *yes_no(
        "floating-island.unfed", "lamps", "camper_van",
        wrong=say("lamp_2", "from lamps.minus to starter.minus"),
        wrong_too=(say("lamp_1", "from starter_breaker.load to lamps.plus"), drop("lamp_breaker")),
        silent=say("lamp_2", "from lamps.minus to house.minus"),
        companions=[unchecked("run-time.under-promise", "house", _NO_BANK)],
    ),
    *yes_no(
        "floating-island.no-return", "roof", "garden_shed",
        wrong=(_ISLAND, say("roof_3", "from island to roof.minus")),
        wrong_also=[also("floating-island.unfed", "sun", "its array side is in no loop with the panel either")],
        wrong_too=(_ISLAND, say("roof_2", "from roof_switch.load to island")),
        wrong_too_also=[also("open-terminal.open", "sun", "nothing is joined to its pv_plus any more")],
        silent=say("roof_3", "from minusbar to roof.minus"),
    ),
    *yes_no(
        "mains-on-dc.joined", "slip", "market_stall",
        wrong=add("wire slip from mains.L to plusbar { 14 AWG; 0.3 m; black; in inside }"),
        wrong_too=add("wire slip from outlet.1 to minusbar { 14 AWG; 0.3 m; black; in inside }"),
        silent=add("wire slip from mains.N to minusbar { 14 AWG; 0.3 m; white; in inside }"),
    ),
    *yes_no(
        "mains-on-dc.joined", "inlet_L", "repeater48", tag="case",
        wrong=say("inlet_L", "from inlet.1 to cabinet"),
        wrong_too=say("inlet_L", "from inlet.1 to minusbar"),
        silent=say("inlet_PE", "from inlet.3 to plusbar"),
        companions=[also("open-terminal.open", "keeper", "nothing comes to its L any more")],
    ),
    # Swapped at the lamps; swapped before their switch; swapped in both places, so that they lie right again.
    *yes_no(
        "reversed-polarity.swapped", "lamps", "garden_shed",
        wrong=(say("lamp_2", "from lamp_switch.load to lamps.minus"), say("lamp_3", "from lamps.plus to minusbar")),
        wrong_too=(say("lamp_1", "from minusbar to lamp_switch.line"), say("lamp_3", "from lamps.minus to lamp_breaker.load")),
        silent=(
            say("lamp_1", "from minusbar to lamp_switch.line; black"), say("lamp_2", "from lamp_switch.load to lamps.minus; black"),
            say("lamp_3", "from lamps.plus to lamp_breaker.load; red"),
        ),
        companions=[unchecked("run-time.under-promise", "house", _NO_BANK)],
    ),
    *yes_no(
        "reversed-polarity.swapped", "sun", "camper_van",
        wrong=(say("roof_2", "from roof_switch.load to sun.pv_minus"), say("roof_3", "from sun.pv_plus to roof_switch.load2")),
        wrong_too=(
            say("roof_1", "from roof.plus to roof_switch.line2"), say("roof_4", "from roof_switch.line to roof.minus"),
        ),
        wrong_too_also=[also("misleading-colour.wrong-pole", "roof_2", "it is red, and comes from the panel's minus")],
        silent=(
            say("roof_1", "from roof.plus to roof_switch.line2"), say("roof_4", "from roof_switch.line to roof.minus"),
            say("roof_2", "from roof_switch.load to sun.pv_minus; black"), say("roof_3", "from sun.pv_plus to roof_switch.load2; red"),
        ),
    ),
    # What all others contradict is the one that is swapped; a charger at home, at either end of its cord, is so alone.
    Planting(
        "reversed-polarity.swapped", "house", "garden_shed",
        (say("main_fuse", "line on house.minus"), say("battery_return", "from minusbar to house.plus")), "wrong",
        (
            also("far-fuse.missing", "battery_return", "the post with the fuse is the minus now, 0.8 m from the plus without one"),
            unchecked("run-time.under-promise", "house", _NO_BANK),
        ),
    ),
    Planting(
        "reversed-polarity.swapped", "home", "market_stall",
        (say("home_cord", "core home_plus from home.minus to home_plug.1, red; core home_minus from home_plug.2 to home.plus, black"),),
        "wrong",
    ),
    Planting(
        "reversed-polarity.swapped", "mains", "market_stall",
        (say("mains_plus", "from mains_fuse.load to mains.minus"), say("mains_minus", "from mains.plus to minusbar")), "wrong",
    ),
    *yes_no(
        "reversed-polarity.broken-promise", "scale_socket", "market_stall",
        wrong=(say("scale_1", "from scale_fuse.load to scale_socket.2"), say("scale_2", "from scale_socket.1 to minusbar")),
        wrong_also=[unchecked("run-time.under-promise", "house", _NO_BANK)],
        wrong_too=(
            say("scale_1", "from scale_fuse.load to scale_socket.2"), say("scale_2", "from scale_socket.1 to minusbar"),
            say(
                "scale_cord",
                "core scale_plus from scale_plug.1 to scale.minus, black; core scale_minus from scale.plus to scale_plug.2, red",
            ),
        ),
        silent=(
            say("scale_1", "from scale_fuse.load to scale_socket.2"), say("scale_2", "from scale_socket.1 to minusbar"),
            say(
                "scale_cord",
                "core scale_plus from scale_plug.1 to scale.minus, black; core scale_minus from scale.plus to scale_plug.2, red",
            ),
            say(("scale_socket", "scale_plug"), 'pin 1 { minus "return" }; pin 2 { plus "scale" }'),
        ),
    ),
    # A diode from minus to plus blocks.
    *yes_no(
        "short-circuit.shorted", "house", "garden_shed",
        wrong=say("lamp_2", "from lamp_switch.load to minusbar"),
        wrong_also=[
            also("open-terminal.open", "lamps", "the wire that fed them ends on the bar"),
            unchecked("run-time.under-promise", "house", _NO_BANK),
        ],
        wrong_too=say("pump_2", "from pump_switch.load to minusbar"),
        wrong_too_also=[
            also("open-terminal.open", "butt_pump", "the wire that fed it ends on the bar"),
            unchecked("run-time.under-promise", "house", "with every switch closed the bank is shorted"),
        ],
        silent=add("diode clamp { 40 A; 100 V reverse; in shed; anode on minusbar; cathode on plusbar }"),
    ),
    # The diode of the coil, turned round.
    Planting(
        "short-circuit.shorted", "house", "pump_trolley",
        (
            say("pump_relay", "no coil suppression"),
            add("diode spike { 1 A; in inside; anode on pump_relay.coil_plus; cathode on pump_relay.coil_minus }"),
        ),
        "wrong", (unchecked("run-time.under-promise", "house", "with every switch closed the bank is shorted"),),
    ),
    # The coil is fed from behind the contact that it opens.
    *yes_no(
        "unsettled-relay.chatters", "pump_relay", "water_pump",
        wrong=(say("pump_relay", "normally closed"), say("coil_fuse", "line on pump_relay.load")),
        wrong_too=(
            say("pump_relay", "normally closed"), say("coil_fuse", "line on pump_relay.load"),
            say("coil_1", "from coil_fuse.load to pump_relay.coil_plus"), drop("float_switch", "coil_2"),
        ),
        silent=say("coil_fuse", "line on pump_breaker.load"),
    ),
    *yes_no(
        "unsettled-relay.contradicts-coil", "pump_relay", "water_pump",
        wrong=in_state("pumping", "pump_relay open"),
        wrong_also=[also("dead-load.unfed", "pump", "the state says that it runs, behind a contact that it says is open")],
        wrong_too=in_state("tank full", "pump_relay closed"),
        silent=in_state("pumping", "pump_relay closed"),
    ),
    # At 60 % two blocks have 2 x 12.42 V at rest; closed 2.8 A and more leave 24.79 V before the disconnect, open 24.83 V come back.
    *yes_no(
        "unsettled-relay.hunts", "cut", "windmill_hut",
        wrong=say("cut", "opens at 24.81 V; closes at 24.82 V"),
        wrong_too=(say("cut", "opens at 24.80 V; closes at 24.82 V"), say("cool", "60 W")),
        silent=say("cut", "opens at 24.7 V; closes at 24.82 V"),
        companions=[unchecked("run-time.under-promise", "block_1", _NO_BANK)],
        silent_also=[unchecked("run-time.under-promise", "block_1", "at rest, half full, it is open as well")],
    ),
)  # fmt: skip
