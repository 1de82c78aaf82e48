"""Fuses at whose holder no label says which fuse belongs there."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.references import common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount, shown
from ohmwright_grammar.kinds.fuse import Fuse

from ohmwright_rules.holders import fuses_of, held_of
from ohmwright_rules.labelling import stated_at
from ohmwright_rules.wording import listed

RULE = Rule(
    id="unmarked-fuse",
    title="Fuse not marked at its holder",
    family="labels",
    subject="fuse",
    covers=("M3",),
    grades=(
        Grade(
            "no-label",
            Severity.WARNING,
            "no label at the holder states current, voltage for DC and family of the fuse",
            "circuit",
        ),
    ),
    references=(common_practice("what is at hand gets fitted"),),
)
_GRADE = "no-label"
_WANTED = ("current", "voltage", "family")


def check(study: Study) -> Iterator[Outcome]:
    """Read the labels at every fuse, at its holder and at its fuse block; a breaker says it itself."""
    fuses = fuses_of(study)
    bare: list[tuple[Fuse, tuple[str, ...]]] = []
    for fuse in fuses:
        held = held_of(study, fuse)
        places = [fuse.name] + ([held.part] if held is not None and held.part else [])
        stated = stated_at(study, places)
        missing = tuple(word for word in _WANTED if word not in stated)
        if missing:
            bare.append((fuse, missing))
        else:
            yield Passed(_GRADE, (fuse.name,))
    if not fuses:
        yield DoesNotApply("no fuse in a holder")
    if bare:
        yield _finding(bare)


def _finding(bare: list[tuple[Fuse, tuple[str, ...]]]) -> Finding:
    names = [fuse.name for fuse, _ in bare]
    lacks = [word for word in _WANTED if any(word in missing for _, missing in bare)]
    first = bare[0][0]
    return Finding(
        _GRADE,
        tuple(names),
        f"{listed(names)}: no label at the holder states {listed(lacks)}; whoever replaces a blown fuse takes what fits.",
        first.span,
        Amount(float(len(bare)), "count"),
        Amount(0.0, "count"),
        remedy=f"Put a label at each, for instance {first.name}: {_text(first)!r}; or, where all carry those of the generated sheet: site {{ labels as generated }}",
        related=tuple(Related(f"{fuse.name}: {_text(fuse)!r}", fuse.span) for fuse, _ in bare[1:6]),
    )


def _text(fuse: Fuse) -> str:
    """Return what a label should say, from what is known of the fuse."""
    words = []
    if fuse.rated_current is not None:
        words.append(shown(Amount(float(fuse.rated_current.nominal), "current", fuse.rated_current.unit)))
    if fuse.voltage_dc is not None:
        words.append(f"{shown(Amount(float(fuse.voltage_dc.nominal), 'voltage', fuse.voltage_dc.unit))} DC")
    if fuse.family is not None:
        words.append(fuse.family)
    return ", ".join(words) or "current, voltage, family"
