"""What holds a fuse: a holder of its own, one that several share, or a way of a fuse block."""

from __future__ import annotations

from ohmwright.missing import Missing
from ohmwright.study import Study
from ohmwright.values import Amount, amount, shown
from ohmwright_grammar.kinds.distribution import FuseBlock
from ohmwright_grammar.kinds.fuse import Breaker, Fuse, Holder
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

__all__ = ["Held", "fuses_of", "held_of", "unheld"]


_USUAL = 30.0  # A, offered for fuses up to that


@record
class Held:
    """What holds a fuse: its kind, what it carries for long and the largest fuse that it takes (None where nobody says)."""

    name: str
    kind: str
    carries: Amount | None
    takes: Amount | None
    span: Span
    part: str = ""  # the holder or block that a label can be at


def fuses_of(study: Study) -> list[Fuse]:
    """Return every fuse in name order; a breaker needs no holder."""
    return sorted((part for part in study.of(Fuse) if not isinstance(part, Breaker)), key=lambda part: part.name)


def held_of(study: Study, fuse: Fuse) -> Held | None:
    """Return what holds a fuse, None where nobody says; what takes no largest fuse takes what it carries."""
    holder = fuse.holder
    if holder is None and fuse.held_by is not None:
        part = study.part(fuse.held_by)
        if isinstance(part, FuseBlock):
            return _way(part)
        holder = part if isinstance(part, Holder) else None
    if holder is not None:
        carries = amount(holder.rated_current, "current", "low") if holder.rated_current is not None else None
        takes = amount(holder.largest_fuse, "current", "high") if holder.largest_fuse is not None else carries
        return Held(holder.name or f"the holder of {fuse.name}", holder.kind or "", carries, takes, holder.span, holder.name)
    for joint in fuse.joints or ():
        block = study.part(study.build.nodes.get(joint.at, ""))
        if isinstance(block, FuseBlock) and joint.at != f"{block.name}.feed":
            return _way(block)
    return None


def unheld(fuse: Fuse) -> Missing:
    """Return what to ask of a fuse where nobody says what holds it."""
    usual = amount(fuse.rated_current, "current", "high") if fuse.rated_current is not None else None
    words = shown(usual) if usual is not None and usual.value > _USUAL else f"{_USUAL:g} A"
    return Missing("what holds it", fuse.span, f"holder {{ block; {words} }}")


def _way(block: FuseBlock) -> Held:
    carries = amount(block.way_current, "current", "low") if block.way_current is not None else None
    return Held(f"a way of {block.name}", "block", carries, carries, block.span, block.name)
