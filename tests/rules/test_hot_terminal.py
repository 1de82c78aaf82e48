"""Rule hot-terminal: the fault catalogue's example D2 end to end, the bound between its grades, pins, unmarked terminals."""

from __future__ import annotations

import pytest

BUILD = """rig "Heater", revision 1
basis us-small-craft
site { ambient 0 degC to 30 degC }
battery house { LFP, 4 cells, 100 Ah; internal resistance 4 mohm; terminals plus, minus { 105 degC } }
fuse main { 60 A; terminals line, load { 75 degC } }
load heater { LOAD; terminals plus, minus { 105 degC } }
all wires { GAUGE; 105 degC insulation; in free air; 0.4 m }
wire feed from house.plus to main.line
wire tail from main.load to heater.plus
wire back from heater.minus to house.minus
"""


def build(load: str, gauge: str = "12 AWG") -> str:
    return BUILD.replace("LOAD", load).replace("GAUGE", gauge)


def test_catalogue_d2(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, D2, Ex: 12 AWG 105 degC: 45 A by wire, 25 A by 75 degC column; load 30 A on a 75 degC block -> error."""
    found = said(build("30 A"), "hot_terminal")
    assert found.grades == [("feed", "far-over", "error"), ("tail", "far-over", "error")]
    tail = found.finding("tail")
    assert (tail.measured.value, tail.limit.value) == (pytest.approx(30.0), 25.0)
    assert tail.message == (
        "tail: 30 A flows here in state 'heater on'; 12 AWG on main.load, a terminal for 75 degC, may carry 25 A."
    )
    assert (
        tail.remedy
        == "Use 10 AWG or larger, or use terminals marked for 80 degC or more, or bring the current to 25 A or less."
    )
    assert tail.related[0].span.line == 5
    assert found.passed("back").limit.value == 45.0


@pytest.mark.parametrize(
    ("load", "grade"),
    [("24.9 A", ""), ("25 A", ""), ("25.01 A", "over"), ("27.5 A", "over"), ("27.51 A", "far-over")],
)
def test_edges(said, load: str, grade: str) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, D2: over the column a warning, over it by more than 10 % an error; at equality it holds."""
    found = said(build(load), "hot_terminal")
    assert {item[1] for item in found.grades} == ({grade} if grade else set())
    severities = {"": set(), "over": {"warning"}, "far-over": {"error"}}
    assert {item[2] for item in found.grades} == severities[grade]
    if grade == "over":
        assert found.passed("tail", "far-over").limit.value == pytest.approx(27.5)


@pytest.mark.parametrize(
    ("load", "gauge", "limit"), [("99 A", "4 AWG", 105.0), ("100 A", "4 AWG", 105.0), ("101 A", "4 AWG", 125.0)]
)
def test_unmarked_terminals(said, load: str, gauge: str, limit: float) -> None:  # type: ignore[no-untyped-def]
    """NEC 110.14(C)(1): unmarked 60 degC up to 100 A, 75 degC above; 4 AWG 105 and 125 A in 33 CFR 183.425 Table 5."""
    text = build(load, gauge).replace("; terminals line, load { 75 degC }", "")
    assert said(text, "hot_terminal").passed("tail").limit.value == limit


def test_an_unmarked_terminal_is_said_to_be_assumed(said) -> None:  # type: ignore[no-untyped-def]
    text = build("60 A", "8 AWG").replace("; terminals line, load { 75 degC }", "")
    found = said(text, "hot_terminal").finding("tail")
    assert found.limit.value == 55.0
    assert "main.load, an unmarked terminal taken at 60 degC, may carry 55 A" in found.message
    assert found.working[0].symbol == "T_terminal"
    assert found.reference.section == "110.14(C)(1)"


@pytest.mark.parametrize(("mark", "limit"), [("74 degC", 40.0), ("79.9 degC", 40.0), ("80 degC", 50.0), ("104 degC", 55.0)])
def test_between_two_columns_the_lower_holds(said, mark: str, limit: float) -> None:  # type: ignore[no-untyped-def]
    """33 CFR 183.425 Table 5, 10 AWG: 40, 40, 50, 55, 60 A at 60, 75, 80, 90, 105 degC."""
    found = said(build("10 A", "10 AWG").replace("75 degC", mark), "hot_terminal")
    assert found.passed("tail").limit.value == limit


def test_a_pin_has_its_own_temperature(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        build("22 A", "12 AWG")
        .replace("75 degC", "105 degC")
        .replace("tail from main.load to heater.plus", "tail from main.load to out.1")
    )
    text = text.replace("back from heater.minus to house.minus", "back from out.2 to house.minus")
    text += (
        "connector out with plug { 30 A; pin 1 { 75 degC }; pin 2 { 105 degC } }\n"
        "wire far from plug.1 to heater.plus\nwire home from heater.minus to plug.2\n"
    )
    found = said(text, "hot_terminal")
    assert found.passed("tail").limit.value == 25.0
    assert found.passed("back").limit.value == 45.0


@pytest.mark.parametrize(
    ("studs", "defaults", "limit"),
    [
        ("terminals { 60 degC }", "", 25.0),
        ("terminals { 75 degC; M6 stud }", "", 25.0),
        ("", "all terminals of buses { 90 degC }\n", 40.0),
        ("terminals { M6 stud }", "", 45.0),
        ("", "", 45.0),
    ],
)
def test_studs_of_a_busbar_count_where_they_are_marked(said, studs: str, defaults: str, limit: float) -> None:  # type: ignore[no-untyped-def]
    """33 CFR 183.425 Table 5, 12 AWG: 25, 25, 40, 45 A at 60, 75, 90, 105 degC; the end on the heater is marked for 105 degC."""
    text = build("20 A").replace("back from heater.minus to house.minus", "back from heater.minus to bar") + (
        f"{defaults}bus bar {{ 100 A; {studs} }}\nwire home from bar to house.minus\n"
    )
    assert said(text, "hot_terminal").passed("back").limit.value == limit


def test_a_wire_between_two_busbars_may_be_too_hot_for_their_studs(said) -> None:  # type: ignore[no-untyped-def]
    """33 CFR 183.425 Table 5, 12 AWG: 25 A at 75 degC; 30 A are a fifth too much."""
    text = build("30 A").replace("back from heater.minus to house.minus", "back from one to two") + (
        "bus one { terminals { 75 degC } }\nbus two\nwire near from heater.minus to one\nwire home from two to house.minus\n"
    )
    found = said(text, "hot_terminal").finding("back")
    assert (found.subject, found.limit.value) == (("back",), 25.0)
    assert "12 AWG on one, a terminal for 75 degC, may carry 25 A." in found.message


def test_what_does_not_apply_and_what_is_missing(said) -> None:  # type: ignore[no-untyped-def]
    text = build("10 A") + (
        "bus one\nbus two\nwire bar from one to two\nwire up from house.plus to one\nwire down from two to spot.plus\n"
        "load spot 1 A\nwire spot_back from spot.minus to house.minus\n"
        "cable cord { flexible cord; core a from house.plus to bulb.plus; core b from bulb.minus to house.minus }\nload bulb 1 A\n"
        "wire inner from house.plus to heater.plus { inside a bought device }\n"
    )
    found = said(text, "hot_terminal")
    assert {item.condition: item.count for item in found.idle} == {
        "a cord": 2,
        "inside a bought device or part of it": 1,
        "ends on unmarked bare metal only": 1,
    }
    assert said(build("10 A", "tinned"), "hot_terminal").missing == [
        (name, "far-over", "gauge") for name in ("back", "feed", "tail")
    ]
    bare = build("10 A").replace("basis us-small-craft\n", "")
    assert {item[2] for item in said(bare, "hot_terminal").missing} == {"basis"}


@pytest.mark.parametrize(("load", "passes"), [("8 mA", True), ("12.5 A", True), ("12.7 A", False)])
def test_a_size_that_the_column_does_not_list(said, load: str, passes: bool) -> None:  # type: ignore[no-untyped-def]
    """NEC 310.16 lists no 16 AWG at 75 degC; 14 AWG carries 20 A there: 20 x 1.309 / 2.081 = 12.58 A at its density (computed)."""
    found = said(build(load, "16 AWG").replace("us-small-craft", "us-premises").replace("60 A", "15 A"), "hot_terminal")
    if passes:
        assert found.passed("tail").limit.value == pytest.approx(12.58, abs=0.01)
    else:
        assert (
            "tail",
            "far-over",
            "published rating of 16 AWG in NFPA 70 (NEC), 2023, Table 310.16, column A_75C",
        ) in found.missing
        assert found.findings == []
