"""A comparison in words, the same in every format. What stands here is not escaped: it holds names and texts of build files as they are."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from ohmwright.comparing.model import (
    BuildChange,
    Comparison,
    FindingChange,
    Judgement,
    Move,
    PromiseChange,
    Row,
    SideTold,
    ThingChange,
    UncheckedChange,
)
from ohmwright.findings import Sense
from ohmwright.reports.entries import name_of, place_of, title_of
from ohmwright.reports.words import CAUTIONS, counted, cut, listed
from ohmwright.results import Judged, Kept, Promise
from ohmwright.values import Amount, figures, shown, shown_pair

__all__ = [
    "KINDS",
    "closing",
    "errors_in_words",
    "finding_facts",
    "finding_head",
    "judgement_facts",
    "judgement_head",
    "lists_in_words",
    "moves_in_words",
    "promise_in_words",
    "side_in_words",
    "stands_out",
    "things_in_words",
    "title_in_words",
]

KINDS = {
    "waiver": "waiver",
    "setting": "setting",
    "exclusion": "exclusion",
    "grade": "severity of a grade",
    "accepted": "acceptance of a waiver",
    "baseline": "baseline entry",
    "library": "parts library",
    "pack": "rule pack",
    "review": "review",
    "basis": "basis",
    "requirement": "requirement",
}
_MOST_TEXT = 300
_NAMED = 6
_NEAREST = 4  # margins of one thing
_SHORT = 3  # words after a figure that can be said twice


def side_in_words(side: SideTold) -> str:
    """Return what one side is."""
    return f"{side.name} ({side.commit[:10]})" if side.commit and not side.commit.startswith(side.name) else side.name


# the judgement -----------------------------------------------------------------------------------------------------


def judgement_head(item: Judgement) -> str:
    """Return what kind of change it is and where it stands.

    >>> judgement_head(Judgement("waiver", "looser", "box.rig", "warm-wire on feed", "", "warm-wire on feed until 2026-12-31"))
    'New waiver, box.rig'
    """
    kind = KINDS[item.kind]
    if item.effect == "tighter":
        word = "taken out" if not item.now else "tighter"
        head = f"{kind[0].upper()}{kind[1:]} {word}"
    elif item.effect == "looser":
        head = (
            f"New {kind}"
            if not item.was
            else f"{kind[0].upper()}{kind[1:]} taken out"
            if not item.now
            else f"Wider {kind}"
            if item.kind == "waiver"
            else f"Looser {kind}"
        )
    else:
        head = f"Changed {kind}"
    place = f", {item.path}" if item.path else ""
    line = f" line {item.span.line}" if item.span is not None and item.span.path.endswith(item.path.rpartition("/")[2]) else ""
    return f"{head}{place}{line}"


def judgement_facts(item: Judgement) -> Iterator[tuple[str, str]]:
    """Yield what was and what is, and what is to be done about it."""
    if item.kind not in ("waiver", "requirement"):
        yield "What", item.about
    if item.now:
        yield "Now", cut(item.now, _MOST_TEXT)
    if item.was:
        yield "Was", cut(item.was, _MOST_TEXT)
    if item.accepted:
        yield "Accepted", item.accepted
    if item.remedy:
        yield "Accept", "by these lines in the settings of the old side:"
        yield from (("", line) for line in item.remedy.splitlines())


# findings ----------------------------------------------------------------------------------------------------------

_HOW = {
    "new": "New", "worse": "Worse", "better": "Better", "gone": "Gone", "waived": "Newly waived", "held": "Newly held by the baseline:",
}  # fmt: skip


def finding_head(change: FindingChange) -> str:
    """Return what became of a finding: "New error: wire carries more than its rating (undersized-wire.over-ampacity)"."""
    item = change.item
    return f"{_HOW[change.how]} {item.severity.word}: {title_of(item)} ({name_of(item)})"


def stands_out(change: FindingChange) -> bool:
    """Tell whether a finding is one that a change may not bring."""
    return change.how in ("new", "worse")


def finding_facts(change: FindingChange, build: BuildChange) -> Iterator[tuple[str, str]]:
    """Yield where a finding of a build stands, what is measured now and what was before; a line of its own file is told without the file."""
    item = change.item
    side = build.new if change.new is not None else build.old
    path = side.path if side is not None else ""
    finding = item.finding
    name = finding.subject[0] if finding.subject else ""
    message = finding.message if not name or name in finding.message else f"{name}: {finding.message}"
    label = "Found" if change.new is not None else "Was"
    yield label, f"{message} ({place_of(finding.span, path)})"
    if change.new is not None and finding.measured is not None:
        yield "Now", _measured(item)
    if change.old is not None and change.new is not None and change.old.finding.measured is not None:
        severity = "" if change.old.severity == item.severity else f"{change.old.severity.word}, "
        yield "Was", severity + _measured(change.old)
    elif change.before is not None:
        yield "Was", f"passed, {_measured(change.before)}" if change.before.passed.measured is not None else "passed"
    if change.after is not None and change.after.passed.measured is not None:
        yield "Now", f"passes, {_measured(change.after)}"
    elif change.why:
        yield "Because", change.why
    if stands_out(change) and finding.remedy:
        yield "Remedy", finding.remedy


def _measured(item: Judged | Kept) -> str:
    """Return what is measured against what is allowed: "46.2 A of at most 30 A"."""
    measured, limit, sense = _values(item)
    if measured is None:
        return "no value"
    if limit is None:
        return shown(measured)
    one, two = shown_pair(measured, limit)
    return f"{one} of at {'most' if sense == 'at-most' else 'least'} {two}"


def _values(item: Judged | Kept) -> tuple[Amount | None, Amount | None, Sense]:
    held = item.finding if isinstance(item, Judged) else item.passed
    return held.measured, held.limit, held.sense


def _unchecked(change: UncheckedChange) -> str:
    """Return what can no longer be checked, and for want of what."""
    item = change.item
    was = {"passed": ", which passed before", "found": ", of which something was found before", "new": ""}[change.was]
    name = item.outcome.subject[0] if item.outcome.subject else "the build"
    return f"{name}: {name_of(item)} cannot be checked for want of {item.outcome.missing}{was} (line {item.outcome.span.line})"


# margins -----------------------------------------------------------------------------------------------------------


def moves_in_words(moves: Iterable[Move]) -> Iterator[str]:
    """Yield, for each thing, how near it is to its limits now and was before, those first whose margin shrank most."""
    words: dict[str, list[str]] = {}
    for move in moves:
        words.setdefault(move.subject[0] if move.subject else "the build", []).append(_move(move))
    groups: dict[str, list[str]] = {}
    for name, said in words.items():
        more = f"; and {len(said) - _NEAREST:,} more" if len(said) > _NEAREST else ""
        groups.setdefault(f"{'; '.join(said[:_NEAREST])}{more}", []).append(name)
    for said_of_all, names in groups.items():
        yield f"{listed(names, _NAMED)}: {said_of_all}"


def _move(move: Move) -> str:
    """Return one margin: "now at 82 % of its ampacity (16.4 A), was 55 %"."""
    (new, limit, sense), (old, before, _) = _values(move.new), _values(move.old)
    name = move.limit or f"the limit of {move.rule}.{move.grade}"
    shares = [_share(value, allowed) for value, allowed in ((new, limit), (old, before))]
    assert new is not None
    if sense == "at-most" and all(share is not None for share in shares):
        return f"now at {shares[0]} of {name} ({shown(new)}), was {shares[1]}"
    return f"now {_measured(move.new)} ({name}), was {_measured(move.old)}" if limit is not None and old is not None else ""


def _share(measured: Amount | None, limit: Amount | None) -> str | None:
    """Return a value in percent of its limit, None of a temperature, or where the limit is none that a share could be of."""
    if measured is None or limit is None or limit.value <= 0 or measured.value < 0 or limit.dimension == "temperature":
        return None
    return f"{figures(measured.value / limit.value * 100, 2 if measured.value < limit.value else 3)} %"


# things ------------------------------------------------------------------------------------------------------------

_NUMBER = re.compile(r"[-+]?[0-9][0-9./]*")


def things_in_words(changes: Iterable[ThingChange], moves: Iterable[Move]) -> Iterator[str]:
    """Yield what was done to parts, wires, states and other things; things to which the same was done stand together.

    A thing that is said otherwise also tells how near it is to the limits that have a name, where that moved.
    """
    near: dict[str, str] = {}
    for move in moves:
        if move.limit and move.subject:
            near.setdefault(move.subject[0], _move(move))
    groups: dict[tuple[str, str, str], list[ThingChange]] = {}
    for change in changes:
        words = "; ".join(_row(row) if change.how == "changed" else row.now or row.was for row in change.rows)
        if change.how == "changed" and change.name in near:
            words = f"{words}; {near[change.name]}"
        if change.how in ("changed", "renamed") and change.was != change.name:
            words = "; ".join(word for word in (f"was called {change.was}", words) if word)
        groups.setdefault((change.how, change.kind, words), []).append(change)
    for (how, kind, words), items in groups.items():
        yield cut(_thing(how, kind, words, [item.name for item in items]), 4 * _MOST_TEXT)


def _thing(how: str, kind: str, words: str, names: list[str]) -> str:
    known = [name for name in names if name]
    what = f"{listed(known, _NAMED)} ({kind})" if known else kind
    word = {"added": "added", "removed": "taken out", "changed": "", "renamed": ""}[how]
    return f"{what}: {', '.join(piece for piece in (word, words) if piece)}"


def _row(row: Row) -> str:
    """Return what is said otherwise.

    >>> _row(Row("rated current", "20 A", "30 A")), _row(Row("peak", "peak 5 A for 1 s", "peak 6 A for 1 s"))
    ('20 A to 30 A', 'peak 6 A for 1 s, was peak 5 A for 1 s')
    """
    was, now = cut(row.was, _MOST_TEXT), cut(row.now, _MOST_TEXT)
    if not was:
        return f"now says {now}" if not row.what.startswith(now) else now
    if not now:
        return f"no longer says {was}"
    head = _common(was, now)
    one, two = was[len(head) :].split(" "), now[len(head) :].split(" ")
    if (
        len(one) <= _SHORT
        and one[1:] == two[1:]
        and _NUMBER.fullmatch(one[0])
        and _NUMBER.fullmatch(two[0])
        and "to" not in one
    ):
        return f"{was} to {' '.join(two)}"
    return f"{now}, was {was}"


def _common(one: str, two: str) -> str:
    """Return the whole words that both begin with."""
    words: list[str] = []
    for left, right in zip(one.split(" "), two.split(" "), strict=False):
        if left != right:
            break
        words.append(left)
    return f"{' '.join(words)} " if words else ""


# requirements ------------------------------------------------------------------------------------------------------

_VERDICTS = {"met": "met", "broken": "broken", "not-checked": "not checked"}


def promise_in_words(change: PromiseChange) -> str:
    """Return what became of a requirement."""
    if change.old is None:
        assert change.new is not None
        return f"{change.name}: new, {_verdict(change.new)}"
    if change.new is None:
        return f"{change.name}: taken out, was {_verdict(change.old)}"
    return f"{change.name}: now {_verdict(change.new)}, was {_verdict(change.old)}"


def _verdict(promise: Promise) -> str:
    value = ""
    if promise.value is not None and promise.limit is not None:
        one, two = shown_pair(promise.value, promise.limit)
        value = f" ({one} against {two})"
    return f"{_VERDICTS[promise.verdict]}{value}"


# heads, lists and ends ---------------------------------------------------------------------------------------------


def title_in_words(build: BuildChange) -> str:
    """Return a build with its title, its revisions, what became of the file, and whether it could be read."""
    known = build.new or build.old
    title = f": {known.title}" if known is not None and known.title else ""
    revisions = [side.revision for side in (build.old, build.new) if side is not None and side.revision]
    told = f", revision {' to '.join(dict.fromkeys(revisions))}" if revisions else ""
    how = {"added": ", new file", "removed": ", taken out", "renamed": f", was {build.old_path}", "changed": ""}[build.how]
    part = ", read in part only" if build.new is not None and build.new.partial else ""
    return f"{build.path or build.old_path}{title}{told}{how}{part}"


def lists_in_words(build: BuildChange) -> Iterator[tuple[str, Iterable[str]]]:
    """Yield what is told of a build after its findings: the heading of each list, and its entries."""
    yield "Can no longer be checked", map(_unchecked, build.unchecked)
    yield "Requirements", map(promise_in_words, build.promises)
    yield "Parts, wires and states", things_in_words(build.things, build.moves)
    yield "Margins that moved", moves_in_words(build.moves)


def errors_in_words(comparison: Comparison) -> Iterator[tuple[str, str]]:
    """Yield what failed in the run itself, each with the words before it."""
    for error in comparison.errors:
        yield "The run itself failed:", f"{error.message} ({error.build})" if error.build else error.message


def closing(comparison: Comparison) -> Iterator[str]:
    """Yield the sentences that end a report."""
    counts = dict.fromkeys(("new", "worse", "better", "gone"), 0)
    unchecked = 0
    for build in comparison.builds:
        for change in build.findings:
            if change.how in counts:
                counts[change.how] += 1
        unchecked += len(build.unchecked)
    judged = sum(1 for item in comparison.judgement if item.stops)
    accepted = sum(1 for item in comparison.judgement if item.accepted)
    said = ", ".join(f"{count:,} {word}" for word, count in counts.items())
    extra = f" {accepted:,} accepted." if accepted else ""
    yield f"{counted(judged, 'thing')} that would change the judgement.{extra} Findings: {said}."
    if unchecked:
        yield f"{counted(unchecked, 'check')} can no longer be made."
    terms = (
        f"the settings of the old side ({listed(comparison.settings, 4)})"
        if comparison.settings
        else "the defaults, for there are no settings on the old side"
    )
    yield f"{counted(len(comparison.builds), 'build')} changed, {comparison.unchanged:,} did not. Both sides were judged on the terms of {terms}."
    yield CAUTIONS
