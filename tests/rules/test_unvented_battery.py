"""Rule unvented-battery: the fault catalogue's examples L3 and L7, published worked numbers, chargers, vents at the edge, missing data."""

from __future__ import annotations

import pytest

BUILD = """rig "Gate", revision 1
basis us-small-craft
SITE
case box { CASE }
zone inside { in box }
battery house { BATTERY; in inside }
charger depot { CHARGER }
wire feed from depot.plus to house.plus { 10 AWG; 1 m }
wire back from house.minus to depot.minus { 10 AWG; 1 m }
"""
VENTS = "closed; vent low { AREA }; vent high { AREA; to the outside }"


def build(
    case: str = "gasket",
    battery: str = "AGM, 6 cells, 100 Ah",
    charger: str = "10 A; absorption 14.4 V; no equalise",
    site: str = "",
) -> str:
    return BUILD.replace("CASE", case).replace("BATTERY", battery).replace("CHARGER", charger).replace("SITE", site)


def vents(area: str) -> str:
    return VENTS.replace("AREA", area)


@pytest.mark.parametrize(
    ("battery", "air", "area"), [("AGM, 6 cells, 100 Ah", 0.30, 8.4), ("AGM, 6 cells, 7 Ah", 0.021, 0.588)]
)
def test_catalogue_l3(said, battery: str, air: float, area: float) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, L3, Ex: 12 V 100 Ah VRLA 0.30 m3/h -> 8.4 cm2 each; gasketed, 0 -> error. 7 Ah: 0.021 -> 0.6 cm2."""
    found = said(build(battery=battery), "unvented_battery")
    assert found.grades == [("box", "too-small", "error")]
    finding = found.finding("box")
    assert {step.symbol: step.value for step in finding.working}["Q"] == pytest.approx(air)
    assert finding.limit.value == pytest.approx(area * 1e-4)
    assert finding.measured.value == 0


def test_catalogue_l7(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, L7, Ex: IP65 box with VRLA, no duct -> L3 error."""
    found = said(build("IP65"), "unvented_battery")
    assert found.grades == [("box", "too-small", "error")]
    assert found.finding("box").message == (
        "box: house gives off hydrogen when charged, which 0.3 m3/h of air have to carry off; it has no vents, 8.4 cm2 low and high each are needed."
    )


