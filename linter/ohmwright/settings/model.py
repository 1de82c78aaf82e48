"""What the settings of a repository say, and where they said it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import TYPE_CHECKING

from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

if TYPE_CHECKING:
    from ohmwright.settings.locating import Path

__all__ = ["OFF", "Accepted", "Fault", "GradeChange", "LeftOut", "Settings"]

OFF = "off"  # of a grade: what it finds is counted, and told nowhere else


@record
class LeftOut:
    """A path, or a family of rules, that is not inspected, and why."""

    what: str  # "path" or "family"
    name: str
    because: str
    span: Span = field(compare=False)


@record
class GradeChange:
    """Another severity for one grade of a rule ("rule.grade"), or "off", and why."""

    grade: str
    severity: str
    because: str
    span: Span = field(compare=False)


@record
class Accepted:
    """A waiver that a change of a build may bring, in the words in which the build would say it, and why."""

    build: str  # a path, as those that are left out
    waiver: str
    because: str
    span: Span = field(compare=False)


@record
class Fault:
    """Something wrong with the settings: told with its place, and ends in exit code 2."""

    message: str
    span: Span
    remedy: str = ""

    def __str__(self) -> str:
        where = f"{self.span.path} line {self.span.line} column {self.span.column}"
        return f"{where}: {self.message} {self.remedy}".rstrip()


@record
class Settings:
    """The settings that hold for the builds below one root; "" and None are what a file does not say.

    `file` is the name of the file as results tell it, `folder` the folder that its `baseline` counts from, `also` another file whose settings do
    not count because of this one. `spans` holds the place of each value by the words of its key ("left-out 2 because").
    """

    file: str = ""
    folder: str = ""
    also: str = ""
    basis: str = ""
    bar: str = ""
    require_checked: bool | None = None
    states: str = ""
    site: str = ""
    builds: tuple[str, ...] = ()
    baseline: str = ""
    cache: str = ""
    left_out: tuple[LeftOut, ...] = ()
    grades: tuple[GradeChange, ...] = ()
    accepted: tuple[Accepted, ...] = ()
    format: str = ""
    working: bool | None = None
    assumed: bool | None = None
    spans: Mapping[Path, Span] = field(default_factory=dict, compare=False)
    site_text: tuple[Span, bool] | None = field(
        default=None, compare=False
    )  # where its words stand, and whether they stand there letter by letter
