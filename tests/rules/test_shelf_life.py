"""Rule shelf-life: the fault catalogue's example K1 end to end, drains by name, promises, banks, edges, what is missing."""

from __future__ import annotations

import pytest

MONTH = 730 * 3600.0
BUILD = """rig "Winter box", revision 1
battery house { LFP, 4 cells, 100 Ah; self-discharge 3 %/month; bms { own drain 4 mA } }
meter gauge 8 mA
wires measured 1 uohm {
  a from house.plus to gauge.plus
  b from gauge.minus to house.minus
}
procedure { store from 80 %; store down to 20 % }
"""
PROMISE = "require on the shelf for 6 months\n"


def test_catalogue_k1(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, K1, Ex: 100 Ah, 80->20 % = 60 Ah; 12 mA·730 = 8.76 + 3.00 = 11.76 Ah/month -> 5.1 vs 6 -> error."""
    found = said(BUILD + PROMISE, "shelf_life")
    assert found.grades == [("house", "under-promise", "error")]
    finding = found.finding("house")
    assert finding.measured.value == pytest.approx(60 / 11.76 * MONTH)
    assert finding.limit.value == 6 * MONTH
    assert finding.message == (
        "house: stored as in state 'stored' it lasts 5.1 months; 6 months are required."
        " 16.1 mA empty it: gauge 8 mA (50 %), self-discharge 4.11 mA (26 %), BMS of house 4 mA (25 %)."
    )
    assert finding.remedy == "Bring all drains together to 9.59 mA or less; without gauge it lasts 10.1 months, long enough."
    assert {step.symbol: step.value for step in finding.working}["C_usable"] == pytest.approx(60.0)
    assert [related.message for related in finding.related] == [
        "gauge takes 8 mA", "BMS of house takes 4 mA", "the requirement"
    ]  # fmt: skip


def test_catalogue_k1_fully_disconnected(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, K1, Ex: fully disconnected 60/3 = 20 -> pass."""
    text = BUILD.replace("own drain 4 mA", "own drain 0 mA").replace("gauge 8 mA", "gauge 0 mA")
    assert said(text + PROMISE, "shelf_life").passed("house").measured.value == pytest.approx(20 * MONTH)


def test_the_promise_has_its_row(said) -> None:  # type: ignore[no-untyped-def]
    found = said(BUILD + PROMISE + "require on the shelf for 5 months\n", "shelf_life")
    rows = {row.name: (row.verdict, row.limit.value / MONTH) for row in found.build.requirements}
    assert rows == {"on the shelf for 6 months": ("broken", 6.0), "on the shelf for 5 months": ("met", 5.0)}
    (row,) = [row for row in found.build.requirements if row.verdict == "met"]
    assert row.value.value == pytest.approx(60 / 11.76 * MONTH)
    assert row.formula.startswith("months = ")
    assert row.working


@pytest.mark.parametrize(("months", "broken"), [("5.1 months", False), ("5.103 months", True)])
def test_edge(said, months: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """60 / 11.76 = 5.10204 months."""
    assert bool(said(BUILD + f"require on the shelf for {months}\n", "shelf_life").findings) is broken


@pytest.mark.parametrize(("milliampere", "grades"), [("8", []), ("19", []), ("19.4", ["under-three-months"])])
def test_without_a_promise_three_months_count(said, milliampere: str, grades: list[str]) -> None:  # type: ignore[no-untyped-def]
    """60 Ah / (3 months x 730 h) - 4 mA - 4.11 mA = 19.29 mA; a warning."""
    found = said(BUILD.replace("gauge 8 mA", f"gauge {milliampere} mA"), "shelf_life")
    assert [grade for _, grade, _ in found.grades] == grades
    assert all(severity == "warning" for _, _, severity in found.grades)


def test_tolerances_take_the_end_that_protects(said) -> None:  # type: ignore[no-untyped-def]
    """8 mA plus or minus 2 mA, 100 Ah plus or minus 10 Ah: 54 Ah over (14 mA x 730 h + 2.7 Ah)."""
    text = BUILD.replace("gauge 8 mA", "gauge { own drain 8 mA plus or minus 2 mA }").replace(
        "100 Ah", "100 Ah plus or minus 10 Ah"
    )
    finding = said(text + PROMISE, "shelf_life").finding("house")
    assert finding.measured.value == pytest.approx(54 / (14e-3 * 730 + 2.7) * MONTH)


def test_what_is_switched_off_does_not_count(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        BUILD.replace("a from house.plus to gauge.plus", "a from house.plus to cut.line\n  c from cut.load to gauge.plus")
        + "switch cut 5 A\n"
    )
    assert said(text + PROMISE, "shelf_life").passed("house").measured.value == pytest.approx(60 / (4e-3 * 730 + 3) * MONTH)
    forgotten = text + 'state "stored" { cut closed }\n'
    assert said(forgotten + PROMISE, "shelf_life").finding("house").state == "stored"


def test_a_load_that_is_off_but_fed_drains(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        BUILD
        + "load radio { 10 W; own drain 6 mA }\nwire x from house.plus to radio.plus\nwire y from radio.minus to house.minus\n"
    )
    finding = said(text + PROMISE, "shelf_life").finding("house")
    assert "radio 6 mA (27 %)" in finding.message


def test_every_kind_of_consumer_is_listed_by_name(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        BUILD
        + """system 12 V
controller sun { PWM; 10 A; own drain 7 mA }
mains charger shore { 10 A; drain when unplugged 2 mA }
converter five { 5 V; 3 A; idle 5 mA; efficiency 90 % }
relay hold { 20 A; coil 12 V; coil 1.2 W }
inverter mill { 300 W; own drain 1 mA; idle 8 W }
load phone { 5 W; 5 V }
wires measured 1 uohm {
  d from sun.batt_plus to house.plus
  e from sun.batt_minus to house.minus
  f from shore.plus to house.plus
  g from shore.minus to house.minus
  h from house.plus to five.in_plus
  i from five.in_minus to house.minus
  j from hold.coil_plus to house.plus
  k from hold.coil_minus to house.minus
  l from house.plus to mill.plus
  m from mill.minus to house.minus
  n from five.out_plus to phone.plus
  o from phone.minus to five.out_minus
}
"""
    )
    finding = said(text + PROMISE, "shelf_life").finding("house")
    names = [related.message.split(" takes ")[0] for related in finding.related[:-1]]
    assert sorted(names) == ["BMS of house", "five", "gauge", "hold", "mill", "shore", "sun"]
    assert names[0] == "hold"
    steps = {
        step.expression.partition(":")[0]: step.value
        for step in finding.working
        if step.symbol.startswith("I_") and ":" in step.expression
    }
    assert steps["sun"] == pytest.approx(7e-3)
    assert steps["shore"] == pytest.approx(2e-3)
    assert steps["five"] == pytest.approx(5e-3, rel=0.2)


def test_packs_side_by_side_add_and_in_series_the_weakest_counts(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, K8: drains add up in parallel; readings, C9: in series they do not."""
    pack = "battery pack { LFP, 4 cells, 50 Ah; self-discharge 3 %/month; bms { own drain 4 mA } }\n"
    beside = BUILD + pack + "wire p from pack.plus to house.plus\nwire q from pack.minus to house.minus\n"
    finding = said(beside + PROMISE, "shelf_life").finding("house")
    assert finding.subject == ("house", "pack")
    assert finding.measured.value == pytest.approx(90 / (16e-3 * 730 + 4.5) * MONTH)
    series = BUILD.replace("house.plus to gauge", "pack.plus to gauge") + pack + "wire p from pack.minus to house.plus\n"
    finding = said(series + PROMISE, "shelf_life").finding("house")
    assert finding.measured.value == pytest.approx(30 / (12e-3 * 730 + 3.0) * MONTH)


def test_two_banks_with_a_common_minus_are_two(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        BUILD
        + "battery start { AGM, 6 cells, 50 Ah; self-discharge 5 %/month; usable 50 % }\nwire q from start.minus to house.minus\n"
    )
    found = said(text + "require on the shelf for 2 months\n", "shelf_life")
    assert {item.subject for item in found.passes} == {("house",), ("start",)}


def test_levels_come_from_the_plan_the_battery_or_the_stored_state(said) -> None:  # type: ignore[no-untyped-def]
    """From 70 % down to 1 - 80 % = 20 %: 50 Ah."""
    bare = BUILD.replace("procedure { store from 80 %; store down to 20 % }\n", "").replace("100 Ah;", "100 Ah; usable 80 %; ")
    usable = {
        bare.replace("usable 80 %;", "usable 80 %; store at 70 %;"): 50.0,
        bare + "state stored { house at 70 % }\n": 50.0,
        bare.replace("usable 80 %;", "usable 80 %; store at 40 % to 60 %;") + "state stored { house at 70 % }\n": 50.0,
        bare: 80.0,
        bare + "procedure { store from 70 % }\n": 50.0,
    }
    for text, charge in usable.items():
        outcome = said(text + "require on the shelf for 1 month\n", "shelf_life").passed("house")
        assert outcome.measured.value == pytest.approx(charge / 11.76 * MONTH)


def test_a_remembered_depth_makes_it_a_warning(said) -> None:  # type: ignore[no-untyped-def]
    """Declared data: LFP 90 % usable, from memory: a warning at most."""
    text = BUILD.replace("procedure { store from 80 %; store down to 20 % }\n", "")
    assert said(text + "require on the shelf for 9 months\n", "shelf_life").grades == [("house", "under-promise", "warning")]


@pytest.mark.parametrize(
    ("old", "new", "missing"),
    [
        ("bms { own drain 4 mA }", "bms { cuts both }", "own drain of the BMS of house"),
        ("; bms { own drain 4 mA }", "", "own drain of the BMS of house"),
        ("gauge 8 mA", 'gauge { described as "panel meter" }', "own drain of gauge"),
        (", 100 Ah", "", "capacity of house"),
    ],
)
def test_missing_data_are_named(said, old: str, new: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    text = BUILD.replace("; self-discharge 3 %/month", "")
    assert old in text
    found = said(text.replace(old, new) + "require on the shelf for 4 months\n", "shelf_life")
    assert not found.findings
    assert found.missing == [("house", "under-promise", missing)]
    assert found.unchecked[0].declare
    assert [row.verdict for row in found.build.requirements] == ["not-checked"]


def test_what_fails_without_an_unknown_drain_is_found_all_the_same(said) -> None:  # type: ignore[no-untyped-def]
    text = BUILD.replace("bms { own drain 4 mA }", "bms { cuts both }")
    finding = said(text + "require on the shelf for 8 months\n", "shelf_life").finding("house")
    assert "1 more may drain it: own drain of the BMS of house." in finding.message


def test_no_bms_is_no_silence(said) -> None:  # type: ignore[no-untyped-def]
    text = BUILD.replace("bms { own drain 4 mA }", "no bms")
    assert said(text + PROMISE, "shelf_life").passed("house").measured.value == pytest.approx(60 / (8e-3 * 730 + 3) * MONTH)


def test_self_discharge_by_chemistry(said) -> None:  # type: ignore[no-untyped-def]
    """Trade pages, the protecting end: LFP 3 %, lead-acid 15 % a month (declared data)."""
    lead = (
        BUILD.replace("LFP, 4 cells", "AGM, 6 cells")
        .replace("; self-discharge 3 %/month", "")
        .replace("; bms { own drain 4 mA }", "")
    )
    outcome = said(lead + "require on the shelf for 2 months\n", "shelf_life").passed("house")
    assert outcome.measured.value == pytest.approx(60 / (8e-3 * 730 + 15) * MONTH)


RECEIVER = """load receiver { 50 mA; works on 9 V to 15 V; always on }
wire x from house.plus to receiver.plus
wire y from receiver.minus to house.minus
"""


def test_a_load_that_is_always_on_drains(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, K3: each permanently fed device in K1's sum. 60 Ah / (62 mA x 730 h + 3 Ah) = 1.24 months."""
    found = said(BUILD + RECEIVER + PROMISE, "shelf_life")
    assert [row.verdict for row in found.build.requirements] == ["broken"]
    finding = found.finding("house")
    assert finding.measured.value == pytest.approx(60 / (62e-3 * 730 + 3) * MONTH)
    assert "receiver 50 mA (76 %)" in finding.message
    assert ("receiver: always on", pytest.approx(0.05)) in [(step.expression, step.value) for step in finding.working]


def test_always_on_stands_above_everything_else_off_but_below_its_own_name(said) -> None:  # type: ignore[no-untyped-def]
    quiet = 'state "stored" { everything else off }\n'
    assert "receiver 50 mA" in said(BUILD + RECEIVER + PROMISE + quiet, "shelf_life").finding("house").message
    named = 'state "stored" { receiver off }\n'
    assert "receiver" not in said(BUILD + RECEIVER + PROMISE + named, "shelf_life").finding("house").message
    unsaid = BUILD + RECEIVER.replace("; always on", "")
    assert "receiver" not in said(unsaid + PROMISE, "shelf_life").finding("house").message


def test_a_load_that_is_always_on_counts_for_its_hours(said) -> None:  # type: ignore[no-untyped-def]
    """50 mA for 6 h/day are 12.5 mA."""
    text = BUILD + RECEIVER.replace("always on", "always on; for 6 h/day")
    finding = said(text + PROMISE, "shelf_life").finding("house")
    assert finding.measured.value == pytest.approx(60 / (24.5e-3 * 730 + 3) * MONTH)
    assert "receiver: always on, 6 h/day" in [step.expression for step in finding.working]


def test_a_load_that_is_always_on_counts_only_where_it_is_fed(said) -> None:  # type: ignore[no-untyped-def]
    text = BUILD + RECEIVER.replace("house.plus to receiver", "cut.load to receiver")
    text += "switch cut 5 A\nwire w from house.plus to cut.line\n"
    assert "receiver" not in said(text + PROMISE, "shelf_life").finding("house").message


def test_what_is_always_on_behind_a_converter_drains_through_it(said) -> None:  # type: ignore[no-untyped-def]
    """2.5 W at 5 V behind 90 %: 0.2 A and more at 12.8 V to 13.3 V."""
    text = BUILD + "converter five { 5 V; 3 A; idle 5 mA; efficiency 90 % }\nload phone { 2.5 W; always on }\n"
    text += "wires measured 1 uohm {\n  h from house.plus to five.in_plus\n  i from five.in_minus to house.minus\n"
    text += "  n from five.out_plus to phone.plus\n  o from phone.minus to five.out_minus\n}\n"
    drains = {step.expression: step.value for step in said(text + PROMISE, "shelf_life").finding("house").working}
    assert 0.2 < drains["five: runs"] < 0.23
    silent = said(text.replace("2.5 W; always on", "always on") + "require on the shelf for 3 months\n", "shelf_life")
    assert silent.missing == [("house", "under-promise", "power or current of phone")]


def test_an_inverter_that_is_always_on_runs_in_storage(said) -> None:  # type: ignore[no-untyped-def]
    """8 W with no load at 13.2 V: 0.6 A."""
    text = BUILD + "inverter mill { 300 W; own drain 1 mA; idle 8 W; always on }\n"
    text += "wire l from house.plus to mill.plus\nwire m from mill.minus to house.minus\n"
    drains = {step.expression: step.value for step in said(text + PROMISE, "shelf_life").finding("house").working}
    assert 0.59 < drains["mill: runs"] < 0.63
    assert "mill: own drain" not in drains
    silent = said(text.replace("idle 8 W; ", "") + "require on the shelf for 4 months\n", "shelf_life")
    assert silent.missing == [("house", "under-promise", "draw of mill with no load")]


@pytest.mark.parametrize(("load", "missing"), [("always on", True), ("always on; own drain 1 mA", False), ("18 W", False)])
def test_a_load_that_is_always_on_must_say_what_it_takes(said, load: str, missing: bool) -> None:  # type: ignore[no-untyped-def]
    text = BUILD + f"load receiver {{ {load} }}\n" + RECEIVER.partition("\n")[2]
    found = said(text + "require on the shelf for 4 months\n", "shelf_life")
    assert found.missing == ([("house", "under-promise", "power or current of receiver")] if missing else [])


def test_usual_depths_by_chemistry(said) -> None:  # type: ignore[no-untyped-def]
    """Declared data: LFP 90 (from memory), lead-acid 50 %; other lithium has none."""
    bare = BUILD.replace("procedure { store from 80 %; store down to 20 % }\n", "")
    lithium = said(bare + "require on the shelf for 7 months\n", "shelf_life").passed("house")
    assert lithium.measured.value == pytest.approx(90 / 11.76 * MONTH)
    lead = bare.replace("LFP, 4 cells", "AGM, 6 cells").replace("; bms { own drain 4 mA }", "")
    assert said(lead + "require on the shelf for 5 months\n", "shelf_life").passed("house").measured.value == pytest.approx(
        50 / 8.84 * MONTH
    )
    other = bare.replace("LFP, 4 cells", "other lithium, 4 cells")
    assert said(other + PROMISE, "shelf_life").missing == [("house", "under-promise", "usable depth of house")]


WIRED = "wire x from house.plus to NAME.PLUS\nwire y from house.minus to NAME.MINUS\n"


@pytest.mark.parametrize(
    ("part", "plus", "minus", "missing"),
    [
        ("converter five { 5 V; 3 A }", "in_plus", "in_minus", "draw of five with no load"),
        ("inverter five 300 W", "plus", "minus", "own drain of five while it is switched off"),
        ("mains charger five 10 A", "plus", "minus", "drain of five when unplugged"),
        ("controller five PWM", "batt_plus", "batt_minus", "own drain of five"),
        ("relay five { 20 A; coil 12 V }", "coil_plus", "coil_minus", "coil power of five"),
        ("low-voltage disconnect five 20 A", "line", "minus", "own drain of five"),
    ],
)
def test_a_part_that_stays_fed_says_what_it_takes(said, part: str, plus: str, minus: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    text = BUILD + part + "\n" + WIRED.replace("NAME", "five").replace("PLUS", plus).replace("MINUS", minus)
    found = said(text + "require on the shelf for 1 month\n", "shelf_life")
    assert found.missing == [("house", "under-promise", missing)]
    off = text.replace(
        "wire x from house.plus to five", "switch cut 5 A\nwire z from house.plus to cut.line\nwire x from cut.load to five"
    )
    assert not said(off + "require on the shelf for 1 month\n", "shelf_life").missing


def test_an_inverter_that_is_on_in_storage_counts_with_its_idle_draw(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        BUILD
        + "inverter mill { 300 W; idle 6.5 W }\n"
        + WIRED.replace("NAME", "mill").replace("PLUS", "plus").replace("MINUS", "minus")
    )
    text += "state stored { mill on; house at 80 % }\n"
    finding = said(text + PROMISE, "shelf_life").finding("house")
    assert finding.related[0].message.startswith("mill takes 4")  # about half an ampere


def test_the_declared_level_stands_before_the_makers_range_and_a_share_of_all_is_100(said) -> None:  # type: ignore[no-untyped-def]
    """A starter battery is full when it is stored, although its maker allows 70 % to 100 %: 20 % of 70 Ah over 4 % a month are 5 months."""
    text = """rig "Full in its stored state", revision 1
battery starter { flooded; 6 cells; 70 Ah; usable 20 %; self-discharge 4 %/month; store at 70 % to 100 % }
state stored { starter at 100 % }
"""
    assert said(text + "require on the shelf for 5 months\n", "shelf_life").passed("starter").measured.value == pytest.approx(
        5 * MONTH
    )
    finding = said(text + "require on the shelf for 6 months\n", "shelf_life").finding("starter")
    assert "self-discharge 3.84 mA (100 %)" in finding.message


@pytest.mark.parametrize(
    ("own", "runs", "drain"),
    [
        ("own drain 40 mA", "", 0.040),  # asleep: what it takes for itself while fed (readings, K1: the sum of what idles)
        ("own drain 0.5 W", "", 0.5 / 13.06),
        ("no own drain", "", 0.0),
        ("own drain 40 mA", "; kettle on", 1.0),  # something runs on it: awake
    ],
)
def test_an_inverter_that_sleeps_takes_its_own_drain(said, own: str, runs: str, drain: float) -> None:  # type: ignore[no-untyped-def]
    text = (
        BUILD
        + f"inverter mill {{ 300 W; idle 6.5 W; sleeps; {own} }}\nAC load kettle {{ 10 W }}\nwire l from mill.L to kettle.L\nwire n from mill.N to kettle.N\n"
        + WIRED.replace("NAME", "mill").replace("PLUS", "plus").replace("MINUS", "minus")
        + f"state stored {{ mill on; house at 80 %{runs} }}\n"
    )
    for module in ("shelf_life", "parasites"):
        found = said(text + "require on the shelf for 100 years\n", module)
        steps = [step.value for finding in found.findings for step in finding.working if "mill" in step.expression]
        if drain < 1.0:
            assert steps[:1] == (
                [pytest.approx(drain, rel=0.02)] if drain and (module == "shelf_life" or found.findings) else []
            )
        else:
            assert steps[0] > 1.0


def test_an_inverter_that_sleeps_says_what_it_takes_asleep(said) -> None:  # type: ignore[no-untyped-def]
    text = BUILD + "inverter mill { 300 W; idle 6.5 W; sleeps }\n" + WIRED.replace("NAME", "mill").replace("PLUS", "plus")
    text = text.replace("MINUS", "minus") + "state stored { mill on; house at 80 % }\nrequire on the shelf for 1 month\n"
    assert [missing for _, _, missing in said(text, "shelf_life").missing] == ["own drain of mill while it sleeps"]
