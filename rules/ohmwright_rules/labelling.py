"""What labels of a build say, and at what: by what they are said to state, else by the words of their text."""

from __future__ import annotations

from collections.abc import Iterable
from re import search

from ohmwright.study import Study
from ohmwright_grammar.kinds.fuse import FAMILIES
from ohmwright_grammar.kinds.label import Label
from ohmwright_grammar.kinds.site import Site

from ohmwright_rules.kept import kept

__all__ = ["FACTS", "are_generated", "stated_at"]

_AMPERES = r"\d\s*A\b"
_VOLTS = r"\d\s*V\b"
_WATT_HOURS = r"\d\s*k?Wh\b"
_FAMILIES = {name.lower() for name in FAMILIES}
_CHEMISTRIES = ("lfp", "lifepo4", "lithium", "li-ion", "flooded", "agm", "gel", "lead")

FACTS = (
    "current",
    "voltage",
    "family",
    "polarity",
    "direction",
    "chemistry",
    "energy",
    "neutral",
    "not for house wiring",
    "order",
    "marks",
)


def are_generated(study: Study) -> bool:
    """Tell whether everything carries the label of the generated sheet."""
    site = study.one(Site)
    return bool(site is not None and site.generated_labels)


def stated_at(study: Study, names: Iterable[str]) -> frozenset[str]:
    """Return what the labels at some things state together, in the words of `FACTS`; everything where the generated text is on them."""
    if are_generated(study):
        return frozenset(FACTS)
    at = kept(study, _by_thing)
    found: set[str] = set()
    for name in names:
        for label in at.get(name, ()):
            found |= _stated(label)
    return frozenset(found)


def _by_thing(study: Study) -> dict[str, tuple[Label, ...]]:
    found: dict[str, list[Label]] = {}
    for label in sorted(study.of(Label), key=lambda label: label.name):
        for name in label.at or ():
            found.setdefault(name, []).append(label)
    return {name: tuple(labels) for name, labels in found.items()}


def _stated(label: Label) -> set[str]:
    text = label.text or ""
    low = text.lower()
    said = {
        "current": label.states_current or search(_AMPERES, text),
        "voltage": label.states_voltage or search(_VOLTS, text),
        "family": label.states_family or any(family in low for family in _FAMILIES),
        "polarity": label.states_polarity or ("+" in text and ("-" in text or "\N{MINUS SIGN}" in text)),
        "direction": label.states_direction
        or any(word in low.split() for word in ("in", "out", "inlet", "outlet", "input", "output")),
        "chemistry": label.states_chemistry or any(word in low for word in _CHEMISTRIES),
        "energy": label.states_energy or search(_WATT_HOURS, text),
        "neutral": label.states_neutral or "bonded" in low or "floating" in low,
        "not for house wiring": label.states_not_for_house_wiring or "house wiring" in low or "building wiring" in low,
        "order": label.states_connection_order,
        "marks": label.polarity_marks,
    }
    if label.generated_text:
        return set(FACTS)
    return {name for name, is_said in said.items() if is_said}
