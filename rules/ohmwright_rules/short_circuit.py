"""A source whose plus and minus are joined by wires, contacts, closed switches or fuses alone."""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Iterator
from dataclasses import field
from typing import TYPE_CHECKING

from ohmwright.circuit.graph import Branch, Source
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity, StateMeasure
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule
from ohmwright.study import SolvedState, Study
from ohmwright.values import Amount, shown
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.records import draft

from ohmwright_rules.banks import loops
from ohmwright_rules.nets import Layout, joins, layout_of
from ohmwright_rules.verdicts import failures_in
from ohmwright_rules.wording import listed

if TYPE_CHECKING:
    from ohmwright_rules.positions import Position

RULE = Rule(
    id="short-circuit",
    title="Source joined plus to minus",
    family="wiring",
    subject="source",
    covers=(),
    grades=(Grade("shorted", Severity.ERROR, "wires and closed contacts alone join the plus of a source to its minus"),),
    references=(Reference("Kirchhoff's laws on the circuit as declared", "", "", "computed"),),
)
_GRADE = "shorted"
_SHOWN = 8  # branches of a way that are named


@draft
class _Short:
    """Sources that one way short-circuits, each with its poles, and where that is so."""

    sources: tuple[Source, ...]  # in the order in which the way goes through them
    positions: list[Position] = field(default_factory=list)
    through: tuple[Branch, ...] = ()  # the way, where it leads through a diode

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(source.name for source in self.sources)


def check(study: Study) -> Iterator[Outcome]:
    """Look for a way from the plus of every source to its minus, or round a string of batteries, that nothing uses power on."""
    sources = sorted({source.name: source for source in study.circuit.sources}.values(), key=lambda source: source.name)
    if not sources:
        yield DoesNotApply("no source")
        return
    shorts = _shorts(study, sources)
    shorts += _through_diodes(study, sources, {name for short in shorts for name in short.names})
    hit = {name for short in shorts for name in short.names}
    unknown = _unknown(study)
    for source in sources:
        resistor = unknown.get(source.name)
        if source.name in hit:
            continue
        if resistor is not None:
            yield NotChecked(_GRADE, (source.name, resistor), "resistance", study.span(resistor), declare="10 ohm")
        else:
            yield Passed(_GRADE, (source.name,))
    for short in shorts:
        yield _finding(study, short)


def _unknown(study: Study) -> dict[str, str]:
    """Return sources that the solver found short-circuited through a resistor that does not say its resistance, with that resistor."""
    found: dict[str, str] = {}
    names = {source.name for source in study.circuit.sources}
    for _, conflict in study.conflicts():
        branches = [branch for name in conflict.elements if (branch := study.circuit.by_name.get(name)) is not None]
        silent = [branch.name for branch in branches if branch.kind == "resistor" and branch.assumed]
        for name in names.intersection(conflict.elements) if silent else ():
            found.setdefault(name, silent[0])
    return found


def _shorts(study: Study, sources: list[Source]) -> list[_Short]:
    from ohmwright_rules.positions import positions

    if not _rings(study, layout_of(study), sources, frozenset()):
        return []
    found: dict[tuple[str, ...], _Short] = {}
    for position in positions(study):
        study.options.budget.check()
        for ring in _rings(study, layout_of(study, position.open_gates), sources, position.without):
            key = tuple(sorted(source.name for source in ring))
            found.setdefault(key, _Short(ring)).positions.append(position)
    return _one_for_each_way(study, list(found.values()))


def _through_diodes(study: Study, sources: list[Source], hit: set[str]) -> list[_Short]:
    """Return the batteries, of strings with those below them, that a diode shorts which lets their current pass."""
    from ohmwright_rules.positions import positions

    if not any(branch.kind == "diode" for branch in study.circuit.branches):
        return []
    batteries = [source for source in sources if isinstance(source.part, Battery) and source.name not in hit]
    found: dict[str, _Short] = {}
    for position in positions(study):
        study.options.budget.check()
        layout = layout_of(study, position.open_gates)
        upon = {layout.net(source.plus): source for source in batteries}
        for source in batteries:
            chain = [source]
            while (below := upon.get(layout.net(chain[-1].minus))) is not None and below not in chain:
                chain.append(below)
            ends = {battery.minus: number for number, battery in enumerate(chain, start=1)}
            way = _forward(study, source.plus, ends, position)
            if way is not None:
                last = next(ends[node] for node in (way[-1].end, way[-1].start) if node in ends)
                short = found.setdefault(source.name, _Short(tuple(chain[:last]), through=way))
                short.positions.append(position)
    return _first_of_each_diode(list(found.values()))


