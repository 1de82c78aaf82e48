"""What changes the judgement, as a class of its own: waivers, settings, exclusions, baselines, libraries, packs, whatever runs the review."""

from __future__ import annotations

import json
from typing import Any

import pytest

WAIVE = 'waive warm-wire on feed up to 26 A because "agreed" until 2026-06-01\n'


@pytest.fixture(autouse=True)
def bench(sample_installed: Any) -> None:
    """The invented pack in place of the installed ones."""


def told(document: dict[str, Any]) -> list[tuple[str, str, str, str]]:
    return [(item["kind"], item["effect"], item["was"] or "", item["now"] or "") for item in document["judgement"]]


def both(commit: Any, old: dict[str, str], new: dict[str, str | None]) -> None:
    commit(old)
    commit(new, "pr")


# waivers -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "effect"),
    [
        ("", WAIVE, "looser"),
        (WAIVE, "", "tighter"),
        (WAIVE, WAIVE.replace("26 A", "30 A"), "looser"),
        (WAIVE, WAIVE.replace("26 A", "25.5 A"), "tighter"),
        (WAIVE, WAIVE.replace("06-01", "07-01"), "looser"),
        (WAIVE, WAIVE.replace("06-01", "05-01"), "tighter"),
        (WAIVE.replace("warm-wire on", "warm-wire.over on"), WAIVE, "looser"),
        (WAIVE, WAIVE.replace("warm-wire on", "warm-wire.over on"), "tighter"),
        (WAIVE, WAIVE.replace("on feed", "on feed, back"), "looser"),
        (WAIVE.replace("on feed", "on feed, back"), WAIVE, "tighter"),
        (WAIVE, WAIVE.replace("on feed", "on back"), "looser"),
        (WAIVE.replace("2026-06-01", "2025-12-31"), WAIVE, "looser"),  # one that has expired excuses nothing
        (WAIVE, WAIVE.replace("agreed", "because I say so"), None),
        (WAIVE, WAIVE.replace("26 A", "26000 mA"), None),
        ("", WAIVE.replace('because "agreed" ', ""), None),  # it excuses nothing without a reason
        ("", WAIVE.replace("2026-06-01", "2025-06-01"), None),
    ],
)
def test_waivers(kit: Any, commit: Any, compared: Any, old: str, new: str, effect: str | None) -> None:
    both(commit, {"box.rig": kit.bench + old}, {"box.rig": kit.bench + new})
    found = [item for item in told(compared("main..pr")) if item[0] == "waiver"]
    assert [item[1] for item in found if item[1] == "looser"] == (["looser"] if effect == "looser" else [])
    assert bool(found) == (effect is not None)
    if effect == "tighter":
        assert {item[1] for item in found} == {"tighter"}


@pytest.mark.parametrize(("new", "code"), [(WAIVE, 1), (WAIVE.replace("26 A", "30 A"), 1), ("", 0)])
def test_bar_of_the_judgement(kit: Any, commit: Any, compared: Any, new: str, code: int) -> None:
    both(commit, {"box.rig": kit.bench}, {"box.rig": kit.bench + new})
    compared("main..pr", "--bar-judgement", code=code)
    compared("main..pr", code=0)


ACCEPT = '[[accepted]]\nbuild = "{build}"\nwaiver = \'{waiver}\'\nbecause = "the club agreed"\n'


