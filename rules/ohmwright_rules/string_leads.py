"""Fuses and breakers in the lead of one string of modules: they carry its current and no other, and are what protects its modules."""

from __future__ import annotations

from ohmwright.study import Study
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.fuse import Fuse

from ohmwright_rules.array_leads import Lead, String, array_leads
from ohmwright_rules.direct_arrays import straight_on
from ohmwright_rules.kept import kept

__all__ = ["feeds_loads", "is_own_lead", "own_devices", "strings_inside"]


def strings_inside(study: Study, string: String) -> int:
    """Return how many strings of modules are drawn as one: the most that lie in parallel inside any of its arrays, as drawn or as their owner may plug them."""
    counts = []
    for name in string:
        array = study.part(name)
        assert isinstance(array, Array)
        counts.append(array.most_in_parallel)
    return max(counts)


def is_own_lead(study: Study, lead: Lead) -> bool:
    """Tell whether only one string of modules passes a lead, and nothing else does."""
    return len(lead.strings) == 1 and strings_inside(study, lead.strings[0]) == 1 and not feeds_loads(study, lead)


def feeds_loads(study: Study, lead: Lead) -> bool:
    """Tell whether a lead also brings a battery's current to something on the side of an array that is straight on it, with no controller between."""
    if not any(lead.strings[0] in target.arrangement.strings for target in straight_on(study)):
        return False
    circuit, branch = study.circuit, lead.branch
    for end, pole in ((f"{lead.strings[0][-1]}.plus", "plus"), (f"{lead.strings[0][0]}.minus", "minus")):
        side = circuit.reach(end, lambda other: other.name != branch.name and other.kind != "resistor")
        if (branch.start in side) == (branch.end in side):
            continue  # on the other pole, or in a loop
        return any((item.plus if pole == "plus" else item.minus) in side for item in circuit.consumers)
    return False


def own_devices(study: Study) -> dict[String, tuple[str, ...]]:
    """Return the fuses and breakers that carry one drawn string's current and no other, by string, in name order."""
    return kept(study, _own_devices)


def _own_devices(study: Study) -> dict[String, tuple[str, ...]]:
    found: dict[String, set[str]] = {}
    for lead in array_leads(study).values():
        if len(lead.strings) == 1 and isinstance(study.part(lead.branch.part), Fuse) and not feeds_loads(study, lead):
            found.setdefault(lead.strings[0], set()).add(lead.branch.part)
    return {string: tuple(sorted(names)) for string, names in found.items()}
