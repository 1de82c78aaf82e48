"""Builds into which faults are planted: silent above a note, and the same when they are written back as text.

Source: as for the clean builds of `examples/clean/`, reading the build.
"""

from __future__ import annotations

import pytest
from ohmwright.findings import Severity
from ohmwright.results import BuildResult

from faults.gathering import all_plantings
from faults.inspecting import base_names, base_result, printed_base_result
from faults.planting import TODAY

REACHED = sorted({planting.base for planting in all_plantings() if planting.reached})


def _said(build: BuildResult) -> list[tuple[str, ...]]:
    """Return everything that was said of a build, without the places of its text."""
    return sorted(
        [
            *(
                ("found", item.severity.word, *item.key, str(item.finding.measured))
                for item in (*build.findings, *build.waived)
            ),
            *(
                ("unchecked", item.rule.id, item.grade.name, *item.outcome.subject, item.outcome.missing)
                for item in build.not_checked
            ),
            *(
                ("passed", item.rule.id, item.passed.grade, *item.passed.subject, str(item.passed.measured))
                for item in build.passes
            ),
            *(("idle", rule, item.condition, str(item.count)) for rule, item in build.does_not_apply),
        ]
    )


@pytest.mark.parametrize("name", base_names())
def test_base_is_silent_and_says_the_same_when_written_back(name: str) -> None:
    for reached in (False, True) if name in REACHED else (False,):
        build = base_result(name, reached, TODAY, "")
        assert not build.partial
        assert [
            item.key for item in (*build.findings, *build.waived, *build.yielded) if item.severity is not Severity.NOTE
        ] == []
        assert _said(printed_base_result(name, reached, TODAY)) == _said(build)
