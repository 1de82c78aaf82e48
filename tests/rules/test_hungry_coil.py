"""Rule hungry-coil: the fault catalogue's example H8, hours of states, latching, edges, silence."""

from __future__ import annotations

import pytest

WH = 3600.0
BUILD = """rig "Box", revision 1
site { ambient 12 degC to 30 degC }
battery house { LFP, 4 cells, 100 Ah; usable 90 % }
relay it { 100 A; coil 12 V; COIL }
switch start 5 A
wires 16 AWG, 0.3 m {
  a from house.plus to start.line
  b from start.load to it.coil_plus
  c from it.coil_minus to house.minus
}
"""


def build(coil: str = "coil 1.8 W") -> str:
    return BUILD.replace("COIL", coil)


def test_catalogue_h8(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, H8, Ex: 1.8 W·24 h=43 Wh of 1094=3.9 % -> note: latching type."""
    found = said(build(), "hungry_coil")
    assert found.grades == [("it", "over-a-fiftieth", "note")]
    finding = found.finding("it")
    assert finding.measured.value / WH == pytest.approx(43.2)
    assert finding.limit.value / WH == pytest.approx(0.02 * 1094.4)
    assert "3.95 % of what house can give" in finding.message
    assert finding.remedy == "Use a latching relay, or one whose coil holds with 0.912 W or less."


@pytest.mark.parametrize(("coil", "broken"), [("0.911", False), ("0.912", False), ("0.913", True)])
def test_edge(said, coil: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    assert bool(said(build(f"coil {coil} W"), "hungry_coil").findings) is broken


def test_hours_of_states(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build() + "state working { start closed; for 3 h/day }\nstate off { start open }\n", "hungry_coil")
    assert found.passed("it").measured.value / WH == pytest.approx(5.4)
    assert said(build() + "state working { start closed }\n", "hungry_coil").findings


def test_latching_and_unwired(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build("coil 1.8 W; latching"), "hungry_coil").idle[0].condition.startswith("a latching relay")
    alone = 'rig "Box", revision 1\nbattery house { LFP, 4 cells, 50 Ah }\nrelay it { coil 5 W }\n'
    assert said(alone, "hungry_coil").idle[0].condition == "no battery can be joined to its coil"


@pytest.mark.parametrize(
    ("text", "missing"),
    [
        (build("normally open"), "coil power"),
        (build().replace(", 100 Ah", ""), "capacity of house"),
        (build("coil 0.1 W").replace("12 degC to", "-5 degC to"), "capacity of house at -5 degC"),
    ],
)
def test_missing_data_are_named(said, text: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    assert said(text, "hungry_coil").missing == [("it", "over-a-fiftieth", missing)]
