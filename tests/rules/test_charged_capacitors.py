"""Rule charged-capacitors: the fault catalogue's example H9, edges, silence."""

from __future__ import annotations

import pytest

BUILD = """rig "Van", revision 1
battery house { LFP, 4 cells, 100 Ah }
inverter it { 600 W; FACTS }
procedure { WAIT }
"""
BOTH = "input capacitance 10 mF; bleed resistor 1 kohm"


def build(facts: str = BOTH, wait: str = "wait 10 s after switch-off") -> str:
    return BUILD.replace("FACTS", facts).replace("WAIT", wait)


def test_catalogue_h9(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, H9, Ex: 1 kΩ·10 mF·5=50 s, label says 10 s -> note."""
    found = said(build(), "charged_capacitors")
    assert found.grades == [("it", "short-wait", "note")]
    finding = found.finding("it")
    assert finding.limit.value == pytest.approx(50)
    assert finding.remedy == "Post a wait of 50 s or more, or use a bleed resistor of 200 ohm or less."


@pytest.mark.parametrize(("wait", "broken"), [("49.9", True), ("50", False), ("50.1", False)])
def test_edge(said, wait: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    assert bool(said(build(wait=f"wait {wait} s after switch-off"), "charged_capacitors").findings) is broken


def test_nothing_that_discharges(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build("input capacitance 10 mF; no bleed resistor"), "charged_capacitors").grades == [
        ("it", "short-wait", "note")
    ]


@pytest.mark.parametrize(
    ("text", "missing"),
    [
        (build("efficiency 88 %"), "input capacitance"),
        (build("input capacitance 10 mF"), "bleed resistor"),
        (build(wait="order posted"), "wait after switch-off"),
    ],
)
def test_missing_data_are_named(said, text: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    assert said(text, "charged_capacitors").missing == [("it", "short-wait", missing)]
