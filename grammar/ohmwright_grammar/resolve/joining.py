"""Terminals that sit on each other without a wire: the nodes of each joint, and their full names in the facts that say them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ohmwright_grammar.kinds.part import Joint, Part
from ohmwright_grammar.model import JointAt
from ohmwright_grammar.resolve.linking import Names
from ohmwright_grammar.resolve.placing import Placer
from ohmwright_grammar.things import Fact

__all__ = ["joints_of", "joints_of_parts"]


def joints_of_parts(parts: dict[str, Part], prefixes: Mapping[str, str], placer: Placer, names: Names) -> list[JointAt]:
    """Return the joints that parts say of their own terminals, and put full names into those parts."""
    joints: list[JointAt] = []
    for name, part in list(parts.items()):
        placer.budget.check(part.span)
        fact = part.facts.get("joints")
        if fact is None or fact.value is None:
            continue
        said: list[Joint] = []
        for joint in fact.value:
            first = names.node(f"{name}.{joint.terminal}", "", fact.source, name)
            second = names.node(joint.at, prefixes[name], fact.source, name)
            if first is None or second is None:
                said.append(joint)
                continue
            said.append(Joint(first.removeprefix(f"{name}."), second))
            if first != second:
                joints.append(JointAt(first, second, fact.source))
        parts[name] = type(part)(part.name, part.span, {**part.facts, "joints": _saying(fact, said)})
    return joints


def joints_of(placer: Placer, names: Names, facts: Mapping[str, Fact[Any]]) -> tuple[list[JointAt], Mapping[str, Fact[Any]]]:
    """Return the joints that stand on lines of their own, and the facts of the build with their full names."""
    joints: list[JointAt] = []
    full: dict[Joint, Joint] = {}
    for prefix, terminal, at, place in placer.joints:
        first = names.node(terminal, prefix, place, terminal)
        second = names.node(at, prefix, place, terminal)
        if first is None or second is None:
            continue
        if not prefix:
            full[Joint(terminal, at)] = Joint(first, second)
        if first != second:
            joints.append(JointAt(first, second, place))
    fact = facts.get("joints")
    if fact is None or fact.value is None:
        return joints, facts
    return joints, {**facts, "joints": _saying(fact, [full.get(joint, joint) for joint in fact.value])}


def _saying(fact: Fact[Any], joints: list[Joint]) -> Fact[Any]:
    return Fact(tuple(joints), fact.source, fact.origin, fact.answer, fact.document, fact.below)
