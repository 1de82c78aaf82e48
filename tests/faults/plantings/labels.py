"""Faults of colours and labels: green, white, poles, colours of two meanings, household cords on direct current."""

from __future__ import annotations

from faults import Planting, add, also, say, site, yes_no

_TABLE = "red means plus; black means minus"

PLANTINGS: tuple[Planting, ...] = (
    *yes_no(
        "misleading-colour.green-live", "scale_2", "market_stall",
        wrong=say("scale_2", "green"),
        wrong_too=say("scale_2", "green and yellow; sleeve black at both ends"),
        silent=add("wire box_bond from minusbar to box { 4 AWG; 0.2 m; green; bond; in inside }"),
    ),
    *yes_no(
        "misleading-colour.white-positive", "scale_1", "market_stall",
        wrong=say("scale_1", "white"),
        wrong_too=say("scale_1", "red; sleeve white at both ends"),
        silent=say("scale_1", "white; sleeve red at both ends"),
    ),
    *yes_no(
        "misleading-colour.wrong-pole", "scale_1", "market_stall",
        wrong=say("scale_1", "black"),
        wrong_too=(site(f"{_TABLE}; violet means minus"), say("scale_1", "violet")),
        silent=(site(f"{_TABLE}; violet means plus"), say("scale_1", "violet")),
    ),
    *yes_no(
        "misleading-colour.two-roles", "scale_2", "market_stall",
        wrong=(say("lamp_1", "violet"), say("lamp_2", "violet"), say("scale_2", "violet")),
        wrong_too=(say("lamp_1", "orange"), say("lamp_2", "orange"), say("scale_2", "black; sleeve orange at both ends")),
        silent=(say("lamp_1", "violet"), say("lamp_2", "violet"), say("scale_2", "pink")),
    ),
    *yes_no(
        "misleading-colour.cord-not-marked", "lamp_cord", "market_stall",
        wrong=say("lamp_cord", "household cord"),
        wrong_too=(
            say("lamp_cord", "household cord; core lamp_plus from lamp_plug.1 to lamps.plus, black, sleeve red at lamp_plug.1; core lamp_minus from lamps.minus to lamp_plug.2, white, sleeve black at both ends"),
            site("exceptions to the scheme lamp_cord"),
        ),
        wrong_too_also=[also("unmarked-lead.no-marks", "lamp_cord", "at the lamps plus is black, and so is the sleeve of minus")],
        silent=say("till_cord", "household cord"),
    ),
)  # fmt: skip
