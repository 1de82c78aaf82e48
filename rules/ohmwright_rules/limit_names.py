"""What limits are called, for reports that tell how near to one a thing is: "at 82 % of its ampacity"."""

from __future__ import annotations

__all__ = ["limit_name"]

_NAMES = {
    "undersized-wire.over-ampacity": "its ampacity",
    "overloaded-cord.over-cord-table": "the current of its cord table",
    "shared-return.over-ampacity": "its ampacity, as a shared return",
    "thin-array-lead.over-ampacity": "its ampacity, as an array lead",
    "coiled-cord.over-wound": "its ampacity on the reel",
    "hot-terminal.over": "the rating of its terminal",
    "hot-terminal.far-over": "what its terminal stands",
    "oversized-fuse.too-large": "the largest fuse for its wire",
    "short-circuit-heat.over-limit": "the heat that it stands in a short",
    "nuisance-fuse.over-loading": "the load that a fuse carries for long",
    "weak-breaking.over-rating": "its breaking rating",
    "weak-part.user-load": "its rating",
    "weak-part.fixed-load": "its rating",
    "overloaded-switch.over-rating": "its rating",
    "overloaded-contact.over-rating": "the rating of its contacts",
    "fuse-voltage.over-voltage": "its voltage rating",
    "voltage-drop.over-class": "the drop that its class allows",
    "voltage-drop.below-minimum": "its lowest working voltage",
    "charge-lead-drop.undercharges": "the drop that charging allows",
    "overdrawn-battery.continuous": "its continuous rating",
    "overdrawn-battery.surge": "its peak rating",
    "charge-current-sum.over-limit": "its charge limit",
    "charge-current-sum.over-advice": "the charge current advised",
    "array-current.over-limit": "the input current allowed",
    "cold-array-voltage.over-limit": "the input voltage allowed",
    "over-panelled.clips": "its rated output",
    "hot-case.over-limit": "the temperature that its contents stand",
    "run-time.under-promise": "the usable energy",
    "far-fuse.far": "the distance allowed without a fuse",
}


def limit_name(grade: str) -> str:
    """Return what the limit of a grade ("rule.grade") is called, as it reads after "of", "" where it has no name of its own.

    >>> limit_name("undersized-wire.over-ampacity"), limit_name("dead-load.unfed")
    ('its ampacity', '')
    """
    return _NAMES.get(grade, "")
