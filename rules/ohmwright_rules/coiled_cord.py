"""A cord that is used while wound up."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference, Step
from ohmwright.rules import Case, Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.records import record, replace

from ohmwright_rules.ampacity import Ampacity, demand
from ohmwright_rules.basis import Basis
from ohmwright_rules.conductors import (
    basis_of,
    gauge_of,
    laying_of,
    marked_current,
    rated,
    said_of_missing,
    temperature_of_air,
    unsaid_of,
)
from ohmwright_rules.cords import Cord, cords_of
from ohmwright_rules.duty import Loading, loadings
from ohmwright_rules.feeding import Feed, largest_feed, reaches_source
from ohmwright_rules.fusing import rating_at_most
from ohmwright_rules.laying import Unknown
from ohmwright_rules.outlets import is_outlet
from ohmwright_rules.terminals import part_at
from ohmwright_rules.verdicts import verdict, worst_of_each_state

RULE = Rule(
    id="coiled-cord",
    title="Cord wound up in use",
    family="conductors",
    subject="cable",
    covers=("D5",),
    grades=(
        Grade("over-wound", Severity.ERROR, "a steady current is larger than the cord's value times the marking of its reel"),
        Grade(
            "over-lowest-marking",
            Severity.WARNING,
            "a steady current is larger than 0.22 of the cord's value, the lowest marking read, and the reel says nothing",
        ),
        Grade("fuse-over-wound", Severity.WARNING, "the fuse of a cord that ends in an outlet is larger than its wound value"),
    ),
    references=(
        Reference("markings of two cord reels", "", "660 W wound and 1760 W unwound; 500 W and 2300 W", "secondary"),
        Reference("NFPA 70 (NEC)", "2023", "Table 400.5(A)(1)", "secondary"),
    ),
)
_COILED = "whether it is used coiled or on its reel"
_MARKING = "marking of the reel, wound and unwound"
_DECLARE = {_COILED: "not coiled", _MARKING: "reel marked 660 W wound; reel marked 1760 W unwound"}


@record
class _Wound:
    """What a core may carry while wound up [A], with the working; `value` and `steps` of the rating with its coil."""

    value: float
    steps: tuple[Step, ...]
    rating: Ampacity


def check(study: Study) -> Iterator[Outcome]:
    """Hold the worst steady current, and the fuse, of every cord that may be used wound up against its wound value."""
    basis = basis_of(study)
    left = {"not used wound up": 0, "carries no steady current in any state": 0, "does not end in an outlet": 0}
    for cord in cords_of(study):
        cable = cord.cable
        coiled = cable.coiled if cable is not None else None
        if coiled is False or (coiled is None and not cord.is_cord):
            left["not used wound up"] += 1
            continue
        if basis is None:
            yield NotChecked("over-wound", cord.subject, "basis", cord.span, declare=said_of_missing("basis"))
            continue
        outcomes = list(_current(study, basis, cord, coiled is True))
        yield from outcomes
        left["carries no steady current in any state"] += not outcomes
        if coiled is True:
            outlet = _outlet_of(study, cord)
            if outlet is None:
                left["does not end in an outlet"] += 1
            else:
                yield from _fuse(study, basis, cord, outlet)
    for condition, count in left.items():
        if count:
            yield DoesNotApply(condition, count)


def _marked(cord: Cord) -> bool:
    """Tell whether the reel's own marking says what the cord may carry wound up."""
    cable = cord.cable
    if cable is None or cable.reel_wound is None:
        return False
    return cable.reel_unwound is not None or marked_current(cable.reel_wound.level) is not None


def _wound(study: Study, basis: Basis, cord: Cord, core: Branch, air: float) -> _Wound | Unknown:
    """Return the wound value of a core: its own value times the coil, at most what the reel is marked with in ampere."""
    rating = rated(study, basis, core, air, as_coiled=True)
    if isinstance(rating, Unknown):
        return rating
    level = cord.cable.reel_wound.level if cord.cable is not None and cord.cable.reel_wound is not None else None
    marked = marked_current(level) if level is not None else None
    if marked is None:
        return _Wound(rating.value, rating.steps, rating)
    step = Step("I_wound", "marked on the reel for use wound up", marked, "A", "as declared")
    assert cord.cable is not None
    if cord.cable.reel_unwound is None:
        value = min(marked, rating.unwound)
        return _Wound(value, (step,), rating)
    if marked < rating.value:
        return _Wound(marked, (*rating.steps, step), rating)
    return _Wound(rating.value, rating.steps, rating)


