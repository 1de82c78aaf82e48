"""What earlier runs found counts as long as nothing has changed that it hangs on, and whatever is wrong with it, nobody notices but the clock."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from ohmwright.commands.scale import cache as caches
from ohmwright.commands.scale import tasks
from ohmwright.commands.scale.cache import Cache, code_digest
from ohmwright.commands.scale.cache_places import cache_place, user_folder
from ohmwright.commands.scale.tasks import Inspector
from ohmwright.results import Kept
from ohmwright.rules import installed_packs
from ohmwright_grammar.records import replace

from .conftest import LIBRARY, lamp

WHOLE = 11  # of the fifteen files: a build and a library cannot be read in full, and two builds read that library


@pytest.fixture
def looked_at(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The files that are really inspected."""
    seen: list[str] = []
    before = Inspector.inspect

    def inspect(self: Inspector, task: Any) -> Any:
        seen.append(task[1])
        return before(self, task)

    monkeypatch.setattr(Inspector, "inspect", inspect)
    return seen


@pytest.fixture
def again(inspect: Callable[..., Any], looked_at: list[str]) -> Callable[..., set[str]]:
    """Inspect in one process; return what was really looked at."""

    def run(*arguments: str, today: str = "2026-01-01") -> set[str]:
        looked_at.clear()
        inspect("--jobs", "1", *arguments, today=today)
        return set(looked_at)

    return run


@pytest.fixture
def unread(again: Callable[..., set[str]]) -> set[str]:
    """Inspect everything once; return what is looked at every time, since it is not in order."""
    assert len(again()) == 15
    return again()


def test_second_run_says_the_same(at_once: Callable[..., Any], inspect: Callable[..., Any], looked_at: list[str]) -> None:
    wanted = at_once("--output", "json")
    first = inspect("--output", "json")
    second = inspect("--output", "json", "--jobs", "1")
    assert wanted.out == first.out == second.out
    assert wanted.code == first.code == second.code
    assert len(looked_at) == 15 - WHOLE


def test_what_is_not_in_order_is_never_kept(unread: set[str]) -> None:
    """A budget that ran out or a file that was missing may be otherwise next time."""
    assert unread == {"lamp4.rig", "lamp5.rig", "lamp6.rig", "parts/bad.rig"}


def test_a_changed_build_alone_is_looked_at(builds: Path, again: Callable[..., set[str]], unread: set[str]) -> None:
    (builds / "lamp2.rig").write_text(lamp(30), encoding="utf-8")
    assert again() == unread | {"lamp2.rig"}
    assert again() == unread


def test_a_changed_library_touches_who_reads_it(builds: Path, again: Callable[..., set[str]], unread: set[str]) -> None:
    (builds / "parts" / "good.rig").write_text(LIBRARY.replace("10 A", "15 A"), encoding="utf-8")
    assert again() == unread | {"parts/good.rig", "lamp3.rig"}
    (builds / "parts" / "good.rig").unlink()
    assert again() == unread | {"lamp3.rig"}


@pytest.mark.parametrize(
    "more",
    [
        ("--basis", "iec"),
        ("--states", "reached"),
        ("--require-checked",),
        ("--only", "voltage-drop"),
        ("--budget", "14,900"),
        ("--assumed",),
        ("--no-implied",),
    ],
)
def test_other_terms_are_another_question(again: Callable[..., set[str]], unread: set[str], more: tuple[str, ...]) -> None:
    assert len(again(*more)) == 15
    assert again() == unread


@pytest.mark.parametrize(
    "words",
    [
        'site = "ambient 5 degC to 60 degC"',
        '[[grades]]\ngrade = "voltage-drop.over-class"\nseverity = "note"\nbecause = "x"',
        '[[left-out]]\nfamily = "labels"\nbecause = "x"',
    ],
)
def test_settings_are_terms(builds: Path, again: Callable[..., set[str]], unread: set[str], words: str) -> None:
    (builds / "inner" / "ohmwright.toml").write_text(f'bar = "note"\n{words}\n', encoding="utf-8")
    assert len(again()) == len(unread) + 5


