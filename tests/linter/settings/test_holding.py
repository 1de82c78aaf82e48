"""What each setting does to an inspection, that it is told, and what counts before what."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

WARNS = "25 A", "18 A"  # the bench with a smaller lamp has a warning only


def lines(text: str) -> str:
    return " ".join(text.split())


def result(command: Any, *arguments: str) -> dict[str, Any]:
    ran = command("inspect", *(arguments or ("box.rig",)), "--output", "json", "--today", "2026-01-01")
    loaded: dict[str, Any] = json.loads(ran.out)
    return loaded


def quiet(kit: Any) -> str:
    return str(kit.bench.replace("25 A", "5 A"))


# bar, checks, basis, states ------------------------------------------------------------------------------------------


def test_bar(command: Any, kit: Any, repository: Any) -> None:
    repository({"box.rig": kit.bench.replace(*WARNS), "ohmwright.toml": ""})
    assert command("inspect", "box.rig").code == 0
    repository({"box.rig": kit.bench.replace(*WARNS), "ohmwright.toml": 'bar = "warning"\n'})
    assert command("inspect", "box.rig").code == 1
    assert command("inspect", "box.rig", "--bar", "error").code == 0
    assert command("size", "box.rig").code == 1
    assert command("size", "box.rig", "--bar", "error").code == 0


def test_require_checked(command: Any, kit: Any, repository: Any) -> None:
    text = quiet(kit).replace("; 0.6 m", "")
    repository({"box.rig": text, "ohmwright.toml": "require-checked = true\n"})
    ran = command("inspect", "box.rig")
    assert ran.code == 1
    assert "(counts as an error)" in ran.out
    assert "which count as errors" in lines(ran.out)
    assert result(command)["run"]["settings"][0]["require_checked"] is True
    ran = command("inspect", "box.rig", "--no-require-checked")
    assert ran.code == 0
    assert "(counts as a warning)" in ran.out


def test_basis_is_for_builds_that_name_none(command: Any, kit: Any, repository: Any) -> None:
    silent = kit.bench.replace("basis us-small-craft\n", "")
    repository({"box.rig": kit.bench, "silent.rig": silent, "ohmwright.toml": '\nbasis = "iec"\n'})
    found = result(command, "box.rig", "silent.rig")
    assert [build["basis"] for build in found["builds"]] == ["us-small-craft", "iec"]
    assert {"subject": "Bench", "property": "basis", "value": "iec", "from": "default, ohmwright.toml line 2"} in found[
        "builds"
    ][1]["assumed"]
    assert all(item["property"] != "basis" for item in found["builds"][0]["assumed"])
    found = result(command, "box.rig", "silent.rig", "--basis", "us-premises")
    assert [build["basis"] for build in found["builds"]] == ["us-premises", "us-premises"]


def test_states(command: Any, kit: Any, repository: Any) -> None:
    text = kit.bench.replace(
        "wire feed from house.plus",
        "switch main 30 A\nwire way from house.plus to main.line { 6 AWG; 0.2 m }\nwire feed from main.load",
    )
    text = text.replace("{ lamp on;", "{ main closed; lamp on;") + 'state "resting" { lamp on; main closed; house at 50 % }\n'
    repository({"box.rig": text, "ohmwright.toml": 'states = "reached"\n'})
    assert any(state["origin"] == "reached" for state in result(command)["builds"][0]["states"])
    assert all(
        state["origin"] != "reached" for state in result(command, "box.rig", "--states", "declared")["builds"][0]["states"]
    )
    solved = json.loads(command("solve", "box.rig", "--output", "json").out)
    assert any(state["origin"] == "reached" for state in solved["builds"][0]["states"])


# site ----------------------------------------------------------------------------------------------------------------


def test_site_is_for_builds_that_do_not_say_their_own(command: Any, kit: Any, repository: Any) -> None:
    silent = kit.bench.replace("site { ambient 5 degC to 30 degC }\n", "")
    repository(
        {
            "box.rig": kit.bench,
            "silent.rig": silent,
            "ohmwright.toml": 'site = "ambient -10 degC to 40 degC; record low -25 degC"\n',
        }
    )
    found = result(command, "box.rig", "silent.rig")
    assumed = [
        {item["property"]: item["value"] for item in build["assumed"] if "ohmwright.toml line 1" in item["from"]}
        for build in found["builds"]
    ]
    assert set(assumed[0]) == {"record low"}
    assert set(assumed[1]) == {"ambient", "record low"}
    assert found["run"]["settings"][0]["site"] == "ambient -10 degC to 40 degC; record low -25 degC"
    solved = json.loads(command("solve", "box.rig", "silent.rig", "--output", "json").out)
    temperatures = [build["states"][0]["temperature"] for build in solved["builds"]]
    plain = json.loads(command("solve", "box.rig", "silent.rig", "--output", "json", "--settings", "none").out)
    assert temperatures[0] == plain["builds"][0]["states"][0]["temperature"]
    assert temperatures[1] != plain["builds"][1]["states"][0]["temperature"]


def test_sun_by_month_of_the_settings_is_no_more_where_the_build_says_its_sun(kit: Any) -> None:
    from ohmwright.settings.reading import read
    from ohmwright.settings.site import site_of, with_site
    from ohmwright_grammar.files import MemoryFiles
    from ohmwright_grammar.kinds.site import Site
    from ohmwright_grammar.resolve import Loader, Resolved, resolve

    months = " h/day, ".join("123456654321") + " h/day"
    found = read(f'site = "sun by month {months}; outdoors"\n', "ohmwright.toml").settings
    assert found is not None
    site, faults = site_of(found)
    assert (faults, site is not None) == ((), True)
    build = resolve("box.rig", Loader(MemoryFiles({"box.rig": kit.bench.replace("site {", "site { sun 4 h/day;")})))
    assert isinstance(build, Resolved)
    assert site is not None
    own = with_site(build.build, site).one(Site)
    assert own is not None
    assert (own.sun_by_month, own.outdoors) == (None, True)
    assert own.sun is not None


@pytest.mark.parametrize(
    ("text", "line", "column", "words"),
    [
        ('site = "ambient 5"\n', 1, 17, "has no unit"),
        ('site="ambient 5"\n', 1, 15, "has no unit"),
        ("site = '''\nambient 5 degC\nrecord low cold\n'''\n", 3, 12, "record low"),
        ('bar = "note"\nsite = "ambient 5 degC; gravity"\n', 2, 25, "gravity"),
        ('site = "ambient \\u0035 furlongs"\n', 1, 8, "The number 5 of site has no unit"),  # with an escape the whole value is the place
        ('site = "ambient 5 degC } battery b { LFP, 4 cells"\n', 1, 9, "more than the properties of a site"),
        ('site = "ambient 5 degC } parts from \\"x.rig\\" site {"\n', 1, 8, ""),
        ('site = "ambient 5 degC {"\n', 1, 9, ""),
    ],
)  # fmt: skip
def test_site_that_cannot_be_read(command: Any, repository: Any, text: str, line: int, column: int, words: str) -> None:
    repository({"ohmwright.toml": text})
    ran = command("inspect", "box.rig")
    assert (ran.code, ran.out) == (2, "")
    first = ran.err.splitlines()[0]
    assert first.startswith(f"ohmwright: ohmwright.toml line {line} column {column}:")
    assert words in ran.err


# what is left out ----------------------------------------------------------------------------------------------------


def test_path_that_is_left_out_is_told(command: Any, kit: Any, repository: Any) -> None:
    repository(
        {
            "box.rig": quiet(kit), "drafts/one.rig": kit.bench, "drafts/two.rig": kit.bench,
            "ohmwright.toml": '[[left-out]]\npath = "drafts"\nbecause = "sketches, nobody builds them"\n',
        }
    )  # fmt: skip
    ran = command("inspect", ".")
    assert ran.code == 0
    assert "Left out: drafts, 2 files (drafts/one.rig, drafts/two.rig), because sketches, nobody builds them" in lines(ran.out)
    (told,) = result(command, ".")["run"]["settings"]
    assert told["left_out"] == [
        {
            "what": "path",
            "name": "drafts",
            "because": "sketches, nobody builds them",
            "count": 2,
            "files": ["drafts/one.rig", "drafts/two.rig"],
        }
    ]
    assert command("inspect", ".", "--settings", "none").code == 1


def test_named_file_that_is_left_out_is_told_and_ends_with_0(command: Any, kit: Any, repository: Any) -> None:
    """A hook names files: a commit of a draft must pass, and say why."""
    repository({"drafts/one.rig": kit.bench, "ohmwright.toml": '[[left-out]]\npath = "drafts"\nbecause = "sketches"\n'})
    ran = command("inspect", "drafts/one.rig")
    assert ran.code == 0
    assert "Left out: drafts, 1 file (drafts/one.rig), because sketches" in ran.out
    assert "0 files" in ran.out
    assert json.loads(command("inspect", "drafts/one.rig", "--output", "json").out)["builds"] == []


def test_library_that_is_left_out_is_read_all_the_same(command: Any, kit: Any, repository: Any) -> None:
    text = 'parts from "parts/stock.rig"\n' + kit.bench
    repository(
        {
            "box.rig": text,
            "parts/stock.rig": "nonsense\n",
            "ohmwright.toml": '[[left-out]]\npath = "parts"\nbecause = "others keep it"\n',
        }
    )
    ran = command("inspect", ".")
    assert ran.code == 2
    assert "parts/stock.rig" in ran.out


def test_family_that_is_left_out_is_told(command: Any, kit: Any, repository: Any) -> None:
    repository({"ohmwright.toml": '[[left-out]]\nfamily = "invented"\nbecause = "they are made up"\n'})
    ran = command("inspect", "box.rig")
    assert ran.code == 0
    assert "Left out: the family invented, 3 rules, because they are made up" in ran.out
    found = result(command)
    assert found["run"]["settings"][0]["left_out"] == [
        {"what": "family", "name": "invented", "because": "they are made up", "count": 3, "files": []}
    ]
    assert found["builds"][0]["passes"] == []


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        ('family = "invnted"', "There is no family of rules 'invnted'. Families near this one: invented."),
        ('family = "text"', "The family 'text' is the linter's own and cannot be left out."),
        ('family = "waivers"', "cannot be left out"),
        ('family = "baseline"', "cannot be left out"),
    ],
)
def test_family_that_is_not_there(command: Any, repository: Any, entry: str, words: str) -> None:
    repository({"ohmwright.toml": f'[[left-out]]\n{entry}\nbecause = "x"\n'})
    ran = command("inspect", "box.rig")
    assert (ran.code, ran.out) == (2, "")
    assert f"ohmwright.toml line 2 column 10: {words}" in ran.err or "ohmwright.toml line 2 column 10: The family" in ran.err
    assert words in ran.err


def test_promise_is_not_met_where_a_family_did_not_run(
    command: Any, kit: Any, repository: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What all rules answer together is not answered by some of them."""
    from dataclasses import replace

    asked: list[bool] = []

    def answers(study: Any, told: Any) -> Any:
        asked.append(True)
        return iter(())

    pack = replace(kit.sample, answers=answers)
    for place in ("ohmwright.rules", "ohmwright.inspecting"):
        monkeypatch.setattr(f"{place}.installed_packs", lambda: (pack,))
    text = kit.bench + "require weight at most 20 kg\n"
    repository({"box.rig": text})
    command("inspect", "box.rig")
    assert asked == [True]
    repository({"box.rig": text, "ohmwright.toml": '[[left-out]]\nfamily = "invented"\nbecause = "x"\n'})
    command("inspect", "box.rig")
    assert asked == [True]


