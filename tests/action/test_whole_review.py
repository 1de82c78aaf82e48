"""A repository that reviews itself, from the clean build to the accepted waiver: commit hook and action stop the same findings at the same lines.

The build and the words of its faults are those of `examples/clean/bench_supply.rig`: a green live wire, an absorption voltage above what four lithium cells
take, a fuse too large for its wire. The lines are those of the edits.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import yaml

ROOT = Path(__file__).resolve().parents[2]
CLEAN = ROOT / "examples" / "clean"
NAMES = ("bench_supply.rig", "batteries.rig", "devices.rig", "apparatus.rig")
GREEN = ("main.line, 0.2 m, red", "main.line, 0.2 m, green")
HIGH = ("absorption 14.2 V", "absorption 15.2 V")
LARGE = ("fuse wall_fuse { same as cc_25", "fuse wall_fuse { same as post_40")
WAIVER = 'misleading-colour.green-live on main_in because "sleeved in red at both ends" until 2099-06-30'


def line_of(text: str, words: str) -> int:
    return text[: text.index(words)].count("\n") + 1


def stopped_by_the_hook(repository: Any, programs: str) -> set[int]:
    """Commit what is staged with the hook's own entry in place; return the lines of the errors that stopped it, none where it passed."""
    (hook,) = (
        item
        for item in yaml.safe_load((ROOT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8"))
        if item["id"] == "ohmwright"
    )
    entry = hook["entry"].removeprefix("ohmwright")
    place = repository.folder / ".git" / "hooks" / "pre-commit"
    place.parent.mkdir(exist_ok=True)
    place.write_text(
        "#!/bin/sh\ngit diff --cached --name-only -z --diff-filter=d | "
        f"xargs -0 '{programs}/ohmwright' {entry} --states reached --require-checked --output json --to ../found.json\n"
    )
    place.chmod(0o755)
    found = repository.folder.parent / "found.json"
    found.unlink(missing_ok=True)
    before = repository.git("rev-parse", "HEAD")
    try:
        repository.git("commit", "-q", "-m", "Change")
    except AssertionError:
        assert repository.git("rev-parse", "HEAD") == before
        builds = json.loads(found.read_text(encoding="utf-8"))["builds"]
        return {item["span"]["line"] for build in builds for item in build["findings"] if item["severity"] == "error"}
    finally:
        place.unlink()
    return set()


def changed(text: str, *edits: tuple[str, str]) -> str:
    for old, new in edits:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def errors(run: Any) -> set[int]:
    return {int(facts["line"]) for name, facts, _ in run.commands if name == "error" and facts.get("file") == NAMES[0]}


def test_a_repository_that_reviews_itself(repository: Any, review: Callable[..., Any], installed: Any) -> None:
    programs = installed.steps["Install Ohmwright"].outputs["programs"]
    texts = {name: (CLEAN / name).read_text(encoding="utf-8") for name in NAMES}
    clean = texts[NAMES[0]]
    repository.commit({"ohmwright.toml": 'states = "reached"\nrequire-checked = true\n', "README.md": ""})
    repository.propose(texts)
    assert review(repository).outputs["verdict"] == "passes"
    repository.git("switch", "-q", "main")
    repository.commit(texts)

    # three faults: the hook and the action stop both at the same lines
    broken = changed(clean, GREEN, HIGH, LARGE)
    lines = {line_of(broken, GREEN[1]), line_of(broken, HIGH[1]), line_of(broken, "wall_plus from wall_fuse.load")}
    repository.git("switch", "-q", "-c", "try")
    repository.write({NAMES[0]: broken})
    repository.git("add", "--all")
    assert stopped_by_the_hook(repository, programs) == lines
    repository.git("reset", "-q", "--hard")
    repository.propose({NAMES[0]: broken})
    run = review(repository)
    assert run.outputs["verdict"] == "stopped"
    assert errors(run) == lines
    told = " ".join(re.sub(r"[*`\\]", "", run.steps["Compare with the target branch"].summary).split())
    assert "14.2 V" in told
    assert "15.2 V" in told
    for rule in ("misleading-colour", "charge-set-point", "oversized-fuse"):
        assert rule in told

    # two are mended and one is waived: that inspects well, and is stopped until the target branch accepts the waiver
    waived = changed(clean, GREEN) + f"\nwaive {WAIVER}\n"
    repository.git("switch", "-q", "try")
    repository.write({NAMES[0]: waived})
    repository.git("add", "--all")
    assert stopped_by_the_hook(repository, programs) == set()
    repository.propose({NAMES[0]: waived})
    run = review(repository)
    assert (run.outputs["inspection"], run.outputs["comparison"], run.outputs["verdict"]) == ("0", "1", "stopped"), run.log
    summary = run.steps["Compare with the target branch"].summary
    assert "New waiver" in summary
    assert "until 2099-06-30" in summary

    repository.git("switch", "-q", "main")
    accept = f'\n[[accepted]]\nbuild = "{NAMES[0]}"\nwaiver = \'{WAIVER}\'\nbecause = "seen on the bench"\n'
    repository.commit({"ohmwright.toml": (repository.folder / "ohmwright.toml").read_text(encoding="utf-8") + accept})
    repository.merge()
    run = review(repository)
    assert (run.outputs["inspection"], run.outputs["comparison"], run.outputs["verdict"]) == ("0", "0", "passes"), run.log


def test_a_change_that_weakens_what_judges_it(repository: Any, review: Callable[..., Any]) -> None:
    texts = {name: (CLEAN / name).read_text(encoding="utf-8") for name in NAMES}
    waived = changed(texts[NAMES[0]], GREEN) + f"\nwaive {WAIVER}\n"
    strict = 'bar = "warning"\nstates = "reached"\nrequire-checked = true\n'
    accept = f'\n[[accepted]]\nbuild = "{NAMES[0]}"\nwaiver = \'{WAIVER}\'\nbecause = "seen on the bench"\n'
    repository.commit({**texts, NAMES[0]: waived, "ohmwright.toml": strict + accept})
    devices = texts["devices.rig"]
    raised = devices.replace("class_cc except { 25 A;", "class_cc except { 40 A;")
    assert raised != devices
    repository.propose(
        {
            "ohmwright.toml": strict.replace("warning", "error") + accept,
            NAMES[0]: waived.replace(" until 2099-06-30", "").replace("misleading-colour.green-live", "misleading-colour"),
            "devices.rig": raised,
        }
    )
    run = review(repository)
    assert run.outputs["verdict"] == "stopped", run.log
    assert run.outputs["comparison"] == "1"
    told = " ".join(re.sub(r"[*`\\]", "", run.steps["Compare with the target branch"].summary).split())
    for words in ("bar", "misleading-colour", "cc_25", "40 A"):
        assert words in told
