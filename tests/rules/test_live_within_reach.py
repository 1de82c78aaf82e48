"""Rule live-within-reach: the fault catalogue's example L17, voltages at the edge, covers, what is left out, missing data."""

from __future__ import annotations

import pytest

BUILD = """rig "Kiosk", revision 1
basis us-small-craft
SITE
battery house { LFP, 4 cells, 60 Ah }
inverter power { 300 W; 120 V AC; INVERTER }
AC load till 50 W
COVER
wire feed from house.plus to power.plus { 6 AWG; 0.4 m }
wire back from power.minus to house.minus { 6 AWG; 0.4 m }
wire hot from power.L to till.L { 14 AWG; 1 m }
wire cold from power.N to till.N { 14 AWG; 1 m }
"""
SITE = "site { ambient 0 degC to 30 degC; record low 25 degC; DAMP }"
SUN = """rig "Roof", revision 1
basis us-small-craft
SITE
array roof { VOC; Isc 9 A; Vmp 30 V; Imp 8 A }
switch cut 20 A
cover lid { over CUT; HOW }
wire up from roof.plus to cut.line { 10 AWG; 4 m }
"""


def build(cover: str = "", inverter: str = "sine") -> str:
    return BUILD.replace("COVER", cover).replace("INVERTER", inverter).replace("SITE", "")


def sun(voc: str, damp: str = "not damp", how: str = "opens by hand", site: str = SITE, covers: str = "cut") -> str:
    return (
        SUN.replace("SITE", site)
        .replace("DAMP", damp)
        .replace("VOC", f"Voc {voc}" if voc else "300 W")
        .replace("HOW", how)
        .replace("CUT", covers)
    )


