"""Faults of switches that two hands can set against each other: a panel alone, a short, swapped poles."""

from __future__ import annotations

from faults import Edit, Planting, add, also, drop, say, yes_no

# What the rule says yields to panel-without-battery; it is told where that is waived.
_ALONE = (
    say("sun", "not bears PV with no battery"),
    add('waive panel-without-battery on sun up to 60 V because "to be rebuilt in autumn" until 2026-12-31'),
)
_BEARS = say("butt_pump", "works on 10 V to 32 V")  # more than the 25.2 V of the cold panel, as the lamps do
_BY_HAND = also("panel-without-battery.by-hand", "sun", "the same combination, waived")
_EXPOSED = also("panel-without-battery.load-exposed", "sun", "the same combination, waived")
_NOT_POSTED = also("unposted-order.not-posted", "sun", "no order is posted, and what would carry that is waived")
_BY_FAILURE = also(
    "panel-without-battery.by-failure", "sun", "its fuse leaves it alone with the panel as well, which no hand does"
)


def _brake(lead: str, end: str) -> tuple[Edit, ...]:
    """A third selector lays one lead of the motor on a bar; nothing keeps the selector of that lead from the other bar meanwhile."""
    return (
        add("selector brake { same as bow_side except { position free joins nothing; position held joins bar_end } }"),
        add(f"wire brake_1 from {lead}.common to brake.common {{ 6 AWG; 0.3 m; brown; in inside }}"),
        add(f"wire brake_2 from brake.bar_end to {end} {{ 6 AWG; 0.3 m; red; in inside }}"),
    )


def _shows(load: str, minus: str) -> tuple[Edit, ...]:
    """Something small that shows that the winch runs hangs on one lead of it; nobody wrote down that it pays out as well."""
    return (
        drop("state paying out"),
        add(f"load shows {{ same as {load} except {{ 1 W }} }}"),
        add("wire shows_1 from winch.plus to shows.plus { 10 AWG; 0.3 m; brown }"),
        add(f"wire shows_2 from shows.minus to {minus} {{ 10 AWG; 0.3 m; white }}"),
    )


PLANTINGS: tuple[Planting, ...] = (
    # One panel of 22.3 V reaches 22.3 x (1 + 0.0029 x 45) = 25.2 V at -20 degC, and stays on the bar with the main switch open.
    *yes_no(
        "unsafe-order.exposes-load", "main", "garden_shed",
        wrong=_ALONE,
        wrong_too=(*_ALONE, say("butt_pump", "works on 10 V to 24.5 V")),
        silent=(*_ALONE, _BEARS, add("label order { \"battery first on, last off\"; at main; states connection order }")),
        companions=[_EXPOSED, _NOT_POSTED],
        silent_also=[_BY_HAND, also("unsafe-order.panel-alone", "main", "the panel still stands alone on the controller")],
    ),
    *yes_no(
        "unsafe-order.panel-alone", "main", "garden_shed",
        wrong=(*_ALONE, _BEARS),
        wrong_too=(*_ALONE, drop("butt_pump", "pump_switch", "pump_breaker", "pump_1", "pump_2", "pump_3", "watering")),
        silent=(say("sun", "bears PV with no battery"), _BEARS),
        companions=[_BY_HAND, _NOT_POSTED],
    ),
    # One switch takes the panel and the battery off together.
    Planting("unsafe-order.panel-alone", "deck_switch", "boat", (say("sun", "not bears PV with no battery"),), "silent", (_BY_FAILURE,)),
    *yes_no(
        "unsafe-order.shorts", "bow_side", "windlass",
        wrong=_brake("bow_side", "feed"),
        wrong_too=_brake("shore_side", "minusbar"),
        silent=(*_brake("bow_side", "slow.a"), add("resistor slow { 1 ohm; 200 W; in inside; b on feed }")),
    ),
    # The winch itself is a motor, meant to turn both ways.
    *yes_no(
        "unsafe-order.reverses", "bow_side", "windlass",
        wrong=_shows("lamp", "winch.minus"),
        wrong_too=_shows("receiver", "winch.minus"),
        silent=_shows("lamp", "minusbar"),
    ),
)  # fmt: skip
