"""The inspection sheet: 80 columns, bounded, counted, without anything that could steer a terminal."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ohmwright.findings import Finding, NotChecked, Severity
from ohmwright.references import Reference, Step
from ohmwright.reports.entries import gaps
from ohmwright.reports.text import TextOptions, write
from ohmwright.reports.words import CAUTIONS, clean, counted, labelled, listed, wrapped
from ohmwright.results import Promise
from ohmwright.rules import Grade, Rule
from ohmwright.values import Amount
from ohmwright_grammar.spans import Span

RULE = Rule("odd-wire", "Odd", "invented", "wire", (), (Grade("odd", Severity.ERROR, "c"),), (Reference("H", "", "", "read"),))


def pack(kit: Any, *outcomes: Any) -> Any:
    def check(study: object) -> Iterator[Any]:
        yield from outcomes

    return kit.pack_of((RULE, check))


def found(number: int, **facts: Any) -> Finding:
    return Finding("odd", (f"wire{number}",), f"message {number}", Span("bench.rig", number + 1, 1, number + 1, 2), **facts)


def test_hundred_thousand_findings_are_bounded_and_counted(kit: Any) -> None:
    result = kit.inspect(kit.bench, pack=pack(kit, *(found(number) for number in range(100_000))))
    text = write(result)
    assert len(text.splitlines()) < 1500
    assert "99,800 more findings are not written out here; the JSON output holds them all." in text
    assert "100,000 errors" in text
    assert "message 199" in text
    assert "message 200" not in text


def test_bound_holds_over_many_builds(kit: Any) -> None:
    files = {f"b{number:04}.rig": kit.bench for number in range(300)}
    text = write(kit.inspect(files, pack=pack(kit, *(found(number) for number in range(5)))))
    assert len(re.findall(r"^  \d+\. Error", text, re.MULTILINE)) == 200
    assert "260 more files inspected, not written out here; the counts below hold them." in text
    assert "300 files, 1 rule: 1,500 errors" in text


def test_hundred_thousand_things_that_could_not_be_checked_are_bounded_and_counted(kit: Any) -> None:
    span = Span("bench.rig", 1, 1, 1, 2)
    outcomes = [NotChecked("odd", (f"wire{number}",), f"datum {number % 1000}", span) for number in range(100_000)]
    text = write(kit.inspect(kit.bench, pack=pack(kit, *outcomes)))
    assert len(text.splitlines()) < 300
    assert "and 940 more data, for 94,000 checks" in text
    assert "100,000 could not be made" in text


def test_mistakes_of_one_sort_stand_below_the_thing_that_they_are_in(kit: Any) -> None:
    text = write(kit.inspect(kit.bench.replace("0.6 m", "0.6 zork; 3 zork", 1)))
    assert text.count("feed (wire), line") == 1
    assert text.count("'zork' is no unit") == 2
    assert "\nLine " not in text


def test_what_a_note_advised_before_is_not_written_out_again(kit: Any) -> None:
    rule = Rule("odd-wire", "Odd", "invented", "wire", (), (Grade("odd", Severity.NOTE, "c"),), RULE.references)

    def check(study: object) -> Iterator[Any]:
        yield from (found(number, remedy="Say it." if number else "Tell it.") for number in range(3))

    text = write(kit.inspect(kit.bench, pack=kit.pack_of((rule, check))))
    told = re.findall(r"(?:Remedy|Basis) +(.*)", text)
    assert told == ["Tell it.", "H (read at the source)", "Say it.", "H (read at the source)", "as in 2"]
    errors = [found(number, remedy="Say it.") for number in range(2)]
    assert write(kit.inspect(kit.bench, pack=pack(kit, *errors))).count("Say it.") == 2


def test_one_datum_left_out_is_one_datum(kit: Any) -> None:
    span = Span("bench.rig", 1, 1, 1, 2)
    text = write(
        kit.inspect(kit.bench, pack=pack(kit, *(NotChecked("odd", ("main",), f"datum {n:02}", span) for n in range(61))))
    )
    assert "and 1 more datum, for 1 check\n" in text


@pytest.mark.parametrize(
    ("missing", "shown"),
    [
        ("rated current", "rated current of main"),
        ("whether it is polarised", "main: whether it is polarised"),
        ("multiple of its rating at which it opens", "main: multiple of its rating at which it opens"),
        ("cover over main.line", "cover over main.line (counts"),
        ("how main is reset", "how main is reset (counts"),
        ("whether house is warm", "whether house is warm, for main"),
        ("capacity of house", "capacity of house, for main"),
    ],
)
def test_missing_datum_reads_as_a_sentence_would(kit: Any, missing: str, shown: str) -> None:
    told = write(kit.inspect(kit.bench, pack=pack(kit, NotChecked("odd", ("main",), missing, Span("bench.rig", 1, 1, 1, 2)))))
    assert f"  {shown}" in " ".join(told.split("for want of")[1].split("For ")[0].splitlines())


@pytest.mark.parametrize(
    ("missing", "want"),
    [("length of feed", "for want of length of feed"), ("whether it floats", "as nobody says whether it floats")],
)
def test_a_gap_in_one_sentence(kit: Any, missing: str, want: str) -> None:
    unchecked = NotChecked("odd", ("main",), missing, Span("bench.rig", 1, 1, 1, 2))
    (build,) = kit.inspect(kit.bench, pack=pack(kit, unchecked)).builds
    assert [gap.message for gap in gaps(build)] == [f"Not checked {want}: odd-wire.odd of main."]


def test_title_keeps_the_capitals_of_an_abbreviation(kit: Any) -> None:
    for title, told in (("AC outlet", "AC outlet"), ("Outlet of AC", "outlet of AC"), ("A cord", "a cord")):
        rule = Rule("odd-wire", title, "invented", "wire", (), RULE.grades, RULE.references)

        def check(study: object) -> Iterator[Any]:
            yield found(1)

        assert f"1. Error: {told} (odd-wire.odd)" in write(kit.inspect(kit.bench, pack=kit.pack_of((rule, check))))


@pytest.mark.parametrize("require", [False, True])
def test_closing_line_counts_what_was_checked_what_was_not_and_what_does_not_apply(kit: Any, require: bool) -> None:
    text = write(kit.inspect(kit.bench.replace("25 A", "5 A").replace("; 0.6 m", "")), TextOptions(require_checked=require))
    closing = " ".join(text[text.index("1 file,") :].split())
    what = "errors" if require else "warnings"
    assert closing.startswith(
        "1 file, 3 rules: 0 errors, 0 warnings, 0 notes. 3 checks made, 2 could not be made (2 of an error-level grade, which count as "
        f"{what}), 0 do not apply. This is a design check against published values, no approval."
    )


def test_every_sheet_says_that_it_is_no_approval(kit: Any) -> None:
    for text in (kit.bench, "", "nonsense", kit.bench.replace("25 A", "5 A")):
        assert " ".join(write(kit.inspect(text)).split()).endswith(CAUTIONS)


def test_temperature_is_over_by_kelvin(kit: Any) -> None:
    outcome = found(1, measured=Amount(92.0, "temperature"), limit=Amount(80.0, "temperature"))
    text = write(kit.inspect(kit.bench, pack=pack(kit, outcome)))
    assert "Measured  92 degC" in text
    assert "Allowed   at most 80 degC (12 K over)" in text


def test_smallest_excess_is_not_rounded_to_nothing(kit: Any) -> None:
    outcome = found(1, measured=Amount(20.001, "current"), limit=Amount(20.0, "current"))
    text = write(kit.inspect(kit.bench, pack=pack(kit, outcome)))
    assert "Measured  20.001 A" in text
    assert "(0.005 % over)" in text


def test_at_least(kit: Any) -> None:
    outcome = found(1, measured=Amount(10.0, "voltage"), limit=Amount(12.0, "voltage"), sense="at-least")
    assert "Allowed   at least 12 V (17 % under)" in write(kit.inspect(kit.bench, pack=pack(kit, outcome)))


def test_cause_names_what_it_explains(kit: Any) -> None:
    from ohmwright.rules import Yield

    other = Rule(
        "effect", "Effect", "invented", "wire", (), (Grade("odd", Severity.ERROR, "c"),), (Reference("H", "", "", "read"),)
    )
    one = kit.pack_of(
        (RULE, lambda study: iter([found(1)])), (other, lambda study: iter([found(1)])), yields=(Yield("odd-wire", "effect"),)
    )  # fmt: skip
    assert "Explains  effect on wire1: the same cause, not told again" in write(kit.inspect(kit.bench, pack=one))


HOSTILE = "\x1b]0;title\x07\x1b[2J\u202e\u2066\u200b\x00\r\n\x85\u2028‮"


@pytest.mark.parametrize("place", ["title", "revision", "name", "path", "reason", "state"])
def test_nothing_of_a_build_steers_the_terminal(kit: Any, place: str) -> None:
    odd = HOSTILE.replace("\n", "").replace("\r", "")
    text, path = kit.bench, "bench.rig"
    if place == "title":
        text = text.replace("Bench", f"Be{odd}nch")
    elif place == "revision":
        text = text.replace("revision 1", f'revision "1{odd}"')
    elif place == "name":
        text = text.replace("feed", f'"fe{odd}ed"')
    elif place == "state":
        text = text.replace('lamp on"', f'lamp{odd}"')
    elif place == "reason":
        text += f'waive warm-wire on feed up to 30 A because "x{odd}" until 2027-01-01\n'
    else:
        path = f"be{odd}nch.rig"
    sheet = write(kit.inspect({path: text}), TextOptions(working=True, assumed=True))
    assert all(line.isprintable() for line in sheet.split("\n"))


@given(st.text())
def test_clean_text_is_printable_and_plain_text_stays_as_it_is(text: str) -> None:
    assert clean(text).isprintable()
    if text.isprintable():
        assert clean(text) == text


@settings(max_examples=50)
@given(st.lists(st.text(st.characters(codec="ascii"), max_size=200), max_size=5))
def test_wrapped_lines_keep_to_80_columns(pieces: list[str]) -> None:
    text = " ".join(pieces)
    for lines in (wrapped(text, 2, 2), labelled("Measured", text, 4, 10)):
        assert all(len(line) <= 80 for line in lines)


def test_nothing_is_wider_than_80_columns(kit: Any) -> None:
    long = "name_that_goes_on_and_on_" * 6
    text = (
        kit.bench.replace("Bench", "A long title " * 12).replace("feed", long).replace("revision 1", f'revision "{"1." * 60}"')
    )
    result = kit.inspect({f"folder/{'deeper/' * 20}box.rig": text}, assumed=True)
    assert all(len(line) <= 80 for line in write(result, TextOptions(working=True, assumed=True)).splitlines())


def test_hash_between_its_marks_is_not_broken() -> None:
    words = f'"{"a" * 64}"'
    assert any(words in line for line in labelled("Remedy", f"Write: {words}", 4, 10))


def test_lists_are_counted() -> None:
    assert listed(["a"]) == "a"
    assert listed(list("abcdefgh"), 6) == "a, b, c, d, e, f and 2 more"
    assert counted(1, "check") == "1 check"
    assert counted(12345, "check") == "12,345 checks"


@pytest.mark.parametrize("working", [False, True])
def test_working_of_a_requirement_is_shown_with_that_of_findings(kit: Any, working: bool) -> None:
    step = Step("t", "200 Ah / 0.05 A", 4000.0, "h", "as declared")
    span = Span("bench.rig", 1, 1, 1, 2)
    met = Promise("lasts long", "t = C / I", Amount(4.0, "current"), Amount(5.0, "current"), "broken", span, (step,))
    text = write(kit.inspect(kit.bench, pack=pack(kit, met)), TextOptions(working=working))
    assert "  lasts long: broken, 4 A against 5 A (t = C / I)\n" in text
    assert ("    Working   t: 200 Ah / 0.05 A = 4000 h (as declared)\n" in text) is working


@pytest.mark.parametrize(
    ("missing", "subjects", "words"),
    [
        ("length", ("feed",), "length of feed (counts as a warning)"),
        ("own drain of the BMS of house", ("house",), "own drain of the BMS of house (counts as a warning)"),
        ("rated current of house", ("feed",), "rated current of house, for feed (counts as a warning)"),
        ("a statement that could not be read (line 4)", ("feed",), "a statement that could not be read (line 4), for feed"),
        ("how it lies (in free air)", ("feed", "home"), "how it lies (in free air), for feed, home"),
    ],
)
def test_what_is_missing_is_named_once(kit: Any, missing: str, subjects: tuple[str, ...], words: str) -> None:
    span = Span("bench.rig", 1, 1, 1, 2)
    outcomes = [NotChecked("odd", (subject,), missing, span) for subject in subjects]
    text = write(kit.inspect(kit.bench, pack=pack(kit, *outcomes)))
    assert f"\n  {words}" in text
