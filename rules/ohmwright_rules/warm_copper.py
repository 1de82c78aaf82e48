"""Voltages with copper at the temperature to which its own current heats it, to first order and without a second solve.

The circuit is solved with copper at the temperature of its zone. A loaded conductor is warmer: T + (I / I_table)^2 (T_insulation - T_ref), and its drop
larger in proportion. The differences are added up along the conductors, from the posts of the bank outwards (readings.md, Solver).
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator

from ohmwright.circuit.batteries import capacity_of
from ohmwright.circuit.graph import Branch
from ohmwright.references import Step
from ohmwright.study import SolvedState, Study
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.records import entity, record

from ohmwright_rules.ampacity import Ampacity, ampacity
from ohmwright_rules.basis import Basis
from ohmwright_rules.conductors import basis_of, laying_of, named_basis, temperature_of_air
from ohmwright_rules.duty import steady_state
from ohmwright_rules.kept import kept
from ohmwright_rules.laying import Unknown

__all__ = ["Part", "WarmState", "rise_of", "warm_state"]

_CLASSES = (60.0, 75.0, 90.0, 105.0)
_HEATING_BASIS = "us-small-craft"  # whose table tells how a wire heats, where no basis is declared
_LEAST = 1e-9  # A: less is rounding


@record
class Part:
    """A conductor on the way of a current: the current [A], its resistance warm [ohm], both temperatures [degC]."""

    branch: Branch
    current: float
    ohm: float
    air: float
    loaded: float

    @property
    def volt(self) -> float:
        """What is lost in it [V]."""
        return self.current * self.ohm

    def step(self) -> Step:
        """The line of a working."""
        warm = f"copper at {self.loaded:.3g} degC in air of {self.air:.3g} degC" if self.branch.alpha else "as declared"
        words = f"{self.current:.4g} A x {self.ohm * 1000:.4g} mohm, {warm}"
        return Step(f"U_{self.branch.name}", words, self.volt, "V", "solved circuit")


class _Rises:
    """How much each conductor of a build warms up: (T_insulation - T_ref) / I_table^2 [K/A2], worked out once."""

    def __init__(self, study: Study) -> None:
        self.study = study
        self.basis: Basis = basis_of(study) or named_basis(_HEATING_BASIS)
        self._known: dict[str, float] = {}

    def of(self, branch: Branch) -> float:
        """Return the rise of a conductor for each ampere squared [K/A2]; 0 where its size is not known."""
        found = self._known.get(branch.name)
        if found is None:
            found = self._known[branch.name] = self._rise(branch)
        return found

    def _rise(self, branch: Branch) -> float:
        """From the class of its insulation, or where that is not said from the class that heats most.

        A rise hardly depends on the class: each table gives the current that heats to the class' own temperature.
        """
        laying = laying_of(self.study, branch)
        if isinstance(laying, Unknown):
            return 0.0
        reference = self.basis.reference_ambient.value
        classes = _CLASSES if laying.insulation is None else (laying.insulation,)
        found = [ampacity(self.basis, laying.by_itself(reference, degrees)) for degrees in classes]
        rises = [(item.insulation - reference) / item.table_value**2 for item in found if isinstance(item, Ampacity)]
        return max(rises, default=0.0)


def rise_of(study: Study, branch: Branch) -> float:
    """Return how much a conductor warms up for each ampere squared that it carries for long [K/A2]; 0 where its size is not known."""
    return kept(study, _Rises).of(branch)


@entity
class _Trees:
    """How nodes hang from poles while some gates are open: the pole of each, and the node and branch by which it hangs (none at a pole)."""

    root: dict[str, str]
    came: dict[str, tuple[str, Branch]]


class _Layouts:
    """The trees of a build, by the gates that are open and the batteries that are out; states mostly differ in neither."""

    def __init__(self, study: Study) -> None:
        self.study = study
        self._soft = any(not _leads(branch) for branch in study.circuit.branches)
        self._known: dict[tuple[frozenset[str], frozenset[str]], _Trees] = {}

    def of(self, state: SolvedState) -> _Trees:
        """Return the trees of a state."""
        setup = state.setup
        out = setup.bms_open | setup.failed
        key = (state.open_gates, out)
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = _Trees({}, {})
            for pole in self._poles(out):
                if pole not in found.root:
                    found.root[pole] = pole
                    self._grow(found, (pole,), state.open_gates, _leads)
            # What lies behind a diode or a resistor hangs there too, but one across the poles does not make plus hang on minus.
            if self._soft:
                self._grow(found, tuple(found.root), state.open_gates, lambda branch: True)
            for source in self.study.circuit.sources:
                for pole in (source.plus, source.minus):
                    if pole not in found.root:
                        found.root[pole] = pole
                        self._grow(found, (pole,), state.open_gates, lambda branch: True)
        return found

    def _poles(self, out: frozenset[str]) -> Iterator[str]:
        """Yield the poles from which drop is counted: of batteries, the largest first, then of converters and controllers."""
        batteries = [source for source in self.study.circuit.sources if isinstance(source.part, Battery)]
        usable = [source for source in batteries if source.name not in out]
        for source in sorted(usable, key=lambda source: (-capacity_of(source.part), source.name)):
            yield source.plus
            yield source.minus
        for source in self.study.circuit.sources:
            if source.kind == "converter":
                yield source.plus
                yield source.minus
        for source in self.study.circuit.sources:
            if source.kind == "controller":
                yield f"{source.name}.pv_plus"
                yield f"{source.name}.pv_minus"

    def _grow(self, trees: _Trees, starts: tuple[str, ...], gates: frozenset[str], passes: Callable[[Branch], bool]) -> None:
        at_node, root, came = self.study.circuit.at_node, trees.root, trees.came
        queue = deque(starts)
        while queue:
            node = queue.popleft()
            for branch in at_node.get(node, ()):
                other = branch.end if node == branch.start else branch.start
                if other in root or (branch.gate and branch.gate in gates) or not passes(branch):
                    continue
                root[other] = root[node]
                came[other] = (node, branch)
                queue.append(other)


def _leads(branch: Branch) -> bool:
    """Tell whether a branch leads on as a wire does."""
    return branch.kind not in ("diode", "resistor")


class WarmState:
    """One solved state with its copper warm. Nodes hang in trees from the poles of the bank, of converters and of controllers' inputs."""

    def __init__(self, study: Study, state: SolvedState) -> None:
        self.study = study
        self.state = state
        self._rises = kept(study, _Rises)
        heating = steady_state(study, state)
        self._heating = heating if heating.solved else state
        trees = kept(study, _Layouts).of(state)
        self.root = trees.root
        self._came = trees.came
        self._shift: dict[str, float] = {}  # of the nodes that were asked for, and those on their ways
        self._unknown: dict[str, Branch] = {}

    def _settle(self, node: str) -> float:
        """Return by how much the heat of the copper between its pole and a node moves its voltage [V]; note what is unknown on the way."""
        known, came = self._shift, self._came
        way: list[str] = []
        here = node
        while here not in known and here in came:
            way.append(here)
            here = came[here][0]
        shift = known.setdefault(here, 0.0)
        unknown = self._unknown.get(here)
        for at in reversed(way):
            before, branch = came[at]
            current = self.state.current(branch.name)
            if abs(current) > _LEAST:
                away = current if before == branch.start else -current
                shift -= away * self._extra(branch)
                if unknown is None and branch.assumed and branch.conductor is not None:
                    unknown = branch
            if unknown is not None:
                self._unknown[at] = unknown
            known[at] = shift
        return shift

    def temperatures(self, branch: Branch) -> tuple[float, float]:
        """Return the temperature of the air around a conductor, and that of its copper under load [degC]."""
        air, _ = temperature_of_air(self.study, branch, self.state)
        return air, air + self._rise(branch)

    def _rise(self, branch: Branch) -> float:
        """Return by how much the current of a conductor warms its copper [K]."""
        return self._heating.current(branch.name) ** 2 * self._rises.of(branch)

    def _extra(self, branch: Branch) -> float:
        """Return the resistance [ohm] that the heat of its own current adds to a conductor."""
        if branch.alpha == 0.0 or branch.ohm == 0.0 or branch.conductor is None:
            return 0.0
        rise = self._rise(branch)
        if branch.zone in self.study.summed_zones:  # the circuit may have been solved with cooler copper
            rise = self.temperatures(branch)[1] - self.study.climate.of_branch(branch, self.state.temperatures)
        return branch.ohm * branch.alpha * rise

    def ohm(self, branch: Branch) -> float:
        """Return the resistance [ohm] of a branch with its copper warm."""
        if branch.conductor is None:
            return branch.ohm
        return branch.ohm * (1.0 + branch.alpha * (self.temperatures(branch)[1] - 20.0))

    def voltage(self, node: str) -> float | None:
        """Return the voltage of a node with the copper warm [V], None where nothing feeds it."""
        volt = self.state.voltage(node)
        return volt + self._settle(node) if volt is not None else None

    def across(self, plus: str, minus: str) -> float | None:
        """Return the voltage between two nodes of one island with the copper warm [V]."""
        volt = self.state.across(plus, minus)
        return volt + self._settle(plus) - self._settle(minus) if volt is not None else None

    def way(self, node: str) -> tuple[Branch, ...]:
        """Return the branches from the pole that a node hangs on to the node."""
        found: list[Branch] = []
        while node in self._came:
            node, branch = self._came[node]
            found.append(branch)
        return tuple(reversed(found))

    def unknown_on_way(self, *nodes: str) -> Branch | None:
        """Return a conductor without gauge or length that current passes on the way to one of the nodes, None where all are known."""
        for node in nodes:
            self._settle(node)
            if node in self._unknown:
                return self._unknown[node]
        return None

    def parts(self, *nodes: str, but: tuple[str, ...] = ()) -> list[Part]:
        """Return what current passes on the ways to the nodes, the largest loss first; what lies on the way to `but` is left out."""
        left_out = {branch.name for node in but for branch in self.way(node)}
        ways = {branch.name: branch for node in nodes for branch in self.way(node) if branch.name not in left_out}
        found = []
        for branch in ways.values():
            current = abs(self.state.current(branch.name))
            if current > _LEAST:
                air, loaded = self.temperatures(branch) if branch.conductor is not None else (0.0, 0.0)
                found.append(Part(branch, current, self.ohm(branch), air, loaded))
        return sorted(found, key=lambda part: (-part.volt, part.branch.name))


def _warm_states(study: Study) -> dict[str, WarmState]:
    """Return where the warm states of a study are kept."""
    del study
    return {}


def warm_state(study: Study, state: SolvedState) -> WarmState:
    """Return a solved state with its copper warm, worked out once for each state of the study."""
    known = kept(study, _warm_states)
    found = known.get(state.name)
    if found is None or found.state is not state:
        found = known[state.name] = WarmState(study, state)
    return found
