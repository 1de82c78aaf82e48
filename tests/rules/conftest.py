"""What tests of rules share: one build as a text, inspected with the rules of one module."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from importlib import import_module

import pytest
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Passed, Severity
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright.results import BuildResult, Judged
from ohmwright.rules import Pack, Rule, Yield
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader
from ohmwright_rules import PACK, YIELDS


@dataclass(frozen=True)
class Said:
    """What one rule said of one build."""

    build: BuildResult
    rule: Rule

    @property
    def findings(self) -> list[Finding]:
        """The findings that stand, in the order of the sheet."""
        return [item.finding for item in self.build.findings if item.rule.id == self.rule.id]

    @property
    def grades(self) -> list[tuple[str, str, str]]:
        """Chief subject, grade and severity of each finding."""
        return [
            (item.finding.subject[0], item.grade.name, item.severity.word)
            for item in self.build.findings
            if item.rule.id == self.rule.id
        ]

    @property
    def passes(self) -> list[Passed]:
        """What holds."""
        return [kept.passed for kept in self.build.passes if kept.rule.id == self.rule.id]

    @property
    def unchecked(self) -> list[NotChecked]:
        """What could not be checked."""
        return [item.outcome for item in self.build.not_checked if item.rule.id == self.rule.id]

    @property
    def missing(self) -> list[tuple[str, str, str]]:
        """Chief subject, grade and missing datum of what could not be checked."""
        return [(item.subject[0], item.grade, item.missing) for item in self.unchecked]

    @property
    def idle(self) -> list[DoesNotApply]:
        """What does not apply."""
        return [item for rule, item in self.build.does_not_apply if rule == self.rule.id]

    def finding(self, subject: str, grade: str = "") -> Finding:
        """The one finding on a chief subject."""
        (found,) = [item for item in self.findings if item.subject[0] == subject and (not grade or item.grade == grade)]
        return found

    def passed(self, subject: str, grade: str = "") -> Passed:
        """The one pass on a chief subject."""
        (found,) = [item for item in self.passes if item.subject[0] == subject and (not grade or item.grade == grade)]
        return found


def _inspect(text: str, modules: tuple[str, ...], options: InspectOptions, yields: tuple[Yield, ...] = ()) -> BuildResult:
    pack = Pack("ohmwright", "0", tuple(f"ohmwright_rules.{name}" for name in modules), yields=yields, bases=PACK.bases)
    result = inspect_files(["box.rig"], Loader(MemoryFiles({"box.rig": text})), options, (pack,))
    assert not result.errors, result.errors
    (build,) = result.builds
    unreadable = [item.finding.message for item in build.findings if item.rule.family == "text"]
    assert not unreadable, unreadable
    assert all(item.severity in Severity for item in build.findings)
    return build


@pytest.fixture
def said() -> Callable[..., Said]:
    """Inspect a text with the rule of one module of the built-in pack, and nothing else."""

    def inspect(text: str, module: str, *, reached: bool = False, basis: str = "") -> Said:
        rule: Rule = import_module(f"ohmwright_rules.{module}").RULE
        options = InspectOptions(today=date(2026, 1, 1), reached=reached, basis=basis)
        return Said(_inspect(text, (module,), options), rule)

    return inspect


@pytest.fixture
def together() -> Callable[..., tuple[set[str], set[str]]]:
    """Inspect a text with the rules of some modules, and return what stands and what yielded, as rule.grade and its subject."""

    def inspect(text: str, *modules: str) -> tuple[set[str], set[str]]:
        build = _inspect(text, modules, InspectOptions(today=date(2026, 1, 1)), YIELDS)
        return _named(build.findings), _named(build.yielded)

    return inspect


def _named(items: Iterable[Judged]) -> set[str]:
    return {f"{item.rule.id}.{item.grade.name} on {', '.join(item.finding.subject)}" for item in items}
