"""What is printed is read as what it was printed from: every datum of every kind, and whole files."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from ohmwright_grammar.bodies import BodyReader
from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.entries import Body
from ohmwright_grammar.kinds import KINDS, PLURALS, kind_of
from ohmwright_grammar.kinds.rig import Rig
from ohmwright_grammar.parsing import parse
from ohmwright_grammar.printing import print_body, say_fact
from ohmwright_grammar.properties import FactReader, Facts
from ohmwright_grammar.things import Datum, Thing, data_of

sys.path.insert(0, str(Path(__file__).parent))
from lexicon_samples import fill, rows
from written_facts import facts, things

ROWS = [row for row in rows() if row[1].shape not in ("block", "blocks")]
HEADS = sorted({kind_of(words).KIND.lower() for words in KINDS if kind_of(words).KIND.lower() in KINDS})
PATIENT = settings(max_examples=60, suppress_health_check=list(HealthCheck))


def read_facts(kind: type[Thing], statements: str) -> tuple[Facts, list[Diagnostic]]:
    """Read the statements of a block."""
    problems: list[Diagnostic] = []
    found = Facts()
    for statement in parse(statements, "sample.rig").statements:
        FactReader("sample.rig", problems).statement(kind, "sample", statement, found)
    return found, problems


def read_body(text: str) -> tuple[Body, list[Diagnostic]]:
    """Read a whole file."""
    problems: list[Diagnostic] = []
    parsed = parse(text, "sample.rig")
    problems.extend(parsed.diagnostics)
    return BodyReader("sample.rig", problems).read(parsed.statements), problems


def comparable(body: Body) -> dict[str, Any]:
    """Return what a file says, without places and without the order of its statements."""
    return {
        "rig": (body.rig.facts, body.rig.base),
        "entries": sorted(repr(_plain(entry)) for entry in body.entries),
        "defaults": sorted(
            repr((item.plural, item.kind, _facts(item.facts), item.words, item.zone, item.owner)) for item in body.defaults
        ),
        "changes": [(item.name, item.words, item.block, item.head, item.adds) for item in body.changes],
        "removals": [(item.name, item.head) for item in body.removals],
        "assemblies": {name: item.block for name, item in body.assemblies.items()},
        "parameters": {name: value for name, (value, _) in body.parameters.items()},
    }


def _facts(said: Any) -> list[Any]:
    return sorted((name, _value(fact.value), fact.answer, fact.document) for name, fact in said.items())


def _value(value: Any) -> Any:
    if isinstance(value, Thing):
        return repr((type(value).__name__, value.name, _facts(value.facts)))
    if isinstance(value, tuple) and value and isinstance(value[0], Thing):
        return repr([_value(item) for item in value])
    return repr(value)


def _plain(entry: Any) -> Any:
    groups = [(_facts(group.facts), group.zone, group.plural) for group in entry.groups]
    return (entry.kind, entry.name, _facts(entry.facts), entry.base and entry.base.name, groups, entry.mate)


@pytest.mark.parametrize(("kind", "datum"), ROWS, ids=[f"{kind.__name__}.{datum.name}" for kind, datum in ROWS])
def test_every_phrase_is_printed_as_what_it_says(kind: type[Thing], datum: Datum[Any]) -> None:
    for phrase in datum.phrases:
        for sentence in fill(phrase, datum):
            said, problems = read_facts(kind, sentence)
            assert not problems, sentence
            printed = say_fact(datum, said.facts[datum.name])
            again, problems = read_facts(kind, printed)
            assert not problems, f"{sentence!r} is printed as {printed!r}: {problems[0].message}"
            assert again.facts == said.facts, f"{sentence!r} is printed as {printed!r}"


@pytest.mark.parametrize("head", HEADS)
@PATIENT
@given(data=st.data())
def test_a_thing_is_printed_as_what_it_says(head: str, data: st.DataObject) -> None:
    kind = kind_of(head)
    statements = data.draw(things(kind))
    name = data.draw(st.sampled_from([" main", ' "a name"', " block", ' "7"'])) if kind.NAMED else ""
    text = f"{head}{name} {{\n" + "\n".join(statements) + "\n}\n"
    _prints_back(text)


@PATIENT
@given(data=st.data())
def test_the_rig_is_printed_as_what_it_says(data: st.DataObject) -> None:
    _prints_back("\n".join(data.draw(facts(datum)) for datum in data_of(Rig).values()))


@pytest.mark.parametrize("plural", sorted(PLURALS))
@settings(max_examples=10, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_defaults_and_groups_are_printed_as_what_they_say(plural: str, data: st.DataObject) -> None:
    kind = kind_of(PLURALS[plural])
    said = data.draw(things(kind, most=3))
    text = f"all {plural} {{ {'; '.join(said)} }}\nzone warm {{ 5 degC to 40 degC\nall {plural} {{ }}\n}}\nall {plural} in warm {{ {said[0] if said else ''} }}"
    _prints_back(text)


def _prints_back(text: str) -> None:
    body, problems = read_body(text)
    if problems:  # the written facts may contradict each other; what is read without them still prints back
        body, _ = read_body(print_body(body))
    printed = print_body(body)
    again, problems = read_body(printed)
    assert not problems, f"{problems[0].message} {problems[0].remedy}\n{text}\n--- is printed as\n{printed}"
    assert comparable(again) == comparable(body), f"{text}\n--- is printed as\n{printed}"
    assert print_body(again) == printed


WHOLE = """
rig "Whole", revision 4.0
basis us-small-craft
parts from "shelf.rig", "more.rig"
parameter lead 1.2 m
parameter thick 8 AWG
all wires { copper; 105 degC insulation }
all blade fuses { breaks 1 kA at 32 V dc }
all terminals of fuses in hot { 75 degC }
zone hot {
  20 degC to 60 degC
  fuse f2 { 10 A }
  all wires { in conduit }
  wires 10 AWG, red { w2 from f2.line to hub { 1 m }; w3 from f2.load to hub { lead } }
}
connector socket with plug { 15 A; pin 1 plus; pins 3, 4 { mate last }
  plug { jumper loop from 3 to 4 { 16 AWG; 40 mm } } }
