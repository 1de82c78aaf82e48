"""Faults of outlets: no device that sees a fault, sources that meet, AC beside DC, weak cords, earths that lead nowhere."""

from __future__ import annotations

from faults import Planting, add, also, drop, say, site, threefold, unsay, yes_no

PLANTINGS: tuple[Planting, ...] = (
    # 29 CFR 1926.404(b)(1)(ii): damp or outdoors, unless two isolated wires of at most 5 kW.
    *yes_no(
        "unguarded-outlet.no-device", "outlet", "workshop_cart",
        wrong=(say("outlet", "damp or outdoor"), say("mains", "not output isolated from the frame")),
        wrong_too=(site("damp"), say("mains", "not output isolated from the frame")),
        silent=say("outlet", "damp or outdoor"),
    ),
    # Catalogue, I6: house wiring that floats. The bond inside is still said, so that no bond is missing, which would tell of the same fault.
    *yes_no(
        "unguarded-outlet.floating-wiring", "room_outlet, power", "cabin48",
        wrong=(say("power", "floating; no residual-current device"), say("room_outlet", "no residual-current device")),
        wrong_too=(say("power", "floating"), unsay("power", "residual_current_device"), unsay("room_outlet", "residual_current_device")),
        silent=(say("power", "floating; no residual-current device"), say("room_outlet", 'exempt because "one lamp"')),
        companions=[also("unguarded-outlet.blind", "power", "its output floats")],
        silent_also=[also("unguarded-outlet.blind", "power", "its output floats")],
    ),
    # Catalogue, I7: the transfer inside has to break first.
    *yes_no(
        "meeting-sources.transfer", "power", "narrow_boat",
        wrong=say("power", "not transfer breaks before it makes"),
        wrong_too=say("power", "not break-before-make transfer"),
        silent=say("power", "break-before-make transfer"),
        wrong_also=[also("neutral-bonds.two-bonds", "power", "for that moment its own bond and that of the shore supply are one circuit")],
        wrong_too_also=[also("neutral-bonds.two-bonds", "power", "for that moment its own bond and that of the shore supply are one circuit")],
    ),
    # The AC is 120 V; a lead of the 48 V side in the same duct.
    *threefold(
        "mixed-circuits.shared-duct", "back", "cabin48",
        inside=(say("house_L", "duct back"), say("power_plus", "duct back; 125 V")),
        over=(say("house_L", "duct back"), say("power_plus", "duct back; 116 V")),
        far=(say("house_L", "duct back"), say("power_plus", "duct back; 70 V")),
    ),
    # 1500 W / 230 V = 6.52 A, before the 10 A breaker limits anything; in the hottest air, 34 degC, the cord bears 0.96 times its marking.
    *threefold(
        "weak-outlet-cord.over-ampacity", "kettle_cord", "narrow_boat",
        inside=say("kettle_cord", "marked 6.95 A"),
        over=say("kettle_cord", "marked 6.6 A"),
        far=say("kettle_cord", "marked 4 A"),
    ),
    *yes_no(
        "unbonded-outlet.case", "power, cabinet", "cabin48",
        wrong=drop("power_case"),
        wrong_too=(drop("power_case"), say("power", "not metal case")),
        silent=say("power_case", "0.6 m"),
    ),
    *yes_no(
        "unbonded-outlet.earth-pin", "galley_outlet", "narrow_boat",
        wrong=drop("galley_PE"),
        wrong_too=(drop("galley_PE"), say("galley_outlet", "damp or outdoor")),
        silent=say("galley_PE", "2 m"),
    ),
    *yes_no(
        "mixed-circuits.shared-connector", "lamp_socket, lamp_plug", "choir_stage",
        wrong=say(("lamp_socket", "lamp_plug"), "pin 3 L; 3 pins"),
        wrong_too=say(("lamp_socket", "lamp_plug"), "pin 3 N; 3 pins"),
        silent=say(("lamp_socket", "lamp_plug"), "pin 3 { spare; plugged }; 3 pins"),
    ),
    *yes_no(
        "meeting-sources.joined", "mains", "market_stall",
        wrong=add(
            "connector wall { same as mains_three except { pin 1 L; pin 2 N; pin 3 PE; inlet; in inside } }\n"
            "wires 14 AWG, 0.3 m, in inside { wall_L from wall.1 to outlet.1, black; wall_N from wall.2 to outlet.2, white }"
        ),
        wrong_too=add(
            "connector wall { same as mains_three except { pin 1 L; pin 2 N; pin 3 PE; inlet; in inside } }\n"
            "breaker tie { same as house_breaker except { 15 A; in inside } }\ncover over_tie { covers tie; with a tool; insulating }\n"
            "wires 14 AWG, 0.3 m, in inside { wall_L from wall.1 to tie.line, black; tie_L from tie.load to outlet.1, black; wall_N from wall.2 to outlet.2, white }"
        ),
        silent=say("mains", "in inside"),
    ),
    *yes_no(
        "unguarded-outlet.blind", "power", "cabin48",
        wrong=say("power", "floating"),
        wrong_too=say("power", "floating; neutral never bonded"),
        silent=say("power", "earthed neutral"),
        wrong_too_also=[also("neutral-bonds.no-bond", "power", "the residual-current device behind it finds no bond")],
    ),
)  # fmt: skip
