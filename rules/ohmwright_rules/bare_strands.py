"""Strands without a ferrule or lug under a screw, strands stiff with solder, joints that only solder holds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.conductor import Conductor
from ohmwright_grammar.kinds.part import Terminal
from ohmwright_grammar.records import record

from ohmwright_rules.conductors import cable_of, is_cord
from ohmwright_rules.terminals import pin_at, place_of_terminal, stud_at

RULE = Rule(
    id="bare-strands",
    title="Strands are not held as they should be",
    family="connectors",
    subject="conductor",
    covers=("G16",),
    grades=(
        Grade("bare", Severity.WARNING, "bare strands lie under a screw or nut that bears on them"),
        Grade("tinned", Severity.WARNING, "strands stiff with solder lie under a screw"),
        Grade("soldered-only", Severity.WARNING, "solder alone holds a conductor"),
    ),
    references=(
        Reference(
            "ABYC E-11",
            "not stated",
            "direct-bearing screws; solder as the sole means of connection, as marine pages tell it",
            "secondary",
        ),
        Reference("report of a loosened tinned plug", "", "", "secondary"),
    ),
)
_BEARING = frozenset({"bare screw", "stud", "wing nut"})
_CLAMPS = frozenset({"bare screw", "clamp plate", "post clamp", "stud", "wing nut"})
_BOLTS = frozenset({"stud", "wing nut"})
_HELD = frozenset({"lug", "ferrule", "contact"})
_STRANDED_KINDS = frozenset({"boat", "battery", "PV"})
_KIND = "kind of the terminal, or how the wires end in it"
_END = "how the wires end in the terminal"
_STRANDING = "stranding"
_DECLARE = {_KIND: "terminals { clamp plate; ferrules }", _END: "terminals { ferrules }", _STRANDING: "stranded"}
_INSIDE = "inside a bought device or part of it"
_CONTACT = "goes into a contact of a connector"
_BOLT = "lies under a nut, which takes a lug"


@record
class _End:
    """One end of a conductor: where it goes in, what holds it there, and how it is finished."""

    wire: Branch
    node: str
    terminal: Terminal | None
    kind: str | None
    end: str | None

    @property
    def subject(self) -> tuple[str, ...]:
        """The conductor and the terminal."""
        return (self.wire.name, self.node)


def check(study: Study) -> Iterator[Outcome]:
    """Look at how every end of every conductor is finished and held."""
    left: Counter[str] = Counter()
    unsaid: dict[tuple[str, str], list[str]] = {}
    wires = (*study.circuit.wires(), *(branch for branch in study.circuit.ac_branches if branch.conductor is not None))
    for wire in sorted(wires, key=lambda branch: branch.name):
        conductor = wire.conductor
        assert conductor is not None
        if conductor.inside_device:
            left[_INSIDE] += 1
            continue
        for node in (wire.start, wire.end):
            end = _end(study, wire, conductor, node)
            if end.kind is None and end.end is None and pin_at(study, node) is not None:
                left[_CONTACT] += 1
                continue
            missing = _missing(study, end)
            if missing == _BOLT:
                left[_BOLT] += 1
            elif missing == _STRANDING:
                yield NotChecked("bare", end.subject, missing, wire.span, declare=_DECLARE[missing])
            elif missing:
                unsaid.setdefault((study.build.nodes.get(node, node), missing), []).append(node)
            else:
                yield from _judge(study, end)
    for (part, missing), nodes in sorted(unsaid.items()):
        subject = (part, *dict.fromkeys(nodes))
        yield NotChecked("bare", subject, missing, study.span(part), declare=_DECLARE[missing])
    for condition, count in sorted(left.items()):
        yield DoesNotApply(condition, count)


def _end(study: Study, wire: Branch, conductor: Conductor, node: str) -> _End:
    is_pin = pin_at(study, node) is not None
    terminal = stud_at(study, node)
    kind = terminal.fact(Terminal.kind) if terminal is not None else None
    if is_pin and kind is not None and kind.origin == "default":
        kind = None  # a default for all terminals does not speak of contacts
    own, shared = conductor.fact(Conductor.wire_ends), terminal.fact(Terminal.wire_end) if terminal is not None else None
    if own is not None and (shared is None or shared.origin == "default"):
        shared = own
    if is_pin and shared is not None and shared.origin == "default":
        shared = None
    found = kind.value if kind is not None else None
    if found is None and terminal is not None and terminal.stud_size is not None:
        found = "stud"
    return _End(wire, node, terminal, found, shared.value if shared is not None else None)


def _missing(study: Study, end: _End) -> str:
    """Return what keeps an end from being judged, "" where nothing does."""
    if end.end in _HELD or end.end == "soldered only" or end.kind == "solder":
        return ""
    if end.kind is None:
        return _KIND
    if end.end is None:
        if end.kind in _BOLTS:
            return _BOLT
        return _END if end.kind == "bare screw" and _is_stranded(study, end.wire) is not False else ""
    return _STRANDING if end.end == "bare" and end.kind in _BEARING and _is_stranded(study, end.wire) is None else ""


def _is_stranded(study: Study, wire: Branch) -> bool | None:
    conductor = wire.conductor
    assert conductor is not None
    if conductor.stranding is not None:
        return conductor.stranding != "solid"
    if is_cord(conductor, cable_of(study, wire)) or conductor.cable_kind in _STRANDED_KINDS:
        return True
    return None


def _judge(study: Study, end: _End) -> Iterator[Outcome]:
    wire, kind = end.wire, end.kind
    related = (Related(f"{end.node}, the terminal", place_of_terminal(study, end.node)),)
    if end.end == "soldered only" or (kind == "solder" and end.end not in _HELD):
        yield Finding(
            "soldered-only",
            end.subject,
            f"{wire.name}: only solder holds it in {end.node}; heat or a pull lets it go.",
            wire.span,
            remedy="Crimp it, or clamp it, and solder it besides if you must.",
            related=related,
        )
        return
    if end.end == "tinned" and kind in _CLAMPS:
        yield Finding(
            "tinned",
            end.subject,
            f"{wire.name}: its strands are tinned with solder under the {kind} of {end.node}; solder creeps, the pressure fades and the joint heats.",
            wire.span,
            remedy="Cut the tinned end off and crimp a ferrule or lug on it.",
            related=related,
            reference=RULE.references[1],
        )
    elif end.end == "bare" and kind in _BEARING and _is_stranded(study, wire):
        yield Finding(
            "bare",
            end.subject,
            f"{wire.name}: its strands are bare under the {kind} of {end.node}, which bears on them; they spread, and some are cut.",
            wire.span,
            remedy="Crimp a ferrule or lug on it.",
            related=related,
        )
    else:
        yield Passed("bare", end.subject)
