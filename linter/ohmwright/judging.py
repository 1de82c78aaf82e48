"""From what a rule found to a judged finding: its severity, and the key by which it is known from run to run."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from ohmwright.findings import Finding, Severity
from ohmwright.results import Judged
from ohmwright.rules import Rule

__all__ = ["judged", "key_of"]


def key_of(path: str, rule: str, grade: str, subject: Iterable[str]) -> tuple[str, ...]:
    """Return the identity of a finding: build path, rule, grade and sorted subject names, never the state or the line."""
    return (path, rule, grade, *sorted(set(subject)))


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
    return Judged(rule, grade, severity, finding, key_of(path, rule.id, grade.name, finding.subject))
