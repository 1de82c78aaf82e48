"""On which terms the two sides of a comparison are judged: those of the old side for both, so that no change lowers the bar that judges it."""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from dataclasses import field
from datetime import date
from pathlib import Path

from ohmwright_grammar.records import record

from ohmwright import rules
from ohmwright.baselines import Baseline
from ohmwright.commands.common import Limits, complain
from ohmwright.commands.sides import Side
from ohmwright.commands.terms import BARS
from ohmwright.commands.trees import Tree
from ohmwright.findings import Severity
from ohmwright.inspecting import InspectOptions
from ohmwright.paths import SETTINGS, SHARED
from ohmwright.settings.accepting import AcceptedWaiver, accepted_waivers
from ohmwright.settings.model import OFF, Fault, Settings
from ohmwright.settings.names import unknown_in
from ohmwright.settings.patterns import covers
from ohmwright.settings.site import site_of

__all__ = ["Kept", "Marks", "Terms", "given_settings", "read_tree_baseline", "terms_of", "usual_severities"]


@record
class Kept:
    """The settings of one folder of a side, and what is wrong with them; `file` is their path from the top, "" where there are none."""

    folder: str
    file: str
    settings: Settings
    faults: tuple[Fault, ...] = ()


_NOTHING = Kept("", "", Settings())


class Marks:
    """The files of settings of one side, found and read once each."""

    def __init__(self, tree: Tree) -> None:
        self.tree = tree
        self._known: dict[str, Kept | None] = {}

    def of(self, folder: str) -> Kept:
        """Return the settings that hold for a folder: those of the nearest one upwards that has some."""
        while True:
            found = self.at(folder)
            if found is not None:
                return found
            if not folder:
                return _NOTHING
            folder = folder.rpartition("/")[0]

    def at(self, folder: str) -> Kept | None:
        """Return the settings that stand in a folder, None where none do."""
        if folder not in self._known:
            self._known[folder] = self._read(folder)
        return self._known[folder]

    def _read(self, folder: str) -> Kept | None:
        before = f"{folder}/" if folder else ""
        if self.tree.has(f"{before}{SETTINGS}"):
            return self._kept(folder, f"{before}{SETTINGS}", False)
        data = self.tree.read(f"{before}{SHARED}") if self.tree.has(f"{before}{SHARED}") else None
        if data is None or b"ohmwright" not in data:
            return None
        from ohmwright.settings.shared import table_in

        return self._kept(folder, f"{before}{SHARED}", True) if table_in(data) else None

    def _kept(self, folder: str, file: str, shared: bool) -> Kept:
        from ohmwright.settings.reading import as_faults, read

        source = self.tree.sources("").read(file)
        if source.problems:
            return Kept(folder, file, Settings(), as_faults(source.problems))
        found = read(source.text, file, shared=shared, folder=folder)
        return Kept(folder, file, found.settings or Settings(), found.faults)


@record
class Terms:
    """The terms for the builds of one folder: how they are inspected, what is left out, which waivers are accepted; `folder` is that of the old side."""

    kept: Kept
    options: InspectOptions
    bar: Severity
    accepted: tuple[AcceptedWaiver, ...] = ()
    faults: tuple[str, ...] = ()
    baseline: Baseline | None = field(default=None, compare=False)

    def leaves_out(self, path: str) -> bool:
        """Tell whether a build, named from the folder of the settings, is left out."""
        return any(item.what == "path" and covers(item.name, path) for item in self.kept.settings.left_out)

    def accepted_for(self, path: str) -> tuple[AcceptedWaiver, ...]:
        """Return the waivers that are accepted in a build, named from the folder of the settings."""
        return tuple(item for item in self.accepted if covers(item.build, path))


def given_settings(named: str | None) -> tuple[Kept | None, bool]:
    """Return the settings that the command line puts in place of all others, None where it puts none, and whether they can be used."""
    if named is None:
        return None, True
    if named == "none":
        return Kept("", "", Settings()), True
    from ohmwright.settings.finding import given_settings as read_given

    settings, faults = read_given(named)
    for fault in faults:
        complain(str(fault))
    return Kept("", named, settings), not faults


def terms_of(kept: Kept, side: Side, options: argparse.Namespace, limits: Limits, given: bool) -> Terms:
    """Return the terms that settings of the old side make; what cannot be used of them is told in `faults`."""
    settings = kept.settings
    faults: list[Fault] = list(kept.faults)
    packs = rules.installed_packs()
    site, wrong = site_of(settings)
    faults.extend(wrong)
    if settings.file:
        faults.extend(unknown_in(settings, packs))
    accepted, _ = accepted_waivers(settings)  # what is wrong with their words is told with the names
    changes = {item.grade: item.severity for item in settings.grades}
    required = getattr(options, "require_checked", None)
    inspect_options = InspectOptions(
        today=options.today or date.today(),
        basis=options.basis,
        reached=(options.states or settings.states) == "reached",
        budget=limits,
        silent_basis=settings.basis,
        silent_from=settings.file,
        require_checked=bool(settings.require_checked) if required is None else required,
        severities={grade: BARS[word] for grade, word in changes.items() if word != OFF},
        off=frozenset(grade for grade, word in changes.items() if word == OFF),
        without=frozenset(item.name for item in settings.left_out if item.what == "family"),
        site=site,
    )
    baseline, more = _baseline(kept, side, options, given)
    bar = BARS[options.bar or settings.bar or "error"]
    return Terms(kept, inspect_options, bar, accepted, tuple(map(str, (*faults, *more))), baseline)


def _baseline(kept: Kept, side: Side, options: argparse.Namespace, given: bool) -> tuple[Baseline | None, Sequence[Fault]]:
    from ohmwright.baseline_files import read_baseline

    named = options.baseline
    if named == "none" or not (named or kept.settings.baseline):
        return None, ()
    if named:
        return read_baseline(Path(named), named)
    if given:
        place = Path(kept.settings.folder) / kept.settings.baseline
        return read_baseline(place, str(place))
    path = f"{kept.folder}/{kept.settings.baseline}" if kept.folder else kept.settings.baseline
    return read_tree_baseline(side.tree, path)


def read_tree_baseline(tree: Tree, path: str) -> tuple[Baseline | None, tuple[Fault, ...]]:
    """Return the baseline that a side has at a path, and what is wrong with it."""
    from ohmwright_grammar.spans import Span

    from ohmwright.baseline_files import read_text

    data = tree.read(path)
    if data is None:
        return None, (Fault("There is no such baseline.", Span(path, 1, 1, 1, 2), "Write it with --write-baseline."),)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return None, (Fault("The baseline is no UTF-8.", Span(path, 1, 1, 1, 2)),)
    return read_text(text, path)


def usual_severities(names: Sequence[str]) -> Mapping[str, str]:
    """Return the severity of grades that no setting changes, those left out that no installed pack has."""
    from ohmwright.settings.names import grades_of

    found: dict[str, str] = {}
    packs = rules.installed_packs()
    for name in names:
        try:
            found.update(grades_of(packs, {name: ""}))
        except KeyError:
            continue
    return found
