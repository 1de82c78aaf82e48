"""How bad a finding is: the severity of its grade, and what lowers it."""

from __future__ import annotations

import pytest
from ohmwright.engine import judged
from ohmwright.findings import Finding, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright_grammar.spans import Span

READ = Reference("a standard", "", "", "read")
REMEMBERED = Reference("a standard", "", "", "from-memory")
RULE = Rule(
    "too-hot", "Too hot", "heat", "part", ("L5",), (Grade("over", Severity.ERROR, "it is hotter than allowed"),), (READ,)
)


@pytest.mark.parametrize(
    ("reference", "at_most", "setting", "expected"),
    [
        (READ, None, None, Severity.ERROR),
        (REMEMBERED, None, None, Severity.WARNING),
        (READ, Severity.NOTE, None, Severity.NOTE),
        (READ, Severity.ERROR, None, Severity.ERROR),
        (REMEMBERED, Severity.NOTE, None, Severity.NOTE),
        (READ, None, Severity.WARNING, Severity.WARNING),
        (READ, Severity.NOTE, Severity.ERROR, Severity.NOTE),
        (REMEMBERED, None, Severity.ERROR, Severity.ERROR),
    ],
)
def test_the_lowest_bound_counts(
    reference: Reference, at_most: Severity | None, setting: Severity | None, expected: Severity
) -> None:
    finding = Finding("over", ("lamp",), "too hot", Span("box.rig", 1, 1, 1, 2), reference=reference, at_most=at_most)
    settings = {"too-hot.over": setting} if setting is not None else None
    assert judged("box.rig", RULE, finding, settings).severity == expected
