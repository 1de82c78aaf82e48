"""What flows between packs when they are joined, and what the parts on the way and the packs themselves bear.

Currents are those of the loop: the difference of the rest voltages over the resistances of both sides and of the way between, copper at 20 degC, batteries at
the lower end of their resistance (readings.md, Battery resistance).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

from ohmwright.circuit.batteries import cells_of, resistance_high, resistance_low, rest_voltage_of
from ohmwright.circuit.climate import Temperatures
from ohmwright.circuit.graph import Branch
from ohmwright.missing import Missing
from ohmwright.solver.elements import CurrentSource, Element, Emf, Network, Resistor
from ohmwright.study import Study
from ohmwright_grammar.kinds.battery import Battery, Bms
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.kinds.switch import Switching
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright_rules.banks import batteries
from ohmwright_rules.contacts import matings_of
from ohmwright_rules.kept import kept
from ohmwright_rules.packs import Pack, Split, core_of, ways_between
from ohmwright_rules.silent_battery import silent_voltage

__all__ = ["ChargeLimit", "Rating", "Rush", "charge_limit", "low_voltage", "rating_of", "rush", "what_flows"]

_FULL, _EMPTY = 1.0, 0.0


@record
class Rush:
    """What flows when a split is joined: currents by branch and battery [A], the voltages of both sides [V]."""

    split: Split
    currents: Mapping[str, float]
    full_volt: float
    low_volt: float

    @property
    def volt(self) -> float:
        """The difference of the rest voltages [V]."""
        return self.full_volt - self.low_volt

    def into(self, battery: str) -> float:
        """Return what flows into a battery at its plus [A]."""
        return -self.currents.get(battery, 0.0)

    @property
    def total(self) -> float:
        """What the low side takes in all [A]."""
        return sum(max(0.0, self.into(pack.members[0].name)) for pack in self.split.low)

    @property
    def ohm(self) -> float:
        """The resistance of the loop [ohm]: the difference over what flows."""
        return self.volt / self.total if self.total > 0 else float("inf")


@record
class Rating:
    """What a contact, fuse or switch carries [A], and what is not said of it."""

    ampere: float | None
    missing: Missing | None


# voltages and ratings ----------------------------------------------------------------------------------------------


def low_voltage(battery: Battery) -> float | None:
    """Return the voltage at which an empty battery rests [V]: the low cut-off of its management system, else that of 0 % of the rest table.

    The lowest voltage that it is to be discharged to is none: nothing keeps to it, and under load it lies below the voltage at rest.
    """
    bms = battery.bms
    if bms is not None and bms.low_cut_off is not None:
        return float(bms.low_cut_off.low)
    return rest_voltage_of(battery, _EMPTY)


def _full_voltage(battery: Battery) -> float | None:
    return rest_voltage_of(battery, _FULL)


def _unknown(packs: Iterable[Pack]) -> Missing | None:
    """Return the first datum without which no rush can be told: resistance, or a voltage by charge level."""
    for pack in packs:
        for battery in pack.members:
            if not battery.rest_voltages and cells_of(battery) is None:
                return silent_voltage(battery)
            if not battery.rest_voltages and battery.chemistry is None:
                return Missing(f"rest voltages of {battery.name}", battery.span, "LFP, ~4 cells")
            if resistance_low(battery) is None:
                known = resistance_high(battery) is not None
                what = "measured internal resistance" if known else "internal resistance"
                return Missing(f"{what} of {battery.name}", battery.span, "internal resistance 10 mohm")
    return None


def rating_of(study: Study, branch: Branch) -> Rating | None:
    """Return what a contact, a fuse or a switch carries; None for anything else."""
    if branch.kind == "contact":
        rated, undeclared = kept(study, _contacts).get(branch.name, (None, ()))
        missing = None
        if undeclared:
            missing = Missing(f"current of a contact of {undeclared[0]}", study.span(undeclared[0]), "75 A per contact")
        return Rating(rated, missing)
    part = study.part(branch.part)
    if isinstance(part, Fuse | Switching):
        current = part.rated_current
        if current is None:
            return Rating(None, Missing(f"rated current of {part.name}", part.span, "60 A"))
        return Rating(float(current.low), None)
    return None


def _contacts(study: Study) -> dict[str, tuple[float | None, tuple[str, ...]]]:
    return {
        contact.branch.name: (contact.rated, contact.undeclared) for mated in matings_of(study) for contact in mated.contacts
    }


@record
class ChargeLimit:
    """The most that a battery may be charged with [A], who says so, and where."""

    ampere: float
    words: str
    place: Span


def charge_limit(battery: Battery) -> ChargeLimit | None:
    """Return the hard limit of a battery's charge current: its own or that of its management system, the smaller; None where neither is declared."""
    found: list[ChargeLimit] = []
    own, bms = battery.charge_current_limit, battery.bms
    if own is not None:
        found.append(ChargeLimit(float(own.low), "which may be charged with", battery.place_of(Battery.charge_current_limit)))
    if bms is not None and bms.charge_current_limit is not None:
        place = bms.place_of(Bms.charge_current_limit)
        found.append(ChargeLimit(float(bms.charge_current_limit.low), "whose management system lets in", place))
    return min(found, key=lambda limit: limit.ampere, default=None)


