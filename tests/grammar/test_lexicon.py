"""The lexicon as a whole: every phrase of every datum of every kind is read, alone, as what it is meant to be."""

from __future__ import annotations

import sys
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import pytest
from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.kinds import INNER, KINDS, PLURALS, kind_of
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.matching import Matcher
from ohmwright_grammar.parsing import parse
from ohmwright_grammar.phrases import leading_words
from ohmwright_grammar.properties import FactReader, Facts
from ohmwright_grammar.quantities import DIMENSIONS
from ohmwright_grammar.things import Datum, Thing, data_of
from ohmwright_grammar.ways import ways_at

sys.path.insert(0, str(Path(__file__).parent))
from lexicon_samples import fill, kinds, rows, slots, tokens_of

RESERVED = frozenset({"all", "no", "not", "none", "same", "except", "and", "with", "everything"})
ROWS = [row for row in rows() if row[1].shape not in ("block", "blocks")]
IMPLIED = ("up_to", "down_to", "up_to_joined")  # records of which the words imply a field
IDS = [f"{kind.__name__}.{datum.name}" for kind, datum in ROWS]


def read(kind: type[Thing], sentence: str) -> tuple[Facts, list[Diagnostic]]:
    """Read one statement as a fact of a kind."""
    problems: list[Diagnostic] = []
    facts = Facts()
    statement = parse(sentence, "sample.rig").statements[0]
    FactReader("sample.rig", problems).statement(kind, "sample", statement, facts)
    return facts, problems


@pytest.mark.parametrize(("kind", "datum"), ROWS, ids=IDS)
def test_every_phrase_is_read_as_its_own_datum(kind: type[Thing], datum: Datum[Any]) -> None:
    for phrase in datum.phrases:
        for sentence in fill(phrase, datum):
            facts, problems = read(kind, sentence)
            assert not problems, f"{sentence!r} ({phrase}): {problems[0].message} {problems[0].remedy}"
            assert list(facts.facts) == [datum.name], f"{sentence!r} ({phrase}) is read as {list(facts.facts)}"
            assert facts.facts[datum.name].answer == "said", sentence


@pytest.mark.parametrize(("kind", "datum"), ROWS, ids=IDS)
def test_no_phrase_could_be_two_data(kind: type[Thing], datum: Datum[Any]) -> None:
    """Where two data match the same words to the end, one of them has more words of its own, so that no order decides."""
    for phrase in datum.phrases:
        for sentence in fill(phrase, datum):
            tokens = tokens_of(sentence)
            ways = [way for way in ways_at(kind, Matcher(tokens, {}), 0, None) if way.end == len(tokens)]
            most = max(way.plain_words for way in ways)
            found = {way.datum.name for way in ways if way.datum is not None and way.plain_words == most}
            assert found == {datum.name}, f"{sentence!r} ({phrase})"


@pytest.mark.parametrize(("kind", "datum"), ROWS, ids=IDS)
def test_every_datum_has_words_of_its_own(kind: type[Thing], datum: Datum[Any]) -> None:
    """With them it is denied, or said to stand in another document."""
    own = [leading_words(phrase) for phrase in datum.phrases if leading_words(phrase)]
    if all(phrase[0] == "<" and slots(phrase)[0].shapes[0] in ("name", "names") for phrase in datum.phrases):
        pytest.skip("it is said of other things, whose names come first")
    if f"{kind.__name__}.{datum.name}" == "Row.joined":
        pytest.skip("a range of numbers: none is 0 to 0")
    assert own, "has no phrase that begins with words"
    if datum.shape == "flag":
        for phrase in datum.phrases:
            for sentence in (f"no {phrase}", f"not {phrase}"):
                facts, problems = read(kind, sentence)
                assert not problems, sentence
                assert facts.facts[datum.name].value is False, sentence
        return
    others = {
        leading_words(phrase).lower() for other in data_of(kind).values() if other is not datum for phrase in other.phrases
    }
    alone = [words for words in own if words.lower() not in others]
    assert alone, f"shares all of its words {own} with others"
    sayings = [(f"no {alone[0]}", "none"), (f"{alone[0]} none", "none"), (f'{alone[0]} per "a sheet"', "elsewhere")]
    if datum.shape in ("word", "text"):
        del sayings[1]  # "none" may be the word itself
    for sentence, answer in sayings:
        facts, problems = read(kind, sentence)
        assert not problems, sentence
        assert list(facts.facts) == [datum.name], f"{sentence!r} is read as {list(facts.facts)}"
        assert facts.facts[datum.name].answer == answer, sentence


