"""Tidying keeps words, comments and meaning, whatever the layout; it comes to rest at once."""

from __future__ import annotations

import sys
from pathlib import Path
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from ohmwright_grammar.layout import WIDTH, comments_of
from ohmwright_grammar.parsing import parse
from ohmwright_grammar.syntax import Statement, Token
from ohmwright_grammar.tidying import tidied

sys.path.insert(0, str(Path(__file__).parent))
from test_printing import WHOLE

EXAMPLES = Path(__file__).parents[2] / "examples"
TEXTS = [WHOLE, *(file.read_text(encoding="utf-8") for file in sorted(EXAMPLES.rglob("*.rig")))]
READABLE = [text for text in TEXTS if not tidied(text, "a.rig").problems]


def tidy(text: str) -> str:
    """Return a tidied text that could be read and was not refused."""
    made = tidied(text, "a.rig")
    assert not made.problems, made.problems[0].message
    assert not made.refusal
    return made.text


def disorder(text: str, chance: Random) -> str:
    """Return a text with the same words in another layout, with some comments more."""
    numbers = iter(range(10**6))

    def comment() -> str:
        return chance.choice([f"# note {next(numbers)}", f"## {next(numbers)}", "#"])

    def words(tokens: tuple[Token, ...]) -> str:
        made = ""
        for index, token in enumerate(tokens):
            if token.type == "COMMA":
                figures = tokens[index - 1].type == "NUMBER"
                made += chance.choice(
                    [", " if figures else ",", " , ", ", ", ",\n\n   ", f",  {comment()}\n", f",\n {comment()}\n\t"]
                )
                continue
            glued = index and tokens[index - 1].type == "NUMBER" and str(token).isalpha() and str(token)[0] not in "eExX"
            glued = glued and str(token) != "hash"  # "revision 3 hash": a revision is no number with a unit
            made += (
                token if not made or made[-1] in ", \n\t" else chance.choice([" ", "  ", "\t", "" if glued else " "]) + token
            )
        return made

    def between() -> str:
        return chance.choice(
            ["\n", "\n", ";", "; ", " ;; \n", "\n\n\n", f" {comment()}\n", f"\n  {comment()}\n\n", f";\n\n\n{comment()}\n"]
        )

    def several(statements: tuple[Statement, ...]) -> str:
        made = chance.choice(["", " ", "\n", f"{comment()}\n"])
        for statement in statements:
            made += words(statement.tokens)
            if statement.block is not None:
                made += chance.choice(
                    [" {", "{", "\n{", f" {comment()}\n {{", f"\n {comment()}\n\n{comment()}\n{{", "\n\n\t{ "]
                ) + chance.choice(["", " ", "\n", f" {comment()}\n"])
                made += several(statement.block.statements) + chance.choice(["}", " }", "\n }"])
            made += between()
        return made

    return several(parse(text, "a.rig").statements)


def test_there_is_something_to_tidy() -> None:
    assert len(READABLE) > 40


@pytest.mark.parametrize("text", READABLE, ids=lambda text: text.strip().splitlines()[0][:40])
def test_what_is_tidy_stays_as_it_is(text: str) -> None:
    made = tidy(text)
    assert tidy(made) == made
    assert made.endswith("\n")
    assert not made.endswith("\n\n")
    assert "\n\n\n" not in made
    for line in made.splitlines():
        assert line == line.rstrip()
        assert (len(line) - len(line.lstrip())) % 2 == 0


@settings(max_examples=150, suppress_health_check=list(HealthCheck))
@given(text=st.sampled_from(READABLE), seed=st.integers(0, 10**9))
def test_any_layout_is_tidied_at_once_and_keeps_every_comment(text: str, seed: int) -> None:
    disordered = disorder(text, Random(seed))
    assert not parse(disordered, "a.rig").diagnostics
    made = tidy(disordered)
    assert tidy(made) == made
    before = comments_of(disordered, parse(disordered, "a.rig").statements)
    after = comments_of(made, parse(made, "a.rig").statements)
    assert [comment.text for comment in after] == [comment.text for comment in before]


LAYOUTS = [
    # source, tidied
    ("rig   \"A\"  ;basis us-premises\n\n\n\nbus hub{100A}", 'rig "A"\nbasis us-premises\n\nbus hub { 100 A }\n'),
    ("fuse a\n{\n10 A\n\n\n5 g }\n", "fuse a {\n  10 A\n\n  5 g\n}\n"),
    ("fuse a { 10 A; # rated\n blade }", "fuse a {\n  10 A  # rated\n  blade\n}\n"),
    ("fuse a {  # why\n 10 A; blade\n # end\n}", "fuse a {  # why\n  10 A; blade\n  # end\n}\n"),
    ("fuse a\n# why\n\n{ 10 A; blade }", "fuse a {  # why\n  10 A; blade\n}\n"),
    ("# first\nbus a 3 A # last\n\n#alone\n" .replace("#alone", "# alone"), "# first\nbus a 3 A  # last\n\n# alone\n"),
    ("bus a 3 A\n# next to it\n\n\nbus b 4 A", "bus a 3 A\n# next to it\n\nbus b 4 A\n"),
    ("wire w from a.plus to b.plus,\n 10 AWG ,1 m", "wire w from a.plus to b.plus, 10 AWG, 1 m\n"),
    ("battery b { rest 13.2 V at 60 %, # measured\n 13.4 V at 100 % }", "battery b {\n  rest 13.2 V at 60 %,  # measured\n      13.4 V at 100 %\n}\n"),
    ("zone z { bus a { 3 A } bus b { 4 A } }", "zone z { bus a { 3 A }; bus b { 4 A } }\n"),
    ("zone z {\nbus a {\n3 A\n}; bus b { 4 A } }", "zone z {\n  bus a {\n    3 A\n  }\n  bus b { 4 A }\n}\n"),
    ("state s { }", "state s { }\n"),
    ("", ""),
    ("# only a comment", "# only a comment\n"),
    ("\n\n\n", ""),
]  # fmt: skip


