"""What a rule pack may offer against a finding: other choices of the builder's, never other facts."""

from __future__ import annotations

from typing import Any

from ohmwright_grammar.records import record
from ohmwright_grammar.things import Datum, Thing

__all__ = ["Choice", "Offer"]


@record
class Choice:
    """Another value for one datum of one thing, in the words of the language: its size "8 AWG", its rating "20 A", its length "0.15 m"."""

    thing: Thing
    datum: Datum[Any]
    words: str


@record
class Offer:
    """One way to mend a finding: choices that belong together, told in a few words ("feed 8 AWG")."""

    choices: tuple[Choice, ...]
    words: str
