"""What comes from outside of a box and is otherwise than a state has it: mains that is there or not, the hottest and the coldest air."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ohmwright_grammar.kinds.charging import Charger
from ohmwright_grammar.kinds.inverter import InverterCharger
from ohmwright_grammar.kinds.site import Site
from ohmwright_grammar.records import replace

from ohmwright.states.setup import AS_DECLARED, Setup

if TYPE_CHECKING:
    from ohmwright_grammar.model import Build

    from ohmwright.states.anatomy import Anatomy

__all__ = ["Mains", "warmths"]


class Mains:
    """What of a build mains feeds, and what gives AC without it, each in name order."""

    def __init__(self, build: Build, anatomy: Anatomy) -> None:
        parts = build.parts
        self.chargers = frozenset(
            name for name in anatomy.chargers if isinstance(part := parts[name], Charger) and part.kind_of_charger == "mains"
        )
        self.both_ways = frozenset(name for name in anatomy.inverters if isinstance(parts[name], InverterCharger))
        self.inverters = frozenset(anatomy.inverters)
        self.fed = self.chargers | self.both_ways

    def settings(self, setup: Setup) -> Iterator[tuple[Setup, str]]:
        """Yield a state with the inverter alone, mains alone, both, and neither, as far as it is another one, with what that changes in words.

        An inverter-charger charges as soon as mains is there, and passes mains on to what it feeds; an inverter without mains of its own may run beside it.
        """
        if not self.fed:
            return
        told = {self._shape(setup)}
        gives = {name: setup.inverters.get(name, AS_DECLARED) for name in sorted(self.inverters)}
        beside = {name: how for name, how in gives.items() if name not in self.both_ways}
        without = setup.chargers - self.chargers
        there = setup.chargers | self.fed
        alone, shore, both, neither = (
            ("inverter alone", "shore supply alone", "inverter beside shore supply", "neither inverter nor shore supply")
            if self.inverters
            else ("", "shore supply on", "", "shore supply off")
        )
        for words, inverters, chargers, on_mains in (
            (alone, gives, without, frozenset[str]()),
            (shore, {}, there, self.both_ways),
            (both, beside, there, self.both_ways),
            (neither, {}, without, frozenset[str]()),
        ):
            found = replace(setup, inverters=inverters, chargers=chargers, on_mains=on_mains)
            shape = self._shape(found)
            if words and shape not in told:
                told.add(shape)
                yield found, words

    def _shape(self, setup: Setup) -> tuple[object, ...]:
        return frozenset(setup.inverters), setup.chargers & self.chargers, setup.on_mains


def warmths(build: Build, setup: Setup, has_sun: bool) -> Iterator[tuple[Setup, str]]:
    """Yield a state at the hottest and the coldest that its site gets, where it gives another temperature itself, with that in words.

    Without a temperature of its own a state counts at the hot end already. Cold air changes only what arrays give (`has_sun`): colder copper and air otherwise
    ease what a rule looks at, and rules of open-circuit voltages and of cold batteries take the coldest by themselves.
    """
    site = build.one(Site)
    if site is None:
        return
    hot = float(site.ambient.high) if site.ambient is not None else None
    given = setup.ambient if setup.ambient is not None else hot
    cooler = (setup.ambient is not None and hot is not None and setup.ambient < hot - 1e-9) or setup.inside is not None
    if hot is not None and cooler:
        yield replace(setup, ambient=None, inside=None), f"hottest, {hot:.3g} degC"
    lows = [float(site.record_low.low)] if site.record_low is not None else []
    lows += [float(site.ambient.low)] if site.ambient is not None else []
    if has_sun and lows and (given is None or min(lows) < given - 1e-9):
        yield replace(setup, ambient=min(lows)), f"coldest, {min(lows):.3g} degC"
