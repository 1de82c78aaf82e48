"""What several rules need of one study is worked out once, and kept with the study itself: it goes when the study goes."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from ohmwright.study import Study

__all__ = ["kept"]

T = TypeVar("T")


def kept(study: Study, make: Callable[[Study], T]) -> T:
    """Return what `make` works out of a study, worked out at the first call and remembered by the function.

    A table of weak references would not do: what is kept points back at its study and would hold it for ever.
    """
    known: dict[Callable[[Study], T], T] = study.worked_out
    if make not in known:
        study.options.budget.check()  # a rule may work long before it says anything
        known[make] = make(study)
    return known[make]
