"""`ohmwright tidy`: put the text of build files into its canonical layout, or tell which files are not in it.

A file is written only after what was made of it has been read again and found to say the same, in one step: into a temporary file beside it, which then
takes its place. A file that cannot be read is left alone.
"""

from __future__ import annotations

import argparse
import os
from collections.abc import Iterable, Mapping
from contextlib import suppress
from pathlib import Path

from ohmwright_grammar.budget import UNLIMITED, Budget, OutOfBudgetError
from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.files import FolderFiles, Source, decode
from ohmwright_grammar.records import record
from ohmwright_grammar.resolve import Loader, Resolved, resolve
from ohmwright_grammar.spans import Span

from ohmwright.commands.common import Limits, add_budget, complain, put
from ohmwright.paths import gather
from ohmwright.reports.words import clean

__all__ = ["add_options", "run"]


def add_options(parser: argparse.ArgumentParser) -> None:
    """Declare the options of the command."""
    parser.add_argument("paths", nargs="*", metavar="PATH", help="build files, libraries, or folders of them")
    parser.add_argument(
        "--check", action="store_true", help="write nothing; name the files that would change, and exit with 1 if there are any"
    )
    parser.add_argument(
        "--changed",
        action="store_true",
        help="the paths are the files of a change: a copy of a published build that another build adapts is left as it is",
    )
    add_budget(parser)


def run(options: argparse.Namespace) -> int:
    """Tidy and return the exit code."""
    if not options.paths and not options.changed:
        complain("name at least one build file or folder")
        return 2
    gathered, wrong = gather(options.paths)
    for message in wrong:
        complain(message)
    named = set() if options.changed else {os.path.abspath(path) for path in options.paths}
    answers: list[str] = []
    limits = Limits(*options.budget)
    try:
        for group in gathered:
            copies = _bases(group.root, _all_below(group.root) if options.changed else group.paths, limits)
            for path in group.paths:
                if path in copies and os.path.abspath(group.root / path) not in named:
                    put(f"left as it is {clean(path)}: {clean(copies[path])} adapts it\n")
                else:
                    answers.append(_within_budget(group.root, path, options.check, limits()))
    finally:
        limits.release()
    changed = answers.count("changed")
    put(f"{changed} of {len(answers)} files {'would change' if options.check else 'changed'}.\n")
    if wrong or "failed" in answers:
        return 2
    return 1 if options.check and changed else 0


def _all_below(root: Path) -> list[str]:
    """Return the files of a root that hold the word with which a build adapts another."""
    from ohmwright.commands.touching import build_files

    files = FolderFiles(root)
    return [path for path in build_files(root) if "adapts" in files.read(path).text]


def _bases(root: Path, paths: Iterable[str], limits: Limits) -> dict[str, str]:
    """Return the published builds that others of a root adapt, with what they read, each with that other one: their hash is to stay."""
    files = FolderFiles(root)
    loader = Loader(files)
    found: dict[str, str] = {}
    for path in paths:
        source = files.read(path)
        if source.problems or "adapts" not in source.text:
            continue
        loader.budget = limits()
        try:
            read = resolve(path, loader)
        except (OutOfBudgetError, RecursionError, MemoryError):
            continue  # it is told where the file itself is tidied
        adapted = read.build.adapted if isinstance(read, Resolved) else None
        if adapted is not None:
            found.update(dict.fromkeys(adapted.files, path))
    return found


def _within_budget(root: Path, path: str, check: bool, budget: Budget) -> str:
    try:
        return _tidy(root, path, check, budget)
    except OutOfBudgetError:
        return _refused(path, f"the budget of {budget.spent} ran out")
    except RecursionError:
        return _refused(path, "it holds more things inside each other, or in one chain, than can be followed")
    except MemoryError:
        pass  # in here there may be no room for a word
    return _refused(path, f"the budget of {budget.megabytes:g} MB ran out")


