"""Rule mistakable-plug: the fault catalogue's example G2, the edges of fit and of 5 %, mains, fuses, missing data."""

from __future__ import annotations

import pytest

BUILD = """rig "Box", revision 1
battery house { LFP, 4 cells, 60 Ah }
load lamp { 20 W }
load vent { 20 W }
fuse main { 30 A; line on house.plus }
connector lamp_out with lamp_plug { ONE; lamp_out { female sockets; on the panel } ; lamp_plug { bare pins } }
connector vent_out with vent_plug { TWO; vent_out { female sockets; on the panel } ; vent_plug { bare pins } }
wires 12 AWG, 0.4 m {
  a from main.load to lamp_out.1
  b from house.minus to lamp_out.2
  c from lamp_plug.1 to lamp.plus
  d from lamp_plug.2 to lamp.minus
  e from main.load to vent_out.1
  f from house.minus to vent_out.2
  g from vent_plug.1 to vent.plus
  h from vent_plug.2 to vent.minus
}
"""
ALIKE = 'family "round two"; pins 1, 2'


def build(one: str, two: str) -> str:
    return BUILD.replace("ONE", one).replace("TWO", two)


def volts(one: str, two: str, family: str = 'family "round two"; ') -> str:
    return build(f"{family}pin 1 {{ plus; {one} }}; pin 2 minus", f"{family}pin 1 {{ plus; {two} }}; pin 2 minus")


def test_catalogue_g2(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G2, Ex: PV in (Voc 49.95 V) and 12 V out (max 15 V), the same two-pin family -> error."""
    found = said(volts("49.95 V", "15 V"), "mistakable_plug")
    assert found.grades == [("lamp_out", "voltage", "error")]
    finding = found.finding("lamp_out")
    assert (finding.measured.value, finding.limit.value) == (pytest.approx(49.95), pytest.approx(15.75))
    assert {"lamp_out", "vent_plug"} <= set(finding.subject)
    assert "No label at lamp_out or vent_plug states the voltage." in finding.message


@pytest.mark.parametrize(("volt", "broken"), [("12.59 V", False), ("12.6 V", False), ("12.61 V", True), ("11.42 V", True)])
def test_five_per_cent(said, volt: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G2: within 5 %; 1.05 x 12 V = 12.6 V."""
    assert bool(said(volts("12 V", volt), "mistakable_plug").findings) is broken


@pytest.mark.parametrize(
    ("one", "two", "broken"),
    [
        ('family "round two"', 'family "round two"', True),
        ('family "round two"', 'family "flat two"', False),
        ('family "round two"; keyed A', 'family "round two"; keyed B', False),
        ('family "round two"; keyed A', 'family "round two"', True),
        ('family "round two"; colour key red', 'family "round two"; colour key blue', False),
        ('family "round two"; 2 pins', 'family "round two"; 3 pins', False),
    ],
)
def test_what_fits(said, one: str, two: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    text = build(f"{one}; pin 1 {{ plus; 12 V }}; pin 2 minus", f"{two}; pin 1 {{ plus; 24 V }}; pin 2 minus")
    assert bool(said(text, "mistakable_plug").findings) is broken


def test_contacts_and_panels_keep_apart(said) -> None:  # type: ignore[no-untyped-def]
    text = volts("12 V", "24 V")
    both = text.replace(
        "vent_out { female sockets; on the panel } ; vent_plug { bare pins }",
        "vent_out { bare pins; on the panel } ; vent_plug { female sockets }",
    )
    found = said(both, "mistakable_plug")  # each lamp half meets its like, or another one on the panel
    assert found.grades == [("lamp_plug", "voltage", "error")]
    assert set(found.finding("lamp_plug").subject[:2]) == {"lamp_plug", "vent_plug"}


def test_missing_family_is_asked_for_only_where_it_matters(said) -> None:  # type: ignore[no-untyped-def]
    found = said(volts("12 V", "24 V", family=""), "mistakable_plug")
    assert found.missing == [("lamp_out", "voltage", "family of the connector")]
    assert found.findings == []
    assert said(build("pins 1, 2", "pins 1, 2"), "mistakable_plug").unchecked == []
    assert said(build("pins 1, 2", "pins 1, 2, 3"), "mistakable_plug").unchecked == []


def test_one_circuit_on_two_sockets_passes(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build(ALIKE, ALIKE), "mistakable_plug")
    assert found.findings == [] and found.unchecked == []
    assert found.passed("lamp_out", "voltage").subject == ("lamp_out", "lamp_plug")


def test_poles_the_other_way_round(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        build(ALIKE, ALIKE)
        .replace("to vent_out.1", "to vent_out.9")
        .replace("to vent_out.2", "to vent_out.1")
        .replace("vent_out.9", "vent_out.2")
    )
    assert said(text, "mistakable_plug").grades == [("lamp_out", "polarity", "error")]


def test_mains_beside_direct_current(said) -> None:  # type: ignore[no-untyped-def]
    """NEC 406.3(F): kinds of current do not interchange."""
    found = said(build('family "round two"; pin 1 L; pin 2 N', ALIKE), "mistakable_plug")
    assert found.grades == [("lamp_out", "voltage", "error")]
    assert "lamp_out carries mains, the other does not" in found.finding("lamp_out").message


@pytest.mark.parametrize(("amps", "broken"), [("29 A", True), ("30 A", False), ("31 A", False)])
def test_fuse_against_the_contacts_of_what_fits(said, amps: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    found = said(build(f"{ALIKE}; 40 A", f"{ALIKE}; {amps}"), "mistakable_plug")
    assert found.grades == ([("lamp_out", "fuse", "error")] if broken else [])
    if not broken:
        assert found.passed("lamp_out", "fuse").measured.value == 30


def test_array_without_figures_is_not_checked(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        build(ALIKE, ALIKE).replace("e from main.load", "e from roof.plus").replace("f from house.minus", "f from roof.minus")
    )
    found = said(text + "array roof { Isc 6 A }\n", "mistakable_plug")
    assert found.missing == [("lamp_out", "voltage", "open-circuit voltage of roof")]


def test_nominal_voltage_of_batteries_counts(said) -> None:  # type: ignore[no-untyped-def]
    """Readings, C9: batteries are compared by their nominal voltage: LFP of 4 cells and AGM of 6 are both 12 V."""
    other = (
        build(ALIKE, ALIKE).replace("e from main.load", "e from spare.plus").replace("f from house.minus", "f from spare.minus")
    )
    assert said(other + "battery spare { AGM, 6 cells, 60 Ah }\n", "mistakable_plug").findings == []
    assert said(other + "battery spare { AGM, 12 cells, 60 Ah }\n", "mistakable_plug").grades == [
        ("lamp_out", "voltage", "error")
    ]


def test_dead_connector_does_not_apply(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        'rig "Box", revision 1\nload lamp 20 W\nconnector a with b { pins 1, 2 }\nwire w from b.1 to lamp.plus, 12 AWG, 1 m\n'
    )
    assert [item.condition for item in said(text, "mistakable_plug").idle] == ["lies on no source, and promises no voltage"]
