"""Adaptations: a published build with changes, additions and removals laid over it."""

from __future__ import annotations

import hashlib
import sys
from pathlib import Path

import pytest
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.conductor import Conductor
from ohmwright_grammar.kinds.requirement import Requirement
from ohmwright_grammar.kinds.site import Site

sys.path.insert(0, str(Path(__file__).parent))
from reading import build_of, problems_of, resolved, told

SHELF = "battery big { LFP; 60 Ah; 4 cells }\nbattery small { AGM; 40 Ah }\n"
BASE = """\
rig "Box", revision 4.0, by "Kim"
basis us-small-craft
parts from "shelf.rig"
site { ambient -12 degC to 38 degC; record low -21 degC }
all wires { copper }
battery house { same as big except { bms { charge at most 30 A } } }
load pump { 60 W; described as "pump" }
load lamp { 10 W }
load noon { 3 W }
wires 10 AWG {
  feed from house.plus to pump.plus, 0.4 m, red
  back from pump.minus to house.minus, 0.4 m
}
wire lamp_feed from house.plus to lamp.plus, 14 AWG, 2 m
connector plug { pin 1 { 10 A }; pin 2 { 10 A } }
state noon { pump on; house at 60 % }
state night { lamp on }
require run pump for 4 h
procedure { store for 6 months; connect in order house, pump }
waive far-fuse on feed up to 0.4 m because "short" until 2030-01-01
never together pump, lamp
"""
FILES = {"published/box.rig": BASE, "published/shelf.rig": SHELF}
HEAD = 'rig "Mine", revision 1\nadapts "published/box.rig" revision 4.0\n'


def adapted(text: str, base: str = BASE) -> str:
    """Return the text of an adaptation, and check that it reads."""
    build_of(HEAD + text, {**FILES, "published/box.rig": base})
    return HEAD + text


def test_everything_that_is_not_changed_is_as_published() -> None:
    build = build_of(HEAD, FILES)
    published = build_of(BASE, FILES, "published/box.rig")
    assert build.parts == published.parts
    assert build.runs == published.runs
    assert build.states == published.states
    assert build.rig.name == "Mine"
    assert build.rig.facts["basis"].value == "us-small-craft"
    assert "author" not in build.rig.facts


def test_a_change_replaces_and_stands_at_its_own_line() -> None:
    build = build_of(HEAD + "change feed { 6 AWG; 0.9 m }\n", FILES)
    (feed,) = [run.conductor for run in build.runs if run.name == "feed"]
    assert feed.gauge is not None and feed.length is not None
    assert (feed.gauge.text, feed.length.nominal, feed.colour, feed.metal) == ("6 AWG", 0.9, "red", "copper")
    assert feed.span == ("build.rig", 3, 1, 3, 12)
    fact = feed.fact(Conductor.length)
    assert fact is not None and fact.origin == "changed"


@pytest.mark.parametrize(
    "words",
    [
        "change house { bms { charge at most 20 A } }",
        "change battery house { bms { charge at most 20 A } }",
        'change house, bms per "sheet"',
    ],
)
def test_the_kind_may_stand_before_the_name(words: str) -> None:
    house = build_of(HEAD + words, FILES).parts["house"]
    assert isinstance(house, Battery)
    assert house.bms is None or (house.bms.charge_current_limit is not None and house.bms.charge_current_limit.nominal == 20.0)
    assert house.capacity is not None


def test_a_state_that_shares_its_name_with_a_part() -> None:
    build = build_of(HEAD + "change state noon { house at 40 % }\nchange noon { 4 W }\n", FILES)
    levels = next(state for state in build.states if state.name == "noon").levels
    assert levels is not None and [level.level.nominal for level in levels] == [0.6, 0.4]  # the later one counts
    assert build.parts["noon"].facts["power"].value.nominal == 4.0


