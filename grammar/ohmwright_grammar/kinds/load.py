"""Loads: whatever uses the power."""

from __future__ import annotations

from typing import ClassVar

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.kinds.capacitors import InputCapacitors
from ohmwright_grammar.kinds.part import POLES, Part
from ohmwright_grammar.kinds.values import hours_a_day
from ohmwright_grammar.quantities import Ampere, Duty, Number, Quantity, Second, Volt, Watt
from ohmwright_grammar.records import record

__all__ = ["AcLoad", "Load", "MonthlyHours", "Start"]


@record
class Start:
    """What a load takes when it starts: so many times its running current, or a current, or a power; and for how long."""

    times: Quantity[Number] | None = None
    current: Quantity[Ampere] | None = None
    power: Quantity[Watt] | None = None
    lasts: Quantity[Second] | None = None


@record
class MonthlyHours:
    """Hours a day for each month, January first."""

    hours: tuple[Quantity[Duty], ...]


class Load(Part, InputCapacitors):
    """A load; its power, its current or its resistance stays constant, whichever is declared."""

    __slots__ = ()
    KIND = "load"
    PLURAL = "loads"
    TERMINALS: ClassVar[tuple[str, ...]] = ("plus", "minus")
    ALIASES = {**POLES}

    power = say.power(
        "<power>",
        "takes <power>",
        "uses <power>",
        "power <power>",
        "rated <power>",
        "draws <power>",
        "constant power <power>",
        doc="constant power",
        above=0,
    )
    current = say.current(
        "<current>",
        "takes <current>",
        "uses <current>",
        "current <current>",
        "rated <current>",
        "draws <current>",
        "constant current <current>",
        doc="constant current",
        above=0,
    )
    resistance = say.resistance("<resistance>", "resistance <resistance>", doc="constant resistance", above=0)
    nominal_voltage = say.voltage(
        "<voltage>", "nominal <voltage>", "rated <voltage>", "at <voltage>", doc="nominal voltage", above=0
    )
    voltage_window = say.voltage(
        "works on <voltage>", "works from|at <voltage>", "works <voltage>", "voltage window <voltage>", "window <voltage>",
        "needs <voltage>",
        "accepts <voltage>", "<voltage> window",
        "from <voltage>", "voltage <voltage>", "voltage range <voltage>",
        doc="voltages at which it works and which it bears", above=0,
    )  # fmt: skip
    own_cut_off = say.voltage(
        "own cut-off <voltage>",
        "cut-off <voltage>",
        "cuts off at|below <voltage>",
        "stops below <voltage>",
        "switches itself off at|below <voltage>",
        doc="voltage below which it stops by itself",
        above=0,
    )
    start = say.record(
        Start,
        "starts at <times:number> times [the|its] [running] [current|power] [for <lasts:time>]",
        "starts at <current:current> [for <lasts:time>]",
        "starts at <power:power> [for <lasts:time>]", "start <times:number> times [running] [for <lasts:time>]",
        "start <current:current> [for <lasts:time>]", "inrush <current:current> [for <lasts:time>]",
        "start current <current:current> [for <lasts:time>]",
        "surge <current:current> [for <lasts:time>]", "peaks at <current:current> [for <lasts:time>]",
        "surge <power:power> [for <lasts:time>]",
        doc="what it takes when it starts, and for how long",
    )  # fmt: skip
    motor = say.flag("motor", "is a motor", "a motor", doc="it is a motor")
    hours = hours_a_day(
        "for <duty>", "<duty>", "runs <duty>", "runs for <duty>", "on <duty>", "on for <duty>", "used <duty>", "hours <duty>",
        "<time:time> a|per|each day", "for <time:time> a|per|each day", "runs <time:time> a|per|each day",
        "runs for <time:time> a|per|each day", "on for <time:time> a|per|each day",
        doc="hours a day",
    )  # fmt: skip
    hours_by_month = say.record(
        MonthlyHours,
        "hours by month <hours:dutys>",
        "runs by month <hours:dutys>",
        "by month <hours:dutys>",
        doc="hours a day for each month, January first",
    )
    promised = say.flag("promised", "required", "must work", doc="it is promised to work")
    drop_matters = say.flag("drop matters", "voltage drop matters", "critical", doc="its voltage drop matters (3 %)")
    lowest_charge_level = say.share(
        "works down to <share>", "works down to <share> charge", "down to <share>", "lowest charge level <share>",
        "must work at <share>",
        doc="lowest charge level of the battery at which it must work",
    )  # fmt: skip
    share_together = say.share(
        "<share> together",
        "share together <share>",
        "share that runs together <share>",
        "runs together <share>",
        doc="share of it that runs at the same time",
    )
    needs_sine = say.flag(
        "needs a sine wave",
        "needs sine",
        "needs a sine",
        "needs a pure sine wave",
        "needs sine wave",
        doc="it needs a sine wave",
    )

    @property
    def bears(self) -> Quantity[Volt] | None:
        """Return the voltages that it bears: its window, else a nominal voltage that is given as a range."""
        if self.voltage_window is not None:
            return self.voltage_window
        nominal = self.nominal_voltage
        return nominal if nominal is not None and nominal.form == "range" else None


class AcLoad(Load):
    """A load on mains or on an inverter's output."""

    __slots__ = ()
    KIND = "AC load"
    PLURAL = "AC loads"
    TERMINALS = ("L", "N", "PE")
    ALIASES = {"live": "L", "line": "L", "hot": "L", "neutral": "N", "earth": "PE", "ground": "PE"}
    AC_TERMINALS = ("L", "N", "PE")
