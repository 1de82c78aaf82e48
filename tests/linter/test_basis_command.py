"""`basis`: the list of all rules, one rule's page, and names that are not known."""

from __future__ import annotations

import importlib.util
import json
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from ohmwright.findings import Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Pack, Rule, installed_packs

PAGE = """\
# Wire too blue

**Checks.** Whether a wire is blue, and `how` blue it is; see [the card](https://example.invalid/card) for the hues that count, which are many and
stand in no order.

**Why it matters.** Blue wires look cold.

- first, a point that is so long that it has to be wrapped, since it says more than fits on one line of eighty columns
- second

| hue | limit |
| --- | --- |

```rig passes
rig "Red box" # a line of code that is longer than eighty columns and is kept as it is, not wrapped at all
```

```rig fails reached
rig "Blue box"
```
"""

RULE = Rule(
    "blue-wire", "Wire too blue", "colours", "wire", ("M9",),
    (Grade("blue", Severity.ERROR, "the hue is blue"), Grade("bluish", Severity.NOTE, "the hue is nearly blue")),
    (Reference("Colour card", "2nd", "p. 3", "read"), Reference("Old leaflet", "", "", "from-memory")), ("us-small-craft", "iec"),
)  # fmt: skip


@pytest.fixture
def pack(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Pack:
    """A pack with one rule that has a page beside its module."""
    (tmp_path / "blue_wire.py").write_text("# the module of the rule\n", encoding="utf-8")
    (tmp_path / "blue_wire.md").write_text(PAGE, encoding="utf-8")
    spec = importlib.util.spec_from_file_location("blue_wire", tmp_path / "blue_wire.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)

    class Colours(Pack):
        def load(self) -> Iterator[tuple[Rule, Any, ModuleType]]:
            yield RULE, (lambda study: iter(())), module

    numbers = {
        "blue-wire": {
            "hue": {"us-small-craft": "240 degrees (card)", "iec": "210 degrees (leaflet)"}, "same": {"us-small-craft": "1 (card)", "iec": "1 (leaflet)"}
        }
    }  # fmt: skip
    made = Colours(
        "colours",
        "3",
        (),
        bases=("us-small-craft", "iec"),
        not_covered=(("Z1", "no colour"),),
        numbers=lambda rule: numbers[rule],
    )
    monkeypatch.setattr("ohmwright.rules.installed_packs", lambda: (made,))
    return made


def test_list_of_all_rules(command: Any, pack: Pack) -> None:
    ran = command("basis")
    assert ran.code == 0
    lines = ran.out.splitlines()
    assert lines[:3] == [
        "colours",
        "  blue-wire (error, note): Wire too blue",
        "      Colour card, 2nd, p. 3; Old leaflet (from memory)",
    ]
    assert "  expired-waiver (warning): Waiver past its date" in lines
    assert "Not covered by any rule (1 code of the fault catalogue): Z1." in lines
    assert all(len(line) <= 80 for line in lines)


def test_family(command: Any, pack: Pack) -> None:
    ran = command("basis", "waivers")
    assert ran.code == 0
    assert "expired-waiver" in ran.out
    assert "blue-wire" not in ran.out


@pytest.mark.parametrize("name", ["blue-wire", "blue-wire.bluish"])
def test_page_of_a_rule(command: Any, pack: Pack, name: str) -> None:
    ran = command("basis", name)
    assert ran.code == 0
    lines = ran.out.splitlines()
    assert lines[0] == "blue-wire: Wire too blue"
    assert "family colours; judges each wire; covers M9 of the fault catalogue; from" in lines[1]
    assert "  blue (error): the hue is blue" in lines
    assert "  bluish (note): the hue is nearly blue" in lines
    assert "Checks. Whether a wire is blue, and how blue it is; see the card" in lines
    assert "A build that passes" in lines
    assert "A build that fails (with --states reached)" in lines
    assert "  Colour card, 2nd, p. 3 (read at the source)" in lines
    assert "  Old leaflet (from memory, not verified: at most a warning by default)" in lines
    code = '    rig "Red box" # a line of code that is longer than eighty columns and is kept as it is, not wrapped at all'
    assert code in lines
    assert all(len(line) <= 80 for line in lines if line != code)
    assert not any("```" in line or "**" in line or "`" in line for line in lines)


def test_numbers_stand_side_by_side_where_the_bases_disagree(command: Any, pack: Pack) -> None:
    out = command("basis", "blue-wire").out
    assert (
        "  where they disagree: hue\n      us-small-craft    240 degrees (card)\n      iec               210 degrees (leaflet)\n"
        in out
    )
    assert "same" not in out.split("Bases")[1]


def test_page_as_markdown(command: Any, pack: Pack) -> None:
    out = command("basis", "blue-wire", "--output", "markdown").out
    assert out.startswith(PAGE.rstrip())
    assert "| blue | error | the hue is blue |" in out
    assert "| hue | 240 degrees (card) | 210 degrees (leaflet) |" in out


def test_list_as_markdown(command: Any, pack: Pack) -> None:
    out = command("basis", "--output", "markdown").out
    assert "| `blue-wire` | Wire too blue | error, note | M9 | Colour card, 2nd, p. 3; Old leaflet (from memory) |" in out
    assert "| Z1 | no colour |" in out


def test_a_rule_that_names_no_bases_applies_on_all_of_them(command: Any, pack: Pack, monkeypatch: pytest.MonkeyPatch) -> None:
    other = Pack("more", "1", (), bases=("iec", "harbour"))
    monkeypatch.setattr("ohmwright.rules.installed_packs", lambda: (pack, other))
    document = json.loads(command("basis", "--output", "json").out)
    bases = {item["rule"]: item["bases"] for item in document["rules"]}
    assert bases["expired-waiver"] == ["us-small-craft", "iec", "harbour"]
    assert bases["blue-wire"] == ["us-small-craft", "iec"]


def test_result_for_programs(command: Any, pack: Pack) -> None:
    document = json.loads(command("basis", "--output", "json").out)
    rule = next(item for item in document["rules"] if item["rule"] == "blue-wire")
    assert rule["pack"] == "colours"
    assert rule["grades"][0] == {"grade": "blue", "severity": "error", "condition": "the hue is blue"}
    assert rule["bases"] == ["us-small-craft", "iec"]
    assert document["not_covered"] == [{"code": "Z1", "reason": "no colour"}]
    alone = json.loads(command("basis", "blue-wire", "--output", "json").out)
    assert [item["rule"] for item in alone["rules"]] == ["blue-wire"]


def test_rule_that_is_not_there(command: Any, pack: Pack) -> None:
    ran = command("basis", "blu-wire")
    assert (ran.code, ran.out) == (2, "")
    assert ran.err == "ohmwright: there is no rule 'blu-wire'. Rules near this one: blue-wire.\n"
    assert command("basis", "bleu").err == "ohmwright: there is no rule 'bleu'. Rules near this one: blue-wire.\n"


def test_every_installed_rule_has_a_page_that_can_be_printed(command: Any) -> None:
    for pack in installed_packs():
        for rule, _, _ in pack.load():
            ran = command("basis", rule.id)
            assert ran.code == 0
            assert f"{rule.id}: " in ran.out
            assert "Checks." in ran.out
            assert "A build that fails" in ran.out