def _first_of_each_diode(shorts: list[_Short]) -> list[_Short]:
    """Leave out batteries that the same diodes short as well, side by side with one that is told."""
    told: set[tuple[str, ...]] = set()
    kept = []
    for short in shorts:
        diodes = tuple(branch.name for branch in short.through if branch.kind == "diode")
        if diodes not in told:
            told.add(diodes)
            kept.append(short)
    return kept


def _forward(study: Study, start: str, ends: Collection[str], position: Position) -> tuple[Branch, ...] | None:
    """Return a way with the fewest branches from a node to one of several, through diodes in their own direction; None where there is none."""
    came: dict[str, tuple[str, Branch] | None] = {start: None}
    queue = deque([start])
    while queue:
        node = queue.popleft()
        for branch in study.circuit.at_node.get(node, ()):
            other = branch.other(node)
            if other in came or (branch.gate and branch.gate in position.open_gates):
                continue
            if not joins(branch) and not (branch.kind == "diode" and branch.start == node):
                continue
            came[other] = (node, branch)
            if other in ends:
                way: list[Branch] = []
                while (step := came[other]) is not None:
                    other, branch = step
                    way.append(branch)
                return tuple(reversed(way))
            queue.append(other)
    return None


def _rings(study: Study, layout: Layout, sources: list[Source], without: frozenset[str]) -> list[tuple[Source, ...]]:
    """Return the sources that are short-circuited in a layout: alone, or as batteries of one string."""
    by_name = {source.name: source for source in sources if isinstance(source.part, Battery)}
    found: list[tuple[Source, ...]] = [
        (source,) for source in sources if source.name not in by_name and layout.joined(source.plus, source.minus)
    ]
    for loop in loops(study, layout, without):
        if loop.is_ring:
            ring = [by_name[battery.name] for battery, _ in loop.members]
            first = ring.index(min(ring, key=lambda source: source.name))
            found.append((*ring[first:], *ring[:first]))
    return found


def _one_for_each_way(study: Study, shorts: list[_Short]) -> list[_Short]:
    """Take together what one way short-circuits in the same position: batteries that stand in parallel."""
    kept: list[_Short] = []
    nets: dict[tuple[int, str], _Short] = {}
    for short in sorted(shorts, key=lambda short: (len(short.sources), not _is_battery(short.sources[0]), short.names)):
        first = short.positions[0]
        if len(short.sources) == 1:
            key = (layout_of(study, first.open_gates).net(short.sources[0].plus), first.name)
            before = nets.get(key)
            if before is not None:
                before.sources = (*before.sources, *short.sources)
                continue
            nets[key] = short
        kept.append(short)
    return kept


def _is_battery(source: Source) -> bool:
    return isinstance(source.part, Battery)


def _way(study: Study, short: _Short, position: Position) -> tuple[Branch, ...]:
    """Return the branches that join the poles, with the fewest from each source to the next."""
    ring = short.sources if _in_series(study, short, position) else short.sources[:1]
    found: list[Branch] = []
    for source, after in zip(ring, (*ring[1:], ring[0]), strict=True):
        found += study.circuit.path(source.plus, (after.minus,), joins, position.open_gates) or ()
    return tuple(dict.fromkeys(found))


def _in_series(study: Study, short: _Short, position: Position) -> bool:
    layout = layout_of(study, position.open_gates)
    return len(short.sources) > 1 and not layout.joined(short.sources[0].plus, short.sources[0].minus)


