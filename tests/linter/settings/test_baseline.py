"""The baseline: what is known and no worse does not count, what is new or worse does, and what no longer occurs is a note."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from ohmwright.baseline_files import document_of, read_text
from ohmwright.results import Entry
from ohmwright_grammar.spans import Span

SCHEMA = json.loads((files("ohmwright") / "schemas" / "baseline.json").read_text(encoding="utf-8"))
VALIDATOR = Draft202012Validator(SCHEMA)
KNOWN = ("--baseline", "known.json")


def lines(text: str) -> str:
    return " ".join(text.split())


def write(command: Any, *arguments: str) -> Any:
    return command("inspect", *(arguments or ("box.rig",)), *KNOWN, "--write-baseline", "--today", "2026-01-01")


def findings(command: Any, *arguments: str) -> list[tuple[str, str, str]]:
    ran = command("inspect", *(arguments or ("box.rig",)), *KNOWN, "--output", "json", "--today", "2026-01-01")
    return [
        (f"{item['rule']}.{item['grade']}", item["subject"][0], item["severity"])
        for build in json.loads(ran.out)["builds"]
        for item in build["findings"]
    ]


def test_what_is_known_does_not_count(command: Any, repository: Any) -> None:
    repository({})
    assert command("inspect", "box.rig").code == 1
    ran = write(command)
    assert ran.code == 0
    assert "known.json holds 2 findings: 2 new, 0 changed, 0 taken out" in ran.err
    ran = command("inspect", "box.rig", *KNOWN, "--bar", "note")
    assert ran.code == 0
    assert "No new finding." in ran.out
    assert "Held by the baseline, and no worse: 2 errors." in ran.out
    assert "Baseline: known.json, 2 entries, 2 of them found in this run." in ran.out
    assert "2 held by the baseline." in ran.out


def test_json_holds_the_whole_finding_and_its_entry(command: Any, repository: Any) -> None:
    repository({})
    write(command)
    document = json.loads(command("inspect", "box.rig", *KNOWN, "--output", "json").out)
    (build,) = document["builds"]
    assert build["findings"] == []
    assert {item["subject"][0] for item in build["baselined"]} == {"feed", "back"}
    assert build["baselined"][0]["entry"] == {
        "severity": "error",
        "measured": {"value": 25.0, "unit": "A"},
        "limit": {"value": 20.0, "unit": "A"},
    }
    assert document["run"]["settings"][0]["baseline"] == {"file": "known.json", "entries": 2, "held": 2, "gone": []}


def test_file_is_sorted_one_entry_to_a_line_and_the_same_each_time(command: Any, kit: Any, repository: Any) -> None:
    repository({"cabin.rig": kit.bench.replace("0.6 m }\nwire back", "3 m }\nwire back")})
    write(command, ".")
    text = Path("known.json").read_text(encoding="ascii")
    document = json.loads(text)
    VALIDATOR.validate(document)
    keys = [(item["path"], item["rule"], item["grade"], item["subject"]) for item in document["entries"]]
    assert keys == sorted(keys)
    assert [path for path, *_ in keys] == ["box.rig", "box.rig", "cabin.rig", "cabin.rig", "cabin.rig"]
    rows = text.splitlines()[5:-2]
    assert [json.loads(row.rstrip(","))["path"] for row in rows] == [path for path, *_ in keys]
    write(command, "cabin.rig", "box.rig")
    assert Path("known.json").read_text(encoding="ascii") == text


def test_new_finding_counts(command: Any, kit: Any, repository: Any) -> None:
    repository({})
    write(command)
    repository({"box.rig": kit.bench.replace("0.6 m }\nwire back", "3 m }\nwire back")})
    ran = command("inspect", "box.rig", *KNOWN, "--bar", "warning")
    assert ran.code == 1
    assert findings(command) == [("long-wire.over", "feed", "warning")]


def test_worse_finding_counts_and_says_what_was_held(command: Any, kit: Any, repository: Any) -> None:
    repository({})
    write(command)
    repository({"box.rig": kit.bench.replace("25 A", "26 A")})
    ran = command("inspect", "box.rig", *KNOWN)
    assert ran.code == 1
    assert "warm-wire.over is worse than its entry in the baseline: it held 25 A, and now it is 26 A." in lines(ran.out)
    assert "known.json line 6: the entry of the baseline" in lines(ran.out)
    assert sorted(findings(command)) == [
        ("outgrown-baseline-entry.outgrown", "warm-wire.over", "note"), ("outgrown-baseline-entry.outgrown", "warm-wire.over", "note"),
        ("warm-wire.over", "back", "error"), ("warm-wire.over", "feed", "error"),
    ]  # fmt: skip


@pytest.mark.parametrize("current", ["25 A", "24.9 A", "20.1 A"])
def test_no_worse_is_held(command: Any, kit: Any, repository: Any, current: str) -> None:
    repository({})
    write(command)
    repository({"box.rig": kit.bench.replace("25 A", current)})
    assert command("inspect", "box.rig", *KNOWN, "--bar", "note").code == 0


def limited(kit: Any, limit: float, sense: str = "at-most", severity: Any = None, measured: float | None = 25.0) -> Any:
    """A pack whose rule holds one measured value against a limit."""
    from ohmwright.findings import Finding
    from ohmwright.values import Amount

    rule, _ = kit.warm

    def check(study: Any) -> Any:
        amounts = (Amount(measured, "current"), Amount(limit, "current")) if measured is not None else (None, None)
        yield Finding("over", ("feed",), "feed: too much.", study.build.rig.span, *amounts, sense, at_most=severity)

    return kit.pack_of((rule, check))


def put_in(monkeypatch: pytest.MonkeyPatch, pack: Any) -> None:
    for place in ("ohmwright.rules", "ohmwright.inspecting"):
        monkeypatch.setattr(f"{place}.installed_packs", lambda: (pack,))


@pytest.mark.parametrize(
    ("before", "after", "code", "words"),
    [
        ({"limit": 20.0}, {"limit": 20.0}, 0, ""),
        (
            {"limit": 20.0},
            {"limit": 15.0},
            1,
            "it held a limit of 20 A, and now it is 15 A",
        ),  # a thinner wire under the same current
        ({"limit": 20.0}, {"limit": 22.0}, 0, ""),
        ({"limit": 20.0}, {"limit": 15.0, "measured": 18.0}, 0, ""),  # less over a lower limit: more margin than before
        ({"limit": 20.0}, {"limit": 10.0, "measured": 24.0}, 1, "it held a limit of 20 A"),
        ({"limit": 20.0}, {"limit": 40.0, "measured": 26.0}, 1, "it held 25 A, and now it is 26 A"),
        (
            {"limit": 30.0, "sense": "at-least"},
            {"limit": 30.0, "sense": "at-least", "measured": 24.0},
            1,
            "it held 25 A, and now it is 24 A",
        ),
        ({"limit": 30.0, "sense": "at-least"}, {"limit": 30.0, "sense": "at-least", "measured": 26.0}, 0, ""),
        ({"limit": 30.0, "sense": "at-least"}, {"limit": 33.0, "sense": "at-least"}, 1, "it held a limit of 30 A"),
        ({"limit": 30.0, "sense": "at-least"}, {"limit": 20.0}, 1, "it holds no value that can be compared"),
        ({"limit": 20.0, "measured": None}, {"limit": 20.0, "measured": None}, 0, ""),
        ({"limit": 20.0, "measured": None}, {"limit": 20.0}, 1, "it holds no value that can be compared"),
        ({"limit": 20.0}, {"limit": 20.0, "measured": None}, 1, "it holds no value that can be compared"),
        ({"limit": 20.0, "severity": 1}, {"limit": 20.0}, 1, "it was a note, and is an error now"),
        ({"limit": 20.0}, {"limit": 20.0, "severity": 1}, 0, ""),
        ({"limit": 0.0}, {"limit": 0.0}, 0, ""),
    ],
)
def test_what_is_worse(
    command: Any, kit: Any, repository: Any, monkeypatch: pytest.MonkeyPatch, before: Any, after: Any, code: int, words: str
) -> None:
    from ohmwright.findings import Severity

    for given_ in (before, after):
        if "severity" in given_:
            given_["severity"] = Severity(given_["severity"])
    repository({})
    put_in(monkeypatch, limited(kit, **before))
    assert write(command).code == 0
    put_in(monkeypatch, limited(kit, **after))
    ran = command("inspect", "box.rig", *KNOWN)
    assert ran.code == code
    assert words in lines(ran.out)
    assert bool(words) == ("outgrown-baseline-entry" in ran.out)


def test_raised_severity_makes_it_worse(command: Any, kit: Any, repository: Any) -> None:
    repository({"box.rig": kit.bench.replace("25 A", "18 A")})
    write(command)
    repository(
        {
            "box.rig": kit.bench.replace("25 A", "18 A"),
            "ohmwright.toml": '[[grades]]\ngrade = "warm-wire.near"\nseverity = "error"\nbecause = "x"\n',
        }
    )
    ran = command("inspect", "box.rig", *KNOWN)
    assert ran.code == 1
    assert "it was a warning, and is an error now" in lines(ran.out)


def test_entry_that_no_longer_occurs_is_a_note(command: Any, kit: Any, repository: Any) -> None:
    repository({})
    write(command)
    repository({"box.rig": kit.bench.replace("25 A", "5 A")})
    ran = command("inspect", "box.rig", *KNOWN)
    assert ran.code == 0
    assert command("inspect", "box.rig", *KNOWN, "--bar", "note").code == 1
    assert "feed: warm-wire.over stands in the baseline, and is found no more." in lines(ran.out)
    assert "known.json line 6" in ran.out
    assert findings(command) == [("unused-baseline-entry.unused", "warm-wire.over", "note")] * 2
    ran = write(command)
    assert "known.json holds 0 findings: 0 new, 0 changed, 2 taken out" in ran.err
    assert command("inspect", "box.rig", *KNOWN, "--bar", "note").code == 0


def test_no_such_note_where_it_could_not_be_told(command: Any, kit: Any, repository: Any) -> None:
    """Not of a rule that did not run, of a state that was not looked at, of a check that lacks a datum, of a text that was read in part."""
    repository({"box.rig": kit.bench.replace("0.6 m }\nwire back", "3 m }\nwire back")})
    write(command)
    repository({"box.rig": kit.bench.replace("25 A", "5 A").replace("; 0.6 m }\nwire back", " }\nwire back")})
    assert all(item[1] != "long-wire.over" for item in findings(command))
    repository({"box.rig": kit.bench.replace("25 A", "5 A")})
    assert len(findings(command)) == 3
    assert findings(command, "box.rig", "--only", "long-wire") == [("unused-baseline-entry.unused", "long-wire.over", "note")]
    assert findings(command, "box.rig", "--state", "stored") == []
    repository({"box.rig": kit.bench.replace("25 A", "5 A") + "nonsense\n"})
    assert all(rule == "unknown-property.unreadable" for rule, _, _ in findings(command))


def test_baseline_of_reached_states_says_nothing_of_what_the_declared_ones_lack(
    command: Any, kit: Any, repository: Any
) -> None:
    repository({})
    write(command, "box.rig", "--states", "reached")
    repository({"box.rig": kit.bench.replace("25 A", "5 A")})
    assert findings(command) == []
    assert len(findings(command, "box.rig", "--states", "reached")) == 2


def test_rule_that_is_no_more(command: Any, kit: Any, repository: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    repository({})
    write(command)
    put_in(monkeypatch, kit.pack_of(kit.long))
    assert findings(command) == [("unused-baseline-entry.unused", "warm-wire.over", "note")] * 2


def test_what_is_known_swallows_nothing_new(command: Any, kit: Any, repository: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """A consequence that yields to a known cause would never be told; so each finding is held by an entry of its own, or stands."""
    from ohmwright.rules import Yield

    pack = kit.pack_of(kit.warm, kit.long, yields=(Yield("warm-wire", "long-wire"),))
    put_in(monkeypatch, pack)
    repository({})
    write(command)
    repository({"box.rig": kit.bench.replace("0.6 m }\nwire back", "3 m }\nwire back")})
    assert findings(command) == [("long-wire.over", "feed", "warning")]
    write(command)
    assert findings(command) == []


def test_known_cause_keeps_a_promise_broken(kit: Any) -> None:
    """What all rules answer together is told of the findings that a baseline holds, too."""
    from dataclasses import replace

    from ohmwright.baselines import Baseline

    told: list[int] = []

    def answers(study: Any, said: Any) -> Any:
        told.append(len(said.findings))
        return iter(())

    pack = replace(kit.sample, answers=answers)
    build = kit.one(kit.bench + "require weight at most 20 kg\n", pack=pack, baseline=Baseline("known.json", accepting=True))
    assert (build.findings, told) == ((), [2])


def test_waiver_comes_first(command: Any, kit: Any, repository: Any) -> None:
    waiver = 'waive warm-wire on feed up to 25 A because "x" until 2027-01-01\n'
    repository({"box.rig": kit.bench + waiver})
    write(command)
    assert [item["subject"] for item in json.loads(Path("known.json").read_text(encoding="ascii"))["entries"]] == [["back"]]


# writing -------------------------------------------------------------------------------------------------------------


def test_builds_that_were_not_looked_at_keep_their_entries(command: Any, kit: Any, repository: Any) -> None:
    repository({"cabin.rig": kit.bench, "gone.rig": kit.bench})
    write(command, ".")
    Path("gone.rig").unlink()
    ran = command("inspect", "box.rig", *KNOWN)
    assert "It names files that are no longer there: gone.rig" in ran.out
    repository({"box.rig": kit.bench.replace("25 A", "26 A")})
    ran = write(command)
    assert "known.json holds 4 findings: 0 new, 2 changed, 2 taken out" in ran.err
    assert {item["path"] for item in json.loads(Path("known.json").read_text(encoding="ascii"))["entries"]} == {
        "box.rig",
        "cabin.rig",
    }


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--write-baseline",), "--write-baseline needs a file: name one with --baseline FILE"),
        (("--write-baseline", "--baseline", "none"), "--baseline none names none"),
        ((*KNOWN, "--write-baseline", "--only", "warm-wire"), "leave out --only and --state"),
        ((*KNOWN, "--write-baseline", "--state", "stored"), "leave out --only and --state"),
        (("--baseline", "box.rig", "--write-baseline"), "box.rig is left as it is: it is no baseline"),
        (("--baseline", ".", "--write-baseline"), ". is left as it is: it is no baseline"),
        (("--baseline", "no/such/known.json", "--write-baseline"), "cannot be written"),
        (("--baseline", "missing.json"), "missing.json line 1 column 1: There is no such file."),
    ],
)
def test_baseline_that_cannot_be_written_or_read(command: Any, kit: Any, repository: Any, arguments: Any, words: str) -> None:
    repository({})
    ran = command("inspect", "box.rig", *arguments)
    assert ran.code == 2
    assert words in ran.err
    assert Path("box.rig").read_text(encoding="utf-8") == kit.bench
    assert sorted(path.name for path in Path().iterdir()) == [".git", "box.rig"]


def test_run_that_was_not_whole_writes_nothing(command: Any, kit: Any, repository: Any) -> None:
    repository({})
    write(command)
    before = Path("known.json").read_bytes()
    repository({"bad.rig": kit.bench + "nonsense\n"})
    ran = write(command, ".")
    assert ran.code == 2
    assert "known.json is left as it is: the run was not whole" in ran.err
    assert Path("known.json").read_bytes() == before


def test_several_roots_need_several_baselines(command: Any, kit: Any, repository: Any) -> None:
    repository(
        {"one/ohmwright.toml": "", "one/a.rig": kit.bench, "two/ohmwright.toml": 'baseline = "k.json"', "two/b.rig": kit.bench}
    )
    ran = write(command, "one", "two")
    assert ran.code == 2
    assert "one baseline holds the builds of one root" in ran.err
    Path("one/ohmwright.toml").write_text('baseline = "k.json"', encoding="utf-8")
    assert command("inspect", "one", "two", "--write-baseline").code == 0
    assert json.loads(Path("one/k.json").read_text(encoding="ascii"))["entries"][0]["path"] == "a.rig"
    assert command("inspect", "one", "two").code == 0


# the settings' baseline ----------------------------------------------------------------------------------------------


def test_baseline_of_the_settings(command: Any, repository: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = repository({"ohmwright.toml": 'baseline = "review/known.json"\n', "review/readme": "", "cabin/x": ""})
    ran = command("inspect", "box.rig")
    assert (ran.code, ran.out) == (2, "")
    assert "ohmwright.toml line 1 column 12: There is no file 'review/known.json'. Write it with --write-baseline." in ran.err
    monkeypatch.chdir(folder / "cabin")
    assert command("inspect", "../box.rig", "--write-baseline").code == 0
    assert (folder / "review" / "known.json").is_file()
    assert command("inspect", "../box.rig").code == 0
    assert command("inspect", "../box.rig", "--baseline", "none").code == 1
    (folder / "review" / "known.json").write_text("{", encoding="utf-8")
    ran = command("inspect", "../box.rig")
    assert (ran.code, ran.out) == (2, "")
    assert "../review/known.json line 1 column 2: This is no JSON" in ran.err
    assert command("inspect", "../box.rig", "--write-baseline").code == 0, "a damaged one is written anew"


def test_settings_named_on_the_command_line_bring_their_own_baseline(command: Any, repository: Any) -> None:
    """What a change accepts for itself does not count where it is judged by the settings of another branch."""
    folder = repository({"ohmwright.toml": 'baseline = "known.json"\n'})
    command("inspect", "box.rig", "--write-baseline")
    assert command("inspect", "box.rig").code == 0
    target = folder.parent / "target"
    target.mkdir(exist_ok=True)
    (target / "ohmwright.toml").write_text('baseline = "known.json"\n', encoding="utf-8")
    ran = command("inspect", "box.rig", "--settings", "../target/ohmwright.toml")
    assert (ran.code, ran.out) == (2, "")
    (target / "known.json").write_text(document_of((), "1", "declared"), encoding="utf-8")
    assert command("inspect", "box.rig", "--settings", "../target/ohmwright.toml").code == 1


def test_baseline_of_the_settings_by_a_link_out_of_the_repository(command: Any, repository: Any) -> None:
    folder = repository({"ohmwright.toml": 'baseline = "known.json"\n'})
    secret = folder.parent / "secret.json"
    secret.write_text("{secret", encoding="utf-8")
    Path("known.json").symlink_to(secret)
    for arguments in (("inspect", "box.rig"), ("inspect", "box.rig", "--write-baseline")):
        ran = command(*arguments)
        assert (ran.code, ran.out) == (2, "")
        assert "ohmwright.toml line 1 column 12: 'known.json' leads out of the repository." in ran.err
    assert secret.read_text(encoding="utf-8") == "{secret"


# damaged files -------------------------------------------------------------------------------------------------------

ENTRY = Entry("a.rig", "warm-wire", "over", ("feed",), "error", (25.0, "A"), (20.0, "A"), "at-most", Span("", 1, 1, 1, 2))
GOOD = document_of((ENTRY,), "0.1.0", "declared")


@pytest.mark.parametrize(
    ("text", "line", "column", "words"),
    [
        ("", 1, 1, "'{' should stand here, not the end of the file."),
        ("[]", 1, 1, "'{' should stand here, not '['."),
        (GOOD[:-20], 6, 217, "This is no JSON: unterminated string."),
        (GOOD[:-6], 6, 239, "',' should stand here, not the end of the file."),
        (GOOD[:200], 6, 123, "This is no JSON: expecting value."),
        (GOOD + "x", 9, 1, "Something follows after the end of the baseline."),
        (GOOD.replace('"baseline": 1', '"baseline": 2'), 3, 14, "This program reads version 1 of baselines; this one has '2'."),
        (GOOD.replace('"baseline": 1', '"baseline": true'), 3, 14, "This program reads version 1"),
        (GOOD.replace('"states": "declared"', '"states": "all"'), 4, 12, "'states' is declared or reached."),
        (GOOD.replace('"ohmwright"', '"ohmwrong"'), 2, 2, "The key 'ohmwrong' does not belong here."),
        (GOOD.replace(' "baseline": 1,\n', ""), 1, 1, "The baseline has no 'baseline'."),
        ('{"baseline": 1, "states": "declared"}', 1, 1, "The baseline has no 'entries'."),
        (GOOD.replace('"over"', '"ovr"'), 6, 3, "The fingerprint is not that of this path, rule, grade and subject"),
        (GOOD.replace('"feed"', '"back"'), 6, 3, "The fingerprint is not that"),
        (GOOD.replace('["feed"]', '"feed"'), 6, 3, "The subject of the entry is no list of names."),
        (GOOD.replace('["feed"]', "[]"), 6, 3, "The subject of the entry is no list of names."),
        (GOOD.replace('"severity": "error"', '"severity": "fatal"'), 6, 3, "The severity of the entry is none of error, warning, note."),
        (GOOD.replace("at-most", "most"), 6, 3, "The sense of the entry is none of at-most, at-least."),
        (GOOD.replace("25.0", '"25"'), 6, 3, "The measured of the entry is no value with a unit."),
        (GOOD.replace("25.0", "true"), 6, 3, "The measured of the entry is no value with a unit."),
        (GOOD.replace("25.0", "1e999"), 6, 3, "The measured of the entry is no value with a unit."),
        (GOOD.replace("25.0", "9" * 400), 6, 3, "The measured of the entry is no value with a unit."),
        (GOOD.replace("25.0", "9" * 5000), 6, 3, "A number cannot be read"),
        (GOOD.replace("25.0", "NaN"), 6, 3, "A number cannot be read"),
        (GOOD.replace('"grade": "over"', '"grade": "over", "grade": "over"'), 6, 3, "A key is given twice"),
        (GOOD.replace('"sense": "at-most", ', ""), 6, 3, "The entry has no 'sense'."),
        (GOOD.replace('"sense"', '"more": 1, "sense"'), 6, 3, "The entry has a key that is not known: 'more'."),
        (GOOD.replace("\n ]", ",\n  7\n ]"), 7, 3, "An entry is an object between braces."),
        ('{"baseline": 1, "states": "declared", "entries": ' + "[" * 100_000, 1, 1, "The baseline is nested too deeply to be read."),
        ('{"baseline": 1, "states": "declared", "entries": [' + '{"a":' * 100_000, 1, 1, "The baseline is nested too deeply to be read."),
        ("junk " * 200_000, 1, 1, "'{' should stand here, not 'j'."),
    ],
)  # fmt: skip
def test_damaged_baseline(command: Any, repository: Any, text: str, line: int, column: int, words: str) -> None:
    repository({"known.json": text})
    ran = command("inspect", "box.rig", *KNOWN)
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.startswith(f"ohmwright: known.json line {line} column {column}: ")
    assert words in ran.err
    assert len(ran.err) < 600


def test_entry_given_twice(command: Any, repository: Any) -> None:
    row = GOOD.splitlines()[5]
    repository({"known.json": GOOD.replace(row, f"{row},\n{row}")})
    assert "known.json line 7 column 3: The entry stands on line 6 already." in command("inspect", "box.rig", *KNOWN).err


@pytest.mark.parametrize("data", [b'{"a": "\xff"}', b"\x00" * 10])
def test_baseline_that_is_no_text(command: Any, repository: Any, data: bytes) -> None:
    repository({})
    Path("known.json").write_bytes(data)
    ran = command("inspect", "box.rig", *KNOWN)
    assert (ran.code, ran.out) == (2, "")
    assert "known.json line 1 column " in ran.err


def test_baseline_that_is_a_folder_or_a_pipe(command: Any, repository: Any) -> None:
    repository({"known.json/x": ""})
    assert "This is no plain file." in command("inspect", "box.rig", *KNOWN).err
    if hasattr(os, "mkfifo"):
        os.mkfifo("pipe.json")
        assert "This is no plain file." in command("inspect", "box.rig", "--baseline", "pipe.json").err


NAMES = st.text(st.characters(exclude_categories=("Cs",)), min_size=1, max_size=6)
AMOUNTS = st.none() | st.tuples(st.floats(-1e6, 1e6, allow_nan=False), st.sampled_from(["A", "V", "1"]))
ENTRIES = st.builds(
    Entry, NAMES, NAMES, NAMES, st.lists(NAMES, min_size=1, max_size=3, unique=True).map(lambda names: tuple(sorted(names))),
    st.sampled_from(["error", "warning", "note"]), AMOUNTS, AMOUNTS, st.sampled_from(["at-most", "at-least"]), st.just(Span("", 1, 1, 1, 2)),
)  # fmt: skip


@settings(max_examples=200, deadline=None)
@given(st.lists(ENTRIES, max_size=4, unique_by=lambda entry: (entry.path, entry.rule, entry.grade, entry.subject)))
def test_what_is_written_is_read_again(entries: list[Entry]) -> None:
    text = document_of(entries, "1", "reached")
    VALIDATOR.validate(json.loads(text))
    baseline, faults = read_text(text, "known.json")
    assert faults == ()
    assert baseline.states == "reached"
    assert sorted(map(repr, (e.path for e in baseline.entries.values()))) == sorted(map(repr, (e.path for e in entries)))
    assert set(baseline.entries.values()) == set(entries)
    for entry in baseline.entries.values():
        assert text.splitlines()[entry.span.line - 1][entry.span.column - 1] == "{"


@settings(max_examples=300, deadline=None)
@given(st.integers(0, len(GOOD) - 1), st.sampled_from(["", "x", '"', "{", "]", ",", "0", "\n"]))
def test_damage_anywhere_is_told_or_harmless(place: int, put: str) -> None:
    """One character changed: either the same entry is read, or the place is told; what the schema refuses is refused."""
    text = GOOD[:place] + put + GOOD[place + 1 :]
    baseline, faults = read_text(text, "known.json")
    if faults:
        (fault,) = faults
        assert 1 <= fault.span.line <= text.count("\n") + 1
        assert baseline.entries == {}
        return
    VALIDATOR.validate(json.loads(text))


def test_schema_is_one() -> None:
    Draft202012Validator.check_schema(SCHEMA)


# faults while writing ------------------------------------------------------------------------------------------------

WRITE = """
import os, signal, sys
{before}
from ohmwright.cli import main
sys.exit(main(["inspect", "box.rig", "--baseline", "known.json", "--write-baseline"]))
"""


@pytest.mark.parametrize(
    ("before", "codes"),
    [
        (
            "import resource; signal.signal(signal.SIGXFSZ, signal.SIG_IGN); resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100))",
            (2,),
        ),
        ("os.fsync = lambda number: (_ for _ in ()).throw(OSError(28, 'No space left on device'))", (2,)),
        ("os.replace = lambda *paths: os.kill(os.getpid(), signal.SIGKILL)", (-9,)),
        ("os.fsync = lambda number: os.kill(os.getpid(), signal.SIGKILL)", (-9,)),
        ("os.replace = lambda *paths: (_ for _ in ()).throw(OSError(30, 'Read-only file system'))", (2,)),
    ],
    ids=["full disk", "full disk at the end", "killed before its place is taken", "killed while writing", "read-only"],
)
@pytest.mark.skipif(sys.platform == "win32", reason="signals and limits of POSIX")
def test_old_baseline_or_new_one_and_never_a_half(tmp_path: Path, kit: Any, before: str, codes: tuple[int, ...]) -> None:
    (tmp_path / "box.rig").write_text(kit.bench, encoding="utf-8")
    for text in (None, GOOD):
        known = tmp_path / "known.json"
        if text is not None:
            known.write_text(text, encoding="utf-8")
        script = WRITE.format(before=before)
        environment = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1"}  # the limit is for our file, not for compiled modules
        ran = subprocess.run(
            [sys.executable, "-c", script], cwd=tmp_path, capture_output=True, text=True, check=False, env=environment
        )
        assert ran.returncode in codes, ran.stderr
        assert (known.read_text(encoding="utf-8") if known.exists() else None) == text
        if codes == (2,):
            assert "known.json cannot be written: " in ran.stderr
            assert "Traceback" not in ran.stderr
            assert sorted(path.name for path in tmp_path.iterdir()) == ["box.rig"] + (["known.json"] if text else [])
