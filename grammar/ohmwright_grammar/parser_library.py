"""The parser library, imported without what it only needs to keep tables in files of its own, or to parse grammars that are not LALR."""

from __future__ import annotations

from ohmwright_grammar.late import LateLogging, StandingIn

__all__ = ["LARK_VERSION", "Lark", "Token", "UnexpectedInput"]

_RARELY_USED: dict[str, tuple[str, ...]] = {
    "getpass": (),
    "hashlib": (),
    "inspect": ("getmembers", "getmro"),
    "lark.load_grammar": (
        "FromPackageLoader",
        "Grammar",
        "PackageResource",
        "load_grammar",
        "sha256_digest",
        "verify_used_files",
    ),
    "lark.parsers.cyk": (),
    "lark.parsers.earley": ("Parser",),
    "lark.parsers.xearley": (),
    "pickle": (),
    "pkgutil": (),
    "tempfile": (),
}

with LateLogging("lark"), StandingIn(_RARELY_USED):
    from lark import Lark, Token
    from lark import __version__ as _version
    from lark.exceptions import UnexpectedInput

LARK_VERSION: str = _version
