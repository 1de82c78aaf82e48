"""SARIF against the schema of OASIS and what GitHub's code scanning publishes of its limits ("SARIF support for code scanning", docs.github.com)."""

from __future__ import annotations

import gzip
import hashlib
import json
import random
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft4Validator
from ohmwright.findings import Related
from ohmwright.reports import sarif
from ohmwright.reports.places import Places
from ohmwright.results import Result
from ohmwright.rules import installed_packs
from ohmwright_grammar.spans import Span

SCHEMAS = Path(__file__).with_name("schemas")


@cache
def validator() -> Draft4Validator:
    return Draft4Validator(json.loads((SCHEMAS / "sarif-schema-2.1.0.json").read_text(encoding="utf-8")))


def log_of(result: Result) -> Any:
    """Return the log of a result, which holds to the schema."""
    log = json.loads(sarif.write(result))
    assert [error.message for error in validator().iter_errors(log)] == []
    return log


def run_of(result: Result) -> Any:
    (run,) = log_of(result)["runs"]
    return run


@pytest.mark.parametrize(
    ("name", "digest"),
    [
        ("sarif-schema-2.1.0.json", "c3b4bb2d6093897483348925aaa73af03b3e3f4bd4ca38cef26dcb4212a2682e"),
        ("junit-10.xsd", "a1a816f58d1bf95ebabf371994df0b9246dee66ea9572fbec4f9296f1b2c0ff6"),
    ],
)
def test_schemas_are_those_of_their_makers(name: str, digest: str) -> None:
    data = (SCHEMAS / name).read_bytes()
    assert hashlib.sha256(data).hexdigest() == digest
    assert digest in (SCHEMAS / "README.md").read_text(encoding="utf-8")


def test_schema_refuses_what_is_wrong(result_of: Any) -> None:
    log = log_of(result_of("word"))
    log["runs"][0]["results"][0]["level"] = "bad"
    assert not validator().is_valid(log)


def test_what_github_asks_for_is_there(result_of: Any) -> None:
    """Required properties, none of them empty."""
    log = log_of(result_of("word"))
    assert (log["$schema"], log["version"]) == (validator().schema["id"], "2.1.0")
    (run,) = log["runs"]
    driver = run["tool"]["driver"]
    assert driver["name"]
    assert driver["rules"]
    for rule in driver["rules"]:
        assert rule["id"]
        assert rule["name"] == "InventedCheck"
        assert 0 < len(rule["shortDescription"]["text"]) <= 1024
        assert 0 < len(rule["fullDescription"]["text"]) <= 1024
        assert rule["help"]["text"]
        assert rule["help"]["markdown"]
        assert len(rule["properties"]["tags"]) <= 10
        assert rule["properties"]["problem.severity"] in ("error", "warning", "recommendation")
        assert "Invented handbook, first edition, table 1" in rule["help"]["text"]
    for item in run["results"]:
        assert driver["rules"][item["ruleIndex"]]["id"] == item["ruleId"]
        assert item["message"]["text"]
        assert item["level"] in ("note", "warning", "error")
        (location,) = item["locations"]
        physical = location["physicalLocation"]
        assert physical["artifactLocation"]["uri"] == "box.rig"
        assert set(physical["region"]) == {"startLine", "startColumn", "endLine", "endColumn"}
        assert item["partialFingerprints"]["primaryLocationLineHash"]
    prints = [item["partialFingerprints"]["primaryLocationLineHash"] for item in run["results"]]
    assert len(set(prints)) == len(prints)


def test_every_rule_is_described_as_github_asks() -> None:
    """The texts of all rules that are installed, each with its page and where it rests; lengths of "SARIF support for code scanning"."""
    rules = [item.rule for pack in installed_packs() for item in pack.ready()]
    assert len(rules) > 100
    for rule, page in sarif._with_pages(rules, "1"):
        told = sarif._descriptor(rule, page)
        assert 0 < len(told["id"]) <= 255
        assert 0 < len(told.get("name", "x")) <= 255
        for key in ("shortDescription", "fullDescription"):
            assert 0 < len(told[key]["text"]) <= 1024, rule.id
        assert "Why it matters" in told["help"]["markdown"], rule.id
        assert "Why it matters" in told["help"]["text"], rule.id
        assert len(told["help"]["markdown"]) < sarif.MOST_HELP, rule.id
        assert rule.references, rule.id
        for reference in rule.references:
            assert str(reference).split(",")[0] in " ".join(told["help"]["text"].split()), rule.id
        assert 0 < len(told["properties"]["tags"]) <= 10


