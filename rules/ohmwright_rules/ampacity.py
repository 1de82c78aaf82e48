"""How much current a conductor may carry under a basis: table value times ambient, bundling and coil factors.

Pure functions of plain values: areas in m2, lengths in m, currents in A, voltages in V, temperatures in
degrees Celsius. Every result keeps its working (one step for each factor) and its references; where a
datum is missing the result is an `Unknown` that names it. Choices that the sources leave open are made
on the side that protects and are written down at the function that makes them.
"""

from __future__ import annotations

import math
from functools import lru_cache

from ohmwright.references import Reference, Step, is_remembered, weakest
from ohmwright_grammar.records import record

from ohmwright_rules.basis import Basis, Number
from ohmwright_rules.derating import ambient_factor, bundling_factor, coil_factor
from ohmwright_rules.laying import Laying, Unknown
from ohmwright_rules.table_values import TableValue, cord_value, terminal_value, wire_value

__all__ = [
    "Ampacity",
    "Demand",
    "Laying",
    "Unknown",
    "ampacity",
    "conductor_temperature",
    "demand",
    "terminal_ampacity",
]

_SLACK = 1e-9


@record
class Ampacity:
    """The current that a conductor may carry [A], with its working.

    `table_value` is the published value before any factor, `insulation` the temperature of its column
    [degC] and `row` its row. `value` is the product with `ambient_factor`, `bundling_factor` and
    `coil_factor`; `unwound` leaves the coil factor out. The first of `references` is that of the table.
    """

    value: float
    unwound: float
    table_value: float
    row: str
    insulation: float
    ambient_factor: float
    bundling_factor: float
    coil_factor: float
    cord: bool
    steps: tuple[Step, ...]
    references: tuple[Reference, ...]

    @property
    def reference(self) -> Reference:
        """The document of the table value."""
        return self.references[0]

    @property
    def weakest(self) -> Reference:
        """The reference of the weakest standing among its figures."""
        return weakest(self.references) or self.references[0]

    @property
    def remembered(self) -> bool:
        """Tell whether any of its figures is from memory, so that a limit on it is at most a warning."""
        return is_remembered(self.weakest)


@record
class Demand:
    """The ampacity that a current asks for [A]: of the table's value and of the corrected one."""

    table: float
    corrected: float
    steps: tuple[Step, ...]
    references: tuple[Reference, ...]


@lru_cache(maxsize=8192)
def ampacity(basis: Basis, laying: Laying) -> Ampacity | Unknown:
    """Return the corrected ampacity of a conductor, or what is missing to tell it.

    Table of the basis by insulation temperature (between two columns the lower) and way of laying, times
    ambient, bundling and coil factor. A size of the other system of gauges, and one that the table does
    not list, takes the row of the next smaller area; aluminium and copper-clad aluminium that of the
    copper area of equal conductance. The ambient factor of a cord goes by the temperature of its table,
    else of its insulation; up to the reference ambient an undeclared one does not matter.

    Source: the tables that the basis names; 33 CFR 183.425(b), NEC 310.15, IEC 60364-5-52.

    >>> from ohmwright_rules.basis import get
    >>> wire = Laying("14 AWG", 2.081e-6, ambient=30.0, insulation=75.0, together=6, bundled_length=2.0, voltage=14.6)
    >>> ampacity(get("us-small-craft"), wire).value
    16.0
    """
    base = cord_value(basis, laying) if laying.cord else wire_value(basis, laying)
    if isinstance(base, Unknown):
        return base
    if base.insulation is None and laying.ambient > basis.reference_ambient.value + _SLACK:
        return Unknown("insulation temperature")
    ambient = None if base.insulation is None else ambient_factor(basis, base.insulation, laying.ambient)
    bundling = base.cores if laying.cord else bundling_factor(basis, laying)
    if isinstance(bundling, Unknown):
        return bundling
    coil = coil_factor(basis, laying)
    factors = [factor for factor in (ambient, bundling, coil) if factor is not None]
    product = base.current * math.prod(factor.value for factor in factors)
    expression = " x ".join(f"{number:.4g}" for number in (base.current, *(factor.value for factor in factors)))
    result = Step("I_z", expression, product, "A", "table value times its factors")
    return Ampacity(
        value=product,
        unwound=base.current * math.prod(factor.value for factor in (ambient, bundling) if factor is not None),
        table_value=base.current,
        row=base.row,
        insulation=base.class_temperature,
        ambient_factor=ambient.value if ambient else 1.0,
        bundling_factor=bundling.value if bundling else 1.0,
        coil_factor=coil.value if coil else 1.0,
        cord=laying.cord,
        steps=(*base.steps, *(factor.step for factor in factors), result),
        references=(*base.references, *(reference for factor in factors for reference in factor.references)),
    )


