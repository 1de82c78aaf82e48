"""Mistakes in a text: each has one message, at its place, and the edit that mends it wherever that is certain.

The twelve mistakes of a beginner are those that the dry run of the language tried; the table of messages and malformed examples is held to by these tests.
"""

from __future__ import annotations

import pytest
from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.kinds.inverter import Converter
from ohmwright_grammar.resolve import Loader, Resolved, resolve
from ohmwright_grammar.spans import Edit

BENCH = """\
rig "Bench", revision 1
basis us-small-craft
site { ambient 5 degC to 30 degC }
battery house { LFP, 4 cells, 100 Ah; internal resistance 4 mohm }
load lamp 25 A
fuse main { 40 A blade; breaks 2 kA at 32 V dc }
wire feed from house.plus to main.line { 6 AWG; 0.6 m; copper }
wire tail from main.load to lamp.plus { 6 AWG; 1.6 m; copper }
wire back from lamp.minus to house.minus { 6 AWG; 0.6 m; copper }
state "lamp on" { lamp on; house at 60 % }
"""


def problems_of(text: str) -> tuple[Diagnostic, ...]:
    """Return what is wrong with a build, in the order of the text."""
    resolved = resolve("bench.rig", Loader(MemoryFiles({"bench.rig": text})))
    return resolved.problems if isinstance(resolved, Resolved) else resolved


def mended(text: str, edits: tuple[Edit, ...]) -> str:
    """Return a text with edits made, the last one first."""
    lines = text.splitlines(keepends=True)
    for edit in sorted(edits, key=lambda edit: edit.span, reverse=True):
        span = edit.span
        assert span.line == span.end_line
        line = lines[span.line - 1]
        lines[span.line - 1] = line[: span.column - 1] + edit.text + line[span.end_column - 1 :]
    return "".join(lines)


def spoilt(right: str, wrong: str, line: int) -> str:
    """Return the bench with a piece of one line spoilt."""
    lines = BENCH.splitlines(keepends=True)
    assert lines[line - 1].count(right) == 1, (right, lines[line - 1])
    lines[line - 1] = lines[line - 1].replace(right, wrong)
    return "".join(lines)


def test_bench_is_in_order() -> None:
    assert problems_of(BENCH) == ()


CERTAIN = [
    ("equals sign", "resistance 4", "resistance = 4", 4, "unreadable-text"),
    ("colon", "load lamp", "load lamp:", 5, "unreadable-text"),
    ("colon after the word", "wire feed", "wire: feed", 7, "unreadable-text"),
    ("comma for semicolon", "dc }", "dc, 5 mohm }", 6, "unreadable-text"),
    ("decimal comma", "0.6 m", "0,6 m", 7, "unreadable-text"),
    ("forgotten quotes, title", '"Bench"', "Bench", 1, "unreadable-text"),
    ("forgotten quotes, state", '"lamp on"', "lamp on", 10, "unreadable-text"),
    ("typographic quotes", '"Bench"', "“Bench”", 1, "unreadable-text"),
    ("brace missing at the start", "house { LFP", "house LFP", 4, "unclosed-block"),
    ("brace missing at the end", "copper }", "copper", 7, "unclosed-block"),
    ("brace missing at the end of the file", "60 % }", "60 %", 10, "unclosed-block"),
    ("one brace too many", "60 % }", "60 % }}", 10, "unclosed-block"),
    ("number sign before a gauge", "6 AWG", "#6 AWG", 7, "unreadable-text"),
    ("range with a dash", "5 degC to 30", "5-30", 3, "unreadable-text"),
    ("unit spelt out", "25 A", "25 amps", 5, "unknown-unit"),
    ("nominal power of a panel", "lamp 25 A", "lamp 300 Wp", 5, "unknown-unit"),
    ("voltage with its kind", "32 V dc", "32 Vdc", 6, "unknown-unit"),
    ("size in words", "6 AWG", "6 gauge", 7, "unknown-unit"),
    ("size turned round", "6 AWG", "AWG 6", 7, "unreadable-text"),
    ("unit in the wrong case", "25 A", "25 a", 5, "unknown-unit"),
    ("a range the wrong way round", "5 degC to 30 degC", "30 degC to 5 degC", 3, "senseless-value"),
    ("ends of a wire with an arrow", "from house.plus to main.line", "house.plus -> main.line", 7, "unreadable-text"),
    ("two statements on a line", "25 A\n", "25 A fuse spare { 5 A blade }\n", 5, "unreadable-text"),
]  # fmt: skip