@pytest.mark.parametrize(
    ("build", "waiver", "code"),
    [
        ("box.rig", "warm-wire on feed up to 26 A until 2026-06-01", 0),
        ("box.rig", "waive warm-wire on feed up to 26 A until 2026-06-01", 0),
        ("*.rig", "warm-wire on back, feed up to 30 A until 2027-01-01", 0),
        ("other.rig", "warm-wire on feed up to 26 A until 2026-06-01", 1),
        ("box.rig", "warm-wire on back up to 26 A until 2026-06-01", 1),
        ("box.rig", "warm-wire on feed up to 25.5 A until 2026-06-01", 1),
        ("box.rig", "warm-wire on feed up to 26 A until 2026-05-01", 1),
        ("box.rig", "warm-wire on feed until 2026-06-01", 1),  # no value is no leave for any value
        ("box.rig", "long-wire on feed up to 26 A until 2026-06-01", 1),
    ],
)
def test_settings_of_the_target_branch_accept_a_named_waiver(
    kit: Any, commit: Any, compared: Any, build: str, waiver: str, code: int
) -> None:
    accept = ACCEPT.format(build=build, waiver=waiver)
    both(commit, {"box.rig": kit.bench, "ohmwright.toml": accept}, {"box.rig": kit.bench + WAIVE})
    (item,) = compared("main..pr", "--bar-judgement", code=code)["judgement"]
    assert item["accepted"] == ("the club agreed" if code == 0 else None)
    assert item["stops"] is bool(code)


def test_the_lines_that_are_offered_accept_it(kit: Any, commit: Any, compared: Any, put: Any, git: Any) -> None:
    quoted = WAIVE.replace("on feed", 'on "long feed"')
    text = kit.bench.replace("wire feed", 'wire "long feed"')
    both(commit, {"box.rig": text}, {"box.rig": text + quoted})
    (item,) = compared("main..pr", "--bar-judgement", code=1)["judgement"]
    put({"accepting.toml": item["remedy"].replace("…", "seen")})
    assert compared("main..pr", "--bar-judgement", "--settings", "accepting.toml", code=0)["judgement"][0]["accepted"] == "seen"


def test_a_change_cannot_accept_its_own_waiver(kit: Any, commit: Any, compared: Any) -> None:
    accept = ACCEPT.format(build="box.rig", waiver="warm-wire on feed up to 26 A until 2026-06-01")
    both(commit, {"box.rig": kit.bench}, {"box.rig": kit.bench + WAIVE, "ohmwright.toml": accept})
    document = compared("main..pr", "--bar-judgement", code=1)
    assert [(item["kind"], item["effect"], item["stops"]) for item in document["judgement"]] == [
        ("waiver", "looser", True),
        ("accepted", "looser", True),
    ]


@pytest.mark.parametrize(
    ("waiver", "words"),
    [
        ("warm-wire", "The waiver does not say the thing that it is on and its last day."),
        ("warm-wire on feed up to 26 qq until 2026-06-01", "Nothing of waive warm-wire is said in these words: 'qq until'."),
        ("a on b until 2026-01-01; waive c on d until 2026-01-01", "This is not one waiver."),
        ('rig "x"', "Nothing of waive rig is said in these words"),
    ],
)
def test_acceptance_that_cannot_be_used_is_told_at_its_place(kit: Any, command: Any, put: Any, waiver: str, words: str) -> None:
    put({"box.rig": kit.bench, "ohmwright.toml": ACCEPT.format(build="box.rig", waiver=waiver)})
    ran = command("inspect", "box.rig")
    assert ran.code == 2
    assert "ohmwright.toml line 3 column 10: " in ran.err
    assert words in ran.err


