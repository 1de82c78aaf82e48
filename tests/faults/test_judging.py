"""The verdict itself: a planting that is not as it must be fails, each in its own way.

Source: none; made-up cases, of which the answer is known beforehand.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from faults import add, also, drop, in_state, known, replace_text, say, threefold, unchecked, unsay, yes_no
from faults.edits import Edit
from faults.gathering import all_plantings, lacking
from faults.inspecting import base_result, planted_result, planted_text
from faults.judging import judge, verdict_on
from faults.planting import TODAY, Companion, Planting
from faults.table import table_of

HOT = "10 AWG; at 97 degC"  # ampacity 19.6 A for 30.3 A
WIRE = "undersized-wire.over-ampacity"


def _planting(
    *edits: Edit, how: str = "far", also: tuple[Companion, ...] = (), grade: str = WIRE, subject: str = "mains_minus"
) -> Planting:
    return Planting(grade, subject, "camper_van", edits, how, also)  # type: ignore[arg-type]


def _faults(planting: Planting) -> str:
    return " | ".join(judge(planting).faults)


def test_right_planting_holds() -> None:
    verdict = judge(_planting(say("mains_minus", HOT)))
    assert verdict.faults == [] and verdict.found is not None and not verdict.missed
    assert verdict.margin == pytest.approx(
        1 - 30.30 / (60 * ((105 - 97) / 75) ** 0.5), abs=5e-3
    )  # 33 CFR 183.425 Table 5, law of the temperature rise


def test_fault_that_is_not_found_is_missed() -> None:
    verdict = judge(_planting(say("mains_minus", "8 AWG")))
    assert verdict.missed and verdict.faults == [f"missed: {WIRE} on mains_minus (it passes with 30.3 A for 73.3 A)"]


def test_fault_on_another_subject_is_missed_and_a_false_alarm() -> None:
    told = _faults(_planting(say("mains_minus", HOT), subject="sun_back"))
    assert f"missed: {WIRE} on sun_back" in told and f"false alarm: error {WIRE} on mains_minus with 30.3 A for 19.6 A" in told


def test_what_is_not_listed_is_a_false_alarm() -> None:
    lead = say("drive_out", "12 AWG; at 98 degC")
    first = "error one-ended-link.one-end on drive_out with 0.5 m for 0.178 m"
    second = "error oversized-fuse.too-large on drive_out with 30 A for 20.6 A"
    verdict = judge(_planting(lead, subject="drive_out"))
    assert verdict.found is not None and verdict.false_alarms == [first, second]
    assert verdict.faults == [f"false alarm: {first}", f"false alarm: {second}"]
    listed = (also("one-ended-link.one-end", "drive_out", "made up"), also("oversized-fuse.too-large", "drive_out", "made up"))
    assert judge(_planting(lead, subject="drive_out", also=listed[:1])).false_alarms == [second]
    assert _faults(_planting(lead, subject="drive_out", also=listed)) == ""


def test_companion_that_does_not_come_is_told() -> None:
    planting = _planting(say("mains_minus", HOT), also=(also("oversized-fuse.too-large", "mains_minus", "made up"),))
    assert _faults(planting) == "companion absent: oversized-fuse.too-large on mains_minus (finding)"


def test_check_that_can_no_longer_be_made_is_told_unless_listed() -> None:
    edits = (say("mains_minus", HOT), unsay("main_fuse", "breaks"))
    told = judge(_planting(*edits))
    assert any(fault.startswith("no longer checked: ") and "main_fuse" in fault for fault in told.faults)
    listed = tuple(
        unchecked(f"{item.rule.id}.{item.grade.name}", ", ".join(item.outcome.subject), "made up") for item in told.unchecked
    )
    assert listed and _faults(_planting(*edits, also=listed)) == ""


def test_silence_must_be_silence() -> None:
    planting = _planting(say("mains_minus", HOT), how="inside")
    assert f"false alarm: error {WIRE} on mains_minus" in _faults(planting)
    assert f"false alarm: error {WIRE} on mains_minus" in _faults(replace(planting, how="silent"))


def test_silence_inside_of_a_limit_must_be_a_pass() -> None:
    assert "silence proves nothing" in _faults(_planting(drop("mains_guard"), how="inside", subject="no_such_wire"))


def test_distance_must_be_what_the_word_says() -> None:
    assert "not where it says: it lies -40.5% from the limit, not 5% inside" in _faults(
        _planting(say("mains_minus", "10 AWG; at 50 degC"), how="inside")
    )
    assert "it lies +54.8% from the limit, not 5% over" in _faults(_planting(say("mains_minus", HOT), how="over"))
    over = _planting(say("mains_minus", "10 AWG; at 86.5 degC"), how="far")
    assert "it lies +1.8% from the limit, not at least 30% over" in _faults(over)
    assert _faults(replace(over, coarse="made up")) == ""


def test_waived_fault_is_missed() -> None:
    waiver = add('waive undersized-wire on mains_minus up to 40 A because "made up" until 2030-01-01')
    assert f"missed: {WIRE} on mains_minus (it is waived)" in _faults(_planting(say("mains_minus", HOT), waiver))


def test_base_that_is_not_clean_is_told() -> None:
    dirty = judge(_planting(say("mains_minus", HOT)))
    base = base_result("camper_van", False, TODAY, "")
    assert dirty.found is not None
    soiled = replace(base, findings=(*base.findings, dirty.found))
    told = verdict_on(_planting(say("mains_minus", HOT)), soiled, soiled)
    assert told.missed and told.faults[0].startswith("the base is not clean: ") and "(its base has it)" in told.faults[1]


def test_finding_that_became_worse_is_new() -> None:
    base = base_result("camper_van", False, TODAY, "")
    dirty = judge(_planting(say("mains_minus", HOT)))
    assert dirty.found is not None
    noted = replace(base, findings=(*base.findings, replace(dirty.found, severity=type(dirty.found.severity)(1))))
    worse = replace(base, findings=(*base.findings, dirty.found))
    assert verdict_on(_planting(), noted, worse).faults == []
    assert verdict_on(_planting(), noted, noted).missed


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (say("mains_minis", "12 AWG"), "there is no 'mains_minis'. Names near this one: mains_minus"),
        (say("mains_minus", "12 awgs"), "cannot be read"),
        (unsay("mains_minus", "voltages"), "nothing called 'voltages' can be said of 'mains_minus'"),
        (unsay("mains_minus", "metal"), '"all wires" says it: unsay it there'),
        (replace_text("no such words", ""), "holds 'no such words' 0 times"),
        (say("all loads", "1 A"), "the build says all parts, all states, all wires"),
    ],
)
def test_edit_that_cannot_be_made_says_why(edit: Edit, words: str) -> None:
    assert words in _faults(_planting(edit))
    assert judge(_planting(edit)).missed


def test_text_that_cannot_be_read_is_a_finding_like_others() -> None:
    verdict = judge(
        _planting(
            replace_text("wire starter_tap", "wyre starter_tap"), how="wrong", grade="unknown-property.unreadable", subject="x"
        )
    )
    assert verdict.missed and any("unknown-property.unreadable" in told for told in verdict.false_alarms)


# baselines -----------------------------------------------------------------------------------------------------------

DROP = "voltage-drop.over-class"
OUTGROWN = "outgrown-baseline-entry.outgrown"
ENTRY = known(DROP, "lamps", "warning", "0.055 1", "0.05 1")


def _beside_baseline(metres: str, how: str, entry: Edit = ENTRY, grade: str = OUTGROWN) -> Planting:
    edits = (say(("lamp_2", "lamp_3"), f"16 AWG; {metres}"), entry)
    companions = (also(DROP, "lamps", "made up"),) if how in ("over", "far") and grade == OUTGROWN else ()
    return Planting(grade, "lamps" if grade == DROP else f"{DROP}, lamps", "garden_shed", edits, how, companions)  # type: ignore[arg-type]


def test_finding_that_the_baseline_holds_is_missed() -> None:
    told = _faults(_beside_baseline("16.7 m", "over", grade=DROP))
    assert told == f"missed: {DROP} on lamps (the baseline holds it)"


def test_silence_beside_a_baseline_must_be_a_finding_that_is_held() -> None:
    assert _faults(_beside_baseline("16.7 m", "inside")) == ""
    idle = known(DROP, "butt_pump", "warning", "0.055 1", "0.05 1")
    for how, metres in (("inside", "15 m"), ("silent", "15 m"), ("silent", "16.7 m")):
        told = _faults(_beside_baseline(metres, how, idle))
        assert f"not held: no entry holds {DROP}, lamps, so that silence proves nothing" in told


def test_distance_from_an_entry_is_that_from_its_value() -> None:
    far, over, inside = _beside_baseline("23 m", "far"), _beside_baseline("17.6 m", "over"), _beside_baseline("16 m", "inside")
    assert _faults(far) == _faults(over) == ""
    assert _faults(replace(far, how="over")) == "not where it says: it lies +34.7% from the limit, not 5% over"
    assert _faults(replace(over, how="far")) == "not where it says: it lies +2.3% from the limit, not at least 30% over"
    assert _faults(inside) == "not where it says: it lies -7.0% from the limit, not 5% inside"
    assert _faults(replace(inside, coarse="made up")) == ""


def test_outgrown_entry_is_not_found_where_the_finding_is_no_worse() -> None:
    assert f"missed: {OUTGROWN} on {DROP}, lamps" in _faults(_beside_baseline("16.7 m", "far"))


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        (known(DROP, "lamps", "warning", "much", "0.05 1"), "'much' is no value with a unit"),
        (known(DROP, "lamps", "warning", "0.055", "0.05 1"), "the baseline cannot be read: The measured of the entry"),
        (known(DROP, "lamps", "bad", "0.055 1", "0.05 1"), "the baseline cannot be read: The severity of the entry"),
    ],
)
def test_baseline_that_cannot_be_read_says_why(entry: Edit, words: str) -> None:
    assert words in _faults(_beside_baseline("23 m", "far", entry))


# edits ---------------------------------------------------------------------------------------------------------------


def _text(*edits: Edit, base: str = "camper_van") -> str:
    return planted_text(Planting(WIRE, "x", base, edits, "far"))[0]


def test_edits_write_what_they_say() -> None:
    assert "wire starter_tap from starter.plus to starter_breaker.line {\n  red\n  4 AWG\n" in _text(
        say("starter_tap", "4 AWG")
    )
    assert "state evening {\n  cool on\n  lamps on at 10 W\n" in _text(in_state("evening", "lamps on at 10 W"))
    assert "  at main_fuse, starter_breaker, sun_fuse, mains_fuse, drive_fuse, cool_breaker, pump_breaker\n" in _text(
        drop("lamp_breaker")
    )
    text = _text(drop("lamps"))
    assert "state evening {\n  cool on\n" in text and "run cool for 10 h" in text
    assert "run cool" not in _text(drop("lamps", "cool"))
    assert "load fan {\n  2 A\n" in _text(add("load fan 2 A"))


def test_what_is_said_of_all_states_may_be_edited() -> None:
    edit = in_state("all states", "main open")
    assert "all states {\n  engine, drive off\n  roof_switch closed\n  main open\n" in _text(edit)
    assert not planted_result(Planting(WIRE, "x", "camper_van", (edit,), "far")).partial


def test_unsaying_takes_out_what_came_with_a_library_or_a_group() -> None:
    text = _text(unsay("main_fuse", "breaks"), unsay("drive_out", "gauge"))
    fuse = text.split("fuse main_fuse {")[1].split("\n}")[0]
    assert "same as" not in fuse and "line on house.plus" in fuse and "80 A" in fuse and "breaks" not in fuse
    assert "wire drive_out from drive_fuse.load to drive.plus {\n  red\n  0.5 m\n  in bench\n}" in text


def test_unsaying_leaves_what_the_library_says_of_all_parts_and_terminals() -> None:
    """Nothing else is missing of a fuse of which only the interrupting rating is unsaid, or of a battery without its capacity."""
    base = {
        (item.rule.id, item.outcome.subject, item.outcome.missing)
        for item in base_result("camper_van", False, TODAY, "").not_checked
    }
    planted = planted_result(Planting(WIRE, "x", "camper_van", (unsay("main_fuse", "breaks"),), "far"))
    told = {(item.rule.id, item.outcome.subject, item.outcome.missing) for item in planted.not_checked}
    assert told - base == {("weak-breaking", ("main_fuse",), "interrupting rating")}
    text = _text(unsay("main_fuse", "breaks")).split("fuse main_fuse {")[1].split("\n}")[0]
    assert "  terminals {\n    75 degC\n    takes 22 AWG to 6 AWG\n" in text and 'ratings from "device sheets"' in text


def test_what_a_build_says_of_all_terminals_stands_above_what_the_library_does() -> None:
    text = _text(add("all terminals { 60 degC }"), unsay("main_fuse", "breaks"))
    assert "75 degC" not in text.split("fuse main_fuse {")[1].split("\n}")[0]


def test_named_blocks_are_laid_over_those_of_their_name() -> None:
    text = _text(say("pump_socket", "pin 1 { 5 A }"), base="pump_trolley")
    assert '  pump_socket {\n    pin 1 {\n      plus\n      "pump"\n      5 A\n    }\n    pin 2 {' in text
    assert '  pump_plug {\n    pin 1 {\n      plus\n      "pump"\n    }\n' in text


# what a grade needs ------------------------------------------------------------------------------------------------------


def test_grade_needs_all_kinds_of_plantings() -> None:
    hot = say("mains_minus", HOT)
    three = threefold(WIRE, "x", "camper_van", inside=hot, over=hot, far=hot)
    assert lacking(WIRE, three) == "" and lacking(WIRE, three[1:]) == f"{WIRE}: far, over"
    two = yes_no(WIRE, "x", "camper_van", wrong=hot, wrong_too=say("mains_minus", "14 AWG"), silent=hot)
    assert lacking(WIRE, two) == "" and lacking(WIRE, two[:2]) == f"{WIRE}: wrong"
    assert lacking(WIRE, yes_no(WIRE, "x", "camper_van", wrong=hot, wrong_too=hot, silent=hot)) == f"{WIRE}: silent, wrong"
    assert lacking(WIRE, ()) == f"{WIRE}: no planting"


def test_table_counts_what_was_found_missed_and_told_without_cause() -> None:
    right, missed = judge(_planting(say("mains_minus", HOT))), judge(_planting(say("mains_minus", "8 AWG")))
    alarm = judge(_planting(say("mains_minus", HOT), how="silent"))
    lines = [line.split() for line in table_of([right, missed, alarm])]
    assert lines[1] == ["conductors", "1", "3", "2", "1", "1", "1", "50.0", "%"]
    assert table_of([right])[-2].split() == ["all", "1", "1", "1", "1", "0", "0", "100", "%"]


def test_ids_are_different() -> None:
    assert len({planting.id for planting in all_plantings()}) == len(all_plantings())
