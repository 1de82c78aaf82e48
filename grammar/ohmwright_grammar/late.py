"""Modules that are imported only when something of them is asked for, though others import them at their head.

A hook starts cold, and libraries import much that a run never needs: `inspect` for the signatures of undocumented dataclasses, `tempfile`, `pickle` and
others for a cache that is not used here, what reads a grammar where a table is at hand. While a library is imported, stand-ins take their places; afterwards
nobody but that library knows them, and each imports the real module when anything of it is asked for.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping
from importlib import import_module
from types import ModuleType
from typing import Any

__all__ = ["StandingIn"]


class StandingIn:
    """Let stand-ins take the places of modules inside of a `with` statement: names of modules, each with what others import from it by name.

    Such a name stands for a function or a class, and imports its module when it is called or asked about.
    """

    def __init__(self, modules: Mapping[str, tuple[str, ...]]) -> None:
        self._modules = modules
        self._placed: list[_StandIn] = []

    def __enter__(self) -> None:
        for name, members in self._modules.items():
            if name not in sys.modules:
                module = _StandIn(name)
                for member in members:
                    setattr(module, member, _Member(module, member))
                sys.modules[name] = module
                self._placed.append(module)

    def __exit__(self, *raised: object) -> None:
        for module in self._placed:
            _withdraw(module)


class _StandIn(ModuleType):
    """A module that is imported when the first name of it is asked for."""

    def __getattr__(self, name: str) -> Any:
        if name.startswith("__"):
            raise AttributeError(name)
        _withdraw(self)
        return getattr(import_module(self.__name__), name)


def _withdraw(module: _StandIn) -> None:
    """Give the place of a stand-in free."""
    if sys.modules.get(module.__name__) is module:
        del sys.modules[module.__name__]


class _Member:
    """A function or a class of a module that is not imported yet."""

    def __init__(self, module: _StandIn, name: str) -> None:
        self._module = module
        self._name = name

    def _real(self) -> Any:
        _withdraw(self._module)
        return getattr(import_module(self._module.__name__), self._name)

    def __call__(self, *given: Any, **named: Any) -> Any:
        return self._real()(*given, **named)

    def __instancecheck__(self, instance: object) -> bool:
        return isinstance(instance, self._real())

    def __getattr__(self, name: str) -> Any:
        return getattr(self._real(), name)