@pytest.mark.parametrize(("area", "broken"), [("8.39 cm2", True), ("8.4 cm2", False), ("840 mm2", False)])
def test_edge_of_the_area(said, area: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    assert bool(said(build(vents(area)), "unvented_battery").grades) is broken


@pytest.mark.parametrize(
    ("battery", "charger", "site", "area"),
    [
        ("flooded, 6 cells, 100 Ah", "10 A; absorption 14.4 V; no equalise", "", 16.8),  # 2 A per 100 Ah
        ("flooded, 6 cells, 100 Ah", "10 A; absorption 14.4 V; equalise 15.5 V", "", 50.4),  # 6 A
        ("AGM, 6 cells, 100 Ah", "10 A; absorption 14.5 V; no equalise", "", 12.6),  # 1.5 A
        ("AGM, 6 cells, 100 Ah", "10 A; no absorption; no equalise", "", 58.8),  # 7 A
        ("AGM, 6 cells, 100 Ah", "3 A; no absorption; no equalise", "", 25.2),  # the charger's full 3 A
        ("AGM, 6 cells, 100 Ah", "10 A; absorption 14.4 V; no equalise", "site { fixed }", 6.72),  # 8 mA/Ah
        ("flooded, 6 cells, 100 Ah", "10 A; absorption 14.4 V; no equalise", "site { fixed }", 16.8),  # 20 mA/Ah
        ("AGM, 6 cells, 100 Ah; gassing 0.5 A per 100 Ah", "10 A; absorption 15 V", "", 4.2),
        ("gel, 12 V, 100 Ah", "10 A; absorption 14.1 V; no equalise", "", 8.4),
    ],
)
def test_gas_by_charger(said, battery: str, charger: str, site: str, area: float) -> None:  # type: ignore[no-untyped-def]
    """Readings, L3; EN 50272-3 and EN 50272-2 as reproduced: A = 28 x 0.05 x 6 x I_gas (by hand)."""
    found = said(build(battery=battery, charger=charger, site=site), "unvented_battery")
    assert found.finding("box").limit.value == pytest.approx(area * 1e-4)


def test_series_string_counts_every_cell_and_the_charger_by_its_string(said) -> None:  # type: ignore[no-untyped-def]
    """28.8 V over 12 cells is 2.4 V a cell: 2 x 8.4 cm2."""
    text = build(charger="10 A; absorption 28.8 V; no equalise").replace(
        "wire feed from depot.plus to house.plus { 10 AWG; 1 m }",
        "battery second { AGM, 6 cells, 100 Ah; in inside }\nwire feed from depot.plus to second.plus { 10 AWG; 1 m }\nwire link from second.minus to house.plus { 10 AWG; 1 m }",
    )
    finding = said(text, "unvented_battery").finding("box")
    assert finding.subject == ("box", "house", "second")
    assert finding.limit.value == pytest.approx(16.8e-4)


@pytest.mark.parametrize(
    ("case", "charger", "missing"),
    [
        ("metal", "10 A; absorption 14.4 V; no equalise", ["whether it is closed"]),
        (vents("9 cm2").replace("; to the outside", ""), "10 A; absorption 14.4 V; no equalise", ["where its vent high leads"]),
        ("closed; vent low { to the outside }; vent high { 9 cm2; to the outside }", "10 A; absorption 14.4 V; no equalise", ["free area of its vent low"]),
        (vents("9 cm2"), "10 A; absorption 14.4 V", ["equalising voltage of depot"]),
        (vents("9 cm2"), "10 A; no equalise", ["absorption voltage of depot"]),
        (vents("60 cm2"), "10 A", []),
        (vents("9 cm2") + "; IP44", "10 A; absorption 14.4 V; no equalise", ["whether its vent high has a membrane or a duct"]),
    ],
)  # fmt: skip
def test_what_is_missing(said, case: str, charger: str, missing: list[str]) -> None:  # type: ignore[no-untyped-def]
    found = said(build(case, charger=charger), "unvented_battery")
    assert [item.missing for item in found.unchecked] == missing
    assert found.grades == []


@pytest.mark.parametrize(
    ("battery", "missing"),
    [("100 Ah", "chemistry of house"), ("AGM, 6 cells", "capacity of house"), ("AGM, 100 Ah", "nominal voltage of house")],
)
def test_what_a_battery_must_say(said, battery: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    assert [item.missing for item in said(build(battery=battery), "unvented_battery").unchecked] == [missing]


@pytest.mark.parametrize(
    ("change", "condition"),
    [
        (("CASE", "not closed"), "a case that is not closed"),
        (("AGM, 6", "LFP, 4"), "lithium gives off no gas in normal use"),
        (
            ("zone inside { in box }", "zone inside { 5 degC to 32 degC }\nzone other { in box }"),
            "lead-acid that lies in no case",
        ),
    ],
)
def test_what_does_not_apply(said, change: tuple[str, str], condition: str) -> None:  # type: ignore[no-untyped-def]
    text = (
        build("CASE" if change[0] == "CASE" else "gasket")
        .replace(*change)
        .replace("zone inside { no case }", "zone inside { wire duct }")
    )
    found = said(text, "unvented_battery")
    assert found.grades == []
    assert condition in [item.condition for item in found.idle]


@pytest.mark.parametrize(
    ("high", "grades"),
    [
        ("9 cm2; not to the outside", ["not-outside"]), ("9 cm2; to the outside", []),
        ("20 cm2; not to the outside }; vent high2 { 20 cm2; to the outside", []),
    ],
)  # fmt: skip
def test_way_out(said, high: str, grades: list[str]) -> None:  # type: ignore[no-untyped-def]
    found = said(build(f"closed; vent low {{ 9 cm2 }}; vent high {{ {high} }}"), "unvented_battery")
    assert [item[1] for item in found.grades] == grades


@pytest.mark.parametrize(
    ("vent", "grades"),
    [("membrane", []), ("duct", []), ("no membrane; no duct", ["lets-water-in"]), ("no membrane", ["lets-water-in"])],
)
def test_water(said, vent: str, grades: list[str]) -> None:  # type: ignore[no-untyped-def]
    case = f"IP65; vent low {{ 9 cm2; {vent} }}; vent high {{ 9 cm2; to the outside; membrane }}"
    assert [item[1] for item in said(build(case), "unvented_battery").grades] == grades
    assert said(build(case.replace("IP65", "closed")), "unvented_battery").grades == []


def test_battery_that_lies_nowhere(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build().replace("; in inside", ""), "unvented_battery").missing == [
        ("house", "too-small", "the case or zone that it lies in")
    ]


def test_working_and_words_of_a_charger_that_goes_higher(said) -> None:  # type: ignore[no-untyped-def]
    """15.5 V over 6 cells is 2.58 V a cell: 6 A per 100 Ah of 50 Ah are 3 A, Q = 0.05 x 6 x 3 = 0.9 m3/h, A = 25.2 cm2."""
    text = build(battery="flooded, 6 cells, 50 Ah", charger="10 A; absorption 14.4 V; equalise 15.5 V")
    steps = {step.symbol: step for step in said(text, "unvented_battery").finding("box").working}
    assert steps["I_house"].value == pytest.approx(3.0)
    assert steps["I_house"].expression == "depot goes to 2.58 V a cell (equalising): 6 A per 100 Ah of 50 Ah"
    assert (steps["Q"].value, steps["A"].value) == (pytest.approx(0.9), pytest.approx(25.2))
