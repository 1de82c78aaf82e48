"""Every kind of bad text that the tool has to answer: a located message that helps, exit code 2, nothing else lost, no traceback."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.usefixtures("sample_installed")

# What is spoilt of the bench, by what, the line on which the message stands, its rule, a piece of the message and one of the remedy.
CASES = [
    ("missing unit", "6 AWG; 0.6 m }\nwire back", "6 AWG; 0.6 }\nwire back", 7, "missing-unit", "has no unit", "m or mm"),
    ("wrong unit", "4 mohm", "4 V", 4, "wrong-unit", "'V' is a unit of voltage", "ohm, mohm"),
    ("unknown unit", "4 mohm", "4 zork", 4, "unknown-unit", "'zork' is no unit", "ohm, mohm"),
    ("unknown part", "to lamp.plus", "to lmap.plus", 7, "unknown-name", "no part named 'lmap'", "lamp"),
    ("unknown terminal", "to lamp.plus", "to lamp.puls", 7, "unknown-name", "no terminal 'puls'", "plus"),
    ("unknown property", "internal resistance", "internl resistance", 4, "unknown-property", "'internl resistance'", "internal resistance"),
    ("unknown thing in a state", "{ lamp on;", "{ lmap on;", 9, "unknown-name", "'lmap'", "lamp"),
    ("unknown basis", "us-small-craft", "us-small-crafts", 2, "unknown-name", "no basis 'us-small-crafts'", "us-small-craft"),
    ("unknown zone", "0.6 m }\nwire back", "0.6 m; in bay }\nwire back", 7, "unknown-name", "'bay'", ""),
    ("duplicate name", "load lamp", "load house 3 A\nload lamp", 5, "duplicate-name", "'house' is given twice", "another name"),
    ("negative length", "0.6 m }\nwire back", "-0.6 m }\nwire back", 7, "senseless-value", "'length'", "above 0"),
    ("battery of 0 ohm", "4 mohm", "0 ohm", 4, "senseless-value", "'internal resistance'", "above 0"),
    ("900 % full", "60 %", "900 %", 9, "senseless-value", "charge level of 'house'", "0 % to 100 %"),
    ("less than empty", "60 %", "-1 %", 9, "senseless-value", "charge level of 'house'", "0 % to 100 %"),
    ("NaN", "60 %", "NaN %", 9, "senseless-value", "'NaN' is no number", "number"),
    ("1e400", "25 A", "1e400 A", 5, "senseless-value", "1e400", "can be held"),
    ("a lamp that is mated", "{ lamp on;", "{ lamp mated;", 9, "contradictory-state", "'lamp' is a load; it cannot be mated", "on or off"),
    ("a wire that is on", "{ lamp on;", "{ lamp on; feed on;", 9, "contradictory-state", "'feed' is a wire", ""),
    ("a lamp that is on and off", "{ lamp on;", "{ lamp on; lamp off;", 9, "contradictory-state", "lamp is said to be", "Leave one"),
    ("two charge levels", "60 %", "60 %; house at 70 %", 9, "contradictory-state", "house is said to be", "Leave one"),
    ("unclosed brace", "0.6 m }\nwire back", "0.6 m\nwire back", 7, "unclosed-block", "'wire feed' is not closed", "before line 8"),
    ("brace without an opening one", "site { ambient", "site ambient", 3, "unclosed-block", "closed, but not opened", "after 'site'"),
    ("unclosed string", '"Bench"', '"Bench', 1, "unclosed-text", "no closing quotation mark", '"'),
    ("stray bytes", "load lamp", "load lamp \x02\x03", 5, "unreadable-text", "no characters of a text", "away"),
]  # fmt: skip


def inspect(command: Any, text: str) -> tuple[int, dict[str, Any]]:
    Path("box.rig").write_text(text, encoding="utf-8", newline="")
    ran = command("inspect", "box.rig", "--output", "json", "--today", "2026-01-01")
    assert "Traceback" not in ran.out + ran.err
    assert ran.err == ""
    (build,) = json.loads(ran.out)["builds"]
    return ran.code, build


@pytest.mark.parametrize(
    ("right", "wrong", "line", "rule", "message", "remedy"), [case[1:] for case in CASES], ids=[case[0] for case in CASES]
)
def test_bad_text(command: Any, kit: Any, right: str, wrong: str, line: int, rule: str, message: str, remedy: str) -> None:
    assert kit.bench.count(right) == 1
    code, build = inspect(command, kit.bench.replace(right, wrong))
    assert code == 2
    assert build["partial"]
    told = [finding for finding in build["findings"] if finding["family"] == "text"]
    assert len(told) == 1, [finding["message"] for finding in told]
    (finding,) = told
    assert (finding["rule"], finding["span"]["line"], finding["severity"]) == (rule, line, "error")
    assert message in finding["message"]
    assert remedy in (finding["remedy"] or "")
    assert build["states"], "the rest was not inspected"
    assert build["kind"] == "build"


def test_unknown_state(command: Any, kit: Any) -> None:
    _, build = inspect(command, kit.bench + 'state "more" { same as "lamp onn" except { lamp off } }\n')
    (finding,) = [item for item in build["findings"] if item["family"] == "text"]
    assert (finding["rule"], finding["span"]["line"]) == ("unknown-name", 10)
    assert "lamp on" in finding["remedy"]


def test_unknown_rule(command: Any, kit: Any) -> None:
    code, build = inspect(command, kit.bench + 'waive worm-wire on feed because "x" until 2027-01-01\n')
    assert code == 2
    (finding,) = [item for item in build["findings"] if item["family"] == "text"]
    assert (finding["rule"], finding["span"]["line"]) == ("unknown-name", 10)
    assert "warm-wire" in finding["remedy"]


def test_pin_used_twice(command: Any, kit: Any) -> None:
    """A pin whose facts are given twice; two wires on one pin are a matter of the rules, which know how many wires it holds."""
    code, build = inspect(command, kit.bench + "connector box_socket with lamp_plug { 15 A; pin 1 plus; pin 1 minus }\n")
    assert code == 2
    (finding,) = [item for item in build["findings"] if item["family"] == "text"]
    assert (finding["rule"], finding["span"]["line"]) == ("said-twice", 10)


def test_all_mistakes_at_once(command: Any, kit: Any) -> None:
    """One run tells every independent mistake; the file is read as far as it can be."""
    text = kit.bench
    lines = set()
    for _, right, wrong, line, *_ in CASES:
        if text.count(right) == 1 and line not in lines and "\n" not in wrong and line not in (1, 3):
            text = text.replace(right, wrong)
            lines.add(line)
    code, build = inspect(command, text)
    assert code == 2
    assert lines <= {finding["span"]["line"] for finding in build["findings"] if finding["family"] == "text"}


@pytest.mark.parametrize("accepted", ["\ufeff{}", "crlf", "cr", "tabs"])
def test_accepted_all_the_same(command: Any, kit: Any, accepted: str) -> None:
    text = kit.bench.replace("25 A", "5 A")
    plain, _ = inspect(command, text)
    changed = {
        "crlf": text.replace("\n", "\r\n"),
        "cr": text.replace("\n", "\r"),
        "tabs": text.replace("; ", ";\t\t").replace("\nwire", "\n\twire"),
    }
    code, build = inspect(command, changed.get(accepted) or accepted.format(text))
    assert (plain, code) == (0, 0)
    assert not build["partial"]


def test_hundred_thousand_mistakes(command: Any) -> None:
    """Bounded in what is written, and counted; every one of them is in the result."""
    Path("box.rig").write_text('rig "Box"\n' + "x\n" * 100_000, encoding="utf-8")
    ran = command("inspect", "box.rig", "--budget", "120,2000")
    assert ran.code == 2
    assert "100,000 errors" in ran.out
    assert len(ran.out) < 200_000


def test_requirement_that_could_not_be_read_is_told_once(command: Any) -> None:
    Path("box.rig").write_text('rig "Box", revision 1\nrequire shelf happiness 3 months\n', encoding="utf-8")
    printed = command("inspect", "box.rig")
    assert printed.code == 2
    assert "Requirements" not in printed.out
