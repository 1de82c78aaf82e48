"""Rule hot-case and the heat of cases: the fault catalogue's example L5, what is lost where, limits of parts, what is missing, ranges that are told."""

from __future__ import annotations

from datetime import date

import pytest
from ohmwright.circuit.assumptions import ASSUMED_EFFICIENCY
from ohmwright.missing import Missing
from ohmwright.study import Study, StudyOptions
from ohmwright.studying import make_study
from ohmwright.thermal.air import Air
from ohmwright.thermal.walls import free_area
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.kinds.enclosure import Enclosure
from ohmwright_grammar.resolve import Loader, Resolved, resolve

BUILD = """rig "Box", revision 1
basis us-small-craft
SITE
case box { CASE }
zone inside { ZONE }
battery house { LFP, 4 cells, 60 Ah; internal resistance 10 mohm; in inside; BATTERY }
meter heater { gives off WATTS; in inside; METER }
wire feed from house.plus to heater.plus { 14 AWG; 0.3 m }
wire back from heater.minus to house.minus { 14 AWG; 0.3 m }
"""


def build(
    watts: str = "30 W",
    *,
    case: str = "closed; size 0.40 m x 0.30 m x 0.25 m",
    site: str = "site { ambient 0 degC to 38 degC }",
    zone: str = "in box",
    battery: str = "held down",
    meter: str = "works up to 60 degC",
    more: str = "",
) -> str:
    text = BUILD.replace("SITE", site).replace("CASE", case).replace("ZONE", zone).replace("BATTERY", battery)
    return text.replace("METER", meter).replace("WATTS", watts) + more


def study_of(text: str) -> Study:
    found = resolve("box.rig", Loader(MemoryFiles({"box.rig": text})))
    assert isinstance(found, Resolved)
    return make_study(found.build, StudyOptions(today=date(2026, 1, 1)))


def warmth(text: str, state: str = "", case: str = "box") -> Air:
    study = study_of(text)
    found = study.airs.inside(case, study.state(state) or study.states[0])
    assert isinstance(found, Air)
    return found


