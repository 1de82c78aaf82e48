"""The circuit solver: numbers only, no model, no rules, no text.

What lives here: elements of a network between numbered nodes, the sparse elimination, Newton's steps, the modes of
controllers and chargers, the search for the fold, photovoltaic curves. What may not: anything that knows of parts, wires,
states, tables of ratings or units other than SI.
"""

from __future__ import annotations

from .elements import (
    Array,
    Charger,
    Converter,
    CurrentLoad,
    CurrentSource,
    Diode,
    Element,
    Emf,
    Network,
    PowerLoad,
    Resistor,
    SeriesController,
    Tracker,
)
from .operation import Conflict, Fold, Island, Operation, Port
from .solver import Solver

__all__ = [
    "Array",
    "Charger",
    "Conflict",
    "Converter",
    "CurrentLoad",
    "CurrentSource",
    "Diode",
    "Element",
    "Emf",
    "Fold",
    "Island",
    "Network",
    "Operation",
    "Port",
    "PowerLoad",
    "Resistor",
    "SeriesController",
    "Solver",
    "Tracker",
]