def test_another_library_part_in_its_place() -> None:
    house = build_of(HEAD + 'parts from "published/shelf.rig"\nchange house same as small\n', FILES).parts["house"]
    assert isinstance(house, Battery)
    assert (house.chemistry, house.bms) == ("AGM", None)


LOST = [
    ("change feeed { 1 m }", "The published build has no 'feeed' that could be changed."),
    ("remove feeed", "The published build has no 'feeed' that could be changed."),
    ("change fuse feed { 1 m }", "In the published build 'feed' is a wire, not a fuse."),
    ("change state dusk { lamp on }", "The published build has no state 'dusk' that could be changed."),
    ("change lamp { motor }", "The published build has nothing of 'lamp' that this changes: motor."),
    (
        "change lamp { works on 10 V to 15 V }",
        "The published build has nothing of 'lamp' that this changes: works on 10 V to 15 V.",
    ),
    (
        "change house { bms { own drain 1 mA } }",
        "The published build has nothing of 'house' that this changes: own drain 1 mA.",
    ),
    ("change plug { pin 3 { 5 A } }", "The published build has nothing of 'plug' that this changes: pin 3."),
    ("change plug { pin 1 { plus } }", "The published build has nothing of 'plug' that this changes: plus."),
]


@pytest.mark.parametrize(("words", "message"), LOST)
def test_a_change_of_what_is_not_there(words: str, message: str) -> None:
    (problem,) = problems_of(HEAD + words, FILES)
    assert (problem.rule, problem.span.path, problem.span.line) == ("lost-property", "build.rig", 3)
    assert problem.message == message


@pytest.mark.parametrize(
    "words",
    [
        "change feed { 6 AWG }",  # said by its group
        "change feed { tinned copper }",  # said by a default
        "change house { 50 Ah }",  # said by its library part
        "change plug { pin 1 { 5 A } }",
        "change state night { pump on; 5 degC }".replace("; 5 degC", ""),
        "change site { record low -30 degC }",
        "change procedure { store for 3 months }",
    ],
)
def test_a_change_of_what_is_there(words: str) -> None:
    adapted(words)


def test_what_is_new_is_added() -> None:
    build = build_of(
        HEAD
        + "add to lamp { motor }\nadd to house { heater; bms { own drain 1 mA } }\nadd to connector plug { pin 3 { 5 A } }\n",
        FILES,
    )
    assert build.parts["lamp"].facts["motor"].value is True
    house = build.parts["house"]
    assert isinstance(house, Battery)
    assert (
        house.heater
        and house.bms is not None
        and house.bms.own_drain is not None
        and house.bms.charge_current_limit is not None
    )
    assert [pin.name for pin in build.parts["plug"].facts["pins"].value] == ["1", "2", "3"]


def test_what_was_published_meanwhile_is_not_added_silently() -> None:
    (problem,) = problems_of(HEAD + "add to lamp { 12 W }\n", FILES)
    assert (problem.rule, problem.related[0].span.path, problem.related[0].span.line) == ("said-twice", "published/box.rig", 8)
    assert problem.remedy == "Write: change lamp { 12 W }"


def test_what_is_removed_is_not_built() -> None:
    build = build_of(
        HEAD
        + 'remove lamp, lamp_feed\nremove state night\nremove require "run pump for 4 h"\n'.replace('require "', '"').replace(
            "never", ""
        ),
        {**FILES, "published/box.rig": BASE.replace("never together pump, lamp\n", "")},
    )
    assert "lamp" not in build.parts
    assert [state.name for state in build.states] == ["noon"]
    assert not list(build.of(Requirement))


def test_what_still_names_a_removed_thing_is_told() -> None:
    problems = problems_of(HEAD + "remove lamp\n", FILES)
    assert {problem.rule for problem in problems} == {"unknown-name"}
    assert all("lamp" in problem.message for problem in problems)


def test_a_state_said_again_takes_the_published_ones_place() -> None:
    build = build_of(HEAD + "state noon { lamp on }\n", FILES)
    noon = next(state for state in build.states if state.name == "noon")
    assert noon.settings is not None and [setting.things for setting in noon.settings] == [("lamp",)]
    assert noon.levels is None