# currents ----------------------------------------------------------------------------------------------------------


def rush(study: Study, split: Split) -> Rush | Missing:
    """Return what flows when a split is joined: the full side at its rest voltage when full, the low side at that of an empty battery."""
    missing = _unknown((*split.full, *split.low))
    if missing is not None:
        return missing
    volts: dict[str, float] = {}
    for pack in split.full:
        volts.update((battery.name, _full_voltage(battery) or 0.0) for battery in pack.members)
    for pack in split.low:
        volts.update((battery.name, low_voltage(battery) or 0.0) for battery in pack.members)
    currents = what_flows(study, volts, split.open_gates)
    if not currents:
        return Missing("an operating point of the loop", split.low[0].members[0].span)
    full = min(pack.total(_full_voltage) or 0.0 for pack in split.full)
    low = max(pack.total(low_voltage) or 0.0 for pack in split.low)
    return Rush(split, currents, full, low)


def what_flows(
    study: Study,
    volts: Mapping[str, float],
    open_gates: Collection[str] = (),
    sources: Iterable[tuple[str, str, str, float]] = (),
) -> dict[str, float]:
    """Return the currents [A] by branch and battery with some batteries at given voltages [V] and sources that push a current (name, plus, minus, A).

    Batteries that are not named are left out. Copper is at 20 degC, batteries at the lower end of their resistance. Nothing where it cannot be solved.
    """
    pushed = tuple(sources)
    if pushed:
        ends = [f"{name}.{pole}" for name in volts for pole in ("plus", "minus")]
        branches = ways_between(study, (*ends, *(node for _, plus, minus, _ in pushed for node in (plus, minus))))
    else:
        branches = core_of(study)
    number: dict[str, int] = {}

    def at(node: str) -> int:
        return number.setdefault(node, len(number))

    items: list[Element] = []
    made = {element.name: element for element in study.networker.branch_elements(Temperatures(), 20.0)}
    for branch in branches:
        element = made[branch.name]
        if isinstance(element, Resistor) and not (branch.gate and branch.gate in open_gates):
            items.append(Resistor(branch.name, at(branch.start), at(branch.end), element.ohm))
    known = {battery.name: battery for battery in batteries(study)}
    for name, volt in volts.items():
        items.append(Emf(name, at(f"{name}.plus"), at(f"{name}.minus"), volt, resistance_low(known[name]) or 0.0))
    items.extend(CurrentSource(name, at(plus), at(minus), ampere) for name, plus, minus, ampere in pushed)
    first = next(iter(volts), "")
    if not first:
        return {}
    network = Network(len(number), tuple(items), (number[f"{first}.minus"],))
    return dict(study.solver.solve(network).currents)
