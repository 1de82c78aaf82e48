"""A battery terminal whose joint hangs on a spring clip or a wing nut."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.part import Terminal
from ohmwright_grammar.spans import Span

from ohmwright_rules.wording import listed, named

RULE = Rule(
    id="clip-terminal",
    title="Battery terminal held by a spring clip or a wing nut",
    family="wiring",
    subject="battery",
    covers=("C13",),
    grades=(
        Grade("spring", Severity.ERROR, "a terminal of a battery depends on the tension of a spring"),
        Grade("wing-nut", Severity.WARNING, "a terminal of a battery is held by a wing nut"),
    ),
    references=(
        Reference("33 CFR 183.420", "as on a law mirror, undated", "(g): no spring tension", "read"),
        Reference("pages of marine surveyors", "", "wing nuts work loose", "secondary"),
    ),
)
_GRADES = {"spring clip": "spring", "wing nut": "wing-nut"}


def check(study: Study) -> Iterator[Outcome]:
    """Look at both poles of every battery that something is joined to."""
    idle = 0
    for battery in sorted(study.of(Battery), key=lambda part: part.name):
        used = [pole for pole in battery.TERMINALS if study.circuit.at_node.get(f"{battery.name}.{pole}")]
        if not used:
            idle += 1
            continue
        yield from _judge(study, battery, used)
    if idle:
        yield DoesNotApply("nothing is joined to it", idle)


def _judge(study: Study, battery: Battery, poles: list[str]) -> Iterator[Outcome]:
    kinds = {pole: _kind(study.terminal(f"{battery.name}.{pole}")) for pole in poles}
    loose = {grade: [pole for pole in poles if _GRADES.get(kinds[pole]) == grade] for grade in ("spring", "wing-nut")}
    for grade, found in loose.items():
        if found:
            yield _finding(study, battery, grade, found)
    silent = [pole for pole in poles if not kinds[pole]]
    if silent:
        what = f"kind of its terminal{'s' if len(silent) > 1 else ''} {named(silent)}"
        yield NotChecked("spring", (battery.name,), what, battery.span, declare=f"terminals {', '.join(silent)} {{ stud }}")
    elif not loose["spring"]:
        yield Passed("spring", (battery.name,))
        if not loose["wing-nut"]:
            yield Passed("wing-nut", (battery.name,))


def _kind(terminal: Terminal | None) -> str:
    """Return how a terminal holds its wires, "" where nobody says; a size of stud says that it is one."""
    if terminal is None:
        return ""
    return terminal.kind or ("stud" if terminal.stud_size is not None else "")


def _finding(study: Study, battery: Battery, grade: str, poles: list[str]) -> Finding:
    nodes = [f"{battery.name}.{pole}" for pole in poles]
    wires = sorted(
        {branch.name for node in nodes for branch in study.circuit.at_node.get(node, ()) if branch.conductor is not None}
    )
    what = "a spring clip" if grade == "spring" else "a wing nut"
    spans = [study.circuit.by_name[name] for name in wires]
    holds = f" {listed(wires)} {'hang' if len(wires) > 1 else 'hangs'} on it." if wires else ""
    why = (
        "spring pressure alone heats and sparks when it is loose"
        if grade == "spring"
        else "a wing nut is never tight enough, and works loose"
    )
    return Finding(
        grade,
        (battery.name, *wires),
        f"{battery.name}: {named(poles)} {'are' if len(poles) > 1 else 'is'} held by {what}; {why}.{holds}",
        _place(study, battery, nodes),
        remedy="Use a lug under a nut with a lock washer, tightened to the maker's torque, or a bolted post clamp.",
        related=tuple(Related(f"{branch.name} is joined there", branch.span) for branch in spans[:4]),
        reference=RULE.references[0 if grade == "spring" else 1],
    )


def _place(study: Study, battery: Battery, nodes: list[str]) -> Span:
    terminal = study.terminal(nodes[0])
    fact = terminal.fact(Terminal.kind) if terminal is not None else None
    return fact.source if fact is not None and fact.origin == "own" else battery.span