def test_catalogue_l17(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, L17, Ex: inverter's AC screws under the hinged lid -> error."""
    found = said(build("cover lid { over power.L, power.N; by hand }"), "live_within_reach")
    assert found.grades == [("power", "mains", "error")]
    assert (
        found.finding("power").message == "power: L and N carry mains or an inverter's output, and lid over them opens by hand."
    )


@pytest.mark.parametrize(
    ("cover", "grades", "missing"),
    [
        ("cover lid { over power.L, power.N; with a tool }", 0, None), ("cover lid { over power; with a tool }", 0, None),
        ("cover lid { over power; opens by hand }\ncover plate { over power.L, power.N; screwed on }", 0, None),
        ("cover lid { over power.L; with a tool }", 0, "a cover over power.N"), ("", 0, "a cover over power.L and power.N"),
        ("cover lid { over power }", 0, "how lid opens"),
        ("cover lid { over power.L; by hand }\ncover plate { over power.N; with a tool }", 1, None),
    ],
)  # fmt: skip
def test_covers(said, cover: str, grades: int, missing: str | None) -> None:  # type: ignore[no-untyped-def]
    found = said(build(cover), "live_within_reach")
    assert len(found.grades) == grades
    assert [item.missing for item in found.unchecked] == ([missing] if missing else [])


def test_what_is_said_to_be_bare(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build(inverter="terminals L, N { no boot }"), "live_within_reach")
    assert found.finding("power").message == "power: L and N carry mains or an inverter's output, and nothing is over them."


@pytest.mark.parametrize(
    ("voc", "damp", "grade"),
    [
        ("60 V", "not damp", None), ("60.1 V", "not damp", "high-dc"), ("60.1 V", "damp", "high-dc"), ("60 V", "damp", "wet-dc"),
        ("30.1 V", "damp", "wet-dc"), ("30 V", "damp", None),
    ],
)  # fmt: skip
def test_edges(said, voc: str, damp: str, grade: str | None) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, L17: above 60 V dc (30 V wet); at the record low of 25 degC the voltage is Voc itself."""
    text = sun(voc, damp).replace("Imp 8 A }", "Imp 8 A; Voc -0.3 %/K }")
    severity = {"high-dc": "error", "wet-dc": "warning"}
    assert said(text, "live_within_reach").grades == ([("cut", grade, severity[grade])] if grade else [])
    tool = said(text.replace("opens by hand", "opens with a tool"), "live_within_reach")
    assert (tool.grades, tool.unchecked) == ([], [])


@pytest.mark.parametrize(
    ("voc", "damp", "site", "missing"),
    [
        ("", "not damp", SITE, "open-circuit voltage of roof"), ("50 V", "not damp", "site { DAMP }", "record low of the site"),
        ("40 V", "outdoors", SITE, "whether the surroundings are damp"), ("20 V", "outdoors", SITE, None),
    ],
)  # fmt: skip
def test_what_is_missing(said, voc: str, damp: str, site: str, missing: str | None) -> None:  # type: ignore[no-untyped-def]
    text = sun(voc, damp, site=site).replace("Imp 8 A }", "Imp 8 A; Voc -0.3 %/K }")
    assert [item.missing for item in said(text, "live_within_reach").unchecked] == ([missing] if missing else [])


def test_damp_is_not_asked_for_what_is_covered(said) -> None:  # type: ignore[no-untyped-def]
    text = sun("40 V", "outdoors", "opens with a tool").replace("Imp 8 A }", "Imp 8 A; Voc -0.3 %/K }")
    found = said(text, "live_within_reach")
    assert found.unchecked == []
    assert found.passed("cut", "wet-dc")


def test_panel_halves_count_and_plugs_do_not(said) -> None:  # type: ignore[no-untyped-def]
    more = (
        "connector out with plug { household socket; pin 1 L; pin 2 N; out { on the panel; female }; plug { male } }\n"
        "wire l from power.L to out.1 { 14 AWG; 1 m }\nwire n from power.N to out.2 { 14 AWG; 1 m }\n"
        "AC load lamp 5 W\nwire p from plug.1 to lamp.L { 14 AWG; 1 m }\nwire q from plug.2 to lamp.N { 14 AWG; 1 m }\n"
    )
    found = said(build() + more, "live_within_reach")
    assert [item.subject for item in found.unchecked] == [("out",), ("power",)]


def test_low_voltage_alone(said) -> None:  # type: ignore[no-untyped-def]
    text = build().split("wire hot")[0].replace("AC load till 50 W\n", "")
    found = said(text, "live_within_reach")
    assert found.grades == []
    assert found.unchecked == []
    assert {item.condition: item.count for item in found.idle} == {
        "carries neither mains nor a voltage that holds a person": 2  # house and power
    }


@pytest.mark.parametrize(("voc", "damp", "limit"), [("70 V", "not damp", 60.0), ("40 V", "damp", 30.0)])
def test_numbers_of_a_finding(said, voc: str, damp: str, limit: float) -> None:  # type: ignore[no-untyped-def]
    text = sun(voc, damp, covers="cut.line").replace("Imp 8 A }", "Imp 8 A; Voc -0.3 %/K }")
    finding = said(text, "live_within_reach").finding("cut")
    assert (finding.measured.value, finding.limit.value) == (pytest.approx(float(voc[:2])), limit)
    assert finding.message == f"cut: line carries up to {voc} DC, and lid over them opens by hand."


def test_a_build_without_a_site(said) -> None:  # type: ignore[no-untyped-def]
    text = sun("", site="").replace(
        "array roof { 300 W; Isc 9 A; Vmp 30 V; Imp 8 A }", "array roof { Voc 40 V; Isc 9 A; Vmp 30 V; Imp 8 A }"
    )
    assert [item.missing for item in said(text, "live_within_reach").unchecked] == []


def test_a_build_without_terminals(said) -> None:  # type: ignore[no-untyped-def]
    text = 'rig "Box", revision 1\nbasis us-small-craft\nload one 1 A\nload two 1 A\nwire a from one.plus to two.plus { 14 AWG; 1 m }\n'
    assert [item.condition for item in said(text, "live_within_reach").idle] == ["no terminals that carry mains or a voltage"]


@pytest.mark.parametrize(("boot", "broken"), [("no boot", True), ("M6 stud", False)])
def test_the_studs_of_a_busbar_are_read_like_terminals(said, boot: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    text = (
        sun("70 V", covers="cut.line").replace("opens by hand", "with a tool").replace("Imp 8 A }", "Imp 8 A; Voc -0.3 %/K }")
    )
    bar = f"bus bar {{ terminals {{ {boot} }} }}\nwire on from roof.plus to bar {{ 10 AWG; 1 m }}\n"
    found = said(text + bar, "live_within_reach")
    assert found.grades == ([("bar", "high-dc", "error")] if broken else [])
    assert all(item.declare.startswith("cover over_") for item in found.unchecked if item.missing.startswith("a cover"))
    assert ("a cover over bar" in [item.missing for item in found.unchecked]) is (not broken)