def test_long_texts_of_a_rule_are_cut(result_of: Any) -> None:
    rule = result_of("word").builds[0].findings[0].rule
    grades = tuple(replace(grade, condition="w" * 2000) for grade in rule.grades)
    told = sarif._descriptor(replace(rule, title="t" * 2000, grades=grades), ("x", "x"))
    assert (len(told["shortDescription"]["text"]), len(told["fullDescription"]["text"])) == (1024, 1024)


def test_the_worst_first_and_what_does_not_count_last(result_of: Any, build_of: Any) -> None:
    run = run_of(result_of("word", build_of("word", "a.rig", 2), build_of("word", "b.rig", 2)))
    told = [(bool(item["suppressions"]), item["level"]) for item in run["results"]]
    order = {"error": 0, "warning": 1, "note": 2}
    counted = [order[level] for off, level in told if not off]
    assert counted == sorted(counted)
    assert [off for off, _ in told] == sorted(off for off, _ in told)
    assert len(told) == 2 * (2 * 3 + 1 + 2)


def test_waived_and_held_ones_are_suppressed(result_of: Any) -> None:
    """If one result says whether it is suppressed, all must (SARIF 2.1.0, 3.27.23, from memory): none is without the list."""
    results = run_of(result_of("word"))["results"]
    assert all("suppressions" in item for item in results)
    (waived,) = [item for item in results if item["suppressions"] and item["suppressions"][0]["kind"] == "inSource"]
    (words,) = waived["suppressions"]
    assert words["status"] == "accepted"
    assert words["justification"] == "invented-check.over on word waived0, word waived until 2026-05-01: word"
    assert words["location"]["physicalLocation"]["region"]["startLine"] == 3
    (held,) = [item for item in results if item["suppressions"] and item["suppressions"][0]["kind"] == "external"]
    assert held["suppressions"][0]["justification"] == "Held by the baseline, and no worse."


@pytest.mark.parametrize(("required", "level"), [(False, "warning"), (True, "error")])
def test_what_could_not_be_checked_is_as_severe_as_it_counts(result_of: Any, build_of: Any, required: bool, level: str) -> None:
    run = run_of(result_of("word", build_of("word", "box.rig", require_checked=required)))
    (gap,) = [item for item in run["results"] if item["properties"]["outcome"] == "not-checked"]
    assert (gap["level"], gap["locations"][0]["physicalLocation"]["region"]["startLine"]) == (level, 6)
    assert gap["message"]["text"] == "Not checked for want of length of word: invented-check.over of word open."
    assert gap["properties"]["declare"] == "word"


def test_related_places_and_edits(result_of: Any) -> None:
    first = run_of(result_of("word"))["results"][0]
    (related,) = first["relatedLocations"]
    assert (related["message"]["text"], related["physicalLocation"]["region"]["startLine"]) == ("word", 4)
    (fix,) = first["fixes"]
    (change,) = fix["artifactChanges"]
    assert change["replacements"] == [
        {"deletedRegion": {"startLine": 3, "startColumn": 2, "endLine": 3, "endColumn": 5}, "insertedContent": {"text": "word"}}
    ]


def test_run_that_failed_says_so(result_of: Any) -> None:
    (invocation,) = run_of(result_of("word"))["invocations"]
    assert invocation["executionSuccessful"] is False
    told = [(item["level"], item["message"]["text"]) for item in invocation["toolExecutionNotifications"]]
    assert told[0] == ("error", "The run itself failed: word (word)")
    assert told[-1][1].startswith("This is a design check against published values, no approval.")
    assert any("Left out: word, 1 file (word), because word" in words for _, words in told)
    assert run_of(result_of("word", errors=()))["invocations"][0]["executionSuccessful"] is True


def test_file_read_in_part_says_so(result_of: Any, build_of: Any) -> None:
    (invocation,) = run_of(result_of("word", build_of("word", "box.rig", partial=True)))["invocations"]
    assert any("box.rig was read in part only" in item["message"]["text"] for item in invocation["toolExecutionNotifications"])


# fingerprints --------------------------------------------------------------------------------------------------------

BOX = 'rig "Box", revision 1\nbasis us-small-craft\nbattery house { LFP, 4 cells, 100 Ah }\nload lamp 25 A\nall wires { copper; 105 degC insulation; in free air }\n'
WIRES = "wire feed from house.plus to lamp.plus { 6 AWG; 0.6 m }\nwire back from lamp.minus to house.minus { 6 AWG; 0.6 m }\n"
STATE = 'state "lamp on" { lamp on; house at 60 % }\n'


