"""One cause, one finding: when a finding yields to another."""

from __future__ import annotations

import pytest
from ohmwright.engine import _yield
from ohmwright.findings import Finding, Severity
from ohmwright.judging import judged
from ohmwright.references import Reference
from ohmwright.results import Judged
from ohmwright.rules import Grade, Rule, Yield
from ohmwright_grammar.spans import Span

READ = Reference("a standard", "", "", "read")


def _found(rule: str, severity: Severity, subject: tuple[str, ...], state: str = "on") -> Judged:
    made = Rule(rule, rule, "x", "x", (), (Grade("g", severity, "it is"),), (READ,))
    return judged("box.rig", made, Finding("g", subject, rule, Span("box.rig", 1, 1, 1, 2), state=state))


@pytest.mark.parametrize(
    ("winner", "loser", "beside", "yields"),
    [
        (("out", "out.1"), ("out", "out.1"), False, True),
        (("out", "out.1"), ("out", "out.2"), False, True),
        (("out", "out.1"), ("out", "out.1"), True, True),
        (("out", "out.1"), ("out", "out.2"), True, False),
        (("out",), ("out",), True, False),
        (("loop", "out.1"), ("out", "out.1"), True, True),
        (("out.1", "out"), ("out", "out.2"), True, False),
        (("feed",), ("tail",), False, False),
    ],
)
def test_names_that_must_be_shared(winner: tuple[str, ...], loser: tuple[str, ...], beside: bool, yields: bool) -> None:
    both = [_found("cause", Severity.ERROR, winner), _found("consequence", Severity.ERROR, loser)]
    standing, yielded = _yield(both, (Yield("cause", "consequence", beside),), {})
    assert [item.rule.id for item in yielded] == (["consequence"] if yields else [])
    assert len(standing) + len(yielded) == 2
