"""What is denied: "no" and "not" before a phrase, words that say the contrary by themselves, and verbs as one would deny them.

No source but the language itself; the sentences are those that builders wrote.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest
from ohmwright_grammar.kinds import kind_of
from ohmwright_grammar.matching import Matcher
from ohmwright_grammar.printing import say_fact
from ohmwright_grammar.things import Datum, Thing
from ohmwright_grammar.ways import ways_at

sys.path.insert(0, str(Path(__file__).parent))
from lexicon_samples import fill, rows, tokens_of
from test_printing import read_facts

DENIED = [row for row in rows() if row[1].denied]


def test_there_are_words_that_deny() -> None:
    assert {datum.name for _, datum in DENIED} >= {"bears_no_battery", "lets_current_back", "equalise_voltage", "float_voltage"}


@pytest.mark.parametrize(("kind", "datum"), DENIED, ids=[f"{kind.__name__}.{datum.name}" for kind, datum in DENIED])
def test_words_that_deny_are_read_as_that_and_printed_so(kind: type[Thing], datum: Datum[Any]) -> None:
    for phrase in datum.denied:
        for sentence in fill(phrase, datum):
            facts, problems = read_facts(kind, sentence)
            assert not problems, f"{sentence!r}: {problems[0].message}"
            assert list(facts.facts) == [datum.name], f"{sentence!r} is read as {list(facts.facts)}"
            fact = facts.facts[datum.name]
            assert (fact.value, fact.answer) == ((False, "said") if datum.shape == "flag" else (None, "none")), sentence
            again, problems = read_facts(kind, say_fact(datum, fact))
            assert not problems
            assert again.facts == facts.facts


@pytest.mark.parametrize(("kind", "datum"), DENIED, ids=[f"{kind.__name__}.{datum.name}" for kind, datum in DENIED])
def test_words_that_deny_could_be_no_other_datum(kind: type[Thing], datum: Datum[Any]) -> None:
    for phrase in datum.denied:
        for sentence in fill(phrase, datum):
            tokens = tokens_of(sentence)
            ways = [way for way in ways_at(kind, Matcher(tokens, {}), 0, None) if way.end == len(tokens)]
            most = max(way.plain_words for way in ways)
            assert {way.datum for way in ways if way.plain_words == most} == {datum}, sentence


@pytest.mark.parametrize("sentence", ["no needs a battery", "not blocks reverse current", "no equalise off"])
def test_what_is_denied_twice_is_no_sentence(sentence: str) -> None:
    assert read_facts(kind_of("controller"), sentence)[1]


@pytest.mark.parametrize(
    ("words", "sentence", "name"),
    [
        ("controller", "does not bear PV without a battery", "bears_no_battery"),
        ("controller", "doesn't bear PV without a battery", "bears_no_battery"),
        ("controller", "cannot bear PV without a battery", "bears_no_battery"),
        ("controller", "does not let current back into the array", "lets_current_back"),
        ("controller", "lets no current back into the array", "lets_current_back"),
        ("mains charger", "does not have a float stage", "float_stage"),
        ("mains charger", "has no float stage", "float_stage"),
        ("battery", "has no heater", "heater"),
        ("battery", "is not held down", "held_down"),
        ("load", "is not a motor", "motor"),
        ("relay", "does not latch", "latching"),
        ("inverter", "does not sleep with no load", "sleeps"),
    ],
)
def test_verbs_are_denied_as_one_would_say_it(words: str, sentence: str, name: str) -> None:
    facts, problems = read_facts(kind_of(words), sentence)
    assert not problems, problems[0].message
    assert list(facts.facts) == [name]
    assert facts.facts[name].value is False
    assert facts.facts[name].answer == "said"


@pytest.mark.parametrize(
    ("words", "sentence", "name"),
    [
        ("controller", "equalise off", "equalise_voltage"),
        ("controller", "never equalises", "equalise_voltage"),
        ("controller", "does not equalise", "equalise_voltage"),
        ("controller", "has no equalise", "equalise_voltage"),
        ("mains charger", "float off", "float_voltage"),
        ("battery", "has no bms", "bms"),
    ],
)
def test_what_there_is_not_is_none(words: str, sentence: str, name: str) -> None:
    facts, problems = read_facts(kind_of(words), sentence)
    assert not problems, problems[0].message
    assert (facts.facts[name].value, facts.facts[name].answer) == (None, "none")


@pytest.mark.parametrize("sentence", ["does PV", "does not", "cannot", "does not PV at most 50 V", "has no", "is not"])
def test_a_denial_of_nothing_is_told(sentence: str) -> None:
    facts, problems = read_facts(kind_of("controller"), sentence)
    assert problems
    assert not facts.facts


def test_a_value_is_not_denied_by_a_verb() -> None:
    """What "gives at most 3 A" is not stays unknown: only what is yes or no can be denied so."""
    _, problems = read_facts(kind_of("converter"), "does not give 5 V")
    assert problems
