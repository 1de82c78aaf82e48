"""Batteries in series: the longest string that runs through each battery, and the inner points at which two of them meet.

By connection: with everything closed that can be at once, or, where that would short-circuit a battery (a series-parallel switch), in every position of the states.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from ohmwright.study import Study
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.records import record

from ohmwright_rules.banks import batteries
from ohmwright_rules.kept import kept
from ohmwright_rules.live_sides import live_sides
from ohmwright_rules.nets import Layout, layout_of

__all__ = ["Stack", "inner_points", "layouts_of_batteries", "strings_of"]

_Links = dict[int, list[tuple[int, Battery]]]


@record
class Stack:
    """A string of batteries, from the minus end to the plus end."""

    members: tuple[Battery, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """The names of the batteries, from the minus end to the plus end."""
        return tuple(battery.name for battery in self.members)

    def total(self, value: Callable[[Battery], float | None]) -> float | None:
        """Return what a value of each member adds up to, None where that of one is not known."""
        values = [value(battery) for battery in self.members]
        return None if None in values else sum(item for item in values if item is not None)


def layouts_of_batteries(study: Study) -> tuple[tuple[Layout, frozenset[str]], ...]:
    """Return the layouts in which batteries are to be looked at, each with its open gates.

    One with everything closed where that can be and shorts none; else one for each position of selectors, of switches that bar each other and of plugs that
    fit one socket. Links of a row beyond the most that may be joined stay open.
    """
    return kept(study, _layouts)


def _layouts(study: Study) -> tuple[tuple[Layout, frozenset[str]], ...]:
    from ohmwright_rules.positions import positions

    every = batteries(study)
    if not every:
        return ()
    never = study.anatomy.never_joined
    gates = dict.fromkeys(poles.ways.open_gates | never for poles in live_sides(study))
    found = tuple((layout_of(study, opened), opened) for opened in gates)
    if not any(layout.joined(f"{battery.name}.plus", f"{battery.name}.minus") for layout, _ in found for battery in every):
        return found
    usual = [place for place in positions(study) if not any(state.setup.after_failure for state in place.states)]
    return tuple((layout_of(study, place.open_gates), place.open_gates) for place in usual) or found


def strings_of(study: Study) -> dict[str, Stack]:
    """Return the longest string through every battery that lies in series with another, by its name."""
    return kept(study, _strings)


def _strings(study: Study) -> dict[str, Stack]:
    found: dict[str, Stack] = {}
    for layout, _ in layouts_of_batteries(study):
        up, down = _links(study, layout)
        above: dict[int, tuple[Battery, ...]] = {}
        below: dict[int, tuple[Battery, ...]] = {}
        for battery in batteries(study):
            plus, minus = layout.net(f"{battery.name}.plus"), layout.net(f"{battery.name}.minus")
            if plus == minus:
                continue
            members = (
                *reversed(_longest(minus, down, below, frozenset((plus,)))),
                battery,
                *_longest(plus, up, above, frozenset((minus,))),
            )
            if len(members) > max(1, len(found[battery.name].members) if battery.name in found else 1):
                found[battery.name] = Stack(members)
    return found


def _links(study: Study, layout: Layout) -> tuple[_Links, _Links]:
    up: _Links = {}
    down: _Links = {}
    for battery in batteries(study):
        plus, minus = layout.net(f"{battery.name}.plus"), layout.net(f"{battery.name}.minus")
        if plus != minus:
            up.setdefault(minus, []).append((plus, battery))
            down.setdefault(plus, []).append((minus, battery))
    return up, down


def _longest(net: int, at: _Links, known: dict[int, tuple[Battery, ...]], barred: frozenset[int]) -> tuple[Battery, ...]:
    """Return the longest way from a net, each net once; ways that a ring would close are left out."""
    order: list[int] = []
    seen = set(barred)
    stack = [(net, False)]
    while stack:
        here, done = stack.pop()
        if done:
            order.append(here)
            continue
        if here in seen or here in known:
            continue
        seen.add(here)
        stack.append((here, True))
        stack.extend((far, False) for far, _ in at.get(here, ()) if far not in seen)
    for here in order:
        ways = [(battery, *known.get(far, ())) for far, battery in at.get(here, ()) if far not in barred]
        known[here] = max(ways, key=len, default=())
    return known.get(net, ())


def inner_points(study: Study) -> Iterator[tuple[Layout, int, tuple[Battery, ...], tuple[Battery, ...]]]:
    """Yield every net at which batteries meet in series, with its layout, those whose plus lies there and those whose minus does."""
    for layout, _ in layouts_of_batteries(study):
        up, down = _links(study, layout)
        for net in sorted(set(up) & set(down)):
            yield layout, net, tuple(item for _, item in down[net]), tuple(item for _, item in up[net])