@pytest.mark.parametrize("kind", kinds(), ids=lambda kind: kind.__name__)
def test_one_bare_value_for_each_dimension(kind: type[Thing]) -> None:
    bare: dict[str, list[str]] = {}
    for datum in data_of(kind).values():
        for phrase in datum.phrases:
            if phrase.startswith("<") and phrase.count("<") == 1 and phrase.endswith(">") and "choice" not in phrase:
                for shape in slots(phrase)[0].shapes:
                    bare.setdefault(shape, []).append(datum.name)
    assert not {shape: names for shape, names in bare.items() if len(set(names)) > 1}


@pytest.mark.parametrize(("kind", "datum"), rows(), ids=[f"{kind.__name__}.{datum.name}" for kind, datum in rows()])
def test_rows_are_well_formed(kind: type[Thing], datum: Datum[Any]) -> None:
    assert datum.doc
    assert datum.phrases
    assert len(set(datum.phrases)) == len(datum.phrases)
    assert datum.name.isidentifier()
    assert datum.name.islower()
    for phrase in datum.phrases:
        for sign in "=:()":
            assert sign not in phrase.replace(":", "", phrase.count("<")), phrase
        for slot in slots(phrase):
            for shape in slot.shapes:
                known = shape in DIMENSIONS or (shape.endswith("s") and shape[:-1] in DIMENSIONS)
                assert known or hasattr(Matcher, f"_{shape}"), f"{shape} in {phrase}"
    for wording, value in (datum.choices or {}).items():
        assert wording.split()[0].lower() not in ("all", "no", "none"), wording
        assert value


@pytest.mark.parametrize("words", sorted({*KINDS, *INNER}))
def test_every_kind_is_found_by_its_words(words: str) -> None:
    kind = kind_of(words)
    assert kind.KIND
    assert words == words.lower()


@pytest.mark.parametrize("plural", sorted(PLURALS))
def test_every_plural_leads_to_a_kind(plural: str) -> None:
    assert issubclass(kind_of(PLURALS[plural]), Thing)


@pytest.mark.parametrize("kind", [kind for kind in kinds() if issubclass(kind, Part)], ids=lambda kind: kind.__name__)
def test_terminals_are_no_units_and_aliases_lead_to_them(kind: type[Part]) -> None:
    symbols = {symbol for dimension in DIMENSIONS.values() for symbol in dimension.symbols}
    allowed = {"L", "N", "a", "b"}  # N is newton's symbol, but no phrase wants a force where a terminal's name may stand
    assert len(set(kind.TERMINALS)) == len(kind.TERMINALS)
    assert not (set(kind.TERMINALS) & symbols) - allowed
    assert set(kind.ALIASES.values()) <= set(kind.TERMINALS)
    assert not set(kind.ALIASES) & set(kind.TERMINALS)
    assert set(kind.AC_TERMINALS) <= set(kind.TERMINALS)


@pytest.mark.parametrize(
    ("kind", "datum"), [row for row in ROWS if row[1].many and row[1].tail], ids=lambda item: getattr(item, "name", None)
)
def test_a_comma_goes_on_with_more_of_the_same(kind: type[Thing], datum: Datum[Any]) -> None:
    first = next(fill(datum.phrases[0], datum))
    for more in fill(datum.tail, datum):
        facts, problems = read(kind, f"{first}, {more}, {more}")
        assert not problems, f"{first}, {more}: {problems[0].message}"
        assert list(facts.facts) == [datum.name]
        assert len(facts.facts[datum.name].value) == 3


def _said(value: object) -> set[str]:
    assert is_dataclass(value)
    return {item.name for item in fields(value) if getattr(value, item.name) not in (None, "", ())}


@pytest.mark.parametrize(
    ("kind", "datum"),
    [row for row in ROWS if row[1].shape == "record" and row[1].name not in IMPLIED],
    ids=lambda item: getattr(item, "name", None),
)
def test_every_record_can_be_said_again_from_its_fields(kind: type[Thing], datum: Datum[Any]) -> None:
    """A record that was read, in whatever wording, has a phrase that names exactly the fields it holds."""
    for phrase in datum.phrases:
        for sentence in fill(phrase, datum):
            value = read(kind, sentence)[0].facts[datum.name].value
            record = value[0] if datum.many else value
            if not is_dataclass(record):
                continue
            said = _said(record)
            fitting = [
                other
                for other in datum.phrases
                if said <= {slot.field for slot in slots(other)} and {slot.field for slot in slots(other, must=True)} <= said
            ]
            assert fitting, f"{sentence!r}: {said}"
