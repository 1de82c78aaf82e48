"""What one file brings to a run, and the result that pieces make together: the same as if one process had inspected all of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.records import record, replace

from ohmwright.build_entries import findings_of_text, reader_entry
from ohmwright.inspecting import Run
from ohmwright.results import BuildResult, RunError

__all__ = ["Elsewhere", "Joiner", "Piece", "piece_of"]

Told = tuple[tuple[Diagnostic, str], ...]  # what is wrong, each with the words that stand at its place


@record
class Elsewhere:
    """What is wrong with a file that a build reads; `title` is None of a library."""

    path: str
    title: str | None
    problems: Told


@record
class Piece:
    """What one file brings to a run; `own` is what is wrong with a library itself."""

    build: BuildResult
    errors: tuple[RunError, ...] = ()
    elsewhere: tuple[Elsewhere, ...] = ()
    own: Told = ()

    @property
    def is_plain(self) -> bool:
        """Tell whether there is nothing beside the build."""
        return not (self.errors or self.elsewhere or self.own)


def piece_of(run: Run, path: str) -> Piece:
    """Inspect one file, and take out of a run what that brought."""
    run.own = []
    run.inspect(path)
    (build,), errors, found = run.builds, tuple(run.errors), run.elsewhere
    run.builds, run.errors, run.elsewhere = [], [], {}
    elsewhere = tuple(Elsewhere(name, run.title_of(name), _told(run, problems)) for name, problems in found.items())
    return Piece(build, errors, elsewhere, _told(run, run.own) if build.is_library else ())


def _told(run: Run, problems: Iterable[Diagnostic]) -> Told:
    return tuple((problem, problem.subject or run.words(problem.span)) for problem in problems)


class Joiner:
    """Puts pieces together that come in the order of their paths; what several builds say of one file stands once, in its own entry."""

    def __init__(self) -> None:
        self.errors: list[RunError] = []
        self._titles: dict[str, str | None] = {}
        self._problems: dict[str, dict[Diagnostic, str]] = {}
        self._named: set[str] = set()

    def named(self, path: str) -> None:
        """Take in that a path is one of the run, and nothing is wrong beside it."""
        self._named.add(path)

    def concerns(self, path: str) -> bool:
        """Tell whether builds before it said something of a file."""
        return path in self._problems

    def joined(self, piece: Piece) -> BuildResult:
        """Take in a piece; return its build with what others said of it before."""
        build = piece.build
        self._named.add(build.path)
        self.errors.extend(piece.errors)
        for item in piece.elsewhere:
            self._titles.setdefault(item.path, item.title)
            known = self._problems.setdefault(item.path, {})
            for problem, words in item.problems:
                known.setdefault(problem, words)
        if build.is_library and build.path in self._problems:
            own = {problem for problem, _ in piece.own}
            more = [item for item in self._problems.pop(build.path).items() if item[0] not in own]
            if more:
                return replace(build, partial=True, findings=findings_of_text(build.path, (*piece.own, *more)))
        return build

    def readers(self) -> Iterator[BuildResult]:
        """Yield the entries of files that nobody named, in name order."""
        for path in sorted(self._problems.keys() - self._named):
            yield reader_entry(path, self._titles[path], findings_of_text(path, self._problems[path].items()))
