"""What a change of a baseline does to the judgement: findings that it holds and did not hold, or holds further."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ohmwright_grammar.records import record, replace

from ohmwright.baselines import Baseline
from ohmwright.comparing.model import Effect, Judgement
from ohmwright.findings import Severity
from ohmwright.results import Entry
from ohmwright.values import figures

__all__ = ["Renames", "compared_baselines", "renamed_baseline"]

_ROUNDING = 1e-5
Key = tuple[str, ...]


@record
class Renames:
    """How builds and their things are called after a change: new paths by old ones, and names by the old path."""

    paths: Mapping[str, str]
    names: Mapping[str, Mapping[str, str]]

    def key(self, entry: Entry) -> Key:
        """Return the key of the finding that an old entry holds, with the names after the change."""
        from ohmwright.comparing.outcomes import key_of
        from ohmwright.judging import key_of as whole_key

        _, _, subject = key_of(entry.rule, entry.grade, entry.subject, self.names.get(entry.path, {}))
        return whole_key(self.paths.get(entry.path, entry.path), entry.rule, entry.grade, subject)


def renamed_baseline(baseline: Baseline, renames: Renames) -> Baseline:
    """Return a baseline that holds the same findings under the names after a change."""
    return replace(baseline, entries={renames.key(entry): _with(entry, renames) for entry in baseline.entries.values()})


def _with(entry: Entry, renames: Renames) -> Entry:
    path, _, _, *subject = renames.key(entry)
    return replace(entry, path=path, subject=tuple(subject))


def compared_baselines(path: str, old: Baseline, new: Baseline, renames: Renames) -> Iterator[Judgement]:
    """Yield entries that are new, that hold more than before, and that were taken out."""
    before = {renames.key(entry): entry for entry in old.entries.values()}
    if old.states != new.states and old.entries and new.entries:
        yield Judgement("baseline", "changed", path, "states", old.states, new.states)
    for key, entry in new.entries.items():
        was = before.get(key)
        effect = _effect(was, entry) if was is not None else "looser"
        if effect is not None:
            yield Judgement(
                "baseline", effect, path, _name(entry), _held(was) if was is not None else "", _held(entry), entry.span
            )
    for key, entry in before.items():
        if key not in new.entries:
            yield Judgement("baseline", "tighter", path, _name(entry), _held(entry), "", entry.span)


def _name(entry: Entry) -> str:
    return f"{entry.path}: {entry.rule}.{entry.grade} on {', '.join(entry.subject)}"


def _held(entry: Entry) -> str:
    words = [entry.severity]
    if entry.measured is not None:
        words.append(_amount(entry.measured))
    if entry.limit is not None:
        words.append(f"of at {'most' if entry.sense == 'at-most' else 'least'} {_amount(entry.limit)}")
    return " ".join(words)


def _amount(amount: tuple[float, str]) -> str:
    value, unit = amount
    return f"{figures(value, 6)} {unit}" if unit != "1" else figures(value, 6)


def _effect(was: Entry, now: Entry) -> Effect | None:
    """Return what a changed entry does, None where it holds the same."""
    severities = Severity[was.severity.upper()], Severity[now.severity.upper()]
    if severities[0] != severities[1]:
        return "looser" if severities[1] > severities[0] else "tighter"
    if was.sense != now.sense or (was.measured is None) != (now.measured is None) or (was.limit is None) != (now.limit is None):
        return "changed"
    effects = {
        _further(was.measured, now.measured, was.sense),
        _further(was.limit, now.limit, "at-least" if was.sense == "at-most" else "at-most"),
    }
    effects.discard(None)
    for effect in ("changed", "looser", "tighter"):
        if effect in effects:
            return effect
    return None


def _further(was: tuple[float, str] | None, now: tuple[float, str] | None, sense: str) -> Effect | None:
    if was is None or now is None:
        return None
    if was[1] != now[1]:
        return "changed"
    slack = _ROUNDING * max(abs(was[0]), abs(now[0]))
    if abs(was[0] - now[0]) <= slack:
        return None
    return "looser" if (now[0] > was[0]) == (sense == "at-most") else "tighter"
