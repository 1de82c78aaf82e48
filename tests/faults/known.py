"""Entries of a baseline beside a planted build: the edit that writes one, and the baseline as it is read again."""

from __future__ import annotations

from collections.abc import Iterable

from ohmwright import __version__
from ohmwright.baseline_files import document_of, read_text
from ohmwright.baselines import Baseline
from ohmwright.findings import Sense
from ohmwright.results import Entry
from ohmwright_grammar.spans import Span

from faults.edits import Draft, Edit, PlantingError

__all__ = ["BASELINE", "baseline_of", "known"]

BASELINE = "known.json"  # its name in what is said of it


def known(
    grade: str, subject: str, severity: str = "error", measured: str = "", limit: str = "", sense: Sense = "at-most"
) -> Edit:
    """Let a baseline hold a finding of this build.

    `grade`: "rule.grade". `subject`: all things of the finding, in any order, parted by ", ". `measured` and `limit` are values in the unit that results
    have them in ("0.823 mm2"), "" of a check without a limit; `sense` tells to which side of the limit the good values lie.
    """
    rule, _, name = grade.partition(".")

    def apply(draft: Draft) -> None:
        things = tuple(sorted(set(subject.split(", "))))
        draft.known.append(
            Entry(draft.body.path, rule, name, things, severity, _value(measured), _value(limit), sense, Span("", 1, 1, 1, 2))
        )

    words = ", ".join(repr(item) for item in (grade, subject, severity, measured, limit, sense))
    return Edit(f"known({words})", apply)


def _value(words: str) -> tuple[float, str] | None:
    if not words:
        return None
    number, _, unit = words.partition(" ")
    try:
        return float(number), unit
    except ValueError:
        raise PlantingError(f"{words!r} is no value with a unit, such as '0.823 mm2'") from None


def baseline_of(entries: Iterable[Entry], states: str) -> Baseline | None:
    """Return the baseline of these entries, written as text and read again; None without entries, PlantingError where it cannot be read."""
    listed = tuple(entries)
    if not listed:
        return None
    baseline, faults = read_text(document_of(listed, __version__, states), BASELINE)
    if faults:
        raise PlantingError(f"the baseline cannot be read: {' '.join(fault.message for fault in faults)}")
    return baseline
