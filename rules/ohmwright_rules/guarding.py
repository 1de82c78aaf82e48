"""What rules about overcurrent protection have in common: how large a device may be for each conductor, how a stretch lies, what reaches it.

The graph is the linter's (ohmwright.protection); the limits are those of the basis. A conductor is judged at the hottest air that any state or range gives it.
What nobody said is taken at its kindest to find fault and at its harshest to find none; where that differs, the datum is missing.
"""

from __future__ import annotations

from collections.abc import Hashable
from functools import cached_property

from ohmwright.circuit.graph import Branch
from ohmwright.missing import Missing
from ohmwright.protection.reaching import Limits, Protection, Unsaid
from ohmwright.references import Step
from ohmwright.study import Study
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.fuse import Breaker, Fuse
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.site import Zone
from ohmwright_grammar.records import record, replace

from ohmwright_rules.ampacity import Ampacity, ampacity
from ohmwright_rules.basis import Basis
from ohmwright_rules.conductors import (
    AMBIENT,
    air_steps,
    basis_of,
    cable_of,
    laying_of,
    said_of_missing,
    temperature_of_air,
    unsaid_air,
    unsaid_of,
)
from ohmwright_rules.fusing import FuseLimit, fuse_limit
from ohmwright_rules.kept import kept
from ohmwright_rules.laying import Laying, Unknown
from ohmwright_rules.live_sides import live_sides, push_of
from ohmwright_rules.voltage_lines import lines_of

__all__ = [
    "Guarding",
    "WireFacts",
    "device_word",
    "guarding",
    "rating_of",
    "silent_controllers",
    "table_family",
]

_SLACK = 1e-9
_INFINITE = float("inf")
_COOLEST_CLASS = 60.0  # degC: the harshest that an undeclared insulation can be
_FULL = {"in_conduit": True, "in_free_air": False, "together": 40, "bundled_length": 10.0, "method": ""}

# Words of a build for families of devices, to those of the table of multiples.
_TABLE_FAMILIES = {
    "blade": "blade", "mini blade": "blade", "micro blade": "blade", "maxi blade": "blade",
    "bolt-down": "bolt-down", "large bolt-down": "bolt-down", "post": "bolt-down",
    "gG": "gG", "curve B": "MCB", "curve C": "MCB", "curve D": "MCB", "curve Z": "MCB",
}  # fmt: skip


def table_family(part: Fuse) -> str:
    """Return the family of a device as the table of must-open multiples names it, "" for one that it does not hold.

    A breaker without a curve counts as none.
    """
    return _TABLE_FAMILIES.get(part.family or "", "")


def rating_of(study: Study, device: Branch) -> float | None:
    """Return the rated current of an overcurrent device [A] at its upper end, None where it is not declared."""
    part = study.part(device.part)
    if not isinstance(part, Fuse) or part.rated_current is None:
        return None
    return float(part.rated_current.high)


@record
class WireFacts:
    """What a basis says of one conductor: how it lies, what it carries, and which datum is missing for that.

    `kind` is its ampacity with everything that nobody said at its kindest, `harsh` at its harshest; the two are one where all was said.
    """

    laying: Laying | Unknown
    kind: Ampacity | None
    harsh: Ampacity | None
    missing: str
    air: float
    datum: Missing | None = None  # what is missing, where it is not the conductor's own


