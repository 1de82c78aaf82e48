"""Names, terminals, ports, zones, connectors: what a build's statements mean together."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from ohmwright_grammar.kinds.conductor import Conductor, Wire
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.interlock import Interlock
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.kinds.requirement import Requirement

sys.path.insert(0, str(Path(__file__).parent))
from reading import build_of, problems_of, resolved, told

TWO = 'battery house { 60 Ah }\nbattery "big pump" { 60 Ah }\nbus hub 100 A\n'


# names and terminals -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "node"),
    [
        ("house.plus", "house.plus"), ("house.+", "house.plus"), ("house.B+", "house.plus"), ("house.pos", "house.plus"), ("house.Plus", "house.plus"),
        ('"big pump".minus', "big pump.minus"), ('"big pump.minus"', "big pump.minus"), ("hub", "hub"),
    ],
)  # fmt: skip
def test_a_terminal_by_each_of_its_names(written: str, node: str) -> None:
    other = "hub" if node != "hub" else "house.plus"
    build = build_of(f"{TWO}wire w from {written} to {other}, 10 AWG, 1 m\n")
    (run,) = build.runs
    assert run.start == node
    assert run.conductor.ends is not None
    assert (run.conductor.ends.start, run.conductor.ends.end) == (node, other)


@pytest.mark.parametrize(
    ("statement", "message", "remedy"),
    [
        ("wire w from hosue.plus to hub", "There is no part named 'hosue'.", "Names near this one: house."),
        ("wire w from house.plsu to hub", "The battery 'house' has no terminal 'plsu'.", "Terminals near this one: plus."),
        (
            "wire w from house to hub",
            "It is not said which terminal of 'house' is meant.",
            "Its terminals: house.plus, house.minus.",
        ),
        ("wire w from hub.plus to house.plus", "The bus 'hub' has no terminal 'plus'.", "The bus is one node: write hub."),
        ("wire w from hub to hub", "'w' begins and ends at the same terminal.", "Correct one of its ends."),
        ("wire w { 10 AWG }", "It is not said what wire 'w' joins.", "Write: wire w from … to …"),
        ("house.plus on nowhere", "There is no thing named 'nowhere'.", ""),
        ("state s { hub2 closed }", "There is no thing named 'hub2'.", "Names near this one: hub."),
        ("bus b { 3 A; in attic }", "There is no thing named 'attic'.", ""),
    ],
)
def test_a_name_that_means_nothing(statement: str, message: str, remedy: str) -> None:
    (problem,) = problems_of(TWO + statement)
    assert problem.rule in ("unknown-name", "senseless-value", "unreadable-text")
    assert problem.message == message
    assert problem.remedy.startswith(remedy)
    assert problem.span.line == 4


def test_a_selector_joins_its_own_terminals() -> None:
    says = "selector choice { position 1 joins WHERE.plus; position both joins WHERE.plus, hub.x, own; position off joins nothing }\n"
    (problem,) = problems_of(TWO + says.replace("WHERE", "house"))
    assert (problem.rule, problem.subject, problem.span.line) == ("unknown-name", "choice", 4)
    assert problem.message == "Its positions join 'house.plus' and 'hub.x': not terminals of the selector itself."
    remedy = "position 1 joins first; position both joins first, second, own; first on house.plus; second on hub.x"
    assert problem.remedy.endswith(f": {remedy}")
    offered = f"selector choice {{ {remedy.replace('hub.x', 'hub')} }}\n"
    assert not problems_of(TWO + offered)


def test_a_name_given_twice_is_told_with_both_places_and_the_first_stands() -> None:
    text = "bus hub 100 A\nload hub 5 W\nbus hub 3 A\n"
    found = resolved(text)
    assert [(problem.rule, problem.span.line, problem.related[0].span.line) for problem in found.problems] == [
        ("duplicate-name", 2, 1),
        ("duplicate-name", 3, 1),
    ]
    assert [part.KIND for part in found.build.parts.values()] == ["bus"]


@pytest.mark.parametrize("name", ["all", "none", "With", "everything", "a.b", "a[1]", '" "'])
def test_words_that_cannot_be_names(name: str) -> None:
    assert told(f"load {name} {{ 5 W }}")[0][1] == 1


def test_any_other_word_may_be_a_name() -> None:
    names = ["wire", "fuse", "state", "on", "plus", "zone", "m", "V", "pin", "of", "change", "red"]
    build = build_of("".join(f"load {name} {{ 5 W }}\n" for name in names))
    assert sorted(build.parts) == sorted(names)
    tied = "".join(f"wire w{number} from {name}.plus to {name}.minus, 10 AWG, 1 m\n" for number, name in enumerate(names))
    assert len(build_of("".join(f"load {name} {{ 5 W }}\n" for name in names) + tied).runs) == len(names)


def test_only_one_site() -> None:
    (problem,) = problems_of("site { ambient 5 degC to 30 degC }\nbus a 3 A\nsite { outdoors }\n")
    assert (problem.rule, problem.span.line, problem.related[0].span.line) == ("duplicate-name", 3, 1)


def test_requirements_go_by_their_words_however_they_were_put() -> None:
    text = "load pump 5 W\nrequire run pump for 90 min\nrequire {\n  run pump for 4 h\n}\nrequire at most 3 suppliers\n"
    names = [item.name for item in build_of(text).of(Requirement)]
    assert names == ["at most 3 suppliers", "run pump for 4 h", "run pump for 90 min"]


# joints and zones ----------------------------------------------------------------------------------------------------


def test_requirements_go_by_full_names() -> None:
    names = {
        require.name
        for terminal in ("plus", "+", "B+")
        for require in build_of(f"{TWO}require drop at house.{terminal} at most 5 %\n").of(Requirement)
    }
    assert names == {"drop at house.plus at most 5 %"}


def test_joints_are_said_by_the_part_or_alone() -> None:
    text = TWO + 'fuse a { 3 A; line on house.plus }\nfuse b 3 A\nb.line on hub\nhouse.minus sits on "big pump".minus\n'
    joints = [(joint.first, joint.second) for joint in build_of(text).joints]
    assert joints == [("a.line", "house.plus"), ("b.line", "hub"), ("house.minus", "big pump.minus")]


def test_joints_are_said_with_full_names() -> None:
    """The same terminal by another of its names is the same build, and one inside of an assembly goes by its place."""
    plain = build_of(f"{TWO}fuse f {{ 3 A; line on house.plus }}\nhouse.minus on hub\n")
    signs = build_of(f"{TWO}fuse f {{ 3 A; in on house.+ }}\nhouse.B- on hub\n")
    assert plain.joints == signs.joints
    assert (plain.parts, plain.rig) == (signs.parts, signs.rig)
    inside = "assembly board { fuse block ways { 2 ways }\nfuse f { 3 A; in way 1 of ways } }\nplace left of board\n"
    fuse = build_of(TWO + inside).parts["left.f"]
    assert [(joint.terminal, joint.at) for joint in fuse.joints or ()] == [("line", "left.ways.1")]


def test_zones_by_block_and_by_word() -> None:
    text = """