def test_an_entry_of_the_baseline_is_a_term_of_its_build(
    builds: Path, again: Callable[..., set[str]], unread: set[str], command: Callable[..., Any]
) -> None:
    """A baseline that gets an entry of one build leaves the rest as it is."""
    known = builds / "known.json"
    command("inspect", "lamp1.rig", "lamp2.rig", "--baseline", "known.json", "--write-baseline")
    document = json.loads(known.read_text(encoding="utf-8"))
    (name,) = (key for key, value in document.items() if isinstance(value, list))
    (builds / "inner" / "ohmwright.toml").unlink()
    again("--baseline", "known.json")
    assert again("--baseline", "known.json") == unread
    document[name] = [entry for entry in document[name] if entry["path"] != "lamp2.rig"]
    known.write_text(json.dumps(document), encoding="utf-8")
    assert again("--baseline", "known.json") == unread | {"lamp1.rig", "lamp2.rig"}, (
        "of the first the entry stands elsewhere now"
    )


def test_the_day_counts_where_a_waiver_ends(builds: Path, again: Callable[..., set[str]], unread: set[str]) -> None:
    waiver = 'waive voltage-drop on lamp because "seen" until 2026-03-01\n'
    (builds / "lamp2.rig").write_text(lamp(2) + waiver, encoding="utf-8")
    again()
    assert again(today="2026-03-01") == unread, "its last day is one on which it holds"
    assert again(today="2026-03-02") == unread | {"lamp2.rig"}
    assert again(today="2027-01-01") == unread
    assert again(today="2026-01-01") == unread | {"lamp2.rig"}


def test_other_packs_may_look_at_the_day(
    builds: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, again: Callable[..., set[str]]
) -> None:
    from dataclasses import replace

    more = replace(installed_packs()[0], name="another")
    monkeypatch.setattr(caches, "installed_packs", lambda: (more,))
    again()
    assert len(again()) == 15 - WHOLE
    assert len(again(today="2026-01-02")) == 15