def terminal_ampacity(basis: Basis, laying: Laying, temperature: float | None, current: float) -> Ampacity | Unknown | None:
    """Return the table value at the temperature of the cooler terminal [degC], no factors; None for a cord.

    Between two columns the lower holds. An unmarked terminal (None) is taken at 60 degC up to 100 A and
    at 75 degC above. Source: NEC 110.14(C)(1); on the other bases borrowed.
    """
    if laying.cord:
        return None
    if temperature is not None:
        base = terminal_value(basis, laying, temperature)
        return base if isinstance(base, Unknown) else _uncorrected(base)
    low = current <= basis.terminal_current.value + _SLACK
    number = basis.terminal if low else basis.terminal_above
    base = terminal_value(basis, laying, number.value)
    if isinstance(base, Unknown):
        return base
    words = f"unmarked terminal, {'up to' if low else 'above'} {basis.terminal_current.value:g} A"
    assumed = Step("T_terminal", words, number.value, "degC", number.source)
    return _uncorrected(base, (assumed,), (number.reference,))


def _uncorrected(base: TableValue, steps: tuple[Step, ...] = (), references: tuple[Reference, ...] = ()) -> Ampacity:
    return Ampacity(
        value=base.current,
        unwound=base.current,
        table_value=base.current,
        row=base.row,
        insulation=base.class_temperature,
        ambient_factor=1.0,
        bundling_factor=1.0,
        coil_factor=1.0,
        cord=False,
        steps=(*steps, *base.steps),
        references=(*base.references, *references),
    )


def demand(basis: Basis, continuous: float, other: float = 0.0, use: str = "") -> Demand:
    """Return what a current asks of a conductor: `continuous` (3 h and more) and `other` current [A].

    For `use` "array" the current is the sum of short-circuit currents.

    >>> from ohmwright_rules.basis import get
    >>> demand(get("us-premises"), 16.0, 4.0).table
    24.0
    >>> demand(get("us-premises"), 10.0, use="array").table
    15.625
    """
    if use == "array":
        table, corrected = basis.array_conductor, basis.array_current
    else:
        table, corrected = basis.continuous, basis.corrected
    of_table = _demand_step("I_table", table, continuous, other)
    of_corrected = _demand_step("I_corrected", corrected, continuous, other)
    return Demand(
        table=table.value * continuous + other,
        corrected=corrected.value * continuous + other,
        steps=(of_table, of_corrected),
        references=(table.reference, corrected.reference),
    )


def _demand_step(symbol: str, number: Number, continuous: float, other: float) -> Step:
    rest = f" + {other:.4g}" if other else ""
    value = number.value * continuous + other
    return Step(symbol, f"{number.value:.5g} x {continuous:.4g}{rest}", value, "A", number.source)


def conductor_temperature(rating: Ampacity, current: float, ambient: float, reference_ambient: float = 30.0) -> float:
    """Return the temperature of a loaded conductor [degC]: T + (I / I_table)^2 (T_ins - T_ref).

    `rating.table_value` is the current that heats it from the reference ambient to its column's
    temperature. Source: the law of the temperature rise, from memory.
    """
    return ambient + (current / rating.table_value) ** 2 * (rating.insulation - reference_ambient)
