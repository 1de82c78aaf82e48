"""What the rules about conductors have in common: how a wire is laid in a state, how warm its air is, and what it may carry."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Any

from ohmwright.circuit.graph import Branch
from ohmwright.missing import Missing
from ohmwright.references import Step
from ohmwright.states.setup import Setup
from ohmwright.study import SolvedState, Study
from ohmwright_grammar.kinds.cable import Cable
from ohmwright_grammar.kinds.conductor import Conductor
from ohmwright_grammar.quantities import Gauge, Quantity
from ohmwright_grammar.records import replace
from ohmwright_grammar.units import affine

from ohmwright_rules.ampacity import Ampacity, ampacity
from ohmwright_rules.basis import Basis, get, names
from ohmwright_rules.duty import loadings
from ohmwright_rules.kept import kept
from ohmwright_rules.laying import Laying, Unknown

__all__ = [
    "AMBIENT",
    "CABLE_KIND",
    "air_steps",
    "airs_around",
    "basis_of",
    "cable_of",
    "cables_of",
    "gauge_of",
    "is_cord",
    "laying_of",
    "marked_current",
    "named_basis",
    "rated",
    "said_of_missing",
    "temperature_of_air",
    "temperature_of_zone",
    "unsaid_air",
    "unsaid_of",
]

_METALS = {"copper": "copper", "tinned copper": "copper", "aluminium": "aluminium", "copper-clad": "copper-clad"}

AMBIENT = "temperature of the air"
CABLE_KIND = "kind of cable"
_LAY = "how it lies (in free air, or with how many others)"

# How to say what is missing, for the report: a line of the conductor's own block, or of the file.
_DECLARE = {
    "basis": "basis us-small-craft",
    "gauge": "10 AWG",
    "insulation temperature": "105 degC insulation",
    "metal": "copper",
    "length": "0.3 m long",
    "laying method": "method B1",
    "length over which the wires lie together": "with 2 others over 0.4 m",
    "nominal system voltage": "system ~12 V",
    "voltage window": "works on ~10.5 V to ~15 V",
    "the cord's current marking": "marked 16 A",
    CABLE_KIND: "flexible cord",
    AMBIENT: "site { ambient 0 degC to 40 degC }",
    _LAY: "in free air",
}


@cache
def named_basis(name: str) -> Basis:
    """Return a basis by name, read once."""
    return get(name)


def basis_of(study: Study) -> Basis | None:
    """Return the basis that counts, None where none is declared or it is not known."""
    return named_basis(study.basis_name) if study.basis_name in names() else None


def said_of_missing(missing: str) -> str:
    """Return a line that would declare what is missing, "" where there is no short one."""
    if missing.startswith("how the wire is laid"):
        return "in free air"
    return _DECLARE.get(missing, "")


class _Memory:
    """What was worked out of one build before: its cables by name, how conductors are laid, ratings by conductor and temperature, the air of each zone."""

    __slots__ = ("airs", "cables", "hottest", "layings", "ratings")

    def __init__(self, study: Study) -> None:
        self.cables = {cable.name: cable for cable in study.of(Cable)}
        self.airs: dict[str, tuple[tuple[float, bool], ...]] = {}
        self.hottest: dict[str, tuple[float, bool]] = {}
        self.layings: dict[tuple[str, float], Laying | Unknown] = {}
        self.ratings: dict[tuple[object, ...], Ampacity | Unknown] = {}


def _memory(study: Study) -> _Memory:
    return kept(study, _Memory)


def cables_of(study: Study) -> dict[str, Cable]:
    """Return every cable by its name."""
    return _memory(study).cables


def cable_of(study: Study, branch: Branch) -> Cable | None:
    """Return the cable that a core belongs to."""
    return None if branch.part == branch.name else _memory(study).cables.get(branch.part)


def gauge_of(branch: Branch) -> str:
    """Return the size of a conductor as it was declared, "" where it was not."""
    gauge = branch.conductor.gauge if branch.conductor is not None else None
    return gauge.text if isinstance(gauge, Gauge) else ""


def is_cord(conductor: Conductor, cable: Cable | None = None) -> bool:
    """Tell whether a conductor is, or is a core of, a flexible cord, a household cord put to DC use among them."""
    return conductor.cable_kind == "flexible cord" or (cable is not None and cable.household_cord is True)


def temperature_of_air(study: Study, branch: Branch, state: SolvedState | None = None) -> tuple[float, bool]:
    """Return the temperature [degC] of the air around a conductor at its hot end, and whether it was declared.

    Its own where it declares one, else that of its zone in the state, in the hottest one where none is given.
    """
    conductor = branch.conductor
    if conductor is not None and conductor.own_temperature is not None:
        return float(conductor.own_temperature.high), True
    return temperature_of_zone(study, branch.zone, state)


def temperature_of_zone(study: Study, zone: str, state: SolvedState | None = None) -> tuple[float, bool]:
    """Return the temperature [degC] of a zone ("" for outside of all) at its hot end in a state, else in the hottest, and whether it was declared."""
    if state is None and study.states:
        hottest = _memory(study).hottest
        if zone not in hottest:
            seen = [temperature_of_zone(study, zone, each) for each in study.states]
            hottest[zone] = max(degrees for degrees, _ in seen), any(told for _, told in seen)
        return hottest[zone]
    if state is None:
        setup = Setup("", "implied")
        temperatures = study.climate.in_state(setup)
        degrees = temperatures.of(zone)
    else:
        setup, temperatures = state.setup, state.temperatures
        degrees = state.air(zone)
    site = study.climate.site
    told = setup.ambient is not None or (site is not None and site.ambient is not None)
    return degrees, told or zone in temperatures.by_zone or (setup.inside is not None and zone in study.summed_zones)


def airs_around(study: Study, branch: Branch) -> Sequence[tuple[float, bool]]:
    """Return the temperature of the air around a conductor as `temperature_of_air` does, for each of the `loadings`; conductors of one zone share it."""
    conductor = branch.conductor
    if conductor is not None and conductor.own_temperature is not None:
        return (temperature_of_air(study, branch),) * len(loadings(study))
    known = _memory(study).airs
    found = known.get(branch.zone)
    if found is None:
        found = known[branch.zone] = tuple(
            [temperature_of_zone(study, branch.zone, loading.state) for loading in loadings(study)]
        )
    return found


def air_steps(study: Study, zone: str, state: SolvedState) -> tuple[Step, ...]:
    """Return the sum that tells the air of a zone in a closed case in a state; none where it is declared, or no warmer than outside."""
    if zone not in study.summed_zones:
        return ()
    from ohmwright.missing import Missing  # only a build with a closed case asks

    air = study.air(zone, state)
    if isinstance(air, Missing) or air.told or air.used is None or air.used == air.ambient:
        return ()
    steps = tuple(step for step in air.steps if not step.symbol.startswith("P_"))
    if air.used == air.low:
        return steps
    return (*steps, Step("T_air", "the next whole degree", air.used, "degC", "factors are printed for whole degrees"))


def unsaid_air(study: Study, zone: str, state: SolvedState) -> tuple[float, Missing] | None:
    """Return the hottest that the air of a zone in a closed case can be [degC], and the datum for whose lack it could be so hot; None where all was said.

    What is lost where a datum is missing counts as nothing in `temperature_of_zone`.
    """
    if zone not in study.summed_zones:
        return None
    from ohmwright.missing import Missing  # only a build with a closed case asks

    air = study.air(zone, state)
    if isinstance(air, Missing) or air.lacking is None or air.harshest == air.used:
        return None
    lacking = air.lacking
    return air.high if air.harshest is None else air.harshest, lacking


def unsaid_of(study: Study, branch: Branch, state: SolvedState | None = None, *, as_cord: bool = False) -> str:
    """Return a datum that `laying_of` takes at its kindest because nobody declared it, "" where all was said.

    A verdict that passes on it does not stand: without it the wire is not checked (readings.md, Silence). A cord lies by itself.
    """
    conductor = branch.conductor
    assert conductor is not None
    if not temperature_of_air(study, branch, state)[1]:
        return AMBIENT
    if as_cord or is_cord(conductor, cable_of(study, branch)):
        return ""
    alone = conductor.free_air is True or bool(conductor.laying_method)
    return "" if alone or conductor.bundle is not None or conductor.says_none(Conductor.bundle) else _LAY


def marked_current(level: Quantity[Any]) -> float | None:
    """Return a figure of a reel's marking as a current [A], None where it is a power."""
    return float(level.low) if affine("current", level.unit) is not None else None


