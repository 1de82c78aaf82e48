"""The machine-readable result of an inspection: the document that `schemas/inspect.json` describes.

Written in plain ASCII, one finding to a line, so that it can be kept, compared and read on any system. What is not known is null; a number
that is not finite is not known.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator
from functools import cache
from json.encoder import encode_basestring_ascii
from math import isfinite
from typing import Any

from ohmwright_grammar.spans import Edit, Span

from ohmwright.findings import StateMeasure
from ohmwright.references import Reference, Step
from ohmwright.results import Assumed, BuildResult, Judged, Kept, Promise, Result, SettingsTold, Unchecked, fingerprint_of
from ohmwright.values import Amount
from ohmwright.waiving import bound_of

__all__ = [
    "SCHEMA",
    "amount_in_json",
    "finding_in_json",
    "laid_out",
    "laid_out_list",
    "number_or_null",
    "pass_in_json",
    "pieces",
    "promise_in_json",
    "reference_in_json",
    "span_in_json",
    "unchecked_in_json",
    "write",
]

SCHEMA = 1
_AT_ONCE = 65_536  # letters in a piece


def write(result: Result) -> str:
    """Return the document of a whole run."""
    return "".join(pieces(result))


def pieces(result: Result) -> Iterator[str]:
    """Yield the document of a whole run in pieces, of which one entry after the other is made."""
    held: list[str] = []
    letters = 0
    for piece in _pieces(result):
        held.append(piece)
        letters += len(piece)
        if letters > _AT_ONCE:
            yield "".join(held)
            held.clear()
            letters = 0
    yield "".join(held)


def _pieces(result: Result) -> Iterator[str]:
    sign = "{\n "
    for key, value in _head(result).items():
        yield f"{sign}{_named(key)}{_laid(value, 1, 2)}"
        sign = ",\n "
    yield f'{sign}"builds": '
    yield from _items((_entries(_build(build), 2) for build in result.builds), 1)
    yield "\n}\n"


def _head(result: Result) -> dict[str, Any]:
    return {
        "ohmwright": result.version,
        "schema": SCHEMA,
        "run": {
            "today": result.today,
            "packs": [{"name": name, "version": version} for name, version in result.packs],
            "settings": [_settings(told) for told in result.settings] or None,
            "errors": [
                {"message": error.message, "pack": error.pack or None, "rule": error.rule or None, "build": error.build or None}
                for error in result.errors
            ],
        },
    }


def _build(build: BuildResult) -> dict[str, Any]:
    """Return the entry of a build; of a large one the lists hold millions of things, which are made as they are written."""
    return {
        "path": build.path,
        "kind": "library" if build.is_library else "build",
        "title": build.title or None,
        "revision": build.revision or None,
        "basis": build.basis or None,
        "partial": build.partial,
        "states": [{"name": state.name, "origin": state.origin} for state in build.states],
        "findings": map(finding_in_json, build.findings),
        "passes": map(pass_in_json, build.passes),
        "not_checked": map(unchecked_in_json, build.not_checked),
        "does_not_apply": (
            {"rule": rule, "condition": outcome.condition, "count": outcome.count} for rule, outcome in build.does_not_apply
        ),
        "requirements": map(promise_in_json, build.requirements),
        "assumed": map(_assumed, build.assumed),
        "waived": map(_waived, build.waived),
        "yielded": map(finding_in_json, build.yielded),
        "baselined": map(_held, build.baselined),
        "switched_off": map(finding_in_json, build.switched_off),
        "not_reached": build.not_reached,
    }


def _settings(told: SettingsTold) -> dict[str, Any]:
    baseline = {"file": told.baseline, "entries": told.entries, "held": told.held, "gone": list(told.gone)}
    return {
        "file": told.file or None,
        "also": told.also or None,
        "bar": told.bar,
        "require_checked": told.require_checked,
        "basis": told.basis or None,
        "states": told.states,
        "site": told.site or None,
        "left_out": [
            {"what": item.what, "name": item.name, "because": item.because, "count": item.count, "files": list(item.files)}
            for item in told.left_out
        ],
        "grades": [
            {"grade": item.grade, "was": item.was, "now": item.now, "because": item.because, "count": item.count}
            for item in told.grades
        ],
        "baseline": baseline if told.baseline else None,
    }


# what rules said ---------------------------------------------------------------------------------------------------


def finding_in_json(item: Judged) -> dict[str, Any]:
    """Return a finding, whole."""
    finding = item.finding
    return {
        "rule": item.rule.id,
        "grade": item.grade.name,
        "family": item.rule.family,
        "covers": list(item.rule.covers),
        "severity": item.severity.word,
        "subject": list(finding.subject),
        "state": finding.state or None,
        "states": [_state(state) for state in finding.states],
        "message": finding.message,
        "measured": amount_in_json(finding.measured),
        "limit": amount_in_json(finding.limit),
        "sense": finding.sense,
        "margin": number_or_null(finding.margin),
        "working": [_step(step) for step in finding.working],
        "remedy": finding.remedy or None,
        "edits": [_edit(edit) for edit in finding.edits],
        "because": sorted(fingerprint_of(key) for key in item.because),
        "reference": reference_in_json(item.reference),
        "span": span_in_json(finding.span),
        "related": [{"message": related.message, "span": span_in_json(related.span)} for related in finding.related],
        "fingerprint": item.fingerprint,
    }


def _waived(item: Judged) -> dict[str, Any]:
    waiver = item.waiver
    assert waiver is not None
    bound = waiver.up_to if item.finding.sense == "at-most" else waiver.down_to
    told = {
        "reason": waiver.because,
        "value": amount_in_json(bound_of(bound)) if bound is not None else None,
        "until": waiver.until.isoformat() if waiver.until is not None else None,
        "span": span_in_json(waiver.span),
    }
    return {**finding_in_json(item), "waiver": told}


def _held(item: Judged) -> dict[str, Any]:
    entry = item.entry
    assert entry is not None
    told = {"severity": entry.severity, "measured": _entry_amount(entry.measured), "limit": _entry_amount(entry.limit)}
    return {**finding_in_json(item), "entry": told}


def _entry_amount(amount: tuple[float, str] | None) -> dict[str, Any] | None:
    return None if amount is None else {"value": amount[0], "unit": amount[1]}


def _state(state: StateMeasure) -> dict[str, Any]:
    return {
        "name": state.state,
        "measured": amount_in_json(state.measured),
        "limit": amount_in_json(state.limit),
        "margin": number_or_null(state.margin),
    }


def pass_in_json(item: Kept) -> dict[str, Any]:
    """Return a grade that holds."""
    passed = item.passed
    return {
        "rule": item.rule.id,
        "grade": passed.grade,
        "subject": list(passed.subject),
        "state": passed.state or None,
        "measured": amount_in_json(passed.measured),
        "limit": amount_in_json(passed.limit),
        "sense": passed.sense,
        "margin": number_or_null(passed.margin),
    }


def unchecked_in_json(item: Unchecked) -> dict[str, Any]:
    """Return a grade that could not be checked, with the datum that is missing."""
    outcome = item.outcome
    return {
        "rule": item.rule.id,
        "grade": item.grade.name,
        "severity": item.severity.word,
        "subject": list(outcome.subject),
        "state": outcome.state or None,
        "missing": outcome.missing,
        "span": span_in_json(outcome.span),
    }


def promise_in_json(item: Promise) -> dict[str, Any]:
    """Return a requirement with its verdict."""
    return {
        "name": item.name,
        "formula": item.formula,
        "value": amount_in_json(item.value),
        "limit": amount_in_json(item.limit),
        "verdict": item.verdict,
        "span": span_in_json(item.span),
    }


def _assumed(item: Assumed) -> dict[str, Any]:
    return {"subject": item.subject, "property": item.what, "value": item.value, "from": item.source}


# the pieces of it --------------------------------------------------------------------------------------------------


def number_or_null(value: float | None) -> float | None:
    """Return a finite number, None for anything else."""
    return value if value is not None and isfinite(value) else None


def amount_in_json(amount: Amount | None) -> dict[str, Any] | None:
    """Return a value with its unit, null of nothing and of what is no number."""
    if amount is None:
        return None
    value, unit = amount.in_json()
    return {"value": value, "unit": unit} if isfinite(value) else None


def _step(step: Step) -> dict[str, Any]:
    return {
        "symbol": step.symbol,
        "expression": step.expression,
        "value": number_or_null(step.value),
        "unit": step.unit,
        "from": step.source,
    }


def _edit(edit: Edit) -> dict[str, Any]:
    return {"path": edit.span.path, "span": span_in_json(edit.span), "text": edit.text}


def span_in_json(span: Span) -> dict[str, Any]:
    """Return a place: lines and columns from 1, columns in code points, the end exclusive."""
    return {
        "path": span.path,
        "line": span.line,
        "column": span.column,
        "end_line": span.end_line,
        "end_column": span.end_column,
    }


def reference_in_json(reference: Reference | None) -> dict[str, Any] | None:
    """Return what a limit rests on, null of nothing."""
    if reference is None:
        return None
    return {
        "document": reference.document,
        "edition": reference.edition,
        "section": reference.section,
        "status": reference.status,
    }


# layout --------------------------------------------------------------------------------------------------------------


def laid_out(document: dict[str, Any], deepest: int = 2) -> str:
    """Write a document with the items of its lists on lines of their own, down to `deepest` lists inside each other.

    What holds no lists is written by the encoder in one go: it is many times as fast as its own way of indenting.
    """
    return _whole(document, deepest)


def laid_out_list(items: list[dict[str, Any]]) -> str:
    """Write a document that is a list, one item to a line."""
    return _whole(items, 1)


def _whole(value: Any, deepest: int) -> str:
    return f"{_laid(value, 0, deepest)}\n"


def _entries(document: dict[str, Any], indent: int) -> Iterator[str]:
    """Yield a document whose lists are made item by item."""
    sign = "{\n" + " " * (indent + 1)
    for key, value in document.items():
        yield sign + _named(key)
        if isinstance(value, Iterator):
            yield from _items(((_laid(item, indent + 2, 0),) for item in value), indent + 1)
        else:
            yield _laid(value, indent + 1, 1)
        sign = ",\n" + " " * (indent + 1)
    yield f"\n{' ' * indent}}}"


def _items(items: Iterator[Iterable[str]], indent: int) -> Iterator[str]:
    """Yield a list of what is written already, each item in pieces."""
    sign = "[\n" + " " * (indent + 1)
    is_empty = True
    for item in items:
        is_empty = False
        yield sign
        yield from item
        sign = ",\n" + " " * (indent + 1)
    yield "[]" if is_empty else f"\n{' ' * indent}]"


def _laid(value: Any, indent: int, deepest: int) -> str:
    written: list[str] = []
    _lay(value, indent, deepest, written.append)
    return "".join(written)


def _lay(value: Any, indent: int, deepest: int, put: Callable[[str], None]) -> None:
    """Write a value piece by piece; a large result has millions of them."""
    if isinstance(value, dict) and deepest >= 0 and _holds_lists(value):
        sign = "{\n" + " " * (indent + 1)
        for key, item in value.items():
            put(sign + _named(key))
            if isinstance(item, dict | list):
                _lay(item, indent + 1, deepest, put)
            else:
                put(_short(item))
            sign = ",\n" + " " * (indent + 1)
        put(f"\n{' ' * indent}}}")
    elif isinstance(value, list) and value and deepest > 0:
        sign = "[\n" + " " * (indent + 1)
        for item in value:
            put(sign)
            _lay(item, indent + 1, deepest - 1, put)
            sign = ",\n" + " " * (indent + 1)
        put(f"\n{' ' * indent}]")
    else:
        put(_short(value))


def _short(value: Any) -> str:
    """Return a value on one line."""
    if value is None:
        return "null"
    text = encode_basestring_ascii(value) if type(value) is str else _encoded(value)
    return text.replace("##", "#\\u0023") if "##" in text else text  # no line of a job's log is a command


_encoded = json.JSONEncoder(allow_nan=False).encode


@cache
def _named(key: str) -> str:
    return f"{json.dumps(key)}: "


def _holds_lists(value: dict[str, Any]) -> bool:
    return any(isinstance(item, list | dict) for item in value.values())