def _current(study: Study, basis: Basis, cord: Cord, coiled: bool) -> Iterator[Outcome]:
    cases: list[Case] = []
    unsaid = ""
    for core in cord.cores:
        for loading in loadings(study):
            total = loading.total(core.name)
            if total <= 0.0:
                continue
            air, _ = temperature_of_air(study, core, loading.state)
            found = _wound(study, basis, cord, core, air)
            if isinstance(found, Unknown):
                missing = found.missing
                yield NotChecked("over-wound", cord.subject, missing, cord.span, loading.name, said_of_missing(missing))
                return
            unsaid = unsaid or unsaid_of(study, core, loading.state, as_cord=cord.is_cord)
            told = (core, loading, found)
            cases.append(Case(loading.name, Amount(total, "current"), Amount(found.value, "current"), told))
    if not cases:
        return
    verdicts = verdict(study, worst_of_each_state(cases, "at-most"), "at-most", "burn")
    worst = verdicts.worst
    marked = _marked(cord)
    if not verdicts.broken:
        if unsaid:
            yield NotChecked("over-wound", cord.subject, unsaid, cord.span, declare=said_of_missing(unsaid))
        else:
            yield Passed("over-wound", cord.subject, worst.measured, worst.limit, state=worst.state)
        return
    if not coiled:
        yield NotChecked("over-wound", cord.subject, _COILED, cord.span, worst.state, _DECLARE[_COILED])
        return
    if not marked:
        yield NotChecked("over-wound", cord.subject, _MARKING, cord.span, worst.state, _DECLARE[_MARKING])
    note = worst.note
    assert isinstance(note, tuple)
    core, loading, wound = note
    measured, allowed = shown_pair(worst.measured, worst.limit)
    gauge = gauge_of(core)
    unwound = shown(Amount(wound.rating.unwound, "current"))
    basis_words = "by the marking of its reel" if marked else "by the lowest marking read; this reel says nothing"
    yield Finding(
        "over-wound" if marked else "over-lowest-marking",
        cord.subject,
        f"{cord.name}: {measured} flows here {loading.when(core.name)} while it may be wound up; this {gauge} carries {unwound} "
        f"unwound and {allowed} wound up, {basis_words}.",
        cord.span,
        worst.measured,
        worst.limit,
        state=worst.state,
        states=verdicts.broken,
        working=(*wound.steps, loading.current_step(core.name), *loading.steps()),
        remedy=_remedy(study, basis, core, loading, wound, worst.limit.value),
        reference=RULE.references[0] if not marked else wound.rating.weakest,
        at_most=verdicts.at_most,
    )


def _remedy(study: Study, basis: Basis, core: Branch, loading: Loading, wound: _Wound, limit: float) -> str:
    from ohmwright_rules.sizing import smallest_for_current

    ways = []
    if loading.total(core.name) <= wound.rating.unwound * (1 + 1e-9):
        ways.append("unwind it wholly before use and say so (not coiled)")
    laying = laying_of(study, core, loading.state)
    carried = loading.carried(core.name)
    if not isinstance(laying, Unknown):
        asked = demand(basis, carried.continuous, carried.other)
        larger = smallest_for_current(basis, replace(laying, coiled=True), asked)
        if larger is not None:
            ways.append(f"use {larger.gauge.text} or larger")
    ways.append(f"bring the current to {shown(Amount(limit, 'current'))} or less")
    text = ", or ".join(ways)
    return f"{text[0].upper()}{text[1:]}."


def _outlet_of(study: Study, cord: Cord) -> Half | None:
    """Return the connector half at the far end of a cord into which a user can plug a load; None where there is none."""
    cores = frozenset(core.name for core in cord.cores)
    ends = sorted({node for core in cord.cores for node in (core.start, core.end)})
    for name in sorted({part.name for node in ends if isinstance(part := part_at(study, node), Half)}):
        half = study.part(name)
        here = [node for node in ends if part_at(study, node) is half]
        if isinstance(half, Half) and is_outlet(study, half) and not reaches_source(study, here, cores):
            return half
    return None


def _fuse(study: Study, basis: Basis, cord: Cord, outlet: Half) -> Iterator[Outcome]:
    cores = frozenset(core.name for core in cord.cores)
    feeds: list[tuple[Feed, Branch]] = []
    for core in cord.cores:
        for node in (core.start, core.end):
            feed = largest_feed(study, node, cores)
            if feed is not None:
                feeds.append((feed, core))
    if not feeds:
        yield DoesNotApply("no source reaches it")
        return
    feed, core = max(feeds, key=lambda item: item[0].value)
    if feed.value == float("inf") and not feed.unknown:
        yield DoesNotApply("no fuse before it, which is a matter of its own")
        return
    wound = _wound(study, basis, cord, core, temperature_of_air(study, core)[0])
    missing = wound.missing if isinstance(wound, Unknown) else unsaid_of(study, core, as_cord=cord.is_cord)
    if feed.unknown:
        missing = f"rated current of {feed.unknown}"
    if missing or isinstance(wound, Unknown):
        yield NotChecked("fuse-over-wound", cord.subject, missing, cord.span, declare=said_of_missing(missing))
        return
    measured, limit = Amount(feed.value, "current"), Amount(wound.value, "current")
    found = verdict(study, [Case("", measured, limit)], "at-most", "burn")
    if not found.broken:
        yield Passed("fuse-over-wound", cord.subject, measured, limit)
        return
    rating, allowed = shown_pair(measured, limit)
    yield Finding(
        "fuse-over-wound",
        cord.subject,
        f"{cord.name}: {feed.holder} lets {rating} pass, and anybody can plug that much into {outlet.name}; wound up, this cord "
        f"carries {allowed}.",
        cord.span,
        measured,
        limit,
        working=(*wound.steps, Step("I_fuse", f"{feed.holder} before the cord", feed.value, "A", "as declared")),
        remedy=f"{_fuse_words(basis, wound.value, allowed)}, or take it off its reel for good and say so (not coiled).",
        related=(Related("what lets the current pass", study.span(feed.holder)),),
        reference=RULE.references[0],
    )


def _fuse_words(basis: Basis, value: float, allowed: str) -> str:
    rating = rating_at_most(basis, value)
    return f"Fuse the cord at {rating:g} A or less" if rating is not None else f"Let no more than {allowed} pass"