def _tidy(root: Path, path: str, check: bool, budget: Budget) -> str:
    """Tidy one file; return "same", "changed" or "failed" after telling why."""
    from ohmwright_grammar.tidying import tidied

    files = FolderFiles(root)
    source = files.read(path)
    if source.problems:
        return _left_alone(path, source.problems)
    place = (root / path).resolve()  # of a link inside of the root, the file that it leads to
    try:
        before = place.read_bytes()
    except OSError as error:
        return _refused(path, f"it cannot be read: {error.strerror}")
    text = before.decode("utf-8")
    model = _model(path, files, {}, budget)
    kinds = {name: type(part) for name, part in model.build.parts.items()} if isinstance(model, Resolved) else {}
    made = tidied(text, path, kinds, budget=budget)
    budget.check()
    if made.problems:
        return _left_alone(path, made.problems)
    if made.refusal:
        return _refused(path, f"{made.refusal}; this is a mistake of the program, please report it with the file")
    if not _same_model(model, _model(path, files, {path: made.text}, budget)):
        made = tidied(text, path, kinds, glued=True, budget=budget)
    if made.text == text:
        return "same"
    if not _same_model(model, _model(path, files, {path: made.text}, budget)):
        return _refused(
            path, "the tidied file would be another build; this is a mistake of the program, please report it with the file"
        )
    if check:
        put(f"would change {clean(path)}\n")
        return "changed"
    problem = _replace(place, before, made.text.encode("utf-8"))
    if problem:
        return _refused(path, problem)
    put(f"changed {clean(path)}\n")
    return "changed"


# telling -------------------------------------------------------------------------------------------------------------


def _left_alone(path: str, problems: tuple[Diagnostic, ...]) -> str:
    first = problems[0]
    more = f" ({len(problems) - 1} more like it: inspect names them all)" if len(problems) > 1 else ""
    complain(f"{first.span}: {first.message} The file is left as it is{more}.")
    return "failed"


def _refused(path: str, why: str) -> str:
    complain(f"{path} is left as it is: {why}")
    return "failed"


# the same model ------------------------------------------------------------------------------------------------------


@record
class _Overlaid:
    """The files of a folder, some with another text."""

    files: FolderFiles
    texts: Mapping[str, str]

    def read(self, path: str, asked_at: Span | None = None) -> Source:
        text = self.texts.get(path)
        return self.files.read(path, asked_at) if text is None else decode(text.encode("utf-8"), path)


def _model(
    path: str, files: FolderFiles, texts: Mapping[str, str], budget: Budget = UNLIMITED
) -> Resolved | tuple[Diagnostic, ...]:
    loader = Loader(_Overlaid(files, texts))
    loader.budget = budget
    return resolve(path, loader)


def _same_model(one: Resolved | tuple[Diagnostic, ...], other: Resolved | tuple[Diagnostic, ...]) -> bool:
    """Tell whether a file reads as the same build, with the same problems."""
    if not isinstance(one, Resolved) or not isinstance(other, Resolved):
        return not isinstance(one, Resolved) and not isinstance(other, Resolved)
    before = sorted((problem.rule, problem.subject) for problem in one.problems)
    return one.build == other.build and before == sorted((problem.rule, problem.subject) for problem in other.problems)


# writing -------------------------------------------------------------------------------------------------------------


def _replace(place: Path, before: bytes, after: bytes) -> str:
    """Put the new text in the file's place in one step; return why that could not be done, "" where it could."""
    import tempfile

    temporary = ""
    try:
        facts = os.stat(place)
        descriptor, temporary = tempfile.mkstemp(prefix=f".{place.name}.", suffix=".tmp", dir=place.parent)
        with os.fdopen(descriptor, "wb") as stream:
            stream.write(after)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(temporary, facts.st_mode & 0o7777)
        if place.read_bytes() != before:
            return "somebody else changed it meanwhile; run the command again"
        os.replace(temporary, place)
        temporary = ""
    except OSError as error:
        return f"it cannot be written: {error.strerror}"
    finally:
        if temporary:
            with suppress(OSError):
                os.unlink(temporary)
    return ""
