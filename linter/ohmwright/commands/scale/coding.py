"""Results as plain values of JSON and back.

Only the records that are named here are ever made, of what their fields hold: whatever stands in a file, reading it runs nothing. Rules, grades and
references recur in nearly every outcome; each is written once, in a table before the value, and made once in a run. With `by_name` rules of the
installed packs are written by their name alone, which is short, and looked up where the value is read, which imports them.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date
from typing import Any

from ohmwright_grammar import diagnostics
from ohmwright_grammar.kinds.waiver import Bound, Waiver
from ohmwright_grammar.quantities import Measure, Quantity
from ohmwright_grammar.spans import Edit, Span
from ohmwright_grammar.things import Fact

from ohmwright import findings, references, results
from ohmwright.findings import Severity
from ohmwright.rules import Grade, PackError, Ready, Rule, installed_packs
from ohmwright.values import Amount

__all__ = ["CodingError", "also", "read", "written"]


class CodingError(Exception):
    """A value that cannot be written, or a text that is none of ours."""


_TUPLE, _DICT, _SHARED, _DAY, _SEVERITY, _SPAN, _EDIT, _NAMED = range(8)
_RECORDS: tuple[type[Any], ...] = (
    results.BuildResult, results.Judged, results.Kept, results.Unchecked, results.Promise, results.Assumed, results.StateRow,
    results.RunError, results.Adapted, results.Entry, results.SettingsTold, results.LeftOutHere, results.Regraded,
    findings.Finding, findings.Passed, findings.NotChecked, findings.DoesNotApply, findings.Related, findings.StateMeasure,
    references.Reference, references.Step, Rule, Grade, Amount,
    Waiver, Bound, Measure, Quantity, Fact, diagnostics.Diagnostic, diagnostics.Related,
)  # fmt: skip
_FIRST = 16  # numbers below are of what is no record
_CLASSES: dict[int, type[Any]] = {_FIRST + place: cls for place, cls in enumerate(_RECORDS)}
_SIGNS: dict[type[Any], int] = {cls: sign for sign, cls in _CLASSES.items()}
_FIELDS: dict[type[Any], tuple[str, ...]] = {cls: tuple(cls._record_defaults) for cls in _RECORDS}
_OFTEN = frozenset((Rule, Grade, references.Reference))
_LEFT_OUT = {results.BuildResult: frozenset({"home"})}  # what is not written: it is known where it is read
_known: dict[str, Any] = {}  # what recurs, by its text
_texts: dict[int, tuple[Any, str]] = {}  # the text of rules and grades by where they lie: they stay
_ready: dict[str, Ready] = {}  # rules of the installed packs by name


def also(*classes: type[Any]) -> None:
    """Take in more records, in an order that does not change."""
    for cls in classes:
        if cls not in _SIGNS:
            sign = _FIRST + len(_CLASSES)
            _CLASSES[sign], _SIGNS[cls], _FIELDS[cls] = cls, sign, tuple(cls._record_defaults)


def written(value: Any, by_name: bool = False) -> str:
    """Return a value as a text; CodingError where something in it has no place here."""
    writer = _Writer(by_name)
    body = writer.plain(value)
    return json.dumps([writer.table, body], separators=(",", ":"))


def read(text: str | bytes) -> Any:
    """Return the value of a text; CodingError where it is none of ours."""
    try:
        table, body = json.loads(text)
        return _Reader([_shared(item) for item in table]).value(body)
    except CodingError:
        raise
    except (ValueError, TypeError, KeyError, IndexError, AttributeError, RecursionError, PackError) as error:
        raise CodingError(f"{type(error).__name__}: {error}") from None


def _named(name: str) -> Rule | None:
    """Return the rule of a name that an installed pack has, None where none has it."""
    if not _ready:
        _ready.update((found.id, found) for pack in installed_packs() for found in pack.ready())
    found = _ready.get(name)
    return found.rule if found else None


class _Writer:
    def __init__(self, by_name: bool = False) -> None:
        self.by_name = by_name
        self.table: list[str] = []
        self._places: dict[int, int] = {}

    def plain(self, value: Any) -> Any:
        cls = type(value)
        if value is None or cls is str or cls is bool or cls is int or cls is float:
            return value
        if cls is Span:
            return [_SPAN, *value]
        if cls in _OFTEN:
            if self.by_name and isinstance(value, Rule) and _named(value.id) is value:
                return [_NAMED, value.id]
            return [_SHARED, self._place(value)]
        sign = _SIGNS.get(cls)
        if sign is not None:
            left_out = _LEFT_OUT.get(cls, ())
            return [sign, *[self.plain(getattr(value, name)) for name in _FIELDS[cls] if name not in left_out]]
        if isinstance(value, Severity):
            return [_SEVERITY, int(value)]
        if cls is Edit:
            return [_EDIT, self.plain(value.span), value.text]
        if isinstance(value, date):
            return [_DAY, value.isoformat()]
        if isinstance(value, Mapping):
            if not all(type(key) is str for key in value):
                raise CodingError("a mapping has keys that are no texts")
            return [_DICT, {key: self.plain(item) for key, item in value.items()}]
        for base in (str, int, float):  # of a kind of their own: units and the like
            if isinstance(value, base):
                return base(value)
        if isinstance(value, tuple | list) or hasattr(value, "__iter__"):
            return [_TUPLE, *[self.plain(item) for item in value]]
        raise CodingError(f"a value of the kind {cls.__name__} has no place in a result")

    def _place(self, value: Any) -> int:
        place = self._places.get(id(value))
        if place is None:
            text = _text_of(value)
            place = self.table.index(text) if text in self.table else len(self.table)
            if place == len(self.table):
                self.table.append(text)
            self._places[id(value)] = place
        return place


def _text_of(value: Any) -> str:
    """Return the text of something that recurs."""
    known = _texts.get(id(value))
    if known is not None and known[0] is value:
        return known[1]
    inner = _Inner()
    cls = type(value)
    text = json.dumps([_SIGNS[cls], *[inner.plain(getattr(value, name)) for name in _FIELDS[cls]]], separators=(",", ":"))
    if cls is not references.Reference:  # of these some are made for one build alone
        _texts[id(value)] = value, text
    return text


class _Inner(_Writer):
    """Writes what recurs whole, with all that it holds."""

    def plain(self, value: Any) -> Any:
        if type(value) in _OFTEN:
            return [_SIGNS[type(value)], *[self.plain(getattr(value, name)) for name in _FIELDS[type(value)]]]
        return super().plain(value)


def _shared(text: str) -> Any:
    known = _known.get(text)
    if known is None:
        if not isinstance(text, str):
            raise CodingError("the table holds something else than texts")
        known = _Reader(()).value(json.loads(text))
        if type(known) not in _OFTEN:
            raise CodingError("the table holds something else than rules, grades and references")
        _known[text] = known
    return known


class _Reader:
    def __init__(self, table: Any) -> None:
        self.table = table

    def value(self, plain: Any) -> Any:
        if type(plain) is not list:
            if type(plain) is dict:
                raise CodingError("a mapping stands where none can")
            return plain
        sign = plain[0]
        if sign == _TUPLE:
            value = self.value
            return tuple([value(item) if type(item) is list else item for item in plain[1:]])
        if sign == _SPAN:
            return Span(*plain[1:])
        if sign == _SHARED:
            return self.table[plain[1]]
        if sign == _NAMED:
            rule = _named(plain[1])
            if rule is None:
                raise CodingError(f"no installed pack has the rule {plain[1]!r}")
            return rule
        cls = _CLASSES.get(sign)
        if cls is not None:
            value = self.value
            return cls(*[value(item) if type(item) is list else item for item in plain[1:]])
        if sign == _DICT:
            return {key: self.value(item) for key, item in plain[1].items()}
        if sign == _SEVERITY:
            return Severity(plain[1])
        if sign == _DAY:
            return date.fromisoformat(plain[1])
        if sign == _EDIT:
            return Edit(self.value(plain[1]), str(plain[2]))
        raise CodingError(f"there is no kind of value {sign!r}")
