"""Operating states: which switches are closed, which connectors are mated, what runs, how full, how bright, how warm, how long."""

from __future__ import annotations

from typing import Any

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.quantities import Ampere, Duty, Quantity, Volt
from ohmwright_grammar.records import record
from ohmwright_grammar.things import Thing

__all__ = ["FixedSource", "Joined", "Level", "Position", "Setting", "State", "Sun"]


@record
class Setting:
    """What some things do in a state: switches closed or open, connectors mated or apart, loads and chargers on or off, fuses blown.

    `level` is the current, power or share at which a load runs (its shape is told by `unit`); `hours` how long a day.
    """

    things: tuple[str, ...]
    how: str
    level: Quantity[Any] | None = None
    hours: Quantity[Duty] | None = None


@record
class Level:
    """How full batteries are: a charge level, or a voltage at rest."""

    things: tuple[str, ...]
    level: Quantity[Any]


@record
class Position:
    """Where a selector stands."""

    things: tuple[str, ...]
    position: str


@record
class FixedSource:
    """A source that gives a fixed current, or holds a fixed voltage."""

    things: tuple[str, ...]
    current: Quantity[Ampere] | None = None
    voltage: Quantity[Volt] | None = None


@record
class Joined:
    """How many things of a row are joined, counted from its start."""

    row: str
    count: int


@record
class Sun:
    """How bright the sun is, on all arrays or on those named: an irradiance, or a share of 1000 W/m2."""

    level: Quantity[Any]
    arrays: tuple[str, ...] = ()


_HOW = {
    "closed": "closed", "open": "open", "on": "on", "off": "off", "mated": "mated", "plugged in": "mated", "apart": "apart",
    "unplugged": "apart", "unmated": "apart", "blown": "blown", "tripped": "tripped", "running": "on", "runs": "on", "run": "on",
    "failed": "failed",
}  # fmt: skip


_SUN = {"full sun": "full", "in full sun": "full", "dark": "dark", "in the dark": "dark"}


def _sun(level: Quantity[Any] | None = None, arrays: tuple[str, ...] = (), how: str = "") -> Sun:
    if level is None:
        figure = 1000.0 if how == "full" else 0.0
        level = Quantity(figure, figure, figure, "W/m2")
    return Sun(level, arrays)


class State(Thing):
    """An operating state."""

    __slots__ = ()

    KIND = "state"
    PLURAL = "states"

    settings = say.records(
        Setting,
        "<things:names> <how:choice>",
        "<things:names> <how:choice> at <level:current|power|share>",
        "<things:names> <how:choice> for <hours:duty>",
        "<things:names> <how:choice> at <level:current|power|share> for <hours:duty>",
        doc="what switches, connectors, loads, chargers and fuses do",
        of=_HOW,
    )
    levels = say.records(
        Level, "<things:names> at <level:share|voltage>", doc="charge level of a battery, or its voltage at rest"
    )
    positions = say.records(Position, "<things:names> in|at <position:term>", doc="position of a selector")
    sources = say.records(
        FixedSource,
        "<things:names> gives|give <current:current>",
        "<things:names> holds|hold <voltage:voltage>",
        doc="a source that gives a fixed current or holds a fixed voltage",
    )
    joined = say.records(Joined, "<row:name> <count:count> joined", doc="how many things of a row are joined")
    sun = say.records(
        _sun, "sun <level:irradiance|share>", "sun on <arrays:names> <level:irradiance|share>", "<how:choice>",
        doc="how bright the sun is; full sun is 1000 W/m2, which is 100 %", of=_SUN,
    )  # fmt: skip
    bms_open = say.names("bms of <names> open", "bms open on <names>", doc="batteries whose management system has cut off")
    short_at = say.name("short at <name>", doc="a dead short at a terminal")
    ambient = say.temperature("<temperature>", "outside <temperature>", "ambient <temperature>", doc="temperature outside")
    inside = say.temperature("inside <temperature>", "inside temperature <temperature>", doc="temperature inside the case")
    lasts = say.time("lasts <time>", "for <moment>", doc="how long one occurrence lasts", above=0)
    returns_after = say.time("back after <time>", "comes back after <time>", doc="how long until it comes again", above=0)
    hours = say.duty("for <duty>", "<duty>", "used <duty>", doc="hours a day")
    allowed = say.flag("allowed", doc="the state is allowed")
    called_dead = say.flag("called dead", doc="the procedure calls this state dead")
