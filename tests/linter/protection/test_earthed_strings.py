"""In a series string whose plus end is earthed every battery is live at its minus, the inner ones too."""

from __future__ import annotations

from typing import Any


def _string(net: Any) -> Any:
    box = net().source("upper", minus="upper.minus").source("lower", minus="lower.minus").source("beside", minus="under.plus")
    box.wire("link", "lower.plus", "upper.minus", 0.3)
    box.source("under", minus="lower.minus")
    box.wire("top", "upper.plus", "bus", 1.0).wire("third", "beside.plus", "bus", 1.0).wire("bottom", "lower.minus", "n", 1.0)
    return box


def test_the_pole_that_lies_further_from_earth_is_live(net: Any) -> None:
    box = _string(net)
    box.cases.add("case")
    box.join("case", "bus")
    assert {pole.source.name: pole.backwards for pole in box.protection().poles.all} == {
        "upper": True,
        "lower": True,
        "beside": True,
        "under": True,
    }
    standing = {branch.name: box.protection().standing(branch) for branch in box.branches if branch.conductor is not None}
    assert standing == {"link": "live", "bottom": "live", "top": "return", "third": "return"}


def test_with_the_minus_end_earthed_or_nothing_it_is_the_plus(net: Any) -> None:
    box = _string(net)
    assert not any(pole.backwards for pole in box.protection().poles.all)
    box.cases.add("case")
    box.join("case", "lower.minus")
    assert not any(pole.backwards for pole in box.protection().poles.all)
