"""What becomes of findings, margins, checks and requirements; two files compared whatever they are called."""

from __future__ import annotations

from typing import Any

import pytest
from ohmwright.comparing import outcomes
from ohmwright.comparing.wording import moves_in_words, promise_in_words

NEAR = "17 A"  # a warning of the invented pack; up to 16 A passes


@pytest.fixture(autouse=True)
def bench(sample_installed: Any) -> None:
    """The invented pack in place of the installed ones."""


def told(document: dict[str, Any]) -> list[tuple[str, str, str, str]]:
    return [
        (change["change"], f"{item['rule']}.{item['grade']}", item["subject"][0], item["severity"])
        for build in document["builds"]
        for change in build["findings"]
        for item in [change["new"] or change["old"]]
    ]


def two(put: Any, kit: Any, old: tuple[str, str], new: tuple[str, str]) -> None:
    put({"old.rig": kit.bench.replace(*old), "new.rig": kit.bench.replace(*new)})


@pytest.mark.parametrize(
    ("old", "new", "changes", "code"),
    [
        ("10 A", "25 A", ["new"], 1),
        ("25 A", "10 A", ["gone"], 0),
        ("25 A", "26 A", ["worse"], 1),
        ("26 A", "25 A", ["better"], 0),
        ("25 A", "25 A", [], 0),
        ("10 A", "12 A", [], 0),
    ],
)
def test_findings(put: Any, kit: Any, compared: Any, old: str, new: str, changes: list[str], code: int) -> None:
    two(put, kit, ("25 A", old), ("25 A", new))
    found = told(compared("old.rig", "new.rig", code=code))
    assert sorted({change for change, *_ in found}) == changes
    assert {subject for *_, subject, _ in found} == ({"feed", "back"} if changes else set())


def test_what_passed_before_and_what_holds_now_is_told(put: Any, kit: Any, compared: Any) -> None:
    two(put, kit, ("25 A", "10 A"), ("25 A", "25 A"))
    (change, _) = compared("old.rig", "new.rig")["builds"][0]["findings"]
    assert change["passed_before"]["measured"] == {"value": 10.0, "unit": "A"}
    (change, _) = compared("new.rig", "old.rig")["builds"][0]["findings"]
    assert (change["why"], change["passes_now"]["margin"]) == ("it holds now", 0.5)


@pytest.mark.parametrize(("bar", "code"), [("error", 0), ("warning", 1), ("note", 1)])
def test_bar(put: Any, kit: Any, compared: Any, bar: str, code: int) -> None:
    """The invented limit of length rests on memory, so that it is a warning."""
    two(put, kit, ("25 A", "5 A"), ("25 A", "5 A"))
    put({"new.rig": kit.bench.replace("25 A", "5 A").replace("0.6 m }\nwire back", "3 m }\nwire back")})
    found = told(compared("old.rig", "new.rig", "--bar", bar, code=code))
    assert found == [("new", "long-wire.over", "feed", "warning")]


@pytest.mark.parametrize(("options", "code"), [((), 0), (("--bar", "warning"), 1), (("--require-checked",), 1)])
def test_a_datum_that_is_taken_out_makes_nothing_gone(
    put: Any, kit: Any, compared: Any, options: tuple[str, ...], code: int
) -> None:
    quiet = kit.bench.replace("25 A", "5 A")
    put(
        {
            "old.rig": quiet.replace("0.6 m }\nwire back", "3 m }\nwire back"),
            "new.rig": quiet.replace("; 0.6 m }\nwire back", " }\nwire back"),
        }
    )
    document = compared("old.rig", "new.rig", *options, code=code)
    (build,) = document["builds"]
    assert [(item["rule"], item["subject"], item["missing"], item["was"]) for item in build["unchecked"]] == [
        ("long-wire", ["feed"], "length", "found")
    ]
    assert [change["why"] for change in build["findings"] if change["change"] == "gone"] == [
        "it can no longer be checked, for want of length"
    ]


