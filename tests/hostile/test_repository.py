"""Repositories that are a trap as a whole: too many files, files that stand in the way of the program's own, settings and baselines that are bombs."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from hostile.attacking import BUILD, Repository, need_links

MANY = 50_000
PWNED = 'import pathlib\npathlib.Path(__file__).with_name("pwned").touch()\n'


def test_fifty_thousand_files_that_are_no_builds(repository: Repository) -> None:
    for folder in range(50):
        place = repository.root / f"f{folder}"
        place.mkdir()
        for number in range(MANY // 50):
            os.close(
                os.open(
                    place / f"{number}.{('txt', 'toml', 'rig.txt', 'RIG~', 'py')[number % 5]}", os.O_CREAT | os.O_WRONLY, 0o644
                )
            )
    answer = repository.inspect(".")
    assert (answer.code, answer.out) == (2, "")
    assert "there is no .rig file in the folder ." in answer.err
    repository.write("f49/deep/box.rig")
    assert list(repository.inspect(".").builds()) == ["f49/deep/box.rig"]


def test_folders_two_hundred_deep(repository: Repository) -> None:
    deep = "/".join(["d"] * 200)
    repository.write(f"{deep}/box.rig")
    assert list(repository.inspect(".").builds()) == [f"{deep}/box.rig"]


@pytest.mark.parametrize("library", [True, False])
def test_five_hundred_empty_builds(repository: Repository, library: bool) -> None:
    for number in range(500):
        repository.write(f"b{number}.rig", "fuse f 15 A blade\n" if library else "")
    answer = repository.inspect(".")
    assert answer.code == (0 if library else 2)
    assert len(answer.builds()) == 500


# code ------------------------------------------------------------------------------------------------------------------

MODULES = (
    "ohmwright.py", "ohmwright/__init__.py", "ohmwright_rules/__init__.py", "ohmwright_grammar/__init__.py", "lark/__init__.py", "pint.py", "json.py", "re.py",
    "argparse.py", "tomllib.py", "datetime.py", "sitecustomize.py", "usercustomize.py", "conftest.py", "setup.py", "evil.pth", "evil-1.0.dist-info/entry_points.txt",
    "__pycache__/json.cpython-311.pyc", "rules/evil.py", ".ohmwright/rules.py",
)  # fmt: skip


def test_modules_with_the_names_of_those_that_the_program_reads(repository: Repository) -> None:
    """The folder that is inspected is no place to load code from; watched.py tells of any that is run from there."""
    repository.write("box.rig")
    for name in MODULES:
        repository.write(name, "[ohmwright.rules]\nevil = evil:PACK\n" if name.endswith(".txt") else PWNED)
    for command in ("inspect", "solve", "tidy", "size"):
        repository.run(command, "box.rig", *(("--check",) if command == "tidy" else ()))
    assert not list(repository.root.rglob("pwned"))


@pytest.mark.parametrize(
    "settings",
    [
        'rules = ["evil:PACK"]', 'packs = ["evil"]', 'plugins = ["evil.py"]', 'python = "evil.py"', 'extends = "../outside/ohmwright.toml"', 'include = "/etc/passwd"',
        'builds = ["../outside"]', 'builds = ["/"]', 'baseline = "../outside/baseline.json"', 'baseline = "/etc/passwd"', '[output]\nto = "pwned"',
        '[output]\nformat = "json; touch pwned"', 'basis = "../../evil"', 'site = "ambient 1 degC; parts from \\"/etc/passwd\\""', 'today = "1999-01-01"',
        "budget = [1e9, 1e9]",
    ],
)  # fmt: skip
def test_settings_that_ask_for_more_than_they_may(repository: Repository, settings: str) -> None:
    repository.write("box.rig")
    repository.write("evil.py", PWNED)
    repository.write("ohmwright.toml", settings + "\n")
    answer = repository.run("inspect", *(() if "builds" in settings else ("box.rig",)))
    assert answer.code == 2
    assert "ohmwright.toml line" in answer.err
    assert not (repository.root / "pwned").exists()


# settings and baselines ------------------------------------------------------------------------------------------------

DEEP = 100_000
SETTINGS = {
    "two megabytes and more": "#" * 2_100_000,
    "a list in a list": "builds = " + "[" * DEEP,
    "tables in each other": "a = " + "{a = " * DEEP,
    "a key of many points": "a" + ".a" * DEEP + " = 1",
    "a table of many points": "[a" + ".a" * DEEP + "]",
    "many keys": "".join(f"k{n} = 1\n" for n in range(DEEP)),
    "many entries": '[[left-out]]\npath = "x"\nbecause = "y"\n' * 40_000,
    "many tables of one name": "[a]\n" * DEEP,
    "a long text": f'basis = "{"x" * 1_900_000}"',
    "a long key": f"{'x' * 1_900_000} = 1",
    "a long number": f"bar = {'9' * 1_900_000}",
    "a number in another base": f"bar = 0x{'f' * 1_900_000}",
    "an open text": 'basis = "' + "x" * 1_900_000,
    "an open text of several lines": 'basis = """' + "\n" * 1_900_000,
    "backslashes": 'basis = "' + "\\\\" * 900_000 + '"',
    "patterns that try every way": '[[left-out]]\npath = "' + "**/*a*" * 3000 + '"\nbecause = "y"\n',
    "stars": '[[left-out]]\npath = "' + "*a" * 300 + 'b"\nbecause = "y"\n',
    "a long site": f'site = "{"ambient 1 degC; " * 100_000}"',
    "half a character": 'basis = "\\ud800"',
    "no text": b"\xff\xfe\x00\x01",
    "a zero byte": b"basis = 'x\x00'",
}  # fmt: skip


