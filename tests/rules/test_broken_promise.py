"""Rule broken-promise: the fault catalogue's examples R4 to R17 with their own constants, edges, silence, and the verdict of each promise."""

from __future__ import annotations

from typing import Any

import pytest

BUILD = """rig "Box", revision 1
basis us-small-craft
system 12 V
site { ambient 12 degC to 30 degC; SUN }
case box { size 400 x 300 x 250 mm; weighs 4 kg }
zone inside { in box }
battery house { LFP, 4 cells, 100 Ah; usable 90 %; internal resistance 5 mohm; weighs 12 kg; costs 300 EUR; in inside; LIFE }
array roof { 200 W; Voc 22 V; Vmp 18 V; Isc 11.5 A; Imp 11.1 A; Voc -0.3 %/K }
controller sun { MPPT; 20 A; absorption 14.2 V; no equalise; no temperature compensation; weighs 1 kg; in inside; common negative }
mains charger bench { 10 A; absorption 14.2 V; no equalise; no temperature compensation; weighs 1.2 kg; in inside }
load lamp { LAMP }
cable cord { 12 AWG; CORD; core a from house.plus to lamp.plus; core b from lamp.minus to house.minus }
wires 10 AWG, 1 m {
  r1 from roof.plus to sun.pv_plus
  r2 from roof.minus to sun.pv_minus
  r3 from sun.batt_plus to house.plus
  r4 from sun.batt_minus to house.minus
  r5 from bench.plus to house.plus
  r6 from bench.minus to house.minus
}
"""


def build(
    require: str,
    lamp: str = "60 W",
    cord: str = "5 m",
    sun: str = "sun 4.5 h/day; record low -10 degC",
    life: str = "3000 cycles at 80 %",
) -> str:
    text = BUILD.replace("LAMP", lamp).replace("CORD", cord).replace("SUN", sun).replace("LIFE", life)
    return text + "".join(f"require {line}\n" for line in require.split("\n"))


def promise(found: Any, name: str = "") -> Any:
    (row,) = [item for item in found.build.requirements if (name or "") in item.name and "answers this" not in item.formula]
    return row