def test_the_site_is_laid_over_the_published_one() -> None:
    site = build_of(HEAD + "site { record low -30 degC }\n", FILES).one(Site)
    assert site is not None and site.record_low is not None and site.ambient is not None
    assert (site.record_low.nominal, site.ambient.low) == (-30.0, -12.0)


def test_defaults_of_an_adaptation_win_over_published_defaults() -> None:
    build = build_of(HEAD + "all wires { tinned copper }\n", FILES)
    assert {run.conductor.metal for run in build.runs} == {"tinned copper"}


def test_waivers_do_not_carry_over() -> None:
    build = build_of(HEAD + 'waive far-fuse on back up to 0.4 m because "mine" until 2030-01-01\n', FILES)
    assert [waiver.on for waiver in build.waivers] == [("back",)]
    assert build.adapted is not None and [waiver.on for waiver in build.adapted.waivers] == [("feed",)]


def test_the_base_is_known_by_revision_and_hash_of_all_that_it_reads() -> None:
    adapted_from = build_of(HEAD, FILES).adapted
    assert adapted_from is not None
    wanted = hashlib.sha256((BASE + SHELF).encode()).hexdigest()
    assert (adapted_from.revision_said, adapted_from.revision_found, adapted_from.hash_said, adapted_from.hash_found) == (
        "4.0",
        "4.0",
        "",
        wanted,
    )
    assert adapted_from.files == ("published/box.rig", "published/shelf.rig")
    said = build_of(f'rig "Mine"\nadapts "published/box.rig" revision 4.0 hash "{wanted}"\n', FILES).adapted
    assert said is not None and said.hash_said == said.hash_found
    dos = build_of(HEAD, {name: text.replace("\n", "\r\n") for name, text in FILES.items()}).adapted
    assert dos is not None and dos.hash_found == wanted


def test_an_adaptation_of_an_adaptation() -> None:
    files = {
        **FILES,
        "mine.rig": HEAD + "change feed { 6 AWG }\nremove lamp, lamp_feed\nremove state night\n",
        "published/box.rig": BASE.replace("never together pump, lamp\n", ""),
    }
    build = build_of('rig "Yours"\nadapts "mine.rig"\nchange back { 6 AWG }\n', files)
    assert {run.conductor.gauge.text for run in build.runs if run.conductor.gauge} == {"6 AWG"}
    assert "lamp" not in build.parts


@pytest.mark.parametrize(
    ("text", "files", "rule"),
    [
        ('rig "A"\nadapts "build.rig"\n', {}, "circle-of-files"),
        ('rig "A"\nadapts "b.rig"\n', {"b.rig": 'rig "B"\nadapts "build.rig"\n'}, "circle-of-files"),
        ('rig "A"\nadapts "b.rig"\n', {}, "file-not-read"),
        ('rig "A"\nadapts "../b.rig"\n', {}, "file-not-read"),
        ('rig "A"\nchange feed { 1 m }\n', {}, "lost-property"),
        ('rig "A"\nremove feed\n', {}, "lost-property"),
    ],
)
def test_bases_that_cannot_be_had(text: str, files: dict[str, str], rule: str) -> None:
    assert rule in [problem.rule for problem in problems_of(text, files)]


def test_mistakes_of_a_base_are_its_own() -> None:
    found = resolved(HEAD, {**FILES, "published/box.rig": BASE + "load l 5\n"})
    assert found.problems == ()
    assert [problem.span.path for problem in found.library_problems] == ["published/box.rig"]


@pytest.mark.parametrize("words", ["change", "change { 1 m }", "remove", "add to", "add to { 1 m }"])
def test_words_of_an_adaptation_that_are_not_complete(words: str) -> None:
    assert [line for _, line in told(HEAD + words)] == [3] or told(HEAD + words, FILES)[0][1] == 3
