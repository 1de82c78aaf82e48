"""A breaker that breaks current of one direction only, wired backwards or where current can come from both sides."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch, Source
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.protection.poles import Poles
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount, shown
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.fuse import Breaker, Fuse
from ohmwright_grammar.records import record

from ohmwright_rules.array_leads import array_leads
from ohmwright_rules.guarding import silent_controllers
from ohmwright_rules.kept import kept
from ohmwright_rules.live_sides import live_sides
from ohmwright_rules.source_sides import source_sides
from ohmwright_rules.wording import listed

RULE = Rule(
    id="one-way-breaker",
    title="Polarised breaker backwards or in a two-way path",
    family="protection",
    subject="breaker",
    covers=("A11",),
    grades=(
        Grade("two-way", Severity.ERROR, "current can come to it from both sides, and it breaks one direction only"),
        Grade("backwards", Severity.ERROR, "current comes in at the terminal that is not its line"),
    ),
    references=(Reference("IEC 60947-2", "as a maker's article cites it", "marking of polarised breakers", "secondary"),),
)
_TWO_WAY, _BACKWARDS = "two-way", "backwards"
_NEVER_POLARISED = "a fuse, or a breaker that is not polarised"


@record
class _Way:
    """One pole of a device, and the sources that push current through it from its start, and from its end, a short on the other side included."""

    branch: Branch
    from_start: tuple[str, ...]
    from_end: tuple[str, ...]

    @property
    def both(self) -> bool:
        return bool(self.from_start and self.from_end)


def check(study: Study) -> Iterator[Outcome]:
    """Look from which sides current can come to each breaker that is polarised or does not say whether it is."""
    poles: dict[str, list[Branch]] = {}
    for branch in study.circuit.branches:
        if branch.device:
            poles.setdefault(branch.part, []).append(branch)
    others = dead = 0
    for name in sorted(poles):
        part = study.part(name)
        assert isinstance(part, Fuse)
        silent = part.polarised is None and not part.says_none(Fuse.polarised) and isinstance(part, Breaker)
        if not part.polarised and not silent:
            others += 1
            continue
        if silent and all(_only_at_line(study, part, pole) for pole in poles[name]):
            yield Passed(_TWO_WAY, (name,))
            yield Passed(_BACKWARDS, (name,))
            continue
        ways = [way for way in (_way(study, pole) for pole in poles[name]) if way.from_start or way.from_end]
        if ways:
            yield from _judge(study, part, ways)
        else:
            dead += 1
    if others:
        yield DoesNotApply(_NEVER_POLARISED, others)
    if dead:
        yield DoesNotApply("no source can push current through it", dead)


def _judge(study: Study, part: Fuse, ways: list[_Way]) -> Iterator[Outcome]:
    subject = (part.name,)
    wrong = next((way for way in ways if not way.both and _is_backwards(part, way)), None)
    both = next((way for way in ways if way.both), None)
    if part.polarised is None and (both is not None or wrong is not None):
        grade = _TWO_WAY if both is not None else _BACKWARDS
        yield Missing("whether it is polarised", part.span, "not polarised").outcome(grade, subject)
        return
    if both is not None:
        yield _two_way(study, part, both)
        return
    silent = _silent(study, ways)
    if silent is not None and part.polarised:
        yield silent.outcome(_TWO_WAY, subject)
    else:
        yield Passed(_TWO_WAY, subject)
    if wrong is not None:
        yield _backwards(study, part, wrong)
    else:
        yield Passed(_BACKWARDS, subject)


def _is_backwards(part: Fuse, way: _Way) -> bool:
    """Tell whether current comes in at the terminal that is not marked as line. Of a pole that nobody marked only `line` itself tells."""
    line = part.line_terminal or "line"
    names = [node.rpartition(".")[2] for node in (way.branch.start, way.branch.end)]
    if line not in names:
        return False
    return not (way.from_start if names[0] == line else way.from_end)


# which sides current comes from ------------------------------------------------------------------------------------


def _only_at_line(study: Study, part: Fuse, pole: Branch) -> bool:
    """Tell at once that current can come in at the line terminal only, which holds of every breaker before a load."""
    line = part.line_terminal or "line"
    at_start = pole.start.rpartition(".")[2] == line
    if not at_start and pole.end.rpartition(".")[2] != line:
        return False
    found = False
    for sides in source_sides(study):
        edge = sides.ways.edge_of.get(pole.name)
        if edge is None or sides.ways.a[edge] == sides.ways.b[edge]:
            continue
        start, end = sides.possible(edge)
        if end if at_start else start:
            return False
        found = found or (start if at_start else end)
    return found


def _way(study: Study, pole: Branch) -> _Way:
    ends: tuple[set[str], set[str]] = (set(), set())
    for sides, side in zip(source_sides(study), live_sides(study), strict=True):
        ways = side.ways
        edge = ways.edge_of.get(pole.name)
        if edge is None or ways.a[edge] == ways.b[edge]:
            continue
        for start, possible, found in zip((True, False), sides.possible(edge), ends, strict=True):
            here, there = (ways.a[edge], ways.b[edge]) if start else (ways.b[edge], ways.a[edge])
            if possible:
                found.update(_pushing(study, side, edge, here, there))
    return _Way(pole, tuple(sorted(ends[0])), tuple(sorted(ends[1])))


def _pushing(study: Study, side: Poles, edge: int, here: int, there: int) -> Iterator[str]:
    """Yield the sources that push current through an edge from one end to the other, by what their poles are joined with when it is taken away.

    A source whose plus comes to the near end pushes it out into a short beyond the edge. One whose minus the far end comes to draws it back, where something
    hangs between what its plus comes to and the near end: without that no short joins them.
    """
    ways = side.ways
    cluster = ways.cluster
    sources = study.circuit.sources

    def blocked(other: int) -> bool:
        return other == edge

    into = ways.reach([here], blocked, backwards=True)  # from where current can come to the near end
    beyond = ways.reach([there], blocked)  # where it can go on to from the far end
    near = into
    for source in sources:
        if into[cluster[source.plus]]:
            yield source.name
        elif beyond[cluster[source.minus]]:
            hung = ways.reach([cluster[source.plus]], blocked)
            if any(hung[plus] and near[minus] for plus, minus in _ports(study, cluster)):
                yield source.name


def _ports(study: Study, cluster: dict[str, int]) -> Iterator[tuple[int, int]]:
    """Yield the clusters of the two poles of everything that has a plus and a minus."""
    for plus, minus in kept(study, _port_nodes):
        if plus in cluster and minus in cluster:
            yield cluster[plus], cluster[minus]


def _port_nodes(study: Study) -> tuple[tuple[str, str], ...]:
    found: list[tuple[str, str]] = []
    things: tuple[Source, ...] = study.circuit.sources
    found.extend((source.plus, source.minus) for source in things)
    found.extend((consumer.plus, consumer.minus) for consumer in study.circuit.consumers)
    found.extend((f"{part.name}.pv_plus", f"{part.name}.pv_minus") for part in study.of(Controller))
    return tuple(dict.fromkeys(found))


def _silent(study: Study, ways: list[_Way]) -> Missing | None:
    """Return what is missing where a breaker in an array's lead has a controller behind it that does not say whether it lets current back."""
    silent = silent_controllers(study)
    if not silent:
        return None
    leads = array_leads(study)
    for way in ways:
        lead = leads.get(way.branch.name)
        for part in silent if lead is not None else ():
            near = study.circuit.reach(f"{part.name}.pv_plus")
            if way.branch.start in near:
                what = f"whether {part.name} lets current back into the array"
                return Missing(what, part.span, "no current back into the array")
    return None