def test_catalogue_r4(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, R4, Ex: 1237/(0.95·4.5·0.70)=413 W; J2, Ex: 200·4.5·0.70=630 Wh < 1237/0.95=1302 Wh -> error (2.1 days)."""
    found = said(build("run 60 W for 20 h\nrecharge by sun in 1 day"), "broken_promise")
    assert [item[1:] for item in found.grades] == [("cannot-do", "error")]
    finding = found.findings[0]
    assert finding.measured.value / 86400 == pytest.approx(1302 / 630, rel=1e-3)
    assert "413 W or more" in finding.remedy
    assert promise(found, "recharge").verdict == "broken"


@pytest.mark.parametrize(("days", "verdict"), [("2.06", "broken"), ("2.07", "met"), ("3", "met")])
def test_edge_of_recharge(said, days: str, verdict: str) -> None:  # type: ignore[no-untyped-def]
    """1237.1 Wh / 0.95 / 630 Wh a day = 2.067 days."""
    assert (
        promise(said(build(f"run 60 W for 20 h\nrecharge by sun in {days} days"), "broken_promise"), "recharge").verdict
        == verdict
    )


def test_no_array_brings_nothing_whatever_else_was_not_said(said) -> None:  # type: ignore[no-untyped-def]
    """Readings, Silence: a promise that is broken without the missing datum is a finding."""
    text = build("recharge by sun in 3 days", sun="record low -10 degC")
    lines = [
        line for line in text.split("\n") if "roof" not in line and not line.startswith(("controller sun", "  r3", "  r4"))
    ]
    found = said("\n".join(lines), "broken_promise")
    assert [item[1:] for item in found.grades] == [("cannot-do", "error")]
    assert "no array brings any energy back; 3 days are promised" in found.findings[0].message


def test_sun_that_counts(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, J4: the worst month decides; declared data: sized for a month or a figure where that is said."""
    months = "sun by month 1 h/day, 2 h/day, 3 h/day, 4 h/day, 5 h/day, 6 h/day, 6 h/day, 5 h/day, 4 h/day, 3 h/day, 2 h/day, 0.9 h/day"

    def days(sun: str) -> float:
        found = said(build("run 60 W for 20 h\nrecharge by sun in 100 days", sun=sun), "broken_promise")
        return float(promise(found, "recharge").value.value) / 86400

    assert days(months) == pytest.approx(1302.2 / (140 * 0.9), rel=1e-3)
    assert days(months + "; sized for June") == pytest.approx(1302.2 / (140 * 6), rel=1e-3)
    assert days(months + "; sized for 2 h/day") == pytest.approx(1302.2 / (140 * 2), rel=1e-3)


def test_catalogue_r5(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, R5, Ex: I=1237/(0.95·13.6·8)=12.0 A."""
    found = said(build("run 60 W for 20 h\nrecharge by mains in 8 h"), "broken_promise")
    assert found.findings[0].measured.value == pytest.approx(11.97, abs=0.01)
    assert found.findings[0].limit.value == 10
    limited = said(build("run 60 W for 20 h\nrecharge by mains in 12 h", life="charge at most 5 A"), "broken_promise")
    assert limited.findings[0].limit.value == 5, "the battery takes less than the charger gives"
    assert promise(said(build("run 60 W for 20 h\nrecharge by mains in 12 h"), "broken_promise"), "mains").verdict == "met"


def test_catalogue_r6(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, R6, Ex: 21.6 -> pass; L9, Ex: 31 kg -> warning. Load constant 23 kg, one hand 12 kg (readings, L9)."""

    def verdict(require: str, mass: str, case: str = "weighs 4 kg") -> Any:
        text = build(require).replace("weighs 12 kg", f"weighs {mass} kg").replace("weighs 4 kg", case)
        return said(text, "broken_promise")

    assert promise(verdict("lifted by one person", "15.4")).verdict == "met"
    assert verdict("lifted by one person", "24.8").grades[0][1:] == ("over-limit", "warning")
    assert verdict("lifted by one person", "15.4", "weighs 4 kg; carried with 1 hand").findings[0].limit.value == 12
    assert verdict("weigh at most 21 kg", "15.4").findings[0].measured.value == pytest.approx(21.6)
    silent = verdict("weigh at most 23 kg", "15.4", "closed")
    assert [item[2] for item in silent.missing] == ["mass of box"]
    assert verdict("weigh at most 13 kg", "15.4", "closed").findings, "what is known is too heavy already"
    text = build("weigh at most 23 kg").replace("weighs 12 kg", "12 V").replace("weighs 4 kg", "closed")
    text = text.replace("weighs 1 kg; ", "").replace("weighs 1.2 kg; ", "")
    nothing = promise(said(text, "broken_promise"), "weigh")
    assert (nothing.verdict, nothing.value, nothing.limit) == ("not-checked", None, None), "of nothing known there is no sum"


FRIDGE = """inverter box_inverter { 300 W; peak 500 W for 2 s; efficiency 88 %; idle 8 W; cut-off 10.5 V }
AC load fridge { 90 W; motor; START }
wire i1 from house.plus to box_inverter.plus, 6 AWG, 1 m
wire i2 from box_inverter.minus to house.minus, 6 AWG, 1 m
wire i3 from box_inverter.L to fridge.L, 14 AWG, 1 m
wire i4 from box_inverter.N to fridge.N, 14 AWG, 1 m
"""


def test_catalogue_r7(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, R7 and I4, Ex: 90 W fridge ×6=540 > 500 W -> fail."""
    found = said(build("start fridge") + FRIDGE.replace("START", "starts at 6 times for 1 s"), "broken_promise")
    assert found.findings[0].measured.value == 540 and found.findings[0].limit.value == 500
    soft = said(build("start fridge") + FRIDGE.replace("START", "starts at 4 times for 1 s"), "broken_promise")
    assert promise(soft).verdict == "met" and promise(soft).limit.value == 10.5, "then the voltage that is left decides"
    for thin in ("14 AWG, 4.5 m", "14 AWG, 9 m"):  # below the cut-off; no operating point at all
        text = FRIDGE.replace("START", "starts at 4 times for 1 s").replace("6 AWG, 1 m", thin)
        assert promise(said(build("start fridge") + text, "broken_promise")).verdict == "broken"


def test_start_of_a_dc_load(said) -> None:  # type: ignore[no-untyped-def]
    lamp = "60 W; works on 10 V to 15 V; starts at TIMES times for 1 s"
    assert promise(said(build("start lamp", lamp.replace("TIMES", "3")), "broken_promise")).verdict == "met"
    assert promise(said(build("start lamp", lamp.replace("TIMES", "12")), "broken_promise")).verdict == "broken"
    assert [item[2] for item in said(build("start lamp", "60 W"), "broken_promise").missing] == ["how lamp starts"]


@pytest.mark.parametrize(("length", "share"), [("10 m", 0.0434), ("5 m", 0.0434), ("20 m", 0.0869)])
def test_catalogue_r11(said, length: str, share: float) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, R11 and D6, Ex: 5 A, 10 m of 12 AWG 4.3 % -> pass 10 %. The cord as declared is 10 m; a longer promise is scaled to."""
    found = said(build(f"cord of {length} with drop at most 10 %", "5 A", cord="10 m"), "broken_promise")
    assert promise(found).verdict == "met"
    assert promise(found).value.value == pytest.approx(share, rel=0.05), "copper at 30 degC and its own heat"


def test_cord_and_drop(said) -> None:  # type: ignore[no-untyped-def]
    assert promise(said(build("cord of 5 m"), "broken_promise")).verdict == "met"
    assert promise(said(build("cord of 5.1 m"), "broken_promise")).verdict == "broken"
    assert promise(said(build("drop at lamp at most 3 %"), "broken_promise")).verdict == "met"
    assert promise(said(build("drop at lamp at most 2 %"), "broken_promise")).verdict == "broken"
    assert promise(said(build("cord of 30 m with drop at most 6 %"), "broken_promise")).verdict == "broken"


def test_catalogue_r13(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, R13, Ex: 49.95 ≤ 60 -> pass (here 2 x 22 V at -10 degC with 0.3 %/K: 48.6 V)."""
    text = build("nothing touchable above 60 V").replace("200 W; Voc", "200 W; 2 in series; Voc")
    assert promise(said(text, "broken_promise")).value.value == pytest.approx(44 * 1.105)
    assert promise(said(text, "broken_promise")).verdict == "met"
    assert promise(said(text.replace("60 V", "48 V"), "broken_promise")).verdict == "broken"


def test_r15(said) -> None:  # type: ignore[no-untyped-def]
    priced = (
        build("cost at most 500 EUR\nreserve 10 %")
        .replace("weighs 1 kg;", "weighs 1 kg; costs 80 EUR;")
        .replace("weighs 4 kg", "weighs 4 kg; costs 20 EUR")
    )
    priced = (
        priced.replace("weighs 1.2 kg;", "weighs 1.2 kg; costs 40 EUR;")
        .replace("lamp { 60 W", "lamp { 60 W; costs 10 EUR")
        .replace("{ 200 W;", "{ 200 W; costs 4 EUR;")
    )
    found = said(priced, "broken_promise")
    assert promise(found, "cost").value.value == pytest.approx(454 * 1.1)
    assert promise(found, "cost").verdict == "met"
    assert promise(said(priced.replace("500 EUR", "499 EUR"), "broken_promise"), "cost").verdict == "broken"
    silent = said(build("cost at most 500 EUR"), "broken_promise")
    assert promise(silent).verdict == "not-checked" and "price of" in silent.missing[0][2]


def test_r16(said) -> None:  # type: ignore[no-untyped-def]
    assert promise(said(build("fit 250 x 400 x 300 mm"), "broken_promise")).verdict == "met", "turned as it fits"
    assert promise(said(build("fit 249 x 400 x 300 mm"), "broken_promise")).verdict == "broken"
    silent = said(build("fit 250 x 400 x 300 mm").replace("size 400 x 300 x 250 mm; ", ""), "broken_promise")
    assert [item[2] for item in silent.missing] == ["outer size of box"]


def test_catalogue_r17(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, R17, Ex: 0.4·365·8=1168 eq. cycles ≤ cycles·DoD (40 % of 1280 Wh a day: 21.33 W x 24 h)."""
    lamp = "21.3333 W; for 24 h/day"
    found = said(build("last 8 years", lamp, cord="1 mm", life="1500 cycles at 80 %"), "broken_promise")
    assert promise(found).value.value == pytest.approx(1168, rel=2e-3)
    assert promise(found).limit.value == pytest.approx(1200)
    assert promise(found).verdict == "met"
    assert promise(said(build("last 8 years", lamp, life="1400 cycles at 80 %"), "broken_promise")).verdict == "broken"
    assert promise(said(build("last 3001 cycles"), "broken_promise")).verdict == "broken"
    assert [item[2] for item in said(build("last 100 cycles", life="held down"), "broken_promise").missing] == [
        "cycle life of house"
    ]


def test_r18(said) -> None:  # type: ignore[no-untyped-def]
    assert promise(said(build("at most 2 suppliers"), "broken_promise")).verdict == "not-checked"
    text = 'rig "Box", revision 1\nbattery house { LFP, 4 cells, 50 Ah; bought from "a", "b" }\nload lamp { 5 W; bought from "b" }\nload fan { 5 W; bought from "c" }\n'
    assert promise(said(text + "require at most 2 suppliers\n", "broken_promise")).verdict == "met"
    assert promise(said(text + "require at most 1 supplier\n", "broken_promise")).verdict == "broken"
    tools = 'rig "Box", revision 1\nall terminals { needs tool crimper }\nbattery house { LFP, 4 cells, 50 Ah }\nload lamp 5 W\nwire a from house.plus to lamp.plus, 14 AWG, 1 m\n'
    assert promise(said(tools + "require built with crimper, wrench\n", "broken_promise")).verdict == "met"
    assert promise(said(tools + "require built with wrench\n", "broken_promise")).verdict == "broken"
    bar = "bus bar { terminals { needs tool wrench } }\nwire b from house.minus to bar, 14 AWG, 1 m\n"
    assert promise(said(tools + bar + "require built with crimper\n", "broken_promise")).verdict == "broken"


def test_promises_of_other_rules(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build("run lamp for 2 h"), "broken_promise")
    assert [item.condition for item in found.idle] == ["a promise that another rule answers"]
