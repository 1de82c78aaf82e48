"""The highest voltage that each net of a build can be held at: what the insulation of a conductor there must stand.

It counts against the minus of every source; on a net that no minus of a battery lies on, against every plus too (the minus of an array whose plus is joined to
the battery's lies below it).
"""

from __future__ import annotations

from ohmwright.study import Study
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.records import record

from ohmwright_rules.kept import kept
from ohmwright_rules.voltage_lines import Gap, Line, lines_of

__all__ = ["Highest", "NetVoltages", "could_lift", "net_voltages"]

_SET_POINTS = 2.0  # times the highest known voltage: no set-point of the same battery lies so high
_COLD = 1.25  # times Voc: the largest factor of NEC 690.7 for the cold


@record
class Highest:
    """The highest voltage between a net and a pole of any source, None where nothing holds one, and what could make it higher and was not said."""

    line: Line | None
    gaps: tuple[Gap, ...]


class NetVoltages:
    """Highest voltages by node, for the states in which most is joined; a state in which less is joined than in another adds nothing."""

    def __init__(self, study: Study) -> None:
        self._lines = lines_of(study)
        self._gates = tuple(_widest(study))
        self._sources = sorted(study.circuit.sources, key=lambda source: source.name)
        self._returns = sorted({source.minus for source in study.circuit.sources if source.kind == "battery"})
        self._known: dict[tuple[int, int, frozenset[str]], tuple[tuple[Line, ...], tuple[Gap, ...]]] = {}

    def of(self, node: str, without: frozenset[str] = frozenset()) -> Highest:
        """Return the highest voltage of a node against any pole, but for the poles of the sources that are named in `without`."""
        lines: list[Line] = []
        gaps: list[Gap] = []
        for number, gates in enumerate(self._gates):
            group = self._lines.groups(gates)
            net = group.get(node, -1)
            if net < 0:
                continue
            found = self._known.get((number, net, without))
            if found is None:
                found = self._known[number, net, without] = self._find(gates, group, node, net, without)
            lines.extend(found[0])
            gaps.extend(found[1])
        return Highest(max(lines, key=lambda line: line.value, default=None), tuple(dict.fromkeys(gaps)))

    def _find(
        self, gates: frozenset[str], group: dict[str, int], node: str, net: int, without: frozenset[str]
    ) -> tuple[tuple[Line, ...], tuple[Gap, ...]]:
        sources = [source for source in self._sources if source.name not in without]
        pairs = [(node, source.minus) for source in sources if group.get(source.minus) != net]
        if all(group.get(minus) != net for minus in self._returns):
            pairs += [(source.plus, node) for source in sources if group.get(source.plus) != net]
        told: set[tuple[int, int]] = set()
        lines: list[Line] = []
        gaps: list[Gap] = []
        for plus, minus in pairs:
            ends = (group.get(plus, -1), group.get(minus, -1))
            if ends in told:
                continue
            told.add(ends)
            held, silent = self._lines.between(gates, plus, minus)
            lines.extend(held)
            gaps.extend(silent)
        best = max(lines, key=lambda line: line.value, default=None)
        return ((best,) if best is not None else ()), tuple(dict.fromkeys(gaps))


def _widest(study: Study) -> list[frozenset[str]]:
    """Return the open gates of the states which hold those of no other state."""
    found: list[frozenset[str]] = []
    for gates in sorted({state.open_gates for state in study.states}, key=lambda gates: (len(gates), sorted(gates))):
        if not any(other <= gates for other in found):
            found.append(gates)
    return found


def net_voltages(study: Study) -> NetVoltages:
    """Return the highest voltages of the nets of a build, worked out once."""
    return kept(study, NetVoltages)


def could_lift(study: Study, highest: Highest, limit: float) -> Gap | None:
    """Return a datum that was not said and could lift a voltage above a limit [V], None where none could."""
    known = highest.line.value if highest.line is not None else 0.0
    for gap in highest.gaps:
        array = next((array for array in study.of(Array) if gap.missing.endswith(f" of {array.name}")), None)
        if gap.missing.startswith("record low"):
            strings = [float(item.voc.high) * item.most_in_series for item in study.of(Array) if item.voc is not None]
            most = _COLD * max(strings, default=0.0)
        elif array is not None:
            voc = float(array.voc.high) if array.voc is not None else float("inf")
            most = _COLD * voc * array.most_in_series
        else:
            most = _SET_POINTS * known if known > 0.0 else float("inf")
        if most > limit:
            return gap
    return None
