"""What an inspection answers with, before it is written in any format."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import field
from typing import Literal

from ohmwright_grammar.kinds.waiver import Waiver
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Passed, Sense, Severity
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule
from ohmwright.values import Amount

__all__ = [
    "Adapted",
    "Assumed",
    "BuildResult",
    "Entry",
    "Home",
    "Judged",
    "Kept",
    "LeftOutHere",
    "Promise",
    "Regraded",
    "Result",
    "RunError",
    "SettingsTold",
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
class Entry:
    """One finding that a baseline holds: its identity, how severe it was, and what was measured against which limit (value and unit as results have them)."""

    path: str
    rule: str
    grade: str
    subject: tuple[str, ...]
    severity: str
    measured: tuple[float, str] | None
    limit: tuple[float, str] | None
    sense: Sense
    span: Span = field(compare=False)


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
    entry: Entry | None = None  # of the baseline that holds it

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
class Adapted:
    """What an adaptation says otherwise than the published build that it names.

    `revision` is that of the copy as found. `site` is the site that it is built for, `changes` names each thing with what is said of it, on one line.
    """

    base: str  # its path from the root
    title: str
    revision: str
    site: str = ""
    changes: tuple[tuple[str, str], ...] = ()


def _no_text(path: str) -> str:
    return ""


@record
class Home:
    """Where the root of a build lies in its repository, for reports that tell places to a service of that repository.

    `below` is the path of the root from the top of the repository, with "/" at its end, "" where both are one. `text` returns a file of the root by its
    path ("" where it is not known): columns are told in other units than ours by what stands before them.
    """

    below: str = ""
    text: Callable[[str], str] = _no_text


@record
class BuildResult:
    """Everything that was said of one file.

    The lists of it may be read from where they are kept each time that somebody asks: see `commands.scale.keeping`.
    """

    path: str
    is_library: bool
    title: str
    revision: str
    basis: str
    partial: bool
    states: tuple[StateRow, ...] = ()
    findings: tuple[Judged, ...] = ()
    passes: Sequence[Kept] = ()
    not_checked: tuple[Unchecked, ...] = ()
    does_not_apply: Sequence[tuple[str, DoesNotApply]] = ()
    requirements: tuple[Promise, ...] = ()
    assumed: Sequence[Assumed] = ()
    waived: tuple[Judged, ...] = ()
    yielded: Sequence[Judged] = ()
    baselined: tuple[Judged, ...] = ()  # known and no worse: they do not count at the bar
    switched_off: Sequence[Judged] = ()  # of grades that the settings switch off
    not_reached: int = 0
    kinds: dict[str, str] = field(default_factory=dict)  # subject -> "wire", "fuse", …
    places: dict[str, Span] = field(default_factory=dict)  # subject -> its statement
    rules_run: int = 0
    adapted: Adapted | None = None
    require_checked: bool = False  # what could not be checked counts as an error here
    bar: Severity = Severity.ERROR  # the severity that counts here
    home: Home = field(default=Home(), compare=False)


@record
class LeftOutHere:
    """What the settings leave out of a run: a path with the files that it means, or a family with the number of its rules."""

    what: str  # "path" or "family"
    name: str
    because: str
    count: int
    files: tuple[str, ...] = ()


@record
class Regraded:
    """A grade whose severity the settings change, and how many outcomes of the run that concerns."""

    grade: str
    was: str
    now: str  # a severity, or "off"
    because: str
    count: int


@record
class SettingsTold:
    """The settings that held for the builds below one root, as every report tells them; `file` is "" where no file said anything.

    `held` counts the findings that the baseline holds, `gone` the files that it names and that are no more.
    """

    file: str
    also: str = ""
    bar: str = "error"
    require_checked: bool = False
    basis: str = ""
    states: str = "declared"
    site: str = ""
    left_out: tuple[LeftOutHere, ...] = ()
    grades: tuple[Regraded, ...] = ()
    baseline: str = ""
    entries: int = 0
    held: int = 0
    gone: tuple[str, ...] = ()


@record
class Result:
    """The result of one run over any number of files."""

    version: str
    today: str
    packs: tuple[tuple[str, str], ...]
    builds: Sequence[BuildResult]
    errors: tuple[RunError, ...] = ()
    settings: tuple[SettingsTold, ...] = ()
