"""Rule weak-outlet-cord: the fault catalogue's example I9, breakers before the cord, the edge, missing data."""

from __future__ import annotations

import pytest

BUILD = """rig "Cabin", revision 1
BASIS
site { ambient 0 degC to 30 degC }
battery house { LFP, 4 cells, 100 Ah }
inverter power { INVERTER }
breaker limit { RATING; AC only }
AC load tool { 300 W }
wire out from power.L to limit.line { 10 AWG; 0.3 m; 90 degC insulation; in free air }
cable cord { CORD; 90 degC insulation; 2 m; core L from limit.load to tool.L; core N from tool.N to power.N }
"""


def build(
    inverter: str = "1500 W; 120 V AC",
    rating: str = "20 A",
    cord: str = "18 AWG; flexible cord",
    basis: str = "basis us-small-craft",
) -> str:
    return BUILD.replace("INVERTER", inverter).replace("RATING", rating).replace("CORD", cord).replace("BASIS", basis)


def test_catalogue_i9(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, I9, Ex: 1500/120 = 12.5 A vs 18 AWG 10 A -> error."""
    found = said(build(), "weak_outlet_cord").finding("cord")
    assert found.measured is not None and found.limit is not None
    assert found.measured.value == pytest.approx(12.5)
    assert found.limit.value == pytest.approx(10.0)  # NEC 2023, Table 400.5(A)(1): 18 AWG, two conductors


@pytest.mark.parametrize(
    ("inverter", "rating", "cord", "found"),
    [
        ("1200 W; 120 V AC", "20 A", "18 AWG; flexible cord", 0), ("1201 W; 120 V AC", "20 A", "18 AWG; flexible cord", 1),
        ("1500 W; 120 V AC", "10 A", "18 AWG; flexible cord", 0), ("1500 W; 120 V AC", "11 A", "18 AWG; flexible cord", 1),
        ("1500 W; 120 V AC", "20 A", "14 AWG; flexible cord", 0), ("1500 W; 120 V AC", "20 A", "18 AWG; flexible cord; part of a bought device", 0),
    ],
)  # fmt: skip
def test_what_limits(said, inverter: str, rating: str, cord: str, found: int) -> None:  # type: ignore[no-untyped-def]
    assert len(said(build(inverter, rating, cord), "weak_outlet_cord").grades) == found


@pytest.mark.parametrize(
    ("text", "missing"),
    [
        (build(inverter="120 V AC"), "rated power"), (build(inverter="1500 W"), "AC voltage"), (build(basis=""), "basis"),
        (build(cord="flexible cord"), "gauge"),
        (build(inverter="1500 W; 120 V AC", cord="18 AWG"), "kind of cable"),
    ],
)  # fmt: skip
def test_missing_data(said, text: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    assert missing in {item.missing for item in said(text, "weak_outlet_cord").unchecked}
