"""Screws and studs that carry more than 10 A, and for which nobody says how tight they are to be."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount, shown
from ohmwright_grammar.kinds.part import Terminal

from ohmwright_rules.duty import loadings, totals
from ohmwright_rules.kept import kept
from ohmwright_rules.terminals import pin_at, place_of_terminal, stud_at
from ohmwright_rules.wording import listed

RULE = Rule(
    id="missing-torque",
    title="Torque of a screw or stud is not stated",
    family="connectors",
    subject="part",
    covers=("G14",),
    grades=(Grade("not-stated", Severity.NOTE, "a screw or stud that carries more than 10 A has no torque", absence="itself"),),
    references=(Reference("maker's manual of a controller", "", "torque by the size of the conductor", "secondary"),),
)
_LEAST = 10.0  # A: catalogue, G14
_SCREWS = frozenset({"stud", "bare screw", "clamp plate", "post clamp"})
_KIND = "kind of its terminals"
_DECLARE = "terminals { stud; torque 5 Nm }"
_OTHER = "holds its wires without a screw"
_LOW = "carries at most 10 A"


def check(study: Study) -> Iterator[Outcome]:
    """Look at every terminal that carries more than 10 A in any state, part by part."""
    most = kept(study, _most)
    by_part: dict[str, list[str]] = {}
    for node in most:
        if pin_at(study, node) is None:
            by_part.setdefault(study.build.nodes.get(node, node), []).append(node)
    left: Counter[str] = Counter()
    for part, nodes in sorted(by_part.items()):
        loaded = sorted(node for node in nodes if most[node] > _LEAST * (1 + 1e-9))
        left[_LOW] += len(nodes) - len(loaded)
        yield from _judge(study, part, loaded, most, left)
    for condition, count in sorted(left.items()):
        if count:
            yield DoesNotApply(condition, count)


def _judge(study: Study, part: str, nodes: list[str], most: dict[str, float], left: Counter[str]) -> Iterator[Outcome]:
    without: list[str] = []
    unknown: list[str] = []
    for node in nodes:
        terminal = stud_at(study, node)
        if terminal is not None and terminal.is_documented(Terminal.torque) and not terminal.says_none(Terminal.torque):
            yield Passed("not-stated", (part, node))
        elif _is_screw(terminal):
            without.append(node)
        elif terminal is None or terminal.kind is None:
            unknown.append(node)
        else:
            left[_OTHER] += 1
    if without:
        worst = max(without, key=lambda node: (most[node], node))
        names = listed(node.rpartition(".")[2] if "." in node else node for node in without)
        place = place_of_terminal(study, without[0])
        terminals = "terminals" if len(without) > 1 else "terminal"
        where = f"its {terminals} {names}" if without != [part] else "its studs"
        has = "have" if len(without) > 1 or without == [part] else "has"
        yield Finding(
            "not-stated",
            (part, *without),
            f"{part}: {where} {has} no torque stated, and up to {shown(Amount(most[worst], 'current'))} flow there.",
            place,
            remedy="State the torque from the part's own document; too loose heats, too tight breaks.",
        )
    if unknown:
        yield NotChecked("not-stated", (part, *unknown), _KIND, study.span(part), declare=_DECLARE)


def _is_screw(terminal: Terminal | None) -> bool:
    if terminal is None:
        return False
    return terminal.kind in _SCREWS or (terminal.kind is None and terminal.stud_size is not None)


def _most(study: Study) -> dict[str, float]:
    """Return the largest design current [A] of a conductor, or of a part that sits on it, at every terminal, over all states."""
    ends: dict[str, list[str]] = {}
    for branch in study.circuit.branches:
        if (branch.conductor is not None and not branch.conductor.inside_device) or branch.kind == "joint":
            for node in (branch.start, branch.end):
                ends.setdefault(node, []).append(branch.name)
    steady = [place for place, loading in enumerate(loadings(study)) if not loading.state.setup.is_surge]
    largest: dict[str, float] = {}
    for name in {name for names in ends.values() for name in names}:
        currents = totals(study, name)
        largest[name] = max((currents[place] for place in steady), default=0.0)
    return {node: max(largest[name] for name in names) for node, names in ends.items()}
