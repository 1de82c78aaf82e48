"""Faults of conductors: too thin, too hot, wound up, alike and unlike, bonds, insulation, metal."""

from __future__ import annotations

from faults import Planting, also, say, threefold

PLANTINGS: tuple[Planting, ...] = (
    # 10 AWG at 105 degC carries 60 A; in air of T it is 60 x sqrt((105 - T) / 75), against the inverter's 30.3 A at its cut-off (33 CFR 183.425 Table 5).
    *threefold(
        "undersized-wire.over-ampacity", "mains_minus", "camper_van",
        inside=say("mains_minus", "10 AWG; at 85 degC"),
        over=say("mains_minus", "10 AWG; at 86.5 degC"),
        far=say("mains_minus", "10 AWG; at 97 degC"),
    ),
    # 12 AWG carries 45 A, the charger gives 20 A; from 20 A of ampacity on the 30 A fuse at its house end is over 1.5 times it, and no right one stands there.
    *threefold(
        "undersized-wire.over-ampacity", "drive_out", "camper_van",
        inside=say("drive_out", "12 AWG; at 89.5 degC"),
        over=say("drive_out", "12 AWG; at 91 degC"),
        far=say("drive_out", "12 AWG; at 98 degC"),
        companions=[
            also("oversized-fuse.step-down", "drive_out", "30 A is over 1.5 x 19.4 A, and the lead begins at a bar with thicker wires"),
            also("one-ended-link.one-end", "drive_out", "between two sources, with no device for its ampacity at the house end"),
        ],
    ),
)  # fmt: skip
