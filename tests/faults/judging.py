"""The verdict on a planting: what is said of the planted build and not of its base, held against what was written down beforehand."""

from __future__ import annotations

from dataclasses import dataclass, field
from time import perf_counter

from ohmwright.findings import Severity, margin_of
from ohmwright.results import BuildResult, Judged, Kept, Unchecked
from ohmwright.text_rules import BASELINE_RULES
from ohmwright.values import Amount, shown_pair

from faults.edits import PlantingError
from faults.inspecting import base_result, planted_baseline, planted_result
from faults.planting import Companion, Planting

__all__ = ["FAR", "NEAR", "Verdict", "judge", "numbers", "told_of", "verdict_on"]

NEAR = 0.05  # "just" inside or over: this share of the limit away from it at most
FAR = 0.3  # "far" over: at least this share
_Item = Judged | Unchecked


@dataclass(slots=True)
class Verdict:
    """What came of a planting; it holds where `faults` is empty."""

    planting: Planting
    found: Judged | None = None
    missed: bool = False
    false_alarms: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)  # everything that is wrong, those two among it
    margin: float | None = None  # of the grade on its subject, negative where it is broken
    new: list[Judged] = field(default_factory=list)
    unchecked: list[Unchecked] = field(default_factory=list)
    kept: Kept | None = None
    held: Judged | None = None  # the finding of which a rule on baselines speaks, where an entry holds it
    seconds: float = 0.0

    def __str__(self) -> str:
        return "; ".join(self.faults) or "as it must be"


def judge(planting: Planting) -> Verdict:
    """Inspect the base and the planted build, and say whether the planting is found, and nothing else than what belongs to it.

    A planting that cannot be carried out is wrong with the reason.
    """
    start = perf_counter()
    try:
        base = base_result(planting.base, planting.reached, planting.today, planting.basis)
        planted = planted_result(planting)
    except PlantingError as error:
        return Verdict(planting, missed=planting.must_find, faults=[str(error)], seconds=perf_counter() - start)
    verdict = verdict_on(planting, base, planted)
    verdict.seconds = perf_counter() - start
    return verdict


def verdict_on(planting: Planting, base: BuildResult, planted: BuildResult) -> Verdict:
    """Hold what is said of a planted build against what must be said of it; `base` is what is said of the clean one."""
    verdict = Verdict(planting)
    for item in (*base.findings, *base.waived):
        if item.severity > Severity.NOTE:
            verdict.faults.append(f"the base is not clean: {_told(item)}")
    verdict.new = _new(base, planted)
    verdict.unchecked = _newly_unchecked(base, planted)
    standing = [item for item in planted.findings if item in verdict.new]
    left = list(verdict.new)
    due = Companion(planting.grade, planting.subject, "")
    own = [item for item in standing if _is(item, due)]
    verdict.found = own[0] if own else None
    verdict.kept = _kept(planting, planted)
    if planting.must_find:
        if verdict.found is None:
            verdict.missed = True
            verdict.faults.append(f"missed: {planting.grade} on {planting.subject}{_instead(planting, base, planted)}")
        left = [item for item in left if item not in own]
    _companions(verdict, left)
    if planting.rule in BASELINE_RULES:
        _distance_from_entry(verdict, planted)
    else:
        _distance(verdict)
    return verdict


def _new(base: BuildResult, planted: BuildResult) -> list[Judged]:
    """Return findings, waived ones among them, that the base does not have, or only as something less bad."""
    known = {item.key: item.severity for item in (*base.findings, *base.waived)}
    return [item for item in (*planted.findings, *planted.waived) if item.key not in known or item.severity > known[item.key]]


def _newly_unchecked(base: BuildResult, planted: BuildResult) -> list[Unchecked]:
    """Return checks at the level of an error that could be made of the base, or had nothing to be made of, and now cannot be made."""
    known = {_name(item) for item in base.not_checked}
    return [item for item in planted.not_checked if item.severity is Severity.ERROR and _name(item) not in known]


def _subject(item: _Item) -> tuple[str, ...]:
    return item.finding.subject if isinstance(item, Judged) else item.outcome.subject


def _name(item: _Item) -> tuple[str, ...]:
    return (item.rule.id, item.grade.name, *sorted(_subject(item)))


def _on(subject: tuple[str, ...], due: str) -> bool:
    """Tell whether a subject is the one that is due: the chief thing of it, or all of them in any order."""
    return subject[0] == due or sorted(subject) == sorted(due.split(", "))


def _is(item: _Item, due: Companion) -> bool:
    kind = "finding" if isinstance(item, Judged) else "not checked"
    return due.outcome == kind and f"{item.rule.id}.{item.grade.name}" == due.grade and _on(_subject(item), due.subject)


def _companions(verdict: Verdict, left: list[Judged]) -> None:
    """Take away what was expected, tell what was not, and what was expected and did not come."""
    expected = verdict.planting.also
    there: tuple[_Item, ...] = (*left, *verdict.unchecked)
    for due in expected:
        if not any(_is(item, due) for item in there):
            verdict.faults.append(f"companion absent: {due.grade} on {due.subject} ({due.outcome})")
    for finding in left:
        if not any(_is(finding, due) for due in expected):
            told = _told(finding)
            verdict.false_alarms.append(told)
            verdict.faults.append(f"false alarm: {told}")
    for item in verdict.unchecked:
        if not any(_is(item, due) for due in expected):
            name = f"{item.rule.id}.{item.grade.name} on {', '.join(item.outcome.subject)}"
            verdict.faults.append(f"no longer checked: {name}: {item.outcome.missing}")