zone hot { 10 degC to 60 degC
  bus a 3 A
  cable c { 10 AWG; 1 m; core one from a to d; core two from a to d { in cold } }
}
zone cold { 0 degC to 5 degC }
bus b { 3 A; in hot }
bus d 3 A
wires in cold { w from b to d, 10 AWG, 1 m }
"""
    assert build_of(text).zones == {"a": "hot", "b": "hot", "c": "hot", "c.one": "hot", "c.two": "cold", "w": "cold"}


# connectors ----------------------------------------------------------------------------------------------------------


def matings(text: str) -> list[tuple[str, tuple[tuple[str, str], ...]]]:
    """Return the matings of a build with their pins."""
    return [(mating.name, mating.pins) for mating in build_of(text).matings]


def test_a_pair_has_its_common_facts_in_both_halves_and_its_own_in_each() -> None:
    build = build_of("connector a with b { 15 A; pin 1 plus; b { cap; 20 A over } }\n".replace("; 20 A over", ""))
    assert [(half.name, half.rated_current.nominal if half.rated_current else None, half.cap) for half in build.of(Half)] == [
        ("a", 15.0, None),
        ("b", 15.0, True),
    ]
    assert [(mating.name, mating.pins) for mating in build.matings] == [("a with b", (("1", "1"),))]


def test_a_halfs_own_block_may_stand_within_same_as_except() -> None:
    library = "connector kept { 15 A; pins 1, 2 { 15 A } }\n"
    inside = build_of(library + "connector a with b { same as kept except { 20 A; b { cap } } }\n")
    beside = build_of(library + "connector a with b same as kept except { 20 A; b { cap } }\n")
    for build in (inside, beside):
        one, other = build.parts["a"], build.parts["b"]
        assert isinstance(one, Half)
        assert isinstance(other, Half)
        assert [half.rated_current.high for half in (one, other) if half.rated_current is not None] == [20, 20]
        assert (one.cap, other.cap) == (None, True)
        assert [pin.name for pin in one.pins or ()] == ["1", "2"]


def test_halves_that_name_each_other_are_one_pair_however_they_are_put() -> None:
    one = "connector b { mates with a; pin 1 plus }\nconnector a { mates with b; pin 1 plus }\n"
    other = "connector a { mates with b; pin 1 plus }\nconnector b { mates with a; pin 1 plus }\n"
    assert matings(one) == matings(other) == [("a with b", (("1", "1"),))]
    assert matings("connector b { mates with a; pin 1 plus }\nconnector a { pin 1 plus }\n") == [("b with a", (("1", "1"),))]


def test_pins_that_do_not_meet_like_to_like() -> None:
    text = "connector a with b { pins 1, 2, 3 { 5 A }; a { meets 1 to 2, 2 to 1 } }\n"
    assert matings(text) == [("a with b", (("1", "2"), ("2", "1"), ("3", "3")))]


def test_pins_that_are_used_are_pins_where_none_are_listed() -> None:
    text = (
        TWO
        + "connector a with b { 5 A }\nwire w from house.plus to a.left, 10 AWG, 1 m\nwire v from b.left to hub, 10 AWG, 1 m\n"
    )
    build = build_of(text)
    assert [mating.pins for mating in build.matings] == [(("left", "left"),)]
    assert "a.left" in build.nodes


def test_a_jumper_is_a_conductor_between_pins_of_its_half() -> None:
    text = "connector a with b { pins 1, 2 { 5 A }; b { jumper loop from 1 to 2 { 16 AWG; 40 mm } } }\ninterlock i { loop b.loop, a.1 }\n"
    build = build_of(text)
    assert [(run.name, run.start, run.end) for run in build.runs] == [("b.loop", "b.1", "b.2")]
    assert [item.members for item in build.of(Interlock)] == [("b.loop", "a.1")]


# cables --------------------------------------------------------------------------------------------------------------


def test_cores_have_the_facts_of_their_cable_and_their_own() -> None:
    text = TWO + (
        "all wires { copper; 90 degC insulation; black }\nall cores { blue }\nall cables { 60 degC insulation }\n"
        "cable c { 10 AWG; 2 m; core a red from hub to house.plus; core b from hub to house.minus, 12 AWG; core spare cut back }\n"
        "wire w from hub to house.plus, 4 AWG, 1 m\n"
    )
    build = build_of(text)
    runs = {run.name: run.conductor for run in build.runs}
    assert sorted(runs) == ["c.a", "c.b", "w"]
    assert [runs[name].colour for name in sorted(runs)] == ["red", "blue", "black"]
    assert [runs[name].gauge.text for name in sorted(runs) if runs[name].gauge] == ["10 AWG", "12 AWG", "4 AWG"]  # type: ignore[union-attr]
    insulation = [runs[name].insulation_temperature.nominal for name in sorted(runs)]  # type: ignore[union-attr]
    assert insulation == [60.0, 60.0, 90.0]
    assert isinstance(runs["w"], Wire) and isinstance(runs["c.a"], Conductor)
    assert runs["c.a"].fact(Conductor.length).origin == "group"  # type: ignore[union-attr]


def test_a_build_is_in_name_order() -> None:
    build = build_of("load b 5 W\nload a 5 W\nstate z { a on }\nstate y { b on }\n")
    assert list(build.parts) == ["a", "b"]
    assert [state.name for state in build.states] == ["y", "z"]
    assert [load.name for load in build.of(Load)] == ["a", "b"]