@pytest.mark.parametrize("name", SETTINGS)
@pytest.mark.parametrize("file", ["ohmwright.toml", "pyproject.toml"])
def test_settings_that_are_a_bomb(repository: Repository, file: str, name: str) -> None:
    text = SETTINGS[name]
    repository.write("a" * 200 + "/box.rig")
    if isinstance(text, str) and file == "pyproject.toml":
        text = f"[tool.ohmwright]\n{text}".replace("[[", "[[tool.ohmwright.")
    repository.write(file, text)
    answer = repository.run("inspect", ".")
    assert answer.code in (0, 1, 2)
    assert len(answer.err) < 1_000_000
    if answer.code == 2:
        assert answer.err or answer.out


ENTRY = {
    "path": "box.rig", "rule": "loose-battery", "grade": "fixed", "subject": ["house"], "severity": "warning", "measured": None, "limit": None, "sense": "at-most",
    "fingerprint": "0" * 64,
}  # fmt: skip
HEAD = '{"ohmwright": "0.1.0", "baseline": 1, "states": "declared", "entries": '
BASELINES = {
    "lists in each other": HEAD + "[" * DEEP,
    "objects in each other": '{"a":' * DEEP,
    "sixty megabytes": HEAD + " " * 60_000_000 + "[]}",
    "many entries": HEAD + "[" + ",\n".join([json.dumps(ENTRY)] * 30_000) + "]}",
    "a number without end": HEAD + "[" + json.dumps({**ENTRY, "measured": {"value": 1, "unit": "A"}}).replace("1, ", "9" * 100_000 + ", ") + "]}",
    "no number": HEAD + "[" + json.dumps({**ENTRY, "measured": {"value": float("nan"), "unit": "A"}}) + "]}",
    "a key twice": '{"baseline": 1, "baseline": 1}',
    "a prototype": '{"__proto__": {"baseline": 1}, "constructor": 1}',
    "another path": HEAD + "[" + json.dumps({**ENTRY, "path": "../outside/box.rig"}) + "]}",
    "nothing": "",
    "no text": b"\xff\x00\xfe",
    "half of it": HEAD + "[" + json.dumps(ENTRY)[:-20],
}  # fmt: skip


@pytest.mark.parametrize("name", BASELINES)
def test_baseline_that_is_a_bomb(repository: Repository, name: str) -> None:
    repository.write("box.rig")
    repository.write("known.json", BASELINES[name])
    answer = repository.run("inspect", "box.rig", "--baseline", "known.json")
    assert answer.code == 2
    assert "known.json line" in answer.err
    assert len(answer.err) < 2000


@need_links
@pytest.mark.parametrize("file", ["ohmwright.toml", "pyproject.toml", "known.json", ".git"])
def test_links_in_place_of_the_files_that_judge(repository: Repository, file: str) -> None:
    repository.write("box.rig")
    if file == "known.json":
        repository.write("ohmwright.toml", 'baseline = "known.json"\n')
    if file == ".git":
        (repository.root / ".git").rmdir()
    target = {"known.json": "baseline.json", "pyproject.toml": "ohmwright.toml", ".git": ""}.get(file, file)
    (repository.root / file).symlink_to(f"../outside/{target}")
    answer = repository.run("inspect", "box.rig")
    assert answer.code in ((0, 1) if file == ".git" else (2,))
    assert answer.code < 2 or "leads out of the" in answer.err


# a change that judges itself -------------------------------------------------------------------------------------------