def test_a_part_that_is_gone_takes_its_finding_with_it(put: Any, kit: Any, compared: Any) -> None:
    more = (
        kit.bench.replace("25 A", "5 A")
        + "load fan 25 A\nwire a from house.plus to fan.plus { 6 AWG; 0.6 m }\nwire b from fan.minus to house.minus { 6 AWG; 0.6 m }\n"
    )
    put({"old.rig": more, "new.rig": kit.bench.replace("25 A", "5 A")})
    (build,) = compared("old.rig", "new.rig", code=0)["builds"]
    assert {(change["old"]["subject"][0], change["why"]) for change in build["findings"]} == {
        ("a", "a is gone"),
        ("b", "b is gone"),
    }
    assert [(thing["change"], thing["name"]) for thing in build["things"]] == [
        ("removed", "fan"),
        ("removed", "a"),
        ("removed", "b"),
    ]


def test_a_finding_of_a_renamed_part_is_the_same(put: Any, kit: Any, compared: Any) -> None:
    put({"old.rig": kit.bench, "new.rig": kit.bench.replace("wire feed", "wire supply")})
    (build,) = compared("old.rig", "new.rig", code=0)["builds"]
    assert build["findings"] == []
    assert [(thing["change"], thing["old_name"], thing["name"]) for thing in build["things"]] == [("renamed", "feed", "supply")]


def test_margins_that_moved(put: Any, kit: Any, compared: Any) -> None:
    two(put, kit, ("25 A", "5 A"), ("25 A", "12 A"))
    (build,) = compared("old.rig", "new.rig", code=0)["builds"]
    rows = [(move["subject"], move["old"]["margin"], move["new"]["margin"]) for move in build["margins"]]
    assert rows == [(["back"], 0.75, 0.4), (["feed"], 0.75, 0.4)]


def test_margin_that_hardly_moved_is_not_told(put: Any, kit: Any, compared: Any) -> None:
    two(put, kit, ("25 A", "5 A"), ("25 A", "5.1 A"))
    (build,) = compared("old.rig", "new.rig", code=0)["builds"]
    assert build["margins"] == []
    assert [row["now"] for thing in build["things"] for row in thing["properties"]] == ["5.1 A"]


def test_margins_in_words(put: Any, kit: Any, command: Any) -> None:
    two(put, kit, ("25 A", "5 A"), ("25 A", "12 A"))
    ran = command("compare", "old.rig", "new.rig")
    assert "back, feed: now at 60 % of the limit of warm-wire.over (12 A), was 25 %" in " ".join(ran.out.split())
    assert "lamp (load): 5 A to 12 A" in ran.out


def test_requirements_that_flip(kit: Any) -> None:
    light = kit.bench.replace("25 A", "5 A") + "require weigh at most 15 kg\n"
    (old,) = kit.inspect(light).builds
    (new,) = kit.inspect(light.replace("15 kg", "10 kg")).builds
    changes = list(outcomes.compared_promises(old, new))
    assert [promise_in_words(change) for change in changes] == [
        "weigh at most 10 kg: new, broken (12 kg against 10 kg)", "weigh at most 15 kg: taken out, was met (12 kg against 15 kg)",
    ]  # fmt: skip
    assert list(outcomes.compared_promises(old, old)) == []


def test_no_margin_moves_where_nothing_does(kit: Any) -> None:
    (build,) = kit.inspect(kit.bench).builds
    stands = outcomes.stands(build, {})
    assert list(moves_in_words(outcomes.moved_margins(stands, stands, frozenset(), lambda name: ""))) == []


def test_unreadable_new_side_is_no_clean_one(put: Any, kit: Any, compared: Any) -> None:
    put({"old.rig": kit.bench, "new.rig": kit.bench.replace("load lamp 25 A", "load lamp 25 qq")})
    document = compared("old.rig", "new.rig", code=2)
    assert document["builds"][0]["partial"]
    compared("new.rig", "old.rig", code=1)  # the other way round the text is mended, and what it hid is new
