"""What mends a drop: the next size for the conductors on the way, or how long they may be."""

from __future__ import annotations

from collections.abc import Sequence

from ohmwright.values import Amount, shown
from ohmwright_grammar.quantities import Gauge

from ohmwright_rules.basis import Basis
from ohmwright_rules.sizing import gauges
from ohmwright_rules.warm_copper import Part
from ohmwright_rules.wording import named

__all__ = ["thicker_or_shorter"]

_NAMED = 4


def thicker_or_shorter(basis: Basis, parts: Sequence[Part], lost: float, allowed: float) -> str:
    """Return what brings a loss [V] on a way down to what is allowed [V], in words with numbers."""
    wires = [part for part in parts if _gauge(part) is not None and part.branch.alpha > 0.0 and part.volt > 0.0]
    if not wires:
        return "Shorten the way, or lower its resistance."
    ways = [words for words in (_thicker(basis, wires, lost, allowed), _shorter(wires, lost, allowed)) if words]
    if not ways:
        return f"No listed size is enough: bring the current to {allowed / lost * 100:.0f} % of this, or use a higher voltage."
    text = ", or ".join(ways)
    return f"{text[0].upper()}{text[1:]}."


def _gauge(part: Part) -> Gauge | None:
    conductor = part.branch.conductor
    gauge = conductor.gauge if conductor is not None else None
    return gauge if isinstance(gauge, Gauge) else None


def _area(part: Part) -> float:
    gauge = _gauge(part)
    assert gauge is not None
    return float(gauge.area)


def _listed(names: list[str], otherwise: str) -> str:
    if len(names) > _NAMED:
        return otherwise
    return named(names)


def _thicker(basis: Basis, wires: list[Part], lost: float, allowed: float) -> str:
    first = _gauge(wires[0])
    for gauge in gauges(first.metric if first is not None else basis.sizes == "mm2"):
        kept = lost - sum(wire.volt * (1 - min(1.0, _area(wire) / gauge.area)) for wire in wires)
        if kept <= allowed * (1 + 1e-9):
            thin = sorted(wire.branch.name for wire in wires if _area(wire) < gauge.area * (1 - 1e-9))
            return f"use {gauge.text} or larger for {_listed(thin, f'the {len(thin)} thinner wires on the way')}"
    return ""


def _shorter(wires: list[Part], lost: float, allowed: float) -> str:
    """Say how long the conductors that lose most may be: one, or several of one length and size."""
    chief = wires[0].branch.conductor
    if chief is None or chief.length is None:
        return ""
    alike = [
        wire
        for wire in wires
        if wire.branch.conductor is not None
        and wire.branch.conductor.length is not None
        and abs(wire.branch.conductor.length.high - chief.length.high) <= 1e-9
        and abs(_area(wire) - _area(wires[0])) <= 1e-12
    ]
    own = sum(wire.volt for wire in alike)
    left = allowed - (lost - own)
    if left <= 0.05 * own:
        return ""
    length = Amount(float(chief.length.high) * left / own, "length", chief.length.unit)
    names = sorted(wire.branch.name for wire in alike)
    return f"bring {_listed(names, f'these {len(names)} wires')} to at most {shown(length)}"
