"""The inspection sheet: what was found, part by part, what could not be checked, and what stands behind it.

Readable at 80 columns and without colour, and never longer than a person can use: what does not fit is counted. Nothing from a build file
reaches the terminal with its control characters.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import islice

from ohmwright_grammar.records import record

from ohmwright.findings import Severity
from ohmwright.references import Step
from ohmwright.reports.entries import CLAUSES, by_severity, by_subject, facts, heading, name_of, title_of, waived_in_words
from ohmwright.reports.entries import working as steps_in_words
from ohmwright.reports.totals import closing, settings_in_words
from ohmwright.reports.words import Ink, counted, labelled, listed, wrapped
from ohmwright.results import BuildResult, Judged, Promise, Result, Unchecked
from ohmwright.values import shown, shown_pair

__all__ = ["TextOptions", "write"]

MOST_FINDINGS = 200
MOST_GROUPS = 60  # of what could not be checked, and of other lists beside the findings
_NAMED = 40  # names in one row of such a list
_INDENT = 4
_LABEL = 10  # together they leave 66 columns, so that a content hash between its marks is not broken


@record
class TextOptions:
    """How to write the sheet; `most` is the number of findings that are written out, over all builds."""

    working: bool = False
    assumed: bool = False
    colour: bool = False
    require_checked: bool = False
    most: int = MOST_FINDINGS


_PLAIN = TextOptions()


def write(result: Result, options: TextOptions = _PLAIN) -> str:
    """Return the whole sheet."""
    sheet = _Sheet(options)
    lines: list[str] = []
    for build in result.builds:
        lines.extend(sheet.build(build))
    lines.extend(sheet.silent())
    for told in result.settings:
        for depth, words in settings_in_words(told):
            lines.extend(wrapped(words, 2 * depth, 2))
        lines.append("")
    for error in result.errors:
        where = f" ({error.build})" if error.build else ""
        lines.extend(wrapped(f"The run itself failed: {error.message}{where}", 0, 2))
    if result.errors:
        lines.append("")
    for words in closing(result, options.require_checked):
        lines.extend(wrapped(words))
    return "\n".join(lines).rstrip() + "\n"


class _Sheet:
    """Writes builds one after the other; the number of entries runs on, and what is left to write gets less."""

    def __init__(self, options: TextOptions) -> None:
        self.options = options
        self.ink = Ink(options.colour)
        self.number = 0
        self.advised: dict[tuple[str, ...], int] = {}  # what a note advised, to its number: the same is not written out again
        self.left = options.most
        self.lists_left = 4 * MOST_GROUPS
        self.unwritten = 0

    # one build -----------------------------------------------------------------------------------------------------

    def build(self, build: BuildResult) -> Iterator[str]:
        if not (self.left > 0 and self.lists_left > 0) and not build.partial:
            self.unwritten += 1
            return
        yield from self._head(build)
        if build.findings:
            yield from self._findings(build)
        else:
            nothing = "No new finding." if build.baselined else "No finding."
            yield nothing if build.states or build.is_library else "Not inspected."
        if build.waived:
            yield from self._list("Waived", len(build.waived), map(waived_in_words, build.waived))
        if build.baselined:
            yield ""
            yield from wrapped(f"Held by the baseline, and no worse: {by_severity(build.baselined)}.", 0, 2)
        yield from self._unchecked(build)
        if build.requirements:
            promised = _promises(build.requirements)
            working = [steps for _, steps in promised] if self.options.working else []
            yield from self._list("Requirements", len(promised), (row for row, _ in promised), working)
        if self.options.assumed:
            yield from self._assumed(build)
        yield ""

    def silent(self) -> Iterator[str]:
        if self.unwritten:
            yield f"{counted(self.unwritten, 'more file')} inspected, not written out here; the counts below hold them."
            yield ""

    def _head(self, build: BuildResult) -> Iterator[str]:
        title = build.title or ("a library of parts" if build.is_library else "")
        revision = f", revision {build.revision}" if build.revision else ""
        yield from self._bold(f"{build.path}: {title}{revision}" if title else build.path)
        told: list[str] = []
        if build.states:
            told.append(f"basis {build.basis}" if build.basis else "no basis declared")
            origins = [state.origin for state in build.states]
            known = [(origins.count(word), word) for word in ("declared", "implied", "reached")]
            states = ", ".join(f"{count} {word}" for count, word in known if count)
            left = f" ({build.not_reached:,} more left out)" if build.not_reached else ""
            told.append(f"states: {states}{left}")
        if build.partial:
            told.append("read in part only")
        if told:
            yield from wrapped("; ".join(told), 0, 2)

    def _bold(self, text: str) -> Iterator[str]:
        return (self.ink.bold(line) for line in wrapped(text, 0, 2))

    def _findings(self, build: BuildResult) -> Iterator[str]:
        written = 0
        names = {item.key: item for item in build.yielded}
        for findings in by_subject(build):
            if self.left <= 0:
                break
            yield ""
            yield from self._bold(heading(build, findings[0]))
            for item in findings[: self.left]:
                yield from self._finding(item, build, names)
                written += 1
            self.left -= min(len(findings), self.left)
        if written < len(build.findings):
            yield ""
            more = counted(len(build.findings) - written, "more finding")
            verb = "is" if len(build.findings) - written == 1 else "are"
            yield f"{more} {verb} not written out here; the JSON output holds them all."

    def _finding(self, item: Judged, build: BuildResult, yielded: dict[tuple[str, ...], Judged]) -> Iterator[str]:
        word = item.severity.word
        self.number += 1
        lines = list(wrapped(f"{self.number}. {word.capitalize()}: {title_of(item)} ({name_of(item)})", 2, 3))
        yield from (self.ink.severity(word, line) for line in lines)
        told = list(facts(item, build, yielded, self.options.working))
        advice = (build.path, name_of(item), *(text for label, text in told if label in _ADVICE))
        first = (
            self.advised.setdefault(advice, self.number) if item.severity == Severity.NOTE and len(advice) > 2 else self.number
        )
        for label, text in told:
            if first == self.number or label not in _ADVICE:
                yield from _entry(label, text)
        if first != self.number:
            yield from _entry("Remedy", f"as in {first}")

    # lists beside the findings -------------------------------------------------------------------------------------

    def _list(self, title: str, count: int, rows: Iterable[str], working: Sequence[tuple[Step, ...]] = ()) -> Iterator[str]:
        yield ""
        yield self.ink.bold(title)
        most = min(MOST_GROUPS, max(self.lists_left, 0))
        for number, row in enumerate(islice(rows, most)):
            yield from wrapped(row, 2, 2)
            if working:
                for label, text in steps_in_words(working[number]):
                    yield from _entry(label, text)
        self.lists_left -= min(count, most)
        if count > most:
            yield f"  and {count - most:,} more"

    def _unchecked(self, build: BuildResult) -> Iterator[str]:
        if not build.not_checked:
            return
        groups: dict[tuple[str, str], list[Unchecked]] = defaultdict(list)
        for item in build.not_checked:
            groups[(_datum(item.outcome.missing, build.kinds)[0], item.outcome.declare)].append(item)
        ordered = sorted(groups.items(), key=lambda pair: (-max(item.severity for item in pair[1]), pair[0]))
        yield ""
        yield self.ink.bold(f"Could not be checked ({counted(len(build.not_checked), 'check')}), for want of")
        most = min(MOST_GROUPS, max(self.lists_left, 0))
        for (missing, declare), items in ordered[:most]:
            yield from self._group(missing, declare, items, build)
        self.lists_left -= min(len(ordered), most)
        if len(ordered) > most:
            rest = sum(len(items) for _, items in ordered[most:])
            more = len(ordered) - most
            yield f"  and {more:,} more {'datum' if more == 1 else 'data'}, for {counted(rest, 'check')}"

    def _group(self, missing: str, declare: str, items: list[Unchecked], build: BuildResult) -> Iterator[str]:
        kinds = build.kinds
        subjects = list(dict.fromkeys(item.outcome.subject[0] for item in items if item.outcome.subject))
        hard = any(item.severity is Severity.ERROR for item in items)
        counts = ""
        if hard:
            as_error = self.options.require_checked or build.require_checked
            counts = " (counts as an error)" if as_error else " (counts as a warning)"
        owners = list(dict.fromkeys(name for item in items if (name := _datum(item.outcome.missing, kinds)[1])))
        if owners:
            missing = _whose(missing, owners)
            subjects = [name for name in subjects if name not in owners]
        yield from wrapped(f"{_with_subjects(missing, subjects, kinds)}{counts}", 2, 2)
        yield from _entry("For", listed(sorted({item.rule.id for item in items})))
        if declare:
            yield from _entry("Declare", declare)

    def _assumed(self, build: BuildResult) -> Iterator[str]:
        groups: dict[tuple[str, str, str], list[str]] = defaultdict(list)
        for item in build.assumed:
            groups[(item.what, item.value, item.source)].append(item.subject)
        rows = (f"{_said(what, value, source)} ({source}): {listed(names)}" for (what, value, source), names in groups.items())
        if groups:
            yield from self._list("Implied, defaulted or assumed", len(groups), rows)


# pieces --------------------------------------------------------------------------------------------------------------


_ADVICE = ("Remedy", "Basis")


def _entry(label: str, text: str) -> Iterator[str]:
    return labelled(label, text, _INDENT, _LABEL)


def _datum(missing: str, kinds: Mapping[str, str]) -> tuple[str, str]:
    """Part a missing datum ("rated current of main") from the thing whose it is, "" where it names none at its end."""
    datum, _, name = missing.rpartition(" of ")
    return (datum, name) if datum and name in kinds else (missing, "")


def _with_subjects(missing: str, subjects: list[str], kinds: Mapping[str, str]) -> str:
    """Return a missing datum with its subjects, each named once: a datum of a thing that it names itself is missing for the others."""
    if not subjects:
        return missing
    words = {word.strip("()',:") for word in missing.split()}
    words |= {terminal.rpartition(".")[0] for terminal in words if "." in terminal}
    if all(name in words for name in subjects):
        return missing
    clause = missing.startswith(CLAUSES)
    its_own = (clause or " of " in missing) and any(word in kinds for word in words)
    return f"{missing}, for {listed(subjects)}" if its_own or missing.endswith(")") else _whose(missing, subjects)


def _whose(missing: str, owners: list[str]) -> str:
    """Return a missing datum with the things whose it is: "length of feed", but "feed: whether it is coiled", where a pronoun stands for them."""
    if missing.startswith(CLAUSES) or not {"it", "its", "they", "their"}.isdisjoint(re.findall(r"\w+", missing)):
        return f"{listed(owners)}: {missing}"
    return f"{missing} of {listed(owners)}"


# other lists -------------------------------------------------------------------------------------------------------


def _said(what: str, value: str, source: str) -> str:
    """Return what was assumed: a declared value reads by itself, one that nobody declared needs the name of its property."""
    return value if source.startswith(("default", "group", "derived")) and value else f"{what} {value}".strip()


_VERDICTS = {"met": "met", "broken": "broken", "not-checked": "not checked"}


def _promises(promises: Iterable[Promise]) -> list[tuple[str, tuple[Step, ...]]]:
    """Return the verdicts of requirements with their working; those that no rule could judge, and for one reason, stand together."""
    rows: list[tuple[str, tuple[Step, ...]]] = []
    open_ones: dict[str, list[str]] = defaultdict(list)
    for promise in promises:
        if promise.verdict == "not-checked" and promise.value is None:
            open_ones[promise.formula].append(promise.name)
        else:
            rows.append((_promise(promise), promise.working))
    for reason, names in open_ones.items():
        rest = f" and {len(names) - _NAMED:,} more" if len(names) > _NAMED else ""
        rows.append((f"not checked{f' ({reason})' if reason else ''}: {'; '.join(names[:_NAMED])}{rest}", ()))
    return rows


def _promise(promise: Promise) -> str:
    value = ""
    if promise.value is not None and promise.limit is not None:
        one, two = shown_pair(promise.value, promise.limit)
        value = f", {one} against {two}"
    elif promise.value is not None:
        value = f", {shown(promise.value)}"
    formula = f" ({promise.formula})" if promise.formula else ""
    return f"{promise.name}: {_VERDICTS[promise.verdict]}{value}{formula}"
