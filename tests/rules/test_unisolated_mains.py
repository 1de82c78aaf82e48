"""Rule unisolated-mains: what is declared, what is silent, and which parts have a port for mains."""

from __future__ import annotations

import pytest

BUILD = """rig "Box", revision 1
battery house { LFP, 4 cells, 50 Ah }
PART
wire a from it.plus to house.plus, 10 AWG, 0.5 m
wire b from it.minus to house.minus, 10 AWG, 0.5 m
"""


def test_catalogue_i13(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, I13, Ex: capacitor-dropper charger on a touchable 12 V box -> error."""
    found = said(BUILD.replace("PART", "mains charger it { 2 A; not isolated from the mains }"), "unisolated_mains")
    assert found.grades == [("it", "not-isolated", "error")]


@pytest.mark.parametrize(
    "part",
    [
        "mains charger it { 10 A; isolated }",
        "inverter-charger it { 800 W; mains port isolated }",
        "charger it { 10 A; mains; isolated }",
    ],
)
def test_isolated_passes(said, part: str) -> None:  # type: ignore[no-untyped-def]
    found = said(BUILD.replace("PART", part), "unisolated_mains")
    assert found.passed("it") and not found.findings


@pytest.mark.parametrize("part", ["mains charger it 10 A", "charger it 10 A", "inverter-charger it 800 W"])
def test_silence_is_not_checked(said, part: str) -> None:  # type: ignore[no-untyped-def]
    """Readings, General: not declared is not checked (I13)."""
    found = said(BUILD.replace("PART", part), "unisolated_mains")
    assert found.missing == [("it", "not-isolated", "whether its mains port is isolated from the DC side")]


@pytest.mark.parametrize("part", ["DC-DC charger it 10 A", "inverter it 300 W", "wind turbine it 10 A"])
def test_parts_without_a_mains_port(said, part: str) -> None:  # type: ignore[no-untyped-def]
    found = said(BUILD.replace("PART", part), "unisolated_mains")
    assert not found.unchecked and not found.passes
    assert [item.condition for item in found.idle] == ["no port for mains"]


def test_inverter_with_a_wired_shore_port_has_one(said) -> None:  # type: ignore[no-untyped-def]
    text = BUILD.replace("PART", "inverter it 300 W\nconnector shore { 3 pins; pin 1 L; pin 2 N; pin 3 PE }")
    text += "wire c from shore.1 to it.shore_L, 14 AWG, 1 m\nwire d from shore.2 to it.shore_N, 14 AWG, 1 m\n"
    assert said(text, "unisolated_mains").missing[0][0] == "it"