def test_the_program_is_a_term(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Every module, table and grammar of the program and its packs counts, not their versions alone."""
    before = code_digest(installed_packs())
    assert before == code_digest(installed_packs()) != ""
    folder = tmp_path / "invented_pack"
    folder.mkdir()
    (folder / "__init__.py").write_text("", encoding="utf-8")
    (folder / "table.csv").write_text("a,b\n1,2\n", encoding="utf-8")
    monkeypatch.syspath_prepend(str(tmp_path))
    import invented_pack  # type: ignore[import-not-found]
    from ohmwright.rules import Pack

    assert invented_pack
    pack = Pack("invented", "1", ("invented_pack.rule",))
    one = code_digest((pack,))
    (folder / "table.csv").write_text("a,b\n1,3\n", encoding="utf-8")
    assert len({before, one, code_digest((pack,))}) == 3
    assert code_digest((Pack("absent", "1", ("nowhere_to_be_found.rule",)),)) == ""


# damage ------------------------------------------------------------------------------------------------------------


def entries(tmp_path: Path) -> list[Path]:
    return sorted(path for path in (tmp_path / "caches" / "ohmwright" / "found").rglob("*") if path.is_file())


@pytest.mark.parametrize(
    "damage",
    [
        lambda data: b"",
        lambda data: data[:-1],
        lambda data: data[:40],
        lambda data: data[:-9] + b"x" + data[-8:],
        lambda data: b"\0" * len(data),
    ],
)
def test_damaged_entries_count_as_none(
    tmp_path: Path, inspect: Callable[..., Any], looked_at: list[str], damage: Callable[[bytes], bytes]
) -> None:
    wanted = inspect("--jobs", "1")
    found = entries(tmp_path)
    assert len(found) == WHOLE
    for path in found:
        path.write_bytes(damage(path.read_bytes()))
    looked_at.clear()
    assert inspect("--jobs", "1") == wanted
    assert len(looked_at) == 15


def test_an_entry_in_the_place_of_another_counts_as_none(tmp_path: Path, inspect: Callable[..., Any]) -> None:
    wanted = inspect("--jobs", "1")
    found = entries(tmp_path)
    texts = [path.read_bytes() for path in found]
    for path, data in zip(found, [*texts[1:], texts[0]], strict=True):
        path.write_bytes(data)
    assert inspect("--jobs", "1") == wanted


def test_a_damaged_key_is_made_anew(
    tmp_path: Path, inspect: Callable[..., Any], again: Callable[..., set[str]], unread: set[str]
) -> None:
    (tmp_path / "caches" / "ohmwright" / "key").write_bytes(b"short")
    assert len(again()) == 15
    assert again() == unread


def test_a_change_cannot_bring_what_it_was_found_to_be(
    builds: Path, tmp_path: Path, inspect: Callable[..., Any], looked_at: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Entries that somebody else made, in a folder of the repository, are sealed with another key, even where that lies beside them."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "of the forger"))
    inspect("--jobs", "1", "--cache", "kept")
    assert entries(tmp_path) == []
    assert len([path for path in (builds / "kept" / "found").rglob("*") if path.is_file()]) == WHOLE
    forged = (tmp_path / "of the forger" / "ohmwright" / "key").read_bytes()
    (builds / "kept" / "key").write_bytes(forged)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "of the reviewer"))
    looked_at.clear()
    inspect("--jobs", "1", "--cache", "kept")
    assert len(looked_at) == 15


def test_full_disk(inspect: Callable[..., Any], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    wanted = inspect("--jobs", "1", "--cache", "none")
    replace, count = os.replace, 0

    def full(old: Any, new: Any) -> None:
        nonlocal count
        count += 1
        if count > 3:
            raise OSError(28, "No space left on device")
        replace(old, new)

    monkeypatch.setattr(os, "replace", full)
    found = inspect("--jobs", "1")
    assert (found.code, found.out) == (wanted.code, wanted.out)
    assert found.err.count("No space left on device") == 1
    assert count == 4, "it is not tried again and again"
    assert not list((tmp_path / "caches").rglob("*.tmp"))


BREAKING = Path(__file__).parents[2] / "hostile" / "breaking.py"
POSIX = pytest.mark.skipif(sys.platform == "win32", reason="signals, limits and rights are others there")
ROOT = hasattr(os, "geteuid") and os.geteuid() == 0


def broken_run(builds: Path, first: str) -> subprocess.CompletedProcess[str]:
    """Inspect the folder in a process of its own, in which something was broken before."""
    script = (
        f"import os, signal, sys\nsys.path.insert(0, {str(BREAKING.parent)!r})\n{first}\n"
        "from ohmwright.cli import run\nsys.argv = ['ohmwright', 'inspect', '.', '--today', '2026-01-01', '--jobs', '1']\nrun()"
    )
    return subprocess.run(
        [sys.executable, "-c", script], cwd=builds, capture_output=True, text=True, encoding="utf-8", check=False,
        env=os.environ | {"PYTHONDONTWRITEBYTECODE": "1"},
    )  # fmt: skip


@POSIX
@pytest.mark.parametrize(("size", "kept"), [(0, 0), (32, 1), (200, 1)])
def test_a_disk_that_is_full_in_the_middle_of_a_file(
    builds: Path, tmp_path: Path, inspect: Callable[..., Any], size: int, kept: int
) -> None:
    """The key alone has 32 bytes; no entry is as small as that."""
    wanted = inspect("--jobs", "1", "--cache", "none")
    full = f"import resource; signal.signal(signal.SIGXFSZ, signal.SIG_IGN); resource.setrlimit(resource.RLIMIT_FSIZE, ({size}, {size}))"
    found = broken_run(builds, full)
    assert (found.returncode, found.stdout) == (wanted.code, wanted.out)
    assert found.stderr.count("cannot be used: File too large") == found.stderr.count("\n") == 1
    assert len([path for path in (tmp_path / "caches").rglob("*") if path.is_file()]) == kept
    assert inspect("--jobs", "1") == wanted


@POSIX
@pytest.mark.parametrize("when", ["before", "after"])
@pytest.mark.parametrize("step", ["os.open", "os.replace"])
@pytest.mark.parametrize("files", [0, 1, 4])
def test_killed(
    builds: Path, tmp_path: Path, inspect: Callable[..., Any], looked_at: list[str], step: str, when: str, files: int
) -> None:
    """At the key, at the first entry, and after three: each file is whole or not there, and the next run says the same."""
    wanted = inspect("--jobs", "1", "--cache", "none")
    name = step.removeprefix("os.")
    killing = f"""
import breaking
left, real = {files}, os.{name}
breaking.killed({step!r}, {when!r})
dying = os.{name}
def counted(*given, **named):
    global left
    if {name!r} == "open" and not (len(given) > 1 and given[1] & os.O_CREAT):
        return real(*given, **named)
    left -= 1
    return (real if left >= 0 else dying)(*given, **named)
os.{name} = counted
"""
    assert broken_run(builds, killing).returncode == -9
    whole = [path for path in entries(tmp_path) if not path.name.endswith(".tmp")]
    assert len(whole) == max(0, files - (step == "os.open" or when == "before"))
    for expected in (len(whole), WHOLE):
        looked_at.clear()
        assert inspect("--jobs", "1") == wanted
        assert len(looked_at) == 15 - expected
    assert len([path for path in entries(tmp_path) if not path.name.endswith(".tmp")]) == WHOLE


@POSIX
@pytest.mark.skipif(ROOT and sys.platform != "linux", reason="root may write everywhere")
def test_a_folder_that_may_not_be_written(builds: Path, tmp_path: Path, inspect: Callable[..., Any]) -> None:
    wanted = inspect("--jobs", "1", "--cache", "none")
    (tmp_path / "caches").mkdir(mode=0o500)
    found = broken_run(builds, "import breaking; breaking.bound_by_rights()" if ROOT else "")
    assert (found.returncode, found.stdout) == (wanted.code, wanted.out)
    assert found.stderr.count("cannot be used: Permission denied") == found.stderr.count("\n") == 1
    assert not list((tmp_path / "caches").iterdir())


def test_a_file_in_the_way(inspect: Callable[..., Any], tmp_path: Path) -> None:
    wanted = inspect("--jobs", "1", "--cache", "none")
    (tmp_path / "caches").write_text("not a folder", encoding="utf-8")
    found = inspect("--jobs", "1")
    assert (found.code, found.out) == (wanted.code, wanted.out)
    assert "the cache in" in found.err


def test_two_processes_at_once(builds: Path, tmp_path: Path, inspect: Callable[..., Any]) -> None:
    wanted = inspect("--cache", "none", "--jobs", "1").out
    script = "from ohmwright.cli import run; import sys; sys.argv = ['ohmwright', 'inspect', '.', '--today', '2026-01-01', '--jobs', '2']; run()"
    runs = [
        subprocess.Popen(
            [sys.executable, "-c", script],
            cwd=builds,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            env=dict(os.environ),
            text=True,
            encoding="utf-8",
        )
        for _ in range(3)
    ]
    for run in runs:
        out, err = run.communicate(timeout=120)
        assert (out, err) == (wanted, "")
    assert inspect("--jobs", "1").out == wanted
    assert len(entries(tmp_path)) == WHOLE


def test_what_nobody_asks_for_goes(tmp_path: Path, inspect: Callable[..., Any]) -> None:
    inspect("--jobs", "1")
    folder = tmp_path / "caches" / "ohmwright"
    old, young, cut = (folder / "found" / "00" / name for name in ("old", "young", ".x.1.tmp"))
    old.parent.mkdir(exist_ok=True)
    for path, days in ((old, 31), (young, 29), (cut, 2), (folder / "cleared", 2)):
        path.write_bytes(b"")
        at = path.stat().st_mtime - days * 86_400
        os.utime(path, (at, at))
    inspect("--jobs", "1", "--basis", "iec")
    assert [path.exists() for path in (old, young, cut)] == [False, True, False]


# places ------------------------------------------------------------------------------------------------------------


def test_folders_of_systems() -> None:
    """XDG Base Directory Specification 0.8: a path that is not absolute is ignored. Windows and macOS: common practice, no source."""
    assert user_folder("linux", {"HOME": "/home/a"}) == Path("/home/a/.cache/ohmwright")
    assert user_folder("linux", {"HOME": "/home/a", "XDG_CACHE_HOME": "/var/c"}) == Path("/var/c/ohmwright")
    assert user_folder("linux", {"HOME": "/home/a", "XDG_CACHE_HOME": "c"}) == Path("/home/a/.cache/ohmwright")
    assert user_folder("linux", {}) is None
    assert user_folder("darwin", {"HOME": "/Users/a"}) == Path("/Users/a/Library/Caches/ohmwright")
    assert user_folder("win32", {"LOCALAPPDATA": "C:/local"}) == Path("C:/local/ohmwright/Cache")
    assert user_folder("win32", {}) is None


def test_nothing_is_kept_in_the_repository_unless_asked(
    builds: Path, tmp_path: Path, inspect: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    before = sorted(builds.rglob("*"))
    inspect("--jobs", "1")
    assert sorted(builds.rglob("*")) == before
    monkeypatch.setenv("XDG_CACHE_HOME", str(builds / "caches"))
    inspect("--jobs", "1")
    assert sorted(builds.rglob("*")) == before, (
        "the user's folder lies in the repository, where a change could bring what is in it"
    )
    found = inspect("--jobs", "1", "--cache", "kept")
    assert "there is no folder outside for the key" in found.err
    assert sorted(builds.rglob("*")) == before
    outside = tmp_path / "elsewhere"
    inspect("--jobs", "1", "--cache", str(outside))
    assert (outside / "key").exists()


def test_settings_name_a_folder(builds: Path, inspect: Callable[..., Any]) -> None:
    (builds / "ohmwright.toml").write_text('cache = "kept"\n', encoding="utf-8")
    inspect("--jobs", "1")
    assert (builds / "kept" / "found").exists()
    assert not (builds / "kept" / "key").exists()
    (builds / "ohmwright.toml").write_text('cache = "none"\n', encoding="utf-8")
    assert cache_place("none", [builds]) is None
    assert "cache            none" in inspect("--show-settings").out


def test_a_link_out_of_the_root_is_refused_again(
    builds: Path, tmp_path: Path, again: Callable[..., set[str]], unread: set[str]
) -> None:
    outside = tmp_path / "outside.rig"
    (builds / "lamp2.rig").rename(outside)
    try:
        (builds / "lamp2.rig").symlink_to(outside)
    except OSError:
        pytest.skip("links cannot be made here")
    assert again() == unread | {"lamp2.rig"}


def test_what_a_pack_says_in_a_form_that_cannot_be_written_is_told_but_not_kept(
    builds: Path, tmp_path: Path, command: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(builds)
    one = ("inspect", "lamp1.rig", "--today", "2026-01-01", "--jobs", "1")
    plain = command(*one, "--cache", "none")
    real = tasks.piece_of

    def odd(run: Any, path: str) -> Any:
        piece = real(run, path)
        kept = piece.build.passes[0]
        told = replace(kept.passed, subject=(*kept.passed.subject, object()))
        return replace(piece, build=replace(piece.build, passes=(*piece.build.passes[1:], Kept(kept.rule, told))))

    monkeypatch.setattr(tasks, "piece_of", odd)
    store = tmp_path / "store"
    ran = command(*one, "--cache", str(store))
    assert (ran.code, ran.out, ran.err) == (plain.code, plain.out, "")
    assert not (store / "found").exists()
    part = command(*one, "--cache", "none", "--part", str(tmp_path / "part"))
    assert part.code == 2
    assert "cannot be written" in part.err
    assert "itself failed" not in part.err
    assert not (tmp_path / "part").exists()


def test_cache_is_used_by_class(tmp_path: Path) -> None:
    """No key, no entries: nothing is looked for."""
    cache = Cache((tmp_path / "a", tmp_path / "b"), [tmp_path], ["terms"], "2026-01-01", [None])
    assert cache.look(0, "x.rig") is None
    assert (tmp_path / "b" / "key").stat().st_size == 32
