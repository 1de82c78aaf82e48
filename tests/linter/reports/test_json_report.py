"""The machine-readable results: every key of the contract (design.md section 6), held to the shipped schemas, which reject what is wrong."""

from __future__ import annotations

import json
import math
from copy import deepcopy
from importlib.resources import files
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from ohmwright.findings import Finding, Severity
from ohmwright.references import Reference, Step
from ohmwright.reports.json_report import write
from ohmwright.rules import Grade, Rule
from ohmwright.values import Amount
from ohmwright_grammar.spans import Span


def validator(name: str) -> Any:
    schema = json.loads((files("ohmwright") / "schemas" / f"{name}.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker())


BUILDS = {
    "found.rig": lambda bench: bench,
    "waived.rig": lambda bench: bench + 'waive warm-wire on feed up to 26 A because "x" until 2027-01-01\n',
    "unchecked.rig": lambda bench: bench.replace("; 0.6 m", "").replace("; internal resistance 4 mohm", ""),
    "promises.rig": lambda bench: bench + "require weigh at most 9 kg\nrequire run lamp for 4 h\n",
    "spoilt.rig": lambda bench: bench.replace("4 mohm", "4 = mohm") + "nonsense\nload fan 5 amps\n",
    "other.rig": lambda bench: bench.replace("us-small-craft", "iec"),
    "adapting.rig": lambda bench: 'rig "Mine"\nadapts "waived.rig"\n',
    "shelf.rig": lambda bench: "fuse small { 15 A blade }\n",
    "empty.rig": lambda bench: "",
}


@pytest.fixture
def document(kit: Any) -> dict[str, Any]:
    """A result that holds something of everything."""
    result = kit.inspect({name: make(kit.bench) for name, make in BUILDS.items()}, assumed=True)
    loaded: dict[str, Any] = json.loads(write(result))
    return loaded


def build(document: dict[str, Any], name: str) -> dict[str, Any]:
    return next(item for item in document["builds"] if item["path"] == name)


def test_result_holds_to_the_schema(document: dict[str, Any]) -> None:
    validator("inspect").validate(document)
    for key in ("findings", "passes", "not_checked", "does_not_apply", "requirements", "assumed", "waived", "states"):
        assert any(item[key] for item in document["builds"]), f"nothing tests {key}"


def test_keys_stand_in_the_order_of_the_contract(document: dict[str, Any]) -> None:
    assert list(document) == ["ohmwright", "schema", "run", "builds"]
    assert list(document["run"]) == ["today", "packs", "settings", "errors"]
    assert list(document["builds"][0]) == [
        "path", "kind", "title", "revision", "basis", "partial", "states", "findings", "passes", "not_checked", "does_not_apply", "requirements",
        "assumed", "waived", "yielded", "baselined", "switched_off", "not_reached",
    ]  # fmt: skip
    assert list(build(document, "found.rig")["findings"][0]) == [
        "rule", "grade", "family", "covers", "severity", "subject", "state", "states", "message", "measured", "limit", "sense", "margin", "working",
        "remedy", "edits", "because", "reference", "span", "related", "fingerprint",
    ]  # fmt: skip


def test_finding_in_full(document: dict[str, Any]) -> None:
    finding = build(document, "found.rig")["findings"][0]
    assert finding["measured"] == {"value": pytest.approx(25.0), "unit": "A"}
    assert finding["limit"] == {"value": 20.0, "unit": "A"}
    assert (finding["sense"], finding["margin"]) == ("at-most", pytest.approx(-0.25))
    assert finding["span"] == {"path": "found.rig", "line": 7, "column": 1, "end_line": 7, "end_column": 10}
    assert finding["working"][1] == {
        "symbol": "I_most",
        "expression": "8 x 2.5",
        "value": 20.0,
        "unit": "A",
        "from": "Invented handbook, table 1",
    }
    assert finding["reference"] == {
        "document": "Invented handbook",
        "edition": "first edition",
        "section": "table 1",
        "status": "read",
    }


def test_what_is_unknown_is_null(document: dict[str, Any]) -> None:
    spoilt = build(document, "spoilt.rig")["findings"][0]
    assert (spoilt["measured"], spoilt["limit"], spoilt["margin"], spoilt["state"]) == (None, None, None, None)
    shelf = build(document, "shelf.rig")
    assert (shelf["kind"], shelf["title"], shelf["revision"], shelf["basis"]) == ("library", None, None, None)


def test_waived_finding_tells_its_waiver(document: dict[str, Any]) -> None:
    (waived,) = build(document, "waived.rig")["waived"]
    assert waived["waiver"]["reason"] == "x"
    assert waived["waiver"]["value"] == {"value": 26.0, "unit": "A"}
    assert waived["waiver"]["until"] == "2027-01-01"
    assert waived["waiver"]["span"]["line"] == 10


def test_edits_are_told_with_their_place(document: dict[str, Any]) -> None:
    edits = [edit for finding in build(document, "spoilt.rig")["findings"] for edit in finding["edits"]]
    assert {
        "path": "spoilt.rig",
        "span": {"path": "spoilt.rig", "line": 11, "column": 12, "end_line": 11, "end_column": 16},
        "text": "A",
    } in edits


def test_numbers_that_are_none_are_null(kit: Any) -> None:
    rule = Rule("odd", "t", "invented", "part", (), (Grade("odd", Severity.ERROR, "c"),), (Reference("H", "", "", "read"),))

    def check(study: object) -> Any:
        step = Step("x", "1 / 0", math.inf, "1", "nowhere")
        yield Finding(
            "odd", ("feed",), "m", Span("bench.rig", 7, 1, 7, 2), Amount(math.nan, "current"), Amount(math.inf, "current"), working=(step,)
        )  # fmt: skip

    text = write(kit.inspect(kit.bench, pack=kit.pack_of((rule, check))))
    finding = json.loads(text, parse_constant=pytest.fail)["builds"][0]["findings"][0]
    assert (finding["measured"], finding["limit"], finding["margin"], finding["working"][0]["value"]) == (
        None,
        None,
        None,
        None,
    )
    validator("inspect").validate(json.loads(text))


def test_text_is_plain_ascii_and_holds_no_control_characters(kit: Any) -> None:
    text = write(kit.inspect(kit.bench.replace("Bench", "B\u202eé\x1b[31m\u2028n")))
    assert text.isascii()
    assert "\x1b" not in text
    assert json.loads(text)["builds"][0]["title"] == "B\u202eé\x1b[31m\u2028n"


def test_layout_says_the_same_as_the_plain_encoder(document: dict[str, Any], kit: Any) -> None:
    text = write(kit.inspect({name: make(kit.bench) for name, make in BUILDS.items()}, assumed=True))
    assert json.loads(text) == document
    assert text.endswith("}\n")
    assert max(len(line) for line in text.splitlines()) < 2000


WRONG = [
    ("a key is missing", lambda doc: doc["builds"][0].pop("findings")),
    ("a key too many", lambda doc: doc["builds"][0].update(colour="red")),
    ("another version", lambda doc: doc.update(schema=2)),
    ("unknown unit", lambda doc: doc["builds"][1]["findings"][0]["measured"].update(unit="mA")),
    ("unknown severity", lambda doc: doc["builds"][1]["findings"][0].update(severity="fatal")),
    ("line 0", lambda doc: doc["builds"][1]["findings"][0]["span"].update(line=0)),
    ("no date", lambda doc: doc["run"].update(today="tomorrow")),
    ("a word for a number", lambda doc: doc["builds"][1]["findings"][0]["measured"].update(value="25")),
    ("no subject", lambda doc: doc["builds"][1]["findings"][0].update(subject=[])),
    ("odd fingerprint", lambda doc: doc["builds"][1]["findings"][0].update(fingerprint="xyz")),
    ("odd origin", lambda doc: doc["builds"][1]["states"][0].update(origin="invented")),
    ("odd verdict", lambda doc: next(b for b in doc["builds"] if b["requirements"])["requirements"][0].update(verdict="maybe")),
    ("odd kind", lambda doc: doc["builds"][0].update(kind="file")),
    ("waiver without a reason", lambda doc: next(b for b in doc["builds"] if b["waived"])["waived"][0]["waiver"].pop("reason")),
]


@pytest.mark.parametrize("spoil", [case[1] for case in WRONG], ids=[case[0] for case in WRONG])
def test_wrong_document_is_rejected(document: dict[str, Any], spoil: Any) -> None:
    document["builds"].sort(key=lambda item: (item["path"] != "empty.rig", item["path"] != "found.rig"))
    check = validator("inspect")
    check.validate(document)
    wrong = deepcopy(document)
    spoil(wrong)
    with pytest.raises(jsonschema.ValidationError):
        check.validate(wrong)


# solve and basis ----------------------------------------------------------------------------------------------------


def test_solved_states_hold_to_the_schema(command: Any, kit: Any) -> None:
    Path("box.rig").write_text(kit.bench, encoding="utf-8")
    ran = command("solve", "box.rig", "--output", "json")
    assert ran.code == 0
    document = json.loads(ran.out, parse_constant=pytest.fail)
    check = validator("solve")
    check.validate(document)
    state = document["builds"][0]["states"][0]
    for spoil in (
        lambda: state.pop("reason"),
        lambda: state["conductors"]["feed"].update(current="25"),
        lambda: state["parts"]["lamp"].update(colour="red"),
        lambda: state["voltages"].update({"lamp.plus": "12"}),
    ):
        before = deepcopy(state)
        spoil()
        with pytest.raises(jsonschema.ValidationError):
            check.validate(document)
        state.clear()
        state.update(before)
    check.validate(document)


def test_rules_hold_to_the_schema(command: Any, sample_installed: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("ohmwright.rules.installed_packs", lambda: (sample_installed,))
    ran = command("basis", "--output", "json")
    document = json.loads(ran.out)
    check = validator("basis")
    check.validate(document)
    document["rules"][0].pop("pack")
    with pytest.raises(jsonschema.ValidationError):
        check.validate(document)
