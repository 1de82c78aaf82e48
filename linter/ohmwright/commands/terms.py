"""On which terms builds are inspected: the command line over the settings of their root over the defaults, the same for every command that judges."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Iterator, Mapping
from dataclasses import field
from datetime import date
from pathlib import Path
from typing import Any

from ohmwright_grammar.records import record, replace

from ohmwright import rules
from ohmwright.commands.common import Limits, complain
from ohmwright.findings import Severity
from ohmwright.inspecting import InspectOptions
from ohmwright.paths import Gathered, Roots, gather
from ohmwright.results import Home, LeftOutHere, Regraded, Result, SettingsTold
from ohmwright.settings.model import OFF, Settings

__all__ = ["BARS", "Group", "Groups", "add_settings", "counted_again", "files_told", "groups_of", "home_below"]

BARS = {"error": Severity.ERROR, "warning": Severity.WARNING, "note": Severity.NOTE}


def add_settings(parser: argparse.ArgumentParser) -> None:
    """Declare the option that replaces every file of settings in the tree."""
    parser.add_argument(
        "--settings", metavar="FILE|none", help="settings in place of every ohmwright.toml and pyproject.toml in the tree"
    )


@record
class Group:
    """The builds below one root with the terms on which they are inspected."""

    gathered: Gathered
    settings: Settings
    options: InspectOptions
    bar: Severity
    require_checked: bool
    left_out: tuple[tuple[str, ...], ...] = ()  # the files that each entry of the settings leaves out
    rules_left_out: Mapping[str, int] = field(default_factory=dict)  # by family
    would_be: Mapping[str, str] = field(default_factory=dict)  # severity of each changed grade without the settings
    baseline_place: Path | None = None  # where a baseline is to be written

    @property
    def is_empty(self) -> bool:
        """Tell whether there is no file to inspect: the settings leave out all, or other shares hold them."""
        return not self.gathered.paths

    def told(self, result: Result) -> Result:
        """Return a result of this group that tells the settings it was made with, where there were any."""
        settings, baseline = self.settings, self.options.baseline
        if not settings.file and baseline is None:
            return result
        options = self.options
        told = SettingsTold(
            file=settings.file,
            also=settings.also,
            bar=self.bar.word,
            require_checked=self.require_checked,
            basis=options.silent_basis,
            states="reached" if options.reached else "declared",
            site=" ".join(settings.site.split()),
            left_out=tuple(
                LeftOutHere(
                    item.what,
                    item.name,
                    item.because,
                    len(files) if item.what == "path" else self.rules_left_out[item.name],
                    files,
                )
                for item, files in zip(settings.left_out, self.left_out, strict=True)
            ),
            grades=tuple(
                Regraded(item.grade, self.would_be[item.grade], item.severity, item.because, _count(result, item.grade))
                for item in settings.grades
            ),
        )
        if baseline is not None:
            held = sum(len(build.baselined) for build in result.builds)
            named = {build.path for build in result.builds}
            paths = sorted({entry.path for entry in baseline.entries.values()} - named)
            gone = tuple(path for path in paths if not os.path.lexists(self.gathered.root / path))
            told = replace(
                told,
                baseline=baseline.file,
                entries=held if baseline.accepting else len(baseline.entries),
                held=held,
                gone=gone,
            )
        return replace(result, settings=(told,))

    def at_home(self, result: Result, text: Callable[[str], str]) -> Result:
        """Return a result whose builds know their bar and where they lie in their repository; `text` returns what was read of a path."""
        below = home_below(self.gathered.root)
        builds = result.builds
        if not isinstance(builds, tuple):  # they are made when somebody asks, and files are read then
            home = Home(below, text)
            return replace(result, builds=builds.changed(lambda build: replace(build, bar=self.bar, home=home)))  # type: ignore[attr-defined]
        texts = {
            path: text(path) for path in set(files_told(result))
        }  # and not the reader, which holds all that was made of them
        home = Home(below, lambda path: texts.get(path, ""))
        return replace(result, builds=tuple(replace(build, bar=self.bar, home=home) for build in builds))


def files_told(result: Result) -> Iterator[str]:
    """Yield the path of each place that a report may tell."""
    for build in result.builds:
        for judged in (*build.findings, *build.waived, *build.baselined):
            finding = judged.finding
            yield finding.span.path
            yield from (related.span.path for related in finding.related)
            yield from (edit.span.path for edit in finding.edits)
            if judged.waiver is not None:
                yield judged.waiver.span.path
        yield from (item.outcome.span.path for item in build.not_checked)


def home_below(root: Path) -> str:
    """Return the path of a root from the top of its repository, with "/" at its end; "" where it lies in none, or is its top."""
    for folder in (root, *root.parents):
        if os.path.lexists(folder / ".git"):
            path = root.relative_to(folder).as_posix()
            return "" if path == "." else f"{path}/"
    return ""


def counted_again(told: SettingsTold, result: Result) -> SettingsTold:
    """Return what is told of settings with the counts of another result."""
    grades = tuple(replace(item, count=_count(result, item.grade)) for item in told.grades)
    return replace(told, grades=grades, held=sum(len(build.baselined) for build in result.builds))


def _count(result: Result, grade: str) -> int:
    """Return how many outcomes of a run are of a grade: findings wherever they are counted, and what could not be checked."""
    found = 0
    for build in result.builds:
        for items in (build.findings, build.waived, build.yielded, build.baselined, build.switched_off, build.not_checked):
            found += sum(1 for item in items if f"{item.rule.id}.{item.grade.name}" == grade)
    return found


@record
class Groups:
    """Everything that a command is to work on; `wrong` tells that something of it could not be used, which was said."""

    groups: tuple[Group, ...]
    wrong: bool


def groups_of(options: argparse.Namespace, limits: Limits, *, leave_out: bool = True, here: bool = False) -> Groups:
    """Find the builds that a command line names (or the settings, where it names none), with the terms for each root; PackError where a pack is broken.

    What cannot be used is said on the error stream. With `leave_out` off the files that settings leave out are worked on all the same. With `here`
    a command line without paths is about the current folder, whether there are builds or not.
    """
    given, good = _given(options)
    if not good:
        return Groups((), True)
    if here and not options.paths:
        root, mark = Roots(given is None).of(Path.cwd()) or (Path.cwd(), "")
        group = _group(Gathered(root, (), mark), given, options, limits, leave_out)
        return Groups((group,) if group is not None else (), group is None)
    if getattr(options, "changed", False):
        from ohmwright.commands.changes import gathered_changes

        gathered, wrong = gathered_changes(options, given)
        if not (gathered or wrong):  # nothing to inspect, on the terms that hold here
            root, mark = Roots(given is None).of(Path.cwd()) or (Path.cwd(), "")
            gathered = (Gathered(root, (), mark),)
    else:
        paths, good = _paths(options, given)
        if not good:
            return Groups((), True)
        gathered, wrong = gather(paths, given is None)
    for message in wrong:
        complain(message)
    groups: list[Group] = []
    for item in gathered:
        group = _group(item, given, options, limits, leave_out)
        if group is not None:
            groups.append(group)
    return Groups(tuple(groups), bool(wrong) or len(groups) < len(gathered))


def _given(options: argparse.Namespace) -> tuple[Settings | None, bool]:
    """Return the settings that the command line puts in place of all others, None where it puts none, and whether they can be used."""
    if options.settings is None:
        return None, True
    if options.settings == "none":
        return Settings(), True
    from ohmwright.settings.finding import given_settings

    settings, faults = given_settings(options.settings)
    return settings, not _said(faults)


def _paths(options: argparse.Namespace, given: Settings | None) -> tuple[list[str], bool]:
    """Return the paths of the command line, else those of the settings for the current folder, and whether there are any that can be used."""
    if options.paths:
        return options.paths, True
    here = Path.cwd()
    root, mark = Roots(given is None).of(here) or (here, "")
    settings, faults = _found(root, mark) if given is None else (given, ())
    if _said(faults):
        return [], False
    if not settings.builds:
        where = f", or write builds = […] into {settings.file}" if settings.file else ""
        complain(f"name at least one build file or folder{where}")
        return [], False
    from ohmwright.settings.finding import outside_of, shown_path

    places = [root / path for path in settings.builds]
    faults = tuple(
        fault
        for number, place in enumerate(places)
        for fault in outside_of(root, place, settings, ("builds", number), shown_path(root / settings.file))
    )
    return [shown_path(place) for place in places], not _said(faults)


def _found(root: Path, mark: str) -> tuple[Settings, tuple[Any, ...]]:
    if not mark:
        return Settings(), ()
    from ohmwright.settings.finding import found_settings

    return found_settings(root, mark)


def _said(faults: tuple[Any, ...]) -> bool:
    """Say what is wrong; tell whether anything is."""
    for fault in faults:
        complain(str(fault))
    return bool(faults)


def _group(
    gathered: Gathered, given: Settings | None, options: argparse.Namespace, limits: Limits, leave_out: bool
) -> Group | None:
    """Return the terms for the builds of one root, None where its settings cannot be used, which is said."""
    settings, faults = _found(gathered.root, gathered.mark) if given is None else (given, ())
    if _said(faults):
        return None
    inspect_options = InspectOptions(
        today=getattr(options, "today", None) or date.today(),
        basis=options.basis,
        reached=(options.states or settings.states) == "reached",
        budget=limits,
        silent_basis=settings.basis,
        require_checked=_either(getattr(options, "require_checked", None), settings.require_checked),
    )
    group = Group(
        gathered,
        settings,
        inspect_options,
        BARS[getattr(options, "bar", None) or settings.bar or "error"],
        inspect_options.require_checked,
    )
    if settings.file:
        group_or_none = _with_settings(group, options, leave_out)
        if group_or_none is None:
            return None
        group = group_or_none
    if getattr(options, "baseline", None) or settings.baseline:
        return _with_baseline(group, options)
    return group


def _with_settings(group: Group, options: argparse.Namespace, leave_out: bool) -> Group | None:
    """Return a group with what its settings name, None where some of that is not there, which is said."""
    from ohmwright.settings.finding import shown_path
    from ohmwright.settings.names import grades_of, rules_by_family, unknown_in
    from ohmwright.settings.patterns import covers
    from ohmwright.settings.site import site_of

    settings, root = group.settings, group.gathered.root
    shown = options.settings or shown_path(root / settings.file)
    packs = rules.installed_packs()
    site, faults = site_of(settings)
    faults = (*faults, *unknown_in(settings, packs))
    if _said(tuple(replace(fault, span=fault.span._replace(path=shown)) for fault in faults)):
        return None
    families = tuple(item.name for item in settings.left_out if item.what == "family")
    known = rules_by_family(packs) if families else {}
    changes = {item.grade: item.severity for item in settings.grades}
    paths = group.gathered.paths
    left_out: list[tuple[str, ...]] = []
    for item in settings.left_out:
        meant = [item.what == "path" and leave_out and covers(item.name, path) for path in paths]
        left_out.append(tuple(path for path, gone in zip(paths, meant, strict=True) if gone))
        paths = tuple(path for path, gone in zip(paths, meant, strict=True) if not gone)
    basis = settings.spans.get(("basis",))
    return replace(
        group,
        gathered=replace(group.gathered, paths=paths),
        options=replace(
            group.options,
            severities={grade: BARS[word] for grade, word in changes.items() if word != OFF},
            off=frozenset(grade for grade, word in changes.items() if word == OFF),
            without=frozenset(families),
            site=site,
            silent_from=f"{settings.file} line {basis.line}" if basis is not None else "",
        ),
        left_out=tuple(left_out),
        rules_left_out={family: len(known[family]) for family in families},
        would_be=grades_of(packs, changes) if changes else {},
    )


def _with_baseline(group: Group, options: argparse.Namespace) -> Group | None:
    """Return a group with its baseline, None where that cannot be used, which is said."""
    named = getattr(options, "baseline", None)
    if named == "none" or not hasattr(options, "baseline"):
        return group
    from ohmwright.baselines import Baseline
    from ohmwright.settings.finding import outside_of, shown_path
    from ohmwright.settings.model import Fault

    settings = group.settings
    shown = ""
    if named:
        place, file = Path(named), named
    else:
        place, file = Path(settings.folder) / settings.baseline, settings.baseline
        shown = options.settings or shown_path(Path(settings.folder) / settings.file)
        if _said(outside_of(Path(settings.folder), place, settings, ("baseline",), shown)):
            return None
    if options.write_baseline:
        accepting = Baseline(file, accepting=True)
        return replace(group, options=replace(group.options, baseline=accepting), baseline_place=place)
    from ohmwright.baseline_files import read_baseline

    if not named and not os.path.lexists(place):
        message = f"There is no file {settings.baseline!r}. Write it with --write-baseline."
        return None if _said((Fault(message, settings.spans[("baseline",)]._replace(path=shown)),)) else group
    baseline, faults = read_baseline(place, file)
    if _said(tuple(replace(fault, span=fault.span._replace(path=named or shown_path(place))) for fault in faults)):
        return None
    return replace(group, options=replace(group.options, baseline=baseline))


def _either(given: bool | None, said: bool | None) -> bool:
    return bool(said) if given is None else given
