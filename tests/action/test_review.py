"""The action as a repository of builds uses it: its shell steps are run for real, on changes that mean well and on some that do not.

What is expected follows from what each test writes. Source of what the service does: see runner.py.
"""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from action.runner import Runner

ROOT = Path(__file__).resolve().parents[2]
LAMP = 'rig "Bench lamp", revision 1\nbasis us-small-craft\nload lamp { 1 A; works on 10.5 V to 15 V }\n'  # a warning: it is not wired
SILENT = LAMP.replace("; works on 10.5 V to 15 V", "")  # and a check of an error-level grade that cannot be made
BROKEN = LAMP.replace("1 A", "1 bolt")
READS = LAMP.replace("load lamp { 1 A; works on 10.5 V to 15 V }", 'parts from "stock.rig"\nload mine same as lamp')
STOCK = "load lamp { 1 A; works on 10.5 V to 15 V }\n"
STRICT = 'bar = "warning"\n'
OFF = '[[left-out]]\npath = "**"\nbecause = "it is in the way"\n'

Review = Callable[..., Any]


def builds_of(run: Any) -> list[str]:
    """Return the builds that were inspected."""
    result = json.loads(Path(run.outputs["result"]).read_text(encoding="utf-8"))
    return [build["path"] for build in result["builds"]]


def marks(run: Any, level: str) -> set[tuple[str, str]]:
    """Return where annotations of a level stand."""
    return {(facts["file"], facts["line"]) for name, facts, _ in run.commands if name == level and "file" in facts}


# what is told --------------------------------------------------------------------------------------------------------


def test_clean_change_passes(repository: Any, review: Review) -> None:
    repository.commit({"lamp.rig": LAMP, "other.rig": BROKEN})
    repository.propose({"lamp.rig": LAMP.replace("revision 1", "revision 2")})
    run = review(repository)
    assert run.success, run.log
    assert run.outputs["verdict"] == "passes"
    assert (run.outputs["inspection"], run.outputs["comparison"]) == ("0", "0")
    assert builds_of(run) == ["lamp.rig"]
    assert "lamp.rig" in run.summary


def test_faulty_change_is_stopped_and_told_at_its_lines(repository: Any, review: Review) -> None:
    first = (ROOT / "examples" / "first.rig").read_text(encoding="utf-8")
    repository.commit({"first.rig": LAMP})
    repository.propose({"first.rig": first})
    run = review(repository, states="declared")
    assert not run.success
    assert (run.outputs["verdict"], run.outputs["inspection"], run.outputs["comparison"]) == ("stopped", "1", "1")
    result = json.loads(Path(run.outputs["result"]).read_text(encoding="utf-8"))
    lines = {str(item["span"]["line"]) for item in result["builds"][0]["findings"] if item["severity"] == "error"}
    assert "16" in lines  # as README.md shows
    assert {("first.rig", line) for line in lines} <= marks(run, "error")
    sarif = json.loads(Path(run.outputs["sarif"]).read_text(encoding="utf-8"))
    assert {
        str(item["locations"][0]["physicalLocation"]["region"]["startLine"]) for item in sarif["runs"][0]["results"]
    } >= lines
    assert "weak-breaking" in run.steps["Inspect"].summary
    assert "weak-breaking" in run.steps["Compare with the target branch"].summary


def test_reached_states_are_looked_at_unless_told_otherwise(repository: Any, review: Review) -> None:
    repository.commit({"first.rig": LAMP})
    repository.propose({"first.rig": (ROOT / "examples" / "first.rig").read_text(encoding="utf-8")})
    for inputs, looked_at in (({}, True), ({"states": ""}, False), ({"states": "declared"}, False)):
        result = json.loads(Path(review(repository, **inputs).outputs["result"]).read_text(encoding="utf-8"))
        assert any(state["origin"] == "reached" for state in result["builds"][0]["states"]) is looked_at, inputs


def test_builds_that_read_a_changed_library(repository: Any, review: Review) -> None:
    repository.commit({"box.rig": READS, "stock.rig": STOCK, "other.rig": LAMP})
    repository.propose({"stock.rig": STOCK.replace("lamp", "bulb")})
    run = review(repository)
    assert run.outputs["verdict"] == "failed"
    assert builds_of(run) == ["box.rig", "stock.rig"]


