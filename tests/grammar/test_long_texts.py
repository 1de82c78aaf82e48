"""Texts that are long in one way or another get an answer soon: nothing grows faster than the text, nothing recurs as deep as it is long.

No test is timed; each would not end within hours, or would break the interpreter's stack, if it were done the plain way.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from reading import problems_of

MANY = 20_000
TEXTS = {
    "names": ("state s { " + ", ".join(["a"] * MANY) + " closed }", "over-limit"),
    "names at the limit": ("state s { " + ", ".join(["a"] * 4000) + " frobbed }", None),
    "values": ("battery b { rest " + ", ".join(["13.2 V at 60 %"] * MANY) + " }", "over-limit"),
    "values at the limit": ("battery b { rest " + ", ".join(["13.2 V at 60"] * 1500) + " }", None),
    "words": ("load l { " + "red " * MANY + "}", "over-limit"),
    "words at the limit": ("load l { " + "red " * 5000 + "}", None),
    "points": ("wire w from " + "a." * 450 + "b to c", "unknown-name"),
    "more points": ("wire w from " + "a." * 100_000 + "b to c", "over-limit"),
    "the same": ("\n".join(f"fuse f{number} same as f{number + 1}" for number in range(2000)), "over-limit"),
    "unknown names": ("\n".join(f"wire w{number} from q{number}.plus to r.minus" for number in range(2000)), "unknown-name"),
    "digits": ("load l { " + "9" * 1000 + " W }", "senseless-value"),
    "more digits": ("load l { " + "9" * 1_000_000 + " W }", "over-limit"),
    "letters": ("load " + "l" * 1001 + " 5 W", "over-limit"),
    "letters in quotation marks": ('load "' + "l" * 10_001 + '" 5 W', "over-limit"),
    "letters in quotation marks that are not closed": ('load "' + "l" * 10_002, "over-limit"),
    "open texts": ("\n".join('load "a' for _ in range(2000)), "unclosed-text"),
    "semicolons": (";" * 1_000_000, None),
    "braces": ("{" * 1_000_000, "over-limit"),
}


@pytest.mark.parametrize("name", TEXTS)
def test_a_long_text_gets_an_answer(name: str) -> None:
    text, rule = TEXTS[name]
    found = [problem.rule for problem in problems_of(text)]
    assert found
    assert rule is None or rule in found


def test_a_word_and_a_text_of_the_most_letters_are_read() -> None:
    name, words, comment = "l" * 1000, "l" * 10_000, "l" * 20_000
    assert problems_of(f'load {name} {{ 5 W; described as "{words}" }} # {comment}\n#{comment}') != []
    assert problems_of(f'load {name} {{ 5 W; described as "{words}" }} # {comment}') == []
