"""Builds that are made to take for ever or to fill the memory get an answer at their place, in time, whatever they do."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from hostile.attacking import BUILD, Repository
from hostile.bombs import BOMBS, EXTREMES, TEXTS

BUDGET = "2,250"  # seconds of the processor (watched.py sees to that) and megabytes: below what is allowed by as much as starting and writing take
MOST_WRITTEN = 100_000_000  # letters: a build of two hundred kilobytes may have hundreds of thousands of outcomes

# What must be said of some: the rule and words of the message. Of the others an answer is enough: on a quick machine they are read in full.
SAID = {
    "a row of a million packs": ("over-limit", "more than 50,000 things"),
    "a row of as many packs as a number can say": ("over-limit", "5,000 letters"),
    "ten times ten times ten, six deep": ("over-limit", "more than 50,000 things"),
    "a chain of a thousand libraries": ("over-limit", "more than 30 deep"),
    "a hundred builds that adapt each other in a row": ("over-limit", "more than 30 deep"),
    "a title of two megabytes": ("over-limit", "1,900,002 letters"),
    "a quoted name of two megabytes": ("over-limit", "letters"),
    "a path of two megabytes": ("over-limit", "letters"),
    "a word of two megabytes": ("over-limit", "1,900,000 letters"),
    "a number of two megabytes": ("over-limit", "1,900,000 letters"),
    "blocks nested sixty-five deep": ("over-limit", "deeper than 64"),
    "a hundred thousand open blocks": ("over-limit", "deeper than 64"),
    "a connector of a hundred thousand pins": ("over-limit", ""),
    "a cable of fifty thousand cores": ("over-limit", ""),
    "a fuse block of a thousand million ways": ("senseless-value", "ways"),
}


def test_what_must_be_said_is_said_of_bombs_that_there_are() -> None:
    assert set(SAID) <= set(BOMBS)


@pytest.mark.parametrize("name", BOMBS)
def test_bomb(repository: Repository, name: str) -> None:
    for path, text in BOMBS[name]().items():
        repository.write(path, text)
    answer = repository.inspect(budget=BUDGET)
    assert len(answer.out) < MOST_WRITTEN
    build = answer.builds()["box.rig"]
    found = answer.text_findings()
    assert build["partial"] or answer.code in (0, 1)
    assert all(item["span"]["line"] >= 1 and item["message"] for item in found)
    if answer.code == 2:
        assert found or '"errors": []' not in answer.out
    rule, words = SAID.get(name, ("", ""))
    if rule:
        assert any(item["rule"] == rule and words in item["message"] for item in found), [item["message"] for item in found[:3]]


def test_values_at_the_ends_of_what_a_number_can_hold(repository: Repository) -> None:
    for path, text in EXTREMES.items():
        repository.write(path, text)
    answer = repository.inspect(".", budget=BUDGET)
    assert len(answer.builds()) == len(EXTREMES)
    assert answer.code in (1, 2)
    repository.run("solve", ".", "--output", "json", budget=BUDGET)


@pytest.mark.parametrize("command", ["solve", "size", "tidy"])
@pytest.mark.parametrize(
    "name",
    [
        "two times two, fifty deep",
        "two megabytes of commas",
        "four thousand states of sixty parts",
        "a mesh of two hundred nodes, each joined with each",
    ],
)
def test_other_commands(repository: Repository, command: str, name: str) -> None:
    for path, text in BOMBS[name]().items():
        repository.write(path, text)
    answer = repository.run(command, "box.rig", *(("--check",) if command == "tidy" else ()), budget=BUDGET)
    assert len(answer.out) + len(answer.err) < MOST_WRITTEN


@pytest.mark.parametrize(
    "name",
    [
        "two times two, fifty deep",
        "two megabytes of pairs of braces",
        "forty libraries of two megabytes",
        "twenty thousand wires between the same two ends",
        "everything the same as the next, ten thousand long",
    ],
)
def test_comparison(repository: Repository, name: str) -> None:
    """A change that brings a bomb, and one that takes it away; both sides are read and inspected, each within its budget."""
    for path, text in BOMBS[name]().items():
        repository.write(f"bomb/{path}", text)
    repository.write("plain/box.rig")
    for old, new, codes in (("plain", "bomb", (0, 1, 2)), ("bomb", "plain", (0, 1))):
        answer = repository.run("compare", f"{old}/box.rig", f"{new}/box.rig", budget="1,250")
        assert answer.code in codes, answer.err
        assert "box.rig: Bench" in answer.out or "over-limit" in answer.out, answer.err
        assert len(answer.out) + len(answer.err) < MOST_WRITTEN


@pytest.mark.parametrize("old", [True, False])
def test_comparison_of_a_library_that_is_a_bomb(repository: Repository, old: bool) -> None:
    """What is too much to be compared is told as a change of the judgement, or the run is no clean one."""
    bomb = "fuse small { 15 A blade }\n" + TEXTS["two megabytes of pairs of braces"].removeprefix(BUILD)
    for folder, library in (("bomb", bomb), ("plain", "fuse small { 15 A blade }\n")):
        repository.write(f"{folder}/box.rig", BUILD + 'parts from "shelf.rig"\n')
        repository.write(f"{folder}/shelf.rig", library)
    sides = ("bomb", "plain") if old else ("plain", "bomb")
    answer = repository.run("compare", *sides, "--bar-judgement", budget="0.5,250")
    assert answer.code == (1 if old else 2), answer.err
    words = " ".join(answer.out.split())
    assert ("too much to be compared within the budget" if old else "shelf.rig") in words


@pytest.mark.parametrize("output", ["text", "sarif", "github", "markdown", "junit", "gitlab"])
def test_what_is_written_is_bounded(repository: Repository, output: str) -> None:
    """Thousands of mistakes, and names as long as they may be, told in every output."""
    long = "l" * 1000
    wires = "".join(f"wire {long[:900]}{number} from house.plus to {long}{number}.plus\n" for number in range(300))
    repository.write("box.rig", BOMBS["numbers without sense in every field"]()["box.rig"] + wires)
    answer = repository.run("inspect", "box.rig", "--output", output, budget=BUDGET)
    assert answer.code == 2
    assert len(answer.out) < MOST_WRITTEN


def test_every_state_that_switches_can_make(repository: Repository) -> None:
    repository.write("box.rig", BOMBS["a hundred switches, every combination"]()["box.rig"])
    answer = repository.inspect("box.rig", "--states", "reached", budget=BUDGET)
    assert answer.code in (1, 2)
    assert answer.builds()["box.rig"]["not_reached"] > 0


def test_many_bombs_at_once(repository: Repository) -> None:
    """One that runs out leaves the others alone, and what each held is given back."""
    names = [
        "two megabytes of commas",
        "two megabytes of pairs of braces",
        "blocks nested sixty-five deep",
        "a chain of a thousand libraries",
    ]
    for number, name in enumerate(names):
        for path, text in BOMBS[name]().items():
            repository.write(f"b{number}/{path}", text)
    repository.write("good.rig")
    answer = repository.inspect("good.rig", *(f"b{number}/box.rig" for number in range(len(names))), budget="0.8,300")
    assert answer.code == 2
    builds = answer.builds()
    assert not builds["good.rig"]["partial"]
    assert all(builds[f"b{number}/box.rig"]["partial"] for number in range(len(names)))