def test_deleted_library_is_missed(repository: Any, review: Review) -> None:
    repository.commit({"box.rig": READS, "stock.rig": STOCK})
    repository.propose({"stock.rig": None})
    run = review(repository)
    assert run.outputs["verdict"] == "failed"
    assert builds_of(run) == ["box.rig"]


def test_change_without_builds(repository: Any, review: Review) -> None:
    repository.commit({"lamp.rig": BROKEN})
    repository.propose({"notes.md": "words\n"})
    run = review(repository)
    assert run.outputs["verdict"] == "passes", run.log
    assert builds_of(run) == []


def test_what_cannot_be_checked_counts_unless_told_otherwise(repository: Any, review: Review) -> None:
    repository.commit({})
    repository.propose({"lamp.rig": SILENT})
    assert review(repository).outputs["inspection"] == "1"
    assert review(repository, require_checked="false").outputs["inspection"] == "0"
    assert review(repository, require_checked="").outputs["inspection"] == "0"
    assert review(repository, require_checked="", bar="warning").outputs["inspection"] == "1"


def test_every_build_where_asked(repository: Any, review: Review) -> None:
    repository.commit({"a.rig": LAMP, "sub/b.rig": LAMP})
    repository.propose({"notes.md": "words\n"})
    assert builds_of(review(repository, builds="all")) == ["a.rig", "sub/b.rig"]


# the terms of the target branch -----------------------------------------------------------------------------------------


def test_weaker_settings_of_the_change_do_not_judge_it(repository: Any, review: Review) -> None:
    repository.commit({"ohmwright.toml": STRICT, "notes.md": ""})
    for settings in ('bar = "error"\n', OFF, "", None):
        repository.propose({"ohmwright.toml": settings, "lamp.rig": LAMP})
        run = review(repository)
        assert run.outputs["inspection"] == "1", settings
        assert builds_of(run) == ["lamp.rig"]


def test_nearer_settings_of_the_change_have_no_say(repository: Any, review: Review) -> None:
    repository.commit({"ohmwright.toml": STRICT})
    shared = '[tool.ohmwright]\nbar = "error"\n'
    repository.propose({"new/ohmwright.toml": OFF, "new/a.rig": LAMP, "b/pyproject.toml": shared, "b/b.rig": LAMP})
    run = review(repository)
    assert run.outputs["inspection"] == "1"
    assert builds_of(run) == ["b/b.rig", "new/a.rig"]
    assert {place for place, _ in marks(run, "warning")} == {"b/b.rig", "new/a.rig"}


def test_settings_of_each_folder_hold_for_it(repository: Any, review: Review) -> None:
    repository.commit({"strict/ohmwright.toml": STRICT, "easy/ohmwright.toml": 'bar = "error"\n'})
    repository.propose({"easy/a.rig": LAMP})
    assert review(repository).outputs["inspection"] == "0"
    repository.propose({"strict/a.rig": LAMP})
    run = review(repository)
    assert run.outputs["inspection"] == "1"
    assert marks(run, "warning") == {("strict/a.rig", "3")}  # as seen from the top of the repository


def test_broken_settings_of_the_change_do_not_judge_it(repository: Any, review: Review) -> None:
    repository.commit({"ohmwright.toml": STRICT})
    repository.propose({"ohmwright.toml": "bar = 3\n", "lamp.rig": LAMP})
    run = review(repository)
    assert run.outputs["inspection"] == "1"
    assert run.outputs["comparison"] in ("1", "2")


def test_broken_settings_of_the_target_are_said(repository: Any, review: Review) -> None:
    repository.commit({"ohmwright.toml": "bar = 3\n"})
    repository.propose({"lamp.rig": LAMP})
    run = review(repository)
    assert run.outputs["verdict"] == "failed"
    assert "ohmwright.toml line 1" in run.log
    assert "ohmwright.toml line 1" in run.summary


