"""Inspecting bases and planted builds, in memory: files that several builds read are read once, each base is inspected once for each mode."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from ohmwright.baselines import Baseline
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright.results import BuildResult
from ohmwright.rules import Pack, installed_packs
from ohmwright_grammar.entries import Body, Default, Entry
from ohmwright_grammar.files import FolderFiles, MemoryFiles, Source
from ohmwright_grammar.kinds.rig import Rig
from ohmwright_grammar.ordering import put_in_order
from ohmwright_grammar.printing import print_body
from ohmwright_grammar.properties import Facts
from ohmwright_grammar.resolve import Loader
from ohmwright_grammar.resolve.loading import LoadedFile
from ohmwright_grammar.spans import Span
from ohmwright_grammar.things import Fact, Thing
from ohmwright_grammar.tidying import same_meaning

from faults.edits import Draft, PlantingError
from faults.known import baseline_of
from faults.planting import Planting

__all__ = [
    "ROOT",
    "base_names",
    "base_result",
    "path_of",
    "planted_baseline",
    "planted_result",
    "planted_text",
    "printed_base",
    "printed_base_result",
]

ROOT = Path(__file__).resolve().parents[2]
_FOLDERS = ("examples/clean", "tests/faults/bases")
_DISK = FolderFiles(ROOT)
_SHARED = Loader(_DISK)


@cache
def _packs() -> tuple[Pack, ...]:
    return installed_packs()


class _Overlaid(Loader):
    """Some files from memory, all others as they were read once for all builds."""

    def __init__(self, texts: dict[str, str]) -> None:
        super().__init__(MemoryFiles(texts))
        self.texts = texts

    def file(self, path: str, asked_at: Span | None = None) -> LoadedFile | Source:
        return super().file(path, asked_at) if path in self.texts else _SHARED.file(path, asked_at)


def base_names() -> tuple[str, ...]:
    """Return the names of all builds into which faults may be planted (libraries beside them are none)."""
    files = [file for folder in _FOLDERS for file in sorted((ROOT / folder).glob("*.rig"))]
    return tuple(file.stem for file in files if any(line.startswith('rig "') for line in file.read_text("utf-8").splitlines()))


@cache
def path_of(base: str) -> str:
    """Return the path of a base from the root; PlantingError where there is none of that name."""
    found = [path for folder in _FOLDERS if (ROOT / (path := f"{folder}/{base}.rig")).is_file()]
    if len(found) != 1:
        raise PlantingError(f"there are {len(found)} bases named {base!r}; bases: {', '.join(base_names())}")
    return found[0]


@cache
def _read_base(base: str) -> Body:
    path = path_of(base)
    loaded = _SHARED.file(path)
    if not isinstance(loaded, LoadedFile) or loaded.problems:
        raise PlantingError(f"the base {base!r} cannot be read: {[problem.message for problem in loaded.problems]}")
    return loaded.body


@cache
def _shelf(base: str) -> dict[str, tuple[Entry, tuple[Default, ...]]]:
    loaded = _SHARED.file(path_of(base))
    assert isinstance(loaded, LoadedFile)
    return dict(_SHARED.shelf(loaded).entries)


def _copied(body: Body) -> Body:
    """Return a body whose lists may be changed; what they hold is never changed in place."""
    return Body(
        body.path, Facts(dict(body.rig.facts), body.rig.base), list(body.entries), list(body.defaults), list(body.changes),
        list(body.removals), dict(body.assemblies), dict(body.parameters), body.statements, body.has_rig, set(body.unread),
    )  # fmt: skip


@cache
def printed_base(base: str) -> str:
    """Return a base in canonical form, without edits."""
    return print_body(_read_base(base))


def _inspected(
    path: str,
    loader: Loader,
    reached: bool,
    today: date,
    basis: str,
    beside: Collection[str] = (),
    baseline: Baseline | None = None,
) -> BuildResult:
    """Return what is said of a build; what is said of texts beside it is added."""
    options = InspectOptions(today=today, reached=reached, basis=basis, baseline=baseline)
    result = inspect_files((path,), loader, options, _packs())
    if result.errors:
        raise PlantingError(f"the run itself failed: {[error.message for error in result.errors]}")
    more = tuple(item for build in result.builds if build.path in beside for item in build.findings)
    build = next(build for build in result.builds if build.path == path)
    return replace(build, findings=(*build.findings, *more)) if more else build


@cache
def base_result(base: str, reached: bool, today: date, basis: str) -> BuildResult:
    """Return what is said of a base as it stands."""
    return _inspected(path_of(base), _SHARED, reached, today, basis)


def _drafted(planting: Planting) -> Draft:
    """Return the base with all edits made."""
    shelf = _shelf(planting.base)
    draft = Draft(_copied(_read_base(planting.base)), shelf.get)
    for edit in planting.edits:
        edit.apply(draft)
    return draft


def planted_baseline(planting: Planting) -> Baseline | None:
    """Return the baseline that a planting brings, None where it brings none."""
    return _baseline(planting, _drafted(planting))


def _baseline(planting: Planting, draft: Draft) -> Baseline | None:
    return baseline_of(draft.known, "reached" if planting.reached else "declared")


def planted_text(planting: Planting) -> tuple[str, dict[str, str], Body | None]:
    """Return the planted build as text, the files beside it by path, and what the text must say (None where the text itself was changed)."""
    return _written(planting, _drafted(planting))


def _written(planting: Planting, draft: Draft) -> tuple[str, dict[str, str], Body | None]:
    text = print_body(draft.body)
    for change in draft.text_changes:
        text = change(text)
    folder = path_of(planting.base).rpartition("/")[0]
    return text, {f"{folder}/{name}": words for name, words in draft.files.items()}, None if draft.text_changes else draft.body


def planted_result(planting: Planting) -> BuildResult:
    """Return what is said of a planted build: written as text, read again, inspected, beside the baseline that it brings.

    PlantingError where the text that was written says something else than the edited build.
    """
    path = path_of(planting.base)
    draft = _drafted(planting)
    text, files, body = _written(planting, draft)
    loader = _Overlaid({**files, path: text})
    result = _inspected(path, loader, planting.reached, planting.today, planting.basis, files, _baseline(planting, draft))
    read = loader.file(path)
    if body is not None and (not isinstance(read, LoadedFile) or not same_meaning(_in_order(body), _in_order(read.body), {})):
        raise PlantingError("the edited build and the text that was written of it say different things")
    return result


def printed_base_result(base: str, reached: bool, today: date) -> BuildResult:
    """Return what is said of a base that was written as text and read again."""
    path = path_of(base)
    return _inspected(path, _Overlaid({path: printed_base(base)}), reached, today, "")


def _in_order(body: Body) -> Body:
    """Return a body in which nothing depends on the order of statements, and what has no name of its own has none."""
    made = _copied(body)
    made.entries = sorted((_entry_in_order(entry) for entry in body.entries), key=_rank)
    made.defaults = [replace(item, facts=_facts_in_order(item.kind, item.facts)) for item in body.defaults]
    put_in_order(Rig, made.rig.facts)
    return made


def _entry_in_order(entry: Entry) -> Entry:
    return replace(entry, name=entry.name if entry.kind.NAMED else "", facts=_facts_in_order(entry.kind, entry.facts))


def _facts_in_order(kind: type[Thing], facts: Mapping[str, Fact[Any]]) -> dict[str, Fact[Any]]:
    made = dict(facts)
    put_in_order(kind, made)
    return made


def _rank(entry: Entry) -> tuple[str, str, str]:
    values = (
        "" if entry.kind.NAMED and entry.kind.KIND != "waive" else repr([fact.value for _, fact in sorted(entry.facts.items())])
    )
    return entry.kind.KIND, entry.name, values