def prints(kit: Any, text: str, path: str = "box.rig") -> dict[tuple[str, str], str]:
    found = run_of(kit.inspect({path: text}))["results"]
    return {
        (item["ruleId"], item["locations"][0]["logicalLocations"][0]["fullyQualifiedName"]): item["partialFingerprints"]["primaryLocationLineHash"]
        for item in found
    }  # fmt: skip


def test_fingerprints_stay_when_lines_states_and_values_change(kit: Any) -> None:
    before = prints(kit, BOX + WIRES + STATE)
    assert {name for name, _ in before} == {"warm-wire", "unlabelled-battery"}
    moved = (
        "# a comment\n\n"
        + BOX.replace("25 A", "29 A")
        + WIRES.replace("6 AWG", "4 AWG")
        + STATE.replace('"lamp on"', '"night"')
    )
    assert prints(kit, moved) == before


def test_fingerprints_change_with_name_and_path(kit: Any) -> None:
    before = prints(kit, BOX + WIRES + STATE)
    assert not set(before.values()) & set(prints(kit, BOX + WIRES + STATE, "other.rig").values())
    renamed = prints(kit, BOX + WIRES.replace("feed", "supply") + STATE)
    assert renamed["warm-wire", "supply"] not in before.values()
    assert renamed["warm-wire", "back"] == before["warm-wire", "back"]


# places --------------------------------------------------------------------------------------------------------------


def test_columns_count_utf_16_units(build_of: Any, home_of: Any) -> None:
    """SARIF 2.1.0, 3.14.17: columnKind utf16CodeUnits. U+1F50B is two units in UTF-16 (its encoding here: len of the bytes / 2)."""
    text = "ab\ncd 🔋 ef 🔋 gh\nä ij"
    build = build_of("word", "box.rig", home=home_of("boats/", text))
    places = Places()
    line = text.split("\n")[1]
    for start in range(len(line)):
        for end in range(start + 1, len(line) + 1):
            region = places.exact(Span("box.rig", 2, start + 1, 2, end + 1), build)
            encoded = line.encode("utf-16-le")
            cut = encoded[2 * (region.column - 1) : 2 * (region.end_column - 1)]
            assert cut.decode("utf-16-le") == line[start:end]
    assert places.exact(Span("box.rig", 3, 3, 3, 5), build).column == 3
    assert places.exact(Span("box.rig", 3, 3, 3, 5), build).path == "boats/box.rig"


def test_region_is_one_line(build_of: Any, home_of: Any) -> None:
    build = build_of("word", "box.rig", home=home_of("", "battery house {\n  LFP\n}\n"))
    region = Places().tight(Span("box.rig", 1, 9, 3, 2), build)
    assert (region.line, region.column, region.end_line, region.end_column) == (1, 9, 1, 16)
    empty = Places().tight(Span("box.rig", 1, 9, 1, 9), build)
    assert empty.end_column == 10


def test_place_after_a_letter_outside_of_the_basic_plane(command: Any, sample_installed: Any) -> None:
    Path("box.rig").write_text('rig "Boat 🚤", revision 1; battery house { LFP, 4 cells, 100 Ah }\n', encoding="utf-8")
    command("inspect", "box.rig", "--output", "sarif", "--to", "a.sarif")
    (run,) = json.loads(Path("a.sarif").read_text(encoding="utf-8"))["runs"]
    (found,) = [item for item in run["results"] if item["ruleId"] == "unlabelled-battery"]
    region = found["locations"][0]["physicalLocation"]["region"]
    assert run["columnKind"] == "utf16CodeUnits"
    assert (region["startLine"], region["startColumn"]) == (1, 28)  # counted by hand; 27 in code points


def test_paths_are_told_from_the_top_of_the_repository(command: Any, kit: Any, sample_installed: Any) -> None:
    """GitHub wants paths relative to the repository; ours begin at the nearest settings."""
    Path(".git").mkdir()
    for folder in ("boats/my ferry", "carts"):
        Path(folder).mkdir(parents=True)
        Path(folder, "ohmwright.toml").write_text("", encoding="utf-8")
        Path(folder, "bö:x.rig").write_text(kit.bench, encoding="utf-8")
    command("inspect", ".", "--output", "sarif", "--to", "a.sarif", "--output", "json", "--to", "a.json")
    (run,) = json.loads(Path("a.sarif").read_text(encoding="utf-8"))["runs"]
    uris = {item["locations"][0]["physicalLocation"]["artifactLocation"]["uri"] for item in run["results"]}
    assert uris == {"boats/my%20ferry/b%C3%B6%3Ax.rig", "carts/b%C3%B6%3Ax.rig"}
    assert len({item["partialFingerprints"]["ohmwright/v1"] for item in run["results"]}) == len(run["results"])
    assert {build["path"] for build in json.loads(Path("a.json").read_text(encoding="utf-8"))["builds"]} == {"bö:x.rig"}


