"""Small circuits for tests of protection, written down by hand: wires with a length and an ampacity, fuses with a rating, sources with a limit."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import pytest
from ohmwright.circuit.graph import Branch, BranchKind, Circuit, Consumer, Source, SourceKind
from ohmwright.protection.flows import Feed, Flows
from ohmwright.protection.poles import sides
from ohmwright.protection.reaching import Limits, Protection, Unsaid
from ohmwright.protection.walking import Stretch
from ohmwright.protection.ways import DEVICE, Passage
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.conductor import Wire
from ohmwright_grammar.quantities import Quantity
from ohmwright_grammar.things import NOWHERE, Fact

PART = Battery("any", NOWHERE, {})


def conductor(name: str, length: float | None) -> Wire:
    """A wire that says its length."""
    facts: dict[str, Fact[Any]] = {}
    if length is not None:
        facts["length"] = Fact(Quantity(length, length, length, "m"), NOWHERE)
    return Wire(name, NOWHERE, facts)


@dataclass
class Net:
    """A circuit under construction; every method returns the net itself."""

    branches: list[Branch] = field(default_factory=list)
    sources: list[Source] = field(default_factory=list)
    consumers: list[Consumer] = field(default_factory=list)
    amperes: dict[str, float | None] = field(default_factory=dict)
    ratings: dict[str, float | None] = field(default_factory=dict)
    covers: dict[str, bool | None] = field(default_factory=dict)
    cases: set[str] = field(default_factory=set)
    barred: list[tuple[str, ...]] = field(default_factory=list)
    passages: list[Passage] = field(default_factory=list)

    def wire(
        self,
        name: str,
        start: str,
        end: str,
        length: float | None = 0.1,
        amperes: float | None = 50.0,
        enclosed: bool | None = False,
    ) -> Net:
        self.branches.append(Branch(name, "wire", start, end, name, 0.001, NOWHERE, conductor=conductor(name, length)))
        self.amperes[name] = amperes
        self.covers[name] = enclosed
        return self

    def fuse(self, name: str, start: str, end: str, rating: float | None) -> Net:
        self.branches.append(Branch(name, "fuse", start, end, name, 0.0, NOWHERE, name))
        self.ratings[name] = rating
        return self

    def join(self, start: str, end: str, kind: BranchKind = "joint", gate: str = "", part: str = "", ohm: float = 0.0) -> Net:
        name = f"{kind} {gate} {start} {end}"
        self.branches.append(Branch(name, kind, start, end, part or name, ohm, NOWHERE, gate))
        return self

    def source(
        self, name: str, limit: float | None = None, kind: SourceKind = "battery", plus: str = "", minus: str = "ground"
    ) -> Net:
        self.sources.append(Source(name, kind, plus or f"{name}.plus", minus, PART, limit))
        return self

    def load(self, name: str) -> Net:
        self.consumers.append(Consumer(name, "load", f"{name}.plus", "ground", PART))
        return self

    def circuit(self) -> Circuit:
        nodes = {node for branch in self.branches for node in (branch.start, branch.end)}
        nodes |= {node for item in (*self.sources, *self.consumers) for node in (item.plus, item.minus)}
        return Circuit.of(sorted(nodes), self.branches, self.sources, self.consumers, frozenset(), frozenset(self.cases))

    # what the tests ask ----------------------------------------------------------------------------------------------

    def small_enough(self, device: Branch, wire: Branch) -> bool | Unsaid:
        """A fuse may be as large as the ampacity of the wire."""
        rating, amperes = self.ratings[device.name], self.amperes[wire.name]
        if rating is None:
            return Unsaid("rated current", device.name)
        if amperes is None:
            return Unsaid("gauge", wire.name)
        return rating <= amperes

    def push(self, source: Source) -> float | None:
        """A battery gives anything, another source its limit."""
        return float("inf") if source.kind == "battery" else source.limit

    def limits(self) -> Limits:
        return Limits(
            self.small_enough,
            lambda wire: self.amperes[wire.name],
            lambda wire: self.amperes[wire.name],
            self.push,
            lambda device: self.ratings[device.name],
            lambda wire: self.covers[wire.name],
        )

    def protections(self) -> tuple[Protection, ...]:
        return tuple(
            Protection(poles, self.limits()) for poles in sides(self.circuit(), barred=self.barred, passages=self.passages)
        )

    def protection(self) -> Protection:
        (found,) = self.protections()
        return found

    def unfused(self) -> dict[tuple[str, str], Stretch]:
        """Every stretch that a source reaches without any device, by source and wire, where the source can push more than the wire carries."""
        found: dict[tuple[str, str], Stretch] = {}
        for protection in self.protections():
            for walk in protection.unfused:
                for stretch in protection.stretches(walk):
                    if protection.pushes(stretch.source, stretch.wire):
                        found[stretch.source.name, stretch.wire.name] = stretch
        return found

    def overreaches(self) -> dict[tuple[str, str], tuple[str, float, bool]]:
        """Device, length and whether it counts from a joint, by source and wire, of what devices that are too large leave open."""
        found: dict[tuple[str, str], tuple[str, float, bool]] = {}
        for protection in self.protections():
            for exposure in protection.overreaches():
                if exposure.unsaid is None:
                    stretch = exposure.stretch
                    device = stretch.device.name if stretch.device is not None else ""
                    found[stretch.source.name, stretch.wire.name] = (device, round(stretch.length, 9), stretch.from_joint)
        return found

    def flows(self) -> Flows:
        protection = self.protection()
        ways = protection.ways
        feeds = [Feed(pole.source.name, pole.cluster, self.push(pole.source) or 0.0) for pole in protection.poles.all]

        def capacity(edge: int) -> float:
            assert ways.kinds[edge] == DEVICE
            return self.ratings[ways.branches[edge].name] or 0.0

        return Flows(ways, feeds, capacity)

    def into(self, wire: str) -> tuple[tuple[float, int], tuple[float, int]]:
        """The flows into both ends of a wire."""
        feeding = self.flows().into(next(branch for branch in self.branches if branch.name == wire))
        return tuple(feeding.into_start), tuple(feeding.into_end)


@pytest.fixture
def net() -> type[Net]:
    """The class of nets."""
    return Net
