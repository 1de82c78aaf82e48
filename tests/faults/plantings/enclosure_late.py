"""Faults of cases: bare studs, sparks, water, weight, acid, room, bonds, wood."""

from __future__ import annotations

from faults import Planting, add, also, drop, say, site, threefold, unsay, yes_no

PLANTINGS: tuple[Planting, ...] = (
    # 33 CFR 183.445(b): a boot on what stays live.
    *yes_no(
        "bare-stud.unfused", "house", "portable_box",
        wrong=say("house", "terminal plus { no boot }"),
        wrong_too=say("house", "terminals plus, minus { no boot }"),
        silent=(say("house", "terminal plus { no boot }"), add("cover lid { over house; insulating; opens by hand }")),
    ),
    *yes_no(
        "bare-stud.fused", "main", "portable_box",
        wrong=say("main", "terminal line { no boot }"),
        wrong_too=say("main", "terminals line, load { no boot }"),
        silent=say("main", "terminal load { no boot }"),
    ),
    # NEC 552.10(D), 2008: nothing that sparks beside vented cells.
    *yes_no(
        "spark-in-gas.vented", "main_fuse", "garden_shed",
        wrong=say("main_fuse", "not ignition-protected"),
        wrong_too=say("main_fuse", "not ignition-protected; not sealed"),
        silent=say("main_fuse", "not ignition-protected; sealed"),
    ),
    *yes_no(
        "spark-in-gas.valve-regulated", "main_fuse", "radio_station",
        wrong=say("main_fuse", "not ignition-protected"),
        wrong_too=say("main_fuse", "not ignition-protected; not sealed"),
        silent=say("main_fuse", "not ignition-protected; sealed"),
    ),
    # 33 CFR 183.410.
    *yes_no(
        "exposed-spark.near-petrol", "sun_fuse", "boat",
        wrong=say("sun_fuse", "not ignition-protected"),
        wrong_too=say("sun_fuse", "not ignition-protected; sealed"),
        silent=say("sun_fuse", "ignition-protected; not sealed"),
    ),
    # IPX3 is asked for.
    *yes_no(
        "weak-ingress.below-use", "sun_socket", "portable_box",
        wrong=say("sun_socket", "IP67 mated; IP20 apart"),
        wrong_too=say("sun_socket", "IP42 mated; IP54 apart"),
        silent=say("sun_socket", "IP43 mated; IP43 apart"),
    ),
    # Carried by two: 2 x 23 kg; the box itself is 4 kg of 30 kg.
    *threefold(
        "heavy-box.two-handed", "box", "choir_stage",
        inside=say("box", "weighs 19.5 kg; handles bear 3000 N"),
        over=say("box", "weighs 20.8 kg; handles bear 3000 N"),
        far=say("box", "weighs 45 kg; handles bear 3000 N"),
    ),
    # Three times 30 kg x 9.81 m/s2 = 883 N.
    *threefold(
        "heavy-box.handle", "box", "choir_stage",
        inside=say("box", "handles bear 900 N"),
        over=say("box", "handles bear 865 N"),
        far=say("box", "handles bear 400 N"),
    ),
    # 420 x 300 x 220 mm; the controller with its sides.
    *threefold(
        "tight-fit.side", "box", "portable_box",
        inside=say("sun", "size 410 x 60 x 60 mm"),
        over=say("sun", "size 430 x 60 x 60 mm"),
        far=say("sun", "size 600 x 60 x 60 mm"),
    ),
    # 27.7 l; twice the battery's 198 x 166 x 170 mm is 11.2 l, so that the controller may take 8.27 l.
    *threefold(
        "tight-fit.volume", "box", "portable_box",
        inside=say("sun", "size 240 x 200 x 166 mm"),
        over=say("sun", "size 250 x 200 x 176 mm"),
        far=say("sun", "size 400 x 250 x 200 mm"),
    ),
    # 8 x 9 mm = 72 mm.
    *threefold(
        "tight-fit.bend", "sun_cord", "portable_box",
        inside=say("sun_cord", "bent to 74 mm"),
        over=say("sun_cord", "bent to 70 mm"),
        far=say("sun_cord", "bent to 40 mm"),
    ),
    *yes_no(
        "tight-fit.cut-outs", "front", "portable_box",
        wrong=add("panel front { hole a { at 50 mm x 50 mm; 30 mm }; hole b { at 70 mm x 50 mm; 30 mm } }"),
        wrong_too=add("panel front { hole a { at 50 mm x 50 mm; 30 mm }; hole b { at 50 mm x 85 mm; size 50 x 50 mm } }"),
        silent=add("panel front { hole a { at 50 mm x 50 mm; 30 mm }; hole b { at 81 mm x 50 mm; 30 mm } }"),
    ),
    *yes_no(
        "case-bond.hidden", "box", "cargo_trike",
        wrong=say("box", "not bond reachable and clean"),
        wrong_too=say("box", "not bond accessible"),
        silent=say("box", "bond accessible"),
    ),
    *yes_no(
        "case-bond.twice", "box", "bench_supply",
        wrong=add("wire second_bond from house.minus to box { 6 AWG; 0.2 m; green; bond; in inside }"),
        wrong_too=add("wire second_bond from minusbar to box { 6 AWG; 0.2 m; green; bond; in inside }"),
        wrong_also=[
            also("misleading-colour.green-live", "case_bond", "a part of the return flows through the case and both bonds"),
            also("misleading-colour.green-live", "second_bond", "a part of the return flows through the case and both bonds"),
        ],
        silent=(drop("case_bond"), add("wire second_bond from minusbar to box { 6 AWG; 0.2 m; green; bond; in inside }")),
    ),
    # 10 mm between a hot joint and wood.
    *threefold(
        "hot-part-on-wood.no-stand-off", "plusbar", "bench_supply",
        inside=say("plusbar", 'screwed to "plywood"; stand-off 10.3 mm'),
        over=say("plusbar", 'screwed to "plywood"; stand-off 9.7 mm'),
        far=say("plusbar", 'screwed to "plywood"; stand-off 2 mm'),
    ),
    *yes_no(
        "spillable-battery.portable", "house", "garden_shed",
        wrong=(site("portable"), say("house", "weighs 20 kg")),
        wrong_too=(site("portable; outdoors; no water protection"), say("house", "weighs 18 kg")),
        silent=site("boat"),
    ),
    # 12 kg in one hand.
    *threefold(
        "heavy-box.one-handed", "box", "choir_stage",
        inside=(say(("first", "second"), "weighs 3 kg"), say("box", "carried with 1 hand; weighs 5.7 kg")),
        over=(say(("first", "second"), "weighs 3 kg"), say("box", "carried with 1 hand; weighs 6.4 kg")),
        far=(say(("first", "second"), "weighs 3 kg"), say("box", "carried with 1 hand; weighs 12 kg")),
    ),
    *yes_no(
        "case-bond.missing", "box", "bench_supply",
        wrong=(drop("case_bond"), unsay("box", "bonded_at"), say("box", "not floats")),
        wrong_too=(drop("case_bond"), unsay("box", "bonded_at"), say("box", "not floating")),
        silent=(drop("case_bond"), unsay("box", "bonded_at"), say("box", "floats")),
        silent_also=[also("one-pole-fuse.metal-case", "house", "it floats, and only the plus side has fuses")],
    ),
)  # fmt: skip
