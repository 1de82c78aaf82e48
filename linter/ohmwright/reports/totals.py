"""What every report ends with: the settings that held, what was checked, what was not, what does not apply, and that it is no approval."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import Severity
from ohmwright.reports.words import CAUTIONS, counted, listed
from ohmwright.results import Result, SettingsTold
from ohmwright.text_rules import OWN_FAMILIES

__all__ = ["closing", "settings_in_words"]


def settings_in_words(told: SettingsTold) -> Iterator[tuple[int, str]]:
    """Yield, each with its depth, what the settings of one root change in this run: nothing that they keep from counting is passed over in silence."""
    held = [f"bar {told.bar}", "checks required" if told.require_checked else "", told.states == "reached" and "reached states"]
    terms = ", ".join(word for word in held if word)
    also = f"; {told.also} has settings too, which do not count beside them" if told.also else ""
    if told.file:
        yield 0, f"Settings: {told.file} ({terms}){also}."
    for item in told.left_out:
        if item.what == "family":
            yield 1, f"Left out: the family {item.name}, {counted(item.count, 'rule')}, because {item.because}"
        elif item.count:
            files = f"{counted(item.count, 'file')} ({listed(item.files, 4)})"
            yield 1, f"Left out: {item.name}, {files}, because {item.because}"
    for change in told.grades:
        if change.now == "off":
            yield 1, f"Switched off: {change.grade}, {counted(change.count, 'time')}, because {change.because}"
        elif change.count and change.now != change.was:
            how = f"from {change.was} to {change.now}"
            yield 1, f"Severity changed: {change.grade} {how}, {counted(change.count, 'time')}, because {change.because}"
    if told.baseline:
        entries = counted(told.entries, "entry")
        yield 0, f"Baseline: {told.baseline}, {entries}, {told.held:,} of them found in this run."
    if told.gone:
        yield 1, f"It names files that are no longer there: {listed(told.gone, 4)}"


def closing(result: Result, require_checked: bool = False) -> Iterator[str]:
    """Yield the sentences that end a report."""
    counts = dict.fromkeys(sorted(Severity, reverse=True), 0)
    checked = unchecked = hard = as_errors = waived = held = off = nothing = 0
    for build in result.builds:
        for item in build.findings:
            counts[item.severity] += 1
        checked += sum(map(len, (build.passes, build.waived, build.yielded, build.baselined, build.switched_off)))
        checked += sum(1 for item in build.findings if item.rule.family not in OWN_FAMILIES)
        unchecked += len(build.not_checked)
        errors = sum(1 for item in build.not_checked if item.severity is Severity.ERROR)
        hard += errors
        as_errors += errors if require_checked or build.require_checked else 0
        waived += len(build.waived)
        held += len(build.baselined)
        off += len(build.switched_off)
        nothing += sum(item.count for _, item in build.does_not_apply)
    found = ", ".join(counted(count, severity.word) for severity, count in counts.items())
    rules = max((build.rules_run for build in result.builds), default=0)
    beside = ((waived, "waived"), (held, "held by the baseline"), (off, "switched off by settings"))
    rest = "".join(f" {count:,} {words}." for count, words in beside if count)
    yield f"{counted(len(result.builds), 'file')}, {counted(rules, 'rule')}: {found}.{rest}"
    as_what = "as errors" if as_errors == hard else f"{as_errors:,} as errors" if as_errors else "as warnings"
    of_error = f" ({hard:,} of an error-level grade, which count {as_what})" if hard else ""
    verb = "does" if nothing == 1 else "do"
    yield f"{counted(checked, 'check')} made, {unchecked:,} could not be made{of_error}, {nothing:,} {verb} not apply."
    partial = sum(1 for build in result.builds if build.partial)
    if partial:
        verb = "was" if partial == 1 else "were"
        yield f"{counted(partial, 'file')} {verb} read in part only: what is missing there was not checked."
    yield CAUTIONS