class Guarding:
    """The protection of one build under its basis."""

    def __init__(self, study: Study, basis: Basis) -> None:
        self.study = study
        self.basis = basis
        self._facts: dict[str, WireFacts] = {}
        self._limits: dict[tuple[object, ...], FuseLimit | Unknown] = {}
        self.sizes: dict[
            tuple[object, ...], float | str | None
        ] = {}  # what remedies worked out before, by conductor and device
        self._data: dict[str, Missing] = {}  # missing data that are not a conductor's own, by their words
        self._covers = {zone.name for zone in study.of(Zone) if zone.wire_compartment}

    # conductors --------------------------------------------------------------------------------------------------

    def air(self, wire: Branch) -> tuple[float, bool]:
        """Return the hottest air around a conductor over all states [degC], and whether it was declared."""
        return temperature_of_air(self.study, wire)

    def air_steps(self, wire: Branch) -> tuple[Step, ...]:
        """Return the sum that tells the hottest air around a conductor in a closed case; none where it is declared."""
        hottest = self.study.hottest_air(wire.zone)
        own = wire.conductor is not None and wire.conductor.own_temperature is not None
        return () if hottest is None or own else air_steps(self.study, wire.zone, hottest[1])

    def _unsaid_air(self, wire: Branch) -> tuple[float, Missing] | None:
        """Return how hot the air around a conductor in a closed case can be at most, where a datum is missing for that."""
        if wire.zone not in self.study.summed_zones or (
            wire.conductor is not None and wire.conductor.own_temperature is not None
        ):
            return None
        states = (state for state in self.study.states if state.solved)
        found = (hot for state in states if (hot := unsaid_air(self.study, wire.zone, state)) is not None)
        hottest = max(found, key=lambda hot: hot[0], default=None)
        return hottest if hottest is not None and hottest[0] > self.air(wire)[0] else None

    def facts(self, wire: Branch) -> WireFacts:
        """Return what the basis says of a conductor, remembered."""
        found = self._facts.get(wire.name)
        if found is None:
            found = self._facts[wire.name] = self._make_facts(wire)
        return found

    def _make_facts(self, wire: Branch) -> WireFacts:
        air, known = self.air(wire)
        laying = laying_of(self.study, wire, ambient=air)
        if isinstance(laying, Unknown):
            return WireFacts(laying, None, None, laying.missing, air)
        found = ampacity(self.basis, _remembered(laying))
        kind = found if isinstance(found, Ampacity) else None
        state = next((state for state in self.study.states if temperature_of_air(self.study, wire, state)[1]), None)
        lying = unsaid_of(self.study, wire, state) if known else AMBIENT
        hot = self._unsaid_air(wire)
        if kind is not None and not lying and hot is None:
            return WireFacts(laying, kind, kind, "", air)
        missing = found.missing if isinstance(found, Unknown) else lying
        harsh: Ampacity | None = None
        if known:
            worst = laying if laying.insulation is not None else replace(laying, insulation=_COOLEST_CLASS)
            if lying:
                worst = replace(worst, **_FULL)  # type: ignore[arg-type]
            if hot is not None:
                worst = replace(worst, ambient=hot[0])
            tried = ampacity(self.basis, _remembered(worst))
            harsh = tried if isinstance(tried, Ampacity) else None
        if hot is None or missing:
            return WireFacts(laying, kind, harsh, missing, air)
        self._data[hot[1].what] = hot[1]
        return WireFacts(laying, kind, harsh, hot[1].what, air, hot[1])

    def voltage(self, wire: Branch, laying: Laying) -> float | None:
        """Return the highest voltage of a conductor [V]: of all states, and what set-points and cold arrays can hold it at."""
        net = self._lines.net(wire.start)
        held = self._lines.highest(net)
        return held if laying.voltage is None or (held is not None and held > laying.voltage) else laying.voltage

    @cached_property
    def _lines(self) -> _Lines:
        return _Lines(self.study)

    def limit(self, rating: Ampacity, volt: float | None, device: Branch | None = None) -> FuseLimit | Unknown:
        """Return the largest rating for a conductor of this ampacity and voltage, by the multiple of a device where the basis asks for it."""
        part = self.study.part(device.part) if device is not None else None
        family, must_open, amperes = "", None, None
        if isinstance(part, Fuse):
            family = table_family(part)
            must_open = float(part.must_open.high) if part.must_open is not None else None
            amperes = rating_of(self.study, device) if device is not None else None
        key = (rating.value, rating.unwound, rating.row, rating.cord, _bucket(volt), family, must_open, amperes)
        found = self._limits.get(key)
        if found is None:
            found = self._limits[key] = fuse_limit(self.basis, rating, volt, rating=amperes, family=family, must_open=must_open)
        return found

    def small_enough(self, device: Branch, wire: Branch) -> bool | Unsaid:
        """Tell whether a device may protect a conductor, or which datum would tell."""
        amperes = rating_of(self.study, device)
        if amperes is None:
            return Unsaid("rated current", device.part)
        facts = self.facts(wire)
        if isinstance(facts.laying, Unknown):
            return Unsaid(facts.missing, wire.name)
        volt = self.voltage(wire, facts.laying)
        kind = self._fits(facts.kind, volt, device, amperes, wire)
        if kind is False or facts.harsh is facts.kind:
            return kind
        return True if self._fits(facts.harsh, volt, device, amperes, wire) is True else Unsaid(facts.missing, wire.name)

    def _fits(self, rating: Ampacity | None, volt: float | None, device: Branch, amperes: float, wire: Branch) -> bool | Unsaid:
        if rating is None:
            return Unsaid("ampacity", wire.name)
        limit = self.limit(rating, volt, device)
        if isinstance(limit, Unknown):
            return Unsaid(limit.missing, wire.name)
        if amperes > limit.value * (1 + _SLACK):
            return False
        return Unsaid(limit.unchecked, device.part) if limit.unchecked else True

    def alike(self, wire: Branch) -> Hashable:
        """Return a key that is the same for conductors of the same ampacity and limits."""
        facts = self.facts(wire)
        if isinstance(facts.laying, Unknown):
            return facts.missing
        volt = _bucket(self.voltage(wire, facts.laying))
        return (
            facts.missing,
            volt,
            *(
                (round(one.value, 9), round(one.unwound, 9), one.row, one.cord) if one is not None else None
                for one in (facts.kind, facts.harsh)
            ),
        )

    def ampacity(self, wire: Branch) -> float | None:
        """Return the corrected ampacity of a conductor [A], a wound cord's unwound; None where it cannot be told."""
        facts = self.facts(wire)
        return facts.kind.unwound if facts.kind is not None else None

    def enclosed(self, wire: Branch) -> bool | None:
        """Tell whether a conductor is enclosed all the way: by a sheath, a conduit or a compartment of its own; a split loom is none of them."""
        conductor = wire.conductor
        assert conductor is not None
        if conductor.enclosed is not None:
            return conductor.enclosed
        if conductor.in_conduit or cable_of(self.study, wire) is not None or wire.zone in self._covers:
            return True
        return False if conductor.split_loom or conductor.free_air else None

    # the graph ---------------------------------------------------------------------------------------------------

    @cached_property
    def protections(self) -> tuple[Protection, ...]:
        """What protects the conductors, once for every setting of what cannot be closed at the same time."""
        limits = Limits(
            self.small_enough, self.alike, self.ampacity, push_of, lambda device: rating_of(self.study, device), self.enclosed
        )
        return tuple(Protection(poles, limits) for poles in live_sides(self.study))

    def missing(self, unsaid: Unsaid) -> Missing:
        """Return a datum that nobody declared as an outcome shows it."""
        if unsaid.what in self._data:
            return self._data[unsaid.what]
        part = self.study.part(unsaid.of)
        declare = said_of_missing(unsaid.what)
        if unsaid.what == "rated current":
            declare = "30 A"
        elif unsaid.what.startswith("multiple of its rating"):
            declare = "must open at 1.6 times its rating"
        what = f"{unsaid.what} of {unsaid.of}" if part is not None else unsaid.what
        return Missing(what, self.study.span(unsaid.of), declare)


