"""Faults of storage on further builds: each kind of drain, further limits of batteries."""

from __future__ import annotations

from faults import Edit, Planting, add, also, drop, in_state, say, threefold, unsay, yes_no

_LEFT_ON = in_state("stored", "main closed; mains off")
_CHARGER_ON = in_state("stored", "main closed; home_plug mated; mains off")
_SOON = [also("shelf-life.under-promise", "house", "10 Ah over 4 Ah and 3.5 Ah or more a month, 2 months are required")]
_NO_OFF = also(
    "no-storage-position.stays-on", "house", "no switch stands between it and the battery, and it takes more than 1 mA"
)
_UNSWITCHED = also("fed-when-off.stays-fed", "extra", "it is tapped before the main switch")


def _alarm(drain: str) -> tuple[Edit, ...]:
    """An alarm that is always on, in place of the bilge pump."""
    return (
        drop("bilge_pump", "bilge_1", "bilge_2", "bilge_3", "float_switch"),
        add(f"load alarm {{ {drain}; works on 9 V to 16 V; not motor; always on }}"),
        add(
            "wires 12 AWG { alarm_1 from bilge_fuse.load to alarm.plus, 2 m, red; alarm_2 from alarm.minus to minusbar, 2.5 m, black }"
        ),
    )


def _meter(drain: str) -> tuple[Edit, ...]:
    """A meter with a fuse of its own on the post of the battery."""
    return (
        add("fuse extra_fuse { same as cc_1 except { in inside; line on house.plus } }"),
        add(f"meter extra {{ same as panel_meter except {{ takes {drain}; in inside }} }}"),
        add(
            "wires 16 AWG, in inside { extra_plus from extra_fuse.load to extra.plus, 0.3 m, red; "
            "extra_minus from extra.minus to minusbar, 0.3 m, black }"
        ),
        say("fuse_labels", "at main_fuse, sun_fuse, lamp_fuse, radio_fuse, phone_fuse, extra_fuse"),
    )


PLANTINGS: tuple[Planting, ...] = (
    # The charger that is left in its socket; 5 mA for a pack (common practice).
    *threefold(
        "parasites.over-allowance", "house", "market_stall",
        inside=(_CHARGER_ON, say("mains", "own drain 0 mA"), say("home", "drain when unplugged 4.85 mA")),
        over=(_CHARGER_ON, say("mains", "own drain 0 mA"), say("home", "drain when unplugged 5.15 mA")),
        far=(_CHARGER_ON, say("mains", "own drain 0 mA"), say("home", "drain when unplugged 7 mA")),
    ),
    # The inverter, switched off behind a main switch that is left on.
    *threefold(
        "parasites.over-allowance", "house", "market_stall",
        inside=(_LEFT_ON, say("mains", "own drain 4.85 mA")),
        over=(_LEFT_ON, say("mains", "own drain 5.15 mA")),
        far=(_LEFT_ON, say("mains", "own drain 7 mA")),
        tag="inverter",
    ),
    # A load that is always on.
    *threefold(
        "parasites.over-allowance", "house", "boat",
        inside=_alarm("4.85 mA"), over=_alarm("5.15 mA"), far=_alarm("9 mA"),
        companions=_SOON, inside_also=[*_SOON, _NO_OFF],
    ),
    # 20 Ah over 1.25 Ah, and 0.73 Ah for each of 0.6 mA and the meter's, a month: 2.25 mA for 6 months.
    *threefold(
        "shelf-life.under-promise", "house", "portable_box",
        inside=_meter("2.1 mA"), over=_meter("2.4 mA"), far=_meter("6 mA"),
        companions=[_UNSWITCHED], inside_also=[_UNSWITCHED, _NO_OFF], over_also=[_NO_OFF],
        far_also=[also("parasites.over-allowance", "house", "6.6 mA are over 5 mA")],
        tag="meter",
    ),
    # 300 W over 88 % and 5 W, from a battery at 11.3 V: 30.6 A.
    *threefold(
        "overdrawn-battery.continuous", "house", "market_stall",
        inside=say("house", "discharge at most 31.5 A"),
        over=say("house", "discharge at most 29.7 A"),
        far=say("house", "discharge at most 20 A"),
    ),
    # A boat travels as well.
    *yes_no(
        "loose-battery.not-held", "house", "narrow_boat",
        wrong=unsay("house", "held_down", "hold_down_force", "hold_down_movement"),
        wrong_too=(unsay("house", "hold_down_force", "hold_down_movement"), say("house", "not held down")),
        silent=say("house", "hold-down force 400 N"),
    ),
)  # fmt: skip