# grades --------------------------------------------------------------------------------------------------------------


def grade(name: str, severity: str) -> str:
    return f'[[grades]]\ngrade = "{name}"\nseverity = "{severity}"\nbecause = "our lamps are short"\n'


def test_lowered_grade_is_told(command: Any, repository: Any) -> None:
    repository({"ohmwright.toml": grade("warm-wire.over", "note")})
    ran = command("inspect", "box.rig")
    assert ran.code == 0
    assert command("inspect", "box.rig", "--bar", "note").code == 1
    assert "Severity changed: warm-wire.over from error to note, 2 times, because our lamps are short" in lines(ran.out)
    (told,) = result(command)["run"]["settings"]
    assert told["grades"] == [
        {"grade": "warm-wire.over", "was": "error", "now": "note", "because": "our lamps are short", "count": 2}
    ]


def test_raised_grade(command: Any, kit: Any, repository: Any) -> None:
    repository({"box.rig": kit.bench.replace(*WARNS), "ohmwright.toml": grade("warm-wire.near", "error")})
    ran = command("inspect", "box.rig")
    assert ran.code == 1
    assert "Severity changed: warm-wire.near from warning to error" in lines(ran.out)


def test_grade_that_is_off_is_counted_and_kept_in_the_result(command: Any, repository: Any) -> None:
    repository({"ohmwright.toml": grade("warm-wire.over", "off")})
    ran = command("inspect", "box.rig", "--bar", "note")
    assert ran.code == 0
    assert "Switched off: warm-wire.over, 2 times, because our lamps are short" in lines(ran.out)
    assert "2 switched off by settings." in lines(ran.out)
    (build,) = result(command)["builds"]
    assert build["findings"] == []
    assert {item["subject"][0] for item in build["switched_off"]} == {"feed", "back"}
    assert {item["severity"] for item in build["switched_off"]} == {"error"}


