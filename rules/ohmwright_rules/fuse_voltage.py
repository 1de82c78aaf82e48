"""A fuse or breaker rated for less than the highest voltage it can have to break, or for alternating current only."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ohmwright.circuit.batteries import highest_charge_voltage
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown_pair
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.charging import Charging
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.records import record

from ohmwright_rules.charging import charged
from ohmwright_rules.guarding import device_word
from ohmwright_rules.voltage_lines import Gap, Line, lines_of

RULE = Rule(
    id="fuse-voltage",
    title="Device rated below the system's voltage",
    family="protection",
    subject="device",
    covers=("F7", "F8"),
    grades=(
        Grade(
            "over-voltage", Severity.ERROR, "the highest voltage that the line can be held at is above the device's DC rating"
        ),
        Grade("ac-only", Severity.ERROR, "a device that is rated for AC only stands in a DC path"),
    ),
    references=(
        common_practice("the highest voltage that the sources are set to"),
        Reference("33 CFR 183.455", "as on a law mirror, undated", "(d), read in part", "read"),
    ),
)
_UNSET = "absorption voltage of "
_MILD = ("equalising voltage of ", "temperature compensation of ")
# Times absorption: 2.7 over 2.4 V a cell in equalising, and 5 mV/K a cell over 65 K, come to less (common practice, no source).
_MOST_ABOVE = 1.3


@record
class _Highest:
    """The highest voltage of a device's line, and what could make it higher and was not said."""

    line: Line | None
    gaps: tuple[Gap, ...]


def check(study: Study) -> Iterator[Outcome]:
    """Hold the DC voltage rating of every device against the highest voltage of its line."""
    nodes: dict[str, list[str]] = {}
    for branch in study.circuit.branches:
        if branch.device:
            nodes.setdefault(branch.part, []).extend((branch.start, branch.end))
    idle = 0
    nets = _Nets(study)
    for name in sorted(nodes):
        part = study.part(name)
        assert isinstance(part, Fuse)
        if part.voltage_ac_only:
            yield _ac_only(part)
            continue
        yield Passed("ac-only", (name,))
        highest = nets.highest(nodes[name])
        if highest.line is None and not highest.gaps:
            idle += 1
        else:
            yield from _judge(study, part, highest)
    if idle:
        yield DoesNotApply("no source holds a voltage at it", idle)


def _ac_only(part: Fuse) -> Finding:
    word = device_word(part)
    return Finding(
        "ac-only",
        (part.name,),
        f"{part.name}: this {word} is rated for AC only and stands in a DC path; a DC arc has no zero crossing that puts it out.",
        part.place_of(Fuse.voltage_ac_only),
        remedy=f"Use a {word} with a DC rating at the voltage of this line.",
        reference=common_practice("a device breaks only what it is rated for"),
    )


