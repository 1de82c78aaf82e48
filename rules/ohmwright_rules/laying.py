"""A conductor, how it is laid, and the row of a table that its size takes."""

from __future__ import annotations

from ohmwright.constants.metals import conductivity_share
from ohmwright.references import Step
from ohmwright.tables import Cell, Table
from ohmwright_grammar.quantities import Gauge
from ohmwright_grammar.records import record, replace

__all__ = ["Laying", "Unknown", "area_of_row", "row_of_size", "size_of_row"]

_SLACK = 1e-9
_SHORT_BUNDLE = 0.6  # m, NEC 310.15(C)(1): a shorter bundle needs no factor


@record
class Unknown:
    """A value that cannot be told, because this datum or published value is missing."""

    missing: str


@record
class Laying:
    """A conductor and how it is laid. None and empty words mean undeclared.

    `gauge` is as in a build ("10 AWG", "2/0 AWG", "2.5 mm2") and `area` its nominal metal area [m2].
    `insulation` and `ambient` are degrees Celsius, `ambient` the hottest air around the wire. `together`
    counts the loaded conductors that lie together with this one, itself included (a pair counts two),
    over `bundled_length` [m]. `method` is a reference method of the basis (A1 to F). `voltage` is the
    highest the conductor sees [V].

    For a flexible cord (`cord`) `cord_type` is "cord" or "portable power cable", `together` its loaded
    cores, and `cord_marking` the current marked on it [A]. `coil_marking` is the ratio of the wound to
    the unwound value marked on a reel. `use` is "array" for the leads of an array.
    """

    gauge: str
    area: float
    ambient: float
    insulation: float | None = None
    metal: str = "copper"
    together: int = 1
    bundled_length: float | None = None
    in_conduit: bool = False
    in_free_air: bool = False
    sheathed: bool = False
    method: str = ""
    voltage: float | None = None
    cord: bool = False
    cord_type: str = "cord"
    cord_marking: float | None = None
    coiled: bool = False
    coil_marking: float | None = None
    use: str = ""

    @property
    def metric(self) -> bool:
        """Tell whether the size is given in mm2."""
        return self.gauge.endswith("mm2")

    @property
    def ways(self) -> tuple[str, ...]:
        """Name the ways of laying by which a basis may choose its tables, best first; none if undeclared.

        A declared method counts first. A pair in free air, and a wire of a bundle of at most 0.6 m, is in
        free air.
        """
        method = (self.method,) if self.method else ()
        if self.in_conduit:
            return (*method, "cable in conduit", "conduit") if self.sheathed else (*method, "conduit")
        short = self.bundled_length is not None and self.bundled_length <= _SHORT_BUNDLE + _SLACK
        if self.in_free_air and (self.together <= 2 or short):
            return (*method, "free air")
        return (*method, "bundle") if self.together > 1 or self.in_free_air else method

    def by_itself(self, ambient: float, insulation: float) -> Laying:
        """Return the conductor as one of a pair in air of a temperature, with insulation for a temperature [degC]: as tables take it before their factors."""
        return replace(self, ambient=ambient, insulation=insulation, coiled=False, together=2, bundled_length=None)


def row_of_size(table: Table, column: str, gauge: str, area: float, metal: str) -> tuple[Cell, tuple[Step, ...]] | Unknown:
    """Find the row of a size (as in a `Laying`): its own, else that of the next smaller area, said in a step.

    Aluminium and copper-clad aluminium take the row of their copper area of equal conductance.
    """
    share = 1.0 if metal in ("copper", "tinned") else conductivity_share(metal)
    copper = area * share * 1e6
    key = gauge.removesuffix(" AWG").removesuffix(" mm2")
    if share == 1.0 and size_of_row(table, key) == gauge and table.row(key) is not None:
        cell = table.cell(key, column)
        if cell is not None:
            return cell, ()
        return Unknown(f"published rating of {gauge} in {table.reference}, column {column}")
    smaller = [cell for cell in table.cells(column) if area_of_row(table, cell.row) <= copper * (1 + _SLACK)]
    if not smaller:
        return Unknown(f"published rating of {gauge} in {table.reference}")
    cell = max(smaller, key=lambda cell: area_of_row(table, cell.row))
    as_copper = "" if share == 1.0 else f", {metal} as {copper:.3g} mm2 of copper"
    words = f"{gauge}{as_copper} takes the row of {size_of_row(table, cell.row)}, the next smaller"
    return cell, (Step("S", words, area_of_row(table, cell.row), "mm2", str(table.reference)),)


def size_of_row(table: Table, key: str) -> str:
    """Name a row of a table as a build does."""
    return f"{key} AWG" if table.columns[0] == "awg" else f"{key} mm2"


def area_of_row(table: Table, key: str) -> float:
    """Return the nominal area of a row [mm2]."""
    if table.columns[0] != "awg":
        return float(key)
    number = 1 - int(key[0]) if key.endswith("/0") else int(key)
    return Gauge.from_awg(number).area * 1e6