def test_what_could_not_be_checked_of_a_grade_that_is_off_stays_listed(command: Any, kit: Any, repository: Any) -> None:
    repository(
        {
            "box.rig": quiet(kit).replace("; 0.6 m", ""),
            "ohmwright.toml": "require-checked = true\n" + grade("long-wire.over", "off"),
        }
    )
    ran = command("inspect", "box.rig")
    assert ran.code == 0
    assert "Could not be checked" in ran.out
    assert {item["severity"] for item in result(command)["builds"][0]["not_checked"]} == {"note"}


def test_rule_that_crashes_is_silenced_by_no_setting(
    command: Any, kit: Any, repository: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    rule, _ = kit.warm

    def broken(study: object) -> Any:
        raise ZeroDivisionError("division by zero")
        yield

    pack = kit.pack_of((rule, broken), kit.long)
    for place in ("ohmwright.rules", "ohmwright.inspecting"):
        monkeypatch.setattr(f"{place}.installed_packs", lambda: (pack,))
    repository({"ohmwright.toml": grade("warm-wire.over", "off") + grade("warm-wire.near", "off")})
    ran = command("inspect", "box.rig")
    assert ran.code == 2
    assert "the rule warm-wire failed" in lines(ran.out)


def test_own_rules_of_the_linter(command: Any, kit: Any, repository: Any) -> None:
    """Waivers too have severities, but that a text cannot be read stays an error."""
    waiver = 'waive warm-wire on feed, back up to 25 A because "x" until 2020-01-01\n'
    repository({"box.rig": quiet(kit) + waiver, "ohmwright.toml": grade("expired-waiver.expired", "error")})
    assert command("inspect", "box.rig").code == 1
    repository({"box.rig": quiet(kit) + waiver, "ohmwright.toml": grade("expired-waiver.expired", "off")})
    ran = command("inspect", "box.rig", "--bar", "note")
    assert ran.code == 0
    assert "Switched off: expired-waiver.expired, 1 time" in lines(ran.out)
    repository({"ohmwright.toml": grade("unknown-name.unreadable", "off")})
    ran = command("inspect", "box.rig")
    assert (ran.code, ran.out) == (2, "")
    assert "ohmwright.toml line 2 column 9: A text that cannot be read is an error, whatever the settings say." in ran.err


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("worm-wire.over", "There is no rule 'worm-wire'. Rules near this one: warm-wire"),
        ("warm-wire.ovr", "The rule 'warm-wire' has no grade 'ovr'. Its grades: warm-wire.over, warm-wire.near."),
        ("warm-wire", "'warm-wire' names a rule, no grade of it. Its grades: warm-wire.over, warm-wire.near."),
        ("qqq.over", "There is no rule 'qqq'. Print all of them with: ohmwright basis"),
        ("", "is empty"),
    ],
)
def test_grade_that_is_not_there(command: Any, repository: Any, name: str, words: str) -> None:
    repository({"ohmwright.toml": grade(name, "note")})
    ran = command("inspect", "box.rig")
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.startswith("ohmwright: ohmwright.toml line 2 column 9: ")
    assert words in ran.err