def test_catalogue_l5(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, L5, Ex: 0.40 x 0.30 x 0.25 m, base blocked 0.47 m2, 30 W: 13.9 K; 38 -> 51.9 degC > 45 (warning), 60 degC passes."""
    found = said(build(), "hot_case")
    assert found.grades == [("box", "over-derating", "warning")]
    finding = found.finding("box")
    assert finding.measured.value == pytest.approx(38 + 30 / (4.6 * 0.47), abs=1e-6)
    assert finding.measured.value == pytest.approx(51.9, abs=0.05)
    assert finding.limit.value == 45
    assert finding.subject == ("box", "house")
    assert finding.message == (
        "box: it gets 51.9 degC hot in it in state 'stored'; from 45 degC on house derates or ages faster. 30 W are lost inside, 13.9 K above the air outside."
    )
    passed = found.passed("box", "over-limit")
    assert passed.limit.value == 60


@pytest.mark.parametrize(
    ("case", "area"),
    [
        ("size 0.40 m x 0.30 m x 0.25 m", 0.47), ("inside size 400 x 300 x 250 mm", 0.47),
        ("size 400 x 300 x 250 mm; no blocked faces", 0.59), ("size 400 x 300 x 250 mm; blocked faces base, back", 0.37),
        ("size 400 x 300 x 250 mm; blocked faces left", 0.515), ("metal", None),
    ],
)  # fmt: skip
def test_free_area(case: str, area: float | None) -> None:
    """Twice each of the three faces, without those that are blocked (by hand)."""
    (found,) = study_of(build(case=case)).of(Enclosure)
    assert free_area(found) == (pytest.approx(area) if area is not None else None)


@pytest.mark.parametrize(
    ("case", "rise"),
    [
        ("walls pass 5.5 W/m2K", 30 / (5.5 * 0.47)),
        ("fan; with the fan 9 W/m2K", 30 / (9 * 0.47)),
        ("fan; walls 5 W/m2K", 30 / (5 * 0.47)),
    ],
)
def test_heat_through_the_walls(case: str, rise: float) -> None:
    assert warmth(build(case=f"closed; size 0.4 m x 0.3 m x 0.25 m; {case}")).rise == pytest.approx(rise)


LOSSES = """rig "Losses", revision 1
basis us-small-craft
site { ambient 0 degC to 20 degC }
case box { closed; size 0.4 m x 0.3 m x 0.25 m }
zone inside { in box }
battery house { LFP, 4 cells, 100 Ah; internal resistance 10 mohm; in inside }
fuse main { 60 A bolt-down; 1 mohm; line on house.plus; in inside }
load pump 40 A
wire feed from main.load to pump.plus { measured 2 mohm; in inside }
wire back from pump.minus to house.minus { measured 5 mohm }
state run { pump on }
"""


def test_losses_of_battery_fuse_and_wires_inside() -> None:
    """I2R by hand: 40 A through 10 mohm of the battery, 1 mohm of the fuse and 2 mohm of the wire that lies inside; the other wire has an end inside, so
    that it counts too."""
    found = warmth(LOSSES, "run")
    by_name = {loss.name: loss.low for loss in found.losses}
    assert by_name["house"] == pytest.approx(16.0)
    assert by_name["main"] == pytest.approx(1.6)
    assert by_name["wires"] == pytest.approx(3.2 + 8.0)
    assert found.power == pytest.approx(28.8)
    assert found.low == pytest.approx(20 + 28.8 / (4.6 * 0.47))


def test_copper_is_as_warm_as_the_case() -> None:
    """T = T0 + P20 (1 + alpha (T - 20)) / hA, solved by hand: T - 20 = x / (1 - alpha x) with x = P20 / hA and T0 = 20."""
    text = LOSSES.replace("measured 2 mohm", "10 AWG; 1 m").replace("measured 5 mohm", "10 AWG; 1 m; in inside")
    found = warmth(text, "run")
    conductance = 4.6 * 0.47
    copper = 1600 * 2 * 3.277e-3  # W at 20 degC, catalogue's constants: 10 AWG 3.277 mohm/m
    x = (17.6 + copper) / conductance
    grows = 0.00393 * copper / conductance
    assert found.low - 20 == pytest.approx(x / (1 - grows), rel=1e-3)


def test_a_wire_that_cannot_cool_runs_away() -> None:
    text = LOSSES.replace("size 0.4 m x 0.3 m x 0.25 m", "size 40 x 30 x 25 mm").replace("measured 2 mohm", "18 AWG; 5 m")
    assert warmth(text, "run").low == 1000.0


PARTS = """rig "Parts", revision 1
basis us-small-craft
site { ambient 0 degC to 20 degC }
case box { closed; size 0.4 m x 0.3 m x 0.25 m }
zone inside { in box }
battery house { LFP, 4 cells, 100 Ah; internal resistance 0.1 mohm }
inverter mains { 300 W; efficiency 80 %; draws 10 W with no load; in inside; works up to 60 degC }
AC load kettle 160 W
charger depot { 10 A; absorption 14.4 V; EFFICIENCY in inside; works up to 60 degC }
wire a from house.plus to mains.plus { measured 0.001 mohm }
wire b from mains.minus to house.minus { measured 0.001 mohm }
wire c from depot.plus to house.plus { measured 0.001 mohm }
wire d from house.minus to depot.minus { measured 0.001 mohm }
wire e from mains.L to kettle.L { 14 AWG; 1 m }
wire f from mains.N to kettle.N { 14 AWG; 1 m }
state boil { mains on; kettle on; depot off }
state charge { depot on; house at 50 % }
"""


def test_losses_by_efficiency() -> None:
    """An inverter loses 160 W / 0.8 - 160 W + 10 W idle = 50 W; a charger that does not say its efficiency P (1/0.85 - 1)."""
    boil = {loss.name: loss.low for loss in warmth(PARTS.replace("EFFICIENCY", ""), "boil").losses}
    assert boil["mains"] == pytest.approx(50.0)
    study = study_of(PARTS.replace("EFFICIENCY", ""))
    state = study.state("charge")
    assert state is not None
    given = state.current("depot") * (state.across("depot.plus", "depot.minus") or 0.0)
    found = study.airs.inside("box", state)
    assert isinstance(found, Air)
    assert {loss.name: loss.low for loss in found.losses}["depot"] == pytest.approx(given * (1 / ASSUMED_EFFICIENCY - 1))
    better = warmth(PARTS.replace("EFFICIENCY", "efficiency 90 %;"), "charge")
    assert {loss.name: loss.low for loss in better.losses}["depot"] == pytest.approx(given * (1 / 0.9 - 1))


@pytest.mark.parametrize(
    ("watts", "meter", "grades"),
    [
        ("47.564 W", "works up to 60 degC", ["over-derating"]), ("47.565 W", "works up to 60 degC", ["over-limit", "over-derating"]),
        ("30 W", "works up to 51 degC", ["over-limit", "over-derating"]), ("15.134 W", "derates above 45 degC; works up to 60 degC", []),
        ("15.135 W", "derates above 45 degC; works up to 60 degC", ["over-derating"]),
    ],
)  # fmt: skip
def test_edges(said, watts: str, meter: str, grades: list[str]) -> None:  # type: ignore[no-untyped-def]
    """22 K x 4.6 x 0.47 = 47.564 W reach 60 degC; 7 K x 2.162 = 15.134 W reach 45 degC."""
    assert [item[1] for item in said(build(watts, meter=meter), "hot_case").grades] == grades


def test_charge_limit_counts_while_it_is_charged(said) -> None:  # type: ignore[no-untyped-def]
    more = "charger depot { 5 A; absorption 14.4 V }\nwire c from depot.plus to house.plus { 10 AWG; 1 m }\nwire d from house.minus to depot.minus { 10 AWG; 1 m }\n"
    charged = build("20 W", battery="charge at 0 degC to 46 degC; ages above 70 degC", more=more)
    found = said(charged, "hot_case")
    assert found.grades == [("box", "over-limit", "error")]
    assert "the highest temperature at which it may be charged" in found.finding("box").message
    assert said(charged.replace(more, ""), "hot_case").grades == []


def test_cells_warmer_than_their_zone(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build("30 W", battery="cells 8.2 K above the zone"), "hot_case")
    assert ("box", "over-limit", "error") in found.grades
    assert found.finding("box", "over-limit").measured.value == pytest.approx(51.876 + 8.2, abs=1e-3)


@pytest.mark.parametrize(
    ("zone", "state", "degrees"),
    [("in box; 0 degC to 50 degC", "", 50.0), ("in box", "state hot { inside temperature 47 degC }\n", None)],
)
def test_a_range_or_state_holds_the_rise(said, zone: str, state: str, degrees: float | None) -> None:  # type: ignore[no-untyped-def]
    """Readings, Temperature: unless the state says "inside temperature" or the zone declares its own range, which already holds the rise."""
    found = said(build("30 W", zone=zone, more=state), "hot_case")
    finding = found.finding("box", "over-derating")
    if degrees is not None:
        assert finding.measured.value == degrees
        assert "lost inside" not in finding.message
    else:
        assert {item.state: item.measured.value for item in finding.states}["hot"] == 47.0


def test_a_state_moves_the_ambient(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build("30 W", more="state cold { 10 degC }\nstate usual { house at 70 % }\n"), "hot_case")
    assert {item.state for item in found.finding("box").states} == {"usual"}


@pytest.mark.parametrize(
    ("change", "missing"),
    [
        ({"case": "closed"}, "size of box"),
        ({"case": "size 400 x 300 x 250 mm"}, "whether it is closed"),
        ({"case": "closed; size 400 x 300 x 250 mm; vent low 20 cm2"}, "heat through its walls, vents counted"),
        ({"case": "closed; size 400 x 300 x 250 mm; fan"}, "heat through its walls with the fan running"),
        ({"site": ""}, "temperature of the air"),
        ({"meter": "always on"}, "highest temperature of heater"),
    ],
)
def test_what_is_missing(said, change: dict[str, str], missing: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build("30 W", **change), "hot_case")
    assert missing in [item.missing for item in found.unchecked]
    assert found.grades == ([("box", "over-derating", "warning")] if "meter" in change else [])


def test_a_cool_case_asks_for_nothing(said) -> None:  # type: ignore[no-untyped-def]
    """Where it stays below 40 degC neither the seal nor the parts have to say anything."""
    found = said(build("3 W", case="size 400 x 300 x 250 mm", meter="always on"), "hot_case")
    assert found.unchecked == []
    assert [item.grade for item in found.passes] == ["over-limit", "over-derating"]


def test_resistance_and_efficiency_are_asked_for_where_they_decide(said) -> None:  # type: ignore[no-untyped-def]
    text = LOSSES.replace("; internal resistance 10 mohm", "")
    assert [item.missing for item in said(text, "hot_case").unchecked] == ["internal resistance of house"] * 2
    dark = study_of(LOSSES.replace("size 0.4 m x 0.3 m x 0.25 m", "metal"))
    found = dark.airs.inside("box", dark.states[0])
    assert isinstance(found, Missing)
    assert found.what == "size of box"
    sun = (
        "array roof { Voc 22 V; Isc 5 A; Vmp 18 V; Imp 4.7 A }\ncontroller sun { MPPT; 20 A; absorption 14.4 V; in inside; works up to 41 degC; EFFICIENCY }\n"
        "wire s from roof.plus to sun.pv_plus { 12 AWG; 1 m }\nwire t from sun.pv_minus to roof.minus { 12 AWG; 1 m }\n"
        "wire u from sun.batt_plus to house.plus { 12 AWG; 1 m }\nwire v from house.minus to sun.batt_minus { 12 AWG; 1 m }\n"
        "state noon { sun 1000 W/m2; house at 50 % }\n"
    )
    text = build("0.1 W", more=sun)
    assert {item.missing for item in said(text.replace("; EFFICIENCY", ""), "hot_case").unchecked} == {"efficiency of sun"}
    assert said(text.replace("EFFICIENCY", "efficiency 98 %"), "hot_case").unchecked == []


@pytest.mark.parametrize(
    ("lasts", "counts"), [("lasts 29 min", False), ("lasts 30 min", True), ("for 0.4 h/day", False), ("for 1 h/day", True)]
)
def test_short_states_do_not_count(said, lasts: str, counts: bool) -> None:  # type: ignore[no-untyped-def]
    """Readings, L5: states shorter than 30 min do not count."""
    text = build(
        "1 W",
        battery="discharge at most 200 A",
        more=f"load pump 80 A\nwire p from house.plus to pump.plus {{ 2 AWG; 1 m }}\nwire q from pump.minus to house.minus {{ 2 AWG; 1 m }}\nstate run {{ pump on; {lasts} }}\n",
    )
    found = said(text, "hot_case")
    states = {item.state for finding in found.findings for item in finding.states}
    assert ("run" in states) is counts


@pytest.mark.parametrize(("case", "condition"), [("not closed; size 400 x 300 x 250 mm", "a case that is not closed")])
def test_what_does_not_apply(said, case: str, condition: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(case=case), "hot_case")
    assert [item.condition for item in found.idle] == [condition]
    assert found.grades == []


def test_remedy_by_hand(said) -> None:  # type: ignore[no-untyped-def]
    """30 W and 45 - 38 = 7 K: 7 x 4.6 x 0.47 = 15.1 W, or 30 / (7 x 4.6) = 0.932 m2."""
    remedy = said(build(), "hot_case").finding("box").remedy
    assert remedy.startswith(
        "Bring the heat inside to 15.1 W or less, use a case with 0.932 m2 of free walls or more (0.47 m2 now)"
    )


def test_remedy_where_no_case_helps(said) -> None:  # type: ignore[no-untyped-def]
    outside = said(build(site="site { ambient 0 degC to 46 degC }"), "hot_case").finding("box", "over-derating")
    assert outside.remedy == "Use a part that bears 59.9 degC, or put house where it is cooler."
    told = said(build(zone="in box; 0 degC to 50 degC"), "hot_case").finding("box", "over-derating")
    assert told.remedy == "Use a part that bears 50 degC, or put house where it is cooler."


def test_converter_and_load_inside() -> None:
    """A converter of 80 % that gives 5 V x 4 A takes 25 W and loses 5 W; a load that lies in the case leaves all of its power there."""
    text = build("0.001 W") + (
        "converter five { output 5 V; output at most 5 A; efficiency 80 %; draws 0 A with no load; in inside }\nload radio { 4 A; in inside }\n"
        "wire c from house.plus to five.in_plus { measured 0.001 mohm }\nwire d from five.in_minus to house.minus { measured 0.001 mohm }\n"
        "wire e from five.out_plus to radio.plus { measured 0.001 mohm }\nwire f from radio.minus to five.out_minus { measured 0.001 mohm }\n"
        "state on { radio on }\n"
    )
    losses = {loss.name: loss.low for loss in warmth(text, "on").losses}
    assert losses["five"] == pytest.approx(5.0, rel=1e-3)
    assert losses["radio"] == pytest.approx(20.0, rel=1e-3)


@pytest.mark.parametrize(
    ("zone", "more", "inside"),
    [
        ("0 degC to 30 degC", "", True),  # the only case there is
        ("0 degC to 30 degC", "zone other { in box }\n", False),  # another zone is said to be in it
        ("0 degC to 30 degC", "case shed { steel }\n", False),  # two cases
        ("in box", "case shed { steel }\n", True),
    ],
)
def test_what_lies_in_a_case(zone: str, more: str, inside: bool) -> None:
    study = study_of(build(zone=zone, more=more))
    parts = {part.name for part in study.airs.contents["box"].parts}
    assert parts == ({"heater", "house"} if inside else set())


@pytest.mark.parametrize(
    "case",
    [
        "size 400 x 300 x 250 mm; blocked faces base, top, left, right, front, back",
        "size 400 x 300 x 250 mm; walls pass 0 W/m2K",
    ],
)
def test_case_that_no_heat_can_leave(said, case: str) -> None:  # type: ignore[no-untyped-def]
    finding = said(build(case=f"closed; {case}"), "hot_case").finding("box", "over-limit")
    assert "hotter in it without end" in finding.message
    assert "no heat can leave" in finding.message
    assert finding.measured is None
    assert "cooler" in finding.remedy


def test_mains_load_inside_counts_while_it_runs() -> None:
    text = PARTS.replace("EFFICIENCY", "").replace("AC load kettle 160 W", "AC load kettle { 160 W; in inside }")
    assert {loss.name: loss.low for loss in warmth(text, "boil").losses}["kettle"] == 160.0
    assert "kettle" not in {loss.name for loss in warmth(text, "charge").losses}
