"""A part with a terminal left open that its use needs."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Severity
from ohmwright.references import common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.charging import Charger, DcCharger
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.distribution import Diode, FuseBlock, Meter, Resistor, Shunt
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.kinds.inverter import Converter, Inverter
from ohmwright_grammar.kinds.load import AcLoad, Load
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.switch import Disconnect, Relay, Selector, Switch

RULE = Rule(
    id="open-terminal",
    title="Terminal left open",
    family="wiring",
    subject="part",
    covers=(),
    grades=(
        Grade(
            "open",
            Severity.WARNING,
            "a terminal that the part's use needs is joined to nothing, though others are joined",
            absence="itself",
        ),
        Grade("unwired", Severity.WARNING, "nothing is joined to any terminal of a part", absence="itself"),
    ),
    references=(common_practice(),),
)
_POLES = (("line", "load"), ("line2", "load2"), ("line3", "load3"))

Groups = list[tuple[str, ...]]


def check(study: Study) -> Iterator[Outcome]:
    """Ask of every part whether something is joined to all terminals that it needs."""
    joined = _joined(study)
    others = 0
    for name, part in sorted(study.build.parts.items()):
        groups = _needs(part, joined)
        if not groups:
            others += 1
            continue
        there = {terminal for terminal in part.TERMINALS if f"{name}.{terminal}" in joined}
        if isinstance(part, Selector):
            there |= {terminal for terminal in part.terminals_named() if f"{name}.{terminal}" in joined}
        missing = [words for group in groups if (words := _missing(group, there))]
        if not there:
            yield Finding(
                "unwired",
                (name,),
                f"{name}: nothing is joined to it.",
                part.span,
                remedy=f"Join {_all(groups)}, or take {name} out.",
            )
        elif missing:
            listed = ", ".join(missing)
            verb = "is" if len(missing) == 1 and " and " not in listed else "are"
            yield Finding(
                "open",
                (name,),
                f"{name}: {listed} {verb} joined to nothing, so that no current can pass there.",
                part.span,
                remedy=f"Join {listed} of {name} to where the current comes from or goes back to.",
            )
        else:
            yield Passed("open", (name,))
            yield Passed("unwired", (name,))
    if others:
        yield DoesNotApply("a part without terminals that its use needs", others)


def _joined(study: Study) -> frozenset[str]:
    """Return every terminal that a conductor, a joint or a mate reaches."""
    build = study.build
    nodes = {node for run in build.runs for node in (run.start, run.end)}
    nodes.update(node for joint in build.joints for node in (joint.first, joint.second))
    nodes.update(
        f"{half}.{pin}" for mating in build.matings for half, pin in _pins_of(mating.first, mating.second, mating.pins)
    )
    return frozenset(nodes)


def _pins_of(first: str, second: str, pins: tuple[tuple[str, str], ...]) -> Iterator[tuple[str, str]]:
    for here, there in pins:
        yield first, here
        yield second, there


def _missing(group: tuple[str, ...], there: set[str]) -> str:
    """Return in words what of a group is not joined; one of several ("line or load") where the group is a choice."""
    if group[0] == "one of":
        return "" if there.intersection(group[1:]) else f"one of {', '.join(group[1:4])}"
    return " and ".join(terminal for terminal in group if terminal not in there)


def _all(groups: Groups) -> str:
    words = [f"one of {', '.join(group[1:4])}" if group[0] == "one of" else " and ".join(group) for group in groups]
    return ", ".join(words)


def _needs(part: Part, joined: frozenset[str]) -> Groups:
    """Return the groups of terminals that a part needs; "one of" begins a group of which one will do."""

    def has(*terminals: str) -> bool:
        return any(f"{part.name}.{terminal}" in joined for terminal in terminals)

    def pairs(*wanted: tuple[str, str]) -> Groups:
        """Return those pairs of which one terminal is joined."""
        return [pair for pair in wanted if has(*pair)]

    match part:
        case AcLoad():
            return [("L", "N")]
        case Charger():
            always: Groups = [("plus", "minus"), *([("in_plus", "in_minus")] if isinstance(part, DcCharger) else [])]
            return [*always, *(pair for pair in pairs(("L", "N"), ("in_plus", "in_minus")) if pair not in always)]
        case Inverter():
            return [("plus", "minus"), *pairs(("L", "N"), ("shore_L", "shore_N"))]
        case Controller():
            return _controller(part, has)
        case Converter():
            if part.isolated:
                return [("in_plus", "in_minus"), ("out_plus", "out_minus")]
            return [("in_plus",), ("out_plus",), ("one of", "in_minus", "out_minus")]
        case Battery() | Array() | Load() | Meter():
            return [("plus", "minus")]
        case Fuse() | Switch() | Relay():
            poles = pairs(*_POLES) or [_POLES[0]]
            return [*poles, ("coil_plus", "coil_minus")] if isinstance(part, Relay) else poles
        case Selector():
            return [("common",), ("one of", *part.terminals_named())]
        case Disconnect() | Shunt():
            return [("line", "load")]
        case FuseBlock():
            return [("feed",), ("one of", *(terminal for terminal in part.TERMINALS if terminal != "feed"))]
        case Diode():
            return [("anode", "cathode")]
        case Resistor():
            return [("a", "b")]
    return []


def _controller(part: Controller, has: Callable[..., bool]) -> Groups:
    """A pole that input and output have in common needs to be joined once only."""
    needs: Groups = [("batt_plus", "batt_minus")]
    shared = {"negative": "minus", "positive": "plus"}.get(part.common_pole or "", "")
    needs.append(tuple(f"pv_{pole}" for pole in ("plus", "minus") if pole != shared))
    if has("load_plus", "load_minus"):
        needs.append(tuple(f"load_{pole}" for pole in ("plus", "minus") if pole != shared))
    return needs
