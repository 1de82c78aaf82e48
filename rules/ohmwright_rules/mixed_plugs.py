"""Plugs on the array's side of two makes or series that nobody approved together."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.connector import Half

from ohmwright_rules.halves import connectors

RULE = Rule(
    id="mixed-plugs",
    title="Plugs of different makes on the array's side",
    family="connectors",
    subject="connector",
    covers=("G11",),
    grades=(
        Grade(
            "mixed",
            Severity.WARNING,
            "two halves on the array's side are of different makes or series and not approved together",
        ),
    ),
    references=(Reference("NFPA 70 (NEC)", "2020", "690.33(C), type", "secondary"),),
)
_MAKE = "make of both halves"
_SERIES = "series of both halves"
_DECLARE = {_MAKE: 'made by "A"; product series "B"', _SERIES: 'product series "B"'}
_ELSEWHERE = "does not lie on the array's side"


def check(study: Study) -> Iterator[Outcome]:
    """Compare make and series of the two halves of every connector between an array and what it feeds."""
    side = _array_side(study)
    elsewhere = 0
    for connector in connectors(study):
        if connector.mating is None or not any(
            node in side for half in connector.halves for node in study.circuit.nodes_of(half.name)
        ):
            elsewhere += 1
            continue
        first, second = connector.halves
        verdict = _alike(first, second)
        if verdict is True or _approved(first, second) or _approved(second, first):
            yield Passed("mixed", connector.names)
        elif isinstance(verdict, str):
            unsaid = first if (first.make if verdict == _MAKE else first.series) is None else second
            subject = tuple(dict.fromkeys((unsaid.name, *connector.names)))
            yield NotChecked("mixed", subject, verdict, unsaid.span, declare=_DECLARE[verdict])
        else:
            yield Finding(
                "mixed",
                connector.names,
                f"{first.name} ({_told(first)}) and {second.name} ({_told(second)}) go together, and nobody approved the two; "
                "a joint of two makes clicks in and still overheats.",
                first.span,
                remedy=f"Put a half of {_told(first)} on both sides, or say which document approves the two together.",
                related=(Related(f"{second.name}, its other half", second.span),),
            )
    if elsewhere:
        yield DoesNotApply(_ELSEWHERE, elsewhere)


def _array_side(study: Study) -> frozenset[str]:
    """Return what is joined with a pole of an array outside of any device, unless a battery lies there too."""
    found: set[str] = set()
    batteries = {node for battery in study.of(Battery) for node in study.circuit.nodes_of(battery.name)}
    for array in study.of(Array):
        for node in study.circuit.nodes_of(array.name):
            if node in found or node.endswith(".frame"):
                continue
            near = study.circuit.reach(node, lambda branch: branch.kind not in ("inside", "resistor"))
            if batteries.isdisjoint(near):
                found |= near
    return frozenset(found)


def _alike(first: Half, second: Half) -> bool | str:
    """Tell whether two halves are of one make and series; the missing datum where that was not said."""
    if first.make is None or second.make is None:
        return _MAKE
    if _plain(first.make) != _plain(second.make):
        return False
    if first.series is None or second.series is None:
        return _SERIES
    return _plain(first.series) == _plain(second.series)


def _approved(one: Half, other: Half) -> bool:
    """Tell whether a half says that it is approved with the make (and the series, unless it names the make alone) of the other."""
    if other.make is None:
        return False
    make, series = _plain(other.make), _plain(other.series or "")
    texts = [_plain(text) for text in one.approved_with or ()]
    return any(text == make or (make in text.split() and series in text) or text == f"{make} {series}" for text in texts)


def _plain(words: str) -> str:
    return " ".join(words.lower().split())


def _told(half: Half) -> str:
    return f"{half.make} {half.series}" if half.series is not None else f"{half.make}"