def baseline_for(repository: Any, installed: Any) -> str:
    """Return a baseline that holds what is found in lamp.rig, as the program itself writes it."""
    program = f"{installed.steps['Install Ohmwright'].outputs['programs']}/ohmwright"
    ran = subprocess.run(
        [program, "inspect", "--write-baseline", "--baseline", "held.json", "--states", "reached", "lamp.rig"],
        cwd=repository.folder, capture_output=True, text=True, check=False, env=repository.surroundings,
    )  # fmt: skip
    place = repository.folder / "held.json"
    text = place.read_text(encoding="utf-8")
    assert '"open-terminal"' in text, ran.stderr
    place.unlink()
    return text


def test_baseline_of_the_target_counts_and_that_of_the_change_does_not(repository: Any, review: Review, installed: Any) -> None:
    empty = '{"ohmwright": "0.1.0", "baseline": 1, "states": "reached", "entries": []}\n'
    settings = 'bar = "warning"\nbaseline = "lists/known.txt"\n'
    repository.write({"lamp.rig": LAMP})
    held = baseline_for(repository, installed)
    repository.commit({"ohmwright.toml": settings, "lists/known.txt": empty, "lamp.rig": LAMP})
    again = LAMP.replace("revision 1", "revision 2")
    repository.propose({"lists/known.txt": held, "lamp.rig": again})
    assert review(repository).outputs["inspection"] == "1"
    repository.git("switch", "-q", "main")
    repository.commit({"lists/known.txt": held})
    repository.propose({"lists/known.txt": empty, "lamp.rig": again})
    assert review(repository).outputs["inspection"] == "0"
    assert review(repository, baseline="none").outputs["inspection"] == "1"
    assert review(repository, settings="none", bar="warning").outputs["inspection"] == "1"
    assert review(repository, settings="none", bar="warning", baseline="lists/known.txt").outputs["inspection"] == "0"
    assert review(repository, settings="ohmwright.toml").outputs["inspection"] == "0"
    assert review(repository, settings="none").outputs["inspection"] == "0"  # a warning is below the bar that stands by itself
    run = review(repository, settings="gone.toml")
    assert run.outputs["verdict"] == "failed"
    assert "no file 'gone.toml'" in run.log


def test_a_change_of_how_builds_are_judged_is_stopped_by_itself(repository: Any, review: Review) -> None:
    repository.commit({"ohmwright.toml": STRICT, "lamp.rig": LAMP})
    repository.propose({"ohmwright.toml": 'bar = "error"\n'})
    run = review(repository)
    assert (run.outputs["inspection"], run.outputs["comparison"]) == ("0", "1"), run.log
    assert run.outputs["verdict"] == "stopped"
    assert "bar" in run.steps["Compare with the target branch"].summary
    assert review(repository, bar_judgement="false").outputs["verdict"] == "passes"


def test_the_target_is_the_branch_as_merged_not_as_the_event_tells(repository: Any, review: Review) -> None:
    """The event may be older than the merge: what the target branch has become since counts."""
    repository.commit({"notes.md": ""})
    repository.propose({"lamp.rig": LAMP})
    repository.git("switch", "-q", "main")
    repository.commit({"ohmwright.toml": STRICT, "other.rig": BROKEN})
    repository.merge()
    run = review(repository)
    assert run.outputs["inspection"] == "1"
    assert builds_of(run) == ["lamp.rig"]


def test_a_merge_that_the_change_itself_made_is_not_taken_for_that_of_the_service(repository: Any, review: Review) -> None:
    """Its first parent would be a commit with settings of the change's own making."""
    repository.commit({"ohmwright.toml": STRICT})
    target = repository.git("rev-parse", "HEAD")
    repository.git("switch", "-q", "-c", "loose", "main")
    repository.commit({"ohmwright.toml": 'bar = "error"\n'})
    repository.git("switch", "-q", "-c", "side", "main")
    side = repository.commit({"lamp.rig": LAMP})
    repository.git("switch", "-q", "loose")
    repository.git("merge", "-q", "--no-ff", "-m", "Merge", side)
    repository.target, repository.proposed = target, repository.git("rev-parse", "HEAD")
    assert review(repository).outputs["inspection"] == "1"


# what a change may try ---------------------------------------------------------------------------------------------------


