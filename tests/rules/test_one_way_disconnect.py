"""Rule one-way-disconnect: the fault catalogue's example B10 end to end, what lies behind, current that comes back, what is missing."""

from __future__ import annotations

import pytest

BUILD = """rig "Van", revision 1
battery house { LFP, 4 cells, 100 Ah; internal resistance 5 mohm }
KIND guard { 65 A; SAID }
inverter mill { 600 W; idle 0 W }
load lamp 20 W
wires 6 AWG, 1 m {
  a from house.plus to guard.line
  b from guard.load to lamp.plus
  c from lamp.minus to house.minus
  d from FEED to mill.plus
  e from mill.minus to house.minus
}
"""
ONE_WAY = "electronic; one direction only"


def build(said: str = ONE_WAY, feed: str = "house.plus", kind: str = "disconnect") -> str:
    return BUILD.replace("SAID", said).replace("FEED", feed).replace("KIND", kind)


def charger(at: str = "guard.load") -> str:
    return (
        f"mains charger shore {{ 10 A; absorption 14.2 V }}\nwire f from shore.plus to {at}, 6 AWG, 1 m\n"
        "wire g from shore.minus to house.minus, 6 AWG, 1 m\n"
    )


@pytest.mark.parametrize("kind", ["disconnect", "switch", "relay"])
def test_catalogue_b10(said, kind: str) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, B10, Ex: 65 A solid-state disconnect -> 600 W inverter -> error."""
    found = said(build(feed="guard.load", kind=kind), "one_way_disconnect")
    assert found.grades == [("guard", "feeds-inverter", "error")]
    finding = found.finding("guard")
    assert finding.subject == ("guard", "mill")
    assert finding.message.startswith("guard: it passes current one way only and feeds mill.")
    assert (
        finding.remedy == "Feed mill from the battery through a fuse of its own, and let guard switch the remote input instead."
    )


def test_catalogue_b10_with_the_remote_input(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, B10, Ex: control the inverter's remote input instead -> pass."""
    text = build() + "wire h from guard.load to mill.enable, 18 AWG, 1 m\n"
    assert said(text, "one_way_disconnect").passed("guard", "feeds-inverter")


def test_in_the_minus_lead_it_feeds_too(said) -> None:  # type: ignore[no-untyped-def]
    text = build().replace(
        "  e from mill.minus to house.minus", "  e from mill.minus to other.line\n  z from other.load to house.minus"
    )
    text += f"switch other {{ 65 A; {ONE_WAY} }}\n"
    found = said(text, "one_way_disconnect")
    assert found.finding("other", "feeds-inverter").subject == ("other", "mill")
    assert found.passed("guard", "feeds-inverter")


def test_current_that_comes_back(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build() + charger(), "one_way_disconnect")
    assert found.grades == [("guard", "reverse-current", "error")]
    finding = found.finding("guard")
    assert finding.measured.value == pytest.approx(10.0, rel=1e-3)
    assert finding.state == "all chargers on"
    assert finding.message == (
        "guard: in state 'all chargers on' 10 A come back through it, from load to line (shore gives it); it passes current one way only."
    )
    assert said(build() + charger("house.plus"), "one_way_disconnect").passed("guard", "reverse-current")


@pytest.mark.parametrize(
    ("watt", "broken"),
    [("160 W", False), ("120 W", True)],
    ids=["the load takes it all", "the load takes less than the charger gives"],
)
def test_only_what_is_left_over_comes_back(said, watt: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    text = (build() + charger()).replace("load lamp 20 W", f"load lamp {{ {watt}; always on }}")
    assert bool(said(text, "one_way_disconnect").findings) is broken


def test_missing_data_are_named_where_they_decide(said) -> None:  # type: ignore[no-untyped-def]
    what = "whether it passes current in one direction only"
    assert said(build("electronic", "guard.load"), "one_way_disconnect").missing == [("guard", "feeds-inverter", what)]
    assert said(build("electronic") + charger(), "one_way_disconnect").missing == [("guard", "reverse-current", what)]
    assert not said(build("electronic"), "one_way_disconnect").unchecked


@pytest.mark.parametrize("says", ["electronic; not one direction only", "not one direction only; electronic"])
def test_made_for_both_directions(said, says: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(says, "guard.load") + charger(), "one_way_disconnect")
    assert not found.findings
    assert {passed.grade for passed in found.passes} == {"feeds-inverter", "reverse-current"}


def test_a_mechanical_switch_does_not_apply(said) -> None:  # type: ignore[no-untyped-def]
    """Declared data: electronic: not checked; others: no."""
    found = said(build("opens at 11 V", "guard.load"), "one_way_disconnect")
    assert [(item.condition, item.count) for item in found.idle] == [("it is not electronic", 1)]
    assert said(build("one direction only", "guard.load"), "one_way_disconnect").findings
