"""Ohmwright: a design linter for small DC power systems.

What lives here: circuit, solver, states, study, rule engine, findings, report writers, command line. Rules live in rule packs.
"""

__all__ = ["__version__"]

__version__ = "0.1.0"
