"""The declared states of a build, as they are said.

What a declared state does not say is as `all states` says (already laid under it by the reader), else: switches open, connectors mated, loads off, chargers all that can.
A plug that fits several sockets is in one of them: where nobody says in which, in the first by name.
A load or inverter that is always on runs in every state, wherever it is fed; only a state that names it can switch it off.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.charging import Charger
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.fuse import Breaker, Fuse
from ohmwright_grammar.kinds.inverter import Converter, Inverter
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.state import Level as StateLevel
from ohmwright_grammar.kinds.state import Setting, State
from ohmwright_grammar.kinds.switch import Disconnect, Relay, Selector, Switch
from ohmwright_grammar.model import Build
from ohmwright_grammar.quantities import DIMENSIONS
from ohmwright_grammar.things import Datum

from ohmwright.circuit.parts import gate_of_position
from ohmwright.states.anatomy import Anatomy
from ohmwright.states.setup import AS_DECLARED, FULL_SUN, Level, Running, Setup
from ohmwright.states.sockets import shared_halves, surplus_matings

__all__ = ["declared_setups"]

MOST_SUN = 2000.0  # W/m2: brighter than any sun on any module


def declared_setups(build: Build, anatomy: Anatomy, problems: list[Diagnostic]) -> list[Setup]:
    """Return the states that the build declares, in the order of their statements; problems are what cannot be set so."""
    return [_Reader(build, anatomy, state, problems).setup() for state in build.states]


class _Reader:
    """Turns one declared state into a setup."""

    def __init__(self, build: Build, anatomy: Anatomy, state: State, problems: list[Diagnostic]) -> None:
        self.build = build
        self.anatomy = anatomy
        self.state = state
        self.problems = problems
        self.closed: dict[str, bool] = {}
        self.blown: set[str] = set()
        self.failed: set[str] = set()
        self.apart: dict[str, bool] = {}
        self.chosen: set[str] = set()  # matings of which it is said that they are made, by the half that tells them from others
        self.running: dict[str, Running | None] = {}
        self.duties: dict[str, float] = {}

    def setup(self) -> Setup:
        state = self.state
        self._settings()
        open_gates = self._open_gates()
        chargers = frozenset(
            name
            for name in (*self.anatomy.chargers, *self.anatomy.charging_inverters)
            if self.running.get(name, AS_DECLARED) is not None
        )
        for name in self.anatomy.always_on:
            self.running.setdefault(name, AS_DECLARED)
        running = {name: level for name in self.anatomy.loads if (level := self.running.get(name)) is not None}
        inverters = {
            name: level for name in self.anatomy.inverters if (level := self.running.get(name, AS_DECLARED)) is not None
        }
        duty = state.hours.nominal if state.hours is not None else max(self.duties.values(), default=None)
        return Setup(
            name=state.name,
            origin="declared",
            open_gates=frozenset(open_gates),
            blown=frozenset(self.blown),
            bms_open=frozenset(state.bms_open or ()),
            failed=frozenset(self.failed),
            running=running,
            inverters=inverters,
            chargers=chargers,
            off=frozenset(
                name
                for name, level in self.running.items()
                if level is None and isinstance(self.build.parts[name], Converter | Controller)
            ),
            sun=self._sun(),
            levels=self._levels(),
            fixed=self._fixed(),
            closed_relays=frozenset(name for name in self.anatomy.relays if self.closed.get(name)),
            told_relays=frozenset(name for name in (*self.anatomy.relays, *self.anatomy.disconnects) if name in self.closed),
            short_at=state.short_at or "",
            ambient=state.ambient.high if state.ambient is not None else None,
            inside=state.inside.high if state.inside is not None else None,
            lasts=state.lasts.high if state.lasts is not None else None,
            returns_after=state.returns_after.low if state.returns_after is not None else None,
            duty=duty,
            allowed=state.allowed is not False,
            called_dead=bool(state.called_dead),
            span=state.span,
        )

    def _set(self, name: str, setting: Setting) -> None:
        part = self.build.parts.get(name)
        how = setting.how
        if isinstance(part, Switch | Relay | Disconnect | Breaker):
            if how in ("closed", "on", "open", "off", "tripped"):
                self.closed[name] = how in ("closed", "on")
                if how == "tripped":
                    self.blown.add(name)
                return
        elif isinstance(part, Fuse):
            if how in ("blown", "open", "closed"):
                (self.blown.add if how != "closed" else self.blown.discard)(name)
                return
        elif isinstance(part, Half):
            matings = self.anatomy.matings_of.get(name, ())
            if how in ("mated", "apart"):
                if not matings:
                    self._wrong(name, f"{name} has no mate that is declared, so that it cannot be {how}")
                if how == "apart":
                    self.apart.update(dict.fromkeys(matings, True))
                    self.chosen.difference_update(matings)
                elif len(matings) == 1:
                    self.apart[matings[0]] = False
                    self.chosen.add(matings[0])
                else:  # in which socket it is, the sockets tell
                    self.apart = {**dict.fromkeys(matings, False), **self.apart}
                return
        elif isinstance(part, Battery):
            if how == "failed":
                self.failed.add(name)
                return
        elif isinstance(part, Load | Inverter | Charger | Converter | Controller):
            if how in ("on", "off", "closed", "open"):
                self.running[name] = _level(setting) if how in ("on", "closed") else None
                if setting.hours is not None:
                    self.duties[name] = setting.hours.high
                return
        elif name in self.anatomy.links and how in ("mated", "apart"):
            for link in self.anatomy.links[name]:
                for mating in link:
                    self.apart[mating] = how == "apart"
            return
        can = next((words for kinds, words in _CAN_BE if isinstance(part, kinds)), "")
        self._wrong(name, f"{name!r} is a {self._kind(name)}; it cannot be {how}", f"It can be {can}." if can else "")

    def _settings(self) -> None:
        """Take what the state says itself before what `all states` says, each with its names before its "everything else"."""
        settings, lowest = self.state.settings or (), self._below(State.settings)
        below = self._named(settings[:lowest])
        told = self.closed, self.running, self.apart
        self.closed, self.running, self.apart = {}, {}, {}
        lower, self.chosen = self.chosen, set()
        own = self._named(settings[lowest:])
        named = frozenset((*told[0], *self.closed))
        self._everything_else(own, named)
        for mine, theirs in ((self.closed, told[0]), (self.apart, told[2])):
            for name, value in theirs.items():
                mine.setdefault(name, value)
        for name, level in told[1].items():
            self.running.setdefault(name, level)
        self._everything_else(below, frozenset(self.closed))
        self._one_socket_each(lower)

    def _one_socket_each(self, lower: set[str]) -> None:
        """Part what cannot be plugged in at once: what the state itself says counts, then `all states` (`lower`), then the order of names."""
        for half, matings in shared_halves(self.anatomy.matings_of):
            both = [mating for mating in matings if mating in self.chosen]
            if len(both) > 1:
                self._wrong(half, f"{half} cannot be in two at a time: {' and '.join(both)}", "Leave one of them apart.")
        apart = {mating for mating, is_apart in self.apart.items() if is_apart}
        own = self.chosen
        for mating in surplus_matings(
            self.anatomy.matings_of, apart, lambda name: 0 if name in own else 1 if name in lower else 2
        ):
            self.apart[mating] = True

    def _below(self, datum: Datum[Any]) -> int:
        """Return how many of what the state says in a row came from `all states`."""
        fact = self.state.fact(datum)
        return fact.below if fact is not None else 0

    def _named(self, settings: Iterable[Setting]) -> list[Setting]:
        """Take what is said of things by their names; return what is said of everything else, of each sort the last."""
        rest: dict[int, Setting] = {}
        for setting in settings:
            for name in setting.things:
                if name != "everything else":
                    self._set(name, setting)
                    continue
                for place, sort in enumerate(_SORTS):
                    if setting.how in sort:
                        rest[place] = setting
        return [rest[place] for place in sorted(rest)]

    def _everything_else(self, settings: Iterable[Setting], named: frozenset[str]) -> None:
        """Take what is said of everything else; `named` are switches and breakers that something is said of."""
        switches = frozenset(self.anatomy.switches)
        for setting in settings:
            how = setting.how
            if how in ("closed", "open"):
                for name in (*self.anatomy.switches, *self.anatomy.breakers):
                    if name not in named:
                        self.closed.setdefault(name, how == "closed")
            if how in ("on", "off"):
                for name in (*self.anatomy.loads, *self.anatomy.chargers, *self.anatomy.inverters):
                    if how == "on" or name not in self.anatomy.always_on:
                        self.running.setdefault(name, _level(setting) if how == "on" else None)
                if how == "off" or not switches & (named | self.closed.keys()):
                    for name in self.anatomy.switches:
                        if name not in named:
                            self.closed.setdefault(name, how == "on")
            if how in ("mated", "apart"):
                for mating in self.anatomy.matings:
                    self.apart.setdefault(mating, how == "apart")

    def _open_gates(self) -> set[str]:
        gates = {name for name in self.anatomy.switches if not self.closed.get(name, False)}
        gates |= {name for name in self.anatomy.breakers if not self.closed.get(name, True)}
        gates |= self.blown
        gates |= {mating for mating in self.anatomy.matings if self.apart.get(mating, False)}
        positions = {name: position.position for position in self.state.positions or () for name in position.things}
        for selector, known in self.anatomy.selectors.items():
            at = positions.get(selector)
            if at is not None and at not in known:
                self._wrong(selector, f"{selector!r} has no position {at!r}; it has {', '.join(known)}")
            gates |= {gate_of_position(selector, position) for position in known if position != at}
        for name in set(positions) - set(self.anatomy.selectors):
            self._wrong(name, f"{name!r} is no selector, so that it has no position")
        for joined in self.state.joined or ():
            links = self.anatomy.links.get(joined.row)
            if links is None:
                self._wrong(joined.row, f"{joined.row!r} is no row, so that nothing of it can be joined")
                continue
            for number, link in enumerate(links, start=1):
                for mating in link:
                    (gates.discard if number <= joined.count else gates.add)(mating)
        for name in self.anatomy.relays:
            if name in self.closed and not self.closed[name]:
                gates.add(name)
        for name in self.anatomy.disconnects:
            if name in self.closed and not self.closed[name]:
                gates.add(name)
        return gates

    def _levels(self) -> dict[str, Level]:
        """Return the charge levels: those that the state gives itself stand before those of `all states`, names before everything else."""
        levels: dict[str, Level] = {}
        items, lowest = self.state.levels or (), self._below(State.levels)
        for layer in (items[lowest:], items[:lowest]):
            found: dict[str, Level] = {}
            rest: dict[str, Level] = {}
            for item in layer:
                for name in item.things:
                    names: Iterable[str] = self.anatomy.batteries if name == "everything else" else (name,)
                    for battery in names:
                        level = self._charge_level(battery, item)
                        if level is not None:
                            (rest if name == "everything else" else found)[battery] = level
            levels = {**rest, **found, **levels}
        return levels

    def _charge_level(self, battery: str, item: StateLevel) -> Level | None:
        if not isinstance(self.build.parts.get(battery), Battery):
            self._wrong(battery, f"{battery!r} is no battery, so that it has no charge level")
            return None
        is_voltage = item.level.unit not in DIMENSIONS["share"].symbols
        if item.level.nominal <= 0 if is_voltage else not 0 <= item.level.nominal <= 1:
            self._senseless(battery, "charge level", "Give 0 % to 100 %, or its voltage at rest.")
            return None
        return Level(item.level.nominal, is_voltage)

    def _sun(self) -> dict[str, float]:
        sun: dict[str, float] = {}
        for item in self.state.sun or ():
            if item.level.unit in DIMENSIONS["share"].symbols and not 0 <= item.level.high <= MOST_SUN / FULL_SUN:
                self._senseless("sun", "brightness", f"Give 0 % to {MOST_SUN / FULL_SUN * 100:g} % of {FULL_SUN:g} W/m2.")
                continue
            value = item.level.high * (FULL_SUN if item.level.unit in DIMENSIONS["share"].symbols else 1.0)
            for name in item.arrays or self.anatomy.arrays:
                if name in self.anatomy.arrays:
                    sun[name] = value
                else:
                    self._wrong(name, f"{name!r} is no array, so that no sun shines on it")
        return sun

    def _fixed(self) -> dict[str, tuple[float | None, float | None]]:
        fixed: dict[str, tuple[float | None, float | None]] = {}
        for item in self.state.sources or ():
            for name in item.things:
                current = item.current.high if item.current is not None else None
                voltage = item.voltage.high if item.voltage is not None else None
                before = fixed.get(name, (None, None))
                fixed[name] = (current if current is not None else before[0], voltage if voltage is not None else before[1])
        return fixed

    def _kind(self, name: str) -> str:
        """Return what a name means, "" where it means nothing (which was said when it was looked up)."""
        part = self.build.parts.get(name)
        if part is not None:
            return part.KIND
        for run in self.build.runs:
            if run.name == name:
                return run.conductor.KIND
        if name in self.anatomy.links:
            return "row"
        known = {thing.name: thing.KIND for thing in self.build.things}
        if name in known:
            return known[name]
        placed = any(other.startswith((f"{name}.", f"{name}[")) for other in self.build.parts)
        return "placed assembly" if placed else "terminal" if name in self.build.nodes else ""

    def _wrong(self, subject: str, message: str, remedy: str = "") -> None:
        if self._kind(subject):
            what = f"In state {self.state.name!r}: {message}."
            self.problems.append(Diagnostic("contradictory-state", what, self.state.span, remedy, self.state.name or subject))

    def _senseless(self, subject: str, what: str, remedy: str) -> None:
        message = f"In state {self.state.name!r}: this {what} of {subject!r} is outside what can be."
        self.problems.append(Diagnostic("senseless-value", message, self.state.span, remedy, self.state.name or subject))


# What may be said of everything else, in the order in which it is taken.
_SORTS = (("closed", "open"), ("on", "off"), ("mated", "apart"))

_CAN_BE: tuple[tuple[tuple[type[Part], ...], str], ...] = (
    ((Switch, Relay, Disconnect), "closed or open"),
    ((Breaker,), "closed, open or tripped"),
    ((Fuse,), "blown"),
    ((Half,), "mated or apart"),
    ((Battery,), "failed; how full it is is said as: at 60 %"),
    ((Load, Inverter, Charger, Converter, Controller), "on or off"),
    ((Selector,), "in one of its positions"),
)


def _level(setting: Setting) -> Running:
    level = setting.level
    if level is None:
        return AS_DECLARED
    if level.unit in DIMENSIONS["share"].symbols:
        return Running(share=level.high)
    if level.unit in DIMENSIONS["current"].symbols:
        return Running(current=level.high)
    return Running(power=level.high)
