"""Connectors as they go together: which halves are mated, which pole each pin lies on, how high a half can stand, which patterns are those of mains."""

from __future__ import annotations

from collections.abc import Mapping

from ohmwright.circuit.parts import gate_of_position
from ohmwright.states.implied import resting_setup
from ohmwright.states.setup import FULL_SUN
from ohmwright.study import Study
from ohmwright_grammar.kinds.connector import Half, Pin
from ohmwright_grammar.kinds.label import Label
from ohmwright_grammar.model import Mating, Run
from ohmwright_grammar.records import record, replace
from ohmwright_grammar.spans import Span

from ohmwright_rules.kept import kept
from ohmwright_rules.labelling import are_generated
from ohmwright_rules.voltage_lines import Gap, Line, lines_of

__all__ = [
    "Connector",
    "Poles",
    "closed_gates",
    "connectors",
    "cords_of",
    "has_mains",
    "highest_on",
    "is_labelled",
    "is_mains_pattern",
    "leads_on",
    "mates_of",
    "pin_of",
    "pin_total",
    "poles_of",
    "wired_pins",
]

# Standards of household and industrial mains patterns, as a family may be called after them (names of open standards, from memory), without blanks and
# hyphens; and the couplers of IEC 60320 that go by their sheet alone.
_MAINS = ("mains", "household", "nema", "schuko")
_STANDARDS = ("cee7", "bs1363", "as/nzs3112", "iec60320", "iec320", "iec60309", "iec309", "iec60906")
_SHEETS = frozenset({"c13", "c14", "c19", "c20"})


@record
class Connector:
    """Two halves that go together, or one that has no mate in the build."""

    halves: tuple[Half, ...]
    mating: Mating | None

    @property
    def name(self) -> str:
        """The name of its first half."""
        return self.halves[0].name

    @property
    def span(self) -> Span:
        """Where its first half stands."""
        return self.halves[0].span

    @property
    def names(self) -> tuple[str, ...]:
        """The names of its halves."""
        return tuple(half.name for half in self.halves)

    @property
    def pairs(self) -> tuple[tuple[str, ...], ...]:
        """The pins that meet, as nodes: two of a mated connector, one of a lone half."""
        if self.mating is not None:
            return tuple((f"{self.mating.first}.{here}", f"{self.mating.second}.{there}") for here, there in self.mating.pins)
        half = self.halves[0]
        return tuple((f"{half.name}.{pin.name}",) for pin in half.pins or ())


@record
class Poles:
    """Which nodes are one while everything is closed and mated, and which of these groups lie on a plus or a minus of a source."""

    group: Mapping[str, int]
    plus: frozenset[int]
    minus: frozenset[int]

    def of(self, node: str) -> str:
        """Return "plus", "minus" or "" for a node; the inner points of a series string are live and count as plus."""
        found = self.group.get(node)
        if found is None:
            return ""
        if found in self.plus:
            return "plus"
        return "minus" if found in self.minus else ""


def connectors(study: Study) -> tuple[Connector, ...]:
    """Return every connector: pairs that go together in the order of their first names, then halves without a mate."""
    return kept(study, _connectors)


def _connectors(study: Study) -> tuple[Connector, ...]:
    found: list[Connector] = []
    mated: set[str] = set()
    for mating in study.build.matings:
        first, second = study.part(mating.first), study.part(mating.second)
        if isinstance(first, Half) and isinstance(second, Half):
            found.append(Connector((first, second), mating))
            mated.update((first.name, second.name))
    found.sort(key=lambda connector: connector.names)
    lone = sorted((half for half in study.build.halves() if half.name not in mated), key=lambda half: half.name)
    return (*found, *(Connector((half,), None) for half in lone))


def mates_of(study: Study, half: str) -> frozenset[str]:
    """Return the halves that a half is meant to go together with."""
    return kept(study, _mates).get(half, frozenset())


def _mates(study: Study) -> dict[str, frozenset[str]]:
    found: dict[str, set[str]] = {}
    for mating in study.build.matings:
        found.setdefault(mating.first, set()).add(mating.second)
        found.setdefault(mating.second, set()).add(mating.first)
    return {name: frozenset(names) for name, names in found.items()}


def closed_gates(study: Study, parted: frozenset[str] = frozenset()) -> frozenset[str]:
    """Return what stands open while everything is closed, mated and whole, but for the matings in `parted`, in full sun, with nothing running."""
    if parted:
        return _closed_gates(study, parted)
    return kept(study, _all_closed)


def _all_closed(study: Study) -> frozenset[str]:
    return _closed_gates(study, frozenset())


def _closed_gates(study: Study, parted: frozenset[str]) -> frozenset[str]:
    anatomy = study.anatomy
    others = {gate_of_position(name, position) for name, positions in anatomy.selectors.items() for position in positions[1:]}
    setup = replace(
        resting_setup(study.build, anatomy),
        name="everything closed",
        origin="reached",
        open_gates=anatomy.never_joined | others | parted,
        sun=dict.fromkeys(anatomy.arrays, FULL_SUN),
    )
    return study.open_gates_in(setup)


def poles_of(study: Study) -> Poles:
    """Return which nodes lie on which pole while everything is closed and mated."""
    return kept(study, _poles)


def _poles(study: Study) -> Poles:
    group = lines_of(study).groups(closed_gates(study))
    plus = frozenset(group[source.plus] for source in study.circuit.sources)
    minus = frozenset(group[source.minus] for source in study.circuit.sources)
    return Poles(group, plus, minus)


