"""A stud that a battery keeps live at all times, and that nothing covers."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.enclosure import Cover

from ohmwright_rules.bonding import bonded_nodes, hot_pole
from ohmwright_rules.terminals import pin_at, place_of_terminal, stud_at
from ohmwright_rules.wording import listed

RULE = Rule(
    id="bare-stud",
    title="Live stud without a boot",
    family="enclosure",
    subject="part",
    covers=("L2",),
    grades=(
        Grade("unfused", Severity.ERROR, "a stud that no fuse and no switch parts from a battery has no boot, cap or cover"),
        Grade("fused", Severity.WARNING, "a stud behind a fuse, which no switch can make dead, has no boot, cap or cover"),
    ),
    references=(Reference("33 CFR 183.445", "as on a law mirror, undated", "(b)", "read"),),
)
_SWITCHED = frozenset({"switch", "relay", "selector", "disconnect", "diode", "resistor"})
_STUDS = frozenset({"stud", "wing nut"})


def check(study: Study) -> Iterator[Outcome]:
    """Follow what stays live from every battery, first up to the fuses, then past them, never past a switch."""
    batteries = [source for source in study.circuit.sources if source.kind == "battery"]
    if not batteries:
        yield DoesNotApply("there is no battery")
        return
    bonded = bonded_nodes(study)
    starts = {hot_pole(source, bonded) for source in batteries}
    covered = {name for cover in study.of(Cover) for name in cover.covers or ()}
    unfused = study.circuit.reach(starts, lambda branch: not branch.device and _stays(branch))
    live = study.circuit.reach(starts, _stays)
    none = True
    for grade, nodes in (("unfused", unfused), ("fused", live - unfused)):
        by_part: dict[str, list[str]] = {}
        for node in sorted(nodes - bonded):
            if pin_at(study, node) is None and _is_stud(study, node):
                by_part.setdefault(study.build.nodes.get(node, node), []).append(node)
        unsaid: list[tuple[str, list[str]]] = []
        for part, studs in sorted(by_part.items()):
            none = False
            outcome = _judge(study, grade, part, studs, covered)
            if isinstance(outcome, list):
                unsaid.append((part, outcome))
            else:
                yield outcome
        if unsaid:
            nodes_unsaid = [node for _, silent in unsaid for node in silent]
            names = tuple(dict.fromkeys((*(part for part, _ in unsaid), *nodes_unsaid)))
            missing = f"a boot or cover over {listed(nodes_unsaid)}"
            yield NotChecked(grade, names, missing, study.span(unsaid[0][0]), declare="terminals { boot }")
    if none:
        yield DoesNotApply("nothing that is always live is held by a stud")


def _stays(branch: Branch) -> bool:
    return branch.kind not in _SWITCHED


def _is_stud(study: Study, node: str) -> bool:
    terminal = stud_at(study, node)
    return terminal is not None and (terminal.kind in _STUDS or (terminal.kind is None and terminal.stud_size is not None))


def _judge(study: Study, grade: str, part: str, nodes: list[str], covered: set[str]) -> Finding | Passed | list[str]:
    """Return what is said of the studs of one part; those of which nobody says whether they are covered, where that decides."""
    bare: list[str] = []
    silent: list[str] = []
    for node in nodes:
        terminal = stud_at(study, node)
        if node in covered or part in covered or (terminal is not None and terminal.boot):
            continue
        (bare if terminal is not None and terminal.boot is False else silent).append(node)
    subject = (part, *(node for node in nodes if node != part))
    if bare:
        studs = listed(node.rpartition(".")[2] if "." in node else "its studs" for node in bare)
        why = "no fuse and no switch lies between it and a battery" if grade == "unfused" else "no switch can make it dead"
        return Finding(
            grade,
            (part, *(node for node in bare if node != part)),
            f"{part}: {studs} {'is' if len(bare) == 1 and bare[0] != part else 'are'} bare, and {why}; a dropped spanner shorts the battery.",
            place_of_terminal(study, bare[0]),
            remedy="Put a boot over each, or a cover over all of them.",
            related=tuple(Related(f"{node} is bare", place_of_terminal(study, node)) for node in bare[1:5]),
        )
    return silent or Passed(grade, subject)