# findings ----------------------------------------------------------------------------------------------------------


def _two_way(study: Study, part: Fuse, way: _Way) -> Finding:
    one, two = listed(way.from_start), listed(way.from_end)
    ends = [node.rpartition(".")[2] for node in (way.branch.start, way.branch.end)]
    steps, told = _solved(study, way)
    return Finding(
        _TWO_WAY,
        (part.name,),
        f"{part.name}: this polarised {part.KIND} breaks current of one direction only, and current can come from both sides: from {one} at {ends[0]}, "
        f"from {two} at {ends[1]}.{told} A short on the wrong side leaves its arc burning.",
        part.place_of(Fuse.polarised),
        working=steps,
        remedy=f"Use a {part.KIND} that is not polarised, or a fuse; turning it round does not help.",
        related=_related(study, (*way.from_start[:4], *way.from_end[:4])),
    )


def _backwards(study: Study, part: Fuse, way: _Way) -> Finding:
    names = way.from_start or way.from_end
    node = way.branch.start if way.from_start else way.branch.end
    line = part.line_terminal or "line"
    steps, _ = _solved(study, way)
    return Finding(
        _BACKWARDS,
        (part.name,),
        f"{part.name}: this polarised {part.KIND} is wired backwards: current from {listed(names)} comes in at {node.rpartition('.')[2]}, its line is {line}. "
        "Opened under load its arc is driven the wrong way and goes on burning.",
        part.place_of(Fuse.polarised),
        working=steps,
        remedy=f"Swap its two leads, so that current comes in at {line}.",
        related=_related(study, names[:8]),
    )


def _solved(study: Study, way: _Way) -> tuple[tuple[Step, ...], str]:
    """Return the largest solved currents of both directions as steps, and in words where both were solved."""
    best: dict[bool, tuple[float, str]] = {}
    for state in study.states:
        current = state.current(way.branch.name) if state.solved else 0.0
        if abs(current) > best.get(current > 0, (1e-6, ""))[0]:
            best[current > 0] = abs(current), state.name
    terminals = [node.rpartition(".")[2] for node in (way.branch.start, way.branch.end)]
    steps = []
    for forward in (True, False):
        if forward in best:
            start, end = terminals if forward else terminals[::-1]
            steps.append(Step("I", f"from {start} to {end}, {best[forward][1]}", best[forward][0], "A", "solved"))
    told = ""
    if len(best) == 2:
        one, two = (shown(Amount(best[forward][0], "current")) for forward in (True, False))
        told = f" {one} flow one way in {best[True][1]}, {two} the other way in {best[False][1]}."
    return tuple(steps), told


def _related(study: Study, names: tuple[str, ...]) -> tuple[Related, ...]:
    return tuple(Related(f"{name} pushes current through it", study.span(name)) for name in dict.fromkeys(names))