@pytest.mark.parametrize(
    ("path", "uri"),
    [
        ("a/b.rig", "a/b.rig"),
        ("a b.rig", "a%20b.rig"),
        ("c:d.rig", "c%3Ad.rig"),  # RFC 3986, 4.2: a first segment with a colon would be a scheme
        ("#?%.rig", "%23%3F%25.rig"),
        ("\udcff.rig", "%FF.rig"),  # a name that is no UTF-8, as the system's names are read
        ("\ud800.rig", "%3F.rig"),
    ],
)
def test_uri(path: str, uri: str) -> None:
    assert sarif._uri(path) == uri


# limits --------------------------------------------------------------------------------------------------------------


def test_more_results_than_a_service_takes(result_of: Any, build_of: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    assert (sarif.MOST_RESULTS, sarif.MOST_BYTES < 10_000_000) == (25_000, True)
    monkeypatch.setattr(sarif, "MOST_BYTES", 10**12)
    run = run_of(result_of("w", build_of("w", "box.rig", 9000)))
    assert len(run["results"]) == 25_000
    assert [item["level"] for item in run["results"][:18_001]] == ["error"] * 9000 + ["warning"] * 9001
    told = [item["message"]["text"] for item in run["invocations"][0]["toolExecutionNotifications"]]
    assert any(words.startswith("2,003 more results, none worse than these, left out") for words in told)


def test_log_is_below_ten_megabytes_after_gzip_whatever_it_holds(result_of: Any, build_of: Any) -> None:
    """Names that cannot be compressed, in every place."""
    source = random.Random(1)
    builds = []
    for number in range(60):
        noise = "".join(chr(source.randrange(0x4E00, 0x9FA5)) for _ in range(5000))
        builds.append(build_of(noise, f"box{number}.rig", 20))
    written = sarif.write(result_of("w", *builds)).encode()
    assert len(gzip.compress(written, 6)) < 10_000_000
    results = json.loads(written)["runs"][0]["results"]
    assert 40 < len(results) < 60 * 60
    assert all(len(item["message"]["text"]) <= 4100 for item in results)


def test_more_places_than_a_service_keeps(result_of: Any, build_of: Any) -> None:
    build = build_of("word", "box.rig")
    first = build.findings[0]
    many = tuple(Related(f"place {number}", Span("box.rig", number + 1, 1, number + 1, 2)) for number in range(150))
    build = replace(build, findings=(replace(first, finding=replace(first.finding, related=many)),))
    assert len(run_of(result_of("word", build))["results"][0]["relatedLocations"]) == 100


# the whole way -------------------------------------------------------------------------------------------------------


def test_example_with_the_real_rules(command: Any) -> None:
    example = Path(__file__).resolve().parents[3] / "examples" / "first.rig"
    Path("first.rig").write_text(example.read_text(encoding="utf-8"), encoding="utf-8")
    ran = command("inspect", "first.rig", "--output", "sarif", "--today", "2026-01-01")
    log = json.loads(ran.out)
    assert [error.message for error in validator().iter_errors(log)] == []
    (run,) = log["runs"]
    rules = {rule["id"]: rule for rule in run["tool"]["driver"]["rules"]}
    page = rules["weak-breaking"]["help"]["markdown"]
    assert page.startswith("# ")
    assert "**Worked number.**" in page
    assert "46 CFR 111.54-1" in rules["weak-breaking"]["help"]["text"]
    faults = [item for item in run["results"] if item["ruleId"] == "weak-fault"]
    (place,) = faults[0]["locations"]
    assert place["physicalLocation"]["region"] == {
        "startLine": 16,
        "startColumn": 1,
        "endLine": 16,
        "endColumn": 10,
    }  # fuse main
    said = {
        other["message"]["text"]: other["physicalLocation"]["region"]["startLine"] for other in faults[0]["relatedLocations"]
    }
    assert said == {"the far end, pump.plus": 18, "on the way there and back: out": 21, "on the way there and back: back": 22}
    message = run["results"][0]["message"]["text"]
    assert message.startswith("main: a short beside it draws 1.51 kA from house")
    assert (
        "Allowed: at most 1 kA (51 % over). Remedy: Use a fuse that interrupts 1.51 kA or more at 12 V. Basis: 46 CFR"
        in message
    )
