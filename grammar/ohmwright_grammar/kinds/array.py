"""Photovoltaic modules and the arrays that are made of them."""

from __future__ import annotations

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.kinds.part import POLES, Part
from ohmwright_grammar.records import record

__all__ = ["Arrangement", "Array"]


@record
class Arrangement:
    """How many modules in series, and how many such strings in parallel."""

    series: int
    parallel: int


class Array(Part):
    """An array of alike modules; voltages, currents and power are those of one module at standard test conditions."""

    __slots__ = ()
    KIND = "array"
    PLURAL = "arrays"
    TERMINALS = ("plus", "minus", "frame")
    ALIASES = {"PV+": "plus", "PV-": "minus", **POLES}

    voc = say.voltage(
        "Voc <voltage>",
        "open-circuit voltage <voltage>",
        "open-circuit <voltage>",
        "open circuit [voltage] <voltage>",
        "<voltage> Voc",
        doc="open-circuit voltage of one module",
        above=0,
    )
    vmp = say.voltage(
        "Vmp <voltage>",
        "voltage at maximum power <voltage>",
        "maximum power voltage <voltage>",
        "<voltage> Vmp",
        "Vmpp <voltage>",
        doc="voltage of one module at maximum power",
        above=0,
    )
    isc = say.current(
        "Isc <current>",
        "short-circuit current <current>",
        "short-circuit <current>",
        "short circuit [current] <current>",
        "<current> Isc",
        doc="short-circuit current of one module",
        above=0,
    )
    imp = say.current(
        "Imp <current>",
        "current at maximum power <current>",
        "maximum power current <current>",
        "<current> Imp",
        "Impp <current>",
        doc="current of one module at maximum power",
        above=0,
    )
    rated_power = say.power(
        "<power>", "<power> each", "rated <power>", "modules of <power>", "power <power>", doc="power of one module", above=0
    )
    voc_coefficient = say.per_kelvin(
        "Voc coefficient <per_kelvin>", "Voc coefficient in percent <per_kelvin>", "Voc falls <per_kelvin>",
        "Voc <per_kelvin>", "coefficient of Voc <per_kelvin>",
        "temperature coefficient of Voc <per_kelvin>",
        doc="how the open-circuit voltage changes with temperature",
    )  # fmt: skip
    voc_coefficient_voltage = say.voltage_per_kelvin(
        "Voc coefficient <voltage_per_kelvin>", "Voc coefficient in volt <voltage_per_kelvin>",
        "Voc falls <voltage_per_kelvin>", "Voc <voltage_per_kelvin>",
        "coefficient of Voc <voltage_per_kelvin>", "temperature coefficient of Voc <voltage_per_kelvin>",
        doc="how the open-circuit voltage of one module changes with temperature, in volt",
    )  # fmt: skip
    vmp_coefficient = say.per_kelvin(
        "Vmp coefficient <per_kelvin>", "Vmp falls <per_kelvin>", "Vmp <per_kelvin>", "coefficient of Vmp <per_kelvin>",
        "temperature coefficient of Vmp <per_kelvin>",
        doc="how the voltage at maximum power changes with temperature",
    )  # fmt: skip
    isc_coefficient = say.per_kelvin(
        "Isc coefficient <per_kelvin>", "Isc rises <per_kelvin>", "Isc <per_kelvin>", "coefficient of Isc <per_kelvin>",
        "temperature coefficient of Isc <per_kelvin>",
        doc="how the short-circuit current changes with temperature",
    )  # fmt: skip
    largest_series_fuse = say.current(
        "largest series fuse <current>", "series fuse [at] [most] <current>", "maximum|max series fuse <current>",
        "fuse at most <current>",
        "max|maximum fuse <current>",
        doc="largest series fuse that the module allows", above=0,
    )  # fmt: skip
    in_series = say.count(
        "<count> in series",
        "series <count>",
        "<count> panels|panel|modules|module in series",
        doc="modules in series",
        at_least=1,
    )
    in_parallel = say.count(
        "<count> in parallel",
        "<count> strings|string [in parallel]",
        "parallel <count>",
        "<count> panels|panel|modules|module in parallel",
        doc="strings in parallel",
        at_least=1,
    )
    other_arrangements = say.records(
        Arrangement,
        "may be plugged as <series:count> in series [and] <parallel:count> in parallel",
        "or <series:count> in series [and] <parallel:count> in parallel",
        "also <series:count> in series [and] <parallel:count> in parallel",
        tail="<series:count> in series and <parallel:count> in parallel",
        doc="other arrangements that the owner may plug",
    )  # fmt: skip
    owner_may_replug = say.flag(
        "re-pluggable", "owner may re-plug it", "the owner may re-plug it", "may be re-plugged", doc="the owner may re-plug it"
    )
    cells_above_ambient = say.difference(
        "cells <difference> above ambient", "cells <difference> warmer", "cell rise <difference>",
        "cells above ambient by <difference>",
        "cells <difference> above ambient in full sun", "cells <difference> above ambient in sun",
        doc="how much warmer than the air its cells are in full sun",
    )  # fmt: skip
    dark_leakage = say.current(
        "dark leakage <current>", "leakage in the dark <current>", "leaks <current> [in] [the] [dark]",
        "leaks <current> at night",
        doc="current that flows back into it in the dark",
    )  # fmt: skip
    share_left = say.share(
        "share left <share>", "<share> left after losses", "<share> left after dust and heat", "losses leave <share>",
        "keeps <share> after losses",
        "derated to <share>",
        doc="share of its power left after dust, heat, angle and wiring",
    )  # fmt: skip

    @property
    def arrangements(self) -> tuple[Arrangement, ...]:
        """Return how its modules may stand: as drawn, then as its owner may plug them."""
        return (Arrangement(self.in_series or 1, self.in_parallel or 1), *(self.other_arrangements or ()))

    @property
    def lowest(self) -> Arrangement:
        """Return the arrangement of the lowest voltage."""
        return min(self.arrangements, key=lambda way: way.series)

    @property
    def most_in_series(self) -> int:
        """Return how many modules stand in series at most."""
        return max(way.series for way in self.arrangements)

    @property
    def most_in_parallel(self) -> int:
        """Return how many strings stand side by side at most."""
        return max(way.parallel for way in self.arrangements)
