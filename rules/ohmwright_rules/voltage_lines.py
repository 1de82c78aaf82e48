"""The highest voltage that can stand between two nodes: set-points moved by the cold, full batteries, converters, arrays on a cold morning.

Not the solved voltage of a state, which knows one charge level and one temperature, but what the parts on the line can hold it at (readings.md, Voltage
lines): absorption, equalising and float with their compensation at the lowest temperature, and the cold open-circuit voltage on an array's side.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ohmwright.circuit.arrays import voc_coefficient
from ohmwright.circuit.batteries import rest_voltage_of
from ohmwright.circuit.graph import Source
from ohmwright.references import Reference, Step
from ohmwright.study import SolvedState, Study
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.battery import LITHIUM, Battery
from ohmwright_grammar.kinds.charging import Charger, Charging
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.inverter import Converter
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.site import Site, Zone
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span
from ohmwright_grammar.things import Datum

from ohmwright_rules.cold_voltage import cold_factor, cold_voltage
from ohmwright_rules.conductors import AMBIENT, said_of_missing
from ohmwright_rules.kept import kept
from ohmwright_rules.silent_battery import silent_voltage
from ohmwright_rules.strings import joined

__all__ = ["Gap", "Line", "Lines", "lines_of", "set_points"]

_RATED = 25.0  # degC, to which set-points belong: readings.md, B3
_LONGEST = 64  # sources in a row that a line goes through: no string is longer, and no recursion should be


@record
class Gap:
    """A datum that could make a line higher and was not said: of which part, where, and a line that would say it.

    `guessed` tells that circuits are solved with a guess in its place, so that no voltage that is solved says what stands there.
    """

    missing: str
    span: Span
    declare: str = ""
    guessed: bool = False


@record
class Line:
    """A voltage [V] that can stand between two nodes: who holds it there, how that is said, the working, and what it rests on where that is remembered."""

    value: float
    holder: str
    words: str
    steps: tuple[Step, ...] = ()
    reference: Reference | None = None


def set_points(part: Charging) -> Iterator[tuple[str, float]]:
    """Yield every set-point that a charger declares, with its name: the upper end at 25 degC [V]."""
    for words, volt in (
        ("absorption", part.absorption_voltage),
        ("equalising", part.equalise_voltage),
        ("float", part.float_voltage),
    ):
        if volt is not None:
            yield words, float(volt.high)


class _Hanging:
    """How the sources of a build hang together: the number of the net at each pole, and what can stand between two of these nets."""

    def __init__(self, sources: list[Source], nets: tuple[tuple[int, int], ...]) -> None:
        self.nets = {source.name: net for source, net in zip(sources, nets, strict=True)}
        self.at_plus: dict[int, list[Source]] = {}
        self.at_minus: dict[int, list[Source]] = {}
        for source, (plus, minus) in zip(sources, nets, strict=True):
            self.at_plus.setdefault(plus, []).append(source)
            self.at_minus.setdefault(minus, []).append(source)
        self.between: dict[tuple[frozenset[str], int, int], tuple[tuple[Line, ...], tuple[Gap, ...]]] = {}


class Lines:
    """The highest voltages of one build, by the nodes that are joined while some gates are open.

    Asked for every load in every state: what does not depend on the gates is worked out once, and what does once for all gates with which the sources
    hang together alike.
    """

    def __init__(self, study: Study) -> None:
        self.study = study
        self._sources = sorted(study.circuit.sources, key=lambda source: source.name)
        self._of_zone = {zone.name: float(zone.temperature.low) for zone in study.of(Zone) if zone.temperature is not None}
        site = study.one(Site)
        self._outside = float(site.ambient.low) if site is not None and site.ambient is not None else None
        self._off: dict[int, tuple[SolvedState, frozenset[str]]] = {}  # by the state, which is kept with it
        self._joined: dict[frozenset[str], tuple[dict[str, int], dict[int, int], _Hanging]] = {}
        self._hanging: dict[tuple[tuple[int, int], ...], _Hanging] = {}
        self._of: dict[tuple[str, float | None], tuple[tuple[Line, ...], tuple[Gap, ...]]] = {}

    def groups(self, gates: frozenset[str]) -> dict[str, int]:
        """Return a number for each node, the same for nodes that are joined while these gates are open."""
        return self._at(gates)[0]

    def _at(self, gates: frozenset[str]) -> tuple[dict[str, int], dict[int, int], _Hanging]:
        """Return the groups of nodes that are joined, the number of the net that each group with a pole of a source is, and how the sources hang."""
        found = self._joined.get(gates)
        if found is None:
            group = joined(self.study, gates)
            number: dict[int, int] = {}
            nets = tuple(
                [
                    (number.setdefault(group[source.plus], len(number)), number.setdefault(group[source.minus], len(number)))
                    for source in self._sources
                ]
            )
            hanging = self._hanging.get(nets)
            if hanging is None:
                hanging = self._hanging[nets] = _Hanging(self._sources, nets)
            found = self._joined[gates] = group, number, hanging
        return found

    def off_in(self, state: SolvedState) -> frozenset[str]:
        """Return the sources that hold nothing in a state: switched off, in the dark, cut off by their own management, without a feed of their own."""
        found = self._off.get(id(state))
        if found is None:
            off = frozenset(source.name for source in self._sources if _is_off(source.part, state))
            found = self._off[id(state)] = state, off
        return found[1]

    def between(
        self, gates: frozenset[str], plus: str, minus: str, off: frozenset[str] = frozenset()
    ) -> tuple[tuple[Line, ...], tuple[Gap, ...]]:
        """Return every voltage that can stand between two nodes as they are joined while some gates are open, and what was not said of any.

        Whether a source runs does not count, but for those named in `off`. The first is the same object wherever the same
        sources hang at both alike and the same is off.
        """
        group, number, hanging = self._at(gates)
        if plus not in group or minus not in group:
            return (), ()
        ends = off, number.get(group[plus], -1), number.get(group[minus], -1)
        found = hanging.between.get(ends)
        if found is None:
            lines: list[Line] = []
            gaps: list[Gap] = []
            self._collect(hanging, *ends[1:], lines, gaps, (), off)
            found = hanging.between[ends] = tuple(lines), tuple(dict.fromkeys(gaps))
        return found

    def _collect(
        self,
        hanging: _Hanging,
        plus: int,
        minus: int,
        lines: list[Line],
        gaps: list[Gap],
        seen: tuple[int, ...],
        off: frozenset[str],
    ) -> None:
        if len(seen) > _LONGEST:
            return
        self.study.options.budget.check()
        for source in hanging.at_minus.get(minus, ()):
            if source.name in off:
                continue
            upper_net, _ = hanging.nets[source.name]
            if upper_net == plus:
                found, silent = self._held_by(source, self._temperature(source.part, hanging, plus))
                lines.extend(found)
                gaps.extend(silent)
            elif isinstance(source.part, Battery | Array) and upper_net not in seen and upper_net != minus:
                upper: list[Line] = []
                self._collect(hanging, plus, upper_net, upper, gaps, (*seen, minus), off)
                lower: list[Line] = []
                self._collect(hanging, upper_net, minus, lower, gaps, (*seen, plus, minus), off)
                if upper and lower:
                    lines.append(_sum(max(lower, key=_value), max(upper, key=_value)))

    def _held_by(self, source: Source, lowest: float | None) -> tuple[tuple[Line, ...], tuple[Gap, ...]]:
        """Return the voltages that one source can hold at a temperature [degC], and what was not said of it."""
        key = (source.name, lowest)
        found = self._of.get(key)
        if found is None:
            gaps: list[Gap] = []
            lines = tuple(_lines_of(self.study, source.part, gaps, lowest))
            found = self._of[key] = lines, tuple(gaps)
        return found

    def _temperature(self, part: Part, hanging: _Hanging, plus: int) -> float | None:
        """Return the lowest temperature [degC] that moves a compensated set-point of a source.

        That of the packs that its sensor is on; of its own place where it has none; else of the batteries on its line. Outside of a zone with a range
        of its own it is no colder than where the charger is said to be used.
        """
        if not isinstance(part, Charging):
            return None
        used_at = part.used_at if isinstance(part, Charger) else None
        outside = float(used_at.low) if used_at is not None else self._outside
        if part.sensor_on:
            names = [name for name in part.sensor_on if self.study.part(name) is not None]
        elif part.battery_temperature_sensor is False or part.says_none(Charging.battery_temperature_sensor):
            names = [part.name]
        else:
            names = [source.name for source in hanging.at_plus.get(plus, ()) if isinstance(source.part, Battery)]
        found = [self._lowest(name, outside) for name in names]
        known = [value for value in found if value is not None]
        if found:
            return min(known) if len(known) == len(found) else None
        return outside

    def lowest_at(self, name: str) -> float | None:
        """Return the lowest temperature [degC] at the place of a part: that of its zone, else of the site; None where neither is said."""
        return self._lowest(name, self._outside)

    def _lowest(self, name: str, outside: float | None) -> float | None:
        own = self._of_zone.get(self.study.zone_of(name))
        return own if own is not None else outside


def lines_of(study: Study) -> Lines:
    """Return the voltage lines of a build, worked out once."""
    return kept(study, Lines)


def _is_off(part: Part, state: SolvedState) -> bool:
    """Tell whether a source holds nothing in a state."""
    setup = state.setup
    if isinstance(part, Battery):
        return part.name in setup.bms_open or part.name in setup.failed
    if part.name in setup.off:
        return True
    if part.name not in setup.fixed:
        if isinstance(part, Array):
            return setup.sun.get(part.name, 0.0) <= 0.0
        if isinstance(part, Controller):
            return not any(value > 0.0 for value in setup.sun.values())
        if isinstance(part, Charging) and part.name not in setup.chargers:
            return True
    fed_at = f"{part.name}.in_plus"
    return (
        isinstance(part, Converter | Charger)
        and state.solved
        and fed_at in state.study.networker.number
        and state.voltage(fed_at) is None
    )


def _value(line: Line) -> float:
    return line.value


def _sum(lower: Line, upper: Line) -> Line:
    value = lower.value + upper.value
    step = Step("U", f"{lower.value:.4g} V + {upper.value:.4g} V, in series", value, "V", "sum of the string")
    words = f"{lower.words} and {upper.words}"
    return Line(value, lower.holder, words, (*lower.steps, *upper.steps, step))


def _lines_of(study: Study, part: Part, gaps: list[Gap], lowest: float | None) -> Iterator[Line]:
    if isinstance(part, Battery):
        full = rest_voltage_of(part, 1.0)
        if full is None:
            unsaid = silent_voltage(part)
            gaps.append(Gap(unsaid.what, unsaid.span, unsaid.declare, guessed=True))
        else:
            step = Step("U_full", f"{part.name} full, at rest", full, "V", "rest voltages")
            yield Line(full, part.name, f"{part.name} full", (step,))
    elif isinstance(part, Converter):
        if part.output_voltage is None:
            gaps.append(Gap(f"output voltage of {part.name}", part.span, "output 12 V"))
        else:
            volt = float(part.output_voltage.high)
            step = Step("U_out", f"output of {part.name}", volt, "V", "as declared")
            yield Line(volt, part.name, f"output of {part.name}", (step,))
    elif isinstance(part, Array):
        yield from _array(study, part, gaps)
    elif isinstance(part, Charging):
        yield from _charging(part, gaps, lowest)


def _array(study: Study, part: Array, gaps: list[Gap]) -> Iterator[Line]:
    site = study.one(Site)
    low = float(site.record_low.low) if site is not None and site.record_low is not None else None
    if part.voc is None:
        gaps.append(Gap(f"open-circuit voltage of {part.name}", part.span, "Voc 22 V"))
        return
    if low is None:
        gaps.append(Gap("record low of the site", site.span if site is not None else part.span, "site { record low -20 degC }"))
        return
    string = float(part.voc.high) * part.most_in_series
    how = f", {part.most_in_series} in series as its owner may plug it" if part.most_in_series > (part.in_series or 1) else ""
    coefficient = voc_coefficient(part)
    table = cold_factor(low)
    if coefficient is not None:
        value = cold_voltage(string, coefficient, low)
        step = Step("U_oc", f"{string:.4g} V x (1 + {coefficient:.4g} x ({low:.4g} - 25)){how}", value, "V", "as declared")
    elif table is not None:
        value = string * table.value
        step = Step("U_oc", f"{string:.4g} V x {table.value:g} at {low:.4g} degC{how}", value, "V", table.place)
    else:
        gaps.append(Gap(f"coefficient of Voc of {part.name}", part.span, "Voc falls 0.3 %/K"))
        return
    yield Line(value, part.name, f"{part.name} with nothing connected at {low:.3g} degC", (step,))


def _charging(part: Charging, gaps: list[Gap], lowest: float | None) -> Iterator[Line]:
    said = dict(set_points(part))

    def silent(datum: Datum[Any], words: str, declare: str) -> None:
        if part.fact(datum) is None:
            gaps.append(Gap(f"{words} of {part.name}", part.span, declare))

    if part.absorption_voltage is None and part.float_voltage is None:
        gaps.append(Gap(f"absorption voltage of {part.name}", part.span, "absorption ~14.4 V", guessed=True))
    lithium_only = bool(part.chemistries) and LITHIUM.issuperset(part.chemistries or ())
    if not lithium_only:
        silent(Charging.equalise_voltage, "equalising voltage", "equalise off")
    if not said:
        return
    words, highest = max(said.items(), key=lambda item: item[1])
    step = Step("U_set", f"{words} of {part.name} at {_RATED:g} degC", highest, "V", "as declared")
    compensation = part.temperature_compensation
    if lowest is not None and lowest >= _RATED:
        yield Line(highest, part.name, f"{words} of {part.name}", (step,))
        return
    if compensation is None:
        silent(Charging.temperature_compensation, "temperature compensation", "no temperature compensation")
        yield Line(highest, part.name, f"{words} of {part.name}", (step,))
        return
    slope = max(abs(float(compensation.low)), abs(float(compensation.high)))
    if slope == 0.0:
        yield Line(highest, part.name, f"{words} of {part.name}", (step,))
    elif lowest is None:
        gaps.append(Gap(AMBIENT, part.span, said_of_missing(AMBIENT)))
        yield Line(highest, part.name, f"{words} of {part.name}", (step,))
    else:
        value = highest + slope * (_RATED - lowest)
        cold = Step(
            "U", f"{highest:.4g} V + {slope * 1000:.3g} mV/K x ({_RATED:g} - {lowest:.3g}) K", value, "V", "as declared"
        )
        yield Line(value, part.name, f"{words} of {part.name} at {lowest:.3g} degC", (step, cold))