def _distance(verdict: Verdict) -> None:
    """Tell whether the planting lies as near to its limit, or as far from it, as its word says."""
    planting = verdict.planting
    if planting.how == "inside":
        if verdict.kept is None:
            if verdict.found is None and not _said_by_rule(verdict):
                verdict.faults.append(
                    f"not inside: {planting.grade} on {planting.subject} does not pass, so that silence proves nothing"
                )
            return
        _place(verdict, verdict.kept.passed.margin, None)
    elif verdict.found is not None:
        _place(verdict, verdict.found.finding.margin, verdict.found.finding.measured)


def _distance_from_entry(verdict: Verdict, planted: BuildResult) -> None:
    """Tell, of a planting with a baseline, whether its entry holds what is to be held, and how near to the value of the entry the finding lies."""
    planting = verdict.planting

    def spoken_of(items: tuple[Judged, ...]) -> Judged | None:
        names = ((item, (f"{item.rule.id}.{item.grade.name}", *item.finding.subject)) for item in items)
        return next((item for item, subject in names if _on(subject, planting.subject)), None)

    verdict.held = spoken_of(planted.baselined)
    if not planting.must_find and verdict.held is None:
        verdict.faults.append(f"not held: no entry holds {planting.subject}, so that silence proves nothing")
    item = verdict.held if verdict.held is not None else spoken_of(planted.findings)
    baseline = planted_baseline(planting)
    entry = baseline.entries.get(item.key) if baseline is not None and item is not None else None
    if item is None or entry is None or item.finding.measured is None or entry.measured is None:
        return
    dimension = item.finding.measured.dimension
    now = Amount(item.finding.measured.in_json()[0], dimension)
    _place(verdict, margin_of(now, Amount(entry.measured[0], dimension), item.finding.sense), now)


def _place(verdict: Verdict, margin: float | None, measured: Amount | None) -> None:
    """Keep how far a planting lies from its limit, and tell where that is not what its word says."""
    planting = verdict.planting
    verdict.margin = margin
    if margin is None or planting.how in ("wrong", "silent"):
        return
    if planting.how == "inside":
        near, words = margin <= NEAR + 1e-9, f"{NEAR:.0%} inside"
    elif planting.how == "far":
        temperature = measured is not None and measured.dimension == "temperature"
        near, words = margin <= -FAR or temperature, f"at least {FAR:.0%} over"
    else:
        near, words = margin >= -NEAR - 1e-9, f"{NEAR:.0%} over"
    if not near and not planting.coarse:
        verdict.faults.append(f"not where it says: it lies {-margin:+.1%} from the limit, not {words}")


def _said_by_rule(verdict: Verdict) -> bool:
    """Tell whether another grade of the rule is found on the subject, a lesser one beside which this one was looked at."""
    planting = verdict.planting
    return any(item.rule.id == planting.rule and _on(item.finding.subject, planting.subject) for item in verdict.new)


def _kept(planting: Planting, planted: BuildResult) -> Kept | None:
    """Return that the grade holds on its subject, else that another grade of its rule does."""
    held = [item for item in planted.passes if item.rule.id == planting.rule and _on(item.passed.subject, planting.subject)]
    exact = [item for item in held if f"{item.rule.id}.{item.passed.grade}" == planting.grade]
    return min(
        exact or held, key=lambda item: item.passed.margin if item.passed.margin is not None else float("inf"), default=None
    )


def _instead(planting: Planting, base: BuildResult, planted: BuildResult) -> str:
    """Return what became of a finding that does not stand, in brackets."""
    due = Companion(planting.grade, planting.subject, "")
    standing: tuple[tuple[tuple[Judged, ...], str], ...] = (
        (planted.yielded, "it yielded"), (planted.waived, "it is waived"), (planted.baselined, "the baseline holds it"),
        (base.findings, "its base has it"),
    )  # fmt: skip
    for items, words in standing:
        if any(_is(item, due) for item in items):
            return f" ({words})"
    missing = Companion(planting.grade, planting.subject, "", "not checked")
    for unable in planted.not_checked:
        if _is(unable, missing):
            return f" (not checked: {unable.outcome.missing})"
    kept = _kept(planting, planted)
    if kept is None:
        return " (nothing is said of it)"
    return f" (it passes{numbers(kept)})"


def numbers(item: Judged | Kept) -> str:
    """Return " with MEASURED for ALLOWED", "" of a yes/no check."""
    told = item.finding if isinstance(item, Judged) else item.passed
    if told.measured is None or told.limit is None:
        return ""
    here, allowed = shown_pair(told.measured, told.limit)
    return f" with {here} for {allowed}"


def _told(item: Judged) -> str:
    return f"{item.severity.word} {item.rule.id}.{item.grade.name} on {', '.join(item.finding.subject)}{numbers(item)}"


def told_of(verdict: Verdict) -> list[str]:
    """Return everything that is new in a planted build, a line each, for the author of a planting to read."""
    lines = [_told(item) for item in verdict.new]
    lines += [
        f"no longer checked {item.rule.id}.{item.grade.name} on {', '.join(item.outcome.subject)}: {item.outcome.missing}"
        for item in verdict.unchecked
    ]
    if verdict.kept is not None:
        kept = verdict.kept
        lines.append(f"holds {kept.rule.id}.{kept.passed.grade} on {', '.join(kept.passed.subject)}{numbers(kept)}")
    if verdict.held is not None:
        lines.append(f"held by the baseline {_told(verdict.held)}")
    return lines
