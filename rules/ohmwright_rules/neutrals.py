"""Where a neutral is bonded to earth: which conductors of the mains side join a neutral with an earth, a case or a DC net.

Nothing in a build says of a wire that it is a bond. Terminals say what they are: those of parts by their names, those of connectors by the pole of their pins. Every
other node is on the side of the nearest of them; a conductor between the two sides is a bond.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator

from ohmwright.missing import Missing
from ohmwright.study import Study
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright_rules.kept import kept

__all__ = ["Bond", "bonds_at", "unsaid_bond"]


@record
class Bond:
    """A conductor, joint or mating that bonds a neutral, the node of its neutral side, and where it stands."""

    name: str
    node: str
    span: Span


def unsaid_bond(part: Inverter) -> Missing:
    """Return that an inverter does not say whether it bonds its neutral."""
    return Missing("whether its neutral is bonded to earth inside", part.span, "neutral never bonded")


class _Sides:
    """Which side each node of the mains side is on, and what bonds the sides."""

    def __init__(self, study: Study) -> None:
        self.near: dict[str, list[str]] = {}
        joints = list(_joints(study))
        for _, one, two, _ in joints:
            self._join(one, two)
        for branch in study.circuit.ac_branches:
            if branch.conductor is None and branch.part:
                self._join(branch.start, branch.end)
        self.neutral = self._divided(study)
        self.bonds = tuple(
            Bond(name, one if one in self.neutral else two, span)
            for name, one, two, span in sorted(joints, key=lambda item: item[0])
            if (one in self.neutral) != (two in self.neutral)
        )

    def _join(self, one: str, two: str) -> None:
        self.near.setdefault(one, []).append(two)
        self.near.setdefault(two, []).append(one)

    def _divided(self, study: Study) -> frozenset[str]:
        """Return the nodes that are nearer to a live or neutral terminal than to an earth, a case or a DC pole."""
        side: dict[str, bool] = {}
        for node in sorted(self.near):
            said = _said(study, node)
            if said is not None:
                side[node] = said
        queue = deque(
            sorted(side, key=lambda node: not side[node])
        )  # what lies half-way is neutral: its bond is the farther conductor
        while queue:
            node = queue.popleft()
            for other in self.near.get(node, ()):
                if other not in side:
                    side[other] = side[node]
                    queue.append(other)
        return frozenset(node for node, is_neutral in side.items() if is_neutral)

    def joined_with(self, node: str) -> set[str]:
        """Return the nodes of the neutral side that a node is joined with."""
        queue = [node]
        seen = {node}
        while queue:
            for other in self.near.get(queue.pop(), ()):
                if other in self.neutral and other not in seen:
                    seen.add(other)
                    queue.append(other)
        return seen


def bonds_at(study: Study, neutral: str) -> tuple[Bond, ...]:
    """Return what bonds a neutral to earth, in name order."""
    sides = kept(study, _Sides)
    near = sides.joined_with(neutral)
    return tuple(bond for bond in sides.bonds if bond.node in near)


def _joints(study: Study) -> Iterator[tuple[str, str, str, Span]]:
    """Yield everything that joins two nodes by itself: its name, the nodes, and where it stands."""
    for run in study.build.runs:
        yield run.name, run.start, run.end, run.conductor.span
    for joint in study.build.joints:
        yield joint.first, joint.first, joint.second, joint.span
    for mating in study.build.matings:
        for here, there in mating.pins:
            yield mating.name, f"{mating.first}.{here}", f"{mating.second}.{there}", mating.span


def _said(study: Study, node: str) -> bool | None:
    """Tell whether a node says that it is live or neutral (True), or earth, a case or a DC pole (False); None where it says nothing."""
    name, _, terminal = node.rpartition(".")
    part = study.build.parts.get(name)
    if part is None:
        if node in study.circuit.case_nodes:
            return False
        return False if node in study.networker.number else None  # a bar of the DC side, which a bond may lie on
    if terminal in part.AC_TERMINALS:
        return not terminal.endswith("PE")
    if isinstance(part, Half):
        pole = next((pin.polarity for pin in part.pins or () if pin.name == terminal), None)
        return None if pole is None else pole in ("L", "N")
    if part.AC_TERMINALS or any(node in (source.plus, source.minus) for source in study.circuit.sources):
        return False
    return None
