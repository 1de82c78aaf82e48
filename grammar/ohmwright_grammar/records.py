"""Slotted dataclasses that cost a hook next to nothing at start-up.

The standard library compiles six functions for every dataclass when its module is imported, about 0.3 ms each; three hundred of them would
cost more than reading and solving a build. `@record` gives the same thing with functions that are shared or closed over, so that next to nothing is
compiled: slotted, compared and hashed by value, with defaults, `field(compare=False)`, `field(default_factory=…)` and inheritance. What
`dataclasses.fields` and `dataclasses.replace` need is made when they ask, so that both work as usual. `@entity` is the same, but each instance is equal to
itself alone; `@draft` may also be changed while it is filled in.

That a record is frozen is held by the type checker, which sees all code that makes or uses one, and not again at every assignment: a build makes twenty
thousand records, and refusing at run time would double what each of them costs.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import MISSING, Field, field
from functools import cache
from operator import attrgetter
from types import CodeType, FunctionType, SimpleNamespace
from typing import TYPE_CHECKING, Any, TypeVar, dataclass_transform

__all__ = ["draft", "entity", "record", "replace"]

C = TypeVar("C", bound=type)
_MADE: Any = object()
_NOTHING: dict[str, Any] = {}  # the names outside itself that an initialiser needs
_FIELDS = "__dataclass_fields__"
_PARAMETERS = SimpleNamespace(init=True, repr=True, eq=True, order=False, unsafe_hash=False, frozen=True)


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
def record(cls: C) -> C:
    """Make a class a frozen dataclass with slots.

    >>> @record
    ... class Point:
    ...     x: float
    ...     y: float = 0.0
    >>> Point(1.0) == Point(1.0, 0.0), dataclasses.replace(Point(1.0), y=2.0)
    (True, Point(x=1.0, y=2.0))
    """
    return _made(cls, by_value=True)


@dataclass_transform(frozen_default=True, eq_default=False, field_specifiers=(field,))
def entity(cls: C) -> C:
    """Make a class a frozen dataclass with slots, compared and hashed by identity: for what is large, or holds what cannot be hashed."""
    return _made(cls, by_value=False)


@dataclass_transform(eq_default=False, field_specifiers=(field,))
def draft(cls: C) -> C:
    """Make a class a dataclass with slots whose fields may be set again, compared by identity: for what is filled in step by step."""
    return _made(cls, by_value=False)


if TYPE_CHECKING:
    from dataclasses import replace  # of which the type checker knows what it takes
else:

    def replace(value: Any, /, **changes: Any) -> Any:
        """Return a record of the same class with other values in some fields.

        As `dataclasses.replace`, which asks for fields that would have to be made first and takes three times as long.
        """
        for name in value._record_defaults:
            if name not in changes:
                changes[name] = getattr(value, name)
        return type(value)(**changes)


def _made(cls: C, by_value: bool) -> C:
    body = dict(cls.__dict__)
    annotations = dict(cls.__annotations__)
    own = [name for name, words in annotations.items() if not str(words).startswith("ClassVar")]
    defaults: dict[str, Any] = {}
    for base in reversed(cls.__mro__[1:]):
        defaults.update(base.__dict__.get("_record_defaults", {}))
    defaults.update({name: body.pop(name, MISSING) for name in own})
    body.pop("__dict__", None)
    body.pop("__weakref__", None)
    body.update(
        {
            "__qualname__": cls.__qualname__,
            "__init__": _init(cls.__qualname__, defaults),
            "__annotations__": annotations,
            "__slots__": tuple(own),
            "__match_args__": tuple(defaults),
            "_record_defaults": defaults,
            _FIELDS: _FieldsWhenAsked(),
            "__dataclass_params__": _PARAMETERS,
            "__repr__": body.get("__repr__", _repr),
            "__getstate__": _state,
            "__setstate__": _set_state,
        }
    )
    if by_value and "__eq__" not in body:
        compared = [name for name, default in defaults.items() if not isinstance(default, Field) or default.compare]
        values_of = _values_of(tuple(compared))
        body["__eq__"], body["__hash__"] = _eq(values_of), _hash(values_of)
    made: C = type(cls)(cls.__name__, cls.__bases__, body)
    return made


def _init(qualname: str, defaults: dict[str, Any]) -> Callable[..., None]:
    """Return the initialiser of a class: the code that all classes of as many fields share, under the names of its own."""
    names = tuple(defaults)
    special = [value for value in defaults.values() if isinstance(value, Field)]
    given = [_default(value) for value in defaults.values()] if special else list(defaults.values())
    optional = tuple([default for default in given if default is not MISSING])
    first = len(given) - len(optional)
    if first and MISSING in given[first:]:
        raise TypeError(f"{qualname}: a field without a default follows one with a default")
    code = _template(len(names))
    plain = FunctionType(
        code.replace(co_varnames=("self", *names), co_names=names, co_qualname=f"{qualname}.__init__"),
        _NOTHING,
        "__init__",
        optional,
    )
    factories = (
        [
            (name, value.default_factory)
            for name, value in defaults.items()
            if isinstance(value, Field) and value.default_factory is not MISSING
        ]
        if special
        else []
    )
    if not factories:
        return plain

    def initialise(self: Any, *values: Any, **named: Any) -> None:
        plain(self, *values, **named)
        for name, factory in factories:
            if getattr(self, name) is _MADE:
                setattr(self, name, factory())

    return initialise


@cache
def _template(count: int) -> CodeType:
    """Return the code of an initialiser with so many fields."""
    names = [f"field{place}" for place in range(count)]
    stores = "".join([f" self.{name} = {name}\n" for name in names])
    scope: dict[str, Any] = {}
    exec(f"def initialise({', '.join(['self', *names])}):\n{stores or ' pass'}", scope)
    code: CodeType = scope["initialise"].__code__
    return code


def _default(value: Any) -> Any:
    """Return what a field is set to that is not given: its default, `_MADE` where a factory makes one, MISSING where it must be given."""
    if not isinstance(value, Field):
        return value
    return value.default if value.default is not MISSING else MISSING if value.default_factory is MISSING else _MADE


def _values_of(names: tuple[str, ...]) -> Callable[[Any], Any]:
    return attrgetter(*names) if names else lambda self: ()


def _eq(values_of: Callable[[Any], Any]) -> Callable[[Any, Any], Any]:
    def equals(self: Any, other: Any) -> Any:
        if self is other:
            return True
        return values_of(self) == values_of(other) if other.__class__ is self.__class__ else NotImplemented

    return equals


def _hash(values_of: Callable[[Any], Any]) -> Callable[[Any], int]:
    def hashed(self: Any) -> int:
        return hash(values_of(self))

    return hashed


def _repr(self: Any) -> str:
    shown = ", ".join(f"{name}={getattr(self, name)!r}" for name in self._record_defaults)
    return f"{type(self).__qualname__}({shown})"


def _state(self: Any) -> list[Any]:
    return [getattr(self, name) for name in self._record_defaults]


def _set_state(self: Any, state: list[Any]) -> None:
    for name, value in zip(self._record_defaults, state, strict=True):
        setattr(self, name, value)


def _giving(value: Any) -> Callable[[], Any]:
    return lambda: value


class _FieldsWhenAsked:
    """Makes what `dataclasses.fields` and `dataclasses.replace` ask a class for."""

    def __get__(self, instance: object, owner: Any) -> dict[str, Any]:
        defaults: dict[str, Any] = owner._record_defaults
        like = type(owner.__name__, (), {"__annotations__": dict.fromkeys(defaults, "object"), "__doc__": owner.__name__})
        for name, value in defaults.items():
            if value is not MISSING:
                setattr(like, name, value if isinstance(value, Field) else field(default_factory=_giving(value)))
        made: dict[str, Any] = getattr(
            dataclasses.dataclass(like, init=False, repr=False, eq=False), _FIELDS
        )  # compiles nothing
        setattr(owner, _FIELDS, made)  # asked for again with every `replace`
        return made
