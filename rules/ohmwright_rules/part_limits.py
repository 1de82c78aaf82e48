"""How warm it may get around a part: what it says, what its chemistry bears, and what every bought device does."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ohmwright.references import Reference, common_practice
from ohmwright.rules import Case, is_broken
from ohmwright.study import SolvedState
from ohmwright.thermal.air import Air
from ohmwright.values import Amount
from ohmwright_grammar.kinds.battery import LITHIUM, Battery
from ohmwright_grammar.kinds.charging import Charging
from ohmwright_grammar.kinds.distribution import Meter
from ohmwright_grammar.kinds.inverter import Converter, Inverter
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.records import record

__all__ = ["LIMITS_FROM", "Bears", "Warmed", "nearest_to_limit", "what_it_bears"]

LIMITS_FROM = (
    Reference("charge and discharge temperatures of lithium cells", "a maker's specification as quoted", "", "secondary"),
    Reference("ageing of lithium iron phosphate above 45 degC", "as a supplier quotes it", "", "secondary"),
    common_practice("a bought device that does not say bears 40 degC"),
)
_CELLS_BEAR = 60.0  # degC: battery_temperatures.csv, charge and discharge of lithium
_LFP_AGES = 45.0  # degC: battery_temperatures.csv, LFP charge, recommended
_SILENT_BEARS = 40.0  # degC: what every bought device works at (common practice, no source)
_SENSITIVE = (Battery, Charging, Inverter, Converter, Load, Meter)
_HIGHEST = "highest temperature"


@record
class Bears:
    """The temperature [degC] that a part bears, where that is said, and by how much it is warmer than the case."""

    part: Part
    grade: str
    value: float
    words: str
    reference: Reference
    above: float = 0.0
    charging: bool = False  # holds only while the battery is charged
    silent: bool = False  # taken, because the part does not say

    def counts_in(self, state: SolvedState) -> bool:
        """Tell whether it holds in a state."""
        return not self.charging or state.current(self.part.name) < -1e-9


@record
class Warmed:
    """What a part bears, and the air around it in one state."""

    limit: Bears
    state: SolvedState
    air: Air

    def degrees(self, most: bool = False) -> float:
        """Return how warm the part gets at least, or at most [degC]."""
        return (self.air.high if most else self.air.low) + self.limit.above

    def is_over(self, most: bool = False) -> bool:
        """Tell whether that is more than it bears."""
        return is_broken(self.degrees(most), self.limit.value, "at-most")

    def case(self, most: bool = False) -> Case:
        """Return that for a verdict, itself beside it."""
        return Case(self.state.name, Amount(self.degrees(most), "temperature"), Amount(self.limit.value, "temperature"), self)


def nearest_to_limit(held: Iterable[Warmed]) -> Case:
    """Return the one with the least left to its limit, as warm as it gets at most."""
    return min(held, key=lambda item: (item.limit.value - item.degrees(most=True), item.state.name)).case(most=True)


def what_it_bears(part: Part) -> Iterator[Bears]:
    """Yield what a part bears: as it says, as its chemistry does, and where it does not say what every such part bears."""
    read, cells = common_practice("as the part says"), LIMITS_FROM[0]
    above = 0.0
    if isinstance(part, Battery) and part.cells_above_zone is not None:
        above = float(part.cells_above_zone.high)
    said = part.highest_temperature
    lithium = isinstance(part, Battery) and part.chemistry in LITHIUM
    if said is not None:
        yield Bears(part, "over-limit", float(said.low), "its highest temperature", read, above)
    elif lithium:
        yield Bears(part, "over-limit", _CELLS_BEAR, "the limit of lithium cells", cells, above)
    elif isinstance(part, _SENSITIVE):
        silent = LIMITS_FROM[2]
        yield Bears(part, "over-limit", _SILENT_BEARS, "what every such part bears", silent, above, silent=True)
    if isinstance(part, Battery) and part.charge_temperatures is not None:
        highest = float(part.charge_temperatures.high)
        yield Bears(part, "over-limit", highest, "the highest temperature at which it may be charged", read, above, True)
    if part.derating_temperature is not None:
        yield Bears(part, "over-derating", float(part.derating_temperature.low), "where it derates or ages", read, above)
    elif isinstance(part, Battery) and part.chemistry == "LFP":
        yield Bears(part, "over-derating", _LFP_AGES, "from which its cells age faster", LIMITS_FROM[1], above)