@pytest.mark.parametrize(("right", "wrong", "line", "rule"), [case[1:] for case in CERTAIN], ids=[case[0] for case in CERTAIN])
def test_certain_edit_mends_the_mistake(right: str, wrong: str, line: int, rule: str) -> None:
    text = spoilt(right, wrong, line)
    problems = problems_of(text)
    assert [(problem.rule, problem.span.line) for problem in problems] == [(rule, line)]
    (problem,) = problems
    assert problem.message
    assert problem.remedy
    assert problem.edits
    after = mended(text, problem.edits)
    assert after != text
    assert problems_of(after) == ()


UNCERTAIN = [
    ("missing unit", "0.6 m", "0.6", 7, "missing-unit", "The number 0.6 of wire feed has no unit.", "m or mm for a length"),
    ("missing unit of one dimension", "4 mohm", "4", 4, "missing-unit", "The number 4 of battery house has no unit.", "ohm, mohm, kohm or uohm"),
    ("wrong unit", "4 mohm", "4 V", 4, "wrong-unit", "'V' is a unit of voltage; for battery house a resistance is due here.", "ohm, mohm"),
    ("unknown unit", "4 mohm", "4 zork", 4, "unknown-unit", "'zork' is no unit that is known here.", "ohm, mohm, kohm or uohm"),
    ("misspelt property", "internal resistance", "internl resistance", 4, "unknown-property", "'internl resistance'", "internal resistance"),
    ("misspelt statement", "load lamp", "laod lamp", 5, "unknown-property", "No statement begins with 'laod'.", "load"),
    ("keyword as a name", "load lamp", "load with", 5, "unreadable-text", "'with' is kept for the language.", "Choose another word."),
    ("wrong terminal", "main.load", "main.plus", 8, "unknown-name", "The fuse 'main' has no terminal 'plus'.", "line, load"),
    ("misspelt terminal", "lamp.plus", "lamp.puls", 8, "unknown-name", "The load 'lamp' has no terminal 'puls'.", "plus"),
    ("unknown part", "lamp.plus", "lmap.plus", 8, "unknown-name", "There is no part named 'lmap'.", "lamp"),
    ("no terminal", "main.line", "main", 7, "unknown-name", "It is not said which terminal of 'main' is meant.", "main.line, main.load"),
    ("wire without an end", " to main.line", "", 7, "unreadable-text", "something is missing after 'from house.plus'", "'to'"),
    ("wire to itself", "main.line", "house.plus", 7, "senseless-value", "begins and ends at the same terminal", "ends"),
    ("thousands or decimals", "0.6 m", "1,200 m", 7, "unreadable-text", "'1,200' could mean two numbers", "Write 1200, or 1.200."),
    ("negative length", "0.6 m", "-0.6 m", 7, "senseless-value", "'length' is outside what can be", "It has to be above 0."),
    ("battery of 0 ohm", "4 mohm", "0 ohm", 4, "senseless-value", "'internal resistance' is outside what can be", "above 0"),
    ("not a number", "60 %", "NaN %", 10, "senseless-value", "'NaN' is no number", "Write the number."),
    ("too large to be held", "25 A", "1e400 A", 5, "senseless-value", "The value 1e400 of load lamp is outside", "can be held"),
    ("larger than anything", "25 A", "1e300 A", 5, "senseless-value", "'current' is outside what can be", "at most 1e7 A"),
    ("negative current inside a record", "2 kA", "-2 kA", 6, "senseless-value", "'breaks' is outside what can be", "Check its numbers"),
    ("said twice", "25 A", "25 A, 25 A", 5, "said-twice", "is said twice", "Keep one of the two."),
    ("stray bytes", "load lamp", "load lamp \x01\x02", 5, "unreadable-text", "no characters of a text", "Take them away."),
    ("a unit that two differ from by case only", "4 mohm", "4 mOhm", 4, "unknown-unit", "'mOhm' is no unit", "ohm, mohm"),
    ("misspelt word inside", "kA at 32", "kA att 32", 6, "unreadable-text", "'att' cannot stand here.", "Words near this one: at."),
    ("multiple of the capacity", "internal", "charge at most 0.5C; internal", 4, "wrong-unit", "'C' is a unit of charge", "Write a current in A: 1 C of a battery of 100 Ah is 100 A."),
    ("unit that goes on", "25 A", "25 amp hours", 5, "unknown-unit", "'amp' is no unit", "Units that fit:"),
    ("unit spelt out, told how", "25 A", "25 amps", 5, "unknown-unit", "'amps' is no unit", "Write 25 A."),
    ("fact behind a semicolon", "25 A", "25 A; starts at 40 A for 1 s", 5, "unknown-property", "The semicolon ends what is said of load lamp", "Put the facts in braces: load lamp { … }"),
    ("plural without a block", "load lamp 25 A", "loads", 5, "unreadable-text", "It is not said what 'loads' are.", "all loads { … }"),
    ("name that is not closed", '"lamp on"', '"lamp on', 10, "unclosed-text", "no closing quotation mark", '"'),
    ("title and revision in one open text", '"Bench"', '"Bench', 1, "unclosed-text", "no closing quotation mark", '"'),
]  # fmt: skip


