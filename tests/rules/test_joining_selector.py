"""Rule joining-selector: the fault catalogue's example H6, positions, devices, rules on paper, edges, silence."""

from __future__ import annotations

import pytest

BUILD = """rig "Two batteries", revision 1
battery one { rest 13.5 V at 100 %, 12.1 V at 0 %; internal resistance R1 }
battery two { rest 13.5 V at 100 %, 12.1 V at 0 %; internal resistance 11 mohm }
selector it { FACTS; position first joins a; position both joins a, b; position off joins nothing }
wire w1 from one.plus to it.a
wire w2 from two.plus to it.b
wire w3 from one.minus to two.minus
"""


def build(facts: str = "carries 50 A", resistance: str = "11 mohm") -> str:
    return BUILD.replace("FACTS", facts).replace("R1", resistance)


def test_catalogue_h6(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, H6, Ex: 13.5 V and 12.1 V packs, 22 mΩ: 1.4/0.022=63.6 A vs 50 A switch -> error."""
    found = said(build(), "joining_selector")
    assert found.grades == [("it", "over-rating", "error")]
    assert found.finding("it").measured.value == pytest.approx(63.636, abs=0.001)
    assert found.finding("it").state == "it at both"


@pytest.mark.parametrize(("rating", "broken"), [("63.6", True), ("63.7", False)])
def test_edge(said, rating: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    assert bool(said(build(f"carries {rating} A"), "joining_selector").findings) is broken


def test_a_posted_rule_makes_a_warning_and_a_device_a_pass(said) -> None:  # type: ignore[no-untyped-def]
    """Readings, C6: a posted joining rule makes an error a warning, a device makes it pass. 63.6 A x 0.2/1.4 = 9.1 A."""
    found = said(build() + "procedure { join packs within 0.2 V }\n", "joining_selector")
    assert found.grades == [("it", "by-rule", "warning")]
    assert "it is 9.09 A" in found.finding("it").message
    assert said(build() + "procedure { join packs within 1.3 V }\n", "joining_selector").grades == [
        ("it", "over-rating", "error")
    ]
    assert said(build("carries 50 A; joins through a current limiter"), "joining_selector").passed("it")


def test_no_position_joins_them(said) -> None:  # type: ignore[no-untyped-def]
    text = build().replace("position both joins a, b", "position both joins b")
    assert [item.condition for item in said(text, "joining_selector").idle] == ["no position joins two batteries side by side"]


@pytest.mark.parametrize(
    ("text", "missing"),
    [
        (build("within reach"), "current that it carries for long"),
        (build(resistance="at most 11 mohm"), "measured internal resistance of one"),
        (
            build().replace("rest 13.5 V at 100 %, 12.1 V at 0 %; internal resistance 11 mohm", "internal resistance 11 mohm"),
            "chemistry and cells of one",
        ),
    ],
)
def test_missing_data_are_named(said, text: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    found = said(text, "joining_selector")
    assert found.missing == [("it", "over-rating", missing)]
