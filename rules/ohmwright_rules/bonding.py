"""Which pole of a system is bonded to a case or to earth, by what is joined when everything is closed."""

from __future__ import annotations

from collections.abc import Collection, Set

from ohmwright.circuit.graph import Branch, Source
from ohmwright.study import Study
from ohmwright_grammar.kinds.enclosure import Enclosure

from ohmwright_rules.kept import kept

__all__ = ["bonded_nodes", "earth_starts", "hot_pole", "joined_to"]


def _is_way(branch: Branch) -> bool:
    return branch.kind not in ("diode", "resistor")


def joined_to(
    study: Study,
    starts: Collection[str],
    without: str = "",
    past_devices: bool = True,
    open_gates: frozenset[str] = frozenset(),
) -> set[str]:
    """Return the nodes that are joined with some others while all gates but some are closed, a part left out, devices passed or not."""
    return study.circuit.reach(
        starts,
        lambda branch: _is_way(branch) and (past_devices or not branch.device) and (not without or branch.part != without),
        open_gates,
    )


def bonded_nodes(study: Study) -> frozenset[str]:
    """Return the nodes that are joined with a case or with earth, worked out once."""
    return kept(study, _bonded)


def _bonded(study: Study) -> frozenset[str]:
    return frozenset(joined_to(study, earth_starts(study)))


def hot_pole(source: Source, bonded: Set[str]) -> str:
    """Return the pole of a source that is live against earth and cases: the plus, unless that is the bonded one."""
    return source.minus if source.plus in bonded and source.minus not in bonded else source.plus


def earth_starts(study: Study) -> set[str]:
    """Return the nodes of cases and of earth that something is joined to, and those at which a case is bonded."""
    starts = {node for case in study.of(Enclosure) for node in case.bonded_at or ()}
    return starts | {node for node in study.circuit.case_nodes if node in study.circuit.at_node}
