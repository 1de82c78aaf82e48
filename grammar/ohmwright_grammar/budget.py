"""What reading and studying one build may take: time, told by a clock of the caller's, and memory, estimated from what is to be held, and told by a
meter of the caller's where there is one.

Nothing here looks at a clock of its own, so that a run without one can be repeated anywhere. Long loops ask `is_out` at each turn: it costs
as much as one call of the clock.
"""

from __future__ import annotations

from collections.abc import Callable

from ohmwright_grammar.spans import Span

__all__ = ["UNLIMITED", "Budget", "Meter", "OutOfBudgetError"]

Clock = Callable[[], float]
Meter = Callable[[], float]  # megabytes in use

_TURNS = 256  # from one look at the meter to the next
_FULL = 0.9  # of the megabytes: beyond, there would be no room left to say so


class OutOfBudgetError(Exception):
    """A budget ran out; `span` is the statement at which reading stopped, None where that is not one statement."""

    def __init__(self, span: Span | None = None) -> None:
        super().__init__("the budget ran out")
        self.span = span


class Budget:
    """Seconds from now on, by the caller's clock (None: no limit), and megabytes, by the caller's meter (None: nobody looks)."""

    __slots__ = ("_clock", "_end", "_is_full", "_meter", "_turns", "megabytes", "seconds")

    def __init__(
        self,
        seconds: float = float("inf"),
        megabytes: float = float("inf"),
        clock: Clock | None = None,
        meter: Meter | None = None,
    ) -> None:
        self.seconds = seconds
        self.megabytes = megabytes
        self._clock = clock
        self._meter = meter
        self._turns = _TURNS if meter is not None else -1  # to the next look at the meter
        self._is_full = False
        self._end = clock() + seconds if clock is not None else float("inf")

    @property
    def spent(self) -> str:
        """What ran out, in words: the seconds or the megabytes."""
        return f"{self.megabytes:g} MB" if self._is_full else f"{self.seconds:g} s"

    def is_out(self) -> bool:
        """Tell whether the time has run out, or the memory."""
        if self._clock is None:
            return False
        self._turns -= 1
        return self._clock() > self._end or (not self._turns and self._look())

    def _look(self) -> bool:
        """Look at the meter; once the memory has run out, so has the budget."""
        assert self._meter is not None
        self._turns = _TURNS
        if self._meter() > _FULL * self.megabytes:
            self._is_full, self._end = True, float("-inf")
        return self._is_full

    def check(self, span: Span | None = None) -> None:
        """Raise OutOfBudgetError where the time has run out, or the memory."""
        if self._clock is not None and self.is_out():
            raise OutOfBudgetError(span)


UNLIMITED = Budget()
