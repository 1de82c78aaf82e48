"""The parts that stand behind a fuse and may carry less than it: what each carries for long, and where it lies in the circuit."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.study import Study
from ohmwright.values import Amount, amount
from ohmwright_grammar.kinds.connector import Half, Pin
from ohmwright_grammar.kinds.distribution import Bus, Diode, FuseBlock, Shunt
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.switch import Switching
from ohmwright_grammar.quantities import Ampere, Quantity
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright_rules.contacts import Contact, Mated, matings_of
from ohmwright_rules.outlets import takes_a_load
from ohmwright_rules.terminals import nearest

__all__ = ["Spot", "spots_of"]

_SWITCHING = frozenset({"switch", "relay", "selector", "disconnect"})
_LIGHTER = 10.0  # A: an accessory socket that says nothing: common practice, no source


@record
class Spot:
    """A part, or one way through it, with what it carries for long (None where it does not say) and how to say it.

    `branches` are the ways through it that carry one current together, the first stands for all; without any it is the `node`, which with `ends` is where a
    circuit ends: the pin of an open outlet.
    """

    name: str
    subject: tuple[str, ...]
    words: str
    article: str
    limit: Amount | None
    missing: str
    declare: str
    span: Span
    branches: tuple[str, ...] = ()
    node: str = ""
    ends: bool = False
    source: str = "as declared"
    group: str = ""  # the mating or half whose contacts have one finding together
    takes: bool = False  # a user can plug a load into it


def spots_of(study: Study) -> tuple[Spot, ...]:
    """Return every such part, in name order of the parts."""
    found = [*_of_branches(study), *_of_nodes(study), *_of_contacts(study), *_of_open_pins(study)]
    return tuple(sorted(found, key=lambda spot: (spot.subject, spot.branches)))


def _said(rating: Quantity[Ampere] | None) -> Amount | None:
    return amount(rating, "current", "low") if rating is not None else None


def _spot(part: Part, branch: Branch, words: str, rating: Quantity[Ampere] | None, declare: str) -> Spot:
    return Spot(
        part.name,
        (part.name,),
        f"this {words}",
        f"a {words}",
        _said(rating),
        "current that it carries for long",
        declare,
        part.span,
        (branch.name,),
    )


def _of_branches(study: Study) -> Iterator[Spot]:
    for branch in study.circuit.branches:
        part = study.part(branch.part)
        if branch.kind in _SWITCHING and isinstance(part, Switching):
            yield _spot(part, branch, part.KIND, part.rated_current, "carries 40 A")
        elif branch.kind == "shunt" and isinstance(part, Shunt):
            rating = part.rated_current or (part.rating.current if part.rating is not None else None)
            yield _spot(part, branch, "shunt", rating, "rated 100 A")
        elif branch.kind == "diode" and isinstance(part, Diode) and part.job not in ("clamp", "coil"):
            yield _spot(part, branch, "diode", part.rated_current, "carries 20 A")
        elif branch.kind == "inside" and isinstance(part, FuseBlock) and part.way_current is not None:
            yield _spot(part, branch, "way of the fuse block", part.way_current, "30 A each")


def _of_nodes(study: Study) -> Iterator[Spot]:
    for bar in study.of(Bus):
        yield Spot(
            bar.name,
            (bar.name,),
            "this busbar",
            "a busbar",
            _said(bar.rated_current),
            "rated current",
            "200 A",
            bar.span,
            node=bar.name,
        )
    for part in study.of(FuseBlock):
        node = f"{part.name}.feed"
        yield Spot(
            part.name,
            (part.name,),
            "this fuse block",
            "a fuse block",
            _said(part.rated_current),
            "rated current of the whole block",
            "100 A total",
            part.span,
            node=node,
        )


def _of_contacts(study: Study) -> Iterator[Spot]:
    for mated in matings_of(study):
        ganged: set[str] = set()
        for gang in mated.gangs(study):
            names = [contact.branch.name for contact in gang]
            if not ganged.isdisjoint(names):
                continue
            ganged.update(names)
            yield _contact(study, mated, gang)
        for contact in mated.contacts:
            if contact.branch.name not in ganged:
                yield _contact(study, mated, (contact,))


def _contact(study: Study, mated: Mated, gang: tuple[Contact, ...]) -> Spot:
    rated = [contact.rated for contact in gang]
    limit = None
    if all(rating is not None for rating in rated):
        limit = Amount(min(rating for rating in rated if rating is not None) * len(gang), "current", "A")
    half, other = mated.first, mated.second
    if takes_a_load(study, other) and not takes_a_load(study, half):
        half, other = other, half
    pins = [
        (branch.start, branch.end) if branch.start.startswith(f"{half.name}.") else (branch.end, branch.start)
        for branch in (contact.branch for contact in gang)
    ]
    unsaid = [name for contact in gang for name in contact.undeclared]
    silent = half.name if half.name in unsaid or not unsaid else unsaid[0]
    return Spot(
        pins[0][0],
        (half.name, *(node for pair in pins for node in pair)),
        "its contact" if len(gang) == 1 else f"its {len(gang)} contacts together",
        "a connector",
        limit,
        f"continuous current of a contact of {silent}",
        "15 A each",
        half.span if limit is not None else study.span(silent),
        tuple(contact.branch.name for contact in gang),
        group=mated.name,
        takes=takes_a_load(study, half),
    )


def _of_open_pins(study: Study) -> Iterator[Spot]:
    """Yield the pins of outlets that have no mate in the build."""
    mated = {name for mating in study.build.matings for name in (mating.first, mating.second)}
    for half in study.of(Half):
        if half.name in mated or not takes_a_load(study, half):
            continue
        for node in study.circuit.nodes_of(half.name):
            name = node.removeprefix(f"{half.name}.")
            pin = next((pin for pin in half.pins or () if pin.name == name), None)
            rating = nearest(pin, Pin.rated_current, half, Half.rated_current)
            limit = _said(rating)
            source = "as declared"
            if limit is None and half.family == "lighter socket":
                limit, source = Amount(_LIGHTER, "current", "A"), "accessory socket, 10 A for long: common practice, no source"
            yield Spot(
                half.name, (half.name, node), "this outlet", "an outlet", limit, "continuous current of a contact", "15 A each", half.span,
                node=node, ends=True, source=source, group=half.name, takes=True,
            )  # fmt: skip