@pytest.mark.parametrize(
    ("right", "wrong", "line", "rule", "message", "remedy"),
    [case[1:] for case in UNCERTAIN],
    ids=[case[0] for case in UNCERTAIN],
)
def test_message_at_the_line_with_what_would_help(
    right: str, wrong: str, line: int, rule: str, message: str, remedy: str
) -> None:
    problems = problems_of(spoilt(right, wrong, line))
    assert (problems[0].rule, problems[0].span.line) == (rule, line)
    assert message in problems[0].message
    assert remedy in problems[0].remedy
    assert all(problem.span.line != line for problem in problems[1:])


def test_text_that_is_not_closed_is_closed_at_the_end_of_its_line_where_nothing_else_stands_there() -> None:
    text = BENCH + 'by "A. Writer\n'
    (problem,) = problems_of(text)
    assert problem.rule == "unclosed-text"
    assert problems_of(mended(text, problem.edits)) == ()


def test_one_misspelt_declaration_is_told_once() -> None:
    """The wires and states that name the thing are not to blame."""
    assert [problem.span.line for problem in problems_of(spoilt("load lamp", "laod lamp", 5))] == [5]


def test_every_independent_mistake_is_told_in_one_run() -> None:
    text = BENCH
    for right, wrong in (
        ("4 mohm", "4 V"),
        ("0.6 m; copper }\nwire tail", "0,6 m; copper }\nwire tail"),
        ("main.load", "main.plus"),
        ("25 A", "25"),
    ):
        assert text.count(right) == 1
        text = text.replace(right, wrong)
    assert [(problem.span.line, problem.rule) for problem in problems_of(text)] == [
        (4, "wrong-unit"), (5, "missing-unit"), (7, "unreadable-text"), (8, "unknown-name"),
    ]  # fmt: skip


