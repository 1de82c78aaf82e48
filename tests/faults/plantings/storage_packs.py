"""Faults of packs side by side: unequal shares, unlike packs."""

from __future__ import annotations

from faults import Edit, Planting, also, in_state, say, threefold, yes_no
from faults.plantings.storage import of_bank

# A larger pump: with the cool box it takes more than the 10 A of 200 Ah in 20 h.
_PUMP = (say("pump", "130 W"), in_state("pumping", "dark"))


def _switch(contact: str) -> tuple[Edit, ...]:
    return *_PUMP, say("right_switch", f"contact resistance {contact}")


# Lead-acid gives gas, flooded more of it; the regulator of the turbine is made for all three.
_VENTS = say("chest", "vent low { 20 cm2; leads outside }; vent high { 20 cm2; leads outside }")
_WIDER = say("chest", "vent low { 80 cm2; leads outside }; vent high { 80 cm2; leads outside }")
_WHEEL = say("wheel", "charges AGM, gel, flooded")


PLANTINGS: tuple[Planting, ...] = (
    # A worn contact: 8 mohm + 0.46 mohm of leads on each side, 0.2 mohm against 6.0 mohm of the switches give 1.25 times the average.
    *threefold(
        "uneven-sharing.uneven", "left", "two_packs",
        inside=_switch("5.2 mohm"), over=_switch("6.8 mohm"), far=_switch("30 mohm"),
    ),
    # By 13.9 and 8.7 mohm the left one gives 0.61 of the 18.2 A that all loads take at their cut-off: 11.1 A, where each would give 9.1 A.
    *threefold(
        "uneven-sharing.over-limit", "left", "two_packs",
        inside=(*_switch("5 mohm"), say("left", "discharge at most 11.4 A")),
        over=(*_switch("5 mohm"), say("left", "discharge at most 10.8 A")),
        far=(*_switch("30 mohm"), say("left", "discharge at most 9.5 A")),
        far_also=[also("uneven-sharing.uneven", "left", "38.5 and 8.7 mohm: 1.63 times the average")],
    ),
    *yes_no(
        "unlike-packs.chemistry", "right", "two_packs",
        wrong=(say("right", "NMC"), say("sun", "charges LFP, NMC")),
        wrong_too=(say("right", "AGM; 6 cells"), _VENTS),
        silent=say("right", "LFP; 100 Ah over 5 h; made 2026-01-20"),
    ),
    *yes_no(
        "unlike-packs.build", "west_1", "hydro_cabin",
        wrong=(_WHEEL, say(("west_1", "west_2"), "gel")),
        wrong_too=(_WHEEL, _WIDER, say(("west_1", "west_2"), "flooded")),
        silent=say(("west_1", "west_2"), "AGM; size 480 x 170 x 240 mm"),
    ),
    *yes_no(
        "unlike-packs.voltage", "right", "two_packs",
        wrong=say("right", "13.2 V"),
        wrong_too=say("right", "12.0 V"),
        silent=say("right", "12.8 V"),
    ),
    # 5 % of 100 Ah.
    *of_bank("left, right", threefold(
        "unlike-packs.capacity", "right", "two_packs",
        inside=say("right", "95.2 Ah over 5 h"), over=say("right", "94.8 Ah over 5 h"), far=say("right", "90 Ah over 5 h"),
    )),
    # 6 months before 2026-01-05 is 2025-07-05.
    *of_bank("left, right", threefold(
        "unlike-packs.age", "right", "two_packs",
        inside=say("right", "made 2025-07-10"), over=say("right", "made 2025-06-28"), far=say("right", "made 2025-01-05"),
    )),
)  # fmt: skip
