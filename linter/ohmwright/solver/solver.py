"""The solver: networks in, operating points out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING

from ..unions import root_of
from .answer import answer, islands_of
from .case import ALIVE, Case, Plans
from .elements import Charger, Converter, CurrentSource, Network, PowerLoad, SeriesController, Tracker
from .limits import TOLERANCE, wrong_modes
from .modes import CIRCLE, CONFLICT, find_modes, first_modes
from .newton import COLLAPSED, SETTLED
from .operation import Fold, Operation, Port
from .supply import ends, feeding

if TYPE_CHECKING:
    from .follow import Trail
    from .peak import Peaks

__all__ = ["GIVING", "Solver"]

_ROUNDS = 20
_DEVICES = frozenset((Charger, Converter, CurrentSource, SeriesController, Tracker))
_TWO_SIDED = (Converter, SeriesController, Tracker)
GIVING = frozenset(("current", "sun", "voltage"))
"""The modes in which a device gives current: those that are worth guessing."""
_NO_GUESS: Mapping[str, str] = MappingProxyType({})


class Solver:
    """Solves networks and keeps, between calls, the elimination orders of the structures and the peaks of the arrays that it met.

    The answers do not depend on what was solved before. Elements whose values have no physical sense (a negative resistance, a NaN)
    raise ValueError with the element's name.
    """

    __slots__ = ("_peaks", "_plans")

    def __init__(self) -> None:
        self._plans = Plans()
        self._peaks: Peaks | None = None

    def solve(self, network: Network, guess: Mapping[str, str] = _NO_GUESS) -> Operation:
        """The operating point of a network that is continuous with zero load, or the reason why there is none.

        `guess` are modes by element that are tried first, for instance those of a network that differs a little; a wrong guess costs
        time only.
        """
        return self._solve(network, guess)[0]

    def solve_with_variant(
        self, network: Network, variant: Network, guess: Mapping[str, str] = _NO_GUESS
    ) -> tuple[Operation, Operation | None]:
        """The operating point of a network, and that of a variant in which some power loads take fixed currents instead.

        The elements of both stand in the same order between the same nodes. The second is found from the first, without going back to zero load, which
        takes a third of the time; it is None where that does not work out, so that the variant has to be solved by itself.
        """
        operation, case = self._solve(network, guess)
        if case is None or case.coupled:
            return operation, None
        other = case.varied(variant)
        if other.conflicts or other.resume(case.system) != SETTLED or wrong_modes(other):
            return operation, None
        return operation, answer(other)

    def _solve(self, network: Network, guess: Mapping[str, str]) -> tuple[Operation, Case | None]:
        """The operating point, and the case where it settled at the first go."""
        case = self._case(network)
        guessed = _adopt(case, guess) if guess and case.modes else False
        outcome = find_modes(case, True)
        if guessed and outcome not in (SETTLED, CONFLICT):
            case = self._case(network)
            outcome = find_modes(case, True)
        if outcome == SETTLED:
            return self._settled(case), case
        return self._unsettled(network, case, outcome), None

    def _unsettled(self, network: Network, case: Case, outcome: str) -> Operation:
        """What there is to say of a case that did not settle at the first go."""
        if outcome == CONFLICT:
            return self._conflict(case)
        parts = _clusters(network, case)
        if len(parts) > 1:
            return self._apart(case, parts)
        if outcome == COLLAPSED and not case.modes and not case.system.curves:
            return _collapsed(case, None)
        trail = self._follow_all(network, 1.0)
        if trail.found:
            return _collapsed(case, trail)
        if not trail.failed:
            return self._settled(trail.case)
        if outcome == CIRCLE:
            return _failed(case, f"the modes of {', '.join(case.unsettled)} change in a circle")
        return _failed(case, trail.reason)

    def fold(self, network: Network, load: str | None = None, limit: float = 1.0) -> Fold:
        """Follow the consumption of constant power up from zero, and tell where the operating point ends, if it does.

        All of it rises together, to `limit` times its full value: power loads, and what converters take at their inputs. What lies
        behind a converter is followed first, with nothing drawn for it, and then stands at its full value while the inputs are
        followed, so that nothing is counted twice. With `load`, the name of a power load or a converter, only that one is followed
        and all others stand at full. An unknown name raises KeyError.
        """
        from .follow import follow

        if load is None:
            return _told(self._follow_all(network, limit), limit)
        index = next((k for k, e in enumerate(network.elements) if e.name == load), None)
        if index is None or not isinstance(network.elements[index], PowerLoad | Converter):
            raise KeyError(load)
        case = self._case(network)
        case.followed = frozenset((index,))
        case.share = 0.0
        ready = find_modes(case, True) == SETTLED
        if not ready:
            # Do the others alone collapse, or must they be followed up first?
            trail = self._follow_all(network, 1.0, case.followed)
            if trail.found:
                names = tuple([network.elements[k].name for k in trail.elements])
                return Fold(
                    True, 0.0, names, trail.volts, reason="The other loads alone ask for more than the circuit can carry."
                )
            old = trail.case.system
            case.modes = trail.case.modes
            case.idle = trail.case.idle
            case.build()
            ready = not trail.failed and case.resume(old) == SETTLED
        return _told(follow(case, limit, ready), limit)

    def thevenin(self, network: Network, pairs: Iterable[tuple[int, int]]) -> list[Port]:
        """Open voltage [V] and resistance [ohm] between the two nodes of each pair, with batteries and resistors only.

        One factor serves all pairs. Two nodes that no path joins give (0, inf). The current of a bolted short is open_volt / ohm.
        """
        from .thevenin import look_in

        return look_in(network, pairs, self._plans)

    def _case(self, network: Network) -> Case:
        """A case with guessed modes and the peaks of all trackers."""
        case = Case(network, self._plans)
        if any(e.__class__ in _DEVICES for e in network.elements):
            fed = feeding(network)
            for index in sorted(fed.live):
                if isinstance(network.elements[index], Tracker):
                    case.peaks[index], coupled = self._peak_finder().find(network, index, case.loops)
                    if coupled:
                        case.coupled.append(index)
            first_modes(case, fed)
        return case

    def _peak_finder(self) -> Peaks:
        from .peak import Peaks

        if self._peaks is None:
            self._peaks = Peaks(self._plans)
        return self._peaks

    def _follow_all(self, network: Network, limit: float, off: frozenset[int] = frozenset()) -> Trail:
        """Follow all consumption but that in `off`, stage by stage; the trail of the last stage that was begun."""
        from .follow import follow

        stages = self._stages(network)
        while True:
            followed, silent = stages.pop(0)
            case = self._case(network)
            case.followed = followed - off
            case.silent = silent | off
            trail = follow(case, 1.0 if stages else limit)
            if trail.found or trail.failed or not stages:
                return trail

    def _stages(self, network: Network) -> list[tuple[frozenset[int], frozenset[int]]]:
        """What to follow, from behind the last converter to the front, each with the consumers that are still off meanwhile."""
        everything = _consumers(network)
        if not any(isinstance(e, Converter) for e in network.elements):
            return [(everything, frozenset())]
        levels: list[frozenset[int]] = []
        rest = set(everything)
        case = self._case(network)
        running: set[int] = set()
        while rest:
            for index in rest:
                if isinstance(network.elements[index], Converter):
                    case.modes[index] = "dead"
            case.silent = everything
            if find_modes(case, False) != SETTLED:
                break
            level = _awake(case, rest, running)
            if not level:
                break
            levels.append(frozenset(level))
            rest -= level
            running |= {k for k in level if isinstance(network.elements[k], Converter)}
            for index in running:
                case.modes[index] = "voltage"
        if not levels:
            return [(everything, frozenset())]
        stages = []
        for depth in range(len(levels) - 1, -1, -1):
            stages.append((levels[depth], frozenset().union(*levels[:depth])))
        return stages

    def _settled(self, case: Case) -> Operation:
        """The answer of a settled case; the peak of a tracker whose input shares a return with its output settles together with it."""
        network = case.network
        given = dict.fromkeys(case.coupled, 0.0)
        for _ in range(_ROUNDS):
            moved = False
            for index in given:
                element = network.elements[index]
                if case.modes[index] == "sun" and isinstance(element, Tracker):
                    # At its peak a controller has a voltage at its output, or else it were off: no less than the tolerance of modes.
                    u = max(case.system.volt(element.out_plus, element.out_minus), TOLERANCE * case.scale)
                    now = case.peaks[index].watt * element.efficiency / u
                    if abs(now - given[index]) > 1e-12 * now:
                        moved = True
                        given[index] = now
                        case.peaks[index] = self._peak_finder().find(network, index, case.loops, now)[0]
            if not moved:
                return answer(case)
            outcome = find_modes(case, True)
            if outcome == COLLAPSED:
                return _collapsed(case, None)
            if outcome != SETTLED:
                break
        return _failed(case, "the peak of an array and what its controller gives do not settle together")

    def _conflict(self, case: Case) -> Operation:
        """Solve what a conflict leaves untouched."""
        network = case.network
        names = {name for conflict in case.conflicts for name in conflict.elements}
        nodes = {v for e in network.elements if e.name in names for p in ends(e) for v in p}
        lost = _around(network, case, nodes)
        rest = tuple([e for k, e in enumerate(network.elements) if k not in lost])
        sub = self.solve(Network(network.nodes, rest, network.references))
        listed = "; ".join([", ".join(c.elements) for c in case.conflicts])
        text = f"Sources of different voltage, or one and a short circuit, are joined without any resistance: {listed}."
        return Operation(
            False,
            text if sub.solved or not sub.reason else f"{text} {sub.reason}",
            sub.voltages,
            sub.currents,
            sub.powers,
            sub.modes,
            sub.islands,
            sub.dead,
            (*case.conflicts, *sub.conflicts),
            sub.shared,
            sub.collapse,
        )

    def _apart(self, case: Case, parts: list[list[int]]) -> Operation:
        """Solve parts that do not depend on each other one by one, so that one without an operating point leaves the others theirs."""
        network = case.network
        voltages: list[float | None] = [None] * network.nodes
        currents: dict[str, float] = {}
        powers: dict[str, float] = {}
        modes: dict[str, str] = {}
        dead: list[str] = []
        shared: list[tuple[str, ...]] = []
        reasons: list[str] = []
        collapse = False
        for part in parts:
            sub = self.solve(Network(network.nodes, tuple([network.elements[k] for k in part]), network.references))
            voltages = [v if v is not None else w for v, w in zip(voltages, sub.voltages, strict=True)]
            currents.update(sub.currents)
            powers.update(sub.powers)
            modes.update(sub.modes)
            dead += sub.dead
            shared += sub.shared
            collapse = collapse or sub.collapse
            if not sub.solved:
                reasons.append(sub.reason)
        return Operation(
            not reasons,
            " ".join(reasons),
            tuple(voltages),
            currents,
            powers,
            modes,
            islands_of(case.system.plan),
            tuple(dead),
            (),
            tuple(shared),
            collapse,
        )


def _adopt(case: Case, guess: Mapping[str, str]) -> bool:
    """Begin with the modes of a guess where an element gives at all; tells whether any differs from what connection says."""
    changed = False
    for index, mode in case.modes.items():
        element = case.network.elements[index]
        wanted = guess.get(element.name, mode)
        if wanted == mode or wanted not in GIVING or mode not in GIVING:
            continue
        unlimited = isinstance(element, Converter) and element.ampere is None
        if isinstance(element, Tracker | SeriesController) or (wanted != "sun" and not (wanted == "current" and unlimited)):
            case.modes[index] = wanted
            changed = True
    return changed


def _consumers(network: Network) -> frozenset[int]:
    return frozenset([k for k, e in enumerate(network.elements) if isinstance(e, PowerLoad | Converter)])


def _awake(case: Case, rest: set[int], running: set[int]) -> set[int]:
    """The consumers among `rest` that have a voltage now."""
    awake = set()
    for index in rest:
        element = case.network.elements[index]
        if isinstance(element, PowerLoad):
            if index not in case.idle:
                awake.add(index)
        else:
            assert isinstance(element, Converter)
            plan = case.system.plan
            if max(plan.group[element.in_plus], plan.group[element.in_minus]) <= plan.size:
                u = case.system.volt(element.in_plus, element.in_minus)
                if u > ALIVE * case.scale:
                    awake.add(index)
    return awake


def _collapsed(case: Case, trail: Trail | None) -> Operation:
    text = "The loads ask for more than the circuit can carry"
    if trail is not None and not case.coupled:  # else the peak of an array changes on the way
        text += f"; {trail.share:.3g} of them is the most"
    return Operation(
        False,
        text + ".",
        (None,) * case.network.nodes,
        islands=islands_of(case.system.plan),
        collapse=True,
    )


def _failed(case: Case, reason: str) -> Operation:
    return Operation(
        False,
        f"The solver found no operating point: {reason}.",
        (None,) * case.network.nodes,
        islands=islands_of(case.system.plan),
    )


def _told(trail: Trail, limit: float) -> Fold:
    names = tuple([trail.case.network.elements[k].name for k in trail.elements])
    if trail.failed:
        return Fold(False, trail.share, failed=True, reason=f"The load could not be followed: {trail.reason}.")
    if trail.found:
        return Fold(True, trail.share, names, trail.volts)
    return Fold(False, limit)


def _around(network: Network, case: Case, nodes: set[int]) -> set[int]:
    """The elements of the islands that these nodes lie in, and of those that depend on them through two-sided elements."""
    found: set[int] = set()
    for part in _clusters(network, case):
        if any(v in nodes for k in part for p in ends(network.elements[k]) for v in p):
            found.update(part)
    return found


def _clusters(network: Network, case: Case) -> list[list[int]]:
    """Elements that depend on each other, by index: islands joined through two-sided elements."""
    home: dict[int, int] = {}
    for k, (nodes, _) in enumerate(case.system.plan.islands):
        for v in nodes:
            home[v] = k
    root = list(range(len(case.system.plan.islands)))

    for element in network.elements:
        sides = ends(element)
        first = root_of(root, home[sides[0][0]])
        for pair in sides:
            for v in pair:
                root[root_of(root, home[v])] = first = root_of(root, first)
    parts: dict[int, list[int]] = {}
    for k, element in enumerate(network.elements):
        parts.setdefault(root_of(root, home[ends(element)[0][0]]), []).append(k)
    return list(parts.values())
