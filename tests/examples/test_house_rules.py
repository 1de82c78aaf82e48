"""A pack that is not ours, installed by pip: listed, explained, run and failing loudly exactly like ours."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACK = ROOT / "examples" / "house_rules"
BLOCK = re.compile(r"^```rig (passes|fails)\n(.*?)^```", re.MULTILINE | re.DOTALL)
MARK = re.compile(r"# finds ([\w.-]+) here")
PAGES = sorted((PACK / "workshop_rules").glob("*.md"))


@pytest.fixture(scope="module")
def pip(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, subprocess.CompletedProcess[str]]:
    """Let pip install the pack; return the folder, and how that ended."""
    folder = tmp_path_factory.mktemp("installed")
    copy = tmp_path_factory.mktemp("source") / "house_rules"
    shutil.copytree(PACK, copy)
    command = [
        sys.executable,
        "-m",
        "pip",
        "install",
        "--quiet",
        "--no-deps",
        "--disable-pip-version-check",
        "--target",
        str(folder),
        str(copy),
    ]
    return folder, subprocess.run(command, capture_output=True, text=True, check=False, timeout=300)


@pytest.fixture
def installed(pip: tuple[Path, subprocess.CompletedProcess[str]], reference_skip: Any) -> Path:
    """Return the folder into which pip installed the pack."""
    folder, done = pip
    if any(words in done.stderr for words in ("Could not find a version", "No matching distribution")):
        reference_skip("the package index, for what builds the pack of the examples")
    assert done.returncode == 0, done.stderr
    return folder


def run(installed: Path, folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "ohmwright.cli", *arguments]
    packages = os.pathsep.join([str(installed), *filter(None, [os.environ.get("PYTHONPATH")])])
    surroundings = os.environ | {"PYTHONPATH": packages, "NO_COLOR": "1"}
    return subprocess.run(command, cwd=folder, env=surroundings, capture_output=True, text=True, check=False, timeout=120)


def test_rules_are_listed_and_explained(installed: Path, tmp_path: Path) -> None:
    told = json.loads(run(installed, tmp_path, "basis", "--output", "json").stdout)
    ours = {rule["rule"]: rule for rule in told["rules"] if rule["pack"] == "workshop"}
    assert set(ours) == {"long-lead", "rare-fuse", "no-gauge-of-charge"}
    page = run(installed, tmp_path, "basis", "long-lead")
    assert page.returncode == 0
    assert "long-lead: Lead too long to lend" in page.stdout
    assert "from workshop 1.0.0" in page.stdout


@pytest.mark.parametrize("page", PAGES, ids=[page.stem for page in PAGES])
def test_builds_on_its_pages(installed: Path, tmp_path: Path, page: Path) -> None:
    rule = page.stem.replace("_", "-")
    for number, (verdict, text) in enumerate(BLOCK.findall(page.read_text(encoding="utf-8"))):
        (tmp_path / f"{number}.rig").write_text(text, encoding="utf-8")
        ran = run(installed, tmp_path, "inspect", f"{number}.rig", "--only", rule, "--output", "json", "--today", "2026-01-01")
        (build,) = json.loads(ran.stdout)["builds"]
        found = [(item["span"]["line"], f"{item['rule']}.{item['grade']}") for item in build["findings"]]
        marked = [(line, mark) for line, words in enumerate(text.splitlines(), start=1) for mark in MARK.findall(words)]
        assert found == marked, page.stem
        assert (verdict == "fails") == bool(marked)
        assert verdict == "fails" or build["passes"]


def test_they_run_beside_ours_and_one_of_ours_may_be_waived_as_well_as_one_of_theirs(installed: Path, tmp_path: Path) -> None:
    (tmp_path / "box.rig").write_text(
        'rig "Lent box", revision 1\nbasis us-small-craft\nsystem 12 V\nbattery house { LFP, 4 cells, 60 Ah }\nload lamp 2 A\n'
        "wire feed from house.plus to lamp.plus { 14 AWG; 6 m }\n"
        'waive long-lead on feed up to 6 m because "lent with a drum" until 2027-01-01\n',
        encoding="utf-8",
    )
    told = json.loads(run(installed, tmp_path, "inspect", "box.rig", "--output", "json", "--today", "2026-01-01").stdout)
    assert [pack["name"] for pack in told["run"]["packs"]] == ["ohmwright", "workshop"]
    (build,) = told["builds"]
    assert {"no-gauge-of-charge", "far-fuse"} <= {item["rule"] for item in build["findings"]}
    assert [item["rule"] for item in build["waived"]] == ["long-lead"]


def test_broken_pack_is_never_a_clean_run(installed: Path, tmp_path: Path) -> None:
    broken = tmp_path / "broken"
    shutil.copytree(installed, broken)
    (tmp_path / "box.rig").write_text('rig "Lent box", revision 1\nsystem 12 V\nload lamp 2 A\n', encoding="utf-8")
    rule = broken / "workshop_rules" / "long_lead.py"
    rule.write_text(rule.read_text().replace("volt = study.system_voltage", "volt = study.no_such_voltage"), encoding="utf-8")
    ran = run(broken, tmp_path, "inspect", "box.rig")
    assert ran.returncode == 2
    assert "the rule long-lead failed" in ran.stdout + ran.stderr
    assert "Traceback" not in ran.stdout + ran.stderr
    (broken / "workshop_rules" / "tables" / "lengths.csv").write_text("system_V,longest_m\n12,five\n12,5\n", encoding="utf-8")
    ran = run(broken, tmp_path, "inspect", "box.rig")
    assert ran.returncode == 2
    assert "the rule pack workshop is broken" in ran.stderr
