"""A record is a slotted dataclass, whichever way it is first used."""

from __future__ import annotations

import dataclasses
import pickle
from dataclasses import field
from typing import ClassVar, Generic, TypeVar

import pytest
from ohmwright_grammar.records import record

T = TypeVar("T")


@record
class Point:
    """A place."""

    KIND: ClassVar[str] = "point"

    x: float
    y: float = 0.0
    note: str = field(default="", compare=False)

    @property
    def length(self) -> float:
        """Distance from the origin."""
        return float((self.x**2 + self.y**2) ** 0.5)


@record
class Place(Point):
    """A place with a name."""

    name: str = "here"


@record
class Box(Generic[T]):
    """Something that holds."""

    value: T


def test_first_use_is_an_instance() -> None:
    point = Point(3, 4)
    assert point == Point(3.0, 4.0, "else")
    assert hash(point) == hash(Point(3, 4))
    assert point != Point(3)
    assert point.length == 5
    assert repr(point).endswith("Point(x=3, y=4, note='')")
    assert not hasattr(point, "__dict__")
    with pytest.raises(AttributeError):
        point.z = 1  # type: ignore[attr-defined]
    with pytest.raises(TypeError):
        Point()  # type: ignore[call-arg]
    assert pickle.loads(pickle.dumps(point)) == point


def test_first_use_is_a_question_about_fields() -> None:
    @record
    class Fresh:
        """A record that nobody has used."""

        a: int
        b: int = 2

    assert [item.name for item in dataclasses.fields(Fresh)] == ["a", "b"]
    assert dataclasses.is_dataclass(Fresh(1))
    assert dataclasses.replace(Fresh(1), b=5) == Fresh(1, 5)


def test_first_use_is_a_child() -> None:
    @record
    class Base:
        """A record that nobody has used."""

        a: int
        b: int = 2

    @record
    class Child(Base):
        """One with a field more."""

        c: int = 3

    class Plain(Child):
        """One without a field of its own."""

        __slots__ = ()

    assert Plain(1) == Plain(1, 2, 3)
    assert Plain(1) != Child(1)
    assert (Child(1).c, Base(7).b) == (3, 2)
    assert [item.name for item in dataclasses.fields(Child)] == ["a", "b", "c"]
    assert Place(1, name="there").name == "there"


def test_generic_record() -> None:
    held: Box[int] = Box(3)
    assert held.value == 3
    assert Box[str]("a") == Box("a")


def test_dataclass_may_follow_a_record() -> None:
    @dataclasses.dataclass(frozen=True)
    class After(Point):
        """A dataclass of the standard library on top."""

        colour: str = "red"

    assert After(1, colour="blue").colour == "blue"
    assert dataclasses.replace(After(1), y=3.0).y == 3


def test_values_that_do_not_fit_are_refused() -> None:
    for values, named in (((1, 2, "n", 4), {}), ((), {}), ((1,), {"x": 2}), ((1,), {"z": 2})):
        with pytest.raises(TypeError, match="Point"):
            Point(*values, **named)  # type: ignore[arg-type]


def test_factories_make_a_value_for_each() -> None:
    @record
    class Holder:
        """Something with a list of its own."""

        name: str
        items: list[int] = field(default_factory=list)
        more: int = 3

    one, two = Holder("one"), Holder("two", more=4)
    one.items.append(1)
    assert (two.items, two.more, Holder("three", [2]).items) == ([], 4, [2])


def test_a_field_that_must_be_given_comes_first() -> None:
    with pytest.raises(TypeError, match=r"Wrong: a field without a default"):

        @record
        class Wrong:
            """A record in a wrong order."""

            a: int = 1
            b: int  # type: ignore[misc]


def test_the_type_checker_holds_that_a_record_is_frozen() -> None:
    """The next line needs its comment: mypy fails on one that ignores nothing (`warn_unused_ignores`, in `strict`)."""
    Point(1.0).x = 2.0  # type: ignore[misc]
