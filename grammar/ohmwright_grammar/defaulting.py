"""Reading `all …`: which things it holds for, and which facts it gives them."""

from __future__ import annotations

from ohmwright_grammar.diagnostics import Diagnostic, names_near
from ohmwright_grammar.entries import Default, Group
from ohmwright_grammar.heads import choices_of, names_a_choice, plural_in
from ohmwright_grammar.kinds import PLURALS, kind_of
from ohmwright_grammar.phrases import plain_name
from ohmwright_grammar.properties import FactReader
from ohmwright_grammar.syntax import Statement, Token

__all__ = ["read_default"]


def read_default(statement: Statement, reader: FactReader, groups: tuple[Group, ...]) -> Default | None:
    """Read `all PLURAL { … }`, with a family before the plural and an owner or a zone after it; None where it cannot be told what it is for."""
    tokens = statement.tokens
    place = statement.span(reader.path)
    found = plural_in(tokens)
    if found is None:
        words = " ".join(str(token) for token in tokens[1:3])
        near = names_near(str(tokens[1]) if len(tokens) > 1 else "", PLURALS, "Words") or "Write: all wires { … }"
        message = f"It cannot be told for which things this holds: {words!r}."
        reader.problems.append(Diagnostic("unknown-property", message, place, near))
        return None
    plural, before, after = found
    kind = kind_of(PLURALS[plural])
    sort: tuple[str, ...] = tuple(str(token).lower() for token in tokens[1:before])
    owner, zone, rest = _whose(tokens[after:], statement.block is not None)
    if sort and not names_a_choice(kind, sort):
        message = f"{' '.join(sort)!r} is no family or sort of {plural}."
        near = names_near(" ".join(sort), choices_of(kind), "Words")
        reader.problems.append(Diagnostic("unknown-property", message, place, near))
        return None
    facts = reader.read(kind, f"all {plural}", rest, statement.block)
    if not zone:
        zone = next((group.zone for group in reversed(groups) if group.zone), "")
    return Default(plural, kind, place, facts.facts, sort, zone, owner)


def _whose(rest: tuple[Token, ...], has_block: bool) -> tuple[str, str, tuple[Token, ...]]:
    """Return the kind of the owner ("of fuses"), the zone ("in the lid"), and the words after them."""
    owner = zone = ""
    while len(rest) > 1 and str(rest[0]).lower() in ("of", "in"):
        whose = next((words for n in (3, 2, 1) if (words := " ".join(str(t).lower() for t in rest[1 : n + 1])) in PLURALS), "")
        if str(rest[0]).lower() == "of" and whose:
            owner = PLURALS[whose]
            rest = rest[1 + len(whose.split()) :]
        elif str(rest[0]).lower() == "in" and has_block and len(rest) == 2:
            zone = plain_name(rest[1])
            rest = rest[2:]
        else:
            break
    return owner, zone, rest[1:] if rest and rest[0].type == "COMMA" else rest
