"""Reading, inspecting and comparing both sides: which build belongs to which, on which terms, and what is the same and need not be looked at."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Literal

from ohmwright_grammar.budget import OutOfBudgetError
from ohmwright_grammar.records import record, replace
from ohmwright_grammar.resolve import Loader, Resolved, resolve

from ohmwright import __version__, rules
from ohmwright.commands.changed_files import changed_files, compared_files, compared_marks, concerned
from ohmwright.commands.common import Limits, complain
from ohmwright.commands.pairing import File, Pair, moved
from ohmwright.commands.sides import Side, Sides, sides_of
from ohmwright.commands.standing import Kept, Marks, Terms, given_settings, terms_of
from ohmwright.comparing.baselines import Renames, renamed_baseline
from ohmwright.comparing.builds import compared_build
from ohmwright.comparing.claims import compared_claims
from ohmwright.comparing.model import BuildChange, Comparison, Judgement
from ohmwright.comparing.things import Names, names_of
from ohmwright.comparing.waivers import compared_waivers
from ohmwright.findings import Severity
from ohmwright.inspecting import inspect_files
from ohmwright.results import BuildResult, Result, RunError

__all__ = ["Compared", "Found", "found_of", "put_together"]


@record
class Compared:
    """A comparison with the bar that counts for each build, by its path on the new side; `wrong` tells that something could not be used, which was said."""

    comparison: Comparison
    bars: dict[str, Severity]
    wrong: bool = False


@record
class Found:
    """What was found of the builds of one share: each by its place among all ("read …" for a file that others read), None where nothing is to be said.

    `comparison` holds what is the same for all shares: everything but builds and errors, of which those of the old side stand in `before`.
    """

    comparison: Comparison
    builds: Mapping[str, BuildChange | None]
    before: tuple[RunError, ...]
    after: tuple[RunError, ...]
    bars: dict[str, Severity]
    wrong: bool = False


def put_together(shares: Sequence[Found]) -> Compared:
    """Return the comparison that shares make together."""
    builds = {key: item for found in shares for key, item in found.builds.items()}
    told = tuple(item for key in sorted(builds) if (item := builds[key]) is not None)
    first = shares[0].comparison
    errors = dict.fromkeys(
        error
        for errors in ([found.before for found in shares], [found.after for found in shares])
        for some in errors
        for error in some
    )
    comparison = replace(first, builds=told, unchanged=first.unchanged + len(builds) - len(told), errors=tuple(errors))
    bars = {path: bar for found in shares for path, bar in found.bars.items()}
    return Compared(comparison, bars, any(found.wrong for found in shares))


def found_of(options: argparse.Namespace) -> Found | None:
    """Compare what a command line names, or a share of it; None where nothing could be, which was said. PackError and GitError as they come."""
    given, good = given_settings(options.settings)
    if not good:
        return None
    sides = sides_of(options.what)
    if isinstance(sides, str):
        complain(sides)
        return None
    limits = Limits(*options.budget)
    try:
        run = _Run(options, sides, given, limits)
        return run.found() if run.is_fit() else None
    finally:
        limits.release()
        sides.close()


class _Run:
    """One comparison."""

    def __init__(self, options: argparse.Namespace, sides: Sides, given: Kept | None, limits: Limits) -> None:
        self.options = options
        self.sides = sides
        self.given = given
        self.limits = limits
        self.marks = Marks(sides.old.tree), Marks(sides.new.tree)
        self.terms: dict[str, Terms] = {}
        self.loaders: dict[tuple[int, str], Loader] = {}
        self.put_away: list[Judgement] = []

    def is_fit(self) -> bool:
        """Tell whether the terms of the old side can be used; what cannot is said."""
        self._terms("")
        for side in (self.sides.old, self.sides.new):
            for path in side.builds():
                self._terms(self._old_path(side, path).rpartition("/")[0])
        faults = dict.fromkeys(fault for terms in self.terms.values() for fault in terms.faults)
        for fault in faults:
            complain(f"{self.sides.old.tree.told.name}: {fault}")
        return not faults

    # terms and roots ---------------------------------------------------------------------------------------------------

    def _old_path(self, side: Side, path: str) -> str:
        """Return where a file of a side lies, or would lie, on the old one."""
        if side.is_file:
            return self.sides.old.scopes[0]
        return path if side is self.sides.old else self.sides.old.below + side.key(path)

    def _terms(self, folder: str) -> Terms:
        """Return the terms for a folder of the old side."""
        kept = self.given or self.marks[0].of(folder)
        known = self.terms.get(kept.folder)
        if known is None:
            known = terms_of(kept, self.sides.old, self.options, self.limits, self.given is not None)
            self.terms[kept.folder] = known
        return known

    def _named(self, terms: Terms, side: Side, path: str) -> str:
        """Return a path as the settings that it is judged by would name it."""
        old = self._old_path(side, path)
        folder = terms.kept.folder
        return old[len(folder) + 1 :] if folder and old.startswith(f"{folder}/") else old

    def _file(self, number: int, path: str) -> File | None:
        """Return a build file of a side, None where the settings leave it out."""
        side = (self.sides.old, self.sides.new)[number]
        terms = self._terms(self._old_path(side, path).rpartition("/")[0])
        return None if terms.leaves_out(self._named(terms, side, path)) else self._placed(number, path)

    def _placed(self, number: int, path: str) -> File:
        side = (self.sides.old, self.sides.new)[number]
        terms = self._terms(self._old_path(side, path).rpartition("/")[0])
        root = "" if self.given is not None else self.marks[number].of(path.rpartition("/")[0]).folder
        return File(path, root, terms)

    def _loader(self, number: int, root: str) -> Loader:
        loader = self.loaders.get((number, root))
        if loader is None:
            tree = (self.sides.old, self.sides.new)[number].tree
            loader = self.loaders[(number, root)] = Loader(tree.sources(root))
        return loader

    # the work ----------------------------------------------------------------------------------------------------------

    def found(self) -> Found:
        changed = changed_files(self.sides)
        may_read = concerned(self.sides, changed)
        pairs = self._pairs(may_read)
        unchanged = 0
        worth: list[tuple[Pair, Names]] = []
        for pair in pairs.found:
            if self._is_same(pair):
                unchanged += 1
            else:
                both = (
                    pair.old is not None and pair.new is not None and pair.old.build is not None and pair.new.build is not None
                )
                worth.append((pair, names_of(pair.old.build, pair.new.build) if both else Names({}, {})))  # type: ignore[union-attr,arg-type]
        renames = _renames(worth)
        mine = self._mine(worth)
        results = self._inspected(0, [pair.old for pair, _ in mine.values() if pair.old is not None], None)
        after = self._inspected(1, [pair.new for pair, _ in mine.values() if pair.new is not None], renames)
        read = {
            self._from_top(file, item.path)
            for pair, _ in worth
            for file in (pair.old, pair.new)
            if file and file.build
            for item in file.build.files
        }
        judgement = [*self.put_away, *compared_marks(self.sides, self.marks)]
        unread = _unread(pair.old for pair, _ in worth), _unread(pair.new for pair, _ in worth)
        judgement += compared_files(self.sides, changed, read.__contains__, renames, self.limits, unread)
        for pair, names in worth:
            judgement += self._claims(pair, names)
        builds = {f"{number:09}": self._change(*item, results.builds, after.builds) for number, item in mine.items()}
        builds.update({f"read {item.path}": item for item in self._readers(worth, results.builds, after.builds)})
        known = dict.fromkeys(judgement)
        before = tuple(error for error in results.errors if error.rule or error.pack)
        comparison = Comparison(
            __version__,
            next(iter(self.terms.values())).options.today.isoformat(),
            tuple((pack.name, pack.version) for pack in rules.installed_packs()),
            self.sides.old.tree.told,
            self.sides.new.tree.told,
            tuple(sorted(known, key=_order)),
            (),
            unchanged + pairs.untouched,
            tuple(sorted({terms.kept.file for terms in self.terms.values() if terms.kept.file})),
            (),
            any(terms.options.require_checked for terms in self.terms.values()),
        )
        bars = {(file.path): file.terms.bar for pair, _ in mine.values() if (file := pair.new) is not None}
        unreadable = any(item.kind == "setting" and item.about.startswith("settings that") for item in comparison.judgement)
        return Found(
            comparison,
            {key: None if item.is_quiet else item for key, item in builds.items()},
            before,
            tuple(after.errors),
            bars,
            unreadable,
        )

    def _mine(self, worth: list[tuple[Pair, Names]]) -> dict[int, tuple[Pair, Names]]:
        """Return what is to be inspected, by its number: all of it, or a share."""
        everything = dict(enumerate(worth))
        share = getattr(self.options, "share", None)
        if share is None:
            return everything
        from ohmwright.commands.scale.sharing import dealt

        sizes = [
            sum(len(item.text) for file in (pair.old, pair.new) if file and file.build for item in file.build.files)
            for pair, _ in worth
        ]
        return {number: everything[number] for number, found in enumerate(dealt(sizes, share[1])) if found == share[0] - 1}

    def _pairs(self, may_read: Callable[[str], bool]) -> _Pairs:
        """Pair the builds of both sides: by path, then by content, then by title."""
        sides = self.sides
        before = {sides.old.key(path): path for path in sides.old.builds()}
        after = {sides.new.key(path): path for path in sides.new.builds()}
        if sides.old.is_file:
            before, after = {"": sides.old.scopes[0]}, {"": sides.new.scopes[0]}
        found: list[Pair] = []
        untouched = 0
        hidden: list[File] = []  # of the new side, left out by the settings
        olds: list[File] = []
        news: list[File] = []
        for key in sorted({**before, **after}):
            old = self._file(0, before[key]) if key in before else None
            new = self._file(1, after[key]) if key in after else None
            if key in after and new is None and key not in before:
                hidden.append(self._placed(1, after[key]))
            if old is not None and new is not None:
                if old.root == new.root and sides.shared and not may_read(key):
                    untouched += 1
                else:
                    found.append(Pair(old, new))
            elif old is not None:
                olds.append(old)
            elif new is not None:
                news.append(new)
        for file, number in (
            *((item, 0) for item in (*olds, *(pair.old for pair in found))),
            *((item, 1) for item in (*news, *(pair.new for pair in found))),
        ):
            assert file is not None
            self._resolve(number, file)
        found_again = moved(olds, news)
        found += [Pair(old, new) for old, new in found_again]
        found += [Pair(old, None) for old in olds if old not in [pair[0] for pair in found_again]]
        found += [Pair(None, new) for new in news if new not in [pair[1] for pair in found_again]]
        self.put_away = self._put_away([old for old in olds if old not in [pair[0] for pair in found_again]], hidden)
        return _Pairs(found, untouched)

    def _put_away(self, olds: list[File], hidden: list[File]) -> list[Judgement]:
        """Return the builds that were moved to where the settings leave them out."""
        if not (olds and hidden):
            return []
        for file in hidden:
            self._resolve(1, file)
        words = "moved to where the settings leave it out"
        return [
            Judgement("exclusion", "looser", new.path, "the whole file", old.path, words) for old, new in moved(olds, hidden)
        ]

    def _resolve(self, number: int, file: File) -> None:
        loader = self._loader(number, file.root)
        loader.budget = self.limits()
        try:
            resolved = resolve(file.below_root, loader)
        except (OutOfBudgetError, RecursionError, MemoryError):
            file.failed = True
            return
        if isinstance(resolved, Resolved):
            file.build = resolved.build
            file.failed = bool(resolved.problems or resolved.library_problems)

    def _is_same(self, pair: Pair) -> bool:
        """Tell whether a build and everything that it reads are the same on both sides, so that the same is found."""
        old, new = pair.old, pair.new
        if old is None or new is None or old.build is None or new.build is None or old.failed or new.failed:
            return False
        if old.below_root != new.below_root and self.sides.old.key(old.path) != self.sides.new.key(new.path):
            return False
        return [item.text for item in old.build.files] == [item.text for item in new.build.files]

    def _inspected(self, number: int, files: Iterable[File], renames: Renames | None) -> _Results:
        groups: dict[tuple[str, str], list[File]] = {}
        for file in files:
            groups.setdefault((file.root, file.terms.kept.folder), []).append(file)
        builds: dict[str, BuildResult] = {}
        errors: list[RunError] = []
        for (root, _), group in sorted(groups.items()):
            terms = group[0].terms
            options = terms.options
            if terms.baseline is not None:
                baseline = terms.baseline if renames is None else renamed_baseline(terms.baseline, renames)
                options = replace(options, baseline=baseline)
            result: Result = inspect_files(sorted(file.below_root for file in group), self._loader(number, root), options)
            before = f"{root}/" if root else ""
            builds.update({before + build.path: build for build in result.builds})
            errors.extend(result.errors)
        return _Results(builds, errors)

    def _claims(self, pair: Pair, names: Names) -> list[Judgement]:
        """Return what the builds of a pair say of their own judgement."""
        file = pair.new or pair.old
        assert file is not None
        side = self.sides.new if pair.new is not None else self.sides.old
        old, new = (one.build if one is not None else None for one in (pair.old, pair.new))
        below = self._named(file.terms, side, file.path)
        today = file.terms.options.today
        found = (
            [*compared_waivers(file.path, old, new, names.parts, file.terms.accepted_for(below), today, below)]
            if new is not None
            else []
        )
        if old is not None and new is not None:
            found += compared_claims(file.path, old, new, names.parts)
        return found

    def _change(
        self, pair: Pair, names: Names, before: Mapping[str, BuildResult], after: Mapping[str, BuildResult]
    ) -> BuildChange:
        old, new = pair.old, pair.new
        has_moved = (
            old is not None
            and new is not None
            and self.sides.old.key(old.path) != self.sides.new.key(new.path)
            and not self.sides.old.is_file
        )
        how: Literal["added", "removed", "changed", "renamed"]
        how = "added" if old is None else "removed" if new is None else "renamed" if has_moved else "changed"
        return compared_build(
            new.path if new is not None else "",
            old.path if old is not None else "",
            how,
            (before.get(old.path) if old is not None else None, after.get(new.path) if new is not None else None),
            (old.build if old is not None else None, new.build if new is not None else None),
            names,
            rules.installed_packs(),
        )

    def _readers(
        self, worth: list[tuple[Pair, Names]], before: Mapping[str, BuildResult], after: Mapping[str, BuildResult]
    ) -> list[BuildChange]:
        """Return the files that nobody named but that compared builds read, and that are not in order on the new side."""
        named = {file.path for pair, _ in worth for file in (pair.old, pair.new) if file is not None}
        return [
            compared_build(path, path, "changed", (before.get(path), after[path]), (None, None), Names({}, {}), ())
            for path in sorted(after)
            if path not in named
        ]

    def _from_top(self, file: File, path: str) -> str:
        return f"{file.root}/{path}" if file.root else path


@record
class _Pairs:
    """The pairs to look at, and how many more builds cannot have changed."""

    found: list[Pair]
    untouched: int


@record
class _Results:
    """What was found on one side, by path from its top."""

    builds: dict[str, BuildResult]
    errors: list[RunError]


def _unread(files: Iterable[File | None]) -> frozenset[str]:
    return frozenset(file.path for file in files if file is not None and file.build is None)


def _renames(worth: list[tuple[Pair, Names]]) -> Renames:
    """Return how builds are called after the change, as the baseline of the old side names them, and their things."""
    paths: dict[str, str] = {}
    names: dict[str, Mapping[str, str]] = {}
    for pair, called in worth:
        if pair.old is None or pair.new is None:
            continue
        if pair.old.below_root != pair.new.below_root:
            paths[pair.old.below_root] = pair.new.below_root
        if called.both:
            names[pair.old.below_root] = called.both
    return Renames(paths, names)


_KINDS = (
    "waiver", "setting", "exclusion", "grade", "accepted", "baseline", "library", "pack", "review", "basis", "requirement",
)  # fmt: skip


def _order(item: Judgement) -> tuple[object, ...]:
    span = item.span
    place = (span.line, span.column) if span is not None else (0, 0)
    return (not item.stops, item.effect == "tighter", _KINDS.index(item.kind), item.path, *place, item.about)
