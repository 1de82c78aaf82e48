"""Faults of cases: heat, voltage within reach, loose things, bare holes, hydrogen and water."""

from __future__ import annotations

from faults import Planting, add, also, say, site, threefold, unsay, yes_no

# Two panels in series on a wet trike, the lid over their switch and controller opens by hand: the limit is looked for between 30 and 60 V.
_WET_LID = (site("damp"), add("cover lid { covers sun_switch, sun; opens by hand }"), say("sun", "PV at most 150 V"))
_ROOF_AT_30 = "2 x {} x (1 + 0.0029 x 40) V are over 30 V in the wet, and less than 60 V"
_WITH_POCKET = add("zone pocket { in box; loose things kept here; no insulating partition }")

# 33 CFR 183.445(b).
_BARE = also("bare-stud.unfused", "house", "its plus stud stays live before every fuse, whatever lies near it")

PLANTINGS: tuple[Planting, ...] = (
    # The zone says how warm it gets; the sealed battery may be charged up to 45 degC (its sheet).
    *threefold(
        "hot-case.over-limit", "box", "market_stall",
        inside=say("inside", "-5 degC to 44.5 degC"),
        over=say("inside", "-5 degC to 47 degC"),
        far=say("inside", "-5 degC to 58 degC"),
    ),
    # The charger loses (1 / 0.88 - 1) of 15 A x 13.4 V, 27.4 W, the battery 15 A squared x 14 mohm and less what the meter takes, wires and switch
    # 0.7 W: 30.3 W through 2 x (0.48 + 0.30) x 0.26 + 0.48 x 0.30 = 0.55 m2 of 6 W/m2K are 9.2 K, on 30 degC 39.2 degC.
    *threefold(
        "hot-case.over-limit", "box", "bench_supply",
        inside=(unsay("inside", "temperature"), say("wall", "works up to 42 degC")),
        over=(unsay("inside", "temperature"), say("wall", "works up to 39 degC")),
        far=(unsay("inside", "temperature"), say("wall", "works up to 32 degC")),
    ),
    # Lithium iron phosphate ages faster above 45 degC (a supplier of cells, secondary).
    *threefold(
        "hot-case.over-derating", "box", "cargo_trike",
        inside=(say("house", "charge at 0 degC to 55 degC"), say("inside", "0 degC to 44.5 degC")),
        over=(say("house", "charge at 0 degC to 55 degC"), say("inside", "0 degC to 47 degC")),
        far=(say("house", "charge at 0 degC to 55 degC"), say("inside", "0 degC to 49.5 degC")),
    ),
    # The same 30.3 W: with the fan stopped 15 K to the 45 degC up to which the battery may be charged need 30.3 / (0.55 x 15) = 3.67 W/m2K.
    *threefold(
        "fan-cooled.too-hot", "box", "bench_supply",
        inside=say("box", "fan; with the fan 9 W/m2K; fan stopped 3.9 W/m2K"),
        over=say("box", "fan; with the fan 9 W/m2K; fan stopped 3.4 W/m2K"),
        far=say("box", "fan; with the fan 9 W/m2K; fan stopped 1.5 W/m2K"),
    ),
    # And the same 39.2 degC against what the zone says.
    *threefold(
        "optimistic-temperature.below-own-heat", "inside", "bench_supply",
        inside=say("inside", "10 degC to 40.5 degC"),
        over=say("inside", "10 degC to 38 degC"),
        far=say("inside", "10 degC to 33 degC"),
    ),
    # 60 degC in the sun (from memory); a state of twenty minutes, in which nothing runs, says how hot it gets.
    *threefold(
        "optimistic-temperature.sun-heated", "site", "radio_station",
        inside=(site("direct sun"), add('state "in the sun" { main open; keeper off; 61 degC; lasts 20 min }')),
        over=(site("direct sun"), add('state "in the sun" { main open; keeper off; 57 degC; lasts 20 min }')),
        far=site("direct sun"),
    ),
    # A boot is no cover; one that names each terminal is as good as one that names the part.
    *yes_no(
        "live-within-reach.mains", "mains", "market_stall",
        wrong=say("guard", "opens by hand"),
        wrong_also=[also("live-within-reach.mains", "outlet", "the same guard covers the outlet on the inverter's case")],
        wrong_too=(say("guard", "covers outlet; with a tool"), say("mains", "terminals L, N, PE { no boot }")),
        silent=say("guard", "covers mains.L, mains.N, mains.PE, outlet; with a tool"),
    ),
    # Four panels in series reach 89.2 V x (1 + 0.0029 x 41) = 99.8 V at the record low of -16 degC; 60 V DC (a maker's glossary).
    *yes_no(
        "live-within-reach.high-dc", "sun_switch", "two_packs",
        wrong=say("sun_guard", "opens by hand"),
        wrong_also=[also("live-within-reach.high-dc", "sun", "the same guard covers the controller")],
        wrong_too=(say("sun_guard", "covers sun"), say("sun_switch", "terminals line, line2, load, load2 { no boot }")),
        silent=say("sun_guard", "covers sun, sun_switch.line, sun_switch.load, sun_switch.line2, sun_switch.load2"),
    ),
    # At the record low of -15 degC two panels in series have 2 x Voc x (1 + 0.0029 x 40) = 2.232 Voc.
    *threefold(
        "live-within-reach.high-dc", "sun_switch", "cargo_trike",
        inside=(*_WET_LID, say("roof", "Voc 26.1 V")),
        inside_also=[also("live-within-reach.wet-dc", name, _ROOF_AT_30.format("26.1")) for name in ("sun_switch", "sun")],
        over=(*_WET_LID, say("roof", "Voc 27.6 V")),
        far=(*_WET_LID, say("roof", "Voc 36 V")),
        companions=[also("live-within-reach.high-dc", "sun", "the same lid covers the controller")],
    ),
    # 49.8 V; the line in the wet is 30 V DC (from memory, so that it is a warning).
    *yes_no(
        "live-within-reach.wet-dc", "sun_switch", "cargo_trike",
        wrong=(site("damp"), add("cover lid { covers sun_switch, sun; opens by hand }")),
        wrong_also=[also("live-within-reach.wet-dc", "sun", "the same lid covers the controller")],
        wrong_too=(
            site("damp"), add("cover lid { covers sun; with a tool }"),
            say("sun_switch", "terminals line, load, line2, load2 { no boot }"),
        ),
        silent=(site("damp"), add("cover lid { covers sun_switch, sun; with a tool }")),
    ),
    # 33 CFR 183.420(b): nothing of metal may touch the ungrounded terminals of a battery.
    *yes_no(
        "loose-metal.bare", "inside", "market_stall",
        wrong=(say("inside", "loose things kept here"), say("house", "terminal plus { no boot }")),
        wrong_too=(say("inside", "loose things kept here"), say("plusbar", "terminals { no boot }")),
        silent=(say("inside", "loose things kept here; insulating partition"), say("house", "terminal plus { no boot }")),
        wrong_also=[_BARE], silent_also=[_BARE],
    ),
    *yes_no(
        "loose-metal.bare", "pocket", "cargo_trike", tag="pocket",
        wrong=(_WITH_POCKET, say("house", "terminals { no boot }")),
        wrong_too=(
            _WITH_POCKET,
            say("house", "in pocket; terminal minus { no boot }"),
        ),
        silent=(add("zone pocket { in box; loose things kept here; insulating partition }"), say("house", "terminals { no boot }")),
        wrong_also=[_BARE], silent_also=[_BARE],
    ),
    # 33 CFR 183.445(a); what lies before the fuse of the battery, beside what has a fuse of its own.
    *yes_no(
        "unlined-hole.unfused", "cabinet.room_hole", "string_field",
        wrong=(say("cabinet", "hole room_hole { no grommet }"), say("battery_lead", "through room_hole")),
        wrong_too=(say("cabinet", "hole room_hole { no grommet }"), say("sun_tap", "through room_hole")),
        silent=say("battery_lead", "through room_hole"),
    ),
    # Both leads of the battery come behind its post fuse; the second time the return takes another way out.
    *yes_no(
        "unlined-hole.bare", "bay.lead_hole", "garden_shed",
        wrong=say("bay", "hole lead_hole { no grommet }"),
        wrong_too=(say("bay", "hole lead_hole { no grommet }"), say("battery_return", "through nothing")),
        silent=say("bay", "hole lead_hole { no grommet; gland 6 mm to 12 mm }"),
    ),
    # EN 50272-3: 0.05 x 6 cells x 2 A = 0.6 m3/h, 28 cm2 for each m3/h: 16.8 cm2 low and high.
    *threefold(
        "unvented-battery.too-small", "battery_box", "boat",
        inside=say("battery_box", "vent low { 17.4 cm2 }; vent high { 17.4 cm2 }"),
        over=say("battery_box", "vent low { 16.2 cm2 }; vent high { 25 cm2 }"),
        far=say("battery_box", "vent low { 25 cm2 }; vent high { 8 cm2 }"),
    ),
    # 14.7 V are 2.45 V a cell, above 2.4: 6 A for 100 Ah, 1.8 m3/h, 50.4 cm2; the vents have 30 cm2.
    *threefold(
        "unvented-battery.too-small", "bay", "garden_shed",
        inside=(say("sun", "absorption 14.7 V"), say("bay", "vent low { 52 cm2 }; vent high { 52 cm2 }")),
        over=(say("sun", "absorption 14.7 V"), say("bay", "vent low { 52 cm2 }; vent high { 48.5 cm2 }")),
        far=say("sun", "absorption 14.7 V"),
    ),
    # Gas rises: the upper vent counts, and a duct that ends in the cabin is no way out.
    *yes_no(
        "unvented-battery.not-outside", "battery_box", "boat",
        wrong=say("battery_box", "vent high { not to the outside }"),
        wrong_too=say("battery_box", "vent high { not to the outside; duct }; vent upper_high { 20 cm2; not to the outside }"),
        silent=say("battery_box", "vent low { not to the outside }"),
    ),
    # IPx4 and more: each vent needs a membrane or a duct (common practice, no source).
    *yes_no(
        "unvented-battery.lets-water-in", "box", "market_stall",
        wrong=say("box", "vent low { no membrane; no duct }"),
        wrong_too=say("box", "IP54; vent high { no membrane; no duct }"),
        silent=say("box", "vent low { no membrane; duct }"),
    ),
)  # fmt: skip
