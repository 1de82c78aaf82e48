"""A load that nothing can ever feed, or a source that nothing leads back to."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.solver.blocks import blocks
from ohmwright.study import Study
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.kinds.load import AcLoad
from ohmwright_grammar.records import record

from ohmwright_rules.mains_ways import MainsWays

RULE = Rule(
    id="floating-island",
    title="Nothing closes its circuit",
    family="wiring",
    subject="part",
    covers=(),
    grades=(
        Grade(
            "unfed",
            Severity.WARNING,
            "no source lies in a loop with a load, an input or an array's side, whatever is closed",
            absence="circuit",
        ),
        Grade("no-return", Severity.WARNING, "a source lies in no loop with anything, whatever is closed", absence="circuit"),
    ),
    references=(Reference("Kirchhoff's laws on the circuit as declared", "", "", "computed"),),
)


@record
class _Edge:
    """What a part puts between two nodes: `pushes` where it is a source; "" as part for a connector half without a mate here."""

    part: str
    plus: str
    minus: str
    pushes: bool = False
    side: str = ""


def check(study: Study) -> Iterator[Outcome]:
    """Look for loops with everything closed: a load works, and a source gives, only in one."""
    edges = _edges(study)
    inside = _Loops(study, edges)
    outside = _Loops(study, [*edges, *_open_halves(study)])
    found: dict[tuple[str, str], Finding] = {}
    closed: set[tuple[str, str]] = set()
    handed: set[tuple[str, str]] = set()
    for edge in edges:
        key = (edge.part, "no-return" if edge.pushes else "unfed")
        if inside.closes(edge):
            closed.add(key)
        elif outside.leads_out(edge):
            handed.add(key)
        else:
            found.setdefault(key, _finding(study, edge, key[1]))
    for key in sorted({*found, *closed} - (handed - set(found))):
        yield found.get(key) or Passed(key[1], (key[0],))
    if handed - set(found):
        yield DoesNotApply("goes on outside, through a connector that has no mate here", len(handed - set(found)))
    yield from _mains(study)


def _edges(study: Study) -> list[_Edge]:
    known = study.networker.number
    found: list[_Edge] = []
    giving = {source.part.name for source in study.circuit.sources}
    for source in study.circuit.sources:
        part = source.part
        if isinstance(part, Controller):
            pv = (f"{part.name}.pv_plus", f"{part.name}.pv_minus")
            if pv[0] in known and pv[1] in known:
                found.append(_Edge(part.name, *pv, side="PV side"))
        found.append(_Edge(part.name, source.plus, source.minus, True, "output" if source.kind == "converter" else ""))
    for consumer in study.circuit.consumers:
        side = {"converter": "input", "coil": "coil"}.get(consumer.kind, "")
        if consumer.kind != "drain" or consumer.part.name not in giving:
            found.append(_Edge(consumer.part.name, consumer.plus, consumer.minus, side=side))
    return list(dict.fromkeys(found))


def _open_halves(study: Study) -> Iterator[_Edge]:
    """Yield what may close a circuit outside of the build: the pins of every half that has no mate here, each with the first."""
    for half in study.build.halves():
        pins = study.circuit.nodes_of(half.name)
        if len(pins) > 1 and half.name not in study.anatomy.matings_of:
            for pin in pins[1:]:
                yield _Edge("", pins[0], pin)


class _Loops:
    """Which edges lie in one loop, with everything closed."""

    def __init__(self, study: Study, edges: list[_Edge]) -> None:
        number = {node: index for index, node in enumerate(study.circuit.nodes)}
        branches = study.circuit.branches
        ends = [(number[branch.start], number[branch.end]) for branch in branches]
        ends += [(number[edge.plus], number[edge.minus]) for edge in edges]
        of = blocks(len(number), ends)[len(branches) :]
        self.block = dict(zip(edges, of, strict=True))
        self.members: dict[int, list[_Edge]] = {}
        for edge, block in self.block.items():
            self.members.setdefault(block, []).append(edge)

    def _others(self, edge: _Edge) -> list[_Edge]:
        return [other for other in self.members[self.block[edge]] if other.part != edge.part]

    def closes(self, edge: _Edge) -> bool:
        """Tell whether a source feeds an edge, or anything closes the circuit of a source."""
        others = self._others(edge)
        return bool(others) if edge.pushes else any(other.pushes for other in others)

    def leads_out(self, edge: _Edge) -> bool:
        """Tell whether the pins of a half without a mate lie in the loop."""
        return any(not other.part for other in self._others(edge))


def _finding(study: Study, edge: _Edge, grade: str) -> Finding:
    side = f" of its {edge.side}" if edge.side else ""
    poles = {pole for source in study.circuit.sources if source.part.name != edge.part for pole in (source.plus, source.minus)}
    upper = study.circuit.reach(edge.plus)
    lower = study.circuit.reach(edge.minus)
    if edge.plus in lower:
        text = f"the plus and the minus{side} lie on one node of the circuit, with nothing between"
        remedy = "Join one of them to the other side."
    elif edge.pushes:
        text = f"whatever is closed, nothing leads from the plus{side} back to its minus"
        remedy = "Close its circuit through what it is to feed."
    elif upper.isdisjoint(poles) and lower.isdisjoint(poles):
        text = f"no source reaches the plus or the minus{side}, whatever is closed"
        remedy = "Join both to a source."
    elif lower.isdisjoint(poles):
        text = f"nothing leads back from the minus{side} to a source, whatever is closed"
        remedy = f"Lead {edge.minus} back to the minus of the source."
    elif upper.isdisjoint(poles):
        text = f"no source reaches the plus{side}, whatever is closed"
        remedy = f"Bring the plus of the source to {edge.plus}."
    else:
        text = f"the plus and the minus{side} hang on two sources that have nothing in common"
        remedy = "Join both to the same source."
    return Finding(grade, (edge.part,), f"{edge.part}: {text}.", study.span(edge.part), remedy=remedy)


# mains -------------------------------------------------------------------------------------------------------------


def _mains(study: Study) -> Iterator[Outcome]:
    """Hold AC loads to the same: an inverter's output, or a connector that has no mate here, must reach L and N."""
    loads = sorted(study.of(AcLoad), key=lambda load: load.name)
    if not loads:
        return
    ways = MainsWays(study)
    inverters = [inverter.name for inverter in study.of(Inverter)]
    for load in loads:
        dead = [
            pole for pole in ("L", "N") if not ways.reaches(f"{load.name}.{pole}", {f"{name}.{pole}" for name in inverters})
        ]
        if dead:
            text = f"{load.name}: no inverter and no inlet reaches {' or '.join(dead)}, whatever is closed."
            yield Finding("unfed", (load.name,), text, load.span, remedy=f"Join {' and '.join(dead)} to an outlet.")
        else:
            yield Passed("unfed", (load.name,))
