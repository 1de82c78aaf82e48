"""Whatever is written, nothing but diagnostics comes out: random statements of the grammar, and real builds with pieces spoilt."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.lark import from_lark
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright.reports import json_report, text
from ohmwright.results import Result
from ohmwright.rules import installed_packs
from ohmwright_grammar.budget import Budget
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.kinds import KINDS, PLURALS, kind_of
from ohmwright_grammar.parsing import build_parser
from ohmwright_grammar.phrases import leading_words
from ohmwright_grammar.quantities import DIMENSIONS
from ohmwright_grammar.resolve import Loader
from ohmwright_grammar.things import data_of

FIELD_BOX = (Path(__file__).with_name("data") / "field_box.rig").read_text(encoding="utf-8")

_HEADS = sorted(
    {*KINDS, *PLURALS, "all wires", "assembly", "change", "remove", "parameter", "rig", "basis", "parts from", "add to"}
)
_PROPERTIES = sorted(
    {
        leading_words(phrase)
        for head in (
            "battery",
            "wire",
            "fuse",
            "load",
            "controller",
            "array",
            "inverter",
            "connector",
            "state",
            "waive",
            "require",
        )
        for datum in data_of(kind_of(head)).values()
        for phrase in datum.phrases
        if leading_words(phrase)
    }
)
_UNITS = sorted({symbol for dimension in DIMENSIONS.values() for symbol in dimension.symbols})
_NAMES = [
    "house",
    "feed",
    "lamp",
    "main",
    "house.plus",
    "lamp.minus",
    "main.line",
    "pack[2].feed",
    "1",
    "plug.3",
    "everything else",
    "with",
    "é",
]
_JOINING = [
    "from",
    "to",
    "and",
    "at",
    "on",
    "off",
    "of",
    "in",
    "no",
    "none",
    "same as",
    "except",
    "up to",
    "until",
    "because",
    "plus or minus",
]
WORDS = (
    st.sampled_from(_HEADS)
    | st.sampled_from(_PROPERTIES)
    | st.sampled_from(_UNITS)
    | st.sampled_from(_NAMES)
    | st.sampled_from(_JOINING)
)
NUMBERS = st.sampled_from(["0", "1", "-1", "3.5", "1e400", "-0", "1e-320", "900", ".5", "−2"])

# Every terminal of the grammar gets a strategy of its own, so that what is written looks like a build and not like noise.
TERMINALS = {
    "WORD": WORDS, "NUMBER": NUMBERS, "GAUGE": st.sampled_from(["1/0", "4/0"]), "DATE": st.sampled_from(["2027-06-30", "2027-13-45"]),
    "TEXT": st.sampled_from(['"lamp on"', '""', '"shelf.rig"', '"fuzz.rig"', '"\u202e"']), "QUOTED_REFERENCE": st.just('"orchard pack"[2].plus'),
    "OPEN_TEXT": st.just('"open'), "COMMA": st.just(", "), "LBRACE": st.just(" { "), "RBRACE": st.just(" }"), "_SEP": st.sampled_from(["\n", "; "]),
    "DECIMAL_COMMA": st.just("0,25"), "DASHED": st.just("5-30"), "CROSSED": st.just("10x38"), "HASHED": st.sampled_from(["#8", "#no"]),
    "SIGN": st.sampled_from(["=", ":", "(", ")"]), "CURLY": st.sampled_from(["“", "”"]), "STRAY": st.sampled_from(["\x00", "\x1b", "\ufffd"]),
}  # fmt: skip


def inspect(source: str, packs: Any) -> Result:
    options = InspectOptions(today=date(2026, 1, 1), assumed=True, budget=lambda: Budget(20.0, 1000.0))
    return inspect_files(
        ["fuzz.rig"], Loader(MemoryFiles({"fuzz.rig": source, "shelf.rig": "fuse small { 15 A blade }\n"})), options, packs
    )


def check(source: str, packs: Any) -> None:
    result = inspect(source, packs)
    assert [error for error in result.errors if error.rule] == []
    for build in result.builds:
        for item in build.findings:
            span = item.finding.span
            assert span.path
            assert (span.line, span.column) >= (1, 1)
            assert (span.end_line, span.end_column) >= (span.line, span.column)
            assert item.finding.message
        assert build.partial or not any(item.rule.family == "text" for item in build.findings)
    sheet = text.write(result, text.TextOptions(working=True, assumed=True))
    assert all(line.isprintable() for line in sheet.split("\n"))
    json.loads(json_report.write(result), parse_constant=pytest.fail)


SAMPLE: Any = ()


@pytest.fixture(autouse=True)
def _sample_pack(kit: Any) -> None:
    """Take the invented pack from the fixtures of this folder: it cannot be passed to each example."""
    global SAMPLE
    SAMPLE = (kit.sample,)


def examples(number: int) -> Any:
    """Return settings that make every run alike."""
    return settings(max_examples=number, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))


@examples(200)
@given(source=from_lark(build_parser(), explicit=TERMINALS, alphabet=st.characters(codec="utf-8")))
def test_random_statements(source: str) -> None:
    check(f'rig "Fuzz"\nbattery house {{ LFP, 4 cells, 100 Ah }}\nload lamp 5 A\n{source}\n', SAMPLE)


@st.composite
def spoilt(draw: st.DrawFn, whole: str) -> str:
    """A build with one to four pieces taken away, doubled, moved or put in."""
    words = whole.split(" ")
    for _ in range(draw(st.integers(1, 4))):
        place = draw(st.integers(0, len(words) - 1))
        what = draw(st.sampled_from(["drop", "double", "put", "swap", "cut", "number"]))
        if what == "drop":
            del words[place]
        elif what == "double":
            words.insert(place, words[place])
        elif what == "put":
            words.insert(place, draw(WORDS | NUMBERS | st.sampled_from(["{", "}", '"', ",", ";", "\n", "#", "=", "\x00"])))
        elif what == "swap":
            other = draw(st.integers(0, len(words) - 1))
            words[place], words[other] = words[other], words[place]
        elif what == "number":
            words[place] = draw(NUMBERS)
        else:
            word = words[place]
            words[place] = word[: draw(st.integers(0, len(word)))]
    return " ".join(words)


@examples(80)
@given(source=spoilt(FIELD_BOX))
def test_spoilt_build(source: str) -> None:
    check(source, SAMPLE)


@examples(40)
@given(source=spoilt(FIELD_BOX))
def test_spoilt_build_under_the_installed_rules(source: str) -> None:
    """No rule may raise, whatever a half-read build lacks."""
    check(source, installed_packs())


@examples(200)
@given(
    source=st.text(st.characters(codec="utf-8"), max_size=300)
    | st.binary(max_size=300).map(lambda data: data.decode("latin-1"))
)
def test_noise(source: str) -> None:
    check(source, SAMPLE)
