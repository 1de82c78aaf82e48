"""Fuses and breakers in the lead of one string of modules: they carry its current and no other, and are what protects its modules."""

from __future__ import annotations

from ohmwright.study import Study
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.fuse import Fuse

from ohmwright_rules.array_leads import Lead, String, array_leads
from ohmwright_rules.kept import kept

__all__ = ["is_own_lead", "own_devices", "strings_inside"]


def strings_inside(study: Study, string: String) -> int:
    """Return how many strings of modules are drawn as one: the most that lie in parallel inside any of its arrays, as drawn or as their owner may plug them."""
    counts = []
    for name in string:
        array = study.part(name)
        assert isinstance(array, Array)
        counts.append(array.most_in_parallel)
    return max(counts)


def is_own_lead(study: Study, lead: Lead) -> bool:
    """Tell whether only one string of modules passes a lead."""
    return len(lead.strings) == 1 and strings_inside(study, lead.strings[0]) == 1


def own_devices(study: Study) -> dict[String, tuple[str, ...]]:
    """Return the fuses and breakers that carry one drawn string's current and no other, by string, in name order."""
    return kept(study, _own_devices)


def _own_devices(study: Study) -> dict[String, tuple[str, ...]]:
    found: dict[String, set[str]] = {}
    for lead in array_leads(study).values():
        if len(lead.strings) == 1 and isinstance(study.part(lead.branch.part), Fuse):
            found.setdefault(lead.strings[0], set()).add(lead.branch.part)
    return {string: tuple(sorted(names)) for string, names in found.items()}
