"""What heat the insulation of a conductor bears while a short flows: k2 S2, for times up to 5 s, in which no heat leaves the copper.

The factor k goes from the temperature under full load to what the insulation bears for seconds. Pure functions of plain values.
"""

from __future__ import annotations

from functools import lru_cache
from math import floor, log, pi, sqrt
from pathlib import Path

from ohmwright import tables
from ohmwright.circuit.graph import Branch
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.study import Study
from ohmwright_grammar.quantities import Gauge
from ohmwright_grammar.records import record

from ohmwright_rules.conductors import cable_of, is_cord, said_of_missing

__all__ = ["LONGEST", "Withstand", "awg_at_least", "factor", "withstand_of"]

LONGEST = 5.0  # s: beyond, heat leaves the copper and the formula says nothing (IEC 60364-4-43)
_TABLES = Path(__file__).with_name("tables")
_LARGE = 300.0  # mm2: above, thermoplastic bears 140 degC only
_CORD = 70.0  # degC: cords count as thermoplastic of 70 degC (readings.md, F)
_OFFSET = 234.5  # degC: copper
_COPPER = 226.0  # A.s^0.5/mm2: the constant of the formula for copper
_ENDS = {"thermoplastic": 160.0, "XLPE": 250.0, "rubber": 220.0, "silicone": 350.0}  # degC: final temperatures of the table
_FAMILIES = {
    "PVC": "thermoplastic", "thermoplastic": "thermoplastic", "XLPE": "XLPE", "thermoset": "XLPE", "rubber": "rubber",
    "silicone": "silicone",
}  # fmt: skip
_ROWS = {"XLPE": ("XLPE or EPR 90",), "rubber": ("rubber 60", "rubber 85"), "silicone": ("silicone rubber 180",)}


@record
class Withstand:
    """The heat that a conductor bears [A2s], with its working; `area` in mm2, `k` in A.s^0.5/mm2."""

    value: float
    area: float
    k: float
    step: Step
    reference: Reference


@lru_cache(maxsize=256)
def factor(family: str, degrees: float, area: float) -> tuple[float, str, Reference]:
    """Return k [A.s^0.5/mm2] of insulation rated for a temperature [degC], and where it comes from.

    Between two rows the hotter one counts, which gives less; above the hottest the formula itself.

    >>> factor("thermoplastic", 70, 1.5)[0], factor("thermoplastic", 80, 1.5)[0], factor("XLPE", 90, 16)[0]
    (115.0, 100.0, 143.0)
    """
    table = tables.load(_TABLES, "short_circuit_k")
    size = "over" if area > _LARGE else "up to"
    rows = _ROWS.get(family) or tuple(key for key in table.keys if key.startswith("thermoplastic") and size in key)
    hotter = []
    for key in rows:
        initial, cell = table.cell(key, "initial_C"), table.cell(key, "k")
        if initial is not None and cell is not None and initial.value >= degrees - 1e-9:
            hotter.append((initial.value, cell))
    if hotter:
        _, cell = min(hotter, key=lambda item: item[0])
        return cell.value, cell.place, cell.reference
    final = 140.0 if family == "thermoplastic" and size == "over" else _ENDS[family]
    value = _COPPER * sqrt(log((_OFFSET + final) / (_OFFSET + degrees))) if degrees < final else 0.0
    return (
        value,
        f"by the formula, from {degrees:g} to {final:g} degC",
        Reference(table.reference.document, "", "formula", "computed"),
    )


def awg_at_least(area: float) -> str:
    """Return the smallest even gauge of at least an area [mm2], by d = 0.127 mm x 92^((36 - n) / 39).

    >>> awg_at_least(2.08), awg_at_least(2.09), awg_at_least(60.0)
    ('14 AWG', '12 AWG', '2/0 AWG')
    """
    if not 0.0 < area < float("inf"):
        return "no gauge"
    number = 36.0 - 39.0 * log(2.0 * sqrt(area / pi) / 0.127) / log(92.0)
    gauge = floor(number + 1e-9)
    gauge -= gauge % 2 if gauge > 0 else 0
    return f"{gauge} AWG" if gauge > 0 else f"{1 - gauge}/0 AWG"


def withstand_of(study: Study, wire: Branch) -> Withstand | Missing:
    """Return the heat that a conductor bears, or the datum that is missing for it."""
    conductor = wire.conductor
    assert conductor is not None
    gauge, degrees = conductor.gauge, conductor.insulation_temperature
    if not isinstance(gauge, Gauge):
        return Missing("gauge", wire.span, said_of_missing("gauge"))
    if conductor.metal not in (None, "copper", "tinned copper"):
        return Missing(f"factor k of {conductor.metal}", wire.span)
    area = float(gauge.area) * 1e6
    cord = is_cord(conductor, cable_of(study, wire))
    family = _FAMILIES.get(conductor.insulation_material or "thermoplastic")
    if family is None:
        return Missing(f"factor k of {conductor.insulation_material}", wire.span)
    if cord:
        family, temperature = "thermoplastic", _CORD
    elif degrees is None:
        return Missing("insulation temperature", wire.span, said_of_missing("insulation temperature"))
    else:
        temperature = float(degrees.low)
    k, place, reference = factor(family, temperature, area)
    value = (k * area) ** 2
    step = Step("k2S2", f"({k:.4g} x {area:.4g} mm2)^2", value, "A2s", f"{place}, up to 5 s")
    return Withstand(value, area, k, step, reference)