_LOW_VOLTAGE = 50.0  # V: where the limits of all bases change


def _remembered(laying: Laying) -> Laying:
    """Return a lie with its voltage on one of two values, so that the ampacities of alike conductors are worked out once."""
    volt = laying.voltage
    return laying if volt is None else replace(laying, voltage=0.0 if volt < _LOW_VOLTAGE else _LOW_VOLTAGE)


def _bucket(volt: float | None) -> bool | None:
    return None if volt is None else volt < _LOW_VOLTAGE


class _Lines:
    """The highest voltage that each net can be held at, with everything closed that some state closes."""

    def __init__(self, study: Study) -> None:
        self._lines = lines_of(study)
        self._gates = min((state.open_gates for state in study.states), key=len, default=None)
        self._groups = self._lines.groups(self._gates) if self._gates is not None else {}
        self._minuses = sorted({source.minus for source in study.circuit.sources})
        self._node: dict[int, str] = {}
        for node in sorted(self._groups):
            self._node.setdefault(self._groups[node], node)
        self._highest: dict[int, float | None] = {}

    def net(self, node: str) -> int:
        """Return the net of a node, -1 for an unknown one."""
        return self._groups.get(node, -1)

    def highest(self, net: int) -> float | None:
        """Return the highest voltage of a net against the minus of any source [V], None where nothing tells."""
        if net not in self._highest:
            self._highest[net] = self._find(net)
        return self._highest[net]

    def _find(self, net: int) -> float | None:
        if self._gates is None or net < 0:
            return None
        found = [line.value for minus in self._minuses for line in self._lines.between(self._gates, self._node[net], minus)[0]]
        return max(found, default=None)


def guarding(study: Study) -> Guarding | None:
    """Return the protection of a build, worked out once; None without a basis."""
    return kept(study, _guarding)


def _guarding(study: Study) -> Guarding | None:
    basis = basis_of(study)
    return Guarding(study, basis) if basis is not None else None


def silent_controllers(study: Study) -> tuple[Controller, ...]:
    """Return the controllers that do not say whether they let current back, where that matters: with two strings and more at their input."""
    found: list[Controller] = []
    for part in sorted(study.of(Controller), key=lambda part: part.name):
        if part.lets_current_back is None and f"{part.name}.pv_plus" in study.circuit.at_node:
            near = study.circuit.reach(f"{part.name}.pv_plus")
            strings = sum(array.most_in_parallel for array in study.of(Array) if f"{array.name}.plus" in near)
            if strings > 1:
                found.append(part)
    return tuple(found)


def device_word(part: Part | None) -> str:
    """Return what a device is called in a message: fuse or breaker."""
    return "breaker" if isinstance(part, Breaker) else "fuse"
