"""Inspecting many builds: what earlier runs found is taken from the cache, the rest is inspected by several processes, and the order is that of the paths."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any

from ohmwright_grammar.budget import Budget
from ohmwright_grammar.files import FolderFiles
from ohmwright_grammar.records import replace

from ohmwright import __version__
from ohmwright.commands.common import HANDFUL, Limits, complain
from ohmwright.commands.scale.cache import Cache
from ohmwright.commands.scale.cache_places import cache_place
from ohmwright.commands.scale.coding import CodingError
from ohmwright.commands.scale.keeping import Builds, Shelf
from ohmwright.commands.scale.pieces import Joiner
from ohmwright.commands.scale.progress import Progress
from ohmwright.commands.scale.tasks import Done, Inspector, Task
from ohmwright.commands.scale.workers import Workers, processors
from ohmwright.commands.terms import Group
from ohmwright.inspecting import InspectOptions
from ohmwright.results import Result, RunError
from ohmwright.rules import installed_packs

__all__ = ["Inspected", "inspected", "joined_builds", "reader_of"]


def inspected(groups: Sequence[Group], changes: Mapping[str, Any], options: argparse.Namespace) -> Inspected:
    """Inspect the builds of several roots; PackError and FailedError as they come."""
    told = [(str(group.gathered.root), replace(group.options, budget=Budget, **changes)) for group in groups]
    tasks: list[Task] = [(number, path) for number, group in enumerate(groups) for path in group.gathered.paths]
    run = _Many(told, tasks, options.budget)
    cache = _cache(groups, told, options)
    progress = Progress(len(tasks))
    try:
        left = [number for number, task in enumerate(tasks) if cache is None or not run.known(number, cache.look(*task))]
        known = len(tasks) - len(left)

        def done(number: int, found: Done) -> None:
            run.take(number, found)
            if cache is not None:
                cache.keep(*tasks[number], found)
            progress.tell(known + run.taken, known)

        jobs = min(options.jobs or processors(), len(left))
        if jobs > 1 and (options.jobs or len(left) > HANDFUL):
            left = run.by_processes(left, jobs, done)
        run.alone(left, done)
    finally:
        progress.end()
    problem = cache.close() if cache is not None else ""
    if problem:
        complain(problem)
    return Inspected([run.result(number) for number in range(len(groups))], run)


class Inspected:
    """What was found, by root, and the pieces that it is made of."""

    def __init__(self, results: list[Result], run: _Many) -> None:
        self.results = results
        self._run = run

    def pieces(self) -> Iterator[tuple[int, str, bytes]]:
        """Yield each file, by the number of its root and its path, with its packed piece."""
        for number, (group, path) in enumerate(self._run.tasks):
            yield group, path, self._run.shelf.get(number)


def reader_of(root: Path) -> Callable[[str], str]:
    """Return what reads the files of a root when a report asks for one."""
    return lru_cache(64)(lambda path: FolderFiles(root).read(path).text)


def joined_builds(shelf: Shelf, pieces: Iterable[tuple[str, int, bool]]) -> tuple[Builds, tuple[RunError, ...]]:
    """Return the builds of one root, and what went wrong in the run; pieces come in the order of their paths, each with its number and whether it is plain."""
    builds = Builds(shelf)
    joiner = Joiner()
    for path, number, is_plain in pieces:
        if is_plain and not joiner.concerns(path):
            joiner.named(path)
            builds.add(path, number)
        else:
            builds.add(path, joiner.joined(shelf.piece(number)))
    for build in joiner.readers():
        builds.add(build.path, build)
    builds.sort()
    return builds, tuple(joiner.errors)


class _Many:
    """The pieces of a run, kept in the order of its tasks."""

    def __init__(
        self, groups: Sequence[tuple[str, InspectOptions]], tasks: Sequence[Task], budget: tuple[float, float]
    ) -> None:
        self.groups = groups
        self.tasks = tasks
        self.budget = budget
        self.shelf = Shelf()
        self.taken = 0
        self._beside: set[int] = set()  # pieces with more than a build

    def known(self, number: int, data: bytes | None) -> bool:
        """Take what an earlier run found; tell whether there was anything."""
        if data is None:
            return False
        self.shelf.put(number, data)
        return True

    def take(self, number: int, found: Done) -> None:
        """Take what was found now."""
        if found.piece is None or not self.shelf.lay(number, found.piece):
            try:
                self.shelf.put(number, found.data)
            except CodingError:  # a pack said something that cannot be written: reports may still show it
                assert found.piece is not None
                self.shelf.lay(number, found.piece, anyway=True)
        self.taken += 1
        if not found.is_plain:
            self._beside.add(number)

    def by_processes(self, left: Sequence[int], jobs: int, done: Callable[[int, Done], None]) -> list[int]:
        """Have processes inspect what is left; return what this one has to do itself: all where the system starts none, else what they could not send."""
        try:
            workers = Workers(jobs, self.groups, self.budget)
        except OSError:
            return list(left)
        try:
            return sorted(workers.run([(number, self.tasks[number]) for number in left], done))
        finally:
            workers.stop()

    def alone(self, left: Sequence[int], done: Callable[[int, Done], None]) -> None:
        """Inspect what is left in this process."""
        if not left:
            return
        limits = Limits(*self.budget)
        inspector = Inspector(list(self.groups), limits)
        try:
            for number in left:
                done(number, inspector.inspect(self.tasks[number]))
        finally:
            limits.release()

    def result(self, group: int) -> Result:
        """Return the result of one root."""
        mine = [(path, number, number not in self._beside) for number, (of, path) in enumerate(self.tasks) if of == group]
        builds, errors = joined_builds(self.shelf, mine)
        packs = tuple((pack.name, pack.version) for pack in installed_packs())
        return Result(__version__, self.groups[group][1].today.isoformat(), packs, builds, errors)


def _cache(groups: Sequence[Group], told: Sequence[tuple[str, InspectOptions]], options: argparse.Namespace) -> Cache | None:
    """Return the cache that the command line, the settings or the system name, None for none; why one that is named cannot be used is said."""
    named = options.cache
    if named is None:
        settings = groups[0].settings
        named = settings.cache if settings.cache in ("", "none") else str(Path(settings.folder) / settings.cache)
    roots = [group.gathered.root for group in groups]
    place = cache_place(named, roots)
    if isinstance(place, str):
        complain(place)
        return None
    if place is None:
        return None
    words = [_terms(group, terms, options.budget) for group, (_, terms) in zip(groups, told, strict=True)]
    return Cache(place, roots, words, told[0][1].today.isoformat(), [terms.baseline for _, terms in told])


def _terms(group: Group, options: InspectOptions, budget: tuple[float, float]) -> str:
    """Return everything that results hang on beside texts, program and day."""
    settings, baseline = group.settings, options.baseline
    held = None if baseline is None else (baseline.file, baseline.states, baseline.accepting)
    plain = (
        options.basis, options.reached, options.implied, options.only, options.only_state, options.assumed, options.silent_basis,
        options.silent_from, options.require_checked, sorted(options.severities.items()), sorted(options.off), sorted(options.without),
        settings.site, settings.site_text, budget, held,
    )  # fmt: skip
    return repr(plain)
