"""Running rules over a study: outcomes become judged findings, causes win over consequences, waivers excuse.

Nothing here knows a single rule; what yields to what is data of the packs.
"""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Severity
from ohmwright.results import Judged, Kept, Promise, RunError, Unchecked
from ohmwright.rules import Pack, Rule, Yield
from ohmwright.study import Study
from ohmwright.text_rules import ENGINE_RULES
from ohmwright.waiving import apply_waivers

__all__ = ["Loaded", "Ruled", "fingerprint_of", "judged", "load_rules", "run_rules"]

Check = Callable[[Study], Iterator["Outcome | Promise"]]


@dataclass(frozen=True, slots=True)
class Loaded:
    """A rule ready to run, with the pack it came from."""

    rule: Rule
    check: Check
    pack: str


@dataclass(frozen=True, slots=True)
class Ruled:
    """Everything that the rules said of one build."""

    findings: tuple[Judged, ...]
    waived: tuple[Judged, ...]
    yielded: tuple[Judged, ...]
    passes: tuple[Kept, ...]
    not_checked: tuple[Unchecked, ...]
    does_not_apply: tuple[tuple[Rule, DoesNotApply], ...]
    promises: tuple[Promise, ...]
    errors: tuple[RunError, ...]
    rules_run: int


def load_rules(packs: Iterable[Pack], only: Iterable[str] = ()) -> tuple[tuple[Loaded, ...], tuple[Yield, ...]]:
    """Import the rules of all packs, or only those named; PackError where a pack is broken."""
    wanted = frozenset(only)
    loaded: list[Loaded] = []
    yields: list[Yield] = []
    for pack in packs:
        yields.extend(pack.yields)
        for rule, check, _ in pack.load():
            if not wanted or rule.id in wanted or rule.family in wanted:
                loaded.append(Loaded(rule, check, pack.name))
    return tuple(loaded), tuple(yields)


def fingerprint_of(path: str, rule: str, grade: str, subject: Iterable[str]) -> str:
    """Return the identity of a finding: build path, rule, grade and sorted subject names, never the state or the line."""
    text = "\0".join((path, rule, grade, *sorted(set(subject))))
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:20]


def judged(path: str, rule: Rule, finding: Finding, severities: Mapping[str, Severity] | None = None) -> Judged:
    """Give a finding its severity: that of its grade, a setting's, at most a warning where the limit is from memory, at most its own bound."""
    grade = rule.grade(finding.grade)
    severity = grade.severity
    reference = finding.reference or (rule.references[0] if rule.references else None)
    if reference is not None and reference.status == "from-memory":
        severity = min(severity, Severity.WARNING)
    if severities:
        severity = severities.get(f"{rule.id}.{grade.name}", severity)
    if finding.at_most is not None:
        severity = min(severity, finding.at_most)
    return Judged(rule, grade, severity, finding, fingerprint_of(path, rule.id, grade.name, finding.subject))


