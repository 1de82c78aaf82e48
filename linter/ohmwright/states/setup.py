"""An operating state as the solver needs it: which gates are open, what runs, how full, how bright, how warm, how long."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import Literal

from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

__all__ = ["DEFAULT_CHARGE", "FULL_SUN", "SURGE_SECONDS", "Level", "Origin", "Running", "Setup"]

Origin = Literal["declared", "implied", "reached"]

FULL_SUN = 1000.0  # W/m2, the irradiance of the standard test conditions
DEFAULT_CHARGE = 0.5  # readings.md, I1: half full where nothing is said
CONTINUOUS_DUTY = 3.0 / 24.0  # readings.md: 3 h a day or more
SURGE_SECONDS = 60.0  # readings.md: one occurrence under 60 s
SURGE_REPEAT_SECONDS = 600.0  # readings.md: a surge comes once in 10 min unless said


@record
class Level:
    """How full a battery is: a charge level from 0 to 1, or its voltage at rest [V]."""

    value: float
    is_voltage: bool = False


@record
class Running:
    """At which level something runs: a current [A], a power [W], a share of its rating, or as declared (all None).

    `peak` tells that it runs at its surge, not at its steady level.
    """

    current: float | None = None
    power: float | None = None
    share: float | None = None
    peak: bool = False


AS_DECLARED = Running()


@record
class Setup:
    """One operating state.

    `open_gates` are switches, matings, fuses and so on that pass no current; `blown` those of them that are open by a failure (a fuse, a BMS).
    `running` holds loads, `inverters` the AC power [W] that each running inverter gives (None: what its running AC loads take), `chargers`
    those that give current. `off` are converters and charge controllers that the state switches off. `sun` is the irradiance on each array
    [W/m2]. `fixed` holds sources that give a fixed current [A] or hold a fixed voltage [V]. `ambient` and `inside` are temperatures [degC]
    that the state gives. `lasts`, `returns_after` in s, `duty` as a part of the day;
    None where nothing was said. `way` tells in words how one gets into a reached state; `on_mains` are inverters that charge from mains then,
    `dead_cell` batteries of which a cell gives nothing any more (their level in `levels` is that of the other cells).
    """

    name: str
    origin: Origin
    open_gates: frozenset[str] = frozenset()
    blown: frozenset[str] = frozenset()
    bms_open: frozenset[str] = frozenset()
    failed: frozenset[str] = frozenset()
    running: Mapping[str, Running] = field(default_factory=dict)
    inverters: Mapping[str, Running] = field(default_factory=dict)
    chargers: frozenset[str] = frozenset()
    off: frozenset[str] = frozenset()
    sun: Mapping[str, float] = field(default_factory=dict)
    levels: Mapping[str, Level] = field(default_factory=dict)
    fixed: Mapping[str, tuple[float | None, float | None]] = field(default_factory=dict)
    closed_relays: frozenset[str] = frozenset()
    told_relays: frozenset[str] = frozenset()
    short_at: str = ""
    ambient: float | None = None
    inside: float | None = None
    lasts: float | None = None
    returns_after: float | None = None
    duty: float | None = None
    allowed: bool = True
    called_dead: bool = False
    span: Span | None = None
    way: str = ""
    parent: str = ""
    on_mains: frozenset[str] = frozenset()
    dead_cell: frozenset[str] = frozenset()

    @property
    def is_surge(self) -> bool:
        """Tell whether one occurrence lasts under a minute."""
        return self.lasts is not None and self.lasts < SURGE_SECONDS

    @property
    def repeats(self) -> bool:
        """Tell whether a surge comes back within ten minutes, so that the heat of its whole cycle counts."""
        return self.is_surge and self.returns_after is not None and self.returns_after < SURGE_REPEAT_SECONDS

    @property
    def is_continuous(self) -> bool:
        """Tell whether the state lasts three hours a day or more, or that was not said."""
        if self.is_surge:
            return False
        return self.duty is None or self.duty >= CONTINUOUS_DUTY - 1e-12

    @property
    def conditions(self) -> tuple[object, ...]:
        """Return what a check of a state depends on beside what flows in it: how long it lasts, how warm it is, how many failures led to it."""
        return self.lasts, self.returns_after, self.duty, self.ambient, self.inside, self.allowed, self.after_failure

    @property
    def after_failure(self) -> int:
        """Return how many failures (blown fuses, tripped management systems, failed packs) led here."""
        if self.origin != "reached":
            return 0
        return len(self.blown) + len(self.bms_open) + len(self.failed) + len(self.dead_cell)
