"""The record of a planting, and the short ways to write those of one grade together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

from faults.edits import Edit

__all__ = ["TODAY", "Companion", "How", "Planting", "also", "threefold", "unchecked", "yes_no"]

How = Literal["inside", "over", "far", "wrong", "silent"]
TODAY = date(2026, 6, 1)
_Edits = Edit | Iterable[Edit]
_Also = Iterable["Companion"]


@dataclass(frozen=True, slots=True)
class Companion:
    """What rightly appears beside the planted fault, worked out by hand beforehand: a finding, or a check that can no longer be made.

    `subject` is the chief thing, or all of them in any order, parted by ", ".
    """

    grade: str  # "oversized-fuse.too-large"
    subject: str
    why: str
    outcome: Literal["finding", "not checked"] = "finding"


@dataclass(frozen=True, slots=True)
class Planting:
    """One fault planted into one clean build, and what must be said of it."""

    grade: str  # "undersized-wire.over-ampacity"
    subject: str  # as in Companion
    base: str
    edits: tuple[Edit, ...]
    how: How
    also: tuple[Companion, ...] = ()
    reached: bool = False
    today: date = TODAY
    basis: str = ""  # that of the build itself
    tag: str = ""  # parts plantings that would have the same id
    coarse: str = ""  # why it cannot lie as near to the limit, or as far from it, as its word says

    @property
    def id(self) -> str:
        """The name of its test."""
        words = (self.grade, self.how, self.base, self.subject.replace(", ", "+"), self.tag)
        return "-".join(word.replace(" ", "_") for word in words if word)

    @property
    def rule(self) -> str:
        """The id of the rule."""
        return self.grade.partition(".")[0]

    @property
    def must_find(self) -> bool:
        """Tell whether the grade must be found; where not, it must not."""
        return self.how not in ("inside", "silent")


def also(grade: str, subject: str, why: str) -> Companion:
    """Expect one more finding, for a reason that follows from the predicates of the rules."""
    return Companion(grade, subject, why)


def unchecked(grade: str, subject: str, why: str) -> Companion:
    """Expect that a check at the level of an error can no longer be made, for a reason."""
    return Companion(grade, subject, why, "not checked")


def _tuple(edits: _Edits) -> tuple[Edit, ...]:
    return (edits,) if isinstance(edits, Edit) else tuple(edits)


def threefold(
    grade: str,
    subject: str,
    base: str,
    *,
    inside: _Edits,
    over: _Edits,
    far: _Edits,
    companions: _Also = (),
    over_also: _Also = (),
    far_also: _Also = (),
    inside_also: _Also = (),
    **rest: Any,
) -> tuple[Planting, ...]:
    """Return three plantings of a grade with a limit: just inside, just over, far over.

    `companions` are those of `over` and `far`, the others those of one planting. `rest` are fields of `Planting`.
    """
    return (
        Planting(grade, subject, base, _tuple(inside), "inside", tuple(inside_also), **rest),
        Planting(grade, subject, base, _tuple(over), "over", (*companions, *over_also), **rest),
        Planting(grade, subject, base, _tuple(far), "far", (*companions, *far_also), **rest),
    )


def yes_no(
    grade: str,
    subject: str,
    base: str,
    *,
    wrong: _Edits,
    wrong_too: _Edits,
    silent: _Edits,
    companions: _Also = (),
    wrong_also: _Also = (),
    wrong_too_also: _Also = (),
    silent_also: _Also = (),
    **rest: Any,
) -> tuple[Planting, ...]:
    """Return three plantings of a grade without a limit: two that are wrong in different ways, and one near to them that is right.

    `companions` are those of both wrong ones, the others those of one planting. `rest` are fields of `Planting`.
    """
    tag = rest.pop("tag", "")
    return (
        Planting(grade, subject, base, _tuple(wrong), "wrong", (*companions, *wrong_also), tag=f"{tag}1", **rest),
        Planting(grade, subject, base, _tuple(wrong_too), "wrong", (*companions, *wrong_too_also), tag=f"{tag}2", **rest),
        Planting(grade, subject, base, _tuple(silent), "silent", tuple(silent_also), tag=tag, **rest),
    )
