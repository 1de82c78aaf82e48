"""What a comparison answers with, before it is written in any format."""

from __future__ import annotations

from typing import Literal

from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright.results import BuildResult, Judged, Kept, Promise, RunError, Unchecked

__all__ = [
    "BuildChange",
    "Comparison",
    "Effect",
    "FindingChange",
    "Judgement",
    "Move",
    "PromiseChange",
    "Row",
    "SideTold",
    "ThingChange",
    "UncheckedChange",
]

Effect = Literal["looser", "tighter", "changed"]


@record
class Judgement:
    """Something that would change the judgement of builds: a waiver, a setting, an exclusion, an entry of a baseline, a rating in a library, a rule pack.

    `kind` is one of waiver, setting, exclusion, grade, accepted, baseline, library, pack, review, basis, requirement. `accepted` is the reason for which
    the settings of the old side accept it, "" where they do not. `span` lies in the new side where the change says something, else in the old one.
    """

    kind: str
    effect: Effect
    path: str  # from the top of its side
    about: str  # what it is about, in a few words
    was: str
    now: str
    span: Span | None = None
    accepted: str = ""
    remedy: str = ""

    @property
    def stops(self) -> bool:
        """Tell whether it counts at the bar of the judgement: whatever tightens it, or is accepted, does not."""
        return self.effect != "tighter" and not self.accepted


@record
class FindingChange:
    """A finding that is new, worse, better, gone, or found and yet does not count (waived, held by the baseline).

    `before` and `after` are what passed in its place. `why` says in a few words what became of it, or where it was before.
    """

    how: Literal["new", "worse", "better", "gone", "waived", "held"]
    old: Judged | None
    new: Judged | None
    why: str = ""
    before: Kept | None = None
    after: Kept | None = None

    @property
    def item(self) -> Judged:
        """The finding as it is now, else as it was."""
        found = self.new or self.old
        assert found is not None
        return found


@record
class UncheckedChange:
    """A grade that can no longer be checked; `was` says what it was before: passed, found, or new."""

    item: Unchecked
    was: str


@record
class Move:
    """A margin that moved: what was measured against which limit, before and after; margins are shares of the limit."""

    rule: str
    grade: str
    subject: tuple[str, ...]
    old: Kept | Judged
    new: Kept | Judged
    was: float
    now: float
    limit: str = ""  # what the limit is called ("its ampacity")


@record
class Row:
    """One thing that is said otherwise: the words before and after, "" for what was not said."""

    what: str
    was: str
    now: str


@record
class ThingChange:
    """A part, a wire, a state or another thing that was added, removed, renamed or changed."""

    how: Literal["added", "removed", "changed", "renamed"]
    kind: str
    name: str
    was: str  # its name before, "" of one that was added
    rows: tuple[Row, ...]
    span: Span


@record
class PromiseChange:
    """A requirement whose verdict flipped, or that was added or taken out."""

    name: str
    old: Promise | None
    new: Promise | None


@record
class BuildChange:
    """Everything that a change does to one build; paths are from the top of each side, "" where a side does not have the file."""

    path: str
    old_path: str
    how: Literal["added", "removed", "changed", "renamed"]
    old: BuildResult | None
    new: BuildResult | None
    findings: tuple[FindingChange, ...] = ()
    unchecked: tuple[UncheckedChange, ...] = ()
    moves: tuple[Move, ...] = ()
    things: tuple[ThingChange, ...] = ()
    promises: tuple[PromiseChange, ...] = ()

    @property
    def is_quiet(self) -> bool:
        """Tell whether nothing is to be said of it."""
        lists = (self.findings, self.unchecked, self.moves, self.things, self.promises)
        return self.how == "changed" and not any(lists)


@record
class SideTold:
    """One side: its name as asked for, and the commit that it stands for, "" of a folder."""

    name: str
    commit: str = ""


@record
class Comparison:
    """A whole comparison. `unchanged` counts the builds that read the same on both sides, `settings` names the file whose terms held for both."""

    version: str
    today: str
    packs: tuple[tuple[str, str], ...]
    old: SideTold
    new: SideTold
    judgement: tuple[Judgement, ...]
    builds: tuple[BuildChange, ...]
    unchanged: int = 0
    settings: tuple[str, ...] = ()
    errors: tuple[RunError, ...] = ()
    require_checked: bool = False