def highest_on(study: Study, nodes: tuple[str, ...]) -> tuple[Line | None, Gap | None]:
    """Return the highest voltage that can stand on any of some nodes, everything closed, and the first thing that was not said of it."""
    poles = poles_of(study)
    gates = closed_gates(study)
    lines = lines_of(study)
    best: Line | None = None
    gap: Gap | None = None
    seen: set[tuple[int, int]] = set()
    returns = [*nodes, *(source.minus for source in study.circuit.sources)]
    for node in nodes:
        if poles.of(node) != "plus":
            continue
        for minus in returns:
            key = (poles.group[node], poles.group.get(minus, -1))
            if key in seen or key[0] == key[1] or key[1] < 0:
                continue
            seen.add(key)
            found, gaps = lines.between(gates, node, minus)
            for line in found:
                if best is None or line.value > best.value:
                    best = line
            if gaps and gap is None:
                gap = gaps[0]
    return best, gap


def has_mains(study: Study, half: Half) -> bool:
    """Tell whether a half carries mains or an inverter's output: by its nets, or by what its pins promise."""
    if any(f"{half.name}.{pin.name}" in study.circuit.ac_nodes or pin.polarity in ("L", "N") for pin in half.pins or ()):
        return True
    prefix = f"{half.name}."
    return any(node.startswith(prefix) for node in _ac_nodes_of(study).get(half.name, ()))


def _ac_nodes_of(study: Study) -> dict[str, tuple[str, ...]]:
    return kept(study, _ac_by_part)


def _ac_by_part(study: Study) -> dict[str, tuple[str, ...]]:
    found: dict[str, list[str]] = {}
    for node in sorted(study.circuit.ac_nodes):
        found.setdefault(node.rpartition(".")[0], []).append(node)
    return {part: tuple(nodes) for part, nodes in found.items()}


def is_mains_pattern(family: str | None) -> bool:
    """Tell whether a family is one of the patterns of household or industrial mains."""
    words = (family or "").lower().replace(" ", "").replace("-", "")
    return words.startswith(_MAINS) or words in _SHEETS or any(name in words for name in _STANDARDS)


def pin_of(half: Half, name: str) -> Pin | None:
    """Return what is said of a pin of a half, None where nothing is."""
    return next((pin for pin in half.pins or () if pin.name == name), None)


def pin_total(half: Half) -> int | None:
    """Return how many pins a half has, listed or not; None where that was not said."""
    if half.pin_count is not None:
        return half.pin_count
    return len(half.pins) if half.pins else None


def is_labelled(study: Study, half: str) -> bool:
    """Tell whether a label that states the voltage belongs to a half."""
    return are_generated(study) or half in kept(study, _labelled)


def _labelled(study: Study) -> frozenset[str]:
    return frozenset(
        name for label in study.of(Label) if label.states_voltage or label.generated_text for name in label.at or ()
    )


def wired_pins(study: Study, half: str) -> frozenset[str]:
    """Return the pins of a half that a wire, a jumper or a part is joined to from its own side."""
    return kept(study, _wired_pins).get(half, frozenset())


def _wired_pins(study: Study) -> dict[str, frozenset[str]]:
    found: dict[str, set[str]] = {}
    nodes = [node for run in study.build.runs for node in (run.start, run.end)]
    nodes += [node for joint in study.build.joints for node in (joint.first, joint.second)]
    for node in nodes:
        part = study.build.nodes.get(node, "")
        if isinstance(study.part(part), Half):
            found.setdefault(part, set()).add(node.removeprefix(f"{part}."))
    return {name: frozenset(pins) for name, pins in found.items()}


def leads_on(study: Study, node: str) -> bool:
    """Tell whether a pin of another half that a pin meets is joined to something there; never where there is no other half."""
    return any(pin in wired_pins(study, half) for half, pin in kept(study, _opposites).get(node, ()))


def _opposites(study: Study) -> dict[str, tuple[tuple[str, str], ...]]:
    found: dict[str, list[tuple[str, str]]] = {}
    for mating in study.build.matings:
        for here, there in mating.pins:
            found.setdefault(f"{mating.first}.{here}", []).append((mating.second, there))
            found.setdefault(f"{mating.second}.{there}", []).append((mating.first, here))
    return {node: tuple(others) for node, others in found.items()}


def cords_of(study: Study) -> dict[str, tuple[Half, Half, Span]]:
    """Return what joins two different connector halves: cables by their name, loose wires by that of the first; a bought device's own not."""
    return kept(study, _cords)


def _cords(study: Study) -> dict[str, tuple[Half, Half, Span]]:
    things = {thing.name: thing.span for thing in study.build.things}
    by_cord: dict[tuple[str, str, str], Run] = {}
    for run in study.build.runs:
        ends = [study.part(study.build.nodes.get(node, "")) for node in (run.start, run.end)]
        if run.conductor.inside_device or not all(isinstance(end, Half) and not end.on_panel for end in ends):
            continue
        first, second = sorted(end.name for end in ends if end is not None)
        if first != second:
            by_cord.setdefault((run.cable, first, second), run)
    found: dict[str, tuple[Half, Half, Span]] = {}
    for (cable, first, second), run in by_cord.items():
        one, two = study.part(first), study.part(second)
        assert isinstance(one, Half) and isinstance(two, Half)
        name = cable or run.name
        found.setdefault(name, (one, two, things.get(name, run.conductor.span)))
    return found
