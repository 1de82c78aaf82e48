"""Physical constants that the circuit needs, as published tables: metals, conductor resistance, cells.

What lives here: whatever lies below rules, so that the circuit can be built from a model: a CSV with a TOML
passport each, and one module for each subject. What may not: limits and ratings (they belong to a rule pack).
To add one, put the two files here and a function into the module of its subject.
"""

from __future__ import annotations

from pathlib import Path

__all__ = ["FOLDER"]

FOLDER = Path(__file__).parent
