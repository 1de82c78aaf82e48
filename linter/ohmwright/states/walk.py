"""The states that can be reached from the declared ones, in their order: what `--states reached` adds (DEVELOPERS.md, "Reached states").

First every single departure from each declared state (a switch, a plug, a selector, a fuse, a management system); then what is otherwise about it: mains,
the hottest and the coldest air, how many packs are joined, and with each number of them one that is low or has failed; then every combination of the switches
and plugs on the paths between what feeds and what charges; then double departures. Combinations that a declared mechanical interlock bars are left
out. A state that was met before under another name is not listed twice.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import combinations, product
from typing import TYPE_CHECKING

from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.kinds.switch import Switching
from ohmwright_grammar.records import record, replace

from ohmwright.states.packs import Pack, packs_of
from ohmwright.states.reaching import (
    Departure,
    departures_of,
    exclusive_groups,
    in_words,
    is_barred,
    levers_of,
    on_paths,
    what_feeds,
)
from ohmwright.states.setup import Setup
from ohmwright.states.surroundings import Mains, warmths

if TYPE_CHECKING:
    from ohmwright.circuit.condensing import Frame
    from ohmwright.circuit.graph import Branch
    from ohmwright.study import SolvedState, Study

__all__ = ["MOST_WITH_ONE", "reached_states"]

MOST_WITH_ONE = 1024  # states with another number of packs and one of them low or failed: a quarter of what the bound holds, so that the rest has room
_SLACK = 1e-9


def reached_states(study: Study, most: int) -> tuple[tuple[SolvedState, ...], int]:
    """Return the states that can be reached from the declared ones, at most so many, and how many ways were left unwalked.

    Without declared states the implied ones are the start.
    """
    levers = levers_of(study.build, study.circuit, study.anatomy)
    near = on_paths(study.circuit, what_feeds(study.circuit))
    walk = _Walk(study, most)
    moves = [[departures_of(lever, state.setup) for lever in levers] for state in walk.starts]
    singles = [(start, (departure,)) for start, of_state in enumerate(moves) for found in of_state for departure in found]
    walk.move(singles, len(singles))
    settings = _Settings(study, walk.starts)
    walk.turn(settings, settings.one_by_one(), most)
    walk.turn(settings, settings.with_other_numbers(), min(most, len(walk.found) + MOST_WITH_ONE))
    paths = [k for k, lever in enumerate(levers) if lever.by_hand and any(gate in near for gate in lever.gates)]
    on_path = [[of_state[k] for k in paths if of_state[k]] for of_state in moves]
    walk.move(_combined(on_path), sum(_ways(options, range(2, len(options) + 1)) for options in on_path))
    every = [[options for options in of_state if options] for of_state in moves]
    walk.move(_combined(every, 2), sum(_ways(options, (2,)) for options in every))
    return tuple(walk.found), walk.left_out


@record
class _Setting:
    """A declared state that something other than a lever changes: from which start, as what, in which words.

    `if_it_lasts` tells that it counts only where nothing opens in it by itself.
    """

    start: int
    setup: Setup
    words: str
    if_it_lasts: bool = False


class _Settings:
    """Everything that can be otherwise about a state beside its levers."""

    def __init__(self, study: Study, starts: Sequence[SolvedState]) -> None:
        self.study = study
        self.starts = starts
        self.mains = Mains(study.build, study.anatomy)
        self.packs = packs_of(study.build, study.circuit, study.anatomy)
        self.is_full = False  # no more are kept: only how many there are is asked for
        self.setups = [(start, state.setup) for start, state in enumerate(starts)]
        many = len(self.packs.words) > 1
        self.counts = [list(self.packs.counts(setup)) if many else [] for _, setup in self.setups]

    def one_by_one(self) -> Iterator[_Setting]:
        """Yield them for all starts, one sort after the other: mains, warmth, the number of packs, one of those that are joined low or failed."""
        for start, setup in self.setups:
            for found, words in self.mains.settings(setup):
                yield _Setting(start, found, words)
        for start, setup in self.setups:
            has_sun = any(value > 0.0 for value in setup.sun.values())
            for found, words in warmths(self.study.build, setup, has_sun):
                yield _Setting(start, found, words)
        for start, _ in self.setups:
            for found, words in self.counts[start]:
                yield _Setting(start, found, words)
        for start, setup in self.setups if len(self.packs.words) > 1 else ():
            yield from self._with_one(start, setup, "")

    def with_other_numbers(self) -> Iterator[_Setting]:
        """Yield them with another number of packs joined, and one of these low or failed."""
        for start, _ in self.setups:
            for found, words in self.counts[start]:
                yield from self._with_one(start, found, f"{words}, ")

    def _with_one(self, start: int, setup: Setup, before: str) -> Iterator[_Setting]:
        """Yield a state with one of the packs that are joined in it low, or failed. Relays stand as they do in its start."""
        packs = self.packs
        begun = self.starts[start]
        groups = packs.joined(setup.open_gates | (begun.open_gates - begun.setup.open_gates))
        out = setup.bms_open | setup.failed
        for group in groups:
            units = dict.fromkeys(unit for pack in group if (unit := packs.of_pack.get(pack.members)) is not None)
            for unit in units if len(units) > 1 else ():
                if packs.may_differ(unit, group) and not out & set(unit.members):
                    levels = packs.low(unit, group, setup) if not self.is_full else setup.levels
                    if levels is not None:
                        words = f"{before}{unit.word} low"
                        yield _Setting(start, replace(setup, levels=levels), words, if_it_lasts=packs.rule is None)
        for group in groups:
            for pack in group:
                if not out & set(pack.members):
                    yield from self._failed(start, setup, pack, before)

    def _failed(self, start: int, setup: Setup, pack: Pack, before: str) -> Iterator[_Setting]:
        for name in pack.members:
            word = self.packs.words[name]
            battery = self.study.build.parts[name]
            if isinstance(battery, Battery) and battery.bms is not None:
                tripped = replace(setup, bms_open=setup.bms_open | {name})
                yield _Setting(start, tripped, f"{before}the BMS of {name} open")
                continue
            yield _Setting(start, replace(setup, failed=setup.failed | {name}), f"{before}{word} failed")
            level = self.packs.with_dead_cell(name, setup)
            if level is not None:
                dead = replace(setup, levels={**setup.levels, name: level}, dead_cell=setup.dead_cell | {name})
                yield _Setting(start, dead, f"{before}{word} with a dead cell", if_it_lasts=True)


class _Walk:
    """Walks from the declared states and keeps what is new."""

    def __init__(self, study: Study, most: int) -> None:
        self.study = study
        self.most = most
        lasting = [state for state in study.states if not state.setup.short_at]
        self.starts = [state for state in lasting if state.setup.origin == "declared"] or lasting
        self.groups = exclusive_groups(study.build, study.anatomy)
        self.found: list[SolvedState] = []
        self.left_out = 0
        self.bases: dict[tuple[object, ...], int] = {}
        self.base_of = [self._base(state.setup) for state in self.starts]
        self.met = {_place(self.bases.get(_conditions(state.setup), -1), state.setup) for state in study.states}
        self.frames: dict[int, Frame] = {}
        self._limits: tuple[tuple[str, float, float], ...] | None = None

    def _base(self, setup: Setup) -> int:
        return self.bases.setdefault(_conditions(setup), len(self.bases))

    def move(self, ways: Iterable[tuple[int, tuple[Departure, ...]]], count: int) -> None:
        """Solve the states at the end of some ways (start, departures); `count` is how many ways there are."""
        for place, (start, departures) in enumerate(ways):
            if len(self.found) >= self.most:
                self.left_out += count - place
                return
            self._move(start, departures)

    def _move(self, start: int, departures: tuple[Departure, ...]) -> None:
        before = self.starts[start]
        setup = before.setup
        gates = setup.open_gates
        blown, tripped = setup.blown, setup.bms_open
        for departure in departures:
            gates = (gates | departure.opens) - departure.closes
            if departure.lever.kind == "fuse":
                blown = blown | departure.opens
            elif departure.lever.kind == "bms":
                tripped = tripped | {departure.lever.name}
        place = (self.base_of[start], gates, blown, tripped, setup.failed, setup.dead_cell)
        if place in self.met or is_barred(gates, self.groups):
            return
        self.met.add(place)
        way = in_words(departures)
        reached = replace(
            setup, name=f"{setup.name}, {way}", origin="reached", open_gates=gates, blown=blown, bms_open=tripped, way=way,
            parent=setup.name,
        )  # fmt: skip
        self.found.append(self.study.solve_setup(reached, before))

    def turn(self, settings: _Settings, sort: Iterable[_Setting], most: int) -> None:
        """Solve states in which something beside levers is otherwise, until there are so many."""
        for setting in sort:
            settings.is_full = len(self.found) >= most
            if settings.is_full:
                self.left_out += 1
            else:
                self._turn(setting)

    def _turn(self, setting: _Setting) -> None:
        before = self.starts[setting.start]
        setup = setting.setup
        base = self._base(setup)
        place = _place(base, setup)
        if place in self.met or is_barred(setup.open_gates, self.groups):
            return
        self.met.add(place)
        name = before.setup.name
        reached = replace(setup, name=f"{name}, {setting.words}", origin="reached", way=setting.words, parent=name)
        frame = None if base == self.base_of[setting.start] else self._frame(base, reached)
        state = self.study.solve_setup(reached, before, frame)
        if not setting.if_it_lasts or self._lasts(state):
            self.found.append(state)

    def _frame(self, base: int, setup: Setup) -> Frame:
        """Return the circuit of what is otherwise, made once for all positions of the levers."""
        found = self.frames.get(base)
        if found is None:
            study = self.study
            found = self.frames[base] = study.frame(replace(setup, failed=frozenset()), study.climate.in_state(setup))
        return found

    def _lasts(self, state: SolvedState) -> bool:
        """Tell whether nothing opens by itself in a state, and nothing between the packs is overrun: no rating and no limit is passed."""
        if self._limits is None:
            self._limits = tuple(_limits(self.study))
        return state.solved and all(
            -back * (1 + _SLACK) <= state.current(name) <= forth * (1 + _SLACK) for name, forth, back in self._limits
        )


def _limits(study: Study) -> Iterator[tuple[str, float, float]]:
    """Yield what bears only so much: the branch or battery, and what it lets through one way and the other [A]."""
    for branch in study.circuit.branches:
        rated = _rated(study, branch)
        if rated is not None:
            yield branch.name, rated, rated
    for battery in study.of(Battery):
        bms = battery.bms
        if bms is not None:
            out, back = bms.discharge_current_limit, bms.charge_current_limit
            endless = float("inf")
            yield (
                battery.name,
                float(out.low) if out is not None else endless,
                float(back.low) if back is not None else endless,
            )


def _rated(study: Study, branch: Branch) -> float | None:
    """Return the rated current of a device, switch or contact [A], None where none is declared."""
    if branch.kind == "contact":
        halves = (study.part(node.rpartition(".")[0]) for node in (branch.start, branch.end))
        said = [half.rated_current for half in halves if isinstance(half, Half)]
    else:
        part = study.part(branch.part) if branch.gate else None
        said = [part.rated_current] if isinstance(part, Fuse | Switching) else []
    return min((float(quantity.low) for quantity in said if quantity is not None), default=None)


def _conditions(setup: Setup) -> tuple[object, ...]:
    """Return everything of a state but its switches, plugs and failures."""

    def items(mapping: Mapping[str, object]) -> tuple[tuple[str, object], ...]:
        return tuple(sorted(mapping.items(), key=lambda item: item[0]))

    return (
        items(setup.running), items(setup.inverters), setup.chargers, setup.off, items(setup.sun), items(setup.levels), items(setup.fixed),
        setup.closed_relays, setup.told_relays, setup.short_at, setup.ambient, setup.inside, setup.lasts, setup.returns_after,
        setup.duty, setup.allowed, setup.called_dead, setup.on_mains,
    )  # fmt: skip


def _place(base: int, setup: Setup) -> tuple[object, ...]:
    return base, setup.open_gates, setup.blown, setup.bms_open, setup.failed, setup.dead_cell


def _combined(
    moves: Sequence[Sequence[tuple[Departure, ...]]], most: int | None = None
) -> Iterator[tuple[int, tuple[Departure, ...]]]:
    """Yield every combination of two levers and more (up to `most`), the short ones first, for each state in turn."""
    longest = max((len(options) for options in moves), default=0)
    for size in range(2, min(longest, most or longest) + 1):
        for start, options in enumerate(moves):
            for chosen in combinations(options, size):
                for departures in product(*chosen):
                    yield start, departures


def _ways(options: Sequence[tuple[Departure, ...]], sizes: Iterable[int]) -> int:
    """Return how many combinations there are of so many levers, with one of its departures each."""
    counts = [1]
    for found in options:
        counts = [
            (counts[k] if k < len(counts) else 0) + (counts[k - 1] * len(found) if k else 0) for k in range(len(counts) + 1)
        ]
    return sum(counts[size] for size in sizes if size < len(counts))
