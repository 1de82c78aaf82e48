"""Modules that are imported only when something of them is asked for, though others import them at their head.

A hook starts cold, and libraries import much that a run never needs: `inspect` for the signatures of undocumented dataclasses, `tempfile`, `pickle` and
others for a cache that is not used here, what reads a grammar where a table is at hand. While a library is imported, stand-ins take their places; afterwards
nobody but that library knows them, and each imports the real module when anything of it is asked for.

To import this module before `dataclasses` and `pathlib` spares what these two import.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping
from importlib import import_module
from types import ModuleType
from typing import Any

__all__ = ["LateLogging", "StandingIn"]


class StandingIn:
    """Let stand-ins take the places of modules inside of a `with` statement: names of modules, each with what others import from it by name.

    Such a name stands for a function or a class, and imports its module when it is called or asked about.
    """

    def __init__(self, modules: Mapping[str, tuple[str, ...]]) -> None:
        self._modules = modules
        self._placed: list[ModuleType] = []

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


class LateLogging:
    """Let a stand-in take the place of `logging` inside of a `with` statement, for a library that makes one logger which stays silent.

    The logger is made when something else than its handler and its level is asked for, or either is once more: then as the library made it.
    """

    def __init__(self, name: str) -> None:
        self._logger = _Logger(name)
        self._module: _StandIn | None = None

    def __enter__(self) -> None:
        if "logging" not in sys.modules:
            module = _StandIn("logging")
            module.__dict__.update({"CRITICAL": 50, "Logger": _Logger, "StreamHandler": lambda: None})
            module.__dict__["getLogger"] = lambda name: self._logger
            self._module = sys.modules["logging"] = module

    def __exit__(self, *raised: object) -> None:
        if self._module is not None:
            _withdraw(self._module)
            for name in ("CRITICAL", "Logger", "StreamHandler", "getLogger"):
                self._module.__dict__.pop(name, None)
        self._logger.is_set_up = True


class _Logger:
    """A logger with a handler for the terminal that lets nothing pass, made when it is asked for."""

    def __init__(self, name: str) -> None:
        self.is_set_up = False
        self._name = name
        self._made: Any = None

    def __getattr__(self, name: str) -> Any:
        if not self.is_set_up and name in ("addHandler", "setLevel"):
            return lambda value: None
        if self._made is None:
            import logging

            self._made = logging.getLogger(self._name)
            self._made.addHandler(logging.StreamHandler())
            self._made.setLevel(logging.CRITICAL)
        return getattr(self._made, name)


def _withdraw(module: ModuleType) -> None:
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


with StandingIn({"inspect": (), "ntpath": (), "urllib.parse": ("quote_from_bytes",)}):
    import dataclasses  # inspect for the signature of an undocumented one
    import pathlib  # paths of another system, and paths as addresses

del dataclasses, pathlib
