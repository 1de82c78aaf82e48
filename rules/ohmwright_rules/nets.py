"""Nets: nodes that wires, contacts and closed switches join, and the voltages that sources put between them.

No state is solved here: what is joined follows from the graph, and which sign and size a voltage has from how the sources stand. A resistor below
0.1 ohm counts as a wire; other resistors and diodes join nets only where nothing else tells how the two lie to each other.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable

from ohmwright.circuit.banks import SHORT_OHM
from ohmwright.circuit.graph import Branch, Source
from ohmwright.study import Study
from ohmwright_grammar.records import record

from ohmwright_rules.kept import kept

__all__ = ["SHORT_OHM", "Field", "Layout", "Push", "joins", "layout_of"]

_SOFT = ("resistor", "diode")


def joins(branch: Branch) -> bool:
    """Tell whether a branch joins its ends as a wire does, while its gate is closed."""
    if branch.kind == "resistor":
        return not branch.assumed and branch.ohm < SHORT_OHM
    return branch.kind != "diode"


class _Roots:
    """Sets of numbers, each known by one of its members; a number that was never joined is a set of its own."""

    __slots__ = ("up",)

    def __init__(self) -> None:
        self.up: dict[int, int] = {}

    def find(self, item: int) -> int:
        up = self.up
        root = item
        while (above := up.get(root, root)) != root:
            root = above
        while (above := up.get(item, item)) != root and above != item:
            up[item] = root
            item = above
        return root

    def join(self, one: int, two: int) -> None:
        one, two = self.find(one), self.find(two)
        if one != two:
            self.up[max(one, two)] = min(one, two)


class _Wiring:
    """What no gate can part, worked out once for a study."""

    def __init__(self, study: Study) -> None:
        circuit = study.circuit
        self.number = {node: index for index, node in enumerate(circuit.nodes)}
        number = self.number
        roots = _Roots()
        gated: list[tuple[str, int, int]] = []
        soft: list[tuple[str, int, int]] = []
        for branch in circuit.branches:
            ends = (branch.gate, number[branch.start], number[branch.end])
            if not joins(branch):
                soft.append(ends)
            elif branch.gate:
                gated.append(ends)
            else:
                roots.join(ends[1], ends[2])
        self.net = [roots.find(node) for node in range(len(number))]
        self.gated = [(gate, self.net[one], self.net[two]) for gate, one, two in gated if self.net[one] != self.net[two]]
        self.soft = [(gate, self.net[one], self.net[two]) for gate, one, two in soft]
        self.closed = Layout(self, ())


class Layout:
    """Which nodes are one net while some gates are open."""

    __slots__ = ("_roots", "_wiring", "soft")

    def __init__(self, wiring: _Wiring, open_gates: Collection[str]) -> None:
        self._wiring = wiring
        self._roots = _Roots()
        for gate, one, two in wiring.gated:
            if gate not in open_gates:
                self._roots.join(one, two)
        self.soft = tuple((one, two) for gate, one, two in wiring.soft if gate not in open_gates)

    def net(self, node: str) -> int:
        """Return the net of a node; KeyError for an unknown one."""
        return self.root(self._wiring.net[self._wiring.number[node]])

    def root(self, net: int) -> int:
        """Return the net that a smaller one belongs to here."""
        return self._roots.find(net)

    def joined(self, one: str, two: str) -> bool:
        """Tell whether two nodes are one net."""
        return self.net(one) == self.net(two)


def layout_of(study: Study, open_gates: Collection[str] = ()) -> Layout:
    """Return the nets of a build with some gates open (none: everything closed)."""
    wiring = kept(study, _Wiring)
    return Layout(wiring, open_gates) if open_gates else wiring.closed


# voltages ----------------------------------------------------------------------------------------------------------


@record
class Push:
    """A source as it stands between two nets: its plus lies `volt` [V] above its minus."""

    source: Source
    volt: float


class Field:
    """How high nets lie over each other, as far as sources tell; the first to tell counts.

    `shorted` are sources whose plus and minus are one net, `against` those whose voltage another one turns round.
    """

    def __init__(self, layout: Layout, pushes: Iterable[Push]) -> None:
        self.layout = layout
        self._up: dict[int, tuple[int, float]] = {}
        self.shorted: list[Push] = []
        self.against: list[Push] = []
        self.leading: dict[int, list[Push]] = {}
        leading: list[tuple[int, Push]] = []
        for push in pushes:
            plus, minus = layout.net(push.source.plus), layout.net(push.source.minus)
            if plus == minus:
                self.shorted.append(push)
            elif self._join(plus, minus, push.volt):
                leading.append((plus, push))
            elif self._find(plus)[1] - self._find(minus)[1] <= 0:
                self.against.append(push)
        for one, two in layout.soft:
            self._join(layout.root(one), layout.root(two), 0.0)
        for net, push in leading:
            self.leading.setdefault(self._find(net)[0], []).append(push)

    def _find(self, net: int) -> tuple[int, float]:
        """Return the group of a net and how high it lies in it [V]."""
        way: list[int] = []
        up = self._up
        while (step := up.get(net)) is not None:
            way.append(net)
            net = step[0]
        rise = 0.0
        for item in reversed(way):
            rise += up[item][1]
            up[item] = (net, rise)
        return net, rise

    def _join(self, upper: int, lower: int, volt: float) -> bool:
        one, high = self._find(upper)
        two, low = self._find(lower)
        if one == two:
            return False
        self._up[one] = (two, low + volt - high)
        return True

    def group(self, node: str) -> int:
        """Return the number of the group of nets that a node lies in: nodes of one group have a voltage between them."""
        return self._find(self.layout.net(node))[0]

    def height(self, node: str) -> float:
        """Return how high a node lies in its group [V]."""
        return self._find(self.layout.net(node))[1]

    def between(self, plus: str, minus: str) -> float | None:
        """Return the voltage between two nodes [V], None where nothing tells."""
        one, high = self._find(self.layout.net(plus))
        two, low = self._find(self.layout.net(minus))
        return high - low if one == two else None
