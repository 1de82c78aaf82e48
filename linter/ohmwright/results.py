"""What an inspection answers with, before it is written in any format."""

from __future__ import annotations

from dataclasses import field
from typing import Literal

from ohmwright_grammar.kinds.waiver import Waiver
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Passed, Severity
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule
from ohmwright.values import Amount

__all__ = [
    "Assumed",
    "BuildResult",
    "Judged",
    "Kept",
    "Promise",
    "Result",
    "RunError",
    "StateRow",
    "Told",
    "Unchecked",
    "Verdict",
    "fingerprint_of",
]

Verdict = Literal["met", "broken", "not-checked"]


def fingerprint_of(key: tuple[str, ...]) -> str:
    """Return the key of a finding as twenty hexadecimal digits."""
    import hashlib  # no sheet of text asks

    return hashlib.sha256("\0".join(key).encode("utf-8", "surrogatepass")).hexdigest()[:20]


@record
class Judged:
    """A finding with the rule it came from and the severity that counts.

    `key` is its identity: build path, rule, grade and sorted subject names, never the state or the line. `because` are keys of what yielded to it.
    """

    rule: Rule
    grade: Grade
    severity: Severity
    finding: Finding
    key: tuple[str, ...]
    because: tuple[tuple[str, ...], ...] = ()
    waiver: Waiver | None = None

    @property
    def fingerprint(self) -> str:
        """The key as twenty hexadecimal digits, for other programs."""
        return fingerprint_of(self.key)

    @property
    def reference(self) -> Reference | None:
        """What the limit rests on."""
        return self.finding.reference or (self.rule.references[0] if self.rule.references else None)


@record
class Kept:
    """A grade that holds."""

    rule: Rule
    passed: Passed


@record
class Unchecked:
    """A grade that could not be checked."""

    rule: Rule
    grade: Grade
    severity: Severity
    outcome: NotChecked


@record
class Promise:
    """A requirement of the builder with its sum and verdict; a rule yields it beside its outcomes."""

    name: str
    formula: str
    value: Amount | None
    limit: Amount | None
    verdict: Verdict
    span: Span
    working: tuple[Step, ...] = ()


@record
class Told:
    """What all rules said of a build, for promises that they answer together: findings that stand, grades that hold, and what could not be checked."""

    findings: tuple[Judged, ...]
    passes: tuple[Kept, ...]
    not_checked: tuple[Unchecked, ...]


@record
class Assumed:
    """Something that was implied, defaulted or assumed, and where that comes from."""

    subject: str
    what: str
    value: str
    source: str


@record
class StateRow:
    """A state that was looked at, and where it comes from."""

    name: str
    origin: str


@record
class RunError:
    """Something that went wrong in the run itself, not in a build: such a run is never clean."""

    message: str
    pack: str = ""
    rule: str = ""
    build: str = ""


@record
class BuildResult:
    """Everything that was said of one file."""

    path: str
    is_library: bool
    title: str
    revision: str
    basis: str
    partial: bool
    states: tuple[StateRow, ...] = ()
    findings: tuple[Judged, ...] = ()
    passes: tuple[Kept, ...] = ()
    not_checked: tuple[Unchecked, ...] = ()
    does_not_apply: tuple[tuple[str, DoesNotApply], ...] = ()
    requirements: tuple[Promise, ...] = ()
    assumed: tuple[Assumed, ...] = ()
    waived: tuple[Judged, ...] = ()
    yielded: tuple[Judged, ...] = ()
    not_reached: int = 0
    kinds: dict[str, str] = field(default_factory=dict)  # subject -> "wire", "fuse", …
    places: dict[str, Span] = field(default_factory=dict)  # subject -> its statement
    rules_run: int = 0


@record
class Result:
    """The result of one run over any number of files."""

    version: str
    today: str
    packs: tuple[tuple[str, str], ...]
    builds: tuple[BuildResult, ...]
    errors: tuple[RunError, ...] = ()
    settings: str = ""
