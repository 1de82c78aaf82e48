"""What --assumed lists beside defaults: the heat of a closed case's own losses, which is not summed (readings.md: the rise of L5 is always added)."""

from __future__ import annotations

from datetime import date

import pytest
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader
from ohmwright_rules import PACK

HEAD = """rig "Box", revision 1
site { ambient 0 degC to 30 degC }
battery house { LFP, 4 cells, 60 Ah; internal resistance 5 mohm }
"""


def heated(text: str) -> list[str]:
    options = InspectOptions(date(2026, 1, 1), only=("far-fuse",), assumed=True)
    (build,) = inspect_files(["box.rig"], Loader(MemoryFiles({"box.rig": HEAD + text})), options, (PACK,)).builds
    assert not [item.finding.message for item in build.findings if item.rule.family == "text"]
    rows = [item for item in build.assumed if item.what == "temperature rise inside"]
    assert all(row.value == "0 K" and "not summed" in row.source for row in rows)
    return [row.subject for row in rows]


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("", []),
        ("case tin { closed }\n", ["tin"]),
        ("case tin { metal }\n", ["tin"]),  # silence is no "open"
        ("case tin { not closed }\n", []),
        ("zone inside\n", ["inside"]),
        ("zone inside { -5 degC to 45 degC }\n", []),
        ("case tin { closed }\nzone inside { in tin }\n", ["inside"]),
        ("case tin { closed }\nzone inside { in tin; -5 degC to 45 degC }\n", []),
        ("case tin { closed }\nzone top { in tin; -5 degC to 45 degC }\nzone bottom { in tin }\n", ["bottom"]),
        ("case rack { not closed }\nzone shelf { in rack }\n", []),
    ],
)
def test_closed_cases_without_a_range_are_named(text: str, names: list[str]) -> None:
    assert heated(text) == names
