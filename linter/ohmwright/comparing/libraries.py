"""Ratings that a change alters in a library of parts: builds are judged by them, so that a raised one lowers the bar for all that use the part."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from ohmwright_grammar.entries import Body, Default
from ohmwright_grammar.printing import print_body
from ohmwright_grammar.spans import Span
from ohmwright_grammar.things import Fact, Thing, data_of

from ohmwright.comparing.model import Judgement, Row
from ohmwright.comparing.things import changed_facts

__all__ = ["compared_libraries"]

_NO_RATING = frozenset({"text", "texts", "word", "date"})  # what is said in words of nobody's table


def compared_libraries(path: str, old: Body, new: Body) -> Iterator[Judgement]:
    """Yield each rating of a part, a default or an assembly that is another one in the new text of a library; a part that is new has none to change."""
    before = {entry.name: entry for entry in old.entries if entry.kind.NAMED}
    for entry in new.entries:
        was = before.get(entry.name)
        if was is None or not entry.kind.NAMED:
            continue
        kind = entry.kind
        if was.kind is not kind:
            yield Judgement("library", "changed", path, entry.name, was.kind.KIND, kind.KIND, entry.span)
            continue
        if was.base != entry.base:
            yield Judgement("library", "changed", path, entry.name, _base(was.base), _base(entry.base), entry.span)
        one, two = _whole(was.facts, was.groups), _whole(entry.facts, entry.groups)
        yield from _rows(path, f"{entry.name} ({kind.KIND})", kind, one, two, entry.span)
    yield from _defaults(path, old.defaults, new.defaults)
    for name, assembly in new.assemblies.items():
        known = old.assemblies.get(name)
        if known is not None:
            one_text, two_text = print_body(known.inside), print_body(assembly.inside)
            if one_text != two_text:
                yield Judgement("library", "changed", path, f"assembly {name}", *_lines(one_text, two_text), assembly.span)


def _whole(facts: Mapping[str, Fact[Any]], groups: tuple[Any, ...]) -> dict[str, Fact[Any]]:
    found: dict[str, Fact[Any]] = {}
    for group in groups:
        found.update(group.facts)
    return {**found, **facts}


def _rows(
    path: str, about: str, kind: type[Thing], old: Mapping[str, Fact[Any]], new: Mapping[str, Fact[Any]], span: Span
) -> Iterator[Judgement]:
    said = frozenset(name for name, datum in data_of(kind).items() if datum.shape not in _NO_RATING)
    one = {name: fact for name, fact in old.items() if name in said}
    two = {name: fact for name, fact in new.items() if name in said}
    for row in changed_facts(kind("", span, one), kind("", span, two), inside=True):
        yield Judgement("library", "changed", path, f"{about}: {row.what}", row.was, row.now, _place(row, two, kind, span))


def _place(row: Row, facts: Mapping[str, Fact[Any]], kind: type[Thing], span: Span) -> Span:
    """Return where the new side says it, else where its thing stands."""
    for name, fact in facts.items():
        if data_of(kind)[name].doc == row.what and fact.source.line:
            return fact.source
    return span


def _defaults(path: str, old: list[Default], new: list[Default]) -> Iterator[Judgement]:
    def key(item: Default) -> tuple[str, tuple[str, ...], str, str]:
        return item.plural, item.words, item.zone, item.owner

    before = {key(item): item for item in old}
    after = {key(item): item for item in new}
    for name, item in {**before, **after}.items():
        one = before[name].facts if name in before else {}
        two = after[name].facts if name in after else {}
        about = " ".join(word for word in ("all", *item.words, item.plural, item.owner and f"of each {item.owner}") if word)
        yield from _rows(path, about, item.kind, one, two, item.span)


def _base(base: Any) -> str:
    return f"same as {base.name}" if base is not None else ""


def _lines(old: str, new: str) -> tuple[str, str]:
    """Return the lines that only one side has."""
    left, right = [line.strip() for line in old.splitlines()], [line.strip() for line in new.splitlines()]
    return "; ".join(line for line in left if line not in right), "; ".join(line for line in right if line not in left)