def test_duplicate_name_points_at_both() -> None:
    (problem,) = problems_of(BENCH + "load main 3 A\n")
    assert (problem.rule, problem.span.line, problem.subject) == ("duplicate-name", 11, "main")
    assert [related.span.line for related in problem.related] == [6]


def test_name_of_a_state_may_be_that_of_a_part_but_not_of_another_state() -> None:
    assert problems_of(BENCH + "state lamp { lamp off }\n") == ()
    (problem,) = problems_of(BENCH + 'state "lamp on" { lamp off }\n')
    assert problem.rule == "duplicate-name"


def test_pin_said_twice() -> None:
    halves = "connector box_socket with lamp_plug { 15 A\n  pins 1, 2 { 15 A }\n  pin 1 plus\n  pin 1 minus\n}\n"
    (problem,) = problems_of(BENCH + halves)
    assert (problem.rule, problem.span.line) == ("said-twice", 14)
    assert "box_socket.1" in problem.message
    assert problem.related[0].span.line == 13


def test_unknown_state_that_another_is_the_same_as() -> None:
    (problem,) = problems_of(BENCH + 'state "more" { same as "lamp onn" except { lamp off } }\n')
    assert problem.rule == "unknown-name"
    assert "lamp on" in problem.remedy


def test_used_before_it_is_declared_is_no_mistake() -> None:
    assert problems_of("".join(reversed(BENCH.splitlines(keepends=True)))) == ()


def test_typographic_units_are_no_mistake() -> None:
    text = BENCH.replace("mohm", "mΩ").replace("degC", "°C").replace("6 AWG", "16 mm²")
    assert text != BENCH
    assert problems_of(text) == ()


@pytest.mark.parametrize("end", ["\r\n", "\r", "\n"])
def test_line_ends_tabs_and_byte_order_marks_are_no_mistakes(end: str) -> None:
    text = "\ufeff" + BENCH.replace(" ", "\t").replace("lamp\ton", "lamp on").replace("\n", end)
    assert problems_of(text) == ()


def test_block_that_is_never_closed_tells_of_its_own_first_words() -> None:
    (problem,) = problems_of(BENCH.replace("copper }\nwire tail", "copper\nwire tail"))
    assert problem.message == "The block of 'wire feed' is not closed."
    assert problem.related[0].span.line == 8


@pytest.mark.parametrize("text", ["x {" * 100_000, "{" * 100_000, BENCH + "assembly a {\n" * 100_000, "}" * 100_000])
def test_hundred_thousand_braces_get_an_answer(text: str) -> None:
    problems = problems_of(text)
    assert problems
    assert all(problem.span.path == "bench.rig" and problem.span.line >= 1 for problem in problems)


@pytest.mark.parametrize("text", ["", "\n\n", "# nothing is said here\n", "\ufeff", ";;;\n"])
def test_file_without_a_statement(text: str) -> None:
    (problem,) = problems_of(text)
    assert problem.rule == "no-statement"
    assert problem.span == ("bench.rig", 1, 1, 1, 2)


def test_long_row_of_properties_is_read_without_recursion() -> None:
    problems = problems_of(BENCH + "load fan " + ", ".join(["5 A"] * 3000) + "\n")
    assert {problem.rule for problem in problems} == {"said-twice"}


def test_what_a_converter_makes_of_what_it_takes_is_no_range() -> None:
    """Neither figure is kept: the first one is no output."""
    text = BENCH + "converter step { 24 V to 12 V; 10 A }\n"
    (problem,) = problems_of(text)
    assert problem.rule == "senseless-value"
    assert problem.remedy == "If that is what it makes of what it takes, write output 12 V."
    assert problems_of(mended(text, problem.edits)) == ()
    read = resolve("bench.rig", Loader(MemoryFiles({"bench.rig": text})))
    assert isinstance(read, Resolved)
    step = read.build.parts["step"]
    assert isinstance(step, Converter)
    assert step.output_voltage is None
    assert step.output_current_limit is not None
