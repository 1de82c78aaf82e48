"""Whatever is written, the parser raises nothing, and every message stands at a place in the text: 20,000 examples in a full run."""

from __future__ import annotations

import sys
from itertools import islice
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parents[1]))

from fuzz.checking import read
from fuzz.inputs import inputs
from fuzz.strategies import FIELD_BOX, NOISE, NUMBERS, STATEMENTS, WORDS, examples, spoilt

SIGNS = st.sampled_from(
    ["{", "}", '"', ",", ";", "\n", "\r", "#", "# ", "=", "(", "\x00", "\x1b", "\ufffd", " ", "\u2028", "“", "–"]
)
WRITTEN = st.lists(WORDS | NUMBERS | SIGNS | NOISE.map(lambda text: text[:5]), max_size=30).map(" ".join)


@examples(900, 12_000)
@given(source=WRITTEN)
def test_words_numbers_and_signs(source: str) -> None:
    read(source)


@examples(200, 3000)
@given(source=NOISE)
def test_noise(source: str) -> None:
    read(source)


@examples(300, 4500)
@given(source=STATEMENTS)
def test_statements_of_the_grammar(source: str) -> None:
    read(source)


@examples(40, 500)
@given(source=spoilt(FIELD_BOX))
def test_spoilt_build(source: str) -> None:
    read(source)


def test_texts_by_the_million_are_those_of_their_seed() -> None:
    first = list(islice(inputs(7), 300))
    assert first == list(islice(inputs(7), 300))
    assert len(set(first)) > 290
    for source in first:
        read(source)


def test_check_can_fail(monkeypatch: pytest.MonkeyPatch) -> None:
    from ohmwright_grammar.diagnostics import Diagnostic
    from ohmwright_grammar.parsing import Parsed
    from ohmwright_grammar.spans import Span

    from fuzz import checking

    for span in (
        Span("fuzz.rig", 9, 1, 9, 2),
        Span("fuzz.rig", 1, 5, 1, 2),
        Span("other.rig", 1, 1, 1, 2),
        Span("fuzz.rig", 1, 0, 1, 2),
    ):
        wrong = Parsed((), (Diagnostic("over-limit", "x", span),))
        monkeypatch.setattr(checking, "parse", lambda text, path, wrong=wrong: wrong)
        with pytest.raises(AssertionError):
            read("load lamp 5 A")
