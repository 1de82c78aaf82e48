"""Faults of baselines: a finding that is worse than its entry, an entry of a finding that is no more."""

from __future__ import annotations

from faults import Edit, Planting, also, known, say, threefold, yes_no

_DROP = known("voltage-drop.over-class", "lamps", "warning", "0.055 1", "0.05 1")  # 5.5 % for 5 % (note to NEC 215.2)


def _long(metres: str) -> Edit:
    """Let the lamps hang on so much of 16 AWG, out and back."""
    return say(("lamp_2", "lamp_3"), f"16 AWG; {metres}")


PLANTINGS: tuple[Planting, ...] = (
    # linter/SETTINGS.md, Baseline: worse is what has moved to the bad side of the 5.5 % of the entry, of 12 V: 0.66 V. 16 AWG has 14.1 mohm/m in 38 degC
    # of air, and 15 W at 11.6 V are 1.29 A: 2 x 14.1 mohm/m x 1.29 A = 36.5 mV/m; with 32 mV on what lies before, 0.66 V are reached at 17.2 m.
    *threefold(
        "outgrown-baseline-entry.outgrown", "voltage-drop.over-class, lamps", "garden_shed",
        inside=(_long("16.7 m"), _DROP), over=(_long("17.6 m"), _DROP), far=(_long("23 m"), _DROP),
        companions=[also("voltage-drop.over-class", "lamps", "over the 5.5 % of the entry, which holds it no more")],
    ),
    # The wires of the clean build; wires with which the drop is just inside of the 5 %, and just over.
    *yes_no(
        "unused-baseline-entry.unused", "voltage-drop.over-class, lamps", "garden_shed",
        wrong=_DROP, wrong_too=(_long("15 m"), _DROP), silent=(_long("16 m"), _DROP),
    ),
    # An entry of a rule that is no more (linter/SETTINGS.md, Baseline).
    Planting(
        "unused-baseline-entry.unused", "thirsty-lead.over-class, lamps", "garden_shed",
        (known("thirsty-lead.over-class", "lamps", "warning", "0.055 1", "0.05 1"),), "wrong", tag="rule",
    ),
)  # fmt: skip