bus hub { 100 A }
fuse_1.line on hub
require run lamp, pump for 4 h; require weigh at most 20 kg
waive far-fuse.too-far on w2 up to 1.3 m because "moves" until 2027-06-30
state "pumping at noon" { same as noon except { pump on at 40 A; lasts 1 s } }
assembly pack { parameter cord 2 m; port in at plug; wire w from a.plus to b.plus { 8 AWG; cord } }
place p of pack { with cord 3 m }
change wire feed, 4 m { red }
add to state noon { pump on }
remove lamp, state2
"""


def test_a_whole_file_is_printed_as_what_it_says() -> None:
    body, problems = read_body(WHOLE)
    assert not problems, [problem.message for problem in problems]
    assert len(body.entries) == 12
    printed = print_body(body)
    again, problems = read_body(printed)
    assert not problems, f"{problems[0].message}\n{printed}"
    assert comparable(again) == comparable(body), printed
    assert print_body(again) == printed


QUOTED = [
    'wire w { in "conduit" }',
    'wire w { in "free" }',
    'state s { "sun" at 60 %; "sun" on }',
    'state s { "bms" on }',
    'fuse f { made by "none" }',
    'fuse f { "line" on "on" }',
    'label l { at "none" }',
    'place "of" of "in"',
]


@pytest.mark.parametrize("text", QUOTED)
def test_names_that_read_like_words_stay_in_quotation_marks(text: str) -> None:
    body, problems = read_body(text)
    assert not problems, problems[0].message
    printed = print_body(body)
    again, problems = read_body(printed)
    assert not problems, printed
    assert comparable(again) == comparable(body), printed
