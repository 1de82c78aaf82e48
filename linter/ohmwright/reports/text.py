"""The inspection sheet: what was found, part by part, what could not be checked, and what stands behind it.

Readable at 80 columns and without colour, and never longer than a person can use: what does not fit is counted. Nothing from a build file
reaches the terminal with its control characters.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import islice

from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright.findings import Finding, Severity, StateMeasure
from ohmwright.references import Reference, Step
from ohmwright.reports.words import CAUTIONS, Ink, counted, labelled, listed, wrapped
from ohmwright.results import BuildResult, Judged, Promise, Result, SettingsTold, Unchecked
from ohmwright.text_rules import OWN_FAMILIES
from ohmwright.values import figures, shown, shown_pair

__all__ = ["TextOptions", "write"]

MOST_FINDINGS = 200
MOST_GROUPS = 60  # of what could not be checked, and of other lists beside the findings
_NAMED = 40  # names in one row of such a list
_INDENT = 4
_LABEL = 10  # together they leave 66 columns, so that a content hash between its marks is not broken

_STATUS = {
    "read": "read at the source",
    "secondary": "read at a secondary source",
    "from-memory": "from memory, not verified",
    "common-practice": "",
    "computed": "computed",
}


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
        lines.extend(_settings(told, result))
    for error in result.errors:
        where = f" ({error.build})" if error.build else ""
        lines.extend(wrapped(f"The run itself failed: {error.message}{where}", 0, 2))
    if result.errors:
        lines.append("")
    lines.extend(_closing(result, options))
    return "\n".join(lines).rstrip() + "\n"


class _Sheet:
    """Writes builds one after the other; the number of entries runs on, and what is left to write gets less."""

    def __init__(self, options: TextOptions) -> None:
        self.options = options
        self.ink = Ink(options.colour)
        self.number = 0
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
            yield from self._list("Waived", len(build.waived), map(_waived, build.waived))
        if build.baselined:
            yield ""
            yield from wrapped(f"Held by the baseline, and no worse: {_by_severity(build.baselined)}.", 0, 2)
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
        for findings in _by_subject(build):
            if self.left <= 0:
                break
            yield ""
            yield from self._bold(_heading(build, findings[0]))
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
        finding, word = item.finding, item.severity.word
        self.number += 1
        name = item.rule.id if item.rule.family == "text" else f"{item.rule.id}.{item.grade.name}"
        title = item.rule.title[:1].lower() + item.rule.title[1:]
        lines = list(wrapped(f"{self.number}. {word.capitalize()}: {title} ({name})", 2, 3))
        yield from (self.ink.severity(word, line) for line in lines)
        yield from _entry("Found", f"{_without_name(finding)}{_elsewhere(finding.span, build, finding)}")
        yield from _measured(finding)
        for related in finding.related:
            yield from _entry("See", f"{_place(related.span, build.path)}: {_sentence(related.message)}")
        if finding.remedy:
            yield from _entry("Remedy", finding.remedy)
        if self.options.working:
            yield from _working(finding.working)
        if item.reference is not None and item.rule.family not in OWN_FAMILIES:
            yield from _entry("Basis", _reference(item.reference))
        if item.because and yielded:
            entries = [
                f"{known.rule.id} on {known.finding.subject[0]}"
                for name in item.because
                if (known := yielded.get(name)) is not None
            ]
            yield from _entry("Explains", f"{listed(entries, 4)}: the same cause, not told again")

    # lists beside the findings -------------------------------------------------------------------------------------

    def _list(self, title: str, count: int, rows: Iterable[str], working: Sequence[tuple[Step, ...]] = ()) -> Iterator[str]:
        yield ""
        yield self.ink.bold(title)
        most = min(MOST_GROUPS, max(self.lists_left, 0))
        for number, row in enumerate(islice(rows, most)):
            yield from wrapped(row, 2, 2)
            if working:
                yield from _working(working[number])
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
            yield f"  and {len(ordered) - most:,} more data, for {counted(rest, 'check')}"

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
            missing = f"{missing} of {listed(owners)}"
            subjects = [name for name in subjects if name not in owners]
        of = _of(missing, subjects, kinds)
        yield from wrapped(f"{missing}{of}{counts}", 2, 2)
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


# findings ----------------------------------------------------------------------------------------------------------


def _by_subject(build: BuildResult) -> list[list[Judged]]:
    """Group findings by the thing that they are about, those about mere words by their line: the worst first, then as they stand."""
    groups: dict[tuple[str, int], list[Judged]] = defaultdict(list)
    for item in build.findings:
        subject, span = _subject(item), item.finding.span
        words = item.rule.family in OWN_FAMILIES and subject not in build.kinds
        groups[(span.path, span.line) if words else (f"{subject}\n", 0)].append(item)
    for items in groups.values():
        items.sort(key=lambda item: (-item.severity, item.finding.span, item.rule.id))
    return sorted(groups.values(), key=lambda items: (-max(item.severity for item in items), items[0].finding.span))


def _subject(item: Judged) -> str:
    return item.finding.subject[0] if item.finding.subject else ""


def _place(span: Span, path: str) -> str:
    return f"line {span.line}" if span.path == path else f"{span.path} line {span.line}"


def _heading(build: BuildResult, item: Judged) -> str:
    subject = _subject(item)
    kind = build.kinds.get(subject, "")
    if not kind and item.rule.family in OWN_FAMILIES:
        place = _place(item.finding.span, build.path)
        return place[:1].upper() + place[1:] if item.finding.span.path == build.path else place
    place = _place(build.places.get(subject, item.finding.span), build.path)
    name = subject if len(subject) <= 60 else f"{subject[:57]} …"
    return f"{name} ({kind}), {place}" if kind else f"{name}, {place}"


def _without_name(finding: Finding) -> str:
    """Return the message without the name that its heading has said already."""
    name = f"{finding.subject[0]}: " if finding.subject else ""
    message = finding.message
    return message[len(name) :] if name and message.startswith(name) else message


def _elsewhere(span: Span, build: BuildResult, finding: Finding) -> str:
    """Return where the finding stands, unless its heading has said so."""
    known = build.places.get(finding.subject[0] if finding.subject else "", span)
    if (known.path, known.line) == (span.path, span.line):
        return ""
    return f" ({_place(span, build.path)})"


def _entry(label: str, text: str) -> Iterator[str]:
    return labelled(label, text, _INDENT, _LABEL)


def _measured(finding: Finding) -> Iterator[str]:
    if finding.measured is None:
        if finding.state:
            yield from _entry("In state", f'"{finding.state}"{_other_states(finding.states, finding.state)}')
        return
    where = f' in state "{finding.state}"{_other_states(finding.states, finding.state)}' if finding.state else ""
    if finding.limit is None:
        yield from _entry("Measured", f"{shown(finding.measured)}{where}")
        return
    measured, allowed = shown_pair(finding.measured, finding.limit)
    yield from _entry("Measured", f"{measured}{where}")
    word = "at most" if finding.sense == "at-most" else "at least"
    yield from _entry("Allowed", f"{word} {allowed}{_excess(finding)}")


def _excess(finding: Finding) -> str:
    """Return by how much a limit is broken: of a temperature in kelvin, else as a share of the limit."""
    measured, limit, margin = finding.measured, finding.limit, finding.margin
    if measured is None or limit is None or margin is None or margin >= 0:
        return ""
    word = "over" if finding.sense == "at-most" else "under"
    if limit.dimension == "temperature":
        return f" ({figures(abs(measured.value - limit.value), 2)} K {word})"
    return f" ({figures(abs(margin) * 100, 2)} % {word})"


def _other_states(states: tuple[StateMeasure, ...], worst: str) -> str:
    others = [f'"{state.state}"' for state in states if state.state and state.state != worst]
    return f"; also in {listed(others, 2)}" if others else ""


def _datum(missing: str, kinds: Mapping[str, str]) -> tuple[str, str]:
    """Part a missing datum ("rated current of main") from the thing whose it is, "" where it names none at its end."""
    datum, _, name = missing.rpartition(" of ")
    return (datum, name) if datum and name in kinds else (missing, "")


def _of(missing: str, subjects: list[str], kinds: Mapping[str, str]) -> str:
    """Return the words that name the subjects of a missing datum, once: a datum of a thing that it names itself is missing for the others."""
    if not subjects:
        return ""
    words = frozenset(word.strip("()',") for word in missing.split())
    if all(name in words for name in subjects):
        return ""
    its_own = " of " in missing and any(word in kinds for word in words)
    return f", for {listed(subjects)}" if its_own or missing.endswith(")") else f" of {listed(subjects)}"


def _working(steps: Iterable[Step]) -> Iterator[str]:
    for number, step in enumerate(steps):
        yield from _entry("Working" if number == 0 else "", _step(step))


def _step(step: Step) -> str:
    unit = "" if step.unit == "1" else f" {step.unit}"
    value = f" = {figures(step.value, 4)}{unit}" if step.value is not None else ""
    return f"{step.symbol}: {step.expression}{value} ({step.source})"


def _reference(reference: Reference) -> str:
    status = _STATUS[reference.status]
    return f"{reference} ({status})" if status else str(reference)


def _sentence(text: str) -> str:
    """Return the words of a related place as they read after "line 8:"."""
    return text[:1].lower() + text[1:] if text[1:2].islower() or text[1:2] == " " else text


# other lists -------------------------------------------------------------------------------------------------------


def _said(what: str, value: str, source: str) -> str:
    """Return what was assumed: a declared value reads by itself, one that nobody declared needs the name of its property."""
    return value if source.startswith(("default", "group", "derived")) and value else f"{what} {value}".strip()


def _waived(item: Judged) -> str:
    from ohmwright.waiving import bound_of  # read only where there is a waiver

    waiver = item.waiver
    assert waiver is not None
    bound = waiver.up_to if item.finding.sense == "at-most" else waiver.down_to
    upto = ""
    if bound is not None and item.finding.measured is not None:
        word = "up to" if item.finding.sense == "at-most" else "down to"
        now, most = shown_pair(item.finding.measured, bound_of(bound))
        upto = f" {word} {most} (now {now})"
    until = f" until {waiver.until.isoformat()}" if waiver.until is not None else ""
    name = f"{item.rule.id}.{item.grade.name}"
    return f"{name} on {', '.join(item.finding.subject)}{upto}{until}: {waiver.because}"


_VERDICTS = {"met": "met", "broken": "broken", "not-checked": "not checked"}


def _by_severity(findings: Iterable[Judged]) -> str:
    counts = dict.fromkeys(sorted(Severity, reverse=True), 0)
    for item in findings:
        counts[item.severity] += 1
    return ", ".join(counted(count, severity.word) for severity, count in counts.items() if count)


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


# settings ----------------------------------------------------------------------------------------------------------


def _settings(told: SettingsTold, result: Result) -> Iterator[str]:
    """Yield what the settings of one root change in this run: nothing that they keep from counting is passed over in silence."""
    held = [f"bar {told.bar}", "checks required" if told.require_checked else "", told.states == "reached" and "reached states"]
    terms = ", ".join(word for word in held if word)
    also = f"; {told.also} has settings too, which do not count beside them" if told.also else ""
    if told.file:
        yield from wrapped(f"Settings: {told.file} ({terms}){also}.", 0, 2)
    for item in told.left_out:
        if item.what == "family":
            yield from wrapped(f"Left out: the family {item.name}, {counted(item.count, 'rule')}, because {item.because}", 2, 2)
        elif item.count:
            files = f"{counted(item.count, 'file')} ({listed(item.files, 4)})"
            yield from wrapped(f"Left out: {item.name}, {files}, because {item.because}", 2, 2)
    for change in told.grades:
        if change.now == "off":
            yield from wrapped(f"Switched off: {change.grade}, {counted(change.count, 'time')}, because {change.because}", 2, 2)
        elif change.count and change.now != change.was:
            how = f"from {change.was} to {change.now}"
            times = counted(change.count, "time")
            yield from wrapped(f"Severity changed: {change.grade} {how}, {times}, because {change.because}", 2, 2)
    if told.baseline:
        yield from wrapped(
            f"Baseline: {told.baseline}, {counted(told.entries, 'entry')}, {told.held:,} of them found in this run.", 0, 2
        )
    if told.gone:
        yield from wrapped(f"It names files that are no longer there: {listed(told.gone, 4)}", 2, 2)
    yield ""


# the end -----------------------------------------------------------------------------------------------------------


def _closing(result: Result, options: TextOptions) -> Iterator[str]:
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
        as_errors += errors if options.require_checked or build.require_checked else 0
        waived += len(build.waived)
        held += len(build.baselined)
        off += len(build.switched_off)
        nothing += sum(item.count for _, item in build.does_not_apply)
    found = ", ".join(counted(count, severity.word) for severity, count in counts.items())
    rules = max((build.rules_run for build in result.builds), default=0)
    beside = ((waived, "waived"), (held, "held by the baseline"), (off, "switched off by settings"))
    rest = "".join(f" {count:,} {words}." for count, words in beside if count)
    yield from wrapped(f"{counted(len(result.builds), 'file')}, {counted(rules, 'rule')}: {found}.{rest}")
    as_what = "as errors" if as_errors == hard else f"{as_errors:,} as errors" if as_errors else "as warnings"
    of_error = f" ({hard:,} of an error-level grade, which count {as_what})" if hard else ""
    verb = "does" if nothing == 1 else "do"
    yield from wrapped(
        f"{counted(checked, 'check')} made, {unchecked:,} could not be made{of_error}, {nothing:,} {verb} not apply."
    )
    partial = sum(1 for build in result.builds if build.partial)
    if partial:
        verb = "was" if partial == 1 else "were"
        yield from wrapped(f"{counted(partial, 'file')} {verb} read in part only: what is missing there was not checked.")
    yield from wrapped(CAUTIONS)
