"""Rule coiled-cord: the fault catalogue's examples D5 end to end, markings in watt and ampere, the fuse before an outlet."""

from __future__ import annotations

import pytest

MARKED = "; reel marked 660 W wound; reel marked 1760 W unwound"
BUILD = """rig "Lamp on a reel", revision 1
basis us-small-craft
site { ambient 0 degC to 30 degC }
battery house { LFP, 4 cells, 100 Ah; internal resistance 4 mohm }
load lamp LOAD
cable lead { flexible cord; 16 AWG; 15 m; HOW
  core out from house.plus to lamp.plus
  core back from lamp.minus to house.minus
}
"""


def build(load: str = "5 A", how: str = "coiled") -> str:
    return BUILD.replace("LOAD", load).replace("HOW", how)


def test_catalogue_d5_without_a_marking(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, D5, Ex: 16 AWG cord 13 A x 0.22 = 2.86 A; 5 A -> finding; readings: with 0.22 a warning, the error not checked."""
    found = said(build(), "coiled_cord")
    assert found.grades == [("lead", "over-lowest-marking", "warning")]
    finding = found.finding("lead")
    assert finding.limit.value == pytest.approx(2.86)
    assert "this 16 AWG carries 13 A unwound and 2.86 A wound up, by the lowest marking read" in finding.message
    assert finding.remedy.startswith("Unwind it wholly before use and say so (not coiled), or use 12 AWG or larger, or bring")
    assert found.missing == [("lead", "over-wound", "marking of the reel, wound and unwound")]


def test_catalogue_d5_with_a_marking(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, D5, Ex: marked 660/1760: 13 x 0.375 = 4.9 A, 5 A -> error; unwound -> pass."""
    found = said(build(how="coiled" + MARKED), "coiled_cord")
    assert found.grades == [("lead", "over-wound", "error")]
    assert found.finding("lead").limit.value == pytest.approx(13 * 660 / 1760)
    assert [state.state for state in found.finding("lead").states] == ["lamp on"]
    assert not found.unchecked
    unwound = said(build(how="not coiled" + MARKED), "coiled_cord")
    assert [item.condition for item in unwound.idle] == ["not used wound up"]


@pytest.mark.parametrize(
    ("how", "load", "grade"),
    [
        ("coiled", "2.86 A", ""),
        ("coiled", "2.87 A", "over-lowest-marking"),
        ("coiled" + MARKED, "4.875 A", ""),
        ("coiled" + MARKED, "4.88 A", "over-wound"),
        ("coiled; reel marked 4 A wound", "4 A", ""),
        ("coiled; reel marked 4 A wound", "4.01 A", "over-wound"),
        ("coiled; reel marked 2 A wound; reel marked 10 A unwound", "2.01 A", "over-wound"),
        ("coiled; reel marked 6 A wound; reel marked 10 A unwound", "6 A", ""),
        ("coiled; reel marked 6 A wound; reel marked 10 A unwound", "6.01 A", "over-wound"),
        ("coiled; reel marked 660 W wound", "2.87 A", "over-lowest-marking"),  # without its fellow a power says nothing
    ],
)
def test_edges_and_markings(said, how: str, load: str, grade: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(load, how), "coiled_cord")
    assert [item[1] for item in found.grades] == ([grade] if grade else [])
    if not grade:
        assert found.passed("lead", "over-wound").measured.value == pytest.approx(float(load.removesuffix(" A")))


def test_silence_on_the_coil_passes_only_what_would_pass_wound_up(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build("2.8 A", "white").replace("; white", ""), "coiled_cord").passed("lead")
    found = said(build("5 A", "white").replace("; white", ""), "coiled_cord")
    assert found.missing == [("lead", "over-wound", "whether it is used coiled or on its reel")]
    assert not found.findings


def test_another_cable_counts_only_where_it_is_said_to_be_coiled(said) -> None:  # type: ignore[no-untyped-def]
    """16 AWG boat cable at 105 degC in free air: 25 A x 0.22 = 5.5 A (33 CFR 183.425 Table 5)."""
    boat = "in free air; 105 degC insulation"
    text = build("5.6 A", boat + "; coiled").replace("flexible cord", "boat cable")
    assert said(text, "coiled_cord").finding("lead").limit.value == pytest.approx(5.5)
    assert not said(text, "undersized_wire").findings
    silent = said(build("5.6 A", boat).replace("flexible cord", "boat cable"), "coiled_cord")
    assert [item.condition for item in silent.idle] == ["not used wound up"]


OUTLET = """rig "Reel", revision 1
basis us-small-craft
site { ambient 0 degC to 30 degC }
battery house { LFP, 4 cells, 100 Ah; internal resistance 4 mohm }
fuse branch FUSE
wire feed from house.plus to branch.line { 12 AWG; 0.2 m }
connector out { HALF; pins 1, 2 }
cable reel { flexible cord; 16 AWG; 25 m; coiled
  core plus from branch.load to out.1
  core minus from out.2 to house.minus
}
"""


def outlet(fuse: str = "3 A", half: str = "outlet") -> str:
    return OUTLET.replace("FUSE", fuse).replace("HALF", half)


@pytest.mark.parametrize(("fuse", "broken"), [("2.86 A", False), ("2.87 A", True), ("10 A", True)])
def test_the_fuse_before_an_outlet(said, fuse: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, D5: I_fuse <= k_coil x I_cord (warning) where it ends in an outlet: 13 x 0.22 = 2.86 A."""
    found = said(outlet(fuse), "coiled_cord")
    assert found.grades == ([("reel", "fuse-over-wound", "warning")] if broken else [])
    if broken:
        finding = found.finding("reel")
        assert finding.remedy.startswith("Fuse the cord at 2 A or less")
        assert finding.related[0].span.line == 5
    else:
        assert found.passed("reel", "fuse-over-wound").limit.value == pytest.approx(2.86)


def test_what_counts_as_an_outlet(said) -> None:  # type: ignore[no-untyped-def]
    for half in ("outlet", "lighter socket", "on the panel", "has sockets"):
        assert said(outlet("10 A", half), "coiled_cord").grades, half
    assert not said(outlet("10 A", "inlet"), "coiled_cord").grades
    mated = outlet("10 A", "15 A").replace("connector out {", "connector out with lamp_plug {") + (
        "load lamp 1 A\nwire a from lamp_plug.1 to lamp.plus { 16 AWG; 1 m }\nwire b from lamp.minus to lamp_plug.2 { 16 AWG; 1 m }\n"
    )
    found = said(mated, "coiled_cord")
    assert "does not end in an outlet" in [item.condition for item in found.idle]
    assert not found.grades


def test_the_feed_of_an_outlet(said) -> None:  # type: ignore[no-untyped-def]
    """A fuse without a rating leaves it unchecked; no fuse at all is a matter of its own; of two in series the smaller counts."""
    assert said(outlet("blade"), "coiled_cord").missing == [("reel", "fuse-over-wound", "rated current of branch")]
    bare = (
        outlet().replace("fuse branch 3 A\n", "bus branch\n").replace("branch.line", "branch").replace("branch.load", "branch")
    )
    assert "no fuse before it, which is a matter of its own" in [item.condition for item in said(bare, "coiled_cord").idle]
    two = outlet("30 A").replace("to branch.line { 12 AWG; 0.2 m }", "to first.line { 12 AWG; 0.2 m }") + (
        "fuse first 5 A\nwire on from first.load to branch.line { 12 AWG; 0.2 m }\n"
    )
    assert said(two, "coiled_cord").finding("reel").measured.value == 5.0


def test_two_equal_feeds_of_an_outlet(said) -> None:  # type: ignore[no-untyped-def]
    """Two batteries behind equal fuses reach the cord alike: the first in name order is told."""
    twin = outlet("10 A") + (
        "battery twin { same as house }\nfuse beside 10 A\nwire up from twin.plus to beside.line { 12 AWG; 0.2 m }\n"
        "wire across from beside.load to branch.load { 12 AWG; 0.2 m }\nwire under from twin.minus to house.minus { 12 AWG; 0.2 m }\n"
    )
    finding = said(twin, "coiled_cord").finding("reel", "fuse-over-wound")
    assert finding.measured.value == 10.0
    assert finding.message.startswith("reel: beside lets 10 A pass")


def test_the_near_end_of_a_cord_is_no_end_of_the_circuit(said) -> None:  # type: ignore[no-untyped-def]
    text = outlet("10 A").replace("connector out { outlet; pins 1, 2 }", "connector near { outlet; pins 1, 2 }\nload lamp 1 A")
    text = text.replace("from branch.load to out.1", "from near.1 to lamp.plus").replace(
        "out.2 to", "lamp.minus to near.2; white\n wire x from near.2 to"
    )
    text = text.replace(
        " to near.2; white\n wire x from near.2 to house.minus\n}",
        " to near.2\n}\nwire x from near.2 to house.minus { 12 AWG; 0.2 m }",
    )
    text += "wire y from branch.load to near.1 { 12 AWG; 0.2 m }\n"
    found = said(text, "coiled_cord")
    assert [item.condition for item in found.idle] == ["does not end in an outlet"]
    assert found.passed("reel", "over-wound").measured.value == pytest.approx(1.0)
