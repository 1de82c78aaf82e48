"""The hooks as a builder uses them: through pre-commit and git themselves, in a repository of builds."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
GOOD = 'rig "Bench lamp", revision 1\nbasis us-small-craft\nload lamp { 1 A }\n'
BAD = GOOD.replace("1 A", "1 bolt")
READS = GOOD.replace("load lamp { 1 A }", 'parts from "stock.rig"\nload mine same as lamp')
STOCK = "load lamp { 1 A }\n"

Hooked = Callable[..., Any]


def head(repository: Any) -> str:
    return str(repository.git("rev-parse", "HEAD"))


def commit(repository: Any, *arguments: str, **more: str) -> Any:
    """Commit as a person does, hooks included."""
    return repository.run("git", "commit", "-m", "Change", *arguments, **more)


def stopped(repository: Any, before: str, done: Any) -> str:
    """Return what was printed by a commit that the hook stopped."""
    assert done.returncode == 1, done.stdout + done.stderr
    assert head(repository) == before
    return str(done.stdout + done.stderr)


def passed(repository: Any, before: str, done: Any) -> None:
    assert done.returncode == 0, done.stdout + done.stderr
    assert head(repository) != before


def test_hook_file_is_valid(builds: Any) -> None:
    done = builds.pre_commit("validate-manifest", str(ROOT / ".pre-commit-hooks.yaml"))
    assert done.returncode == 0, done.stdout + done.stderr


def test_try_repo_stops_a_bad_build_and_passes_a_good_one(builds: Any, published: Any, hooked: Hooked) -> None:
    builds.write({"lamp no 1.rig": BAD})
    builds.git("add", ".")
    command = ("try-repo", str(published[0].folder), "ohmwright", "--all-files")
    done = builds.pre_commit(*command)
    assert done.returncode == 1, done.stdout + done.stderr
    assert "unknown-unit" in done.stdout
    assert "lamp no 1.rig" in done.stdout
    builds.write({"lamp no 1.rig": GOOD})
    builds.git("add", ".")
    done = builds.pre_commit(*command)
    assert done.returncode == 0, done.stdout + done.stderr


def test_commit_fails_is_mended_and_passes(hooked: Hooked) -> None:
    repository = hooked({"other.rig": BAD})  # was there before: no commit of another build is held up by it
    before = head(repository)
    repository.write({"lamp.rig": BAD})
    repository.git("add", "lamp.rig")
    told = stopped(repository, before, commit(repository))
    assert "unknown-unit" in told
    assert "line 3" in told
    assert "other.rig" not in told
    repository.write({"lamp.rig": GOOD})
    repository.git("add", "lamp.rig")
    passed(repository, before, commit(repository))


def test_what_the_rules_find_is_told_at_its_line(hooked: Hooked) -> None:
    """README.md shows what is found in the first example: an error at line 16."""
    first = (ROOT / "examples" / "first.rig").read_text(encoding="utf-8")
    repository = hooked({})
    before = head(repository)
    repository.write({"first.rig": first})
    repository.git("add", "first.rig")
    told = stopped(repository, before, commit(repository))
    assert "main (fuse), line 16" in told


def test_what_is_staged_counts_not_what_lies_in_the_folder(hooked: Hooked) -> None:
    repository = hooked({"lamp.rig": GOOD})
    before = head(repository)
    repository.write({"lamp.rig": GOOD.replace("1 A", "2 A")})
    repository.git("add", "lamp.rig")
    repository.write({"lamp.rig": BAD})
    passed(repository, before, commit(repository))
    assert (repository.folder / "lamp.rig").read_text(encoding="utf-8") == BAD

    before = head(repository)
    repository.git("add", "lamp.rig")
    repository.write({"lamp.rig": GOOD})
    stopped(repository, before, commit(repository))
    assert (repository.folder / "lamp.rig").read_text(encoding="utf-8") == GOOD
    assert repository.git("show", ":lamp.rig") == BAD


def test_names_with_blanks_and_letters_of_any_kind(hooked: Hooked) -> None:
    repository = hooked({})
    before = head(repository)
    name = "Kühlbox für Åse 電池 1.rig"
    repository.write({name: BAD})
    repository.git("add", "--all")
    assert name in stopped(repository, before, commit(repository))
    repository.write({name: GOOD})
    repository.git("add", "--all")
    passed(repository, before, commit(repository))


def test_commit_without_builds_is_not_held_up(hooked: Hooked) -> None:
    repository = hooked({"lamp.rig": BAD})
    before = head(repository)
    repository.write({"notes.md": "words\n"})
    repository.git("add", "notes.md")
    done = commit(repository)
    passed(repository, before, done)
    assert "Skipped" in done.stdout + done.stderr


def test_builds_that_read_a_changed_library_are_inspected(hooked: Hooked) -> None:
    repository = hooked({"stock.rig": STOCK, "box.rig": READS})
    before = head(repository)
    repository.write({"stock.rig": STOCK.replace("lamp", "bulb"), "draft.rig": READS})  # the draft is no part of the commit
    repository.git("add", "stock.rig")
    told = stopped(repository, before, commit(repository))
    assert "box.rig" in told
    assert "draft.rig" not in told
    repository.write({"box.rig": READS.replace("as lamp", "as bulb")})
    repository.git("add", "stock.rig", "box.rig")
    passed(repository, before, commit(repository))


def test_settings_touch_the_builds_that_they_hold_for(hooked: Hooked) -> None:
    first = (ROOT / "examples" / "first.rig").read_text(encoding="utf-8")
    repository = hooked({"first.rig": first})
    before = head(repository)
    repository.write({"ohmwright.toml": "require-checked = true\n"})
    repository.git("add", "ohmwright.toml")
    assert "first.rig" in stopped(repository, before, commit(repository))


def test_options_of_the_hook(hooked: Hooked) -> None:
    repository = hooked({}, args="[--only, text]")
    before = head(repository)
    repository.write({"first.rig": (ROOT / "examples" / "first.rig").read_text(encoding="utf-8")})
    repository.git("add", "--all")
    done = commit(repository)
    assert "there is no rule 'text'" in stopped(repository, before, done)


@pytest.mark.skipif(sys.platform == "win32", reason="such names cannot be there")
def test_a_file_named_like_an_option_lowers_no_bar(hooked: Hooked) -> None:
    off = '[[left-out]]\npath = "*.rig"\nbecause = "no reason"\n'
    repository = hooked({"loose.toml": off})
    before = head(repository)
    for name in ("--settings=loose.toml.rig", "--only=fuse.rig", "--state.rig"):
        repository.write({name: GOOD, "loose.toml.rig": off, "lamp.rig": BAD})
        repository.git("add", "--all")
        told = stopped(repository, before, commit(repository))
        assert name in told
        repository.git("rm", "-q", "--cached", "--", name)
        (repository.folder / name).unlink()


@pytest.mark.skipif(sys.platform == "win32", reason="links need rights there")
def test_a_build_that_is_a_link_is_looked_at(hooked: Hooked, tmp_path: Path) -> None:
    (tmp_path / "elsewhere.rig").write_text(GOOD, encoding="utf-8")
    repository = hooked({})
    before = head(repository)
    (repository.folder / "lamp.rig").symlink_to(tmp_path / "elsewhere.rig")
    repository.git("add", "--all")
    told = " ".join(stopped(repository, before, commit(repository)).split())
    assert "leads out of the folder of the build" in told


def test_a_file_that_is_no_text_is_looked_at(hooked: Hooked) -> None:
    repository = hooked({})
    before = head(repository)
    (repository.folder / "lamp.rig").write_bytes(GOOD.encode("utf-16"))
    repository.git("add", "--all")
    assert "UTF-16" in stopped(repository, before, commit(repository))


def test_tidying_is_left_to_be_added(hooked: Hooked) -> None:
    repository = hooked({}, hooks=("ohmwright-tidy",))
    before = head(repository)
    repository.write({"lamp.rig": GOOD.replace("{ 1 A }", "{   1   A   }")})
    repository.git("add", "lamp.rig")
    told = stopped(repository, before, commit(repository))
    assert "files were modified by this hook" in told
    tidy = (repository.folder / "lamp.rig").read_text(encoding="utf-8")
    assert "   " not in tidy
    repository.git("add", "lamp.rig")
    passed(repository, before, commit(repository))


def test_tidying_leaves_published_copies_alone(hooked: Hooked) -> None:
    """The hash that an adaptation holds is that of the copy letter by letter."""
    copy = GOOD.replace("{ 1 A }", "{   1   A   }")
    repository = hooked({"mine.rig": 'rig "Mine"\nadapts "published/lamp.rig" revision 1\n'}, hooks=("ohmwright-tidy",))
    before = head(repository)
    repository.write({"published/lamp.rig": copy})
    repository.git("add", "--all")
    passed(repository, before, commit(repository))
    assert (repository.folder / "published" / "lamp.rig").read_text(encoding="utf-8") == copy


def test_no_network_once_warm(hooked: Hooked) -> None:
    repository = hooked({})
    before = head(repository)
    closed = dict.fromkeys(("PIP_INDEX_URL", "http_proxy", "https_proxy", "HTTP_PROXY", "HTTPS_PROXY"), "http://127.0.0.1:9")
    alone = ["unshare", "--net"] if _can_be_cut_off() else []  # there the system itself has no network but this machine
    repository.write({"lamp.rig": BAD})
    repository.git("add", "--all")
    command = [*alone, "git", "commit", "-m", "Change"]
    told = stopped(repository, before, repository.run(*command, **closed))
    assert "unknown-unit" in told
    repository.write({"lamp.rig": GOOD})
    repository.git("add", "--all")
    passed(repository, before, repository.run(*command, **closed))


def _can_be_cut_off() -> bool:
    if shutil.which("unshare") is None or os.name != "posix":
        return False
    return subprocess.run(["unshare", "--net", "true"], check=False, capture_output=True).returncode == 0
