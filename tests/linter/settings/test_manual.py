"""The manual of the settings: its examples are read, and it names every key with what holds without it."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from ohmwright.reports import WRITERS
from ohmwright.rules import installed_packs
from ohmwright.settings.checking import KEYS
from ohmwright.settings.names import unknown_in
from ohmwright.settings.reading import read
from ohmwright.settings.site import site_of
from ohmwright.text_rules import BASELINE_RULES

ROOT = Path(__file__).resolve().parents[3]
MANUAL = (ROOT / "linter" / "SETTINGS.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"^```toml\n(.*?)^```", MANUAL, re.MULTILINE | re.DOTALL)


@pytest.mark.parametrize("text", EXAMPLES)
def test_example_is_read(text: str) -> None:
    shared = "tool.ohmwright" in text
    found = read(text, "pyproject.toml" if shared else "ohmwright.toml", shared=shared)
    assert found.faults == ()
    assert found.settings is not None
    assert unknown_in(found.settings, installed_packs()) == ()
    assert site_of(found.settings)[1] == ()


def test_there_are_examples_of_both_files() -> None:
    assert sorted("tool.ohmwright" in text for text in EXAMPLES) == [False, True]


def test_first_example_and_table_name_every_key_in_order() -> None:
    assert re.findall(r"^\| `([a-z-]+)` \|", MANUAL, re.MULTILINE) == list(KEYS)
    for name, key in KEYS.items():
        assert re.search(rf"^{name} = |^\[+{name}\]+$", EXAMPLES[0], re.MULTILINE), name
        for inner in key.keys:
            assert re.search(rf"^{inner} = ", EXAMPLES[0], re.MULTILINE), inner
            assert f"`{inner}`" in MANUAL
        for choice in key.choices:
            assert f'"{choice}"' in MANUAL


def test_precedence_is_what_show_settings_says(command: Any, repository: Any) -> None:
    """Command line, settings, defaults: one key said in all three ways."""
    repository({"ohmwright.toml": 'bar = "warning"\n'})
    for arguments, row in (
        (("--bar", "note"), "bar note command line"),
        ((), "bar warning ohmwright.toml line 1"),
        (("--settings", "none"), "bar error default"),
    ):
        printed = command("inspect", "box.rig", "--show-settings", *arguments).out
        assert row in [" ".join(line.split()) for line in printed.splitlines()]


def test_rules_of_the_baseline_rest_on_this_page() -> None:
    assert {str(reference) for rule in BASELINE_RULES.values() for reference in rule.references} == {
        "Ohmwright, manual of the settings, linter/SETTINGS.md"
    }


def test_show_settings_has_a_row_for_every_key(command: Any, repository: Any) -> None:
    left_out = '[[left-out]]\npath = "x"\nbecause = "y"\n'
    accepted = '[[accepted]]\nbuild = "box.rig"\nwaiver = "warm-wire on feed until 2030-01-01"\nbecause = "y"\n'
    repository(
        {"ohmwright.toml": f'{left_out}[[grades]]\ngrade = "warm-wire.over"\nseverity = "note"\nbecause = "z"\n{accepted}'}
    )
    printed = command("inspect", "box.rig", "--show-settings").out
    for name, key in KEYS.items():
        for row in [f"{name} {inner}" for inner in key.keys] if key.kind == "table" else [name]:
            assert re.search(rf"^  {row} ", printed, re.MULTILINE), row


@pytest.mark.parametrize("format", sorted(WRITERS))
def test_every_format_can_be_the_usual_one(command: Any, repository: Any, format: str) -> None:
    repository({"ohmwright.toml": f'[output]\nformat = "{format}"\n'})
    assert command("inspect", "box.rig").out == command("inspect", "box.rig", "--output", format).out
