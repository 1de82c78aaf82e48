"""Named things and what may be said of them.

A kind of thing is a class; each `Datum` on it is one row of the lexicon: the phrases that say it, the shape of its value, who
reads it. The reader, the printer, near names and the tables of LANGUAGE.md are made from these rows, and a rule reads the same row as an attribute:
`fuse.rated_current` is the declared value, or None where it was not said; `fuse.says_none(Fuse.holder)` tells a declared "none" from silence;
`fuse.fact(Fuse.rated_current)` has its place and where it came from.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import field
from typing import Any, ClassVar, Generic, Literal, TypeVar, overload

from ohmwright_grammar.quantities import Dimension, Quantity
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

__all__ = ["NOWHERE", "Answer", "Datum", "Fact", "Origin", "Shape", "Thing", "data_of", "datum_named"]

T = TypeVar("T")
F = TypeVar("F", bound=float)

Shape = Literal[
    "quantity",
    "record",
    "choice",
    "flag",
    "count",
    "number",
    "name",
    "names",
    "text",
    "word",
    "date",
    "gauge",
    "block",
    "blocks",
]
Answer = Literal["said", "none", "elsewhere"]
Origin = Literal["own", "base", "group", "default", "changed", "derived"]

NOWHERE = Span("", 1, 1, 1, 1)


@record
class Fact(Generic[T]):
    """One thing that was said: its value, where, and how it reached its thing.

    `answer` is "none" for a declared absence and "elsewhere" for a datum that is stated in another document
    (`value` is None then, `document` names it). `origin` tells an own statement from one that came with a library part ("base"), a group or a
    default; `source` is the place of the statement itself in every case. `below` counts, of what stands in a row, those that came with defaults: they
    stand first.
    """

    value: T | None
    source: Span = field(compare=False)
    origin: Origin = field(default="own", compare=False)
    answer: Answer = "said"
    document: str = ""
    below: int = field(default=0, compare=False)

    def carried(self, origin: Origin) -> Fact[T]:
        """Return the same fact as it reaches another thing."""
        return Fact(self.value, self.source, origin, self.answer, self.document, self.below)


class Datum(Generic[T]):
    """One row of the lexicon: what may be said of a kind of thing, in which words, with which value."""

    __slots__ = (
        "above", "at_least", "at_most", "bare", "choices", "denied", "dimension", "doc", "kind", "make", "many", "name", "owner", "phrases", "shape",
        "tail",
    )  # fmt: skip

    def __init__(
        self,
        shape: Shape,
        phrases: tuple[str, ...],
        doc: str,
        *,
        dimension: Dimension[Any] | None = None,
        choices: Mapping[str, str] | None = None,
        make: Callable[..., T] | None = None,
        kind: Callable[[], type[Thing]] | None = None,
        many: bool = False,
        tail: str = "",
        denied: tuple[str, ...] = (),
        above: float | None = None,
        at_least: float | None = None,
        at_most: float | None = None,
    ) -> None:
        self.shape = shape
        self.phrases = phrases
        self.doc = doc
        self.dimension = dimension
        self.choices = choices
        self.make = make
        self.kind = kind
        self.many = many
        self.tail = tail
        self.denied = denied  # words that say the contrary, beside "no" and "none"
        self.above = above
        self.at_least = at_least
        self.at_most = at_most
        self.name = ""
        self.owner: type[Thing] | None = None
        self.bare = any(phrase.startswith("<") for phrase in phrases)

    def __set_name__(self, owner: type[Thing], name: str) -> None:
        self.name = name
        self.owner = owner

    @overload
    def __get__(self, thing: None, owner: type[Thing]) -> Datum[T]: ...
    @overload
    def __get__(self, thing: Thing, owner: type[Thing]) -> T | None: ...
    @overload
    def __get__(self, thing: object, owner: type[Any]) -> Datum[T]: ...  # as type checkers read a field that holds one
    def __get__(self, thing: Any, owner: type[Any]) -> Datum[T] | T | None:
        if thing is None:
            return self
        fact = thing.facts.get(self.name)
        value = fact.value if fact is not None else None
        thing.__dict__[self.name] = value  # found there from now on, before this is asked: rules read the same again and again
        return value

    def __repr__(self) -> str:
        return f"Datum({self.owner.__name__ if self.owner else '?'}.{self.name})"


class _Read:
    """Holds, beside the fields of a record, what was read of it before."""

    __slots__ = ("__dict__",)


@record
class Thing(_Read):
    """A named thing of a build with the facts that were said of it."""

    KIND: ClassVar[str] = "thing"  # the words of its statement
    PLURAL: ClassVar[str] = ""  # the word after "all"
    MAKES: ClassVar[str] = ""  # the word for what it makes of something higher, where it is a converter
    NAMED: ClassVar[bool] = True

    name: str
    span: Span = field(compare=False)
    facts: Mapping[str, Fact[Any]]

    def fact(self, datum: Datum[T]) -> Fact[T] | None:
        """Return the fact said for a datum, with its place, or None where nothing was said."""
        return self.facts.get(datum.name)

    def says_none(self, datum: Datum[Any]) -> bool:
        """Tell whether the datum was denied ("none", "no …"), which is not silence."""
        fact = self.facts.get(datum.name)
        return fact is not None and fact.answer == "none"

    def is_documented(self, datum: Datum[Any]) -> bool:
        """Tell whether the datum was said here or is stated in another document."""
        return datum.name in self.facts

    def place_of(self, datum: Datum[Any]) -> Span:
        """Return where the datum was said, else where the thing stands."""
        fact = self.facts.get(datum.name)
        return fact.source if fact is not None else self.span


_DATA: dict[type[Thing], dict[str, Datum[Any]]] = {}


def data_of(kind: type[Thing]) -> dict[str, Datum[Any]]:
    """Return every datum of a kind by its name, in the order of declaration, inherited ones last."""
    known = _DATA.get(kind)
    if known is None:
        known = {}
        for base in kind.__mro__:
            for name, value in vars(base).items():
                if isinstance(value, Datum) and name not in known:
                    known[name] = value
        _DATA[kind] = known
    return known


def datum_named(kind: type[Thing], name: str) -> Datum[Any]:
    """Return a datum by its attribute name; KeyError where the kind has none."""
    return data_of(kind)[name]


def _iter_quantities(value: object) -> Iterator[Quantity[Any]]:
    if isinstance(value, Quantity):
        yield value