def _finding(study: Study, short: _Short) -> Finding:
    states = [state for position in short.positions for state in position.states]
    fewest = min(failures_in(study, state.name) for state in states)
    usual = [state for state in states if failures_in(study, state.name) == fewest]
    chief = short.sources[0]
    worst = max(usual, key=lambda state: (state.solved, abs(state.current(chief.name))))
    position = next(position for position in short.positions if worst in position.states)
    way = short.through or _way(study, short, position)
    culprit = next((branch for branch in way if branch.kind == "diode"), None)
    if not short.through and not _in_series(study, short, position):
        culprit = _culprit(study, chief, way, position)
    names = list(dict.fromkeys(_thing(branch) for branch in way if branch.kind != "joint"))
    things = ", ".join(names[:_SHOWN]) + (f" and {len(names) - _SHOWN} more" if len(names) > _SHOWN else "")
    who = listed(short.names)
    seen = [branch for branch in way if branch.kind != "joint"][:_SHOWN]
    if not names:
        text = f"{who}: plus and minus are one node in state {worst.name!r}"
    elif not short.through and _in_series(study, short, position):
        text = f"{who}: {things} close a ring through them in state {worst.name!r}, with nothing in it that uses power"
    else:
        text = f"{who}: {things} join plus to minus in state {worst.name!r}, with nothing between that uses power"
    current = abs(worst.current(chief.name))
    steps: tuple[Step, ...] = ()
    if worst.solved and current > 0:
        text += f"; {shown(Amount(current, 'current'))} flows out of {chief.name}"
        steps = (Step("I", f"state {worst.name!r}, out of {chief.name}", current, "A", "solved circuit"),)
    elif not worst.solved:
        text += "; nothing that is declared limits the current"
    return Finding(
        _GRADE,
        (*short.names, *names),
        f"{text}.",
        (culprit or chief.part).span,
        state=worst.name,
        states=_measures(states, chief),
        working=steps,
        remedy=_remedy(culprit),
        related=tuple(Related(f"{_thing(branch)} is in the way", branch.span) for branch in seen if branch is not culprit),
        at_most=Severity.NOTE if fewest > 1 else None,
    )


def _thing(branch: Branch) -> str:
    """Return what a branch is called in the text: a conductor by its own name, anything else by that of its part."""
    return branch.name if branch.conductor is not None else branch.part or branch.name


def _measures(states: list[SolvedState], chief: Source) -> tuple[StateMeasure, ...]:
    return tuple(StateMeasure(state.name, Amount(abs(state.current(chief.name)), "current"), None, None) for state in states)


def _remedy(culprit: Branch | None) -> str:
    if culprit is None:
        return "Open the way: only what uses power may lie between plus and minus."
    if culprit.kind == "diode":
        return f"Turn {culprit.part} round: its cathode belongs on the plus side; or take it away."
    if culprit.conductor is not None:
        return f"Take {culprit.name} away, or end it where it belongs: only what uses power may lie between plus and minus."
    return f"Keep {_thing(culprit)} from joining plus to minus: only what uses power may lie between them."


def _culprit(study: Study, source: Source, way: tuple[Branch, ...], position: Position) -> Branch | None:
    """Return the branch whose opening leaves the most poles of other parts on their own side; None where several are equal or nothing tells."""
    if len(way) == 1:
        return way[0]
    taken = {branch.name for branch in way}
    nodes = [source.plus]
    for branch in way:
        nodes.append(branch.other(nodes[-1]))
    home: dict[str, int] = {}
    for place, node in enumerate(nodes):
        if node not in home:
            for other in study.circuit.reach(node, lambda branch: branch.name not in taken, position.open_gates):
                home[other] = place
    if len({home[node] for node in nodes}) < len(nodes):
        return None  # more than one way joins them
    right = [0] * len(nodes)  # poles that count if their place is on the plus side, less those that count on the minus side
    for pole, worth in _poles(study, source):
        if pole in home:
            right[home[pole]] += worth
    best: list[int] = []
    score = most = 0
    for place in range(len(way)):
        score += right[place]
        if not best or score > most:
            best, most = [place], score
        elif score == most:
            best.append(place)
    wires = [way[place] for place in best if way[place].conductor is not None]
    return wires[0] if len(wires) == 1 and most > 0 else None


def _poles(study: Study, source: Source) -> Iterator[tuple[str, int]]:
    for consumer in study.circuit.consumers:
        yield consumer.plus, 1
        yield consumer.minus, -1
    for other in study.circuit.sources:
        if other.name != source.name:
            yield other.plus, 1
            yield other.minus, -1
