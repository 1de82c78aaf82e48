"""What builds of a repository have between them, in the Markdown summary: waivers that end soon, adaptations, copies that lag behind."""

from __future__ import annotations

from datetime import date
from typing import Any

import cmarkgfm
import pytest
from lxml import html
from ohmwright.reports import markdown

BASE = """\
rig "Box", revision 3
site { ambient 5 degC to 30 degC; record low -20 degC }
battery house { LFP, 4 cells, 100 Ah; internal resistance 4 mohm }
load lamp 5 A
load fan 3 A
wires 6 AWG, copper {
  feed from house.plus to lamp.plus, 0.6 m
  back from lamp.minus to house.minus, 0.6 m
  fan_1 from house.plus to fan.plus, 0.6 m
  fan_2 from fan.minus to house.minus, 0.6 m
}
state "on" { lamp, fan on }
"""
HILL = """\
rig "Hill box", revision 1
adapts "copies/box.rig" revision 3
site { ambient -10 degC to 20 degC; record low -35 degC }
change feed { 10 AWG; 1.5 m }
remove fan
remove fan_1
remove fan_2
"""
SHORE = """\
rig "Shore box", revision 1
adapts "copies/box.rig" revision 3
change feed { 4 AWG }
load horn 1 A
wire horn_1 from house.plus to horn.plus { 6 AWG; 0.6 m }
wire horn_2 from horn.minus to house.minus { 6 AWG; 0.6 m }
"""
FILES = {"copies/box.rig": BASE, "hill.rig": HILL, "shore.rig": SHORE}


def page_of(kit: Any, files: dict[str, str], **options: Any) -> Any:
    result = kit.inspect(files, **options)
    return html.fromstring(f"<div>{cmarkgfm.github_flavored_markdown_to_html(markdown.write(result))}</div>")


def tables(page: Any) -> list[list[list[str]]]:
    return [[[cell.text_content() for cell in row] for row in table.iter("tr")] for table in page.iter("table")]


def headings(page: Any) -> list[str]:
    return [item.text_content() for item in page.iter("h2")]


def test_adaptations_as_a_matrix_of_builds_sites_and_parts(kit: Any) -> None:
    page = page_of(kit, FILES)
    assert "Adaptations of copies/box.rig: Box, revision 3" in headings(page)
    assert tables(page)[1] == [
        ["build", "site", "feed", "fan", "fan_1", "fan_2", "horn", "horn_1", "horn_2", "verdict", "worst margin"],
        ["copies/box.rig", "", "", "", "", "", "", "", "", "passes", "70 %"],
        ["hill.rig", "ambient -10 degC to 20 degC; record low -35 degC", "10 AWG; 1.5 m", "not built", "not built", "not built", "", "", "", "passes", "25 %"],
        ["shore.rig", "ambient 5 degC to 30 degC; record low -20 degC", "4 AWG", "", "", "", "new load", "new wire", "new wire", "passes", "70 %"],
    ]  # fmt: skip


def test_things_beyond_the_columns_are_counted(kit: Any) -> None:
    more = SHORE + "".join(f"load l{n} 1 A\n" for n in range(5))
    (head, _, hill, shore) = tables(page_of(kit, {**FILES, "shore.rig": more}))[1]
    assert head[2] == "feed"  # what most of them change comes first
    assert head[-3:] == ["more", "verdict", "worst margin"]
    assert int(hill[-3]) + int(shore[-3]) == 4 + 9 - 9


@pytest.mark.parametrize(
    ("own", "copy", "lags"),
    [
        ("4", "3", True),
        ("3", "3", False),
        ("2", "3", False),
        ("10", "9", True),
        ("2026-02", "2025-11", True),
        ("3b", "3", True),
    ],
)
def test_copies_that_lag_behind(kit: Any, own: str, copy: str, lags: bool) -> None:
    files = {
        "box.rig": BASE.replace("revision 3", f'revision "{own}"'),
        "copies/box.rig": BASE.replace("revision 3", f'revision "{copy}"'),
        "hill.rig": HILL,
    }
    page = page_of(kit, files)
    assert ("Copies of published builds that lag behind" in headings(page)) is lags
    words = f"copies/box.rig is Box at revision {copy}; box.rig is at revision {own}. It is adapted by hill.rig."
    assert (words in page.text_content()) is lags


def test_another_build_of_another_title_is_no_original(kit: Any) -> None:
    files = {**FILES, "box.rig": BASE.replace('"Box"', '"Other box"').replace("revision 3", "revision 9")}
    assert "Copies of published builds that lag behind" not in headings(page_of(kit, files))


def test_an_adaptation_under_the_title_of_its_base_is_no_original(kit: Any) -> None:
    files = {**FILES, "hill.rig": HILL.replace("Hill box", "Box").replace("revision 1", "revision 9", 1)}
    assert "Copies of published builds that lag behind" not in headings(page_of(kit, files))


@pytest.mark.parametrize(
    ("today", "words"),
    [
        (date(2026, 6, 1), "(ends today)"),
        (date(2026, 5, 31), "(ends in 1 day)"),
        (date(2026, 4, 2), "(ends in 60 days)"),
        (date(2026, 4, 1), None),
        (date(2026, 6, 2), None),  # then it is a finding
    ],
)
def test_waivers_that_end_soon(kit: Any, today: date, words: str | None) -> None:
    text = kit.bench + 'waive warm-wire on feed up to 30 A because "agreed" until 2026-06-01\n'
    page = page_of(kit, {"box.rig": text}, today=today)
    found = [item.text_content() for item in page.iter("li") if "(ends " in item.text_content()]
    assert found == (
        [f"box.rig: warm-wire.over on feed up to 30 A (now 25 A) until 2026-06-01: agreed {words}"] if words else []
    )
    assert ("Waivers that end within 60 days" in headings(page)) is bool(words)


def test_a_page_of_one_build_has_none_of_it(kit: Any) -> None:
    assert headings(page_of(kit, {"box.rig": kit.bench})) == ["box.rig: Bench"]


def test_names_of_adaptations_are_escaped(kit: Any) -> None:
    text = HILL.replace("change feed { 10 AWG; 1.5 m }", 'load "a | b <b>" 1 A').replace("Hill box", "x | y")
    page = page_of(kit, {**FILES, "hill.rig": text})
    assert "a | b <b>" in tables(page)[1][0]
    assert list(page.iter("b")) == []
