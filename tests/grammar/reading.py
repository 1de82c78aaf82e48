"""Reading builds from texts held in memory, for tests."""

from __future__ import annotations

from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.model import Build
from ohmwright_grammar.resolve import Loader, Resolved, resolve


def resolved(text: str, files: dict[str, str] | None = None, path: str = "build.rig") -> Resolved:
    """Read a build that may have problems."""
    found = resolve(path, Loader(MemoryFiles({**(files or {}), path: text})))
    assert isinstance(found, Resolved), found
    return found


def build_of(text: str, files: dict[str, str] | None = None, path: str = "build.rig") -> Build:
    """Read a build that has none."""
    found = resolved(text, files, path)
    problems = [*found.problems, *found.library_problems]
    assert not problems, [f"{problem.span}: {problem.message} {problem.remedy}" for problem in problems]
    return found.build


def problems_of(text: str, files: dict[str, str] | None = None, path: str = "build.rig") -> list[Diagnostic]:
    """Return what is wrong with a text, and with those that it reads."""
    found = resolve(path, Loader(MemoryFiles({**(files or {}), path: text})))
    if not isinstance(found, Resolved):
        return list(found)
    return [*found.problems, *found.library_problems]


def told(text: str, files: dict[str, str] | None = None) -> list[tuple[str, int]]:
    """Return the rule and line of every problem."""
    return [(problem.rule, problem.span.line) for problem in problems_of(text, files)]
