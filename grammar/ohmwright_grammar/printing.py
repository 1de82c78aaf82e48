"""Writing what was read back as text, in one canonical form: what is printed is read as equal entries.

One fact stands on a line, blocks are indented by two blanks, the rig's own facts come first. What is not read before its place is known (the inside of
an assembly, the words of a change) is written token by token.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.entries import Body, Change, Default, Entry, Group
from ohmwright_grammar.kinds import HEADS, KINDS, PLURALS, kind_of
from ohmwright_grammar.kinds.rig import Rig
from ohmwright_grammar.parsing import parse
from ohmwright_grammar.properties import Base, FactReader, Facts
from ohmwright_grammar.saying import phrase_words, say_gauge, say_name, say_quantity, tail_of, ways_to_say
from ohmwright_grammar.syntax import Block, Statement, Token
from ohmwright_grammar.things import Datum, Fact, Thing, data_of

__all__ = ["print_body", "print_entry", "say_change", "say_fact", "say_quantity", "say_value", "words_of"]

_INDENT = "  "
_Lines = list[str]


# facts ---------------------------------------------------------------------------------------------------------------


def say_value(datum: Datum[Any], value: Any) -> str:
    """Return a value of a datum in the words of the lexicon, in the unit in which it was declared: "internal resistance 9 mohm".

    Several values are parted by commas where the language lets them go on so, else by semicolons; a block is written on one line.
    """
    return "; ".join(_on_one_line(_said(datum, value, False)))


def say_fact(datum: Datum[Any], fact: Fact[Any]) -> str:
    """Return what was said for a datum: its value, "no …" where it was denied, or the document that states it."""
    return "; ".join(_on_one_line(_statements(datum, fact, False)))


def words_of(kind: type[Thing], facts: Mapping[str, Fact[Any]]) -> str:
    """Return the facts of a thing in words, which are the name of a promise: the same however it was put."""
    return "; ".join(say_fact(datum, facts[name]) for name, datum in data_of(kind).items() if name in facts)


def _on_one_line(lines: _Lines) -> Iterator[str]:
    """Yield statements, with the lines of a block put on one line."""
    inside: _Lines = []
    depth = 0
    for line in lines:
        text = line.strip()
        depth += text.endswith("{")
        depth -= text == "}"
        inside.append(text)
        if depth == 0:
            yield "; ".join(inside).replace("{; ", "{ ").replace("; }", " }")
            inside = []


def _statements(datum: Datum[Any], fact: Fact[Any], quoted: bool) -> _Lines:
    if fact.answer == "said":
        return _said(datum, fact.value, quoted)
    words = _own_words(datum)
    return [f"no {words}" if fact.answer == "none" else f'{words} per "{fact.document}"']


def _own_words(datum: Datum[Any]) -> str:
    """Return words with which a datum is denied or said to stand elsewhere: those that no other datum of its kind begins with."""
    own = [phrase_words(phrase) for phrase in datum.phrases]
    if datum.owner is not None:
        others = {
            phrase_words(phrase).lower()
            for other in data_of(datum.owner).values()
            if other is not datum
            for phrase in other.phrases
        }
        alone = [words for words in own if words and words.lower() not in others]
        if alone:
            return alone[0]
    return next((words for words in own if words), datum.name.replace("_", " "))


def _said(datum: Datum[Any], value: Any, quoted: bool) -> _Lines:
    if datum.shape in ("block", "blocks"):
        lines: _Lines = []
        for thing in value if isinstance(value, tuple) else (value,):
            alone = datum.phrases[0] if datum.shape == "block" else datum.phrases[1]
            head = f"{datum.phrases[0]} {say_name(thing.name)}" if thing.name else alone
            lines.extend(_block(head, _facts(type(thing), thing.facts, None)))
        return lines
    if datum.many and isinstance(value, tuple) and datum.shape != "names":
        return _several(datum, value, quoted)
    return [next(ways_to_say(datum, value, quoted), str(value))]


def _several(datum: Datum[Any], values: tuple[Any, ...], quoted: bool) -> _Lines:
    lines: _Lines = []
    for value in values:
        tail = tail_of(datum, value, quoted) if lines else None
        if tail is not None:
            lines[-1] = f"{lines[-1]}, {tail}"
        else:
            lines.append(next(ways_to_say(datum, value, quoted), str(value)))
    return lines


def _block(head: str, inside: _Lines) -> _Lines:
    return [f"{head} {{", *(f"{_INDENT}{line}" for line in inside), "}"] if inside else [f"{head} {{ }}"]


def _facts(kind: type[Thing], facts: Mapping[str, Fact[Any]], base: Base | None) -> _Lines:
    """Return the statements of facts, in the order of the lexicon; names are quoted where they would be read as other words."""
    lines = [f"same as {say_name(base.name)}"] if base is not None else []
    for name, datum in data_of(kind).items():
        fact = facts.get(name)
        if fact is not None:
            lines.extend(_checked(kind, datum, fact))
    return lines


def _checked(kind: type[Thing], datum: Datum[Any], fact: Fact[Any]) -> _Lines:
    plain = _statements(datum, fact, False)
    if datum.shape in ("block", "blocks") or _reads_as(kind, datum, fact, plain):
        return plain
    quoted = _statements(datum, fact, True)
    if _reads_as(kind, datum, fact, quoted):
        return quoted
    if fact.answer == "said" and not datum.many:
        for words in ways_to_say(datum, fact.value, True):
            if _reads_as(kind, datum, fact, [words]):
                return [words]
    return plain


def _reads_as(kind: type[Thing], datum: Datum[Any], fact: Fact[Any], lines: _Lines) -> bool:
    problems: list[Diagnostic] = []
    facts = Facts()
    reader = FactReader("", problems)
    for statement in parse("\n".join(lines), "").statements:
        reader.statement(kind, "", statement, facts)
    return not problems and facts.facts == {datum.name: fact}


# entries -------------------------------------------------------------------------------------------------------------


def _entry_name(kind_words: str, name: str) -> str:
    """Return a name as it stands after the words of its kind: in quotation marks where it would be read with them."""
    said = say_name(name)
    words = (*kind_words.lower().split(), name.lower())
    if name[:1].isdigit() or any(words == head[: len(words)] for head in HEADS) or any(sign in name for sign in ".[]"):
        return f'"{name}"'
    return said


def print_entry(entry: Entry) -> str:
    """Return the statement of one thing; of a connector half alone, without its mate."""
    return "\n".join(_entry(entry))


def _entry(entry: Entry) -> _Lines:
    kind, facts = entry.kind, dict(entry.facts)
    words = kind.KIND if kind.KIND.lower() in KINDS else next(words for words in KINDS if kind_of(words) is kind)
    head = words
    if kind.KIND == "waive":
        head = f'{words} "{entry.name}"' if entry.name[:1].isdigit() else f"{words} {say_name(entry.name)}"
    elif kind.NAMED:
        head = f"{words} {_entry_name(words, entry.name)}"
    ends = facts.get("ends")
    if ends is not None and "ends" in data_of(kind):
        head = f"{head} {_checked(kind, data_of(kind)['ends'], ends)[0]}"
        del facts["ends"]
    lines = _facts(kind, facts, entry.base)
    if not lines:
        return [head] if head != words else _block(head, lines)
    return _block(head, lines)


def _pair(first: Entry, second: Entry) -> _Lines:
    """Return two halves as one statement: what both say, then what each says."""
    kind = first.kind
    common = {
        name: fact
        for name, fact in first.facts.items()
        if second.facts.get(name) == fact and data_of(kind)[name].shape != "blocks"
    }
    base = first.base if first.base == second.base else None
    inside = _facts(kind, common, base)
    for half in (first, second):
        own = {name: fact for name, fact in half.facts.items() if name not in common}
        lines = _facts(kind, own, None if base is not None else half.base)
        if lines:
            inside.extend(_block(_entry_name("", half.name), lines))
    return _block(f"connector {_entry_name('connector', first.name)} with {_entry_name('', second.name)}", inside)


def _default(default: Default) -> _Lines:
    head = " ".join(("all", *default.words, default.plural))
    if default.owner:
        head += f" of {next(plural for plural, words in PLURALS.items() if words == default.owner)}"
    if default.zone:
        head += f" in {say_name(default.zone)}"
    return _block(head, _facts(default.kind, default.facts, None))


# bodies --------------------------------------------------------------------------------------------------------------


def print_body(body: Body) -> str:
    """Return everything that a file says, in canonical form; comments are not part of it."""
    lines = _facts(Rig, body.rig.facts, body.rig.base)
    for name, (measure, _) in sorted(body.parameters.items()):
        value = measure.value
        said = say_quantity(value, _dimension(measure.dimension)) if measure.dimension != "gauge" else say_gauge(value)  # type: ignore[arg-type]
        lines.append(f"parameter {_entry_name('parameter', name)} {said}")
    for assembly in body.assemblies.values():
        lines.extend(_raw_block(f"assembly {_entry_name('', assembly.name)}", assembly.block))
    for default in body.defaults:
        lines.extend(_default(default))
    for removal in body.removals:
        lines.append(" ".join(word for word in ("remove", removal.head, say_name(removal.name)) if word))
    for change in body.changes:
        verb = "add to" if change.adds else "change"
        head = " ".join(word for word in (verb, change.head, say_name(change.name) if change.name else "") if word)
        head = f"{head} {_raw(change.words)}".strip()
        lines.extend(_raw_block(head, change.block) if change.block is not None else [head])
    lines.extend(_entries(body.entries, 0))
    return "\n".join(lines) + "\n"


def _dimension(name: str) -> Any:
    from ohmwright_grammar.quantities import DIMENSIONS

    return DIMENSIONS[name]


def _entries(entries: list[Entry], depth: int) -> _Lines:
    """Return entries with the blocks that group them; every zone is written once, with the things that lie in its block."""
    lines: _Lines = []
    zones = {entry.name for entry in entries if len(entry.groups) == depth and entry.kind.KIND == "zone"}
    done: set[int] = set()
    for index, entry in enumerate(entries):
        if index in done:
            continue
        if len(entry.groups) > depth:
            group = entry.groups[depth]
            if group.zone in zones:
                continue  # with its zone
            together = [other for other, item in enumerate(entries) if len(item.groups) > depth and item.groups[depth] is group]
            done.update(together)
            lines.extend(_grouped(group, [entries[other] for other in together], depth, entry.kind))
        elif entry.kind.KIND == "zone":
            inside = [item for item in entries if len(item.groups) > depth and item.groups[depth].zone == entry.name]
            block = [*_facts(entry.kind, entry.facts, entry.base), *_entries(inside, depth + 1)]
            lines.extend(_block(f"zone {_entry_name('zone', entry.name)}", block))
        elif entry.mate:
            mate = next((other for other in range(index + 1, len(entries)) if _are_mates(entry, entries[other])), None)
            if mate is None:
                lines.extend(_entry(entry))
                continue
            done.add(mate)
            lines.extend(_pair(entry, entries[mate]))
        else:
            lines.extend(_entry(entry))
    return lines


def _are_mates(first: Entry, second: Entry) -> bool:
    return first.mate == second.name and second.mate == first.name


def _grouped(group: Group, entries: list[Entry], depth: int, kind: type[Thing]) -> _Lines:
    group_kind = kind_of(PLURALS[group.plural])
    head = "; ".join(_facts(group_kind, group.facts, None)).replace("; ", ", ")
    return _block(f"{group.plural} {head}".strip(), _entries(entries, depth + 1))


def say_change(change: Change) -> str:
    """Return what a change of a published build says, on one line: "10 AWG; 13 m"."""
    lines = [_raw(change.words)] if change.words else []
    for statement in change.block.statements if change.block is not None else ():
        lines.extend(_raw_statement(statement))
    return "; ".join(_on_one_line(lines))


# tokens as they stand ------------------------------------------------------------------------------------------------


def _raw(tokens: tuple[Token, ...]) -> str:
    text = ""
    for token in tokens:
        text += "," if token.type == "COMMA" else f" {token}"
    return text.strip()


def _raw_block(head: str, block: Block) -> _Lines:
    return _block(head, [line for statement in block.statements for line in _raw_statement(statement)])


def _raw_statement(statement: Statement) -> _Lines:
    head = _raw(statement.tokens)
    return [head] if statement.block is None else _raw_block(head, statement.block)
