"""Rule earthless-inlet: the fault catalogue's examples I14, what the circuit shows, what the part says, edges, silence."""

from __future__ import annotations

import pytest

HEAD = """rig "Box", revision 1
case box { CASE }
battery house { LFP, 4 cells, 50 Ah }
mains charger it { 10 A; isolated; FACTS }
connector inlet { 3 pins; shrouded; 10 A; pin 1 L; pin 2 N; pin 3 PE }
"""
WIRED = HEAD + "wire live from inlet.1 to it.L, 14 AWG, 0.3 m\nwire neutral from inlet.2 to it.N, 14 AWG, 0.3 m\n"
EARTHED = WIRED + "wire earth from inlet.3 to it.PE, 14 AWG, 0.3 m\n"


def build(text: str, facts: str, case: str = "polycarbonate") -> str:
    return text.replace("FACTS", facts).replace("CASE", case)


def test_catalogue_i14_earth(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, I14, Ex: earth pin wired nowhere, steel case -> error."""
    found = said(build(WIRED, "mains fuse 5 A", "steel"), "earthless_inlet")
    assert found.grades == [("it", "no-earth", "error")]
    assert "is not joined to box" in found.finding("it").message


def test_catalogue_i14_breaker(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, I14, Ex: 10 A inlet, 16 A breaker upstream, none in the box -> warning."""
    found = said(build(EARTHED, "mains inlet 10 A; no mains breaker"), "earthless_inlet")
    assert found.grades == [("it", "no-breaker", "warning")]
    assert found.finding("it").limit.value == 10


def test_earth_of_a_metal_box_must_reach_the_box(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build(EARTHED, "mains fuse 5 A", "steel"), "earthless_inlet")
    assert found.grades == [("it", "no-earth", "error")]
    joined = build(EARTHED, "mains fuse 5 A", "steel") + "wire bond from it.case to box, 14 AWG, 0.2 m\n"
    assert not said(joined, "earthless_inlet").findings
    assert said(build(EARTHED, "mains fuse 5 A; earth pin joined to box", "steel"), "earthless_inlet").passed("it", "no-earth")


def test_inlet_may_be_earthed_to_the_box_itself(said) -> None:  # type: ignore[no-untyped-def]
    """The fault catalogue, I14: the earth pin of the inlet is joined to the case; through the charger or not does not matter."""
    straight = build(WIRED, "mains fuse 5 A; not metal case", "steel") + "wire bond from inlet.PIN to box, 14 AWG, 0.2 m\n"
    assert said(straight.replace("PIN", "3"), "earthless_inlet").passed("it", "no-earth")
    assert said(straight.replace("PIN", "2"), "earthless_inlet").grades == [("it", "no-earth", "error")], (
        "the neutral is no earth"
    )
    own = straight.replace("not metal case", "metal case").replace("PIN", "3")
    assert said(own, "earthless_inlet").grades == [("it", "no-earth", "error")], "its own case hangs on nothing"
    assert said(own + "wire own from it.case to box, 14 AWG, 0.2 m\n", "earthless_inlet").passed("it", "no-earth")


def test_own_metal_case(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build(WIRED, "mains fuse 5 A; metal case"), "earthless_inlet").grades == [("it", "no-earth", "error")]
    assert said(build(EARTHED, "mains fuse 5 A; metal case"), "earthless_inlet").passed("it", "no-earth")
    assert said(build(WIRED, "mains fuse 5 A; not metal case"), "earthless_inlet").passed("it", "no-earth")


def test_silence(said) -> None:  # type: ignore[no-untyped-def]
    """Readings, Silence: a missing datum is not checked, named."""
    found = said(build(HEAD, "", "steel"), "earthless_inlet")
    assert {item[1] for item in found.missing} == {"no-earth", "no-breaker"} and not found.findings
    found = said(build(WIRED, "mains fuse 5 A"), "earthless_inlet")
    assert found.missing == [("it", "no-earth", "whether its case is metal")]
    found = said(build(HEAD.replace("connector inlet", "connector other"), "mains fuse 5 A; not metal case"), "earthless_inlet")
    assert found.missing == [("it", "no-breaker", "rating of its mains inlet")]


@pytest.mark.parametrize(("fuse", "broken"), [("9.9", False), ("10", False), ("10.1", True)])
def test_edge(said, fuse: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    found = said(build(EARTHED, f"mains inlet 12 A; mains fuse {fuse} A"), "earthless_inlet")
    assert bool(found.findings) is broken, "the 10 A connector is the weaker of the two"


def test_breaker_on_the_live_wire_counts(said) -> None:  # type: ignore[no-untyped-def]
    text = build(HEAD, "not metal case") + (
        "breaker own { 6 A; AC only }\nwire live from inlet.1 to own.line, 14 AWG, 0.3 m\nwire on from own.load to it.L, 14 AWG, 0.3 m\n"
    )
    assert said(text, "earthless_inlet").passed("it", "no-breaker").measured.value == 6


def test_parts_without_a_port(said) -> None:  # type: ignore[no-untyped-def]
    text = 'rig "Box", revision 1\nbattery house { LFP, 4 cells, 50 Ah }\nDC-DC charger it 10 A\n'
    assert [item.condition for item in said(text, "earthless_inlet").idle] == ["no port for mains"]
