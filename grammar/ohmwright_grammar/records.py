"""Frozen, slotted dataclasses whose methods are made at their first use.

The standard library makes six functions for every dataclass when its module is imported, about 0.3 ms each; two hundred of them would
cost a hook more than reading a build. `@record` only lays out the slots; the first instance, or the first question about its fields, has
`dataclasses.dataclass` make the rest. From then on a record is a dataclass like any other: `fields`, `replace`, equality, hashing, `repr`.
"""

from __future__ import annotations

import dataclasses
from dataclasses import field
from typing import Any, TypeVar, dataclass_transform

__all__ = ["record"]

C = TypeVar("C", bound=type)
_FIELDS = "__dataclass_fields__"


class _FieldsAtFirstUse:
    """Stands for the fields of a record until somebody asks for them."""

    def __get__(self, instance: object, owner: type) -> Any:
        for cls in owner.__mro__:
            if cls.__dict__.get(_FIELDS) is self:
                _finish(cls)
                break
        return getattr(owner, _FIELDS)


def _finish(cls: type) -> None:
    """Let the standard library make the methods of a record."""
    defaults: dict[str, Any] = cls.__dict__["_record_defaults"]
    slots = {name: cls.__dict__[name] for name in defaults}
    del cls.__init__  # type: ignore[misc]
    delattr(cls, _FIELDS)
    for name, default in defaults.items():
        setattr(cls, name, default)
    dataclasses.dataclass(frozen=True)(cls)
    for name, slot in slots.items():
        setattr(cls, name, slot)
    type.__setattr__(cls, "__getstate__", _state)
    type.__setattr__(cls, "__setstate__", _set_state)


def _state(self: Any) -> list[Any]:
    return [getattr(self, item.name) for item in dataclasses.fields(self)]


def _set_state(self: Any, state: list[Any]) -> None:
    for item, value in zip(dataclasses.fields(self), state, strict=True):
        object.__setattr__(self, item.name, value)


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
def record(cls: C) -> C:
    """Make a class a frozen dataclass with slots, its methods at first use."""
    body = dict(cls.__dict__)
    annotations = dict(cls.__annotations__)
    names = [name for name, words in annotations.items() if not str(words).startswith("ClassVar")]
    defaults = {name: body.pop(name) for name in names if name in body}
    body.pop("__dict__", None)
    body.pop("__weakref__", None)
    body["__annotations__"] = annotations
    body["__slots__"] = tuple(names)
    body["_record_defaults"] = defaults
    body[_FIELDS] = _FieldsAtFirstUse()

    def first_init(self: Any, *values: Any, **named: Any) -> None:
        if made.__dict__.get("__init__") is first_init:
            _finish(made)
        self.__init__(*values, **named)

    body["__init__"] = first_init
    made = type(cls)(cls.__name__, cls.__bases__, body)
    made.__qualname__ = cls.__qualname__
    return made