def _coil_marking(cable: Cable) -> float | None:
    """Return the share of its unwound current that a reel is marked with for use wound up."""
    wound, unwound = cable.reel_wound, cable.reel_unwound
    if wound is None or unwound is None or unwound.level.high <= 0:
        return None
    if (marked_current(wound.level) is None) != (marked_current(unwound.level) is None):
        return None
    return float(wound.level.low) / float(unwound.level.high)


def laying_of(study: Study, branch: Branch, state: SolvedState | None = None, ambient: float | None = None) -> Laying | Unknown:
    """Return how a conductor is laid, at the temperature of its zone in a state (or at `ambient` [degC]).

    A core of a flexible cord is judged as a cord, with as many loaded cores as the cable has cores that join something.
    Where nothing is said of the air or of what it lies with, the kindest is taken: `unsaid_of` names it.
    """
    if ambient is None:
        ambient = temperature_of_air(study, branch, state)[0]
    known = _memory(study).layings
    key = (branch.name, ambient)
    found = known.get(key)
    if found is None:
        found = known[key] = _laying(study, branch, ambient)
    return found


def _laying(study: Study, branch: Branch, ambient: float) -> Laying | Unknown:
    conductor = branch.conductor
    assert conductor is not None
    gauge = conductor.gauge
    if not isinstance(gauge, Gauge):
        return Unknown("gauge")
    cable = cable_of(study, branch)
    cord = is_cord(conductor, cable)
    together = 1
    bundled = None
    if conductor.bundle is not None:
        together = conductor.bundle.others + 1
        bundled = float(conductor.bundle.over.high) if conductor.bundle.over is not None else None
    if cable is not None:
        cores = _loaded_cores(cable)
        if cord or cores >= together:
            together = cores
            bundled = float(conductor.length.high) if conductor.length is not None else None
    marking = coil = None
    if cable is not None:
        marking = float(cable.current_marking.low) if cable.current_marking is not None else None
        coil = _coil_marking(cable)
    temperature = conductor.insulation_temperature
    voltages = [study.highest_voltage[node] for node in (branch.start, branch.end) if node in study.highest_voltage]
    return Laying(
        gauge=gauge.text,
        area=float(gauge.area),
        ambient=ambient,
        insulation=float(temperature.low) if temperature is not None else None,
        metal=_METALS[conductor.metal] if conductor.metal is not None else "copper",
        together=together,
        bundled_length=bundled,
        in_conduit=bool(conductor.in_conduit),
        in_free_air=bool(conductor.free_air),
        sheathed=cable is not None or bool(conductor.enclosed),
        method=conductor.laying_method or "",
        voltage=max(voltages) if voltages else study.system_voltage,
        cord=cord,
        cord_marking=marking,
        coiled=bool(cable is not None and cable.coiled),
        coil_marking=coil,
    )


def _loaded_cores(cable: Cable) -> int:
    """Return how many cores of a cable carry current: those that join something, protective and control cores left out."""
    cores = (core for core in cable.cores or () if core.ends is not None)
    return max(2, sum(1 for core in cores if core.job not in ("earth", "bond", "control", "sense")))


def rated(
    study: Study, basis: Basis, branch: Branch, ambient: float, *, as_coiled: bool = False, as_cord: bool = False
) -> Ampacity | Unknown:
    """Return what a conductor may carry in air of a temperature [degC], remembered for the build.

    With `as_coiled` a cable counts as used wound up, with `as_cord` as a flexible cord, whatever is said of it.
    """
    ratings = _memory(study).ratings
    key = (branch.name, basis.name, ambient, as_coiled, as_cord)
    found = ratings.get(key)
    if found is None:
        laying = laying_of(study, branch, ambient=ambient)
        if not isinstance(laying, Unknown) and (as_coiled or as_cord):
            laying = replace(laying, coiled=laying.coiled or as_coiled, cord=laying.cord or as_cord)
        found = ratings[key] = laying if isinstance(laying, Unknown) else ampacity(basis, laying)
    return found
