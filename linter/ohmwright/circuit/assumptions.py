"""What a circuit needed and nobody declared, noted where it is assumed, so that it can be shown."""

from __future__ import annotations

from typing import Any

from ohmwright_grammar.quantities import Quantity
from ohmwright_grammar.records import record

__all__ = ["ASSUMED_EFFICIENCY", "Assumption", "Assumptions"]

ASSUMED_EFFICIENCY = 0.85  # of an inverter or converter that says nothing: common practice, no source


@record
class Assumption:
    """Something that the circuit needed and nobody declared."""

    subject: str
    what: str
    value: str
    source: str


class Assumptions:
    """Everything that was assumed of one build, each once, in the order in which it was needed."""

    def __init__(self) -> None:
        self._known: dict[tuple[str, str], Assumption] = {}

    def note(self, subject: str, what: str, value: str, source: str) -> None:
        """Keep an assumption, unless the same thing was assumed of the same subject before."""
        self._known.setdefault((subject, what), Assumption(subject, what, value, source))

    def efficiency(self, name: str, declared: Quantity[Any] | None) -> float:
        """Return the efficiency of an inverter or a converter: the lowest that it says, else the assumed one."""
        if declared is not None and declared.nominal > 0:
            return float(declared.low)
        self.note(name, "efficiency", f"{ASSUMED_EFFICIENCY * 100:g} %", "common practice, no source")
        return ASSUMED_EFFICIENCY

    def all(self) -> list[Assumption]:
        """Return them."""
        return list(self._known.values())
