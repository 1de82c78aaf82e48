"""A comparison as text, Markdown and JSON: the same things in each, nothing in it forged, nothing too long."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

WAIVE = 'waive warm-wire on feed up to 30 A because "agreed" until 2026-06-01\n'


@pytest.fixture
def change(sample_installed: Any, kit: Any, commit: Any) -> None:
    """A change that breaks, renames, alters and waives."""
    quiet = kit.bench.replace("25 A", "5 A")
    loud = kit.bench.replace("wire back", "wire return").replace("6 AWG; 0.6 m }\nwire return", "4 AWG; 3 m }\nwire return")
    commit({"box.rig": quiet + "require weigh at most 15 kg\n"})
    commit({"box.rig": loud + WAIVE + "require weigh at most 10 kg\n"}, "pr")


def test_text_says_the_judgement_first_then_what_became_of_the_build(change: None, command: Any) -> None:
    ran = command("compare", "main..pr", "--today", "2026-01-01")
    assert ran.code == 1
    lines = ran.out.splitlines()
    assert max(map(len, lines)) <= 80
    assert re.match(r"From main \([0-9a-f]{10}\) to pr \([0-9a-f]{10}\)$", lines[0])
    order = [
        "What changes the judgement", "New waiver, box.rig line 10", "Now       warm-wire on feed up to 30 A until 2026-06-01",
        "Accept    by these lines in the settings of the old side:", "[[accepted]]", 'build = "box.rig"', "Changed requirement, box.rig line 11",
        "box.rig: Bench, revision 1", "New error: wire carries more than twenty amperes (warm-wire.over)",
        "Found     return: 25 A flows here; 20 A is the most. (line 8)", "Now       25 A of at most 20 A", "Was       passed, 5 A of at most 20 A",
        "Remedy    Bring the current to 20 A or less.",
        "Newly waived error: wire carries more than twenty amperes (warm-wire.over)",
        "  Requirements", "weigh at most 10 kg: new, broken (12 kg against 10 kg)", "weigh at most 15 kg: taken out, was met (12 kg against 15 kg)",
        "  Parts, wires and states", "lamp (load): 5 A to 25 A", "feed (wire): 6 AWG to 4 AWG; 0.6 m to 3 m", "return (wire): was called back",
        "2 things that would change the judgement. Findings: 2 new, 0 worse, 0 better, 0",
        "This is a design check against published values, no approval.",
    ]  # fmt: skip
    text, at = " ".join(ran.out.split()), -1
    for words in (" ".join(words.split()) for words in order):
        assert words in text[at + 1 :], words
        at = text.index(words, at + 1)


def test_each_format_says_the_same(change: None, command: Any) -> None:
    command(
        "compare",
        "main..pr",
        "--today",
        "2026-01-01",
        "--output",
        "json",
        "--to",
        "a.json",
        "--output",
        "markdown",
        "--to",
        "b.md",
    )
    document = json.loads(Path("a.json").read_text(encoding="utf-8"))
    text = " ".join(command("compare", "main..pr", "--today", "2026-01-01").out.split())
    page = Path("b.md").read_text(encoding="utf-8")
    plain = re.sub(r"\\(.)", r"\1", page).replace("&#8203;", "").replace("**", "")
    for item in document["judgement"]:
        assert item["message"] in text
        assert item["message"] in plain
    for build in document["builds"]:
        for found in build["findings"]:
            message = (found["new"] or found["old"])["message"]
            assert message in text
            assert message in plain
        assert {thing["name"] for thing in build["things"]} == {"lamp", "feed", "return"}


@pytest.mark.parametrize("format", ["text", "markdown"])
def test_a_line_of_the_old_file_is_told_without_the_file(
    kit: Any, commit: Any, command: Any, sample_installed: Any, format: str
) -> None:
    """The build has another name now: what is gone stood in its old file, and its heading names both."""
    commit({"box.rig": kit.bench})
    commit({"box.rig": None, "bench.rig": kit.bench.replace("25 A", "5 A")}, "pr")
    said = re.sub(r"\\(.)", r"\1", " ".join(command("compare", "main..pr", "--output", format).out.split()))
    assert "bench.rig: Bench, revision 1, was box.rig" in said
    assert said.count("25 A flows here; 20 A is the most. (line ") == 2


@pytest.mark.parametrize("format", ["text", "markdown"])
def test_a_build_that_is_read_in_part_says_so(kit: Any, commit: Any, command: Any, sample_installed: Any, format: str) -> None:
    commit({"box.rig": kit.bench})
    commit({"box.rig": kit.bench.replace("load lamp 25 A", "load lamp 25 qq")}, "pr")
    ran = command("compare", "main..pr", "--output", format)
    assert ran.code == 2
    assert "box.rig: Bench, revision 1, read in part only" in re.sub(r"\\(.)", r"\1", ran.out)


def test_quiet_change_says_so(kit: Any, commit: Any, command: Any, sample_installed: Any) -> None:
    commit({"box.rig": kit.bench})
    commit({"box.rig": "# a note\n" + kit.bench}, "pr")
    ran = command("compare", "main..pr")
    assert ran.code == 0
    assert "Nothing changes how builds are judged." in ran.out
    assert "0 builds changed, 1 did not." in ran.out
    assert "Nothing changes how builds are judged." in command("compare", "main..pr", "--output", "markdown").out


HOSTILE = (
    "\x1b[31mred",
    "::error::x",
    "##[group]x",
    "\u202eturned",
    "<img src=x onerror=y>",
    "a | b",
    "@you #1 !2",
    "[x](http://y)",
    "`rm`",
    "=1+1",
)


@pytest.mark.parametrize("name", HOSTILE)
def test_names_steer_nothing(kit: Any, commit: Any, command: Any, sample_installed: Any, name: str) -> None:
    """Titles, reasons of settings, paths and texts of waivers go through every format."""
    title = name.replace('"', "")
    text = kit.bench.replace("Bench", title)
    reason = f'waive warm-wire on back up to 30 A because "{title}" until 2026-06-01\n'
    commit({"box.rig": text.replace("25 A", "5 A")})
    setting = "".join(sign if sign.isprintable() and sign not in '\\"' else f"\\u{ord(sign):04x}" for sign in name)
    commit({"box.rig": text + reason, "ohmwright.toml": f'[[left-out]]\npath = "x"\nbecause = "{setting}"\n'}, "pr")
    ran = command("compare", "main..pr", "--today", "2026-01-01")
    for output in (ran.out, ran.err):
        assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f\u202a-\u202e]", output)
        assert "::error" not in output
        assert "##[" not in output
    page = command("compare", "main..pr", "--today", "2026-01-01", "--output", "markdown").out
    assert not re.search(r"(?<!\\)\]\(", page)
    for raw in ("<img", "@you", "http://", "\x1b", "\u202e"):
        assert raw not in page
    document = command("compare", "main..pr", "--today", "2026-01-01", "--output", "json").out
    assert document.isascii()
    assert "##[" not in document
    json.loads(document)


def test_page_of_a_large_change_stays_below_the_limit(
    kit: Any, commit: Any, command: Any, sample_installed: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every build of a repository breaks; the page says how many entries it has no room for."""
    many = "".join(
        f"load l{n} 30 A\nwire a{n} from house.plus to l{n}.plus {{ 6 AWG; 9 m }}\nwire b{n} from l{n}.minus to house.minus {{ 6 AWG; 9 m }}\n"
        for n in range(120)
    )
    loud = 'state "all" { lamp, ' + ", ".join(f"l{n}" for n in range(120)) + " on }\n"
    commit({"readme": "x"})
    commit({f"{n}.rig": kit.bench.replace("Bench", f"B{n}") + many + loud for n in range(4)}, "pr")
    from ohmwright.reports import markdown_page

    whole = command("compare", "main..pr", "--output", "markdown").out
    assert len(whole.encode()) < markdown_page.MOST_BYTES
    assert "not written out here" not in whole
    text = command("compare", "main..pr").out
    assert "more findings, not written out here" in text
    monkeypatch.setattr(markdown_page, "MOST_BYTES", 100_000)
    page = command("compare", "main..pr", "--output", "markdown").out
    assert 75_000 < len(page.encode()) < 100_000
    (count,) = re.findall(r"\*\*([0-9,]+) more entries not written out here; the JSON output holds them all\.\*\*", page)

    shown, all_of_them = page.count("\n- "), whole.count("\n- ")
    assert int(count.replace(",", "")) == all_of_them - shown > 300
    assert shown > 100
    assert "would change the judgement" in page
    assert "no approval" in page


def test_nothing_of_it_is_imported_by_a_plain_inspect(put: Any, kit: Any, tmp_path: Path) -> None:
    import subprocess
    import sys

    put({"box.rig": kit.bench})
    script = "import sys\nfrom ohmwright.cli import main\nmain(['inspect', 'box.rig'])\nsys.stderr.write(' '.join(sys.modules))"
    ran = subprocess.run([sys.executable, "-c", script], cwd=tmp_path, capture_output=True, text=True, check=True)
    names = ran.stderr.split()
    assert "ohmwright.inspecting" in names
    assert not [
        name
        for name in names
        if ("compar" in name and name.startswith("ohmwright"))
        or name in ("subprocess", "ohmwright.commands.git_objects", "ohmwright_rules.limit_names")
    ]
