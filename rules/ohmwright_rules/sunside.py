"""What arrays bring to the input of a controller: cold and hot voltage, short-circuit current, power.

Arrays are found by connection (strings.py), with every switch closed and every plug mated. Of declared ranges the end that protects is taken.
"""

from __future__ import annotations

from typing import Any

from ohmwright.circuit.arrays import voc_coefficient
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step, common_practice
from ohmwright.study import Study
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.site import Site
from ohmwright_grammar.records import record
from ohmwright_grammar.things import Datum

from ohmwright_rules.basis import get
from ohmwright_rules.cold_voltage import cold_factor, cold_voltage
from ohmwright_rules.conductors import basis_of
from ohmwright_rules.kept import kept
from ohmwright_rules.strings import Arrangement, arrangements
from ohmwright_rules.wording import listed

__all__ = [
    "NO_ARRAY",
    "BrightCurrent",
    "Cold",
    "Side",
    "array_power",
    "bright_current",
    "cold_of",
    "power_limits",
    "record_low",
    "short_circuit_of",
    "sides",
]

NO_ARRAY = "no array can be joined to it"
_COEFFICIENT = Reference("NFPA 70 (NEC)", "2017 and later", "690.7(A)(1), by the module's coefficient", "secondary")


@record
class Side:
    """A controller and the arrays that can be joined to its PV input, in each position of selectors."""

    controller: Controller
    arrangements: tuple[Arrangement, ...]
    arrays: tuple[Array, ...]

    @property
    def names(self) -> str:
        """The arrays in words."""
        return listed(array.name for array in self.arrays)


@record
class Cold:
    """The highest open-circuit voltage of some arrays [V], the temperature it comes at [degC], and what it rests on."""

    volt: float
    temperature: float
    string: tuple[str, ...]
    steps: tuple[Step, ...]
    reference: Reference


def sides(study: Study) -> tuple[Side, ...]:
    """Return every controller with the arrays at its input, in name order."""
    return kept(study, _sides)


def _sides(study: Study) -> tuple[Side, ...]:
    arrays = {array.name: array for array in study.of(Array)}
    found = []
    for controller in sorted(study.of(Controller), key=lambda part: part.name):
        ways = arrangements(study, "array", f"{controller.name}.pv_minus", f"{controller.name}.pv_plus")
        names = sorted({name for way in ways for name in way.names})
        found.append(Side(controller, ways, tuple(arrays[name] for name in names)))
    return tuple(found)


def record_low(study: Study) -> float | Missing:
    """Return the record low of the site [degC]."""
    site = next(study.of(Site), None)
    if site is None or site.record_low is None:
        span = site.span if site is not None else study.build.rig.span
        return Missing(
            "record low of the site", span, "record low -20 degC" if site is not None else "site { record low -20 degC }"
        )
    return float(site.record_low.low)


def cold_of(study: Study, ways: tuple[Arrangement, ...], *, plugged: bool = False) -> Cold | Missing:
    """Return the highest voltage with nothing drawn at the record low: by the module's coefficient where it is declared, else by the NEC table.

    With `plugged` every array counts as the owner may plug it, where that gives more.
    Where both are known both stand in the working. A string counts as a whole; the string and position that reach highest are told.
    """
    low = record_low(study)
    if isinstance(low, Missing):
        return low
    best: Cold | None = None
    for way in ways:
        for string in way.strings:
            found = _cold_string(study, string, low, plugged)
            if isinstance(found, Missing):
                return found
            if best is None or found.volt > best.volt:
                best = found
    assert best is not None
    return best


def _cold_string(study: Study, string: tuple[str, ...], low: float, plugged: bool) -> Cold | Missing:
    volt = 0.0
    steps: list[Step] = []
    reference = _COEFFICIENT
    factor = cold_factor(low)
    for name in string:
        array = study.part(name)
        assert isinstance(array, Array)
        if array.voc is None:
            return Missing(f"open-circuit voltage of {name}", array.span, "Voc 22.6 V")
        count = array.most_in_series if plugged else array.in_series or 1
        at_25 = float(array.voc.high) * count
        words = f"{count} x {float(array.voc.high):.4g}" if count > 1 else f"{at_25:.4g}"
        how = ", as its owner may plug it" if count > (array.in_series or 1) else ""
        steps.append(Step("Voc", f"{name}: {words}, at 25 degC{how}", at_25, "V", "as declared"))
        coefficient = voc_coefficient(array)
        by_table = at_25 * factor.value if factor is not None else None
        if coefficient is not None:
            cold = cold_voltage(at_25, coefficient, low)
            expression = f"{at_25:.4g} x (1 + {abs(coefficient):.4g} x (25 - ({low:g})))"
            steps.append(Step("V_cold", expression, cold, "V", f"coefficient of {name}, record low of {low:g} degC"))
            if factor is not None and by_table is not None:
                table = f"{at_25:.4g} x {factor.value:g}, for comparison"
                steps.append(Step("V_table", table, by_table, "V", factor.place))
        elif factor is not None and by_table is not None:
            cold = by_table
            reference = factor.reference
            steps.append(Step("V_cold", f"{at_25:.4g} x {factor.value:g}, record low of {low:g} degC", cold, "V", factor.place))
        else:
            return Missing(f"temperature coefficient of the open-circuit voltage of {name}", array.span, "Voc -0.30 %/K")
        volt += cold
    if len(string) > 1:
        steps.append(Step("V_cold", " + ".join(string), volt, "V", "one string in series"))
    return Cold(volt, low, string, tuple(steps), reference)


