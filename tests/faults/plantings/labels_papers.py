"""Faults of papers: an order that nobody posts, a build without a revision."""

from __future__ import annotations

from faults import Planting, add, also, drop, say, unsay, yes_no

# What would carry the missing order is waived. With the main switch off the panel stays on the controller; the fence unit bears less than its 25.1 V.
_ALONE = (
    say("sun", "not bears PV with no battery"),
    add('waive panel-without-battery on sun up to 60 V because "to be rebuilt in autumn" until 2026-12-31'),
)
_EXPOSED = also("panel-without-battery.load-exposed", "sun", "the same combination, waived")
_UNSAFE = also(
    "unsafe-order.exposes-load",
    "main",
    "the main switch leaves panel and fence unit together; a posted order lowers it to a warning",
)

PLANTINGS: tuple[Planting, ...] = (
    # Makers' instructions: battery first on, last off.
    *yes_no(
        "unposted-order.not-posted", "sun", "fence_box",
        wrong=(*_ALONE, unsay("procedure", "order_posted"), unsay("order", "states_connection_order")),
        wrong_too=(*_ALONE, unsay("procedure", "order_posted"), drop("order")),
        silent=(*_ALONE, unsay("procedure", "order_posted")),
        companions=[_EXPOSED, _UNSAFE], silent_also=[_EXPOSED, _UNSAFE],
    ),
    # An authority's advice on drawings: without a revision nobody knows which of two sheets is newer.
    *yes_no(
        "untold-change.no-revision", "rig", "portable_box",
        wrong=unsay("rig", "revision"),
        wrong_too=(unsay("rig", "revision"), add("history { version 1 { 2026-02-20 } }")),
        silent=(unsay("rig", "dated"), say("rig", "revision 2")),
    ),
)  # fmt: skip
