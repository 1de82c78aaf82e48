"""The largest standard device that may protect a conductor, and the smallest size that a device may protect: for remedies."""

from __future__ import annotations

from ohmwright.circuit.graph import Branch
from ohmwright_grammar.kinds.fuse import Fuse

from ohmwright_rules.fusing import largest_rating
from ohmwright_rules.guarding import Guarding, rating_of, table_family
from ohmwright_rules.laying import Unknown
from ohmwright_rules.sizing import smallest_for_fuse

__all__ = ["largest_device", "smallest_wire", "suits"]


def suits(guard: Guarding, wire: Branch, like: Branch | None = None) -> str:
    """Return the largest standard rating for a conductor as a remedy says it, "50 A or less"; "" where none fits.

    What is found fault with was taken at its kindest; the rating that is safe as long as not all was said of the conductor stands beside it.
    """
    facts = guard.facts(wire)
    safe = largest_device(guard, wire, like)
    most = safe if facts.kind is None or facts.kind is facts.harsh else largest_device(guard, wire, like, kind=True)
    if most is None or safe is None or most <= safe:
        return f"{safe:g} A or less" if safe is not None else ""
    return f"{most:g} A or less ({safe:g} A while not all is said of {wire.name})"


def largest_device(guard: Guarding, wire: Branch, like: Branch | None = None, kind: bool = False) -> float | None:
    """Return the largest standard rating for a conductor [A], of the family of `like` where that matters; None where none fits or nothing can be told.

    What nobody said of the conductor is taken at its harshest, or with `kind` at its kindest.
    """
    facts = guard.facts(wire)
    rated = (facts.kind or facts.harsh) if kind else (facts.harsh or facts.kind)
    if rated is None or isinstance(facts.laying, Unknown):
        return None
    family, must_open = _opening(guard, like)
    key = ("device", guard.alike(wire), family, must_open, kind)
    if key not in guard.sizes:
        volt = guard.voltage(wire, facts.laying)
        guard.sizes[key] = largest_rating(guard.basis, rated, volt, family=family, must_open=must_open)
    found = guard.sizes[key]
    return found if isinstance(found, float) else None


def smallest_wire(guard: Guarding, wire: Branch, device: Branch) -> str | None:
    """Return the smallest size, laid the same way, that a device may protect, as a build writes it; None where none is."""
    facts = guard.facts(wire)
    amperes = rating_of(guard.study, device)
    if isinstance(facts.laying, Unknown) or amperes is None:
        return None
    family, must_open = _opening(guard, device)
    key = ("wire", guard.alike(wire), family, must_open, amperes)
    if key not in guard.sizes:
        size = smallest_for_fuse(guard.basis, facts.laying, amperes, family=family, must_open=must_open)
        guard.sizes[key] = size.gauge.text if size is not None else None
    found = guard.sizes[key]
    return found if isinstance(found, str) else None


def _opening(guard: Guarding, device: Branch | None) -> tuple[str, float | None]:
    """Return the family of a device as the tables know it, and the multiple that it declares."""
    part = guard.study.part(device.part) if device is not None else None
    if not isinstance(part, Fuse):
        return "", None
    return table_family(part), float(part.must_open.high) if part.must_open is not None else None
