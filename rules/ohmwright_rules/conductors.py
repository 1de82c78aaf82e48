"""What the rules about conductors have in common: how a wire is laid in a state, and which currents count."""

from __future__ import annotations

from functools import cache

from ohmwright.circuit.graph import Branch
from ohmwright.study import SolvedState, Study
from ohmwright_grammar.kinds.cable import Cable
from ohmwright_grammar.quantities import Gauge

from ohmwright_rules.basis import Basis, get, names
from ohmwright_rules.laying import Laying, Unknown

__all__ = ["basis_of", "cable_of", "laying_of", "said_of_missing"]

_METALS = {"copper": "copper", "tinned copper": "copper", "aluminium": "aluminium", "copper-clad": "copper-clad"}

# How to say what is missing, for the report: a line of the conductor's own block.
_DECLARE = {
    "gauge": "10 AWG",
    "insulation temperature": "105 degC insulation",
    "metal": "copper",
    "length": "0.3 m long",
    "laying method": "method B1",
}


@cache
def _basis(name: str) -> Basis:
    return get(name)


def basis_of(study: Study) -> Basis | None:
    """Return the basis that counts, None where none is declared or it is not known."""
    return _basis(study.basis_name) if study.basis_name in names() else None


def said_of_missing(missing: str) -> str:
    """Return a line that would declare what is missing, "" where there is no short one."""
    return _DECLARE.get(missing, "")


def cable_of(study: Study, branch: Branch) -> Cable | None:
    """Return the cable that a core belongs to."""
    if branch.part == branch.name:
        return None
    return next((cable for cable in study.of(Cable) if cable.name == branch.part), None)


def laying_of(study: Study, branch: Branch, state: SolvedState | None = None, ambient: float | None = None) -> Laying | Unknown:
    """Return how a conductor is laid, at the temperature of its zone in a state (or at `ambient` [degC]).

    A core of a flexible cord is judged as a cord, with as many loaded cores as the cable has cores that join something.
    """
    conductor = branch.conductor
    assert conductor is not None
    gauge = conductor.gauge
    if not isinstance(gauge, Gauge):
        return Unknown("gauge")
    if ambient is None:
        temperatures = state.temperatures if state is not None else study.networker.temperatures(study.states[0].setup)
        ambient = study.networker.branch_temperature(branch, temperatures)
    cable = cable_of(study, branch)
    is_cord = conductor.cable_kind == "flexible cord"
    together = 1
    bundled = None
    if conductor.bundle is not None:
        together = conductor.bundle.others + 1
        bundled = float(conductor.bundle.over.high) if conductor.bundle.over is not None else None
    if cable is not None and conductor.bundle is None:
        together = max(
            2,
            sum(
                1
                for core in cable.cores or ()
                if core.ends is not None and core.job not in ("earth", "bond", "control", "sense")
            ),
        )
        bundled = float(conductor.length.high) if conductor.length is not None else None
    marking = None
    coil = None
    if cable is not None:
        marking = float(cable.current_marking.low) if cable.current_marking is not None else None
        figures = {figure.how: float(figure.level.nominal) for figure in cable.reel_marking or ()}
        if "wound" in figures and figures.get("unwound"):
            coil = figures["wound"] / figures["unwound"]
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
        cord=is_cord,
        cord_marking=marking,
        coiled=bool(cable is not None and cable.coiled),
        coil_marking=coil,
    )
