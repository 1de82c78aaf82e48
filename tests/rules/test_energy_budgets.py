"""Rules thin-harvest, optimistic-array, deep-cycling, cold-capacity, slow-charge and overloaded-main: the fault catalogue's examples J3 to J5, J7, J9, J10, J12."""

from __future__ import annotations

import pytest
from ohmwright_rules.energy import MILD

SUN = """rig "Hut", revision 1
system 12 V
site { ambient 12 degC to 30 degC; SITE }
battery house { LFP, 4 cells, 12.8 V, 100 Ah; internal resistance 1 mohm; charge efficiency 95 % }
array roof { POWER; Voc 22 V; Isc 12 A; Vmp 18 V; Imp 11.1 A; share left 70 % }
controller sun { MPPT; 20 A }
load lamp { 61.85 W; HOURS }
wires 2/0 AWG, 0.1 m {
  a from roof.plus to sun.pv_plus
  b from sun.pv_minus to roof.minus
  c from sun.batt_plus to house.plus
  d from house.minus to sun.batt_minus
  e from house.plus to lamp.plus
  f from lamp.minus to house.minus
}
REST
"""
MONTHS = "sun by month 2.1, 3, 4, 5, 6, 6, 6, 5.5, 4.5, 3.5, 2.5, 2.2 h/day"


def sun(site: str = "sun 4.5 h/day", power: str = "200 W", hours: str = "for 20 h/day", rest: str = "") -> str:
    return SUN.replace("SITE", site).replace("POWER", power).replace("HOURS", hours).replace("REST", rest)


