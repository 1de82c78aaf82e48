"""I12: what an inverter draws with no load beside the energy of its loads."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

Said = Callable[..., Any]


def van(inverter: str = "idle 20 W", load: str = "60 W; for 20 h/day", hours: str = "20") -> str:
    return f"""rig "Van", revision 1
battery house {{ LFP, 4 cells, 100 Ah; plus on mill.plus; minus on mill.minus }}
inverter mill {{ 2000 W; {inverter} }}
AC load lamp {{ {load}; L on mill.L; N on mill.N }}
state evening {{ lamp on; mill on; for {hours} h/day }}
"""


def test_catalogue_example(said: Said) -> None:
    # Catalogue, I12, Ex: 20 W x 20 h = 400 vs 1200 Wh = 33 % -> note
    found = said(van(), "oversized_inverter")
    assert found.grades == [("mill", "idle-share", "note")]
    finding = found.finding("mill")
    assert finding.measured.value == pytest.approx(400 * 3600)
    assert finding.limit.value == pytest.approx(0.15 * 1200 * 3600)
    assert "33.3 % of what its loads take" in finding.message


@pytest.mark.parametrize(("idle", "broken"), [("9 W", False), ("9.01 W", True)])
def test_edge(said: Said, idle: str, broken: bool) -> None:
    # 0.15 x 1200 Wh / 20 h = 9 W
    assert bool(said(van(f"idle {idle}"), "oversized_inverter").grades) is broken


def test_one_that_sleeps_is_on_as_long_as_its_loads(said: Said) -> None:
    # 20 W x 2 h = 40 Wh against 0.15 x 60 W x 2 h = 18 Wh; 8 W x 2 h = 16 Wh
    assert said(van("idle 20 W; sleeps", "60 W; for 2 h/day"), "oversized_inverter").finding(
        "mill"
    ).measured.value == pytest.approx(40 * 3600)
    assert said(van("idle 8 W; sleeps", "60 W; for 2 h/day"), "oversized_inverter").grades == []


def test_what_is_missing(said: Said) -> None:
    assert said(van(""), "oversized_inverter").missing == [("mill", "idle-share", "draw with no load")]
    assert said(van(load="60 W"), "oversized_inverter").missing == [("mill", "idle-share", "hours a day of lamp")]
    assert said(van(load="for 4 h/day"), "oversized_inverter").missing == [("mill", "idle-share", "power of lamp")]


def test_without_loads(said: Said) -> None:
    alone = said('rig "Van", revision 1\ninverter mill { 300 W; idle 8 W }\n', "oversized_inverter")
    assert [item.condition for item in alone.idle] == ["no AC load hangs on it"]