def test_nothing_of_the_change_is_run(repository: Any, review: Review, installed: Any, tmp_path: Path) -> None:
    mark = tmp_path / "ran"
    code = f"open({str(mark)!r}, 'a').write(__name__)\n"
    names = ("sitecustomize", "ohmwright", "json", "lark", "argparse", "usercustomize", "encodings")
    files = {f"{name}.py": code for name in names} | {f"{name}/__init__.py": code for name in ("ohmwright_rules", "pint")}
    hooks = {f".git-hooks/{name}": f"#!/bin/sh\ntouch {mark}\n" for name in ("post-checkout", "post-index-change")}
    packs = '[project]\nname = "x"\nversion = "1"\n[project.entry-points."ohmwright.rules"]\nmine = "ohmwright_rules:PACK"\n'
    attributes = "*.rig filter=run diff=run working-tree-encoding=UTF-16 ident\n*.py eol=crlf\n"
    repository.commit(hooks)
    for hook in hooks:
        repository.git("update-index", "--chmod=+x", hook)
    repository.git("commit", "-q", "-m", "Hooks")
    repository.propose({**files, "pyproject.toml": packs, "lamp.rig": LAMP, "conftest.py": code})
    repository.write({".gitattributes": attributes})
    repository.git("add", ".gitattributes")
    repository.git("commit", "-q", "--amend", "--no-edit")
    repository.surroundings["PYTHONPATH"] = str(repository.folder)
    for name in ("smudge", "clean", "process"):
        repository.git("config", "--global", f"filter.run.{name}", f"touch {mark}; cat")
    repository.git("config", "--global", "diff.run.textconv", f"touch {mark}; cat")
    repository.git("config", "--global", "core.hooksPath", ".git-hooks")
    run = review(repository)
    assert run.outputs["inspection"] == "0", run.log
    assert builds_of(run) == ["lamp.rig"]
    assert not mark.exists()
    assert not (Path(installed.steps["Install Ohmwright"].outputs["programs"]).parents[2] / "ran").exists()


def test_names_of_any_kind(repository: Any, review: Review) -> None:
    names = [
        "Kühlbox für Åse 電池 1.rig", "--settings=loose.toml.rig", "-x.rig", "$(touch ran).rig", "`touch ran`.rig", "a;touch ran;.rig",
        "::error::forged.rig", "##[error]forged.rig", "new\nline.rig", "\n::error::forged2.rig", "quote'\".rig", "%0A::error::x.rig",
    ]  # fmt: skip
    repository.commit({})
    repository.propose({**dict.fromkeys(names, BROKEN), "loose.toml.rig": OFF, "-": OFF})
    run = review(repository)
    assert run.outputs["inspection"] == "2"
    assert sorted(builds_of(run)) == sorted([*names, "loose.toml.rig"])
    assert not list(repository.folder.parent.rglob("ran"))
    told = {facts["file"] for name, facts, _ in run.commands if "file" in facts}
    assert told
    assert told <= {name.replace("\n", "\\n") for name in (*names, "loose.toml.rig")}  # a line end is told as two letters
    assert {name for name, _, _ in run.commands} <= {"error", "warning", "notice"}


def test_texts_that_read_like_commands_of_the_runner(repository: Any, review: Review) -> None:
    text = BROKEN.replace("Bench lamp", "::error file=x::forged ##[error]forged").replace("bolt", "::add-mask::bolt")
    repository.commit({"lamp.rig": LAMP})
    repository.propose({"lamp.rig": text})
    run = review(repository)
    for name, facts, _ in run.commands:
        assert name in ("error", "warning", "notice")
        assert facts.get("file", "lamp.rig") == "lamp.rig"


def test_a_folder_that_becomes_a_link_writes_nothing_outside(repository: Any, review: Review, tmp_path: Path) -> None:
    outside = tmp_path / "outside"
    outside.mkdir()
    repository.commit({"cabin/ohmwright.toml": STRICT, "cabin/a.rig": LAMP})

    def link() -> None:
        (repository.folder / "cabin" / "ohmwright.toml").unlink()
        (repository.folder / "cabin" / "a.rig").unlink()
        (repository.folder / "cabin").rmdir()
        (repository.folder / "cabin").symlink_to(outside)

    repository.propose({}, link)
    run = review(repository)
    assert list(outside.iterdir()) == []
    assert run.outputs["verdict"] in ("passes", "stopped", "failed")


