"""Parts, wires and other things of which only the name changed.

What is on one side only is told apart by what is said of it and by what it is joined to, round by round, with names that are not matched yet left out. What is
then alike and alone on both sides is one thing under two names; each such pair is held against everything that is said at the end, so that a name never hides
a change.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping
from typing import Any

from ohmwright_grammar.model import Build
from ohmwright_grammar.records import record
from ohmwright_grammar.things import Fact

from ohmwright.comparing.normal import Renamed, normal, renaming

__all__ = ["MOST_UNMATCHED", "renamed_parts", "renamed_states"]

MOST_UNMATCHED = 2000  # things without a counterpart, beyond which nobody changed names only
_ROUNDS = 6
_ONE_BY_ONE = 40  # times that one of several that are all alike is taken by its name

_Facts = Mapping[str, Fact[Any]]


@record
class _Item:
    """Something with a name: what is said of it, and the nodes that it joins (of a wire)."""

    kind: str
    facts: _Facts
    ends: tuple[str, ...] = ()

    def form(self, renamed: Renamed) -> Hashable:
        said = tuple(sorted((name, normal(fact, renamed)) for name, fact in self.facts.items()))
        return (self.kind, said, tuple(renamed(end) for end in self.ends))


def renamed_parts(old: Build, new: Build) -> dict[str, str]:
    """Return the names of the old build that are others in the new one, though nothing else of their things changed."""
    before, after = _items(old), _items(new)
    gone = {name: item for name, item in before.items() if name not in after}
    come = {name: item for name, item in after.items() if name not in before}
    if not gone or not come or len(gone) + len(come) > MOST_UNMATCHED:
        return {}
    pairs: dict[str, str] = {}
    for _ in range(_ONE_BY_ONE):
        found = _paired(gone, come, pairs, old, new)
        if not found:
            break
        pairs.update(found)
    return _certain(pairs, before, after)


def renamed_states(old: Build, new: Build, names: Mapping[str, str]) -> dict[str, str]:
    """Return the declared states that are called otherwise and say the same."""
    known = {state.name for state in old.states} & {state.name for state in new.states}
    renamed = renaming(names)
    gone = {state.name: _Item("state", state.facts).form(renamed) for state in old.states if state.name not in known}
    come = {state.name: _Item("state", state.facts).form(renaming({})) for state in new.states if state.name not in known}
    return _alone(gone, come)


def _items(build: Build) -> dict[str, _Item]:
    found: dict[str, _Item] = {name: _Item(part.KIND, part.facts) for name, part in build.parts.items()}
    for run in build.runs:
        found[run.name] = _Item(run.conductor.KIND, run.conductor.facts, (run.start, run.end, run.cable))
    for thing in build.things:
        if thing.name and thing.NAMED and thing.KIND != "require":
            found.setdefault(thing.name, _Item(thing.KIND, thing.facts))
    return found


def _paired(
    gone: Mapping[str, _Item], come: Mapping[str, _Item], pairs: Mapping[str, str], old: Build, new: Build
) -> dict[str, str]:
    """Return further pairs: all that are alike and alone, else one of several that nothing tells apart."""
    left = {name: item for name, item in gone.items() if name not in pairs}
    taken = set(pairs.values())
    right = {name: item for name, item in come.items() if name not in taken}
    colours: dict[Hashable, int] = {}
    before = _Colours(left, old, pairs, colours)
    after = _Colours(right, new, {}, colours)
    for _ in range(_ROUNDS):
        alone = _alone(before.now, after.now)
        if alone:
            return alone
        before.refine()
        after.refine()
    alone = _alone(before.now, after.now)
    if alone:
        return alone
    groups = _groups(before.now), _groups(after.now)
    for colour, names in sorted(groups[0].items(), key=lambda pair: pair[1]):
        others = groups[1].get(colour, [])
        if len(names) == len(others):
            return {min(names): min(others)}
    return {}


class _Colours:
    """What tells the unmatched things of one side apart: a number for each form, the same numbers on both sides."""

    def __init__(self, items: Mapping[str, _Item], build: Build, pairs: Mapping[str, str], known: dict[Hashable, int]) -> None:
        self.items = items
        self.pairs = pairs
        self.known = known
        self.now: dict[str, int] = dict.fromkeys(items, 0)
        self.joined: dict[str, list[tuple[str, str]]] = {name: [] for name in items}  # wires at a part: terminal and wire
        for run in build.runs:
            for node in (run.start, run.end):
                part = build.nodes.get(node, node)
                if part in self.joined:
                    self.joined[part].append((node[len(part) :], run.name))
        self.refine()

    def refine(self) -> None:
        names: dict[str, Hashable] = {**self.pairs, **{name: ("?", colour) for name, colour in self.now.items()}}
        renamed = renaming(names)

        def form(name: str, item: _Item) -> Hashable:
            joined = sorted((terminal, str(renamed(wire))) for terminal, wire in self.joined[name])
            return (item.form(renamed), tuple(joined))

        self.now = {
            name: self.known.setdefault(form(name, item), len(self.known) + 1) for name, item in sorted(self.items.items())
        }


def _groups(forms: Mapping[str, Hashable]) -> dict[Hashable, list[str]]:
    found: dict[Hashable, list[str]] = {}
    for name, form in sorted(forms.items()):
        found.setdefault(form, []).append(name)
    return found


def _alone(before: Mapping[str, Hashable], after: Mapping[str, Hashable]) -> dict[str, str]:
    """Return the names whose form one thing of each side has, and no other."""
    left, right = _groups(before), _groups(after)
    return {names[0]: right[form][0] for form, names in left.items() if len(names) == 1 and len(right.get(form, ())) == 1}


def _certain(pairs: dict[str, str], before: Mapping[str, _Item], after: Mapping[str, _Item]) -> dict[str, str]:
    """Return the pairs of which everything that is said is the same, once each name is put in the place of the other."""
    while pairs:
        renamed = renaming(pairs)
        wrong: Iterable[str] = [
            name for name, other in pairs.items() if before[name].form(renamed) != after[other].form(renaming({}))
        ]
        if not wrong:
            return pairs
        pairs = {name: other for name, other in pairs.items() if name not in set(wrong)}
    return {}
