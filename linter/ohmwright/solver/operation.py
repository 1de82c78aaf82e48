"""What the solver answers with."""

from __future__ import annotations

from dataclasses import field
from typing import NamedTuple

from ohmwright_grammar.records import record

__all__ = ["Conflict", "Fold", "Island", "Operation", "Port"]


@record
class Island:
    """A set of nodes that current can pass between, measured against one of them; `reference` is None where nothing feeds it."""

    nodes: tuple[int, ...]
    reference: int | None
    has_source: bool


@record
class Conflict:
    """Elements without resistance that close a loop in which a voltage [V] is left over: two unequal sources, or one short-circuited."""

    elements: tuple[str, ...]
    volt: float


@record
class Operation:
    """The operating point of a network, or the reason why there is none.

    `voltages` [V] by node, each against the reference of its island, None where nothing feeds the island or it was not solved.
    `currents` [A] and `powers` [W] by element, with the signs of `ohmwright.solver.elements`; an element with two sides has
    `NAME.in` and `NAME.out`, and under its own name in `powers` what is lost inside it. What was not solved has no entry.
    The sum of what sources deliver equals the sum of what all others take and lose.
    `modes` holds every Charger, Converter, Tracker and SeriesController, and those loads that do not simply run: "dead" (nothing feeds
    them), "reversed" (voltage of the wrong sign, no current taken), "starved" (a current load that gets less than its current, at no
    voltage), and "open" for a current source on nothing.
    """

    solved: bool
    reason: str = ""
    voltages: tuple[float | None, ...] = ()
    currents: dict[str, float] = field(default_factory=dict)
    powers: dict[str, float] = field(default_factory=dict)
    modes: dict[str, str] = field(default_factory=dict)
    islands: tuple[Island, ...] = ()
    dead: tuple[str, ...] = ()
    conflicts: tuple[Conflict, ...] = ()
    shared: tuple[tuple[str, ...], ...] = ()
    collapse: bool = False


@record
class Fold:
    """The largest share of a load that a network can carry, as far as it was followed.

    `found` is True where the operating point ends at `share` of the load, below the limit of the search; `elements` are then the
    consumers whose voltage falls away there, the worst first, and `volts` [V] their voltages at that point. Without a fold `share` is the
    limit that was reached. `failed` is True, and `share` the last one reached, where the solver lost the operating point
    without a fold: an error of the run, `reason` says which.
    """

    found: bool
    share: float
    elements: tuple[str, ...] = ()
    volts: tuple[float, ...] = ()
    failed: bool = False
    reason: str = ""


class Port(NamedTuple):
    """A network seen from two nodes: its voltage with nothing connected [V] and its resistance [ohm]; (0, inf) where no path joins them."""

    open_volt: float
    ohm: float
