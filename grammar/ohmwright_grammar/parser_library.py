"""The parser library, imported without what it only needs where it keeps tables in files of its own.

Lark imports `tempfile`, `pickle`, `hashlib` and others for a cache that is not used here; they would be a twentieth of the time of a hook. While it is
imported, stand-ins take their places, which import the real module when anything of it is asked for; afterwards nobody but lark knows them.
"""

from __future__ import annotations

import sys
from importlib import import_module
from types import ModuleType
from typing import Any

__all__ = ["LARK_VERSION", "Lark", "Token", "UnexpectedInput"]

_RARELY_USED = ("getpass", "hashlib", "pickle", "pkgutil", "tempfile")


class _StandIn(ModuleType):
    """A module that is imported when the first name of it is asked for."""

    def __getattr__(self, name: str) -> Any:
        if name.startswith("__"):
            raise AttributeError(name)
        if sys.modules.get(self.__name__) is self:
            del sys.modules[self.__name__]
        return getattr(import_module(self.__name__), name)


_stand_ins = [_StandIn(name) for name in _RARELY_USED if name not in sys.modules]
sys.modules.update({module.__name__: module for module in _stand_ins})
try:
    from lark import Lark, Token
    from lark import __version__ as _version
    from lark.exceptions import UnexpectedInput
finally:
    for _module in _stand_ins:
        if sys.modules.get(_module.__name__) is _module:
            del sys.modules[_module.__name__]

LARK_VERSION: str = _version