# settings ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ('bar = "warning"', 'bar = "error"', ("setting", "looser", "warning", "error")),
        ("", 'bar = "note"', ("setting", "tighter", "error", "note")),
        ("require-checked = true", "", ("setting", "looser", "true", "false")),
        ('states = "reached"', "", ("setting", "looser", "reached", "declared")),
        ("", 'basis = "iec"', ("setting", "changed", "", "iec")),
        ("", 'site = "ambient 5 degC to 20 degC"', ("setting", "changed", "", "ambient 5 degC to 20 degC")),
        ("", '[[left-out]]\npath = "drafts"\nbecause = "x"', ("exclusion", "looser", "", "left out, because x")),
        ('[[left-out]]\nfamily = "invented"\nbecause = "x"', "", ("exclusion", "tighter", "left out, because x", "")),
        ("", '[[grades]]\ngrade = "warm-wire.over"\nseverity = "note"\nbecause = "x"', ("grade", "looser", "error", "note, because x")),
        ("", '[[grades]]\ngrade = "warm-wire.near"\nseverity = "error"\nbecause = "x"', ("grade", "tighter", "warning", "error, because x")),
        ('[[grades]]\ngrade = "warm-wire.over"\nseverity = "off"\nbecause = "x"', "", ("grade", "tighter", "off", "error")),
        ("", '[output]\nformat = "json"', None),
        ("", "# a note", None),
    ],
)  # fmt: skip
def test_settings(kit: Any, commit: Any, compared: Any, old: str, new: str, expected: tuple[str, str, str, str] | None) -> None:
    both(commit, {"box.rig": kit.bench, "ohmwright.toml": old}, {"ohmwright.toml": new})
    document = compared("main..pr", "--bar-judgement", code=1 if expected and expected[1] != "tighter" else 0)
    assert told(document) == ([expected] if expected else [])


def test_both_sides_are_judged_on_the_terms_of_the_old_one(kit: Any, commit: Any, compared: Any) -> None:
    """The change switches off what it breaks, leaves its build out, and adds settings nearer to it: none of it has a say."""
    quiet = kit.bench.replace("25 A", "5 A")
    for name, settings in (
        ("ohmwright.toml", '[[grades]]\ngrade = "warm-wire.over"\nseverity = "off"\nbecause = "x"'),
        ("ohmwright.toml", '[[left-out]]\npath = "boats"\nbecause = "x"'),
        ("boats/ohmwright.toml", '[[left-out]]\nfamily = "invented"\nbecause = "x"'),
        ("boats/pyproject.toml", '[[tool.ohmwright.left-out]]\nfamily = "invented"\nbecause = "x"'),
    ):
        commit({"boats/box.rig": quiet})
        commit({"boats/box.rig": kit.bench, name: settings}, "pr")
        document = compared("main..pr", "--bar-judgement", code=1)
        assert [change["change"] for change in document["builds"][0]["findings"]] == ["new", "new"], name
        assert [item["stops"] for item in document["judgement"]] == [True], name


def test_new_settings_that_cannot_be_read_are_said(kit: Any, commit: Any, compared: Any) -> None:
    both(commit, {"box.rig": kit.bench}, {"ohmwright.toml": "bar = 3"})
    document = compared("main..pr", code=2)
    assert document["judgement"][0]["about"] == "settings that cannot be used"


def test_old_settings_that_cannot_be_read_end_it(kit: Any, commit: Any, command: Any) -> None:
    both(commit, {"box.rig": kit.bench, "ohmwright.toml": "bar = 3"}, {"ohmwright.toml": ""})
    ran = command("compare", "main..pr")
    assert (ran.code, ran.out) == (2, "")
    assert "main: ohmwright.toml line 1 column 7: 'bar' takes a text" in ran.err


# baselines ---------------------------------------------------------------------------------------------------------


def test_baseline_entries(kit: Any, commit: Any, compared: Any, command: Any, put: Any) -> None:
    put({"box.rig": kit.bench, "ohmwright.toml": 'baseline = "known.json"'})
    assert command("inspect", "box.rig", "--write-baseline", "--today", "2026-01-01").code == 0
    with open("known.json", encoding="utf-8") as stream:
        whole = stream.read()
    rows = json.loads(whole)["entries"]
    one = whole.replace("  " + json.dumps(rows[0]) + ",\n", "")
    assert one != whole
    more = kit.bench.replace("25 A", "27 A")
    commit({"box.rig": kit.bench, "known.json": one})
    commit({"known.json": whole, "held.txt": whole}, "pr")
    assert len(told(compared("main..pr", "--bar-judgement", code=1))) == 1 + len(rows)  # whatever it is called
    commit({"known.json": whole}, "pr")
    assert [(kind, effect) for kind, effect, *_ in told(compared("main..pr", "--bar-judgement", code=1))] == [
        ("baseline", "looser")
    ]
    compared(
        "pr..main", "--bar-judgement", code=0
    )  # taking one out tightens; the finding that it held is no new one on the terms of pr
    put({"box.rig": more})
    assert command("inspect", "box.rig", "--write-baseline", "--today", "2026-01-01").code == 0
    with open("known.json", encoding="utf-8") as stream:
        wider = stream.read()
    commit({"box.rig": kit.bench, "known.json": whole}, "kept")
    commit({"box.rig": kit.bench, "known.json": wider}, "wider")
    found = [(kind, effect) for kind, effect, *_ in told(compared("kept..wider"))]
    assert found == [("baseline", "looser"), ("baseline", "looser")]


