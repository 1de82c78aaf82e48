"""Faults of conductors: too thin, too hot, wound up, alike and unlike, bonds, insulation, metal."""

from __future__ import annotations

from faults import Edit, Planting, add, also, drop, say, site, threefold, unchecked, unsay, yes_no


def _two_returns(air: str) -> tuple[Edit, ...]:
    """Two returns of 10 AWG side by side, in air so warm; the leads of the charger are shorter for it."""
    second = add(f"wire return_2 from minusbar to house.minus {{ 10 AWG; 0.3 m; black; in inside; at {air} }}")
    return say("battery_return", f"10 AWG; at {air}"), second, say("home_cord", "0.7 m")


# The reel ends in a socket of its own; on it anybody can plug in as much as the 8 A fuse lets pass.
_REEL_SOCKET = (
    drop("lamps"),
    add(
        'connector reel_socket with reel_plug { same as round_two except { keying "C"; pin 1 plus "lamps"; pin 2 minus "return" }; '
        "reel_socket { outlet } }"
    ),
    say("reel_cord", "core reel_plus from lamp_plug.1 to reel_socket.1; core reel_minus from reel_socket.2 to lamp_plug.2"),
    say("lamp_fuse", "8 A"),
)

_FINE = (
    say(("lamp_socket", "lamp_plug"), "takes 22 AWG to 10 AWG"),
    say("lamps", "terminals plus, minus { takes 22 AWG to 10 AWG }"),
)

