"""A wire that a terminal or contact does not take: too thick, too thin, one too many, or with strands cut off."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.part import Terminal, WireRange
from ohmwright_grammar.quantities import Gauge
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright_rules.conductors import said_of_missing
from ohmwright_rules.terminals import is_bare_metal, nearest, pin_at, place_of_terminal, terminal_at

RULE = Rule(
    id="wire-range",
    title="Wire that its terminal does not take",
    family="wiring",
    subject="conductor",
    covers=("G12",),
    grades=(
        Grade("too-thick", Severity.ERROR, "a wire is thicker than the terminal or contact takes"),
        Grade("too-thin", Severity.ERROR, "a wire is thinner than the terminal or contact clamps"),
        Grade("too-many", Severity.ERROR, "a terminal holds more wires than it may"),
        Grade("strands-cut", Severity.ERROR, "strands were cut off to make a wire fit"),
    ),
    references=(Reference("wire range of the terminal", "", "as declared", "read"),),
)
_RANGE = "wire range of the terminal"
_COUNT = "how many wires the terminal may hold"
_DECLARE = {_RANGE: "terminals { takes 18 AWG to 10 AWG }", _COUNT: "terminals { 2 wires }"}
_BOLTED = frozenset({"stud", "wing nut"})


@record
class _End:
    """One end of a wire and what is said of where it goes in."""

    wire: Branch
    node: str
    terminal: Terminal | None
    range: WireRange | None
    place: Span


def check(study: Study) -> Iterator[Outcome]:
    """Hold every wire's size, and the number of wires, against what the terminal at each of its ends takes."""
    left = {
        "inside a bought device or part of it": 0,
        "a busbar or a case, which takes lugs": 0,
        "ends in a lug under a stud, whose hole is a matter of its own": 0,
    }
    held: dict[str, list[Branch]] = {}
    wires = (*study.circuit.wires(), *(branch for branch in study.circuit.ac_branches if branch.conductor is not None))
    for wire in sorted(wires, key=lambda branch: branch.name):
        conductor = wire.conductor
        assert conductor is not None
        if conductor.inside_device:
            left["inside a bought device or part of it"] += 1
            continue
        for node in (wire.start, wire.end):
            terminal = terminal_at(study, node)
            if terminal is None and is_bare_metal(study, node):
                left["a busbar or a case, which takes lugs"] += 1
                continue
            held.setdefault(node, []).append(wire)
            if _is_bolted(wire, terminal):
                left["ends in a lug under a stud, whose hole is a matter of its own"] += 1
            else:
                end = _End(wire, node, terminal, _range_at(study, node, terminal), place_of_terminal(study, node))
                yield from _size(end)
    for node, there in sorted(held.items()):
        yield from _number(study, node, there)
    for condition, count in left.items():
        if count:
            yield DoesNotApply(condition, count)


def _is_bolted(wire: Branch, terminal: Terminal | None) -> bool:
    """Tell whether a wire goes under a bolt with a lug, so that its own size does not count there."""
    conductor = wire.conductor
    assert conductor is not None
    if terminal is not None and terminal.wire_range is not None:
        return False
    kind = terminal.kind if terminal is not None else None
    end = (terminal.wire_end if terminal is not None else None) or conductor.wire_ends
    return kind in _BOLTED or (end == "lug" and kind is None) or (terminal is not None and terminal.stud_size is not None)


def _range_at(study: Study, node: str, terminal: Terminal | None) -> WireRange | None:
    """Return the sizes that a terminal takes; a pin that does not say takes what the contacts of its half do."""
    pin = pin_at(study, node)
    return nearest(terminal, Terminal.wire_range, pin[0] if pin is not None else None, Half.wire_range)


def _area(gauge: Gauge) -> Amount:
    return Amount(float(gauge.area), "area")


def _size(end: _End) -> Iterator[Outcome]:
    wire, node = end.wire, end.node
    conductor = wire.conductor
    assert conductor is not None
    subject = (wire.name, node)
    gauge = conductor.gauge
    if gauge is None or end.range is None:
        missing = _RANGE if end.range is None else "gauge"
        span = end.place if end.range is None else wire.span
        yield NotChecked("too-thick", subject, missing, span, declare=_DECLARE.get(missing, said_of_missing(missing)))
        return
    thin, thick = end.range.range
    measured = _area(gauge)
    related = (Related(f"the terminal takes {_words(end.range)}", end.place),)
    if is_broken(measured.value, float(thick.area), "at-most"):
        yield Finding(
            "too-thick",
            subject,
            f"{wire.name}: its {gauge.text} does not go into {node}, which takes {_words(end.range)}.",
            wire.span,
            measured,
            _area(thick),
            remedy=f"Bring at most {thick.text} to {node}, for instance by a short pigtail from a busbar, fused for that size; or use "
            f"a part whose terminals take {gauge.text}.",
            related=related,
        )
    else:
        yield Passed("too-thick", subject, measured, _area(thick))
    if is_broken(measured.value, float(thin.area), "at-least"):
        yield Finding(
            "too-thin",
            subject,
            f"{wire.name}: its {gauge.text} is not held by {node}, which takes {_words(end.range)}.",
            wire.span,
            measured,
            _area(thin),
            "at-least",
            remedy=f"Use {thin.text} or larger, or a part whose terminals take {gauge.text}.",
            related=related,
        )
    else:
        yield Passed("too-thin", subject, measured, _area(thin), "at-least")


def _words(takes: WireRange) -> str:
    thin, thick = takes.range
    if thin.text == thick.text:
        return f"{thick.text} only"
    return f"{thin.text} to {thick.text}"


def _number(study: Study, node: str, wires: list[Branch]) -> Iterator[Outcome]:
    """Hold the number of wires in one terminal, and whether their strands are whole."""
    terminal = terminal_at(study, node)
    part = study.build.nodes.get(node, node)
    allowed = terminal.wires_allowed if terminal is not None else None
    count = Amount(float(len(wires)), "count")
    place = place_of_terminal(study, node)
    subject = (part, node, *(wire.name for wire in wires))
    if len(wires) > 1 and allowed is None:
        yield NotChecked("too-many", subject, _COUNT, place, declare=_DECLARE[_COUNT])
    elif allowed is not None and len(wires) > allowed:
        names = ", ".join(wire.name for wire in wires)
        yield Finding(
            "too-many",
            subject,
            f"{node} holds {len(wires)} wires ({names}); it may hold {allowed}.",
            place,
            count,
            Amount(float(allowed), "count"),
            remedy=f"Leave at most {allowed} in {node}; bring the others together on a busbar.",
            related=tuple(Related(f"{wire.name} ends here", wire.span) for wire in wires),
        )
    else:
        yield Passed("too-many", subject, count, Amount(float(allowed if allowed is not None else 1), "count"))
    if terminal is not None and terminal.strands_cut:
        yield Finding(
            "strands-cut",
            subject,
            f"{node}: strands were cut off to make {', '.join(wire.name for wire in wires)} fit; what is left is thinner than it says.",
            terminal.place_of(Terminal.strands_cut),
            remedy="Use a wire that goes in whole, a ferrule or lug made for it, or a part whose terminals take it.",
            related=tuple(Related(f"{wire.name} ends here", wire.span) for wire in wires),
        )
    elif terminal is not None and terminal.strands_cut is False:
        yield Passed("strands-cut", subject)