def run_rules(
    study: Study,
    rules: tuple[Loaded, ...],
    yields: tuple[Yield, ...],
    today: date,
    severities: Mapping[str, Severity] | None = None,
) -> Ruled:
    """Run every rule over the study and judge what they say. A rule that raises is an error of the run, named."""
    findings: list[Judged] = []
    passes: list[Kept] = []
    unchecked: list[Unchecked] = []
    nothing: dict[tuple[str, str], tuple[Rule, DoesNotApply]] = {}
    promises: list[Promise] = []
    errors: list[RunError] = []
    path = study.build.path
    ran = 0
    for item in rules:
        rule = item.rule
        if study.basis_name and study.basis_name not in rule.bases:
            key = (rule.id, f"not on basis {study.basis_name}")
            nothing[key] = (rule, DoesNotApply(key[1]))
            continue
        ran += 1
        try:
            for outcome in item.check(study):
                if isinstance(outcome, Finding):
                    findings.append(judged(path, rule, outcome, severities))
                elif isinstance(outcome, Passed):
                    passes.append(Kept(rule, outcome))
                elif isinstance(outcome, NotChecked):
                    grade = rule.grade(outcome.grade)
                    unchecked.append(Unchecked(rule, grade, grade.severity, outcome))
                elif isinstance(outcome, DoesNotApply):
                    key = (rule.id, outcome.condition)
                    before = nothing[key][1].count if key in nothing else 0
                    nothing[key] = (rule, DoesNotApply(outcome.condition, before + outcome.count))
                elif isinstance(outcome, Promise):
                    promises.append(outcome)
                else:
                    raise TypeError(f"{type(outcome).__name__} is no outcome")
        except Exception as error:
            what = f"{type(error).__name__}: {error}" if str(error) else type(error).__name__
            errors.append(RunError(f"the rule {rule.id} failed: {what}", item.pack, rule.id, path))
    merged = _one_per_subject(findings)
    known = {item.rule.id: item.rule for item in rules} | {rule.id: rule for rule in ENGINE_RULES}
    standing, waived, about = apply_waivers(study.build, merged, today, known, path, judged)
    standing, yielded = _yield(standing, yields)
    return Ruled(
        tuple(_in_order((*standing, *about))),
        tuple(_in_order(waived)),
        tuple(_in_order(yielded)),
        tuple(passes),
        tuple(unchecked),
        tuple(nothing[key] for key in sorted(nothing)),
        tuple(promises),
        tuple(errors),
        ran,
    )


def _one_per_subject(findings: list[Judged]) -> list[Judged]:
    """Keep one finding per rule, grade and subject: the worst, with the states of all."""
    groups: dict[str, list[Judged]] = defaultdict(list)
    for item in findings:
        groups[item.fingerprint].append(item)
    kept: list[Judged] = []
    for items in groups.values():
        if len(items) == 1:
            kept.append(items[0])
            continue
        worst = min(items, key=lambda item: (-item.severity, item.finding.margin if item.finding.margin is not None else 0.0))
        states = {state.state: state for item in items for state in item.finding.states}
        kept.append(replace(worst, finding=replace(worst.finding, states=tuple(states.values()))))
    return kept


def _in_order(findings: Iterable[Judged]) -> list[Judged]:
    return sorted(
        findings,
        key=lambda item: (
            item.finding.span.path,
            item.finding.span.line,
            item.finding.span.column,
            -item.severity,
            item.rule.id,
            item.grade.name,
            item.finding.subject,
        ),
    )


def _states_of(item: Judged) -> frozenset[str]:
    named = {state.state for state in item.finding.states if state.state}
    if item.finding.state:
        named.add(item.finding.state)
    return frozenset(named)


def _yield(findings: list[Judged], yields: tuple[Yield, ...]) -> tuple[list[Judged], list[Judged]]:
    """Let consequences yield to their causes: on a shared subject and state, never to a weaker finding."""
    by_rule: dict[str, list[Judged]] = defaultdict(list)
    for item in findings:
        by_rule[item.rule.id].append(item)
        by_rule[f"{item.rule.id}.{item.grade.name}"].append(item)
    gone: dict[str, str] = {}
    for rule in yields:
        for loser in by_rule.get(rule.loser, ()):
            if loser.fingerprint in gone:
                continue
            for winner in by_rule.get(rule.winner, ()):
                if winner is loser or winner.fingerprint in gone or winner.severity < loser.severity:
                    continue
                if not set(winner.finding.subject) & set(loser.finding.subject):
                    continue
                ours, theirs = _states_of(winner), _states_of(loser)
                if ours and theirs and not ours & theirs:
                    continue
                gone[loser.fingerprint] = winner.fingerprint
                break
    standing: list[Judged] = []
    because: dict[str, list[str]] = defaultdict(list)
    for loser_print, winner_print in gone.items():
        because[winner_print].append(loser_print)
    for item in findings:
        if item.fingerprint in gone:
            continue
        reasons = because.get(item.fingerprint)
        standing.append(replace(item, because=tuple(sorted(reasons))) if reasons else item)
    return standing, [item for item in findings if item.fingerprint in gone]
