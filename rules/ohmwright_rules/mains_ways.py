"""Ways of mains and of inverters' outputs: which poles of AC loads are joined to an outlet of an inverter, or lead out of the build."""

from __future__ import annotations

from collections.abc import Collection, Container

from ohmwright.study import Study
from ohmwright_grammar.kinds.connector import Half

__all__ = ["MainsWays"]


class MainsWays:
    """What carries mains, with some gates open."""

    def __init__(self, study: Study, open_gates: Collection[str] = ()) -> None:
        self.study = study
        self._near: dict[str, list[str]] = {}
        for branch in study.circuit.ac_branches:
            if not branch.gate or branch.gate not in open_gates:
                self._near.setdefault(branch.start, []).append(branch.end)
                self._near.setdefault(branch.end, []).append(branch.start)

    def reaches(self, start: str, outputs: Container[str]) -> bool:
        """Tell whether a node is joined to one of the outputs, or to a connector half that has no mate in the build."""
        seen = {start}
        queue = [start]
        while queue:
            node = queue.pop()
            half = self.study.build.parts.get(self.study.build.nodes.get(node, ""))
            if node in outputs or (isinstance(half, Half) and half.name not in self.study.anatomy.matings_of):
                return True
            for other in self._near.get(node, ()):
                if other not in seen:
                    seen.add(other)
                    queue.append(other)
        return False
