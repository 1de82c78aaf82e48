"""What a number rests on: the document it comes from, how that was read, and the lines of a working.

A rule names a `Reference` for every limit; a `Step` is one line of the sum that led to a measured or an
allowed value.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from ohmwright_grammar.records import record

__all__ = ["Reference", "Status", "Step", "common_practice", "is_remembered", "weakest"]

Status = Literal["read", "secondary", "from-memory", "common-practice", "computed"]

# From the firmest to the weakest: what was computed rests on the inputs that stand beside it.
_FIRMNESS: dict[str, int] = {"read": 0, "computed": 1, "secondary": 2, "common-practice": 3, "from-memory": 4}


@record
class Reference:
    """A document and how it was read.

    `status`: "read" at the source, "secondary" (a page that reproduces it was read), "from-memory" (nothing
    was read: such a limit is at most a warning by default), "common-practice" (no document), "computed".
    """

    document: str
    edition: str
    section: str
    status: Status

    def __str__(self) -> str:
        return ", ".join(part for part in (self.document, self.edition, self.section) if part)


@record
class Step:
    """One line of a working: symbol, expression with its numbers, value, unit, and where it comes from.

    `value` is None where the line states a fact without a number. In results `source` is called "from".
    """

    symbol: str
    expression: str
    value: float | None
    unit: str
    source: str


def common_practice(note: str = "") -> Reference:
    """Return the reference of a limit that practitioners agree on and no document prints.

    >>> str(common_practice())
    'common practice, no source'
    """
    return Reference("common practice, no source", "", note, "common-practice")


def is_remembered(reference: Reference) -> bool:
    """Tell whether a limit rests on memory, so that it is at most a warning by default."""
    return reference.status == "from-memory"


def weakest(references: Iterable[Reference]) -> Reference | None:
    """Return the reference of the weakest standing, the first among equals; None of none.

    >>> weakest([Reference("A", "", "", "read"), Reference("B", "", "", "from-memory")]).document
    'B'
    """
    return max(references, key=lambda reference: _FIRMNESS[reference.status], default=None)
