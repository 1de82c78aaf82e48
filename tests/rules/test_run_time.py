"""Rule run-time: the fault catalogue's examples J1, R1, R2, R9 end to end, cold, age, rate, hours, edges, silence, and the verdicts of promises."""

from __future__ import annotations

from typing import Any

import pytest

WH = 3600.0
BUILD = """rig "Box", revision 1
site { ambient AIR degC to 30 degC }
battery house { BATTERY }
load lamp { LOAD }
wire a from house.plus to lamp.plus, 10 AWG, 1 m
wire b from lamp.minus to house.minus, 10 AWG, 1 m
"""
BATTERY = "LFP, 4 cells, 100 Ah; usable 90 %; internal resistance 5 mohm"


def build(require: str, load: str = "60 W", battery: str = BATTERY, air: str = "12") -> str:
    return BUILD.replace("LOAD", load).replace("BATTERY", battery).replace("AIR", air) + require + "\n"


def promise(found: Any) -> Any:
    (row,) = [item for item in found.build.requirements if item.value is not None or item.verdict != "not-checked"]
    return row


def test_catalogue_j1(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, J1, Ex: 60 W·20 h/0.97=1237 Wh; 12.8·100·0.90·0.95=1094 Wh -> error, short 143 Wh. R1 is the same sum."""
    found = said(build("require run lamp for 20 h\nrequire wiring leaves 97 %"), "run_time")
    assert found.grades == [("house", "under-promise", "error")]
    finding = found.finding("house")
    assert finding.measured.value / WH == pytest.approx(1237, abs=0.5)
    assert finding.limit.value / WH == pytest.approx(1094, abs=0.5)
    assert "143 Wh short" in finding.message
    assert promise(found).verdict == "broken" and promise(found).limit == finding.limit


def test_catalogue_j1_as_a_power(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, J1, Ex: the same as a power that names no load; the wiring's 97 % is the example's own."""
    found = said(build("require run 60 W for 20 h"), "run_time")
    assert found.finding("house").measured.value / WH == pytest.approx(1237, abs=0.5)


def test_catalogue_r2(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, R2, Ex: (60/0.88+8)·20/0.97=1571 Wh."""
    text = build("require run kettle for 20 h\nrequire wiring leaves 97 %", "1 W") + (
        "inverter box { 300 W; efficiency 88 %; idle 8 W }\nAC load kettle 60 W\nwire c from house.plus to box.plus, 10 AWG, 1 m\n"
        "wire d from box.minus to house.minus, 10 AWG, 1 m\nwire e from box.L to kettle.L, 14 AWG, 1 m\nwire f from box.N to kettle.N, 14 AWG, 1 m\n"
    )
    assert said(text, "run_time").finding("house").measured.value / WH == pytest.approx(1571, abs=0.5)


def test_catalogue_r9(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, R9, Ex: 400·3=1200 > 1094 -> fail (here 50 W x 8 h, wires of no length to speak of)."""
    text = build("require 3 days without sun", "50 W; for 8 h/day").replace("10 AWG, 1 m", "2/0 AWG, 1 mm")
    found = said(text, "run_time")
    assert found.finding("house").measured.value / WH == pytest.approx(1200, rel=1e-3)
    assert promise(found).verdict == "broken"


def test_the_solved_wiring_counts_where_nothing_is_said(said) -> None:  # type: ignore[no-untyped-def]
    thin = build("require run lamp for 20 h").replace("10 AWG, 1 m", "18 AWG, 3 m")
    thick = build("require run lamp for 20 h")
    assert (
        said(thin, "run_time").finding("house").measured.value > 1.03 * said(thick, "run_time").finding("house").measured.value
    )


@pytest.mark.parametrize(("hours", "verdict"), [("17.6", "met"), ("17.68", "met"), ("17.70", "broken")])
def test_edge(said, hours: str, verdict: str) -> None:  # type: ignore[no-untyped-def]
    """1094.4 Wh x 0.97 / 60 W = 17.693 h."""
    found = said(build(f"require run lamp for {hours} h\nrequire wiring leaves 97 %"), "run_time")
    assert promise(found).verdict == verdict
    assert bool(found.findings) is (verdict == "broken")


def test_a_remembered_depth_is_at_most_a_warning(said) -> None:  # type: ignore[no-untyped-def]
    """Readings, Limits from memory: the usual 90 % of LFP lowers the grade; not where the nominal energy itself is too little."""
    plain = BATTERY.replace("usable 90 %; ", "")
    assert said(build("require run lamp for 20 h", battery=plain), "run_time").grades == [("house", "under-promise", "warning")]
    assert said(build("require run lamp for 30 h", battery=plain), "run_time").grades == [("house", "under-promise", "error")]


def test_cold(said) -> None:  # type: ignore[no-untyped-def]
    """Readings, J1: k_T 1 from 10 degC up; below it declared or not checked. Catalogue, J7, Ex: 1094·0.9=985 Wh."""
    assert promise(said(build("require run lamp for 15 h", air="10"), "run_time")).verdict == "met"
    silent = said(build("require run lamp for 15 h", air="0"), "run_time")
    assert silent.missing == [("house", "under-promise", "capacity of house at 0 degC")]
    assert promise(silent).verdict == "not-checked"
    anyway = said(build("require run lamp for 20 h", air="0"), "run_time")
    assert anyway.grades == [("house", "under-promise", "error")], "broken even as if it were warm"
    told = said(build("require run lamp for 20 h", battery=BATTERY + "; capacity 90 % at 0 degC", air="0"), "run_time")
    assert told.finding("house").limit.value / WH == pytest.approx(985, abs=0.5)
    between = said(build("require run lamp for 20 h", battery=BATTERY + "; capacity 90 % at 0 degC", air="5"), "run_time")
    assert between.finding("house").limit.value / WH == pytest.approx(1094.4 * 0.95, abs=0.5)


def test_age_and_rate(said) -> None:  # type: ignore[no-untyped-def]
    aged = said(build("require run lamp for 20 h", battery=BATTERY + "; aged to 80 %"), "run_time")
    assert aged.finding("house").limit.value / WH == pytest.approx(12.8 * 100 * 0.9 * 0.8)
    # Catalogue, J6, Ex: 100·(5/25)^0.2=72.5 Ah (25 A at 12 V: 300 W drawn from the posts).
    lead = "AGM, 6 cells, 12 V, 100 Ah over 20 h; usable 100 %; aged to 100 %; exponent 1.2; internal resistance 1 mohm"
    found = said(build("require run 300 W for 4 h\nrequire wiring leaves 100 %", battery=lead), "run_time")
    assert found.finding("house").limit.value / WH == pytest.approx(12 * 72.5, rel=1e-3)


def test_strings_and_packs(said) -> None:  # type: ignore[no-untyped-def]
    more = "battery second { BATTERY }\nwire c from second.plus to house.plus, 4 AWG, 0.2 m\nwire d from second.minus to house.minus, 4 AWG, 0.2 m\n"
    found = said(build("require run lamp for 40 h").replace("load", more.replace("BATTERY", BATTERY) + "load", 1), "run_time")
    assert found.findings[0].limit.value / WH == pytest.approx(2 * 1094.4)


def test_a_day_without_a_promise_is_a_note(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build("", "60 W; for 20 h/day"), "run_time")
    assert found.grades == [("house", "over-a-day", "note")]
    assert said(build("", "60 W; for 5 h/day"), "run_time").passed("house", "over-a-day")
    assert [item.condition for item in said(build(""), "run_time").idle] == [
        "no run time is promised, and no load says its hours a day"
    ]


@pytest.mark.parametrize(
    ("text", "missing"),
    [
        (build("require run lamp for 5 h", load='described as "blue"'), "power or current of lamp"),
        (build("require run lamp for 5 h", battery="LFP, 4 cells"), "capacity of house"),
        (build("require run lamp for 5 h", battery="100 Ah; internal resistance 5 mohm"), "chemistry and cells of house"),
        (build("require 2 days without sun"), "hours a day of lamp"),
        (build("require run lamp for 5 h").replace("site { ambient 12 degC to 30 degC }", ""), "coldest air at house"),
    ],
)
def test_missing_data_are_named(said, text: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    found = said(text, "run_time")
    assert not found.findings
    assert [item[2] for item in found.missing] == [missing]
    assert {item.verdict for item in found.build.requirements} == {"not-checked"}


def test_an_efficiency_that_was_not_said_is_asked_for_only_where_it_decides(said) -> None:  # type: ignore[no-untyped-def]
    def text(hours: int) -> str:
        return build(f"require run kettle for {hours} h", "1 W") + (
            "inverter box { 300 W; idle 8 W }\nAC load kettle 60 W\nwire c from house.plus to box.plus, 10 AWG, 1 m\n"
            "wire d from box.minus to house.minus, 10 AWG, 1 m\nwire e from box.L to kettle.L, 14 AWG, 1 m\nwire f from box.N to kettle.N, 14 AWG, 1 m\n"
        )

    assert said(text(5), "run_time").missing == [("house", "under-promise", "efficiency of box")]
    assert said(text(19), "run_time").grades == [("house", "under-promise", "error")]


def test_below_the_coldest_declared_point_the_line_goes_on(said) -> None:  # type: ignore[no-untyped-def]
    cold = BATTERY + "; capacity 90 % at 0 degC, 70 % at -20 degC"
    found = said(build("require run lamp for 20 h", battery=cold, air="-26"), "run_time")
    assert found.finding("house").limit.value / WH == pytest.approx(1094.4 * 0.64, abs=0.5)


def test_the_energy_of_a_day_counts_everything_that_stays_fed(said) -> None:  # type: ignore[no-untyped-def]
    """The sum by hand (common practice, no source): 5 W x 24 h, 60 W x 2 h / 0.88 + 8 W x 2 h (it sleeps), a meter's 10 mA x 12.8 V x 24 h, a BMS' 5 mA."""
    text = build("require 1 days without sun", "5 W; for 24 h/day", BATTERY + "; bms { own drain 5 mA }") + (
        "inverter box { 300 W; efficiency 88 %; idle 8 W; sleeps }\nAC load kettle { 60 W; for 2 h/day }\nmeter gauge { own drain 10 mA }\n"
        "wire c from house.plus to box.plus, 2/0 AWG, 1 mm\nwire d from box.minus to house.minus, 2/0 AWG, 1 mm\n"
        "wire e from box.L to kettle.L, 14 AWG, 1 m\nwire f from box.N to kettle.N, 14 AWG, 1 m\n"
        "wire g from house.plus to gauge.plus, 14 AWG, 1 m\nwire h from gauge.minus to house.minus, 14 AWG, 1 m\n"
    )
    wanted = 120 + 60 * 2 / 0.88 + 16 + 0.010 * 12.8 * 24 + 0.005 * 12.8 * 24
    row = promise(said(text.replace("10 AWG, 1 m", "2/0 AWG, 1 mm"), "run_time"))
    assert row.value.value / WH == pytest.approx(wanted, rel=1e-3)
    assert row.verdict == "met"
    asleep = text.replace("10 AWG, 1 m", "2/0 AWG, 1 mm").replace("sleeps", "sleeps; own drain 1 W")
    assert promise(said(asleep, "run_time")).value.value / WH == pytest.approx(wanted + 22, rel=1e-3)  # the 22 h asleep


def test_hours_of_a_coil_come_from_the_states(said) -> None:  # type: ignore[no-untyped-def]
    coil = "relay k { 20 A; coil 12.8 V; coil 2 W }\nswitch s 5 A\nwire c from house.plus to s.line, 14 AWG, 1 m\nwire d from s.load to k.coil_plus, 14 AWG, 1 m\nwire e from k.coil_minus to house.minus, 14 AWG, 1 m\n"
    text = build("require 1 days without sun", "5 W; for 24 h/day").replace("10 AWG, 1 m", "2/0 AWG, 1 mm") + coil
    always = promise(said(text, "run_time")).value.value / WH
    told = promise(said(text + "state pumping { s closed; for 3 h/day }\nstate rest { s open }\n", "run_time")).value.value / WH
    assert always - told == pytest.approx(2 * 21, rel=2e-2)


def test_what_flows_from_pack_to_pack_is_not_taken_from_the_bank(said) -> None:  # type: ignore[no-untyped-def]
    """Kirchhoff: 0.4 V over 10.2 mohm drive 39 A from one pack into the other; the lamp takes its 60 W all the same."""
    text = build("require run lamp for 2 h", battery=f"{BATTERY}; rest 13.0 V at 0 %, 13.4 V at 100 %")
    second = (
        "battery other { LFP, 4 cells, 100 Ah; usable 90 %; internal resistance 5 mohm; rest 13.4 V at 0 %, 13.8 V at 100 % }\n"
        "wire c from house.plus to other.plus, measured 0.1 mohm\nwire d from other.minus to house.minus, measured 0.1 mohm\n"
    )
    alone, both = (promise(said(build_text, "run_time")).value.value / WH for build_text in (text, text + second))
    assert both == pytest.approx(alone, rel=0.15) and both < 160


def test_nothing_is_summed_over_a_short(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        build("require run lamp for 2 h")
        + "switch odd 10 A\nwire s1 from house.plus to odd.line, 10 AWG, 1 m\nwire s2 from odd.load to house.minus, 10 AWG, 1 m\n"
    )
    found = said(text, "run_time")
    assert not found.findings and found.missing == [("house", "under-promise", "an operating point with all of them on")]
