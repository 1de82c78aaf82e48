"""Planted faults: one fault at a time is put into a clean build, and what the linter says of it is judged.

Here live the edits (`edits.py`, `known.py`, `finding_things.py`), the record of a planting with the short ways to write several (`planting.py`), the inspection
(`inspecting.py`), the verdict (`judging.py`) and the gathering of everything under `plantings/` (`gathering.py`). No planting lives here: each
family of rules has its file in `plantings/`. README.md says how to write one.
"""

from faults.edits import Edit, PlantingError, add, beside, drop, in_state, instead, replace_text, say, site, unsay
from faults.known import known
from faults.planting import Companion, Planting, also, threefold, unchecked, yes_no

__all__ = [
    "Companion",
    "Edit",
    "Planting",
    "PlantingError",
    "add",
    "also",
    "beside",
    "drop",
    "in_state",
    "instead",
    "known",
    "replace_text",
    "say",
    "site",
    "threefold",
    "unchecked",
    "unsay",
    "yes_no",
]
