"""Too many lugs on one stud, a small lug under a large one, a lug whose hole is not that of the stud."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount
from ohmwright_grammar.kinds.part import STUDS, Terminal
from ohmwright_grammar.quantities import Gauge
from ohmwright_grammar.records import record

from ohmwright_rules.conductors import gauge_of
from ohmwright_rules.terminals import is_bare_metal, pin_at, place_of_terminal, terminal_at
from ohmwright_rules.wording import listed

RULE = Rule(
    id="crowded-stud",
    title="Lugs on a stud do not sit as they should",
    family="connectors",
    subject="terminal",
    covers=("G13",),
    grades=(
        Grade("too-many", Severity.WARNING, "more than four lugs lie on one stud"),
        Grade("wrong-hole", Severity.WARNING, "the hole of the lugs is not that of the stud"),
        Grade("order", Severity.NOTE, "a larger lug lies above a smaller one"),
    ),
    references=(
        Reference(
            "ABYC E-11",
            "not stated",
            "four conductors on a stud, the largest at the bottom, as marine surveyors tell it",
            "secondary",
        ),
    ),
)
_MOST = 4
_STUDS = frozenset({"stud", "wing nut"})
_KIND = "kind of the terminal"
_OTHER = "is no stud, or not said to be one while it holds four or fewer"
_BAR = "a busbar or a case, which has several studs"
_ONE_SIZE = "lugs of one size lie on it, so that their order does not matter"


@record
class _Stud:
    """A terminal that lugs lie on: the wires that end there, and the parts that sit on it."""

    node: str
    part: str
    terminal: Terminal | None
    wires: tuple[Branch, ...]
    parts: tuple[str, ...]

    @property
    def count(self) -> int:
        """How many lugs and parts lie on it."""
        return len(self.wires) + len(self.parts)

    @property
    def subject(self) -> tuple[str, ...]:
        """The part, the terminal, what lies on it."""
        return (self.part, self.node, *(wire.name for wire in self.wires), *self.parts)


def check(study: Study) -> Iterator[Outcome]:
    """Count the lugs on every stud, and look at their holes and their order."""
    left: Counter[str] = Counter()
    for stud in _studs(study):
        if is_bare_metal(study, stud.node):
            left[_BAR] += 1
        elif not _is_stud(stud.terminal):
            if stud.count > _MOST and (stud.terminal is None or stud.terminal.kind is None):
                place = place_of_terminal(study, stud.node)
                yield NotChecked("too-many", stud.subject, _KIND, place, declare="terminals { stud }")
            else:
                left[_OTHER] += 1
        else:
            yield from _number(study, stud)
            yield from _hole(study, stud)
            yield from _order(study, stud, left)
    for condition, count in sorted(left.items()):
        yield DoesNotApply(condition, count)


def _studs(study: Study) -> list[_Stud]:
    wires: dict[str, list[Branch]] = {}
    parts: dict[str, list[str]] = {}
    for wire in (*study.circuit.wires(), *(branch for branch in study.circuit.ac_branches if branch.conductor is not None)):
        if wire.conductor is not None and not wire.conductor.inside_device:
            wires.setdefault(wire.start, []).append(wire)
            wires.setdefault(wire.end, []).append(wire)
    for joint in study.build.joints:
        parts.setdefault(joint.second, []).append(study.build.nodes.get(joint.first, joint.first))
    found = []
    for node in sorted({*wires, *parts}):
        if pin_at(study, node) is None:
            held = tuple(sorted(wires.get(node, ()), key=lambda branch: branch.name))
            part = study.build.nodes.get(node, node)
            found.append(_Stud(node, part, terminal_at(study, node), held, tuple(sorted(parts.get(node, ())))))
    return found


def _is_stud(terminal: Terminal | None) -> bool:
    return terminal is not None and (terminal.kind in _STUDS or (terminal.kind is None and terminal.stud_size is not None))


def _number(study: Study, stud: _Stud) -> Iterator[Outcome]:
    measured, limit = Amount(float(stud.count), "count"), Amount(float(_MOST), "count")
    if stud.count <= _MOST:
        yield Passed("too-many", stud.subject, measured, limit)
        return
    names = listed([wire.name for wire in stud.wires] + list(stud.parts))
    yield Finding(
        "too-many",
        stud.subject,
        f"{stud.part}: {stud.count} lugs lie on {stud.node} ({names}); at most {_MOST} hold each other.",
        place_of_terminal(study, stud.node),
        measured,
        limit,
        remedy=f"Leave at most {_MOST} on {stud.node}, one of them to a busbar, and bring the others to the bar.",
        related=tuple(Related(f"{wire.name} ends here", wire.span) for wire in stud.wires),
    )


def _hole(study: Study, stud: _Stud) -> Iterator[Outcome]:
    terminal = stud.terminal
    assert terminal is not None
    if not stud.wires:
        return
    size, hole = terminal.stud_size, terminal.lug_hole
    place = place_of_terminal(study, stud.node)
    if size is None or hole is None:
        missing, declare = (
            ("size of the stud", "M8 stud")
            if size is None
            else ("hole of the lugs", f"{size} lug" if size in STUDS else f'hole "{size}"')
        )
        yield NotChecked("wrong-hole", stud.subject, missing, place, declare=f"terminals {{ {declare} }}")
    elif _fits(size, hole):
        yield Passed("wrong-hole", stud.subject)
    else:
        yield Finding(
            "wrong-hole",
            stud.subject,
            f"{stud.part}: {stud.node} is a stud of {size}, and the lugs on it have a hole for {hole}.",
            terminal.place_of(Terminal.lug_hole),
            remedy=f"Use lugs with a hole for {size}.",
            related=tuple(Related(f"{wire.name} ends here", wire.span) for wire in stud.wires),
        )


def _fits(stud: str, hole: str) -> bool:
    """Tell whether the hole of a lug is the one for a stud: the same size by its words, or no smaller and at most 0.5 mm larger by its measure."""
    if stud.replace(" ", "").lower() == hole.replace(" ", "").lower():
        return True
    one, two = _millimetres(stud), _millimetres(hole)
    return one is not None and two is not None and one - 0.1 <= two <= one + 0.5


def _millimetres(size: str) -> float | None:
    """Return the nominal diameter of a size [mm], None for words that are none.

    >>> _millimetres("M8"), _millimetres("8 mm"), _millimetres("5/16 in"), _millimetres("large")
    (8.0, 8.0, 7.9375, None)
    """
    words = size.lower().replace("mm", "").replace("inch", "in").strip()
    inches = words.endswith(("in", '"'))
    number = words.removesuffix("in").removesuffix('"').strip().removeprefix("m")
    above, _, below = number.partition("/")
    try:
        value = float(above) / float(below or "1")
    except (ValueError, ZeroDivisionError):
        return None
    return value * 25.4 if inches or below else value


def _order(study: Study, stud: _Stud, left: Counter[str]) -> Iterator[Outcome]:
    terminal = stud.terminal
    assert terminal is not None
    areas = {wire.name: _area(wire) for wire in stud.wires}
    if len(stud.wires) < 2 or (
        None not in areas.values() and len({round(area, 12) for area in areas.values() if area is not None}) == 1
    ):
        left[_ONE_SIZE] += 1
        return
    if terminal.lug_order is None:
        names = ", ".join(wire.name for wire in sorted(stud.wires, key=lambda wire: (-(areas[wire.name] or 0.0), wire.name)))
        place = place_of_terminal(study, stud.node)
        own = stud.node.removeprefix(f"{stud.part}.")
        where = "terminals" if own == stud.node else f"terminal {own}"
        yield NotChecked(
            "order",
            stud.subject,
            f"order of the lugs on {stud.node}",
            place,
            declare=f"{where} {{ lugs from the bottom {names} }}",
        )
        return
    row = [wire for name in terminal.lug_order for wire in stud.wires if name in (wire.name, wire.part)]
    unsized = next((wire for wire in row if areas[wire.name] is None), None)
    if unsized is not None:
        yield NotChecked("order", (stud.part, unsized.name), "gauge", unsized.span, declare="10 AWG")
        return
    for below, above in pairwise(row):
        if (areas[above.name] or 0.0) > (areas[below.name] or 0.0) * (1 + 1e-9):
            yield Finding(
                "order",
                stud.subject,
                f"{stud.part}: on {stud.node} {above.name} ({gauge_of(above)}) lies above {below.name} ({gauge_of(below)}); the largest lug belongs at the bottom.",
                terminal.place_of(Terminal.lug_order),
                remedy="Stack them from the bottom: "
                + ", ".join(wire.name for wire in sorted(row, key=lambda wire: -(areas[wire.name] or 0.0)))
                + ".",
                related=(Related(f"{above.name}, the larger one", above.span),),
            )
            return
    yield Passed("order", stud.subject)


def _area(wire: Branch) -> float | None:
    gauge = wire.conductor.gauge if wire.conductor is not None else None
    return float(gauge.area) if isinstance(gauge, Gauge) else None
