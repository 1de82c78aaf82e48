"""What one file, or the inside of one assembly, says, before any name is looked up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import Any

from ohmwright_grammar.properties import Base, Facts
from ohmwright_grammar.quantities import Measure
from ohmwright_grammar.records import draft, record
from ohmwright_grammar.spans import Span
from ohmwright_grammar.syntax import Block, Token
from ohmwright_grammar.things import Fact, Thing

__all__ = ["AssemblyText", "Body", "Change", "Default", "Entry", "Group", "Removal"]


@record
class Group:
    """Facts that a grouping block gives to the things in it; `zone` where the block is a zone, else `plural` is its word."""

    facts: Mapping[str, Fact[Any]]
    zone: str = ""
    plural: str = ""


@record
class Entry:
    """One thing as its statement says it, before anything is looked up."""

    kind: type[Thing]
    name: str
    span: Span = field(compare=False)
    facts: Mapping[str, Fact[Any]]
    base: Base | None = None
    groups: tuple[Group, ...] = ()
    mate: str = ""  # of a connector half: the other half of its pair


@record
class Default:
    """`all …`: facts for every thing of a kind; narrower with words (a family), a zone, or a kind of owner (for terminals)."""

    plural: str
    kind: type[Thing]
    span: Span = field(compare=False)
    facts: Mapping[str, Fact[Any]]
    words: tuple[str, ...] = ()
    zone: str = ""
    owner: str = ""


@record
class Change:
    """`change NAME …`: facts to put in place of those of a published build; read when the kind of the thing is known.

    `head` holds the words of a kind where they stand before the name; `adds` tells `add to NAME …`, which says what the published
    build does not say.
    """

    name: str
    span: Span = field(compare=False)
    words: tuple[Token, ...]
    block: Block | None
    head: str = ""
    adds: bool = False


@record
class Removal:
    """`remove NAME`: a thing of a published build that is not built; `head` where the words of its kind stand before the name."""

    name: str
    span: Span = field(compare=False)
    head: str = ""


@record
class AssemblyText:
    """An assembly as text, which is read once for each set of values of its parameters; `inside` is what it says with the usual values."""

    name: str
    span: Span = field(compare=False)
    path: str
    block: Block
    inside: Body = field(compare=False)


@draft
class Body:
    """Everything that one file, or the inside of one assembly, says."""

    path: str
    rig: Facts = field(default_factory=Facts)
    entries: list[Entry] = field(default_factory=list)
    defaults: list[Default] = field(default_factory=list)
    changes: list[Change] = field(default_factory=list)
    removals: list[Removal] = field(default_factory=list)
    assemblies: dict[str, AssemblyText] = field(default_factory=dict)
    parameters: dict[str, tuple[Measure, Span]] = field(default_factory=dict)
    statements: int = 0
    has_rig: bool = False  # a statement begins with "rig", whether it could be read or not
    unread: set[str] = field(default_factory=set)  # names whose statements could not be read: no other message need name them
