"""A comparison as the document that `schemas/compare.json` describes; findings, places and values are those of an inspection."""

from __future__ import annotations

from typing import Any

from ohmwright.comparing.model import (
    BuildChange,
    Comparison,
    FindingChange,
    Judgement,
    Move,
    PromiseChange,
    SideTold,
    ThingChange,
    UncheckedChange,
)
from ohmwright.comparing.wording import judgement_head
from ohmwright.reports.json_report import (
    SCHEMA,
    amount_in_json,
    finding_in_json,
    laid_out,
    number_or_null,
    pass_in_json,
    promise_in_json,
    span_in_json,
    unchecked_in_json,
)
from ohmwright.results import Judged, Kept

__all__ = ["write"]


def write(comparison: Comparison) -> str:
    """Return the document of a whole comparison."""
    return laid_out(_document(comparison))


def _document(comparison: Comparison) -> dict[str, Any]:
    return {
        "ohmwright": comparison.version,
        "schema": SCHEMA,
        "run": {
            "today": comparison.today,
            "packs": [{"name": name, "version": version} for name, version in comparison.packs],
            "old": _side(comparison.old),
            "new": _side(comparison.new),
            "settings": list(comparison.settings),
            "require_checked": comparison.require_checked,
            "errors": [
                {"message": error.message, "pack": error.pack or None, "rule": error.rule or None, "build": error.build or None}
                for error in comparison.errors
            ],
        },
        "judgement": [_judgement(item) for item in comparison.judgement],
        "builds": [_build(build) for build in comparison.builds],
        "unchanged": comparison.unchanged,
    }


def _side(side: SideTold) -> dict[str, Any]:
    return {"name": side.name, "commit": side.commit or None}


def _judgement(item: Judgement) -> dict[str, Any]:
    return {
        "kind": item.kind,
        "effect": item.effect,
        "stops": item.stops,
        "path": item.path,
        "about": item.about,
        "message": judgement_head(item),
        "was": item.was or None,
        "now": item.now or None,
        "accepted": item.accepted or None,
        "remedy": item.remedy or None,
        "span": span_in_json(item.span) if item.span is not None else None,
    }


def _build(build: BuildChange) -> dict[str, Any]:
    known = build.new or build.old
    return {
        "path": build.path or None,
        "old_path": build.old_path or None,
        "change": build.how,
        "title": (known.title or None) if known is not None else None,
        "old_revision": (build.old.revision or None) if build.old is not None else None,
        "new_revision": (build.new.revision or None) if build.new is not None else None,
        "partial": build.new is not None and build.new.partial,
        "findings": [_finding(change) for change in build.findings],
        "unchecked": [_unchecked(change) for change in build.unchecked],
        "margins": [_move(move) for move in build.moves],
        "things": [_thing(change) for change in build.things],
        "requirements": [_promise(change) for change in build.promises],
    }


def _finding(change: FindingChange) -> dict[str, Any]:
    return {
        "change": change.how,
        "why": change.why or None,
        "old": finding_in_json(change.old) if change.old is not None else None,
        "new": finding_in_json(change.new) if change.new is not None else None,
        "passed_before": pass_in_json(change.before) if change.before is not None else None,
        "passes_now": pass_in_json(change.after) if change.after is not None else None,
    }


def _unchecked(change: UncheckedChange) -> dict[str, Any]:
    return {**unchecked_in_json(change.item), "was": change.was}


def _move(move: Move) -> dict[str, Any]:
    return {
        "rule": move.rule,
        "grade": move.grade,
        "subject": list(move.subject),
        "limit_is": move.limit or None,
        "old": _measure(move.old, move.was),
        "new": _measure(move.new, move.now),
    }


def _measure(item: Judged | Kept, margin: float) -> dict[str, Any]:
    held = item.finding if isinstance(item, Judged) else item.passed
    return {
        "state": held.state or None,
        "measured": amount_in_json(held.measured),
        "limit": amount_in_json(held.limit),
        "sense": held.sense,
        "margin": number_or_null(margin),
    }


def _thing(change: ThingChange) -> dict[str, Any]:
    return {
        "change": change.how,
        "kind": change.kind,
        "name": change.name or None,
        "old_name": change.was or None,
        "properties": [{"what": row.what, "was": row.was or None, "now": row.now or None} for row in change.rows],
        "span": span_in_json(change.span),
    }


def _promise(change: PromiseChange) -> dict[str, Any]:
    return {
        "name": change.name,
        "old": promise_in_json(change.old) if change.old is not None else None,
        "new": promise_in_json(change.new) if change.new is not None else None,
    }
