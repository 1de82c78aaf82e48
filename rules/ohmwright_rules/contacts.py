"""The contacts of mated connectors: what each may carry, which of them are loaded together, which carry one current as a gang."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.references import Reference
from ohmwright.study import Study
from ohmwright_grammar.kinds.connector import Half, Pin
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright_rules.terminals import nearest, pin_at

__all__ = ["ACCESSORY_SOCKET", "Contact", "Mated", "is_accessory_socket", "matings_of"]

_LIGHTER = "lighter socket"
_LIGHTER_CURRENT = 10.0  # A
ACCESSORY_SOCKET = Reference("common practice, no source", "", "accessory socket, 10 A for long", "common-practice")


def is_accessory_socket(half: Half) -> bool:
    """Tell whether a half is of the pattern of accessory (lighter) sockets."""
    return half.family == _LIGHTER


@record
class Contact:
    """A contact that is part of the DC circuit, with what is said of both of its sides.

    `rated` is the lower declared current [A] of the two, None where neither says one; `undeclared` names the halves that say none.
    """

    branch: Branch
    rated: float | None
    undeclared: tuple[str, ...]
    reference: Reference | None


@record
class Mated:
    """Two connector halves that are mated: their contacts, and how many contacts they have in all.

    `factor` is the lower declared share that a contact carries with loaded neighbours, None where neither half says one.
    """

    name: str
    first: Half
    second: Half
    span: Span
    contacts: tuple[Contact, ...]
    count: int
    factor: float | None

    def subject(self, *contacts: Contact) -> tuple[str, ...]:
        """The first half, then the pins of the contacts on both sides."""
        pins = [node for contact in contacts for node in (contact.branch.start, contact.branch.end)]
        return (self.first.name, *pins)

    def gangs(self, study: Study) -> Iterator[tuple[Contact, ...]]:
        """Yield the contacts that carry one current together: as declared, or joined at once on both sides."""
        seen: set[frozenset[str]] = set()
        for gang in (*self._declared(), *self._joined(study)):
            key = frozenset(contact.branch.name for contact in gang)
            if len(gang) > 1 and not any(key <= known for known in seen):
                seen.add(key)
                yield gang

    def _declared(self) -> Iterator[tuple[Contact, ...]]:
        for half in (self.first, self.second):
            for ganged in half.ganged or ():
                nodes = {f"{half.name}.{pin.rsplit('.', 1)[-1]}" for pin in ganged.pins}
                yield tuple(contact for contact in self.contacts if nodes & {contact.branch.start, contact.branch.end})

    def _joined(self, study: Study) -> Iterator[tuple[Contact, ...]]:
        groups: dict[tuple[frozenset[str], frozenset[str]], list[Contact]] = {}
        near = {
            node: self._near(study, node) for contact in self.contacts for node in (contact.branch.start, contact.branch.end)
        }
        for contact in self.contacts:
            for key, group in groups.items():
                if near[contact.branch.start] & key[0] and near[contact.branch.end] & key[1]:
                    group.append(contact)
                    break
            else:
                groups[near[contact.branch.start], near[contact.branch.end]] = [contact]
        yield from (tuple(group) for group in groups.values())

    def _near(self, study: Study, node: str) -> frozenset[str]:
        """Return a pin and the nodes that one wire or joint leads to from it."""
        ways = [branch for branch in study.circuit.at_node.get(node, ()) if branch.kind in ("wire", "joint")]
        return frozenset({node, *(branch.other(node) for branch in ways)})


def matings_of(study: Study) -> Iterator[Mated]:
    """Yield every mating that has a contact in the DC circuit, in the order of the circuit."""
    by_mating: dict[str, list[Branch]] = {}
    for branch in study.circuit.branches:
        if branch.kind == "contact":
            by_mating.setdefault(branch.part, []).append(branch)
    for mating in study.build.matings:
        branches = by_mating.get(mating.name)
        first, second = study.part(mating.first), study.part(mating.second)
        if not branches or not isinstance(first, Half) or not isinstance(second, Half):
            continue
        factors = [float(half.neighbour_factor.low) for half in (first, second) if half.neighbour_factor is not None]
        yield Mated(
            mating.name,
            first,
            second,
            first.span,
            tuple(_contact(study, branch) for branch in branches),
            max(len(mating.pins), len(branches)),
            min(factors, default=None),
        )


def _contact(study: Study, branch: Branch) -> Contact:
    found: list[tuple[float, Reference | None]] = []
    undeclared: list[str] = []
    for node in (branch.start, branch.end):
        said = pin_at(study, node)
        assert said is not None
        half, pin = said
        current = nearest(pin, Pin.rated_current, half, Half.rated_current)
        if current is not None:
            found.append((float(current.low), None))
        elif is_accessory_socket(half):
            found.append((_LIGHTER_CURRENT, ACCESSORY_SOCKET))
        else:
            undeclared.append(half.name)
    rated, reference = min(found, key=lambda item: item[0], default=(None, None))
    return Contact(branch, rated, tuple(undeclared), reference)