@pytest.mark.parametrize(("source", "wanted"), LAYOUTS)
def test_layout(source: str, wanted: str) -> None:
    assert tidy(source) == wanted
    assert tidy(wanted) == wanted


def test_what_is_too_long_is_broken_between_facts_then_after_commas() -> None:
    facts = [f'then "step {number} of many"' for number in range(12)]
    made = tidy(f"procedure {{ {'; '.join(facts)} }}")
    assert made.splitlines()[0] == "procedure {"
    assert all(len(line) <= WIDTH for line in made.splitlines())
    assert made.splitlines()[1].count(";") == 2
    names = ", ".join(f"switch_number_{number}" for number in range(12))
    made = tidy(f"state s {{\n{names} closed\n}}")
    assert all(len(line) <= WIDTH for line in made.splitlines())
    assert made.splitlines()[1].endswith(",")


def test_units_and_terminals_are_spelt_in_the_usual_way() -> None:
    source = (
        "battery house { internal resistance 9 mΩ; store at 5 °C to 30 °C }\n"
        'battery "spare one" { 60 Ah }\nfuse main { 30 A }\n'
        'wire a from house.+ to main.in, 16 mm², 0.2 m\nwire b from "spare one".neg to house.-, −0 m\n'
    ).replace(", −0 m", "")
    made = tidy(source)
    assert "internal resistance 9 mohm; store at 5 degC to 30 degC" in made
    assert "from house.plus to main.line, 16 mm2" in made
    assert 'from "spare one".minus to house.minus' in made


def test_terminals_inside_an_assembly_are_those_of_its_own_parts() -> None:
    source = "bus house { 1 A }\nassembly pack {\n  battery house { 10 Ah }\n  port out is house.+\n}\n"
    assert "port out is house.plus" in tidy(source)


def test_pins_keep_their_names() -> None:
    source = "connector socket {\n  pin + plus\n  pin - minus\n}\nbus hub { 3 A }\nwire w from socket.+ to hub, 10 AWG, 1 m\n"
    assert tidy(source) == source


def test_terminals_of_things_in_other_files_are_known_where_told() -> None:
    from ohmwright_grammar.kinds.battery import Battery

    source = "wire w from house.+ to hub, 10 AWG, 1 m\n"
    assert tidy(source) == source
    assert tidied(source, "a.rig", {"house": Battery}).text == source.replace("+", "plus")


def test_a_word_that_is_kept_as_written_is_not_parted() -> None:
    source = 'rig  "A", revision 7b\nbus hub { 3A }\n'
    assert tidy(source) == 'rig "A", revision 7b\nbus hub { 3A }\n'
    assert tidy(source.replace("7b", "7")) == 'rig "A", revision 7\nbus hub { 3 A }\n'


def test_line_ends_stay_and_a_byte_order_mark_goes() -> None:
    assert tidied("bus  a { 3 A }\r\nbus b { 4 A }\n", "a.rig").text == "bus a { 3 A }\r\nbus b { 4 A }\r\n"
    assert tidied("bus  a { 3 A }\nbus b { 4 A }\r\n", "a.rig").text == "bus a { 3 A }\nbus b { 4 A }\n"
    assert tidied("\ufeffbus a { 3 A }\n", "a.rig").text == "bus a { 3 A }\n"
    assert tidied("bus a { 3 A }\rbus b { 4 A }\r", "a.rig").text == "bus a { 3 A }\nbus b { 4 A }\n"


@pytest.mark.parametrize(
    "source", ["fuse a { 10 }\n", "fuse a { 10 A\n", "bus a   3 A }\n", "assembly p {\n  fuse a { 10   }\n}\n"]
)
def test_what_cannot_be_read_is_left_as_it_is(source: str) -> None:
    made = tidied(source, "a.rig")
    assert made.problems
    assert made.text == source


def test_another_meaning_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    import ohmwright_grammar.tidying as tidying

    for wrong, why in [
        ("bus a { 4 A }\n", "other words"),
        ("bus a { 3 A }\n", "comment"),
        ("bus a { 3  # x\n", "could not be read"),
    ]:
        monkeypatch.setattr(tidying, "laid_out", lambda text, statements, glued, wrong=wrong: wrong)
        made = tidied("bus  a { 3 A }  # x\n", "a.rig")
        assert why in made.refusal
        assert made.text == "bus  a { 3 A }  # x\n"
