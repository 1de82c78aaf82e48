"""Faults of energy budgets: no margin, the wrong month, arrays that lose nothing, deep banks, unsaid cold, slow last charge, one main for all."""

from __future__ import annotations

from faults import Planting, say, site, threefold

_REST = "4.5, 5, 5.5, 6, 6, 6, 6, 5, 4.5, 4"

PLANTINGS: tuple[Planting, ...] = (
    # The array brings 1.19 times what is taken at 3.4 h of sun; 1.15 times at 3.28 h.
    *threefold(
        "thin-harvest.no-margin", "sheet", "fence_box",
        inside=site(f"sun by month 3.35, {_REST}, 3.35 h/day"),
        over=site(f"sun by month 3.2, {_REST}, 3.2 h/day"),
        far=site(f"sun by month 1.5, {_REST}, 1.5 h/day"),
    ),
    *threefold(
        "thin-harvest.other-month", "sheet", "fence_box",
        inside=site("sized for 3.3 h/day"),
        over=site("sized for 3.5 h/day"),
        far=site("sized for 5 h/day"),
    ),
    *threefold(
        "optimistic-array.too-much", "roof", "camper_van",
        inside=say("roof", "share left 83 %"),
        over=say("roof", "share left 87 %"),
        far=say("roof", "share left 100 %"),
        coarse="no share is more than 100 %",
    ),
    *threefold(
        "optimistic-array.too-little", "roof", "camper_van",
        inside=say("roof", "share left 51 %"),
        over=say("roof", "share left 49 %"),
        far=say("roof", "share left 20 %"),
    ),
    # 21.8 A of all loads against 0.8 x I_main.
    *threefold(
        "overloaded-main.over-main", "main_fuse", "radio_station",
        inside=say("main_fuse", "28 A"),
        over=say("main_fuse", "26.5 A"),
        far=say("main_fuse", "24 A"),
        coarse="a still smaller main opens in a state that is told, and nuisance-fuse has the finding",
    ),
    # 0.8 x 80 Ah / I + 4 h against the 14 h that are promised.
    *threefold(
        "slow-charge.taper", "keeper", "repeater48",
        inside=say("keeper", "6.7 A"),
        over=say("keeper", "6.1 A"),
        far=say("keeper", "3 A"),
    ),
)  # fmt: skip
