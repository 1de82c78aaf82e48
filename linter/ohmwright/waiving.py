"""Waivers: a finding is excused on a thing, up to a value, until a date, for a reason; a worse one is a new finding."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import date

from ohmwright_grammar.diagnostics import names_near
from ohmwright_grammar.kinds.waiver import Bound, Waiver
from ohmwright_grammar.quantities import DIMENSIONS, Gauge
from ohmwright_grammar.records import record, replace

from ohmwright.findings import Finding, Sense
from ohmwright.results import Judged
from ohmwright.rules import Rule
from ohmwright.values import Amount, shown

__all__ = ["Scene", "Waived", "apply_waivers", "bound_of"]


@record
class Scene:
    """What a waiver is judged in.

    `rules` returns every rule there is, `ran` holds the ids of those that ran to their end, `unchecked` pairs of a rule's id and a thing on which
    it could not be checked, `told` the lines (path, number) whose words already have a finding of their own.
    """

    path: str
    today: date
    rules: Callable[[], Mapping[str, Rule]]
    ran: frozenset[str]
    judge: Callable[[str, Rule, Finding], Judged]
    unchecked: frozenset[tuple[str, str]] = frozenset()
    told: frozenset[tuple[str, int]] = frozenset()


@record
class Waived:
    """The findings that stand, those that are waived, and findings about the waivers themselves."""

    standing: tuple[Judged, ...]
    waived: tuple[Judged, ...]
    about: tuple[Judged, ...]


def apply_waivers(waivers: Iterable[Waiver], findings: Iterable[Judged], scene: Scene) -> Waived:
    """Hold the findings of one build against its waivers."""
    findings = tuple(findings)
    waived: dict[tuple[str, ...], Judged] = {}
    about: list[Judged] = []
    for waiver in waivers:
        about.extend(_apply(waiver, findings, waived, scene))
    standing = tuple(item for item in findings if item.key not in waived)
    return Waived(standing, tuple(waived.values()), tuple(about))


def _apply(waiver: Waiver, findings: tuple[Judged, ...], waived: dict[tuple[str, ...], Judged], scene: Scene) -> list[Judged]:
    unknown = _unknown(waiver, scene)
    if unknown is not None:
        return [unknown]
    missing = [
        words
        for words, datum in (
            ("the thing that it is on", waiver.on),
            ("a reason", (waiver.because or "").strip()),
            ("its last day", waiver.until),
        )
        if not datum
    ]
    if missing:
        if (waiver.span.path, waiver.span.line) in scene.told:
            return []  # its words could not be read in full, which is said already
        message = f"The waiver of {waiver.name} does not say {' and '.join(missing)}, so that it excuses nothing."
        remedy = f'Write: waive {waiver.name} on … because "…" until …'
        return [_about(waiver, scene, "incomplete-waiver", "incomplete", message, remedy)]
    assert waiver.until is not None and waiver.on
    if waiver.until < scene.today:
        message = f"The waiver of {waiver.name} on {', '.join(waiver.on)} held until {waiver.until.isoformat()}."
        remedy = "Mend the finding, or decide anew and give another date."
        return [_about(waiver, scene, "expired-waiver", "expired", message, remedy)]
    rule, _, grade = waiver.name.partition(".")
    ours = [item for item in findings if item.rule.id == rule and (not grade or item.grade.name == grade)]
    said: list[Judged] = []
    for name in waiver.on:
        matching = [item for item in ours if item.finding.subject and item.finding.subject[0] == name]
        if matching:
            said.extend(note for item in matching if (note := _excuse(waiver, item, waived, scene)) is not None)
        elif rule in scene.ran and (rule, name) not in scene.unchecked and not _told(waiver, scene):
            said.append(_unused(waiver, name, ours, scene))
    return said


def _unknown(waiver: Waiver, scene: Scene) -> Judged | None:
    rule, _, grade = waiver.name.partition(".")
    if rule in scene.ran and not grade:
        return None
    rules = scene.rules()
    known = rules.get(rule)
    if known is not None and (not grade or grade in {item.name for item in known.grades}):
        return None
    if known is None:
        message, remedy = f"There is no rule {rule!r}.", names_near(rule, rules, "Rules")
        remedy = remedy or "Print all of them with: ohmwright basis"
    else:
        names = [item.name for item in known.grades]
        message = f"The rule {rule!r} has no grade {grade!r}."
        remedy = names_near(grade, names, "Grades") or f"Its grades: {', '.join(names)}."
    finding = Finding("unreadable", (waiver.name,), message, waiver.span, remedy=remedy)
    return scene.judge(scene.path, rules["unknown-name"], finding)


def _told(waiver: Waiver, scene: Scene) -> bool:
    place = waiver.place_of(Waiver.on)
    return (place.path, place.line) in scene.told


def _about(waiver: Waiver, scene: Scene, rule: str, grade: str, message: str, remedy: str, on: str = "") -> Judged:
    subject = (waiver.name, on) if on else (waiver.name, *(waiver.on or ()))
    return scene.judge(scene.path, scene.rules()[rule], Finding(grade, subject, message, waiver.span, remedy=remedy))


def _unused(waiver: Waiver, name: str, ours: list[Judged], scene: Scene) -> Judged:
    message = f"Nothing is found by {waiver.name} on {name}."
    chief = sorted({item.finding.subject[0] for item in ours if name in item.finding.subject})
    remedy = f"It is found on {', '.join(chief)}: name that." if chief else "Take the waiver out."
    if not chief and waiver.on is not None and len(waiver.on) > 1:
        remedy = f"Take {name} out of the waiver."
    return _about(waiver, scene, "unused-waiver", "unused", message, remedy, name)


def _excuse(waiver: Waiver, item: Judged, waived: dict[tuple[str, ...], Judged], scene: Scene) -> Judged | None:
    """Waive one finding, or return what keeps the waiver from excusing it."""
    measured, sense = item.finding.measured, item.finding.sense
    if measured is None:  # a yes/no check has no value to be excused up to
        waived.setdefault(item.key, replace(item, waiver=waiver))
        return None
    name = item.finding.subject[0]
    word = _word(sense)
    bound = waiver.up_to if sense == "at-most" else waiver.down_to
    if bound is None:
        message = f"The waiver of {waiver.name} on {name} does not say {word} which value it holds, so that it excuses nothing."
        remedy = f"Add the value that is excused: {word} {shown(measured)}"
        return _about(waiver, scene, "incomplete-waiver", "incomplete", message, remedy, name)
    if _dimension(bound) != measured.dimension:
        message = (
            f"The waiver of {waiver.name} on {name} holds {word} {shown(bound_of(bound))}, but {_words(measured)} is measured."
        )
        remedy = f"Write: {word} {shown(measured)}"
        return _about(waiver, scene, "incomplete-waiver", "incomplete", message, remedy, name)
    limit = bound_of(bound)
    slack = 1e-9 * max(abs(limit.value), abs(measured.value))
    holds = measured.value <= limit.value + slack if sense == "at-most" else measured.value >= limit.value - slack
    if holds:
        waived.setdefault(item.key, replace(item, waiver=waiver))
        return None
    message = f"The waiver of {waiver.name} on {name} holds {word} {shown(limit)}; now it is {shown(measured, limit.unit)}."
    return _about(waiver, scene, "outgrown-waiver", "outgrown", message, "The finding stands: mend it, or decide anew.", name)


def _word(sense: Sense) -> str:
    return "up to" if sense == "at-most" else "down to"


def _words(amount: Amount) -> str:
    known = DIMENSIONS.get(amount.dimension)
    return known.words if known is not None else f"a {amount.dimension}"


def _dimension(bound: Bound) -> str:
    return "area" if isinstance(bound.measure.value, Gauge) else bound.measure.dimension


def bound_of(bound: Bound) -> Amount:
    """Return the value up to which (or down to which) a waiver holds."""
    value = bound.measure.value
    if isinstance(value, Gauge):
        return Amount(float(value.area), "area")
    return Amount(float(value.nominal), bound.measure.dimension, value.unit)
