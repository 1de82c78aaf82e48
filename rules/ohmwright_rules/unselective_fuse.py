"""A main device that opens with the branch behind it, or before, and darkens everything."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.protection.far_ends import FarEnds
from ohmwright.protection.walking import Walk
from ohmwright.protection.ways import DEVICE
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.tables import load
from ohmwright.values import Amount, figures, shown
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.records import record

from ohmwright_rules.faults import Setting, faults_of
from ohmwright_rules.guarding import device_word, rating_of
from ohmwright_rules.nobattery import way_when_open
from ohmwright_rules.opening import TABLES, Curve, curve_missing, curve_of
from ohmwright_rules.sunside import sides
from ohmwright_rules.wording import listed

RULE = Rule(
    id="unselective-fuse",
    title="Main device opens with its branch",
    family="protection",
    subject="device",
    covers=("F14",),
    grades=(
        Grade("leaves-panel", Severity.WARNING, "a device is not selective with one behind it, and its opening leaves a controller on its panel without a battery"),
        Grade("darkens", Severity.NOTE, "a device is not selective with one behind it, and feeds other things too"),
    ),
    references=(Reference("IEC 60269-2; makers' ratio tables", "as remembered", "ratio of ratings in series", "from-memory"),),
)  # fmt: skip
_RATIO = 1.6
_ALONE = "it feeds nothing but what the device behind it feeds"


@record
class _Pair:
    """A device and the nearest one before it, on one walk."""

    upper: Branch
    lower: Branch
    setting: Setting
    walk: Walk


@record
class _Verdict:
    """What is said of a pair: the ratio, or by curves the current at which the upper opens first [A]; `missing` where neither can be told."""

    pair: _Pair
    ratio: float
    needed: float
    crossing: float | None
    reference: Reference
    missing: Missing | None = None

    @property
    def broken(self) -> bool:
        return self.crossing is not None if self.needed == 0 else is_broken(self.ratio, self.needed, "at-least")


def check(study: Study) -> Iterator[Outcome]:
    """Compare every device with the nearest one before it."""
    packs = tuple(f"{instance}." for row in study.build.rows for instance in row.instances)
    alone = 0
    by_upper: dict[str, dict[str, _Verdict]] = {}
    for setting in faults_of(study).settings:
        for walk in setting.ends.walks:
            if walk.pole.source.name.startswith(packs) and packs:
                continue
            pairs = list(_pairs(setting, walk))
            largest = setting.largest((pair.lower.start, _foot(walk)) for pair, other in pairs if other)
            for pair, other in pairs:
                if not other:
                    alone += 1
                elif pair.lower.part not in by_upper.get(pair.upper.part, {}):
                    by_upper.setdefault(pair.upper.part, {})[pair.lower.part] = _compare(study, pair, largest)
    for upper in sorted(by_upper):
        yield from _judge(study, upper, [by_upper[upper][lower] for lower in sorted(by_upper[upper])])
    if alone:
        yield DoesNotApply(_ALONE, alone)


def _pairs(setting: Setting, walk: Walk) -> Iterator[tuple[_Pair, bool]]:
    """Yield each device with the nearest one before it, and whether that one feeds something else too."""
    ends: FarEnds = setting.ends
    ways = ends.ways
    takers: dict[int, int] = {}
    for place in setting.places():
        cluster = ways.cluster[place.node]
        takers[cluster] = takers.get(cluster, 0) + 1
    last: dict[int, tuple[int, int]] = {}
    for here in walk.tree:
        edge, before = walk.came_by(here), walk.before(here)
        if edge >= 0:
            last[here] = (edge, here) if ways.kinds[edge] == DEVICE else last.get(before, (-1, -1))
    for here in reversed(walk.tree):
        before = walk.before(here)
        if before >= 0:
            takers[before] = takers.get(before, 0) + takers.get(here, 0)
    for here in walk.tree:
        edge, before = walk.came_by(here), walk.before(here)
        upper, far = last.get(before, (-1, -1))
        if edge >= 0 and ways.kinds[edge] == DEVICE and upper >= 0 and takers.get(here, 0) > 0:
            yield _Pair(ways.wire(upper), ways.wire(edge), setting, walk), takers.get(far, 0) > takers.get(here, 0)


def _compare(study: Study, pair: _Pair, largest: Mapping[tuple[str, str], float]) -> _Verdict:
    upper, lower = study.part(pair.upper.part), study.part(pair.lower.part)
    assert isinstance(upper, Fuse) and isinstance(lower, Fuse)
    above, below = rating_of(study, pair.upper), rating_of(study, pair.lower)
    reference = RULE.references[0]
    for part, rating in ((upper, above), (lower, below)):
        if rating is None:
            return _Verdict(pair, 0.0, 1.0, None, reference, Missing(f"rated current of {part.name}", part.span, "30 A"))
        if part.family is None and not part.curve:
            return _Verdict(pair, 0.0, 1.0, None, reference, Missing(f"family of {part.name}", part.span, "blade"))
    assert above is not None and below is not None and below > 0
    one, two = curve_of(upper, above), curve_of(lower, below)
    declared = bool(upper.curve and lower.curve)
    if upper.family == lower.family and upper.family is not None and not declared:
        table = load(TABLES, "fuse_selectivity")
        cell = table.where("ratio_min", upstream=upper.family, downstream=lower.family)
        needed = cell.value if cell is not None else _RATIO
        return _Verdict(pair, above / below, needed, None, cell.reference if cell is not None else reference)
    if one is None or two is None:
        silent = upper if one is None else lower
        missing = curve_missing(silent)
        return _Verdict(pair, above / below, 1.0, None, reference, missing)
    crossing = _crossing(one, two, largest[pair.lower.start, _foot(pair.walk)])
    return _Verdict(pair, above / below, 0.0, crossing, one.reference if one.shortest else two.reference)


def _foot(walk: Walk) -> str:
    return walk.pole.source.plus if walk.pole.backwards else walk.pole.source.minus


def _crossing(upper: Curve, lower: Curve, largest: float) -> float | None:
    """Return the smallest current at which the upper device may open before the lower one surely has, None where there is none up to the largest."""
    start = lower.points[0].ampere
    points = {*upper.between(start, largest), *lower.between(start, largest)} if largest > start else set()
    for ampere in sorted(points):
        above, below = upper.least_time(ampere), lower.time(ampere)
        if above is not None and below is not None and above <= below:
            return ampere
    return None


def _judge(study: Study, name: str, verdicts: list[_Verdict]) -> Iterator[Outcome]:
    broken = [verdict for verdict in verdicts if verdict.missing is None and verdict.broken]
    told: set[str] = set()
    for verdict in verdicts:
        lower = verdict.pair.lower.part
        if verdict.missing is not None:
            if verdict.missing.what not in told:
                told.add(verdict.missing.what)
                yield NotChecked(
                    "darkens", (lower, name), verdict.missing.what, verdict.missing.span, declare=verdict.missing.declare
                )
        elif not verdict.broken:
            limit = Amount(verdict.needed, "count") if verdict.needed else None
            yield Passed("darkens", (lower, name), Amount(verdict.ratio, "count") if limit else None, limit, "at-least")
    if broken:
        yield _finding(study, name, broken)


def _finding(study: Study, name: str, broken: list[_Verdict]) -> Finding:
    upper = study.part(name)
    assert isinstance(upper, Fuse)
    worst = min(broken, key=lambda verdict: (verdict.ratio, verdict.pair.lower.name))
    lowers = [verdict.pair.lower for verdict in broken]
    word = device_word(upper)
    above = rating_of(study, worst.pair.upper) or 0.0
    names = listed(f"{lower.name} ({shown(Amount(rating_of(study, lower) or 0.0, 'current'))})" for lower in lowers)
    if worst.crossing is not None:
        why = f"at {shown(Amount(worst.crossing, 'current'))} it may open first"
    else:
        why = f"its rating is {figures(worst.ratio)} times that of {worst.pair.lower.name}; {worst.needed:g} times is needed"
    panel = _panel(study, worst.pair.upper)
    dark = f"and {panel} then stands on its panel without a battery" if panel else "and what else it feeds goes dark"
    below = rating_of(study, worst.pair.lower) or 0.0
    ways = (
        [f"make {name} {shown(Amount(below * worst.needed, 'current'))} or more, if its wires allow it"] if worst.needed else []
    )
    if worst.needed:
        ways.append(f"make {worst.pair.lower.name} {shown(Amount(above / worst.needed, 'current'))} or less")
    else:
        ways.append("choose devices whose time-current curves do not cross")
    text = ", or ".join(ways)
    limit = Amount(worst.needed, "count") if worst.needed else None
    return Finding(
        "leaves-panel" if panel else "darkens",
        (name, *(lower.name for lower in lowers)),
        f"{name}: this {shown(Amount(above, 'current'))} {word} may open with, or before, {names}: {why}, {dark}.",
        upper.span,
        Amount(worst.ratio, "count") if limit is not None else None,
        limit,
        "at-least",
        working=(Step("ratio", f"{above:.4g} / {below:.4g}", worst.ratio, "1", "ratings as declared"),),
        remedy=f"{text[0].upper()}{text[1:]}.",
        related=tuple(Related(f"behind it: {lower.name}", lower.span) for lower in lowers[:8]),
        reference=worst.reference,
    )


def _panel(study: Study, upper: Branch) -> str:
    """Return a controller that the opening of a device leaves on its panel without a battery, "" where it leaves none."""
    for side in sides(study):
        if side.arrays and not side.controller.bears_no_battery and way_when_open(study, side, frozenset({upper.gate})):
            return side.controller.name
    return ""