def test_catalogue_j3(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, J3, Ex: 200*4.5*0.70 = 630 over 1237/0.95 = 1302 -> 0.48 -> warning (1237 Wh at the loads; wires of next to no resistance here)."""
    found = said(sun(), "thin_harvest").finding("roof", "no-margin")
    assert found.measured is not None
    assert found.measured.value == pytest.approx(0.484, abs=0.002)


def test_catalogue_j4(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, J4, Ex: mean 4.5, the worst month 2.1 h: 200*2.1*0.7 = 294 Wh -> warning."""
    found = said(sun(f"{MONTHS}; sized for 4.5 h/day", hours="for 1 h/day"), "thin_harvest").finding("roof", "other-month")
    assert found.measured is not None and found.limit is not None
    assert (found.measured.value, found.limit.value) == (pytest.approx(4.5), pytest.approx(2.1))
    step = said(sun(MONTHS), "thin_harvest").finding("roof", "no-margin").working[0]
    assert step.value == pytest.approx(294.0)


@pytest.mark.parametrize(
    ("text", "grades", "missing"),
    [
        (sun(MONTHS, hours="for 3 h/day"), [], 0), (sun(f"{MONTHS}; sized for January", hours="for 3 h/day"), [], 0),
        (sun(f"{MONTHS}; sized for December", hours="for 3 h/day"), ["other-month"], 0), (sun(f"{MONTHS}; sized for 2.1 h/day", hours="for 3 h/day"), [], 0),
        (sun(hours="for 3 h/day"), [], 2),  # a mean alone: readings.md, J4 not checked, J3 no pass
        (sun(""), [], 1), (sun(MONTHS, hours="24 V"), [], 0),
        (sun(rest="mains charger wall { 10 A }\n"), [], 0),
        # January is dark, but the lamp burns in June only
        (sun(MONTHS, hours="hours by month 0, 0, 0, 0, 0, 3, 0, 0, 0, 0, 0, 0 h/day"), [], 0),
    ],
)  # fmt: skip
def test_harvest(said, text: str, grades: list[str], missing: int) -> None:  # type: ignore[no-untyped-def]
    found = said(text, "thin_harvest")
    assert [grade for _, grade, _ in found.grades] == grades
    assert len(found.unchecked) == missing


@pytest.mark.parametrize(
    ("share", "grades"),
    [("100 %", ["too-much"]), ("85 %", []), ("85.1 %", ["too-much"]), ("50 %", []), ("49.9 %", ["too-little"])],  # catalogue, J12, Ex: 1.0 -> note
)  # fmt: skip
def test_share_left(said, share: str, grades: list[str]) -> None:  # type: ignore[no-untyped-def]
    found = said(f'rig "Roof", revision 1\narray roof {{ 200 W; share left {share} }}\n', "optimistic_array")
    assert [grade for _, grade, _ in found.grades] == grades


BANK = """rig "Cabin", revision 1
system 12 V
site { AMBIENT }
battery house { BATTERY; internal resistance 0.1 mohm }
load lamp { 120 W; HOURS }
wires 2/0 AWG, 0.1 m { a from house.plus to lamp.plus; b from lamp.minus to house.minus }
REST
"""


def bank(battery: str, rest: str = "", ambient: str = "ambient 12 degC to 30 degC", hours: str = "works on 9 V to 15 V") -> str:
    return BANK.replace("BATTERY", battery).replace("REST", rest).replace("AMBIENT", ambient).replace("HOURS", hours)


@pytest.mark.parametrize(
    ("battery", "rest", "hours", "grades"),
    [
        ("AGM, 6 cells, 12 V, 100 Ah", "require run lamp for 6 h", "", ["over-depth"]),  # catalogue, J5, Ex: 60 of 100 Ah -> warning
        ("AGM, 6 cells, 12 V, 100 Ah", "require run lamp for 4.9 h", "", []), ("AGM, 6 cells, 12 V, 100 Ah", "require run lamp for 5.1 h", "", ["over-depth"]),
        ("AGM, 6 cells, 12 V, 100 Ah; usable 80 %", "require run lamp for 6 h", "", []),
        ("LFP, 4 cells, 12 V, 100 Ah", "require run lamp for 8.8 h", "", []), ("LFP, 4 cells, 12 V, 100 Ah", "require run lamp for 9.1 h", "", ["over-depth"]),
        ("AGM, 6 cells, 12 V, 100 Ah", "", "for 6 h/day", ["over-depth"]), ("AGM, 6 cells, 12 V, 100 Ah", "", "", []),
    ],
)  # fmt: skip
def test_depth(said, battery: str, rest: str, hours: str, grades: list[str]) -> None:  # type: ignore[no-untyped-def]
    found = said(bank(battery, rest, hours=hours or "works on 9 V to 15 V"), "deep_cycling")
    assert [grade for _, grade, _ in found.grades] == grades


@pytest.mark.parametrize(
    ("battery", "ambient", "rest", "found", "missing"),
    [
        ("LFP, 4 cells, 100 Ah", "ambient 9.9 degC to 30 degC", "require run lamp for 1 h", 1, 0),  # catalogue, J7: k_T declared when T_min < 10 degC
        ("LFP, 4 cells, 100 Ah", "ambient 10 degC to 30 degC", "require run lamp for 1 h", 0, 0),
        ("LFP, 4 cells, 100 Ah; capacity 80 % at -10 degC", "ambient -10 degC to 30 degC", "require run lamp for 1 h", 0, 0),
        ("LFP, 4 cells, 100 Ah", "ambient -10 degC to 30 degC", "", 0, 0), ("LFP, 4 cells, 100 Ah", "not damp", "require run lamp for 1 h", 0, 1),
        ("LFP, 4 cells, 100 Ah; cells 15 K above the zone", "ambient -5 degC to 30 degC", "require run lamp for 1 h", 0, 0),
    ],
)  # fmt: skip
def test_cold(said, battery: str, ambient: str, rest: str, found: int, missing: int) -> None:  # type: ignore[no-untyped-def]
    assert MILD == 10.0
    told = said(bank(battery, rest, ambient), "cold_capacity")
    assert (len(told.grades), len(told.unchecked)) == (found, missing)


SLOW = """rig "Standby", revision 1
system 12 V
battery house { BATTERY }
mains charger wall { CHARGER; absorption 14.4 V }
wire a from wall.plus to house.plus, 8 AWG, 0.2 m
wire b from house.minus to wall.minus, 8 AWG, 0.2 m
require recharge by mains in HOURS h
"""


@pytest.mark.parametrize(
    ("battery", "charger", "hours", "found"),
    [
        ("AGM, 6 cells, 100 Ah", "10 A", "10", 1),  # catalogue, J10, Ex: 80 Ah/10 A = 8 h + 4 h > 10 h promised -> note
        ("AGM, 6 cells, 100 Ah", "10 A", "12", 0), ("AGM, 6 cells, 100 Ah", "10 A", "11.9", 1), ("AGM, 6 cells, 100 Ah", "10 A; absorption for 2 h", "10", 0),
        ("LFP, 4 cells, 100 Ah", "10 A", "10", 0),
    ],
)  # fmt: skip
def test_taper(said, battery: str, charger: str, hours: str, found: int) -> None:  # type: ignore[no-untyped-def]
    told = said(SLOW.replace("BATTERY", battery).replace("CHARGER", charger).replace("HOURS", hours), "slow_charge")
    assert len(told.grades) == found
    assert not told.unchecked


MAIN = """rig "Shop", revision 1
system 12 V
battery house { LFP, 4 cells, 100 Ah; internal resistance 5 mohm }
fuse main { RATING; line on house.plus }
bus plusbar 100 A
loads { mill { 20 A; MILL }; fan { 15 A }; lamp { 10 A } }
wire a from main.load to plusbar, 6 AWG, 0.2 m
wires 8 AWG, 1 m {
  b from plusbar to mill.plus
  c from plusbar to fan.plus
  d from plusbar to lamp.plus
  e from mill.minus to house.minus
  f from fan.minus to house.minus
  g from lamp.minus to house.minus
}
REST
"""


@pytest.mark.parametrize(
    ("rating", "mill", "rest", "found", "missing"),
    [
        ("40 A", "motor", "", 1, 0),  # catalogue, J9, Ex: 20+15+10 = 45 A vs 40 A -> warning
        ("56.25 A", "motor", "", 0, 0), ("56.2 A", "motor", "", 1, 0), ("40 A", "motor", "never together mill, fan", 0, 0),
        ("40 A", "35 % together", "", 0, 0), ("40 A", "36 % together", "", 1, 0), ("blade", "motor", "", 0, 1),
    ],
)  # fmt: skip
def test_main(said, rating: str, mill: str, rest: str, found: int, missing: int) -> None:  # type: ignore[no-untyped-def]
    told = said(MAIN.replace("RATING", rating).replace("MILL", mill).replace("REST", rest), "overloaded_main")
    assert (len(told.grades), len(told.unchecked)) == (found, missing)


def test_catalogue_j11(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, J11, Ex: 0.88 * 0.85 = 0.748: 60 W cost 80 W; every sum of energy takes the whole chain (60 W x 10 h = 802 Wh)."""
    text = """rig "Chain", revision 1
system 12 V
site { ambient 12 degC to 30 degC }
battery house { LFP, 4 cells, 12 V, 50 Ah; internal resistance 0.1 mohm; usable 100 %; ageing factor 100 % }
converter up { output 24 V; 10 A; efficiency 88 %; input 9 V to 15 V; draws 0 mA with no load }
converter down { output 19 V; 10 A; efficiency 85 %; input 20 V to 30 V; draws 0 mA with no load }
load laptop { 60 W }
wires 2/0 AWG, 0.1 m {
  a from house.plus to up.in_plus
  b from up.in_minus to house.minus
  c from up.out_plus to down.in_plus
  d from down.in_minus to up.out_minus
  e from down.out_plus to laptop.plus
  f from laptop.minus to down.out_minus
}
require run laptop for 10 h
"""
    found = said(text, "run_time").finding("house")
    assert found.measured is not None
    assert found.measured.value / 3600.0 == pytest.approx(600.0 / 0.748, rel=0.002)
