"""Rule neutral-bonds: the fault catalogue's example I5, every AC state, what needs a bond, silence."""

from __future__ import annotations

import pytest

BUILD = """rig "Cabin", revision 1
case cabinet { steel }
battery bank { LFP, 4 cells, 100 Ah }
inverter it { 1000 W; FACTS }
connector panel { household socket; pin 1 L; pin 2 N; pin 3 PE }
wire live from it.L to panel.1, 14 AWG, 2 m
wire neutral from it.N to panel.2, 14 AWG, 2 m
wire earth from it.PE to panel.3, 14 AWG, 2 m
"""
PANEL_BOND = "wire bond from panel.2 to panel.3, 14 AWG, 0.1 m\n"
SHORE = """connector shore { 3 pins; pin 1 L; pin 2 N; pin 3 PE }
wire s1 from shore.1 to it.shore_L, 14 AWG, 1 m
wire s2 from shore.2 to it.shore_N, 14 AWG, 1 m
wire s3 from shore.3 to it.shore_PE, 14 AWG, 1 m
"""


def build(facts: str, more: str = "") -> str:
    return BUILD.replace("FACTS", facts) + more


def test_catalogue_i5(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, I5, Ex: bonded inverter + bonded house panel = 2 -> error."""
    found = said(build("earthed neutral; neutral bonded; feeds house wiring", PANEL_BOND), "neutral_bonds")
    assert found.grades == [("it", "two-bonds", "error")]
    assert found.finding("it").measured.value == 2
    assert "inside it and bond" in found.finding("it").message


@pytest.mark.parametrize(
    ("facts", "more"),
    [
        ("earthed neutral; neutral bonded; feeds house wiring", ""),
        ("earthed neutral; neutral never bonded; feeds house wiring", PANEL_BOND),
        ("floating; neutral never bonded; feeds plug-in loads", ""),
        ("floating; feeds plug-in loads", ""),
    ],
)
def test_one_bond_or_a_floating_unit_passes(said, facts: str, more: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(facts, more), "neutral_bonds")
    assert not found.findings and not found.unchecked and len(found.passes) == 2


@pytest.mark.parametrize("facts", ["floating; feeds house wiring", "floating; GFCI", "neutral never bonded; earthed neutral"])
def test_no_bond(said, facts: str) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, I5: warning if 0 with GFCI or house wiring."""
    assert said(build(facts), "neutral_bonds").grades == [("it", "no-bond", "warning")]


def test_residual_current_device_of_an_outlet_counts(said) -> None:  # type: ignore[no-untyped-def]
    text = build("floating; feeds plug-in loads").replace("household socket;", "household socket; GFCI;")
    assert "guards panel" in said(text, "neutral_bonds").finding("it").message


def test_shore_supply(said) -> None:  # type: ignore[no-untyped-def]
    facts = "earthed neutral; feeds house wiring; shore neutral bonded; transfer breaks before it makes; neutral "
    found = said(build(facts + "bonded", SHORE), "neutral_bonds").finding("it")
    assert found.state == "with shore supply through it" and found.measured.value == 2
    assert not said(build(facts + "bonded only when alone", SHORE), "neutral_bonds").findings
    both = facts.replace("transfer breaks", "not transfer breaks") + "bonded only when alone"
    assert said(build(both, SHORE), "neutral_bonds").finding("it").state.startswith("while both are joined")


def test_silence_where_it_decides(said) -> None:  # type: ignore[no-untyped-def]
    """Readings, Silence: never a pass where it decides."""
    found = said(build("feeds house wiring", PANEL_BOND), "neutral_bonds")
    assert found.missing == [("it", "two-bonds", "whether its neutral is bonded to earth inside")]
    found = said(build("feeds house wiring"), "neutral_bonds")
    assert found.missing == [("it", "no-bond", "whether its neutral is bonded to earth inside")]
    found = said(build("feeds plug-in loads"), "neutral_bonds")
    assert not found.unchecked, "with no bond in the build and no shore there is one at most"
    found = said(build("earthed neutral; neutral bonded; transfer breaks before it makes", SHORE), "neutral_bonds")
    assert found.missing == [("it", "two-bonds", "whether the neutral of the shore supply is bonded at its source")]
    found = said(build("earthed neutral; neutral bonded only when alone; shore neutral bonded", SHORE), "neutral_bonds")
    assert found.missing == [("it", "two-bonds", "whether its transfer breaks before it makes")]


def test_no_inverter(said) -> None:  # type: ignore[no-untyped-def]
    assert said('rig "B", revision 1\nbattery a { LFP, 4 cells, 50 Ah }\n', "neutral_bonds").idle


def test_a_second_earth_wire_is_no_second_bond(said) -> None:  # type: ignore[no-untyped-def]
    facts = "earthed neutral; neutral never bonded; feeds house wiring"
    more = PANEL_BOND + "wire rod from panel.3 to cabinet, 14 AWG, 2 m\n"
    assert said(build(facts, more), "neutral_bonds").passed("it", "two-bonds").measured.value == 1
    further = "bus bar 20 A\nwire n2 from panel.2 to bar, 14 AWG, 1 m\nwire bond2 from bar to cabinet, 14 AWG, 1 m\n"
    assert "bond and bond2" in said(build(facts, more + further), "neutral_bonds").finding("it").message


@pytest.mark.parametrize("end", ["it.N", "panel.2"])
def test_a_bond_on_a_bar_of_the_dc_side_is_one_bond(said, end: str) -> None:  # type: ignore[no-untyped-def]
    """Kirchhoff: one conductor joins the neutral with the bar, however many leads hang on that."""
    bar = (
        "bus bar\nload lamp 1 A\nload fan 1 A\nwires 10 AWG, 1 m { a from bank.plus to it.plus; b from it.minus to bar; c from bar to bank.minus\n"
        "d from bank.plus to lamp.plus; e from lamp.minus to bar; f from bank.plus to fan.plus; g from fan.minus to bar }\n"
        f"wire bond from {end} to bar, 14 AWG, 0.1 m\n"
    )
    found = said(build("earthed neutral; neutral never bonded; feeds house wiring", bar), "neutral_bonds")
    assert not found.findings
    twice = said(build("earthed neutral; neutral bonded; feeds house wiring", bar), "neutral_bonds")
    assert twice.finding("it").measured.value == 2 and "inside it and bond" in twice.finding("it").message
