"""Holding findings against a baseline: what is known already and no worse does not count, what is new or worse does.

An entry holds the measured value and the limit of a finding. The finding is worse when its value has moved to the bad side, when less margin is left (a
thinner wire under the same current), or when it has become more severe. Nothing here reads or writes files: see `baseline_files`.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import field

from ohmwright_grammar.records import record, replace
from ohmwright_grammar.spans import Span

from ohmwright.findings import Finding, Related, Severity, margin_of
from ohmwright.judging import key_of
from ohmwright.results import Entry, Judged
from ohmwright.rules import Rule
from ohmwright.text_rules import BASELINE_RULES
from ohmwright.values import Amount, shown_pair

__all__ = ["Baseline", "Split", "entry_of", "key_of_entry"]

_ROUNDING = 1e-5  # entries hold six significant digits
_Judge = Callable[[str, Rule, Finding], Judged]


@record
class Split:
    """The findings that stand, those that the baseline holds, and what is to be said of its entries."""

    standing: tuple[Judged, ...]
    held: tuple[Judged, ...]
    about: tuple[Judged, ...]


@record
class Baseline:
    """The entries of a baseline by the key of their finding; an accepting one holds whatever is found, for writing a new one.

    `states` tells whether it was written from the declared states or from the reached ones too.
    """

    file: str
    entries: Mapping[tuple[str, ...], Entry] = field(default_factory=dict)
    accepting: bool = False
    states: str = "declared"

    def split(self, findings: Iterable[Judged], judge: _Judge) -> Split:
        """Part findings into what stands and what is held; texts that cannot be read are never held."""
        standing: list[Judged] = []
        held: list[Judged] = []
        about: list[Judged] = []
        for item in findings:
            entry = entry_of(item) if self.accepting else self.entries.get(item.key)
            if entry is None or item.rule.family in ("text", "baseline"):
                standing.append(item)
                continue
            worse = "" if self.accepting else _worse(item, entry)
            if worse:
                standing.append(item)
                about.append(_outgrown(item, entry, worse, judge))
            else:
                held.append(replace(item, entry=entry))
        return Split(tuple(standing), tuple(held), tuple(about))

    def unused(
        self,
        path: str,
        seen: Collection[tuple[str, ...]],
        ended: Collection[str],
        unchecked: Collection[tuple[str, str]],
        judge: _Judge,
    ) -> tuple[Judged, ...]:
        """Return a note on each entry of a build whose finding no longer occurs; rules that did not run to their end, or could not be checked, say nothing.

        `ended` are ids of rules, `unchecked` pairs of a rule's id and a name on which it could not be checked.
        """
        if self.accepting:
            return ()
        gone = [
            entry
            for key, entry in self.entries.items()
            if entry.path == path
            and key not in seen
            and entry.rule in ended
            and not any((entry.rule, name) in unchecked for name in entry.subject)
        ]
        return tuple(self._unused(entry, judge) for entry in gone)

    def _unused(self, entry: Entry, judge: _Judge) -> Judged:
        rule = BASELINE_RULES["unused-baseline-entry"]
        subject = ", ".join(entry.subject)
        message = f"{subject}: {entry.rule}.{entry.grade} stands in the baseline, and is found no more."
        remedy = "Take the entry out, or write the baseline again with --write-baseline."
        finding = Finding("unused", (f"{entry.rule}.{entry.grade}", *entry.subject), message, entry.span, remedy=remedy)
        return judge(entry.path, rule, finding)


def entry_of(item: Judged) -> Entry:
    """Return the entry that would hold a finding as it is."""
    finding = item.finding
    measured, limit = _plain(finding.measured), _plain(finding.limit)
    return Entry(
        item.key[0], item.rule.id, item.grade.name, tuple(sorted(set(finding.subject))), item.severity.word, measured, limit, finding.sense,
        Span("", 1, 1, 1, 2),
    )  # fmt: skip


def key_of_entry(entry: Entry) -> tuple[str, ...]:
    """Return the key of the finding that an entry holds."""
    return key_of(entry.path, entry.rule, entry.grade, entry.subject)


def _plain(amount: Amount | None) -> tuple[float, str] | None:
    """Return a value with its unit as results have them, in six significant digits; None for none, or for one that is not finite."""
    if amount is None:
        return None
    value, unit = amount.in_json()
    return (float(f"{value:.6g}"), unit) if abs(value) < float("inf") else None


def _worse(item: Judged, entry: Entry) -> str:
    """Return in which way a finding is worse than its entry, "" where it is not."""
    finding = item.finding
    if item.severity > Severity[entry.severity.upper()]:
        return f"it was {_a(entry.severity)}, and is {_a(item.severity.word)} now"
    measured = _plain(finding.measured)
    if measured is None and entry.measured is None:
        return ""
    if measured is None or entry.measured is None or measured[1] != entry.measured[1] or finding.sense != entry.sense:
        return "it holds no value that can be compared"
    now, before = measured[0], entry.measured[0]
    slack = _ROUNDING * max(abs(now), abs(before))
    if (now > before + slack) if finding.sense == "at-most" else (now < before - slack):
        return f"it held {_said(before, now, finding.measured)}"
    return _less_margin(finding, entry)


def _less_margin(finding: Finding, entry: Entry) -> str:
    limit = _plain(finding.limit)
    if limit is None or entry.limit is None or finding.measured is None or finding.limit is None:
        return "" if (limit is None) == (entry.limit is None) else "it holds no limit that can be compared"
    if limit[1] != entry.limit[1]:
        return "it holds no limit that can be compared"
    dimension = finding.limit.dimension
    assert entry.measured is not None
    before = margin_of(Amount(entry.measured[0], dimension), Amount(entry.limit[0], dimension), finding.sense)
    now = margin_of(Amount(_plain(finding.measured)[0], dimension), Amount(limit[0], dimension), finding.sense)  # type: ignore[index]
    if before is None or now is None or now >= before - 3 * _ROUNDING * max(1.0, abs(before)):
        return ""
    return f"it held a limit of {_said(entry.limit[0], limit[0], finding.limit)}"


def _said(before: float, now: float, amount: Amount | None) -> str:
    """Return two values of one kind in words: what was, and what is."""
    assert amount is not None
    scale = amount.value / now if now else 1.0
    offset = amount.dimension == "temperature"
    old = Amount(before if offset else before * scale, amount.dimension, amount.unit)
    one, two = shown_pair(old, amount)
    return f"{one}, and now it is {two}"


def _a(word: str) -> str:
    return f"{'an' if word[0] in 'aeiou' else 'a'} {word}"


def _outgrown(item: Judged, entry: Entry, worse: str, judge: _Judge) -> Judged:
    rule = BASELINE_RULES["outgrown-baseline-entry"]
    name = f"{entry.rule}.{entry.grade}"
    subject = ", ".join(item.finding.subject)
    message = f"{subject}: {name} is worse than its entry in the baseline: {worse}."
    related = (Related("the entry of the baseline", entry.span),)
    remedy = "The finding stands: mend it, or accept it with --write-baseline."
    finding = Finding("outgrown", (name, *item.finding.subject), message, item.finding.span, remedy=remedy, related=related)
    return judge(item.key[0], rule, finding)