class _Nets:
    """What can hold up the nets of a build. That depends on the open gates and on the net alone, so that all devices on one net share it."""

    def __init__(self, study: Study) -> None:
        self._lines = lines_of(study)
        self._gates = tuple(dict.fromkeys(state.open_gates for state in study.states))
        self._pluses = sorted({source.plus for source in study.circuit.sources})
        self._minuses = sorted({source.minus for source in study.circuit.sources})
        self._charged = [(item.plus, item.minus) for item in charged(study)]
        self._batteries = tuple(study.of(Battery))
        self._known: dict[tuple[frozenset[str], int, bool], _Highest] = {}

    def highest(self, nodes: list[str]) -> _Highest:
        """Return the highest voltage between a device and a pole of any source, over the states in which it is joined."""
        found: list[_Highest] = []
        for gates in self._gates:
            group = self._lines.groups(gates)
            for as_plus in (True, False):
                for node in nodes:
                    key = (gates, group[node], as_plus)
                    if key not in self._known:
                        self._known[key] = self._against_poles(gates, group, node, as_plus)
                    found.append(self._known[key])
        lines = (item.line for item in found if item.line is not None)
        gaps = dict.fromkeys(gap for item in found for gap in item.gaps)
        return _Highest(max(lines, key=lambda line: line.value, default=None), tuple(gaps))

    def _against_poles(self, gates: frozenset[str], group: Mapping[str, int], node: str, as_plus: bool) -> _Highest:
        """Return the highest voltage of a net above the minus of any source, or of the plus of any source above it."""
        lines: list[Line] = []
        gaps: list[Gap] = []
        told: set[tuple[int, int]] = set()
        for other in self._minuses if as_plus else self._pluses:
            plus, minus = (node, other) if as_plus else (other, node)
            one, two = ends = group[plus], group[minus]
            if one == two or ends in told:
                continue
            told.add(ends)
            found, missing = self._lines.between(gates, plus, minus)
            lines.extend(found)
            unset = any(gap.missing.startswith(_UNSET) for gap in missing)
            charging = any((group.get(high), group.get(low)) == ends for high, low in self._charged)
            limits = tuple(self._limits(group, ends)) if unset or not charging else ()
            lines.extend(limits)
            gaps.extend(gap for gap in missing if not limits or not gap.missing.startswith(_UNSET))
        return _Highest(max(lines, key=lambda line: line.value, default=None), tuple(gaps))

    def _limits(self, group: Mapping[str, int], ends: tuple[int, int]) -> Iterator[Line]:
        """Yield the charge limit of every battery between two nets."""
        for battery in self._batteries:
            if (group.get(f"{battery.name}.plus"), group.get(f"{battery.name}.minus")) == ends:
                limit = highest_charge_voltage(battery)
                if limit is not None:
                    step = Step("U_limit", f"charge limit of {battery.name}", limit, "V", "no set-point is declared")
                    yield Line(limit, battery.name, f"charge limit of {battery.name}", (step,))


def _judge(study: Study, part: Fuse, highest: _Highest) -> Iterator[Outcome]:
    subject = (part.name,)
    rating = part.voltage_dc
    line = highest.line
    if rating is None:
        yield Missing("voltage rating for DC", part.span, "^32 V dc").outcome("over-voltage", subject)
        return
    limit = Amount(float(rating.low), "voltage", rating.unit)
    if line is not None and is_broken(line.value, limit.value, "at-most"):
        yield _finding(study, part, line, limit)
    elif highest.gaps and not (line is not None and _holds_anyway(line, limit, highest.gaps)):
        gap = highest.gaps[0]
        yield Missing(gap.missing, gap.span, gap.declare).outcome("over-voltage", subject)
    else:
        assert line is not None
        yield Passed("over-voltage", subject, Amount(line.value, "voltage", rating.unit), limit)


def _holds_anyway(line: Line, limit: Amount, gaps: tuple[Gap, ...]) -> bool:
    """Tell whether a rating holds however equalising and compensation are set, which is all that was not said."""
    return all(gap.missing.startswith(_MILD) for gap in gaps) and not is_broken(
        _MOST_ABOVE * line.value, limit.value, "at-most"
    )


def _finding(study: Study, part: Fuse, line: Line, limit: Amount) -> Finding:
    measured = Amount(line.value, "voltage", limit.unit)
    highest, allowed = shown_pair(measured, limit)
    word = device_word(part)
    holder = study.part(line.holder)
    place = holder.place_of(Charging.absorption_voltage) if isinstance(holder, Charging) else study.span(line.holder)
    return Finding(
        "over-voltage",
        (part.name,),
        f"{part.name}: {highest} can stand here ({line.words}); this {word} is rated for {allowed} DC, and above that its arc may not go out.",
        part.place_of(Fuse.voltage_dc),
        measured,
        limit,
        working=line.steps,
        remedy=f"Use a {word} rated for {highest} DC or more.",
        related=(Related(f"what holds the voltage: {line.holder}", place),),
    )
