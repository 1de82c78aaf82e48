"""Parts that do not fit into their case, cut-outs that overlap, cables bent more tightly than they bear."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from math import hypot

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.thermal.contents import Contents
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.cable import Cable
from ohmwright_grammar.kinds.charging import Charger
from ohmwright_grammar.kinds.conductor import ConductorData
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.enclosure import Enclosure, Hole, Panel
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.kinds.part import Part, Sizes
from ohmwright_grammar.records import record

from ohmwright_rules.wording import listed

RULE = Rule(
    id="tight-fit",
    title="Parts do not fit, or a bend is too tight",
    family="enclosure",
    subject="case, panel or conductor",
    covers=("L12",),
    grades=(
        Grade("volume", Severity.WARNING, "the parts in a case, with the room around them, take more than its inside"),
        Grade("side", Severity.WARNING, "a part in a case is longer on a side than its inside, however it is turned"),
        Grade("cut-outs", Severity.WARNING, "two holes of one panel overlap"),
        Grade("bend", Severity.WARNING, "a conductor is bent more tightly than it bears"),
    ),
    references=(Reference("room around parts, least bends", "", "", "from-memory"),),
)
_ROOM = 2.0  # times its volume, for a part that says no clearance (readings.md, L12)
_BEND = 8.0  # diameters: catalogue, L12, the stiffer end of 4 to 8
_BULKY = (Battery, Inverter, Charger, Controller)
_LITRE = 1e-3  # m3


def check(study: Study) -> Iterator[Outcome]:
    """Look into every case, at every panel, along every conductor that says how it is bent."""
    without = 0
    for contents in study.contents:
        sized = [part for part in contents.parts if part.size is not None and not isinstance(part, Enclosure)]
        if contents.case.inside_size is None and not sized:
            without += 1
        else:
            yield from _case(contents, sized)
    for case in sorted(study.of(Enclosure), key=lambda case: case.name):
        yield from _holes(case)
    for panel in sorted(study.of(Panel), key=lambda panel: panel.name):
        yield from _overlaps(panel.name, list(panel.holes or ()))
    straight = 0
    wires: list[ConductorData] = [run.conductor for run in study.build.runs if not run.cable]
    for item in sorted((*wires, *study.of(Cable)), key=lambda item: item.name):
        if item.tightest_bend is None:
            straight += 1
        else:
            yield _bend(item)
    if without:
        yield DoesNotApply("a case of which neither its inside nor any of its parts says a size", without)
    if straight:
        yield DoesNotApply("a conductor that does not say how it is bent", straight)


# cases -------------------------------------------------------------------------------------------------------------


@record
class _Fit:
    """A part with the sides that it takes up, longest first [m], and the volume with the room around it [m3]."""

    part: Part
    sides: tuple[float, ...]
    volume: float
    words: str


def _sides(size: Sizes, more: float = 0.0, *, low: bool = False) -> tuple[float, ...]:
    sides = (size.width, size.depth, size.height)
    return tuple(sorted((float(side.low if low else side.high) + more for side in sides), reverse=True))


def _fit(part: Part) -> _Fit:
    assert part.size is not None
    width, depth, height = _sides(part.size)
    if part.clearance is not None:
        room = 2.0 * float(part.clearance.high)
        sides = _sides(part.size, room)
        volume = sides[0] * sides[1] * sides[2]
        return _Fit(
            part, sides, volume, f"with {shown(Amount(float(part.clearance.high), 'length', part.clearance.unit))} around it"
        )
    return _Fit(part, (width, depth, height), _ROOM * width * depth * height, f"{_ROOM:g} times its own volume")


def _case(contents: Contents, sized: list[Part]) -> Iterator[Outcome]:
    case = contents.case
    subject = (case.name, *(part.name for part in sized))
    if case.inside_size is None:
        yield Missing(f"inside size of {case.name}", case.span, "inside 400 x 300 x 250 mm").outcome("volume", subject)
        return
    inside = _sides(case.inside_size, low=True)
    fits = [_fit(part) for part in sized]
    wrong = next(
        (item for item in fits if any(is_broken(own, room, "at-most") for own, room in zip(item.sides, inside, strict=True))),
        None,
    )
    if wrong is not None:
        own, room = max(zip(wrong.sides, inside, strict=True), key=lambda pair: pair[0] / pair[1])
        measured, limit = Amount(own, "length", "mm"), Amount(room, "length", "mm")
        has, allowed = shown_pair(measured, limit)
        yield Finding(
            "side",
            (case.name, wrong.part.name),
            f"{case.name}: {wrong.part.name} has a side of {has} where the inside has {allowed}, however it is turned.",
            case.place_of(Enclosure.inside_size),
            measured,
            limit,
            remedy="Use a larger case or a smaller part.",
            related=(Related(f"the size of {wrong.part.name}", wrong.part.place_of(Part.size)),),
        )
    else:
        yield Passed("side", subject)
    total = sum(item.volume for item in fits)
    room = inside[0] * inside[1] * inside[2]
    measured, limit = Amount(total / _LITRE, "count"), Amount(room / _LITRE, "count")
    if is_broken(total, room, "at-most"):
        steps = (
            *(Step(f"V_{item.part.name}", item.words, item.volume / _LITRE, "l", "as declared") for item in fits),
            Step("V_inside", " x ".join(f"{side * 1000:.4g}" for side in inside) + " mm", room / _LITRE, "l", "as declared"),
        )
        yield Finding(
            "volume",
            subject,
            f"{case.name}: {listed([item.part.name for item in fits])} take {total / _LITRE:.3g} litres with the room around them; "
            f"the inside has {room / _LITRE:.3g} litres.",
            case.place_of(Enclosure.inside_size),
            measured,
            limit,
            working=steps,
            remedy="Use a larger case, or say of each part which clearance it needs where that is less.",
        )
        return
    silent = [part for part in contents.parts if part.size is None and isinstance(part, _BULKY)]
    if silent:
        others = f" and {len(silent) - 1} more" if len(silent) > 1 else ""
        missing = Missing(f"size of {silent[0].name}{others}", silent[0].span, "size 200 x 150 x 80 mm")
        yield missing.outcome("volume", (case.name, *(part.name for part in silent)))
    else:
        yield Passed("volume", subject, measured, limit)


# cut-outs ----------------------------------------------------------------------------------------------------------


def _holes(case: Enclosure) -> Iterator[Outcome]:
    by_panel: dict[str, list[Hole]] = {}
    for hole in case.holes or ():
        by_panel.setdefault(hole.panel or case.name, []).append(hole)
    for panel in case.panels or ():
        by_panel.setdefault(panel.name, []).extend(panel.holes or ())
    for name, holes in sorted(by_panel.items()):
        yield from _overlaps(name, holes)


def _overlaps(panel: str, holes: list[Hole]) -> Iterator[Outcome]:
    placed = [hole for hole in sorted(holes, key=lambda hole: hole.name) if hole.centre is not None and _half(hole) is not None]
    if len(placed) < 2:
        return
    for one, two in combinations(placed, 2):
        gap = _gap(one, two)
        if gap < -1e-9:
            measured, limit = Amount(-gap, "length", "mm"), Amount(0.0, "length", "mm")
            yield Finding(
                "cut-outs",
                (panel, one.name, two.name),
                f"{panel}: the holes {one.name} and {two.name} overlap by {shown(measured)}.",
                one.span,
                measured,
                limit,
                remedy="Move one of them, and leave as much material between as the panel is thick.",
                related=(Related(f"the other hole, {two.name}", two.span),),
            )
            return
    yield Passed("cut-outs", (panel, *(hole.name for hole in placed)))


def _half(hole: Hole) -> tuple[float, float] | None:
    """Return half of the width and of the height of a hole [m]."""
    if hole.extent is not None:
        return float(hole.extent.width.high) / 2.0, float(hole.extent.height.high) / 2.0
    return (float(hole.diameter.high) / 2.0,) * 2 if hole.diameter is not None else None


def _gap(one: Hole, two: Hole) -> float:
    """Return the material between two holes [m], negative where they overlap."""
    assert one.centre is not None and two.centre is not None
    first, second = _half(one), _half(two)
    assert first is not None and second is not None
    across = abs(float(one.centre.across.nominal) - float(two.centre.across.nominal))
    up = abs(float(one.centre.up.nominal) - float(two.centre.up.nominal))
    if one.extent is None and two.extent is None:
        return hypot(across, up) - first[0] - second[0]
    return max(across - first[0] - second[0], up - first[1] - second[1])


# bends -------------------------------------------------------------------------------------------------------------


def _bend(item: ConductorData) -> Outcome:
    assert item.tightest_bend is not None
    subject = (item.name,)
    least, words = None, ""
    if isinstance(item, Cable):
        if item.least_bend is not None:
            least, words = float(item.least_bend.high), "as declared"
        elif item.outer_diameter is not None:
            times = float(item.least_bend_diameters.high) if item.least_bend_diameters is not None else _BEND
            least = times * float(item.outer_diameter.high)
            words = f"{times:g} x {shown(Amount(float(item.outer_diameter.high), 'length', 'mm'))}"
        if least is None:
            return NotChecked("bend", subject, "outer diameter", item.span, declare="outer diameter 11 mm")
    elif item.outer_diameter is not None:
        least = _BEND * float(item.outer_diameter.high)
        words = f"{_BEND:g} x {shown(Amount(float(item.outer_diameter.high), 'length', 'mm'))}"
    else:
        return NotChecked("bend", subject, "outer diameter", item.span, declare="outer diameter 11 mm")
    measured = Amount(float(item.tightest_bend.low), "length", item.tightest_bend.unit)
    limit = Amount(least, "length", "mm")
    if not is_broken(measured.value, least, "at-least"):
        return Passed("bend", subject, measured, limit, "at-least")
    has, wanted = shown_pair(measured, limit)
    return Finding(
        "bend",
        subject,
        f"{item.name}: it is bent to {has}; {wanted} is the least that it bears ({words}), and a forced bend strains lug and terminal.",
        item.place_of(ConductorData.tightest_bend),
        measured,
        limit,
        "at-least",
        working=(Step("r_min", words, least, "m", "as declared" if words == "as declared" else "from memory"),),
        remedy=f"Give it room for a bend of {wanted}, or use a finer-stranded one that bears a tighter bend.",
    )
