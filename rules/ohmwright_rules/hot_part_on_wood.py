"""Fuse blocks, fuse holders, bars and shunts that are screwed to something that chars."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Severity
from ohmwright.references import common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown_pair
from ohmwright_grammar.kinds.distribution import Bus, FuseBlock, Shunt
from ohmwright_grammar.kinds.fuse import Breaker, Fuse, Holder
from ohmwright_grammar.kinds.part import Part

from ohmwright_rules.wording import listed

RULE = Rule(
    id="hot-part-on-wood",
    title="Hot part screwed to wood or foam",
    family="enclosure",
    subject="part",
    covers=("L14",),
    grades=(
        Grade(
            "no-stand-off", Severity.NOTE, "a fuse holder, bar or shunt is screwed to wood or foam with less than 10 mm between"
        ),
    ),
    references=(common_practice("scorched panels behind fuse holders; 10 mm of air"),),
)
_GRADE = "no-stand-off"
_LEAST = 0.010  # m: catalogue, L14
_BURNS = (
    "wood",
    "ply",
    "foam",
    "timber",
    "board",
    "mdf",
    "osb",
    "cardboard",
    "cork",
    "bamboo",
    "pine",
    "oak",
    "spruce",
    "polystyrene",
    "carpet",
    "felt",
)
_SAFE = ("cement board", "fibre cement", "fiber cement", "foamed glass")


def check(study: Study) -> Iterator[Outcome]:
    """Look at what every part with hot joints is screwed to."""
    parts = [part for _, part in sorted(study.build.parts.items()) if _is_hot(part)]
    if not parts:
        yield DoesNotApply("no fuse holder, bar or shunt")
        return
    silent: list[Part] = []
    for part in parts:
        stand_off = float(part.stand_off.low) if part.stand_off is not None else 0.0
        measured, limit = Amount(stand_off, "length", "mm"), Amount(_LEAST, "length", "mm")
        if not is_broken(stand_off, _LEAST, "at-least"):
            yield Passed(_GRADE, (part.name,), measured, limit, "at-least")
            continue
        material = part.mounted_on
        if material is None:
            silent.append(part)
            continue
        if not _burns(material):
            yield Passed(_GRADE, (part.name,))
        else:
            has, wanted = shown_pair(measured, limit)
            between = f"with {has} between" if stand_off > 0 else "with nothing between"
            yield Finding(
                _GRADE,
                (part.name,),
                f"{part.name}: it is screwed to {material} {between}; a joint that comes loose gets hot enough to char it. {wanted} is wanted.",
                part.place_of(Part.mounted_on),
                measured,
                limit,
                "at-least",
                remedy=f"Put {wanted} of air, or a plate of metal or fibre cement, between.",
            )
    if silent:
        names = [part.name for part in silent]
        missing = f"what {listed(names)} {'is' if len(names) == 1 else 'are'} screwed to"
        yield NotChecked(_GRADE, tuple(names), missing, silent[0].span, declare='screwed to "steel"')


def _is_hot(part: Part) -> bool:
    """Tell whether a part has joints that get hot and something it is screwed to: a fuse on a battery's post, in a lead, in a block or on a rail of metal has not."""
    if isinstance(part, Bus | FuseBlock | Shunt | Holder):
        return True
    if not isinstance(part, Fuse) or isinstance(part, Breaker) or part.held_by is not None:
        return False
    on_post = (part.holder is not None and part.holder.kind in ("post", "blade in-line", "DIN rail")) or part.family == "post"
    return not on_post and part.holder is not None


def _burns(material: str) -> bool:
    words = material.lower()
    return any(word in words for word in _BURNS) and not any(word in words for word in _SAFE)
