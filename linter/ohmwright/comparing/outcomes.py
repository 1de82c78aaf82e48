"""How findings, margins and requirements stand before and after a change."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from ohmwright_grammar.records import record

from ohmwright.comparing.model import FindingChange, Move, PromiseChange, UncheckedChange
from ohmwright.findings import Severity
from ohmwright.results import BuildResult, Judged, Kept, Promise
from ohmwright.text_rules import OWN_FAMILIES

__all__ = ["MOVED", "compared_findings", "compared_promises", "moved_margins", "no_longer_checked"]

MOVED = 0.01  # of the limit; of a temperature 1 K
_ROUNDING = 1e-6

Key = tuple[str, str, frozenset[str]]  # rule, grade, names
_Named = Mapping[str, str]
_WORSE = {"waived": "its waiver excuses it no more", "held": "it is worse than its entry in the baseline"}
_COUNTED_AGAIN = {"yielded": "another finding explained it before", "off": "its grade was switched off"}


@record
class Stand:
    """What a build has of one grade on one subject: a finding and where it is counted, or what passed."""

    where: str  # "found", "waived", "held", "yielded", "off", "passed"
    finding: Judged | None = None
    passed: Kept | None = None


def stands(build: BuildResult | None, names: _Named) -> dict[Key, Stand]:
    """Return everything that was found or passed, by rule, grade and names; `names` tells how things are called after the change."""
    found: dict[Key, Stand] = {}
    if build is None:
        return found
    for kept in build.passes:
        key = key_of(kept.rule.id, kept.passed.grade, kept.passed.subject, names)
        known = found.get(key)
        if known is None or _less(kept.passed.margin, known.passed.passed.margin if known.passed else None):
            found[key] = Stand("passed", passed=kept)
    lists = (
        ("off", build.switched_off), ("yielded", build.yielded), ("held", build.baselined), ("waived", build.waived), ("found", build.findings),
    )  # fmt: skip
    for where, items in lists:
        for item in items:
            found[key_of(item.rule.id, item.grade.name, item.finding.subject, names)] = Stand(where, item)
    return found


def key_of(rule: str, grade: str, subject: tuple[str, ...], names: _Named) -> Key:
    """Return the identity of an outcome inside its build, with the names that things have after the change."""
    return rule, grade, frozenset(_called(name, names) for name in subject)


def _called(name: str, names: _Named) -> str:
    if not names or name in names:
        return names.get(name, name)
    head, point, tail = name.rpartition(".")
    return f"{_called(head, names)}.{tail}" if point else name


def _less(one: float | None, two: float | None) -> bool:
    return one is not None and (two is None or one < two)


# findings ----------------------------------------------------------------------------------------------------------


def compared_findings(
    before: Mapping[Key, Stand], after: Mapping[Key, Stand], new: BuildResult | None, known: Mapping[str, str]
) -> Iterator[FindingChange]:
    """Yield what became of each finding, the new ones and the worse ones first, the gravest first; `known` holds the names of the old side."""
    found = [
        change
        for key in {**after, **before}
        if (change := _change(key, before.get(key), after.get(key), new, known)) is not None
    ]
    order = ("new", "worse", "waived", "held", "gone", "better")
    yield from sorted(
        found,
        key=lambda change: (order.index(change.how), -change.item.severity, change.item.finding.span, change.item.key),
    )


def _change(
    key: Key, was: Stand | None, now: Stand | None, new: BuildResult | None, known: Mapping[str, str]
) -> FindingChange | None:
    old = was.finding if was is not None else None
    if now is not None and now.finding is not None:
        return _still(was, now.finding, now.where)
    if old is None or was is None or was.where != "found":
        return None
    passed = now.passed if now is not None else None
    return FindingChange("gone", old, None, _gone(key, passed, old, new, known), after=passed)


def _still(was: Stand | None, item: Judged, where: str) -> FindingChange | None:
    """Return what is to be said of a finding that the new side has."""
    old = was.finding if was is not None else None
    passed = was.passed if was is not None else None
    before = was.where if was is not None else ""
    if where == "found":
        if old is None:
            return FindingChange("new", None, item, before=passed)
        if before == "found":
            way = _way(old, item)
            return FindingChange(way, old, item) if way else None  # type: ignore[arg-type]
        if before in _WORSE:
            return FindingChange("worse" if before == "held" else "new", old, item, _WORSE[before])
        return FindingChange("new", old, item, _COUNTED_AGAIN[before])
    if where in ("waived", "held") and before != where:
        return FindingChange(where, old, item, before=passed)  # type: ignore[arg-type]
    if where == "yielded" and before == "found":
        return FindingChange("gone", old, None, "another finding explains it now")
    if where == "off" and before == "found":
        return FindingChange("gone", old, None, "its grade is switched off now")
    return None


def _gone(key: Key, passed: Kept | None, old: Judged, new: BuildResult | None, known: Mapping[str, str]) -> str:
    if passed is not None:
        return "it holds now"
    if new is None:
        return "the build is gone"
    for item in new.not_checked:
        if key == key_of(item.rule.id, item.grade.name, item.outcome.subject, {}):
            return f"it can no longer be checked, for want of {item.outcome.missing}"
    chief = old.finding.subject[0] if old.finding.subject else ""
    if chief in known and chief not in new.kinds and chief in key[2] and old.rule.family not in OWN_FAMILIES:
        return f"{chief} is gone"
    return ""


def _way(old: Judged, new: Judged) -> str:
    """Return in which way a finding moved, "" where it did not."""
    if new.severity != old.severity:
        return "worse" if new.severity > old.severity else "better"
    one, two = old.finding, new.finding
    if one.margin is not None and two.margin is not None:
        return _moved(two.margin - one.margin, max(1.0, abs(one.margin)))
    if one.measured is None or two.measured is None or one.measured.dimension != two.measured.dimension:
        return ""
    sign = -1.0 if two.sense == "at-most" else 1.0
    size = max(abs(one.measured.value), abs(two.measured.value))
    return _moved(sign * (two.measured.value - one.measured.value), size)


def _moved(gained: float, size: float) -> str:
    if abs(gained) <= _ROUNDING * size:
        return ""
    return "better" if gained > 0 else "worse"


# what cannot be checked any more -----------------------------------------------------------------------------------


def no_longer_checked(
    before: Mapping[Key, Stand], old: BuildResult | None, new: BuildResult | None, names: _Named
) -> Iterator[UncheckedChange]:
    """Yield the error-level grades that the old side could check, or did not have, and the new one cannot check."""
    if new is None:
        return
    known = {
        key_of(item.rule.id, item.grade.name, item.outcome.subject, names)
        for item in (old.not_checked if old is not None else ())
    }
    for item in new.not_checked:
        key = key_of(item.rule.id, item.grade.name, item.outcome.subject, {})
        if item.severity is not Severity.ERROR or key in known:
            continue
        was = before.get(key)
        known.add(key)
        yield UncheckedChange(item, "new" if was is None else "passed" if was.where == "passed" else "found")


# margins -----------------------------------------------------------------------------------------------------------


def moved_margins(
    before: Mapping[Key, Stand], after: Mapping[Key, Stand], told: frozenset[Key], called: Callable[[str], str]
) -> Iterator[Move]:
    """Yield the margins that moved by more than a hundredth of their limit, the largest losses first; `told` are keys of findings that are told by themselves."""
    found: list[Move] = []
    for key, now in after.items():
        was = before.get(key)
        if was is None or key in told:
            continue
        one, two = _outcome(was), _outcome(now)
        if one is None or two is None or one[1] is None or two[1] is None or abs(two[1] - one[1]) < MOVED:
            continue
        subject = now.finding.finding.subject if now.finding is not None else now.passed.passed.subject  # type: ignore[union-attr]
        found.append(Move(key[0], key[1], subject, one[0], two[0], one[1], two[1], called(f"{key[0]}.{key[1]}")))
    yield from sorted(found, key=lambda move: (move.now - move.was, move.rule, move.grade, move.subject))


def _outcome(stand: Stand) -> tuple[Kept | Judged, float | None] | None:
    if stand.finding is not None:
        return stand.finding, stand.finding.finding.margin
    return (stand.passed, stand.passed.passed.margin) if stand.passed is not None else None


# requirements ------------------------------------------------------------------------------------------------------


def compared_promises(old: BuildResult | None, new: BuildResult | None) -> Iterator[PromiseChange]:
    """Yield the requirements that flipped, that are new, and that were taken out."""
    before = _promises(old)
    after = _promises(new)
    for name in sorted({**before, **after}):
        was, now = before.get(name), after.get(name)
        if was is None or now is None or was.verdict != now.verdict:
            yield PromiseChange(name, was, now)


def _promises(build: BuildResult | None) -> dict[str, Promise]:
    return {promise.name: promise for promise in build.requirements} if build is not None else {}
