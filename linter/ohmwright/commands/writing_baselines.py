"""Writing what a run found into its baseline: whole, sorted, with the entries of builds that the run did not look at kept."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path

from ohmwright import __version__
from ohmwright.baseline_files import document_of, read_baseline
from ohmwright.baselines import key_of_entry
from ohmwright.commands.common import complain
from ohmwright.commands.terms import Group
from ohmwright.results import Entry, Result
from ohmwright.writing import write_whole

__all__ = ["write_baselines"]


def write_baselines(done: Iterable[tuple[Group, Result]]) -> int:
    """Write the baseline of each root; return 0, or 2 where one could not be written. A run that read builds in part only writes none."""
    codes = [_write(group, result) for group, result in done]
    return max(codes, default=2)


def _write(group: Group, result: Result) -> int:
    place, baseline = group.baseline_place, group.options.baseline
    assert place is not None and baseline is not None
    if result.errors or any(build.partial for build in result.builds):
        complain(f"{baseline.file} is left as it is: the run was not whole, so that it cannot tell everything that is found")
        return 2
    before: dict[tuple[str, ...], Entry] = {}
    if place.exists():
        if _is_something_else(place):
            complain(f"{baseline.file} is left as it is: it is no baseline")
            return 2
        known, faults = read_baseline(place, baseline.file)
        before = dict(known.entries)
        for fault in faults:
            complain(
                f"{fault.span.path} line {fault.span.line} column {fault.span.column}: {fault.message} It is written anew from this run."
            )
    looked_at = {build.path for build in result.builds}
    root = group.gathered.root
    after = {key: entry for key, entry in before.items() if entry.path not in looked_at and os.path.lexists(root / entry.path)}
    found = [item.entry for build in result.builds for item in build.baselined if item.entry is not None]
    after.update({key_of_entry(entry): entry for entry in found})
    states = "reached" if group.options.reached else "declared"
    problem = write_whole(place, document_of(after.values(), __version__, states))
    if problem:
        complain(problem)
        return 2
    new = len(after.keys() - before.keys())
    gone = len(before.keys() - after.keys())
    changed = sum(1 for key, entry in after.items() if key in before and before[key] != entry)
    complain(f"{baseline.file} holds {len(after):,} findings: {new:,} new, {changed:,} changed, {gone:,} taken out")
    return 0


def _is_something_else(place: Path) -> bool:
    """Tell whether a file is plainly no baseline, not even a damaged one, so that it must not be written over."""
    try:
        if not place.is_file():
            return True
        with open(place, "rb") as stream:
            start = stream.read(64).lstrip(b"\xef\xbb\xbf \t\r\n")
    except OSError:
        return False  # writing it says why it cannot be
    return bool(start) and not start.startswith(b"{")
