"""The numbers of the bases that a rule reads, side by side, for the rule's printed page."""

from __future__ import annotations

from collections.abc import Mapping

from ohmwright.values import figures

from ohmwright_rules.basis import Number, get, names

__all__ = ["numbers_of"]

# Which of a basis' single numbers each rule reads. To add a rule here is no duty: its page prints fewer lines without.
_READ_BY: dict[str, tuple[str, ...]] = {
    "undersized-wire": ("continuous", "corrected"),
    "hot-terminal": ("terminal", "terminal_above", "terminal_current"),
    "overloaded-cord": ("cord_fuse",),
    "coiled-cord": ("coil",),
    "voltage-drop": ("drop_vital", "drop_other", "drop_array"),
    "far-fuse": ("fuse_distance", "fuse_distance_enclosed", "fuse_distance_battery"),
    "nuisance-fuse": ("fuse_loading",),
    "array-current": ("array_current",),
    "thin-array-lead": ("array_current", "array_conductor"),
    "weak-array-device": ("array_current", "array_device"),
    "string-fuse": ("string_fuse_least", "string_fuse_most"),
    "unfused-strings": ("string_current",),
    "array-touch-voltage": ("touch_voltage",),
}


def numbers_of(rule: str) -> Mapping[str, Mapping[str, str]]:
    """Return what each basis says of each number that a rule reads, with its source; nothing for a rule that reads none.

    >>> numbers_of("far-fuse")["fuse_distance"]["us-small-craft"].split(" (")[0]
    '7 in'
    """
    bases = {name: dict(get(name).numbers()) for name in names()}
    return {number: {name: _words(known.get(number)) for name, known in bases.items()} for number in _READ_BY.get(rule, ())}


def _words(number: Number | None) -> str:
    if number is None:
        return "says nothing"
    value = number.words or f"{figures(number.value, 5)}{'' if number.unit == '1' else f' {number.unit}'}"
    return f"{value} ({number.source})"
