"""Ids of conductors that stand twice, or that a sheet kept by hand does not have."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.conductor import Conductor
from ohmwright_grammar.kinds.label import Sheet

from ohmwright_rules.wording import listed

RULE = Rule(
    id="confusing-id",
    title="Id of a conductor twice, or not on its sheet",
    family="labels",
    subject="conductor or sheet",
    covers=("M7",),
    grades=(
        Grade("twice", Severity.WARNING, "two conductors have the same id or label"),
        Grade("not-on-sheet", Severity.WARNING, "a sheet of conductors that is kept by hand lacks some of them"),
        Grade("unknown", Severity.WARNING, "a sheet that is kept by hand names something that the build does not have"),
    ),
    references=(Reference("guides to electrical drawings and cable lists", "", "", "secondary"),),
)


def check(study: Study) -> Iterator[Outcome]:
    """Compare the ids of all conductors with each other and with the sheets that are kept by hand."""
    ids: dict[str, list[Conductor]] = {}
    names: dict[str, str] = {}
    for run in study.build.runs:
        conductor = run.conductor
        names[run.name] = conductor.reference or run.name
        for word in dict.fromkeys((conductor.reference or run.name, conductor.label_text or "")):
            if word:
                ids.setdefault(word, []).append(conductor)
    yield from _twice(ids)
    sheets = sorted((sheet for sheet in study.of(Sheet) if sheet.kept_by_hand and sheet.rows), key=lambda sheet: sheet.name)
    known = _known(study) | set(names) | set(names.values())
    for sheet in sheets:
        yield from _sheet(sheet, names, known)
    if not sheets:
        yield DoesNotApply("no sheet with ids is kept by hand")


def _twice(ids: dict[str, list[Conductor]]) -> Iterator[Outcome]:
    twice = {word: its for word, its in sorted(ids.items()) if len(its) > 1}
    for word, its in twice.items():
        yield Finding(
            "twice",
            tuple(conductor.name for conductor in its),
            f"{listed([conductor.name for conductor in its])}: {len(its)} conductors are called {word!r}; none of them can be traced from a drawing to the box.",
            its[1].span,
            remedy="Give each an id of its own.",
            related=(Related(f"{its[0].name} has it too", its[0].span),),
        )
    once = tuple(sorted({its[0].name for its in ids.values() if len(its) == 1}))
    if once and not twice:
        yield Passed("twice", once)


def _known(study: Study) -> set[str]:
    """Return every name and reference of a part, cable or label."""
    found = set(study.build.parts) | {thing.name for thing in study.build.things}
    return found | {part.reference for part in study.build.parts.values() if part.reference}


def _sheet(sheet: Sheet, names: dict[str, str], known: set[str]) -> Iterator[Outcome]:
    rows = {row.id for row in sheet.rows or ()}
    unknown = sorted(rows - known)
    if unknown:
        yield Finding(
            "unknown",
            (sheet.name, *unknown),
            f"{sheet.name}: it lists {listed(unknown)}, and nothing in the build is called so.",
            sheet.place_of(Sheet.rows),
            remedy="Take it from the sheet, or bring build and sheet to one name.",
        )
    else:
        yield Passed("unknown", (sheet.name,))
    if rows.isdisjoint(names) and rows.isdisjoint(names.values()):
        return  # a sheet of something else
    lacking = sorted(name for name, word in names.items() if name not in rows and word not in rows)
    if lacking:
        yield Finding(
            "not-on-sheet",
            (sheet.name, *lacking),
            f"{sheet.name}: it lists conductors, but not {listed(lacking)}; whoever works from it builds without.",
            sheet.span,
            remedy="Bring the sheet up to date.",
        )
    else:
        yield Passed("not-on-sheet", (sheet.name,))
