"""The open-circuit voltage of an array at its coldest: by the module's coefficient, and by the NEC table.

Where the module declares a coefficient that must be used; the table is for crystalline silicon without one. The cell is
as cold as the air (a clear morning). Temperatures are degrees Celsius, voltages V.
"""

from __future__ import annotations

from ohmwright.tables import Cell, load

from ohmwright_rules.basis import TABLES

__all__ = ["cold_factor", "cold_voltage"]

_FACTORS = load(TABLES, "nec_690_7")
_STANDARD_CELL = 25.0  # degC, standard test conditions


def cold_voltage(open_circuit: float, coefficient: float, ambient: float) -> float:
    """Return a voltage [V] at an ambient [degC] from its value at 25 degC: U (1 + coefficient (T - 25)).

    `coefficient` is a share a kelvin, negative for silicon. Source: NEC 690.7(A)(1), read at a secondary source.

    >>> round(cold_voltage(49.5, -0.0027, -10), 2)
    54.18
    """
    return open_circuit * (1.0 + coefficient * (ambient - _STANDARD_CELL))


def cold_factor(ambient: float) -> Cell | None:
    """Return the factor on the voltage at 25 degC for the lowest expected ambient; None below -40 degC.

    A value between two bands belongs to the colder one; above 20 degC the warmest band's factor is kept.
    Source: NEC Table 690.7(A), read at secondary sources; the band of -36 to -40 degC is from memory.

    >>> cold_factor(-5.5).value
    1.14
    """
    return _FACTORS.band(ambient, "factor", low="ambient_low_C")
