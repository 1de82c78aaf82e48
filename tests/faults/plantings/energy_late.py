"""Faults of energy budgets: no margin, the wrong month, arrays that lose nothing, deep banks, unsaid cold, slow last charge, one main for all."""

from __future__ import annotations

from faults import Edit, Planting, also, replace_text, say, site, threefold, unchecked, unsay

_REST = "4.5, 5, 5.5, 6, 6, 6, 6, 5, 4.5, 4"

_BLIND = unchecked("run-time.under-promise", "house", "what the bank gives in the cold is not known")


def _till(hours: str) -> tuple[Edit, ...]:
    """A till that is on so long, and a battery that says no depth; no run is promised."""
    return (
        unsay("house", "usable_depth"),
        say("till_unit", f"for {hours} h/day"),
        replace_text("require {\n  run till_unit, scale for 3 h\n}\n", ""),
    )


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
    # From memory: half of lead-acid, 480 of 12 V x 80 Ah = 960 Wh. Lamps 72 Wh, scale 48 Wh, till and inverter 60 W / 0.88 + 5 W, 0.995 after the wiring: 4.89 h.
    *threefold(
        "deep-cycling.over-depth", "house", "market_stall",
        inside=_till("4.7"), over=_till("5.05"), far=_till("8"),
        inside_also=[also("run-time.over-a-day", "house", "aged and at -5 degC it gives 0.5 x 0.8 x 0.8 of 960 Wh = 307 Wh")],
    ),
    # A battery vendor's page: below 10 degC the capacity has to be known.
    *threefold(
        "cold-capacity.not-declared", "house", "bench_supply",
        inside=(unsay("house", "capacity_by_temperature"), say("inside", "11 degC to 42 degC")),
        over=(unsay("house", "capacity_by_temperature"), say("inside", "8 degC to 42 degC")),
        far=(unsay("house", "capacity_by_temperature"), say("inside", "1 degC to 42 degC")),
        companions=[_BLIND],
    ),
)  # fmt: skip