FAULTY = BUILD.replace("load lamp 5 A", "load lamp 50 A").replace("6 AWG; 0.6 m", "22 AWG; 6 m")
WEAKENINGS = {
    "settings that leave the build out": {"ohmwright.toml": '[[left-out]]\npath = "**"\nbecause = "old"\n'},
    "settings that change every grade": {"ohmwright.toml": 'bar = "error"\n[[grades]]\ngrade = "far-fuse.unfused"\nseverity = "off"\nbecause = "old"\n'},
    "settings that leave out every family": {"ohmwright.toml": "".join(f'[[left-out]]\nfamily = "{family}"\nbecause = "x"\n' for family in ("protection", "conductors", "storage"))},
    "nearer settings": {"boats/ohmwright.toml": '[[left-out]]\npath = "**"\nbecause = "old"\n'},
    "settings in a project": {"boats/pyproject.toml": '[tool.ohmwright]\nbar = "error"\nbaseline = "b.json"\n', "boats/b.json": HEAD + "[]}"},
    "settings that cannot be read": {"boats/ohmwright.toml": "= ="},
    "a baseline of its own": {"ohmwright.toml": 'baseline = "b.json"\n', "b.json": HEAD + "[]}"},
    "a repository in the repository": {"boats/.git/HEAD": "ref: x\n", "boats/ohmwright.toml": '[[left-out]]\npath = "**"\nbecause = "old"\n'},
}  # fmt: skip


@pytest.mark.parametrize("name", WEAKENINGS)
@pytest.mark.parametrize("settings", ["none", "target.toml"])
def test_what_a_change_brings_has_no_say_in_what_judges_it(repository: Repository, name: str, settings: str) -> None:
    """With settings and baseline of the target branch, as an automatic review passes them, the findings are those of the bare build."""
    (repository.outside / "target.toml").write_text('bar = "error"\n', encoding="utf-8")
    (repository.outside / "target.json").write_text(HEAD + "[]}", encoding="utf-8")
    repository.write("boats/box.rig", FAULTY)
    terms = ("--settings", "none", "--baseline", "none")
    if settings != "none":
        repository.write("review/target.toml", 'bar = "error"\n')
        repository.write("review/known.json", HEAD + "[]}")
        terms = ("--settings", "review/target.toml", "--baseline", "review/known.json")
    bare = repository.inspect("boats", *terms)
    assert bare.code == 1
    for path, text in WEAKENINGS[name].items():
        repository.write(path, text)
    changed = repository.inspect("boats", *terms)
    assert changed.code == 1

    def found(answer: str) -> list[tuple[str, str, str]]:
        builds = json.loads(answer)["builds"]
        return sorted((item["rule"], item["severity"], str(item["subject"])) for build in builds for item in build["findings"])

    assert found(changed.out) == found(bare.out)


def test_baseline_that_a_change_makes_out_of_its_own_faults_is_no_say(repository: Repository) -> None:
    repository.write("box.rig", FAULTY)
    repository.write("ohmwright.toml", 'baseline = "known.json"\n')
    written = repository.run("inspect", "box.rig", "--write-baseline", writes=("known.json",))
    assert written.code == 0, written.err
    assert repository.run("inspect", "box.rig").code == 0
    assert repository.run("inspect", "box.rig", "--settings", "none", "--baseline", "none").code == 1


@pytest.mark.parametrize(
    ("waiver", "words"),
    [
        ("waive far-fuse on feed", "because"),
        ('waive far-fuse on feed because "no time" until 2025-01-01', ""),
        ('waive far-fuse on feed, back because "" until 2027-01-01', ""),
        ('waive everything on feed because "x" until 2027-01-01', "kept for the language"),
        ('waive far-fuse on * because "x" until 2027-01-01', ""),
        ('waive * on feed because "x" until 9999-12-31', ""),
        ('waive far-fuse on feed because "x" until 0000-00-00', "outside what can be"),
    ],
)
def test_waivers_that_say_too_little_or_too_much(repository: Repository, waiver: str, words: str) -> None:
    """None of them takes a fault away without a word: it is refused, it is found, or it has run out."""
    repository.write("box.rig", f"{FAULTY}{waiver}\n")
    answer = repository.inspect()
    (build,) = answer.builds().values()
    assert answer.code in (1, 2)
    told = [item for item in build["findings"] if item["span"]["line"] == FAULTY.count("\n") + 1]
    assert told or not build["waived"]
    if words:
        assert any(words in item["message"] + (item["remedy"] or "") for item in told), [item["message"] for item in told]
