"""Faults of storage that empty, spoil or overload a battery: drains, levels, temperatures, currents, storage with a panel on."""

from __future__ import annotations

from faults import Edit, Planting, add, also, drop, in_state, say, threefold, unsay, yes_no

_ALONE = 'waive panel-without-battery on sun up to 26 V because "the order is posted at the box" until 2027-03-31'
_NOT_BORNE = (say("sun", "not bears PV with no battery"), unsay("procedure", "pv_unplugged_in_storage"))
_WAIVED = [
    also("panel-without-battery.load-exposed", "sun", "the main switch can be opened with both plugs in; waived"),
    also(
        "unsafe-order.exposes-load",
        "main",
        "opening it first leaves the fence unit on the controller and the panel",
    ),
]


def _reserve(drain: str) -> Edit:
    return say("house", f"bms {{ drain after cut-off {drain} }}")


_NOT_PROMISED = (drop("require on the shelf for 6 months"),)

PLANTINGS: tuple[Planting, ...] = (
    # The regulator of the turbine hangs before the main switch, with a switch for each string; 1 mA is a true off (common practice).
    *threefold(
        "no-storage-position.stays-on", "east_1, east_2, west_1, west_2", "hydro_cabin",
        inside=say("wheel", "drain when unplugged 0.97 mA"),
        over=say("wheel", "drain when unplugged 1.03 mA"),
        far=say("wheel", "drain when unplugged 3 mA"),
    ),
    # 1500 W and the rest at the cut-off of 22.4 V make 74.9 A.
    *threefold(
        "overdrawn-battery.continuous", "house", "narrow_boat",
        inside=say("house", "discharge at most 77 A"),
        over=say("house", "discharge at most 73 A"),
        far=say("house", "discharge at most 50 A"),
    ),
    # The same of the management system.
    *threefold(
        "overdrawn-battery.continuous", "house", "narrow_boat",
        inside=say("house", "bms { discharge at most 77 A }"),
        over=say("house", "bms { discharge at most 73 A }"),
        far=say("house", "bms { discharge at most 50 A }"),
        tag="bms",
    ),
    # 2000 W at 90 % from 22.4 V, and the other loads: 100 A.
    *threefold(
        "overdrawn-battery.surge", "house", "workshop_cart",
        inside=say("house", "discharge at most 55 A; peak 103 A for 3 s"),
        over=say("house", "discharge at most 55 A; peak 97 A for 3 s"),
        far=say("house", "discharge at most 55 A; peak 60 A for 3 s"),
    ),
    # It lasts for 3 s.
    *threefold(
        "overdrawn-battery.surge", "house", "workshop_cart",
        inside=say("house", "discharge at most 55 A; peak 103 A for 3.1 s"),
        over=say("house", "discharge at most 55 A; peak 103 A for 2.9 s"),
        far=say("house", "discharge at most 55 A; peak 103 A for 1 s"),
        tag="time",
    ),
    # 5 mA for each pack (common practice).
    *threefold(
        "parasites.over-allowance", "house", "cabin48",
        inside=say("house", "bms { own drain 4.85 mA }"),
        over=say("house", "bms { own drain 5.15 mA }"),
        far=say("house", "bms { own drain 8 mA }"),
    ),
    # The maker of the battery allows -20 degC.
    *threefold(
        "poor-storage.too-cold", "house", "fence_box",
        inside=say("procedure", "store at -19 degC to 25 degC"),
        over=say("procedure", "store at -21 degC to 25 degC"),
        far=say("procedure", "store at -28 degC to 25 degC"),
    ),
    # The maker allows 40 degC.
    *threefold(
        "poor-storage.too-warm", "house", "portable_box",
        inside=say("procedure", "store at 5 degC to 39 degC"),
        over=say("procedure", "store at 5 degC to 41 degC"),
        far=say("procedure", "store at 5 degC to 55 degC"),
    ),
    # The maker wants 40 % to 60 %.
    *threefold(
        "poor-storage.wrong-level", "house", "portable_box",
        inside=say("procedure", "store from 58 %"),
        over=say("procedure", "store from 62 %"),
        far=say("procedure", "store from 95 %"),
    ),
    # Its maker says nothing, and lead-acid is stored full.
    *threefold(
        "poor-storage.wrong-level", "house", "market_stall",
        inside=(unsay("house", "storage_level"), say("procedure", "store from 100 %")),
        over=(unsay("house", "storage_level"), say("procedure", "store from 97 %; store down to 40 %")),
        far=(unsay("house", "storage_level"), say("procedure", "store from 65 %; store down to 20 %")),
    ),
    # The maker wants a charge every 12 months.
    *threefold(
        "poor-storage.no-top-up", "house", "portable_box",
        inside=say("procedure", "store for 11.7 months"),
        over=say("procedure", "store for 12.4 months"),
        far=say("procedure", "store for 18 months"),
    ),
    # Its maker says nothing: 6 months for lead-acid (a trade page, secondary).
    *threefold(
        "poor-storage.no-top-up", "house", "market_stall",
        inside=(unsay("house", "top_up_interval"), say("procedure", "store for 9 months; top up every 5.8 months")),
        over=(unsay("house", "top_up_interval"), say("procedure", "store for 9 months; top up every 6.2 months")),
        far=(unsay("house", "top_up_interval"), say("procedure", "store for 9 months; top up every 9 months")),
    ),
    # 2 Ah are left at the cut-off: 2.78 mA for 30 days.
    *threefold(
        "reserve-drained.under-a-month", "house", "portable_box",
        inside=_reserve("2.7 mA"),
        over=_reserve("2.87 mA"),
        far=_reserve("5 mA"),
    ),
    # 20 Ah over what it loses by itself and 0.6 mA x 730 h a month: 5.79 % of 50 Ah for 6 months.
    *threefold(
        "shelf-life.under-promise", "house", "portable_box",
        inside=say("house", "self-discharge 5.6 %/month"),
        over=say("house", "self-discharge 6 %/month"),
        far=say("house", "self-discharge 12 %/month"),
    ),
    # Nothing is required: three months. 20 Ah and 0.438 Ah a month as before: 12.5 %.
    *threefold(
        "shelf-life.under-three-months", "house", "portable_box",
        inside=(*_NOT_PROMISED, say("house", "self-discharge 12 %/month")),
        over=(*_NOT_PROMISED, say("house", "self-discharge 12.8 %/month")),
        far=(*_NOT_PROMISED, say("house", "self-discharge 25 %/month")),
    ),
    # The main switch takes the battery off, and the plug of the panel stays in; the fence unit bears 16 V, the cold panel gives 25.1 V.
    *yes_no(
        "panel-in-storage.load-exposed", "sun", "fence_box",
        wrong=(*_NOT_BORNE, add(_ALONE), in_state("stored", "sun_plug, fence_plug mated")),
        wrong_too=(
            *_NOT_BORNE, add(_ALONE), unsay("procedure", "order_posted"), unsay("order", "states_connection_order"),
            in_state("stored", "sun_plug, fence_plug mated"),
        ),
        silent=(*_NOT_BORNE, add(_ALONE), in_state("stored", "fence_plug mated")),
        wrong_too_also=[also("unposted-order.not-posted", "sun", "no order is posted, and what would carry that is waived")],
        companions=_WAIVED, silent_also=_WAIVED,
    ),
    *yes_no(
        "panel-in-storage.panel-alone", "sun", "fence_box",
        wrong=(*_NOT_BORNE, add(_ALONE), in_state("stored", "sun_plug mated")),
        wrong_too=(*_NOT_BORNE, add(_ALONE), in_state("stored", "main closed; main_fuse blown; sun_plug mated")),
        silent=(*_NOT_BORNE, add(_ALONE)),
        companions=_WAIVED, silent_also=_WAIVED,
    ),
)  # fmt: skip