PLANTINGS: tuple[Planting, ...] = (
    # 10 AWG at 105 degC carries 60 A; in air of T it is 60 x sqrt((105 - T) / 75), against the inverter's 30.3 A at its
    # cut-off (33 CFR 183.425 Table 5).
    *threefold(
        "undersized-wire.over-ampacity", "mains_minus", "camper_van",
        inside=say("mains_minus", "10 AWG; at 85 degC"),
        over=say("mains_minus", "10 AWG; at 86.5 degC"),
        far=say("mains_minus", "10 AWG; at 97 degC"),
    ),
    # 12 AWG carries 45 A, the charger gives 20 A; from 20 A of ampacity on the 30 A fuse at its house end is over 1.5
    # times it, and no right one stands there.
    *threefold(
        "undersized-wire.over-ampacity", "drive_out", "camper_van",
        inside=say("drive_out", "12 AWG; at 89.5 degC"),
        over=say("drive_out", "12 AWG; at 91 degC"),
        far=say("drive_out", "12 AWG; at 98 degC"),
        companions=[
            also("oversized-fuse.too-large", "drive_out", "30 A is over 1.5 x 19.4 A"),
            also("one-ended-link.one-end", "drive_out", "between two sources, with no device for its ampacity at the house end"),
        ],
    ),
    # 6 AWG has 105 A in free air (NEC Table 310.17), 0.50 of it at 72 degC; with three others 75 A x 0.80 (Table
    # 310.16), 0.82 at 48 degC, 0.58 at 68 degC; 50 A.
    *threefold(
        "undersized-wire.over-ampacity", "mains_minus", "workshop_cart",
        inside=say("mains_minus", "6 AWG; at 72 degC"),
        over=say("mains_minus", "6 AWG; 0.7 m; with 3 others over 0.65 m; at 48 degC"),
        far=say("mains_minus", "6 AWG; 0.7 m; with 3 others over 0.65 m; at 68 degC"),
    ),
    # 25 mm2 has 149 A by method E (IEC 60364-5-52 Table B.52.12), 0.80 of it for two circuits together and sqrt((90 -
    # T) / 60) for the air; 74.9 A.
    *threefold(
        "undersized-wire.over-ampacity", "power_minus", "narrow_boat",
        inside=say("power_minus", "25 mm2; with 3 others; at 65 degC"),
        over=say("power_minus", "25 mm2; with 3 others; at 67.5 degC"),
        far=say("power_minus", "25 mm2; with 8 others; at 70 degC"),
    ),
    # 20 A come back from the cool box and from the battery on charge; 12 AWG carries 45 A x sqrt((105 - T) / 75).
    *threefold(
        "shared-return.over-ampacity", "drive_back", "camper_van",
        inside=say("drive_back", "12 AWG; at 89.5 degC"),
        over=say("drive_back", "12 AWG; at 91 degC"),
        far=say("drive_back", "12 AWG; at 98 degC"),
    ),
    # 12 AWG of two cores has 25 A, 24.2 A in 34 degC (NEC Table 400.5(A)(1)); times 235 / 3000 it is 1.89 A for the
    # lamps' 1.85 A.
    *threefold(
        "coiled-cord.over-wound", "reel_cord", "choir_stage",
        inside=say("reel_cord", "reel marked 235 W wound"),
        over=say("reel_cord", "reel marked 225 W wound"),
        far=say("reel_cord", "reel marked 120 W wound"),
    ),
    # 0.22 x 25 A x sqrt((90 - T) / 60), the lowest marking read.
    *threefold(
        "coiled-cord.over-lowest-marking", "reel_cord", "choir_stage",
        inside=(unsay("reel_cord", "reel_wound", "reel_unwound"), say("reel_cord", "at 82.8 degC")),
        over=(unsay("reel_cord", "reel_wound", "reel_unwound"), say("reel_cord", "at 83.5 degC")),
        far=(unsay("reel_cord", "reel_wound", "reel_unwound"), say("reel_cord", "at 87 degC")),
        companions=[unchecked("coiled-cord.over-wound", "reel_cord", "the reel says nothing")],
    ),
    # In the hottest air, 34 degC, 25 A x sqrt((90 - 34) / (90 - 30)) = 24.2 A; x 1020 / 3000 = 8.21 A for the 8 A fuse.
    *threefold(
        "coiled-cord.fuse-over-wound", "reel_cord", "choir_stage",
        inside=(*_REEL_SOCKET, say("reel_cord", "reel marked 1020 W wound")),
        over=(*_REEL_SOCKET, say("reel_cord", "reel marked 965 W wound")),
        far=(*_REEL_SOCKET, say("reel_cord", "reel marked 500 W wound")),
    ),
    # 16 AWG is 1.31 mm2 (33 CFR 183.425(d)).
    *threefold(
        "fragile-wire.single", "lamp_1", "market_stall",
        inside=say("lamp_1", "16 AWG"),
        over=say("lamp_1", "1.25 mm2"),
        far=say("lamp_1", "18 AWG"),
    ),
    # A signal lamp of 13 W on a cord of its own: 18 AWG is 0.823 mm2; below it no cord table goes, so that the cord has
    # its marking.
    *threefold(
        "fragile-wire.sheathed", "lamp_cord", "market_stall",
        inside=(*_FINE, say("lamp_cord", "18 AWG; 1 m; marked 8 A")),
        over=(*_FINE, say("lamp_cord", "0.8 mm2; 1 m; marked 8 A")),
        far=(*_FINE, say("lamp_cord", "20 AWG; 1 m; marked 8 A")),
    ),
    # 30 in are 0.762 m (33 CFR 183.425(e)).
    *threefold(
        "fragile-wire.long-tail", "phone_cord", "portable_box",
        inside=say("phone_cord", "18 AWG; 0.74 m outside the sheath"),
        over=say("phone_cord", "18 AWG; 0.79 m outside the sheath"),
        far=say("phone_cord", "18 AWG; 1.5 m outside the sheath"),
    ),
    # 16 AWG has 15 A in the column of 75 degC, for which the bar and the pin are made; a tenth over it is 16.5 A.
    *threefold(
        "hot-terminal.over", "home_2", "market_stall",
        inside=(say("home_2", "16 AWG; 0.15 m"), say("home_cord", "0.2 m"), say("home", "14.6 A")),
        over=(say("home_2", "16 AWG; 0.15 m"), say("home_cord", "0.2 m"), say("home", "15.4 A")),
        far=(say("home_2", "16 AWG; 0.15 m"), say("home_cord", "0.2 m"), say("home", "16.4 A")),
        coarse="from a tenth over on it is an error, which is another grade",
    ),
    *threefold(
        "hot-terminal.far-over", "home_2", "market_stall",
        inside=(say("home_2", "16 AWG; 0.15 m"), say("home_cord", "0.2 m"), say("home", "16.4 A")),
        over=(say("home_2", "16 AWG; 0.15 m"), say("home_cord", "0.2 m"), say("home", "16.6 A")),
        far=(say("home_2", "16 AWG; 0.15 m"), say("home_cord", "8 AWG; 0.2 m"), say("home", "20 A"), say("home_fuse", "30 A")),
        inside_also=[also("hot-terminal.over", "home_2", "16.4 A is over the 15 A of the column, by less than a tenth")],
        coarse="the limit told is the column, and this grade begins a tenth above it",
    ),
    # 10 AWG of two cores has 30 A x sqrt((90 - T) / 60) for the charger's 15 A; at every such value the 25 A fuse of
    # the box is larger.
    *threefold(
        "overloaded-cord.over-cord-table", "home_cord", "market_stall",
        inside=say("home_cord", "0.5 m; at 73.5 degC"),
        over=say("home_cord", "0.5 m; at 75.5 degC"),
        far=say("home_cord", "0.5 m; at 84 degC"),
        companions=[
            also("oversized-fuse.step-down", "home_cord.home_plus", "the 25 A fuse of the box is over the cord's own value"),
            also("far-fuse.not-nearest", "home_cord.home_plus", "the charger's 15 A are over it too: 0.5 m to the fuse of the box, in a sheath"),
        ],
        inside_also=[also("oversized-fuse.step-down", "home_cord.home_plus", "the 25 A fuse of the box is over the cord's own 15.7 A")],
    ),
    *yes_no(
        "parallel-wires.unlike", "battery_return, return_2", "market_stall",
        wrong=add("wire return_2 from minusbar to house.minus { 6 AWG; 0.3 m; black; in inside }"),
        wrong_too=add("wire return_2 from minusbar to house.minus { 4 AWG; 0.4 m; black; in inside }"),
        silent=add("wire return_2 from minusbar to house.minus { 4 AWG; 0.3 m; black; in inside }"),
    ),
    # One alone would carry 30.6 A; 10 AWG has 60 A x sqrt((105 - T) / 75), each by itself has enough for its half.
    *threefold(
        "parallel-wires.alone", "battery_return, return_2", "market_stall",
        inside=_two_returns("84.5 degC"), over=_two_returns("86.5 degC"), far=_two_returns("95 degC"),
    ),
    # 1.5625 x 9.49 A = 14.8 A, the panel with 9.9 A 15.5 A; 16 AWG at 75 degC carries 15 A, 18 AWG 10 A (33 CFR 183.425
    # Table 5).
    *threefold(
        "thin-array-lead.over-ampacity", "roof_1", "camper_van",
        inside=say("roof_1", "16 AWG; 75 degC insulation; 3 m"),
        over=(say("roof_1", "16 AWG; 75 degC insulation; 3 m"), say("roof", "Isc 9.9 A")),
        far=say("roof_1", "18 AWG; 75 degC insulation; 1 m; enclosed all the way"),
        far_also=[also("far-fuse.missing", "roof_1", "the panel's 1.25 x 9.49 A is over the 8.6 A that are left in 42 degC, with no device")],
    ),
    # The other test: 1.25 x 9.49 A against 35 A x sqrt((105 - T) / 75). What the panel can push is then over the
    # ampacity as well.
    *threefold(
        "thin-array-lead.over-ampacity", "roof_4", "camper_van",
        inside=say("roof_4", "14 AWG; at 95.9 degC"),
        over=say("roof_4", "14 AWG; at 96.6 degC"),
        far=say("roof_4", "14 AWG; at 101 degC"),
    ),
    # The lead of the battery is 6 AWG, 13.3 mm2.
    *threefold(
        "thin-bond.too-thin", "case_bond", "bench_supply",
        inside=say("case_bond", "13.5 mm2"),
        over=say("case_bond", "13 mm2"),
        far=say("case_bond", "10 AWG"),
    ),
    # Two panels in series reach 50.7 V at the record low of -22 degC.
    *threefold(
        "weak-insulation.voltage", "roof_1", "string_field",
        inside=say("roof_1", "52 V"),
        over=say("roof_1", "49 V"),
        far=say("roof_1", "30 V"),
    ),
    # A bond carries nothing, so that it is as warm as the air: only what carries no current is not told by its ampacity first.
    *threefold(
        "weak-insulation.too-hot", "case_bond", "cargo_trike",
        inside=say("case_bond", "at 103 degC"),
        over=say("case_bond", "at 107 degC"),
        far=say("case_bond", "at 150 degC"),
    ),
    *yes_no(
        "wrong-conductor.copper-terminal", "main_in", "market_stall",
        wrong=say("main_in", "aluminium"),
        wrong_too=say("main_in", "aluminum; 2 AWG"),
        silent=(
            say("main_in", "aluminium; 2 AWG"),
            say("main_fuse", "terminal load { for copper or aluminium }"),
            say("main", "terminal line { for copper or aluminium }"),
        ),
    ),
    *yes_no(
        "wrong-conductor.copper-clad", "main_in", "market_stall",
        wrong=say("main_in", "copper-clad"),
        wrong_too=say("main_in", "CCA; 2 AWG"),
        silent=say("main_in", "tinned copper"),
    ),
    *yes_no(
        "wrong-conductor.solid", "lamp_2", "market_stall",
        wrong=say("lamp_2", "solid"),
        wrong_too=say("lamp_2", "class 1; building wire"),
        silent=(say("lamp_2", "solid; building wire"), site("fixed")),
    ),
)  # fmt: skip
