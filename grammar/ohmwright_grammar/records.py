"""Frozen, slotted dataclasses that cost a hook next to nothing at start-up.

The standard library compiles six functions for every dataclass when its module is imported, about 0.3 ms each; three hundred of them would
cost more than reading and solving a build. `@record` gives the same thing with functions that are shared or closed over, so that nothing is
compiled: frozen, slotted, compared and hashed by value, with defaults, `field(compare=False)`, `field(default_factory=…)` and inheritance. What
`dataclasses.fields` and `dataclasses.replace` need is made when they ask, so that both work as usual. Only a class that turns out to be made by the
hundreds has its initialiser compiled, which then takes half the time. `@entity` is the same, but each instance is equal to itself alone; `@draft` may also
be changed while it is filled in.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import MISSING, Field, FrozenInstanceError, field
from operator import attrgetter
from types import SimpleNamespace
from typing import Any, TypeVar, dataclass_transform

__all__ = ["draft", "entity", "record"]

C = TypeVar("C", bound=type)
_OFTEN = 100  # instances after which compiling an initialiser (some 50 us) pays
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
    return _made(cls, by_value=False, frozen=False)


def _made(cls: C, by_value: bool, frozen: bool = True) -> C:
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
    if frozen:
        body.update({"__setattr__": _refuse_to_set, "__delattr__": _refuse_to_delete})
    made: Any = type(cls)(cls.__name__, cls.__bases__, body)
    made.__qualname__ = cls.__qualname__
    made.__init__ = _init(made, defaults)
    if by_value and "__eq__" not in body:
        compared = [name for name, default in defaults.items() if not isinstance(default, Field) or default.compare]
        values_of = _values_of(tuple(compared))
        made.__eq__, made.__hash__ = _eq(values_of), _hash(values_of)
    return made  # type: ignore[no-any-return]


_Put = tuple[
    str, Callable[[Any, Any], None], Any, Callable[[], Any] | None
]  # a field: name, setter of its slot, default, factory


def _init(made: Any, defaults: dict[str, Any]) -> Callable[..., None]:
    puts: tuple[_Put, ...] = tuple((name, getattr(made, name).__set__, *_default(value)) for name, value in defaults.items())
    setters = tuple(put for _, put, _, _ in puts)
    count = len(puts)
    after = getattr(made, "__post_init__", None)
    rest = _OFTEN

    def initialise(self: Any, *values: Any, **named: Any) -> None:
        nonlocal rest
        rest -= 1
        if not rest:
            made.__init__ = _compiled(f"{made.__qualname__}.__init__", puts, after)
        for put, value in zip(setters, values):  # noqa: B905 (the keyword costs as much as two values)
            put(self, value)
        given = len(values)
        if given < count:
            for name, put, default, factory in puts[given:]:
                if name in named:
                    put(self, named.pop(name))
                elif factory is not None:
                    put(self, factory())
                elif default is not MISSING:
                    put(self, default)
                else:
                    raise TypeError(f"{type(self).__name__}() is missing {name!r}")
        elif given > count:
            raise TypeError(f"{type(self).__name__}() takes {count} values, not {given}")
        if named:
            raise TypeError(f"{type(self).__name__}() got an unexpected or second {next(iter(named))!r}")
        if after is not None:
            after(self)

    return initialise


def _compiled(name: str, puts: tuple[_Put, ...], after: Callable[[Any], None] | None) -> Callable[..., None]:
    """Return an initialiser with the fields as its arguments, written out."""
    scope: dict[str, Any] = {"_missing": MISSING, "_after": after}
    arguments: list[str] = []
    lines: list[str] = []
    for place, (field_name, put, default, factory) in enumerate(puts):
        scope[f"_put{place}"] = put
        value = field_name
        if factory is not None:
            scope[f"_factory{place}"] = factory
            arguments.append(f"{field_name}=_missing")
            value = f"_factory{place}() if {field_name} is _missing else {field_name}"
        elif default is not MISSING:
            scope[f"_default{place}"] = default
            arguments.append(f"{field_name}=_default{place}")
        else:
            arguments.append(field_name)
        lines.append(f" _put{place}(self, {value})\n")
    if after is not None:
        lines.append(" _after(self)\n")
    exec(f"def initialise(self, {', '.join(arguments)}):\n{''.join(lines)}", scope)
    initialise: Any = scope["initialise"]
    initialise.__qualname__ = name  # what a call with wrong arguments is told
    return initialise  # type: ignore[no-any-return]


def _default(value: Any) -> tuple[Any, Callable[[], Any] | None]:
    if isinstance(value, Field):
        return value.default, None if value.default_factory is MISSING else value.default_factory
    return value, None


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


def _refuse_to_set(self: Any, name: str, value: Any) -> None:
    raise FrozenInstanceError(f"cannot assign to {name!r}")


def _refuse_to_delete(self: Any, name: str) -> None:
    raise FrozenInstanceError(f"cannot delete {name!r}")


def _state(self: Any) -> list[Any]:
    return [getattr(self, name) for name in self._record_defaults]


def _set_state(self: Any, state: list[Any]) -> None:
    for name, value in zip(self._record_defaults, state, strict=True):
        object.__setattr__(self, name, value)


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
