"""Every planted fault is found, alone with what belongs to it; what lies just inside of a limit stays silent.

Source of what must be found: the predicate of each rule as its page states it, with the clauses named there; the companions were worked out by hand
from the predicates of the other rules and stand beside each planting with their reason.
"""

from __future__ import annotations

import pytest

from faults.gathering import all_plantings, all_rules, family_of_file, grades_by_family, lacking, plantings_by_file
from faults.judging import Verdict, judge, told_of
from faults.pending import PENDING
from faults.planting import Planting


@pytest.mark.parametrize("planting", all_plantings(), ids=lambda planting: planting.id)
def test_planting_is_judged_right(planting: Planting, verdicts: list[Verdict]) -> None:
    verdict = judge(planting)
    verdicts.append(verdict)
    assert not verdict.faults, "\n".join([*verdict.faults, "What is new in the planted build:", *told_of(verdict)])


@pytest.mark.parametrize("family", [family for family in grades_by_family() if family not in PENDING])
def test_every_grade_has_plantings_of_the_right_kinds(family: str) -> None:
    lacks = [words for grade in grades_by_family()[family] if (words := lacking(grade, all_plantings()))]
    assert not lacks, "\n".join(lacks)


def test_pending_families_are_families_that_lack_something() -> None:
    grades = grades_by_family()
    assert set(grades) >= PENDING
    complete = [family for family in sorted(PENDING) if not any(lacking(grade, all_plantings()) for grade in grades[family])]
    assert not complete, f"every grade is planted, take them out of PENDING: {complete}"


def test_plantings_stand_in_the_file_of_their_family() -> None:
    strange = [
        f"{stem}: {planting.grade}"
        for stem, plantings in plantings_by_file().items()
        for planting in plantings
        if planting.grade not in grades_by_family().get(family_of_file(stem), ())
    ]
    assert not strange, strange


def test_companions_are_grades_that_exist() -> None:
    known = {grade for grades in grades_by_family().values() for grade in grades}
    strange = [
        f"{item.id}: {due.grade}" for item in all_plantings() for due in item.also if due.grade not in known or not due.why
    ]
    assert not strange, strange
    assert all_rules()