def test_grade_given_twice(command: Any, repository: Any) -> None:
    repository({"ohmwright.toml": grade("warm-wire.over", "note") + grade("warm-wire.over", "off")})
    ran = command("inspect", "box.rig")
    assert ran.code == 2
    assert "line 6 column 9: The grade 'warm-wire.over' is given twice. Line 2 names it too." in ran.err


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('basis = "us-smal-craft"', "line 1 column 9: There is no basis 'us-smal-craft'. Bases near this one: us-small-craft."),
        ('[output]\nformat = "jsn"', "line 2 column 10: There is no format 'jsn'. Formats near this one: json."),
    ],
)
def test_names_that_are_not_there(command: Any, repository: Any, text: str, words: str) -> None:
    repository({"ohmwright.toml": text})
    ran = command("inspect", "box.rig")
    assert (ran.code, ran.out) == (2, "")
    assert words in ran.err


# builds and outputs --------------------------------------------------------------------------------------------------


def test_builds_where_no_path_is_named(command: Any, kit: Any, repository: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = repository(
        {"cabin/a.rig": quiet(kit), "other/b.rig": quiet(kit), "ohmwright.toml": 'builds = ["cabin", "box.rig"]\n'}
    )
    found = json.loads(command("inspect", "--output", "json").out)
    assert [build["path"] for build in found["builds"]] == ["box.rig", "cabin/a.rig"]
    monkeypatch.chdir(folder / "other")
    assert [build["path"] for build in json.loads(command("inspect", "--output", "json").out)["builds"]] == [
        "box.rig",
        "cabin/a.rig",
    ]
    assert [build["path"] for build in json.loads(command("inspect", "b.rig", "--output", "json").out)["builds"]] == [
        "other/b.rig"
    ]
    assert command("solve").out.startswith("box.rig")


def test_no_path_and_no_builds(command: Any, repository: Any) -> None:
    repository({"ohmwright.toml": ""})
    ran = command("inspect")
    assert (ran.code, ran.out) == (2, "")
    assert "name at least one build file or folder, or write builds = […] into ohmwright.toml" in ran.err
    repository({"ohmwright.toml": 'builds = ["nowhere"]'})
    ran = command("inspect")
    assert ran.code == 2
    assert "there is no file nowhere" in ran.err


def test_builds_through_a_link_out_of_the_repository(command: Any, kit: Any, repository: Any) -> None:
    folder = repository({"ohmwright.toml": 'builds = ["way"]\n'})
    outside = folder.parent / "outside"
    outside.mkdir(exist_ok=True)
    (outside / "x.rig").write_text(kit.bench, encoding="utf-8")
    Path("way").symlink_to(outside)
    ran = command("inspect")
    assert (ran.code, ran.out) == (2, "")
    assert "ohmwright.toml line 1 column 11: 'way' leads out of the repository." in ran.err


def test_output_defaults(command: Any, repository: Any) -> None:
    repository({"ohmwright.toml": "[output]\nworking = true\nassumed = true\n"})
    ran = command("inspect", "box.rig")
    assert "Working" in ran.out
    assert "Implied, defaulted or assumed" in ran.out
    ran = command("inspect", "box.rig", "--no-working", "--no-assumed")
    assert "Working" not in ran.out
    assert "Implied, defaulted or assumed" not in ran.out
    repository({"ohmwright.toml": '[output]\nformat = "json"\n'})
    assert json.loads(command("inspect", "box.rig").out)["schema"] == 1
    assert command("inspect", "box.rig", "--output", "text").out.startswith("box.rig")


# precedence and telling ----------------------------------------------------------------------------------------------


def test_no_settings_no_word_of_them(command: Any, repository: Any) -> None:
    repository({})
    assert "ettings" not in command("inspect", "box.rig").out
    assert result(command)["run"]["settings"] is None


def test_show_settings_says_where_each_value_comes_from(command: Any, repository: Any) -> None:
    repository(
        {
            "ohmwright.toml": 'bar = "warning"\nstates = "reached"\n\n[[left-out]]\npath = "dr*"\nbecause = "sketches"\n' + grade("warm-wire.over", "off")
            + '[output]\nworking = true\n'
        }
    )  # fmt: skip
    ran = command("inspect", "--show-settings", "--bar", "note", "--baseline", "none")
    assert ran.code == 0
    rows = {
        " ".join(line.split()[:1]): " ".join(line.split()[1:])
        for line in ran.out.splitlines()
        if line.startswith("  ") and line[2] != " "
    }
    assert rows["bar"] == "note command line"
    assert rows["states"] == "reached ohmwright.toml line 2"
    assert rows["basis"] == "as each build says default"
    assert rows["require-checked"] == "false default"
    assert rows["baseline"] == "none command line"
    assert rows["left-out"] == "path dr*: sketches ohmwright.toml line 5"
    assert rows["grades"] == "ohmwright.toml line 8"
    assert "warm-wire.over from error to off: our lamps are short" in ran.out
    assert "output working true ohmwright.toml line 12" in lines(ran.out)
    assert "The command line counts before a file of settings" in ran.out
    assert all(len(line) <= 80 for line in ran.out.splitlines())
    ran = command("inspect", "box.rig", "--show-settings", "--settings", "none")
    assert "no file of settings, as the command line asks" in lines(ran.out)
    assert "ohmwright.toml" not in ran.out


def test_show_settings_inspects_nothing(command: Any, repository: Any) -> None:
    repository({"box.rig": "nonsense\n"})
    ran = command("inspect", "box.rig", "--show-settings")
    assert (ran.code, ran.err) == (0, "")


@pytest.mark.parametrize("key", ["because", "name"])
def test_what_settings_say_steers_no_terminal(command: Any, repository: Any, key: str) -> None:
    reason = "x\\u001b[31m\\u202ey" if key == "because" else "x"
    path = "d\\u001br" if key == "name" else "box.rig"
    repository({"ohmwright.toml": f'[[left-out]]\npath = "{path}"\nbecause = "{reason}"\n'})
    for arguments in (("inspect", "box.rig"), ("inspect", "--show-settings")):
        ran = command(*arguments)
        assert "\x1b" not in ran.out + ran.err
        assert "\u202e" not in ran.out + ran.err


def test_result_with_settings_holds_to_the_schema(command: Any, kit: Any, repository: Any) -> None:
    from importlib.resources import files

    from jsonschema import Draft202012Validator

    schema = json.loads((files("ohmwright") / "schemas" / "inspect.json").read_text(encoding="utf-8"))
    repository(
        {
            "ohmwright.toml": 'bar = "note"\nbaseline = "known.json"\nbasis = "iec"\nsite = "outdoors"\n' + grade("warm-wire.over", "off")
            + '[[left-out]]\npath = "drafts"\nbecause = "x"\n', "drafts/a.rig": kit.bench, "loose.rig": kit.bench.replace("0.6 m", "3 m"),
        }
    )  # fmt: skip
    assert command("inspect", ".", "--write-baseline").code == 0
    found = result(command, ".")
    Draft202012Validator(schema).validate(found)
    assert any(build["baselined"] for build in found["builds"])
    assert any(build["switched_off"] for build in found["builds"])
