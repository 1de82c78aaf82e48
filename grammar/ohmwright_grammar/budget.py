"""What reading and studying one build may take: time, told by a clock of the caller's, and memory, estimated from what is to be held.

Nothing here looks at a clock of its own, so that a run without one can be repeated anywhere. Long loops ask `is_out` at each turn: it costs
as much as one call of the clock.
"""

from __future__ import annotations

from collections.abc import Callable

from ohmwright_grammar.spans import Span

__all__ = ["UNLIMITED", "Budget", "OutOfBudgetError"]

Clock = Callable[[], float]


class OutOfBudgetError(Exception):
    """A budget ran out; `span` is the statement at which reading stopped, None where that is not one statement."""

    def __init__(self, span: Span | None = None) -> None:
        super().__init__("the budget ran out")
        self.span = span


class Budget:
    """Seconds from now on, by the caller's clock (None: no limit), and megabytes."""

    __slots__ = ("_clock", "_end", "megabytes", "seconds")

    def __init__(self, seconds: float = float("inf"), megabytes: float = float("inf"), clock: Clock | None = None) -> None:
        self.seconds = seconds
        self.megabytes = megabytes
        self._clock = clock
        self._end = clock() + seconds if clock is not None else float("inf")

    def is_out(self) -> bool:
        """Tell whether the time has run out."""
        return self._clock is not None and self._clock() > self._end

    def check(self, span: Span | None = None) -> None:
        """Raise OutOfBudgetError where the time has run out."""
        if self._clock is not None and self._clock() > self._end:
            raise OutOfBudgetError(span)


UNLIMITED = Budget()