def test_what_the_baseline_of_the_old_side_holds_is_not_new_and_what_outgrew_it_is_worse(
    kit: Any, commit: Any, compared: Any, command: Any, put: Any
) -> None:
    put({"box.rig": kit.bench, "ohmwright.toml": 'baseline = "known.json"'})
    assert command("inspect", "box.rig", "--write-baseline", "--today", "2026-01-01").code == 0
    commit({})
    commit({"box.rig": kit.bench.replace("revision 1", "revision 2")}, "same")
    assert compared("main..same", code=0)["builds"][0]["findings"] == []
    commit({"box.rig": kit.bench.replace("25 A", "26 A")}, "worse")
    (build,) = compared("main..worse", code=1)["builds"]
    assert {change["change"] for change in build["findings"] if change["new"]["rule"] == "warm-wire"} == {"worse"}
    commit({"box.rig": None, "cabin.rig": kit.bench.replace("wire feed", "wire supply")}, "moved")
    (build,) = compared("main..moved", code=0)["builds"]
    assert (build["change"], build["old_path"], build["path"], build["findings"]) == ("renamed", "box.rig", "cabin.rig", [])


# libraries, packs, the review ----------------------------------------------------------------------------------------

SHELF = "fuse small { 20 A; breaks 1 kA at 32 V; red label }\nall fuses { blade }\n".replace("; red label", "")
USER = 'rig "Box", revision 1\nparts from "shelf.rig"\nbattery house { LFP, 4 cells, 100 Ah }\nfuse main same as small\nload lamp 5 A\nwire feed from house.plus to main.line { 6 AWG; 0.5 m }\nwire out from main.load to lamp.plus { 6 AWG; 0.5 m }\nwire back from lamp.minus to house.minus { 6 AWG; 0.5 m }\n'  # fmt: skip


@pytest.mark.parametrize(
    ("new", "expected"),
    [
        (SHELF.replace("1 kA", "20 kA"), [("library", "changed", "breaks 1 kA at 32 V", "breaks 20 kA at 32 V")]),
        (SHELF.replace("blade", "class T"), [("library", "changed", "blade", "class T")]),
        (SHELF + "fuse large 200 A\n", []),
        (SHELF.replace("20 A", "20000 mA"), []),
        ("# a note\n" + SHELF, []),
    ],
)
def test_ratings_in_a_library(commit: Any, compared: Any, new: str, expected: list[tuple[str, str, str, str]]) -> None:
    both(commit, {"box.rig": USER, "shelf.rig": SHELF}, {"shelf.rig": new})
    assert told(compared("main..pr", "--bar-judgement", code=1 if expected else 0)) == expected


def test_another_library_with_the_same_names(commit: Any, compared: Any) -> None:
    both(
        commit,
        {"box.rig": USER, "shelf.rig": SHELF},
        {"box.rig": USER.replace("shelf", "other"), "other.rig": SHELF.replace("1 kA", "20 kA")},
    )
    assert told(compared("main..pr", "--bar-judgement", code=1)) == [("library", "changed", "shelf.rig", "other.rig")]


