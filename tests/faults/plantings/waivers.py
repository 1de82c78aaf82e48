"""Faults of waivers: past their date, without reason or value, outgrown, of nothing."""

from __future__ import annotations

from faults import Edit, Planting, add, also, say, yes_no

_THIN = say("lamp_1", "18 AWG")  # 0.823 mm2 for the 1.31 mm2 of a single wire: fragile-wire.single, a warning

_WAIVED = also("fragile-wire.single", "lamp_1", "0.823 mm2, waived down to 0.8 mm2")


def _waive(bound: str, wires: str = "lamp_1") -> Edit:
    """A waiver of a thin wire down to so much."""
    return add(f'waive fragile-wire.single on {wires} {bound} because "short and in a tube" until 2027-01-01')


PLANTINGS: tuple[Planting, ...] = (
    *yes_no(
        "expired-waiver.expired", "crowded-stud.wrong-hole", "market_stall",
        wrong=(say("house", "terminal minus { M10 lug }"), add('waive crowded-stud.wrong-hole on house because "washers are under it" until 2026-05-31')),
        wrong_too=add('waive crowded-stud.wrong-hole on house because "washers are under it" until 2020-01-01'),
        silent=(say("house", "terminal minus { M10 lug }"), add('waive crowded-stud.wrong-hole on house because "washers are under it" until 2026-06-01')),
        wrong_also=[also("crowded-stud.wrong-hole", "house", "nothing excuses the lug any more")],
        silent_also=[also("crowded-stud.wrong-hole", "house", "waived to this day")],
    ),
    *yes_no(
        "incomplete-waiver.incomplete", "fragile-wire.single", "market_stall",
        wrong=(_THIN, _waive("")),
        wrong_too=(_THIN, add("waive fragile-wire.single on lamp_1 down to 0.8 mm2 until 2027-01-01")),
        silent=(_THIN, _waive("down to 0.8 mm2")),
        companions=[also("fragile-wire.single", "lamp_1", "0.823 mm2 for 1.31 mm2, and nothing excuses it")],
        silent_also=[_WAIVED],
    ),
    # 17 AWG is 1.04 mm2.
    *yes_no(
        "outgrown-waiver.outgrown", "fragile-wire.single", "market_stall",
        wrong=(_THIN, _waive("down to 0.85 mm2")), wrong_too=(_THIN, _waive("down to 17 AWG")), silent=(_THIN, _waive("down to 18 AWG")),
        companions=[also("fragile-wire.single", "lamp_1", "0.823 mm2 is less than the waiver excuses")],
        silent_also=[_WAIVED],
    ),
    *yes_no(
        "unused-waiver.unused", "fragile-wire.single", "market_stall",
        wrong=_waive("down to 0.8 mm2"),
        wrong_too=(_THIN, _waive("down to 0.8 mm2", "lamp_1, lamp_2")),
        silent=(_THIN, _waive("down to 0.8 mm2")),
        wrong_too_also=[_WAIVED],
        silent_also=[_WAIVED],
    ),
)  # fmt: skip
