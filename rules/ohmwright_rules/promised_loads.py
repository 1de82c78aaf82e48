"""Which loads the builder promises to work: by their own word, or by name in a promise to run or to start them."""

from __future__ import annotations

from ohmwright.study import Study
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.kinds.requirement import Requirement

from ohmwright_rules.kept import kept

__all__ = ["is_promised"]


def is_promised(study: Study, load: Load) -> bool:
    """Tell whether a load is promised to work."""
    return bool(load.promised) or load.name in kept(study, _required)


def _required(study: Study) -> frozenset[str]:
    """Return the loads that promises name to be run or started."""
    names: set[str] = set()
    for requirement in study.of(Requirement):
        names.update(requirement.start or ())
        if requirement.run is not None:
            names.update(requirement.run.loads)
    return frozenset(names)
