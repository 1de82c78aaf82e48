"""Everything under `plantings/`, found by its folder, and the grades that there are."""

from __future__ import annotations

from collections import Counter
from functools import cache
from importlib import import_module
from pathlib import Path

from ohmwright.engine import every_rule
from ohmwright.rules import Rule, installed_packs

from faults.planting import Planting

__all__ = ["FOLDER", "all_plantings", "all_rules", "family_of_file", "grades_by_family", "lacking"]

FOLDER = Path(__file__).with_name("plantings")


def family_of_file(stem: str) -> str:
    """Return the family whose plantings a file holds: "conductors" of conductors.py and of conductors_cords.py."""
    return stem.partition("_")[0]


@cache
def plantings_by_file() -> dict[str, tuple[Planting, ...]]:
    """Return the plantings of each file of the folder, in name order."""
    files = sorted(file.stem for file in FOLDER.glob("*.py") if file.stem != "__init__")
    return {stem: tuple(import_module(f"faults.plantings.{stem}").PLANTINGS) for stem in files}


def all_plantings() -> tuple[Planting, ...]:
    """Return every planting, in the order of the files; AssertionError where two have one id."""
    found = tuple(planting for plantings in plantings_by_file().values() for planting in plantings)
    twice = [name for name, count in Counter(planting.id for planting in found).items() if count > 1]
    assert not twice, f"these ids stand twice, give them tags: {twice}"
    return found


@cache
def all_rules() -> dict[str, Rule]:
    """Return every rule of the built-in pack and of the linter itself, by its id."""
    return every_rule(pack for pack in installed_packs() if pack.name == "ohmwright")


def grades_by_family() -> dict[str, tuple[str, ...]]:
    """Return "rule.grade" of every grade that can be planted into a build, by the family of its rule."""
    found: dict[str, list[str]] = {}
    for rule in all_rules().values():
        found.setdefault(rule.family, []).extend(f"{rule.id}.{grade.name}" for grade in rule.grades)
    return {family: tuple(sorted(grades)) for family, grades in sorted(found.items())}


def lacking(grade: str, plantings: tuple[Planting, ...]) -> str:
    """Return what a grade lacks: one planting each inside, over and far, or two different wrong ones and a silent one; "" where nothing."""
    own = [planting for planting in plantings if planting.grade == grade]
    hows = {planting.how for planting in own}
    wrong = {tuple(edit.words for edit in planting.edits) for planting in own if planting.how == "wrong"}
    if {"inside", "over", "far"} <= hows or (len(wrong) >= 2 and "silent" in hows):
        return ""
    return f"{grade}: {', '.join(sorted(hows)) or 'no planting'}"
