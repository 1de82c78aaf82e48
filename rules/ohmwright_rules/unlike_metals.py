"""Metals that do not bear each other at a joint: aluminium or plain steel against copper."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.part import Terminal

from ohmwright_rules.conductors import said_of_missing
from ohmwright_rules.terminals import pin_at, place_of_terminal, stud_at

RULE = Rule(
    id="unlike-metals",
    title="Unlike metals at a joint",
    family="connectors",
    subject="conductor",
    covers=("G18",),
    grades=(
        Grade(
            "pair",
            Severity.WARNING,
            "aluminium or plain steel lies bare against copper, or against another metal that it does not bear",
        ),
    ),
    references=(
        Reference("pairs of metals at a joint", "", "tinned copper, brass and plated metals bear copper", "from-memory"),
        Reference("33 CFR 183.425", "as on a law mirror, undated", "(a), conductors of copper", "read"),
    ),
)
_METAL = "metal of the terminals, or what they take"
_WIRE = "metal"
_DECLARE = "terminals { of brass; tin-plated }"
_INSIDE = "inside a bought device or part of it"
_CONTACT = "goes into a contact of a connector"
_PLATED = "plated"
_ALIKE = {  # what a metal is for this purpose, by the words for it: from memory
    "copper": "copper", "brass": "copper", "bronze": "copper", "gunmetal": "copper", "tinned copper": _PLATED, "tinned": _PLATED,
    "nickel": _PLATED, "silver": _PLATED, "gold": _PLATED, "tin": _PLATED, "lead": "lead", "stainless steel": "stainless",
    "stainless": "stainless", "aluminium": "aluminium", "aluminum": "aluminium", "steel": "steel", "plain steel": "steel", "iron": "steel",
    "mild steel": "steel", "galvanised steel": _PLATED, "galvanized steel": _PLATED, "zinc-plated steel": _PLATED,
}  # fmt: skip
_OF_WIRE = {"copper": "copper", "tinned copper": _PLATED, "copper-clad": "aluminium", "aluminium": "aluminium"}
_BARRED = frozenset(
    {
        frozenset(pair)
        for pair in (
            ("copper", "aluminium"),
            ("copper", "steel"),
            ("aluminium", "stainless"),
            ("aluminium", "lead"),
            ("aluminium", "steel"),
        )
    }
)


def check(study: Study) -> Iterator[Outcome]:
    """Compare the metal of every conductor with that of the terminals at its ends, and of terminals that sit on each other."""
    left: Counter[str] = Counter()
    unsaid: dict[str, list[str]] = {}
    wires = (*study.circuit.wires(), *(branch for branch in study.circuit.ac_branches if branch.conductor is not None))
    for wire in sorted(wires, key=lambda branch: branch.name):
        assert wire.conductor is not None
        if wire.conductor.inside_device:
            left[_INSIDE] += 1
            continue
        for node in (wire.start, wire.end):
            if pin_at(study, node) is not None and _metal(stud_at(study, node)) is None:
                left[_CONTACT] += 1
            else:
                yield from _judge(study, wire, node, unsaid)
    yield from _joints(study)
    for part, nodes in sorted(unsaid.items()):
        yield NotChecked("pair", (part, *dict.fromkeys(nodes)), _METAL, study.span(part), declare=_DECLARE)
    for condition, count in sorted(left.items()):
        yield DoesNotApply(condition, count)


def _judge(study: Study, wire: Branch, node: str, unsaid: dict[str, list[str]]) -> Iterator[Outcome]:
    conductor = wire.conductor
    assert conductor is not None
    terminal = stud_at(study, node)
    own = _metal(terminal)
    subject = (wire.name, node)
    metal = _OF_WIRE.get(conductor.metal or "")
    if own == _PLATED or _takes(terminal, metal):
        yield Passed("pair", subject)
    elif own is None:
        unsaid.setdefault(study.build.nodes.get(node, node), []).append(node)
    elif metal is None:
        yield NotChecked("pair", subject, _WIRE, wire.span, declare=said_of_missing(_WIRE) or "copper")
    elif frozenset((own, metal)) in _BARRED:
        words = f"{terminal.own_metal}" if terminal is not None else own
        yield Finding(
            "pair",
            subject,
            f"{wire.name}: its {conductor.metal} lies on the bare {words} of {node}; the pair corrodes, and the joint's resistance rises.",
            wire.span,
            remedy="Use a lug or a terminal of tinned copper, brass or a plated metal, or one that is made for both metals.",
            related=(Related(f"{node}, of {words}", place_of_terminal(study, node)),),
            reference=RULE.references[1] if metal == "aluminium" and conductor.metal == "aluminium" else RULE.references[0],
        )
    else:
        yield Passed("pair", subject)


def _joints(study: Study) -> Iterator[Outcome]:
    for joint in study.build.joints:
        here, there = stud_at(study, joint.first), stud_at(study, joint.second)
        one, two = _metal(here), _metal(there)
        if one is None or two is None or here is None or there is None:
            continue  # what is not said of a terminal is asked for with its wires
        part = study.build.nodes.get(joint.first, joint.first)
        if frozenset((one, two)) in _BARRED:
            yield Finding(
                "pair",
                (part, joint.first, joint.second),
                f"{part}: the {here.own_metal} of {joint.first} sits on the {there.own_metal} of {joint.second}; the pair corrodes, and the joint's resistance rises.",
                joint.span,
                remedy="Use parts of tinned copper, brass or a plated metal there.",
                related=(Related(f"{joint.second}, of {there.own_metal}", place_of_terminal(study, joint.second)),),
            )
        else:
            yield Passed("pair", (part, joint.first, joint.second))


def _metal(terminal: Terminal | None) -> str | None:
    """Return what the surface of a terminal is, None where that was not said or its word is not known."""
    if terminal is None:
        return None
    if terminal.plating is not None:
        return _PLATED
    words = (terminal.own_metal or "").lower()
    return _PLATED if "plated" in words or words.startswith("tinned") else _ALIKE.get(words)


def _takes(terminal: Terminal | None, metal: str | None) -> bool:
    """Tell whether a terminal is said to be made for the metal of a conductor."""
    if terminal is None or terminal.takes_metal is None or metal is None:
        return False
    wanted = "aluminium" if metal == "aluminium" else "copper"
    return wanted in terminal.takes_metal
