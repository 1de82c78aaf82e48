"""One build before and after: everything that is to be said of it, in one record."""

from __future__ import annotations

from typing import Literal

from ohmwright_grammar.model import Build

from ohmwright.comparing.model import BuildChange, FindingChange
from ohmwright.comparing.outcomes import (
    Key,
    compared_findings,
    compared_promises,
    key_of,
    moved_margins,
    no_longer_checked,
    stands,
)
from ohmwright.comparing.things import Names, changed_things
from ohmwright.results import BuildResult
from ohmwright.rules import Pack

__all__ = ["compared_build"]


def compared_build(
    path: str,
    old_path: str,
    how: Literal["added", "removed", "changed", "renamed"],
    results: tuple[BuildResult | None, BuildResult | None],
    builds: tuple[Build | None, Build | None],
    names: Names,
    packs: tuple[Pack, ...],
) -> BuildChange:
    """Compare the results and the models of one build; either may be missing on a side."""
    old, new = results
    before, after = stands(old, names.both), stands(new, {})
    findings = tuple(compared_findings(before, after, new, old.kinds if old is not None else {}))
    unchecked = tuple(no_longer_checked(before, old, new, names.both))
    one, two = builds
    things = changed_things(one, two, names) if one is not None and two is not None and not two.is_library else ()
    return BuildChange(
        path,
        old_path,
        how,
        old,
        new,
        findings,
        unchecked,
        tuple(
            moved_margins(
                before, after, frozenset(_key(change, names) for change in findings), lambda name: _called(name, packs)
            )
        ),
        things,
        tuple(compared_promises(old, new)),
    )


def _key(change: FindingChange, names: Names) -> Key:
    item = change.item
    return key_of(item.rule.id, item.grade.name, item.finding.subject, names.both if change.new is None else {})


def _called(name: str, packs: tuple[Pack, ...]) -> str:
    """Return what the limit of a grade is called, "" where its pack does not say."""
    for pack in packs:
        if pack.limits is not None:
            words = pack.limits(name)
            if words:
                return words
    return ""