def short_circuit_of(
    study: Study, ways: tuple[Arrangement, ...], *, plugged: bool = False
) -> tuple[float, tuple[Step, ...]] | Missing:
    """Return the largest sum of short-circuit currents of strings side by side [A], with its working; of arrays in series the larger counts.

    With `plugged` every array counts as the owner may plug it, where that gives more.
    """
    best = 0.0
    steps: tuple[Step, ...] = ()
    for way in ways:
        ends: dict[str, float] = {}
        for string in way.strings:
            largest = 0.0
            for name in string:
                array = study.part(name)
                assert isinstance(array, Array)
                if array.isc is None:
                    return Missing(f"short-circuit current of {name}", array.span, "Isc 6 A")
                count = array.most_in_parallel if plugged else array.in_parallel or 1
                largest = max(largest, float(array.isc.high) * count)
            ends[string[-1]] = max(ends.get(string[-1], 0.0), largest)
        total = sum(ends.values())
        if total > best:
            best = total
            words = " + ".join(f"{current:.4g}" for current in ends.values())
            steps = (Step("Isc", f"{', '.join(way.names)}: {words}", total, "A", "strings side by side, as declared"),)
    return best, steps


def array_power(array: Array) -> float | None:
    """Return the power of an array at test conditions [W]: declared, else Vmp x Imp, times its modules; None where neither is known."""
    count = (array.in_series or 1) * (array.in_parallel or 1)
    if array.vmp is not None and array.imp is not None:
        return float(array.vmp.nominal) * float(array.imp.nominal) * count
    return float(array.rated_power.nominal) * count if array.rated_power is not None else None


@record
class BrightCurrent:
    """What bright sun pushes into a controller [A], what it bears [A], and what that rests on; `datum` is where the limit was said."""

    plain: float
    bright: float
    limit: float
    unit: str
    steps: tuple[Step, ...]
    reference: Reference
    datum: Datum[Any]


def bright_current(study: Study, side: Side) -> BrightCurrent | Missing | str:
    """Hold the short-circuit current in bright sun against what a controller bears; a text where it has nothing to hold, and why.

    A series-switch controller passes the array's current on and bears its rated current where it states no other; a tracking one limits by itself, and
    is held only to a limit that it states.
    """
    controller = side.controller
    datum: Datum[Any] = Controller.pv_current_limit
    limit = controller.pv_current_limit
    if limit is None:
        if controller.kind == "MPPT":
            return "a tracking controller that states no limit of short-circuit current"
        if controller.kind is None:
            return Missing("kind of controller (PWM or MPPT)", controller.span, "MPPT")
        datum, limit = Controller.rated_current, controller.rated_current
        if limit is None:
            return Missing("rated current", controller.span, "20 A")
    found = short_circuit_of(study, side.arrangements, plugged=True)
    if isinstance(found, Missing):
        return found
    plain, steps = found
    number = (basis_of(study) or get("us-premises")).array_current
    bright = plain * number.value
    over_as_it_is = plain > float(limit.low) * (1 + 1e-9)
    steps = (*steps, Step("I_bright", f"{number.value:g} x {plain:.4g}", bright, "A", number.source))
    reference = common_practice("short-circuit current over the rating") if over_as_it_is else number.reference
    return BrightCurrent(plain, bright, float(limit.low), limit.unit, steps, reference, datum)


def power_limits(controller: Controller) -> tuple[tuple[float, str], ...]:
    """Return the array powers [W] that the maker gives as a ceiling of a controller, each in words; none where it gives none."""
    found = []
    if controller.pv_power_limit is not None:
        found.append((float(controller.pv_power_limit.low), "its PV power limit"))
    if controller.array_power_factor is not None and controller.rated_power is not None:
        times = float(controller.array_power_factor.low)
        found.append((times * float(controller.rated_power.low), f"{times:g} times its rated power"))
    return tuple(found)