def test_a_build_that_is_made_a_library_or_moved_out_of_sight(kit: Any, commit: Any, compared: Any) -> None:
    drafts = '[[left-out]]\npath = "drafts"\nbecause = "sketches"\n'
    commit({"box.rig": kit.bench, "ohmwright.toml": drafts})
    commit({"box.rig": kit.bench.replace('rig "Bench", revision 1\n', "")}, "library")
    ((kind, effect, was, now),) = told(compared("main..library", "--bar-judgement"))
    assert (kind, effect, was) == ("exclusion", "looser", "a build")
    assert "no rig statement" in now
    commit({"box.rig": None, "drafts/box.rig": kit.bench.replace("25 A", "30 A")}, "moved")
    assert told(compared("main..moved", "--bar-judgement", code=1)) == [
        ("exclusion", "looser", "box.rig", "moved to where the settings leave it out")
    ]
    commit({"drafts/new.rig": kit.bench}, "sketch")
    assert told(compared("main..sketch", "--bar-judgement", code=0)) == []


def test_basis_and_requirements_of_a_build(kit: Any, commit: Any, compared: Any) -> None:
    light = kit.bench + "require weigh at most 15 kg\n"
    commit({"box.rig": light})
    commit({"box.rig": kit.bench}, "gone")
    assert told(compared("main..gone", "--bar-judgement", code=1)) == [("requirement", "looser", "weigh at most 15 kg", "")]
    commit({"box.rig": light.replace("15 kg", "20 kg")}, "weaker")
    assert told(compared("main..weaker", "--bar-judgement", code=1)) == [
        ("requirement", "changed", "weigh at most 15 kg", "weigh at most 20 kg")
    ]
    assert told(compared("gone..main", "--bar-judgement", code=0)) == []
    commit({"box.rig": light.replace("us-small-craft", "iec")}, "basis")
    assert told(compared("main..basis", "--bar-judgement", code=1)) == [("basis", "changed", "us-small-craft", "iec")]


PROJECT = '[project]\nname = "rules"\nversion = "1"\ndependencies = ["ohmwright>=0.1"]\n[project.entry-points."ohmwright.rules"]\nhouse = "house_rules:PACK"\n'


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ({"pyproject.toml": PROJECT}, {"pyproject.toml": PROJECT.replace("house_rules:", "other:")}, [("pack", "house_rules:PACK", "other:PACK")]),
        ({"pyproject.toml": PROJECT}, {"pyproject.toml": PROJECT.replace(">=0.1", ">=0.0")}, [("pack", "ohmwright>=0.1", "ohmwright>=0.0")]),
        ({"pyproject.toml": PROJECT, "house_rules/a.py": "A = 1\n"}, {"house_rules/a.py": "A = 12\n"}, [("pack", "6 bytes", "7 bytes")]),
        ({"pyproject.toml": PROJECT, "elsewhere/a.py": "A = 1\n"}, {"elsewhere/a.py": "A = 12\n"}, []),
        ({".github/workflows/r.yml": "run: ohmwright inspect .\n"}, {".github/workflows/r.yml": "run: ohmwright inspect . --bar error\n"},
         [("review", "run: ohmwright inspect .", "run: ohmwright inspect . --bar error")]),
        ({".pre-commit-config.yaml": "id: ohmwright\nrev: a\n"}, {".pre-commit-config.yaml": "id: ohmwright\nrev: b\n"}, [("review", "21 bytes", "21 bytes")]),
        ({".github/workflows/r.yml": "run: make\n"}, {".github/workflows/r.yml": "run: make all\n"}, []),
    ],
)  # fmt: skip
def test_packs_and_what_runs_the_review(
    kit: Any, commit: Any, compared: Any, old: Any, new: Any, expected: list[tuple[str, str, str]]
) -> None:
    both(commit, {"box.rig": kit.bench, **old}, new)
    found = told(compared("main..pr", "--bar-judgement", code=1 if expected else 0))
    assert [(kind, was, now) for kind, _, was, now in found] == expected
