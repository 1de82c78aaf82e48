"""What of a build can be set in a state: its switches, plugs, loads, sources and selectors, by name."""

from __future__ import annotations

from collections.abc import Mapping

from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.charging import Charger
from ohmwright_grammar.kinds.fuse import Breaker, Fuse
from ohmwright_grammar.kinds.inverter import Converter, Inverter
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.switch import Disconnect, Relay, Selector, Switch
from ohmwright_grammar.model import Build
from ohmwright_grammar.records import record

from ohmwright.circuit.graph import Circuit

__all__ = ["Anatomy", "anatomy_of"]


@record
class Anatomy:
    """What of a build can be set in a state, each in name order."""

    switches: tuple[str, ...]
    breakers: tuple[str, ...]
    fuses: tuple[str, ...]
    relays: tuple[str, ...]
    disconnects: tuple[str, ...]
    selectors: Mapping[str, tuple[str, ...]]  # positions, in the order in which they were said
    matings: tuple[str, ...]
    matings_of: Mapping[str, tuple[str, ...]]  # half -> matings
    loads: tuple[str, ...]
    inverters: tuple[str, ...]
    charging_inverters: tuple[str, ...]  # that also charge from mains
    always_on: tuple[str, ...]  # loads and inverters that nothing but a missing feed stops
    chargers: tuple[str, ...]
    converters: tuple[str, ...]
    arrays: tuple[str, ...]
    batteries: tuple[str, ...]
    links: Mapping[str, tuple[tuple[str, ...], ...]]  # row -> matings of each link
    most_joined: Mapping[str, int]
    never_together: tuple[tuple[str, ...], ...]
    barred_together: tuple[tuple[str, ...], ...]

    @property
    def never_joined(self) -> frozenset[str]:
        """The matings of the links of rows beyond the most that may be joined."""
        return frozenset(gate for row, links in self.links.items() for link in links[self.most_joined[row] :] for gate in link)


def anatomy_of(build: Build, circuit: Circuit) -> Anatomy:
    """Return what of a build can be set in a state."""

    def named(*kinds: type[Part]) -> tuple[str, ...]:
        return tuple(sorted(name for name, part in build.parts.items() if isinstance(part, kinds)))

    halves: dict[str, list[str]] = {}
    for mating in build.matings:
        halves.setdefault(mating.first, []).append(mating.name)
        halves.setdefault(mating.second, []).append(mating.name)
    selectors = {
        name: tuple(position.position for position in part.positions or ())
        for name, part in sorted(build.parts.items())
        if isinstance(part, Selector)
    }
    return Anatomy(
        named(Switch), named(Breaker),
        tuple(name for name in named(Fuse) if not isinstance(build.parts[name], Breaker)),
        named(Relay), named(Disconnect), selectors,
        tuple(sorted(mating.name for mating in build.matings)),
        {half: tuple(found) for half, found in halves.items()},
        named(Load), named(Inverter),
        tuple(name for name in named(Inverter) if getattr(build.parts[name], "also_charges", None)),
        tuple(name for name in named(Load, Inverter) if build.parts[name].always_on),
        named(Charger), named(Converter), named(Array), named(Battery),
        {row.name: row.links for row in build.rows}, {row.name: row.most for row in build.rows},
        build.rig.never_together or (), build.rig.barred_together or (),
    )  # fmt: skip