def test_a_build_that_is_a_link_out_of_the_repository(repository: Any, review: Review, tmp_path: Path) -> None:
    (tmp_path / "secret.rig").write_text(LAMP.replace("Bench lamp", "Secret"), encoding="utf-8")
    repository.commit({})
    repository.propose({}, lambda: (repository.folder / "lamp.rig").symlink_to(tmp_path / "secret.rig"))
    run = review(repository)
    assert run.outputs["inspection"] == "2"
    assert "Secret" not in run.log + run.summary


def test_settings_behind_a_link_are_refused(repository: Any, review: Review) -> None:
    """The link is that of the target branch, but what it leads to would be that of the change."""
    repository.write({"config/strict.toml": STRICT})
    (repository.folder / "ohmwright.toml").symlink_to("config/strict.toml")
    repository.commit({})
    repository.propose({"config/strict.toml": 'bar = "error"\n', "lamp.rig": LAMP})
    run = review(repository)
    assert run.outputs["verdict"] == "failed"
    assert "ohmwright.toml of the target branch is no plain file" in run.log


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("bar", "none"), ("bar", "error; touch ran"), ("states", "--settings=none"), ("require_checked", "$(touch ran)"), ("builds", ""),
        ("budget", "$(touch ran)"), ("target", "--output=ran"), ("target", "nowhere"), ("upload", "yes"), ("bar_judgement", "maybe"),
        ("baseline", "../../etc/passwd"), ("settings", "x\ny"),
    ],
)  # fmt: skip
def test_inputs_that_cannot_be_used(repository: Any, review: Review, name: str, value: str) -> None:
    repository.commit({"lamp.rig": LAMP})
    repository.propose({"lamp.rig": LAMP.replace("revision 1", "revision 2")})
    run = review(repository, **{name: value})
    assert run.outputs["verdict"] == "failed", run.log
    assert not list(repository.folder.rglob("ran"))


def test_a_reason_on_the_page_is_no_markup(repository: Any, review: Review) -> None:
    repository.commit({})
    repository.propose({"lamp.rig": LAMP})
    run = review(repository, settings="</pre><script>x</script>&\n</pre>")
    assert run.outputs["verdict"] == "failed"
    assert "&lt;/pre&gt;&lt;script&gt;x&lt;/script&gt;&amp;" in run.summary
    assert run.summary.count("</pre>") == 1


@pytest.mark.parametrize("python", ["false", "no-such-python", "-c"])
def test_a_python_that_cannot_be_used(repository: Any, tmp_path: Path, python: str) -> None:
    runner = Runner(ROOT / ".github" / "actions" / "review", repository.folder, tmp_path, repository.surroundings)
    run = runner.run({"event_name": "pull_request"}, {"python": python})
    assert run.outputs["verdict"] == "failed"
    assert python in run.summary
    assert list(run.steps) == ["Install Ohmwright", "Verdict"]


def test_an_action_that_lies_in_the_checkout_is_not_installed(repository: Any, tmp_path: Path) -> None:
    repository.commit({"pyproject.toml": "", "setup.py": f"open({str(tmp_path / 'ran')!r}, 'w')\n"})
    action = repository.folder / ".github" / "actions" / "review"
    shutil.copytree(ROOT / ".github" / "actions" / "review", action)
    run = Runner(action, repository.folder, tmp_path, repository.surroundings).run({"event_name": "pull_request"}, {})
    assert run.outputs["verdict"] == "failed"
    assert "would come from the checkout" in run.summary
    assert not (tmp_path / "ran").exists()


# the token, other events -------------------------------------------------------------------------------------------------


