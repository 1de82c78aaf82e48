"""Waivers: a finding is excused on a thing, up to a value, until a date, for a reason; a worse one is a new finding."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date

from ohmwright_grammar.diagnostics import names_near
from ohmwright_grammar.kinds.waiver import Bound, Waiver
from ohmwright_grammar.model import Build
from ohmwright_grammar.quantities import Gauge

from ohmwright.findings import Finding
from ohmwright.results import Judged
from ohmwright.rules import Rule
from ohmwright.values import Amount, shown

__all__ = ["apply_waivers"]

Judge = Callable[[str, Rule, Finding], Judged]


def apply_waivers(
    build: Build, findings: list[Judged], today: date, rules: Mapping[str, Rule], path: str, judge: Judge
) -> tuple[list[Judged], list[Judged], list[Judged]]:
    """Return the findings that stand, those that are waived, and findings about the waivers themselves."""
    waived: dict[str, Judged] = {}
    about: list[Judged] = []
    for waiver in build.waivers:
        about.extend(_apply(waiver, findings, waived, today, rules, path, judge))
    standing = [item for item in findings if item.fingerprint not in waived]
    return standing, list(waived.values()), about


def _apply(
    waiver: Waiver,
    findings: list[Judged],
    waived: dict[str, Judged],
    today: date,
    rules: Mapping[str, Rule],
    path: str,
    judge: Judge,
) -> list[Judged]:
    rule_name, _, grade_name = waiver.name.partition(".")
    on = waiver.on or ()

    def about(rule: str, grade: str, message: str, remedy: str) -> Judged:
        subject = (waiver.name, *on)
        return judge(path, rules[rule], Finding(grade, subject, message, waiver.span, remedy=remedy))

    if rule_name not in rules or (grade_name and grade_name not in {grade.name for grade in rules[rule_name].grades}):
        known = [grade.name for grade in rules[rule_name].grades] if rule_name in rules else list(rules)
        what = (
            f"The rule {rule_name!r} has no grade {grade_name!r}" if rule_name in rules else f"There is no rule {rule_name!r}"
        )
        finding = Finding(
            "unreadable", (waiver.name,), f"{what}.", waiver.span, remedy=names_near(grade_name or rule_name, known)
        )
        return [judge(path, rules["unknown-name"], finding)]
    matching = [
        item
        for item in findings
        if item.rule.id == rule_name
        and (not grade_name or item.grade.name == grade_name)
        and item.finding.subject
        and item.finding.subject[0] in on
    ]
    missing = [
        words
        for words, datum in (("the thing it is on", on), ("a reason", waiver.because), ("the last day", waiver.until))
        if not datum
    ]
    if missing:
        words = " and ".join(missing)
        remedy = f'Write: waive {waiver.name} on … because "…" until …'
        return [
            about(
                "incomplete-waiver",
                "incomplete",
                f"The waiver of {waiver.name} does not say {words}, so that it excuses nothing.",
                remedy,
            )
        ]
    assert waiver.until is not None
    if waiver.until < today:
        return [
            about(
                "expired-waiver", "expired", f"The waiver of {waiver.name} on {', '.join(on)} held until {waiver.until.isoformat()}.",
                "Mend the finding, or decide anew and give another date.",
            )
        ]  # fmt: skip
    if not matching:
        return [
            about("unused-waiver", "unused", f"Nothing is found by {waiver.name} on {', '.join(on)}.", "Take the waiver out.")
        ]
    said: list[Judged] = []
    bound = waiver.up_to or waiver.down_to
    for item in matching:
        measured = item.finding.measured
        if measured is None:
            waived.setdefault(item.fingerprint, replace(item, waiver=waiver))
            continue
        word = "up to" if item.finding.sense == "at-most" else "down to"
        if bound is None:
            remedy = f"Add the value that is excused: {word} {shown(measured)}"
            said.append(
                about(
                    "incomplete-waiver",
                    "incomplete",
                    f"The waiver of {waiver.name} does not say up to which value it holds, so that it excuses nothing.",
                    remedy,
                )
            )
        elif _holds(bound, measured, item.finding.sense):
            waived.setdefault(item.fingerprint, replace(item, waiver=waiver))
        else:
            allowed = shown(Amount(_bound_value(bound), bound.measure.dimension, _bound_unit(bound)))
            said.append(
                about(
                    "outgrown-waiver", "outgrown",
                    f"The waiver of {waiver.name} on {', '.join(on)} holds {word} {allowed}; now it is {shown(measured, _bound_unit(bound) if bound.measure.dimension == measured.dimension else '')}.",
                    "The finding stands: mend it, or decide anew.",
                )
            )  # fmt: skip
    return said


def _bound_value(bound: Bound) -> float:
    value = bound.measure.value
    return float(value.area if isinstance(value, Gauge) else value.nominal)


def _bound_unit(bound: Bound) -> str:
    value = bound.measure.value
    return "" if isinstance(value, Gauge) else value.unit


def _holds(bound: Bound, measured: Amount, sense: str) -> bool:
    if bound.measure.dimension != measured.dimension or bound.sense != sense:
        return False
    limit = _bound_value(bound)
    slack = 1e-9 * max(abs(limit), abs(measured.value))
    return measured.value <= limit + slack if sense == "at-most" else measured.value >= limit - slack
