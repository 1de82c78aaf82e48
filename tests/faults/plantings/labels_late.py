"""Faults of labels, colours, ids, steps, sources and versions."""

from __future__ import annotations

from faults import Planting, add, also, drop, say, site, unsay, yes_no

_TABLE = "colour red for plus; colour black for minus"

PLANTINGS: tuple[Planting, ...] = (
    *yes_no(
        "two-schemes.second-colour", "lamp_3", "portable_box",
        wrong=say("lamp_3", "yellow"),
        wrong_too=say("lamp_3", "grey"),
        silent=(say("lamp_3", "yellow"), site(f"{_TABLE}; colour yellow for minus")),
    ),
    *yes_no(
        "two-schemes.not-in-scheme", "lamp_3", "portable_box",
        wrong=(say("lamp_3", "yellow"), site(_TABLE)),
        wrong_too=(say("lamp_3", "orange"), site(_TABLE)),
        silent=(say("lamp_3", "yellow"), site(f"{_TABLE}; exceptions to the scheme lamp_3")),
    ),
    *yes_no(
        "unmarked-fuse.no-label", "lamp_fuse", "portable_box",
        wrong=drop("fuse_labels"),
        wrong_also=[also("roomy-holder.unlabelled", "main_fuse", "its holder takes 300 A, the wires behind it 1.5 x 71 A: a fault of its own, with a figure")],
        wrong_too=say("fuse_labels", "at main_fuse, sun_fuse, radio_fuse, phone_fuse"),
        silent=(drop("fuse_labels"), site("labels as generated")),
    ),
    *yes_no(
        "unmarked-connector.no-label", "lamp_socket", "portable_box",
        wrong=drop("socket_labels"),
        wrong_too=say("socket_labels", "at sun_socket, radio_socket"),
        silent=(drop("socket_labels"), site("labels as generated")),
    ),
    *yes_no(
        "unmarked-lead.no-marks", "lamp_cord", "portable_box",
        wrong=unsay("lamp_plug", "pins.1.polarity"),
        wrong_too=unsay("lamp_plug", "pins.2.polarity"),
        silent=(unsay("lamp_plug", "pins.1.polarity"), say("lamp_cord", "polarity marked at both ends")),
    ),
    *yes_no(
        "confusing-id.twice", "lamp_1, lamp_2", "portable_box",
        wrong=(say("lamp_1", "id W12"), say("lamp_2", "id W12")),
        wrong_too=(say("lamp_1", "id W12"), say("lamp_2", 'label "W12"')),
        silent=(say("lamp_1", "id W12"), say("lamp_2", "id W13")),
    ),
    *yes_no(
        "confusing-id.unknown", "tools", "portable_box",
        wrong=add("sheet tools { kept by hand; lists house; lists old_fuse }"),
        wrong_too=add("sheet tools { kept by hand; lists 2 house; lists W99 }"),
        silent=add("sheet tools { kept by hand; lists house; lists sun }"),
    ),
    *yes_no(
        "confusing-id.not-on-sheet", "wiring", "portable_box",
        wrong=add("sheet wiring { kept by hand; lists lamp_1; lists lamp_2 }"),
        wrong_too=add("sheet wiring { kept by hand; lists sun_in }"),
        silent=add("sheet wiring { kept by hand; lists house }"),
    ),
    *yes_no(
        "vague-step.no-reading", "1", "portable_box",
        wrong=add('commissioning { step 1 { "Check voltage" } }'),
        wrong_too=add('commissioning { step 1 { "Check voltage"; in state stored; between house.plus and house.minus; expect 13.2 V } }'),
        silent=add('commissioning { step 1 { "Check voltage"; in state stored; between house.plus and house.minus; expect 13.0 V to 13.4 V } }'),
    ),
    *yes_no(
        "unmarked-battery.no-label", "house", "portable_box",
        wrong=drop("battery_labels"),
        wrong_too=say("battery_labels", "at sun"),
        silent=(drop("battery_labels"), add('label what_is_in_it { "LFP, 640 Wh"; at house }')),
    ),
    *yes_no(
        "unmarked-outlet.no-warning", "mains", "market_stall",
        wrong=drop("outlet_labels"),
        wrong_too=say("outlet_labels", "at till_plug"),
        silent=(drop("outlet_labels"), add('label words { "Floating output, not for house wiring"; at mains }')),
    ),
    *yes_no(
        "unsourced-rating.no-source", "spare_bar", "portable_box",
        wrong=add("bus spare_bar { 50 A; stand-off 12 mm }"),
        wrong_too=add('bus spare_bar { 50 A; stand-off 12 mm; ratings from "a sheet" }'),
        silent=add("bus spare_bar { 50 A; stand-off 12 mm; assumed }"),
    ),
    *yes_no(
        "untold-change.not-in-history", "rig", "portable_box",
        wrong=add("history { version 0 { 2026-01-01 } }"),
        wrong_too=add("history { version 0 { 2025-01-01 }; version 2 { 2026-03-01 } }"),
        silent=add("history { version 1 { 2026-02-20 } }"),
    ),
    *yes_no(
        "untold-change.not-tested", "1", "portable_box",
        wrong=add("history { version 1 { 2026-02-20; changed main_fuse } }"),
        wrong_too=add("history { version 1 { 2026-02-20; changed lamp_socket; because \"other family\" } }"),
        silent=add("history { version 1 { 2026-02-20; changed main_fuse; re-test done } }"),
    ),
)  # fmt: skip