def test_findings_are_uploaded_only_where_the_token_may(repository: Any, review: Review) -> None:
    repository.commit({"lamp.rig": LAMP})
    repository.propose({"lamp.rig": LAMP.replace("revision 1", "revision 2")})
    run = review(repository)
    ((uses, given),) = run.called
    assert uses.startswith("github/codeql-action/upload-sarif@")
    assert given == {"sarif_file": run.outputs["sarif"], "category": "ohmwright"}
    assert review(repository, upload="false").called == []
    fork = repository.event()
    fork["event"]["pull_request"]["head"]["repo"]["full_name"] = "stranger/builds"
    run = review(repository, fork)
    assert run.called == []
    assert run.outputs["uploaded"] == "false"
    assert run.summary
    gone = repository.event()
    gone["event"]["pull_request"]["head"]["repo"] = None  # the fork was deleted
    assert review(repository, gone).called == []
    assert review(repository, repository.event(actor="dependabot[bot]")).called == []


def test_findings_are_uploaded_before_the_verdict(repository: Any, review: Review) -> None:
    repository.commit({})
    repository.propose({"lamp.rig": SILENT})
    run = review(repository)
    assert not run.success
    assert len(run.called) == 1


def test_pushes(repository: Any, review: Review) -> None:
    before = repository.commit({"lamp.rig": LAMP, "other.rig": LAMP})
    after = repository.commit({"lamp.rig": LAMP.replace("revision 1", "revision 2")})
    event = {"event_name": "push", "sha": after, "repository": "them/builds", "event": {"before": before}}
    assert builds_of(review(repository, event)) == ["lamp.rig"]
    for gone in ("0" * 40, "12" * 20):  # a new branch; a push with force, whose former end is not here
        run = review(repository, event | {"event": {"before": gone}})
        assert builds_of(run) == ["lamp.rig", "other.rig"]
        assert run.outputs["comparison"] == ""
        assert run.outputs["verdict"] == "passes"


def test_merge_queue(repository: Any, review: Review) -> None:
    before = repository.commit({"lamp.rig": LAMP, "other.rig": LAMP})
    after = repository.commit({"lamp.rig": LAMP.replace("revision 1", "revision 2")})
    event = {
        "event_name": "merge_group",
        "sha": after,
        "repository": "them/builds",
        "event": {"merge_group": {"base_sha": before}},
    }
    assert builds_of(review(repository, event)) == ["lamp.rig"]


def test_a_target_that_is_not_there_is_no_pass(repository: Any, review: Review) -> None:
    repository.commit({"lamp.rig": LAMP})
    repository.propose({"lamp.rig": BROKEN})
    event = repository.event(sha="")
    event["event"]["pull_request"]["base"]["sha"] = "12" * 20
    run = review(repository, event)
    assert run.outputs["verdict"] == "failed"
    assert "fetch-depth: 0" in run.log
    event["event"]["pull_request"]["base"]["sha"] = ""
    assert review(repository, event).outputs["verdict"] == "failed"
    assert "pull_request_target" in review(repository, repository.event(event_name="pull_request_target")).log
    repository.git("checkout", "-q", "main")
    run = review(repository, repository.event(sha=""))
    assert run.outputs["verdict"] == "failed"
    assert "the target branch itself" in run.log


def test_a_history_of_two_commits_is_enough_for_the_merge(repository: Any, review: Review, tmp_path: Path) -> None:
    repository.commit({"ohmwright.toml": STRICT})
    repository.propose({"lamp.rig": LAMP})
    repository.git("branch", "-f", "merged", "HEAD")
    event = repository.event()
    repository.git("clone", "-q", "--depth=2", "--branch=merged", repository.folder.as_uri(), str(tmp_path / "shallow"))
    repository.folder = tmp_path / "shallow"
    run = review(repository, event)
    assert run.outputs["inspection"] == "1", run.log
    assert builds_of(run) == ["lamp.rig"]


def test_the_checkout_is_left_as_it_was(repository: Any, review: Review) -> None:
    repository.commit({"ohmwright.toml": STRICT})
    repository.propose({"lamp.rig": LAMP, "ohmwright.toml": ""})
    before = repository.git("status", "--porcelain"), repository.git("for-each-ref"), repository.git("worktree", "list")
    review(repository)
    assert (
        repository.git("status", "--porcelain"),
        repository.git("for-each-ref"),
        repository.git("worktree", "list"),
    ) == before
