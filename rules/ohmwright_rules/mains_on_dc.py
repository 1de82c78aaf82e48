"""Mains or an inverter's output joined with the DC side, with earth or with a case by a wire, a joint or a pin."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.spans import Span

RULE = Rule(
    id="mains-on-dc",
    title="Live mains joined with the DC side",
    family="wiring",
    subject="conductor",
    covers=(),
    grades=(Grade("joined", Severity.ERROR, "a live conductor of mains is joined with a DC net, with earth or with a case"),),
    references=(Reference("the circuit as declared", "", "", "computed"),),
)


def check(study: Study) -> Iterator[Outcome]:
    """Look for wires, joints and pins that join a live mains conductor with anything that carries none."""
    mains = study.circuit.ac_nodes
    if not mains:
        yield DoesNotApply("no mains and no inverter's output")
        return
    live = _live(study)
    bonds = 0
    hit: set[str] = set()
    for name, one, two, span in sorted(_joints(study), key=lambda item: item[0]):
        if (one in mains) == (two in mains):
            continue
        here, there = (one, two) if one in mains else (two, one)
        source = live.get(here)
        if source is None:
            bonds += 1
            continue
        part = source.rpartition(".")[0]
        hit.add(part)
        yield Finding(
            "joined",
            (name, part),
            f"{name}: it joins {there} with {source}, which is live with mains.",
            span,
            remedy=f"Take {name} away, or end it on the mains side: nothing of the DC side, no earth and no case may touch a live conductor.",
        )
    for part in sorted({source.rpartition(".")[0] for source in live.values()} - hit):
        yield Passed("joined", (part,))
    if bonds:
        yield DoesNotApply("a neutral that is bonded, which is a matter of its own", bonds)


def _live(study: Study) -> dict[str, str]:
    """Return every node of a live conductor, each with a terminal that is live on it."""
    near: dict[str, list[str]] = {}
    for branch in study.circuit.ac_branches:
        near.setdefault(branch.start, []).append(branch.end)
        near.setdefault(branch.end, []).append(branch.start)
    found: dict[str, str] = {}
    for start in _starts(study):
        if start in found or start not in study.circuit.ac_nodes:
            continue
        found[start] = start
        queue = [start]
        while queue:
            for other in near.get(queue.pop(), ()):
                if other not in found:
                    found[other] = start
                    queue.append(other)
    return found


def _starts(study: Study) -> Iterator[str]:
    """Yield the live terminals of parts, then the pins that are said to be live, which mains may come in at."""
    parts = sorted(study.build.parts.items())
    for name, part in parts:
        for terminal in part.AC_TERMINALS:
            if terminal.rpartition("_")[2] == "L":
                yield f"{name}.{terminal}"
    for name, part in parts:
        for pin in (part.pins or ()) if isinstance(part, Half) else ():
            if pin.polarity == "L":
                yield f"{name}.{pin.name}"


def _joints(study: Study) -> Iterator[tuple[str, str, str, Span]]:
    """Yield everything that joins two nodes by itself: its name, the nodes, and where it stands."""
    build = study.build
    for run in build.runs:
        yield run.name, run.start, run.end, run.conductor.span
    for joint in build.joints:
        yield joint.first, joint.first, joint.second, joint.span
    for mating in build.matings:
        for here, there in mating.pins:
            yield mating.name, f"{mating.first}.{here}", f"{mating.second}.{there}", mating.span
