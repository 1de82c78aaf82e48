"""How warm it is in each zone of a build, state by state."""

from __future__ import annotations

from dataclasses import field

from ohmwright_grammar.kinds.site import Site, Zone
from ohmwright_grammar.model import Build
from ohmwright_grammar.records import draft

from ohmwright.circuit.assumptions import Assumptions
from ohmwright.circuit.graph import Branch
from ohmwright.states.setup import Setup

__all__ = ["ROOM_TEMPERATURE", "Climate", "Temperatures"]

ROOM_TEMPERATURE = 20.0  # degC, where nothing of temperature is declared


@draft
class Temperatures:
    """The temperature [degC] of each zone in one state; "" is outside of every zone."""

    by_zone: dict[str, float] = field(default_factory=dict)
    outside: float = ROOM_TEMPERATURE

    def of(self, zone: str) -> float:
        """Return the temperature of a zone."""
        return self.by_zone.get(zone, self.outside)


class Climate:
    """The temperatures of one build. `warmed` holds what the losses in closed cases make of their zones [degC], by state and zone."""

    def __init__(self, build: Build, assumptions: Assumptions) -> None:
        self.site = build.one(Site)
        self.zones = {zone.name: zone for zone in build.of(Zone)}
        self.warmed: dict[str, dict[str, float]] = {}
        self._assume = assumptions.note

    def in_state(self, setup: Setup) -> Temperatures:
        """Return the hot end of every zone in a state: what the state gives, else the zone's own range, else by the losses in its case, else the site's."""
        ambient = setup.ambient
        if ambient is None and self.site is not None and self.site.ambient is not None:
            ambient = float(self.site.ambient.high)
        outside = ambient if ambient is not None else ROOM_TEMPERATURE
        if ambient is None:
            self._assume("site", "ambient temperature", f"{ROOM_TEMPERATURE:g} degC", "nothing is declared; flatters drop")
        found = Temperatures({}, outside)
        for name, zone in self.zones.items():
            if setup.inside is not None:
                found.by_zone[name] = setup.inside
            elif zone.temperature is not None:
                found.by_zone[name] = float(zone.temperature.high)
        if self.warmed:
            found.by_zone = {**(self.warmed.get(setup.name) or self.warmed.get(setup.parent) or {}), **found.by_zone}
        return found

    def of_branch(self, branch: Branch, temperatures: Temperatures) -> float:
        """Return the temperature [degC] of a conductor: its own where declared, else its zone's."""
        conductor = branch.conductor
        if conductor is not None and conductor.own_temperature is not None:
            return float(conductor.own_temperature.high)
        return temperatures.of(branch.zone)
