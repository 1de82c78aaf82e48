"""Parts with ratings of which nobody says where they come from."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.references import common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.charging import Charging
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.distribution import Bus, FuseBlock, Shunt
from ohmwright_grammar.kinds.fuse import Fuse, Holder
from ohmwright_grammar.kinds.inverter import Converter, Inverter
from ohmwright_grammar.kinds.part import Part, RatingSource
from ohmwright_grammar.kinds.switch import Switching
from ohmwright_grammar.quantities import Quantity

from ohmwright_rules.wording import listed

RULE = Rule(
    id="unsourced-rating",
    title="Rating without a source",
    family="labels",
    subject="part",
    covers=("M13",),
    grades=(
        Grade(
            "no-source",
            Severity.NOTE,
            "a part has ratings, and neither a document with its date nor the word that they are assumed",
            "itself",
        ),
    ),
    references=(common_practice("a guessed rating passes a check"),),
)
_GRADE = "no-source"
_RATED = (Array, Battery, Bus, Charging, Converter, Fuse, FuseBlock, Half, Holder, Inverter, Shunt, Switching)
_NO_RATINGS = frozenset({"mass", "size", "price", "clearance", "stand_off", "own_drain", "own_drain_power", "joining_current"})


def check(study: Study) -> Iterator[Outcome]:
    """Ask every part that says ratings for the document that they come from."""
    bare: list[tuple[Part, str]] = []
    none = True
    for _, part in sorted(study.build.parts.items()):
        if not isinstance(part, _RATED) or not _has_ratings(part):
            continue
        none = False
        fault = _fault(part)
        if fault:
            bare.append((part, fault))
        else:
            yield Passed(_GRADE, (part.name,))
    if none:
        yield DoesNotApply("no part says a rating")
    if bare:
        names = [part.name for part, _ in bare]
        yield Finding(
            _GRADE,
            tuple(names),
            f"{listed(names)}: {bare[0][1]}; every check that passes on {'them' if len(names) > 1 else 'it'} passes on somebody's word.",
            bare[0][0].span,
            Amount(float(len(bare)), "count"),
            Amount(0.0, "count"),
            remedy='Say where ratings come from, for all at once: all parts { ratings from "…" dated 2026-01-31 }, or that they are assumed: all parts { assumed }',
            related=tuple(Related(f"{part.name}: {fault}", part.span) for part, fault in bare[1:6]),
        )


def _has_ratings(part: Part) -> bool:
    return any(isinstance(fact.value, Quantity) and name not in _NO_RATINGS for name, fact in part.facts.items())


def _fault(part: Part) -> str:
    """Return what is missing in the sources of a part's ratings, "" where nothing is."""
    if part.ratings_assumed:
        return ""
    sources: tuple[RatingSource, ...] = tuple(part.rating_sources or ())
    if not sources:
        return (
            ""
            if part.is_documented(Part.rating_sources) and not part.says_none(Part.rating_sources)
            else "no document is named for its ratings"
        )
    undated = next((source for source in sources if source.day is None), None)
    return f"its document {undated.document!r} has no date" if undated is not None else ""
