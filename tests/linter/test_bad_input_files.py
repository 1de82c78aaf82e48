"""Files that cannot be read, or not in full: each gets a located message that helps and exit code 2, and what can be read is inspected all the same."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path
from typing import Any

import pytest
from ohmwright_grammar.files import MOST_BYTES

pytestmark = pytest.mark.usefixtures("sample_installed")

GOOD = """\
rig "Bench", revision 1
basis us-small-craft
site { ambient 5 degC to 30 degC }
battery house { LFP, 4 cells, 100 Ah; internal resistance 4 mohm }
"""


def told(run: Any, *arguments: str) -> list[dict[str, Any]]:
    """Inspect, insist on exit code 2, and return every finding about text."""
    ran = run("inspect", *arguments, "--output", "json")
    assert ran.code == 2, ran.err
    assert "Traceback" not in ran.out + ran.err
    builds = json.loads(ran.out)["builds"]
    return [finding for build in builds for finding in build["findings"] if finding["family"] == "text"]


def write(name: str, text: str | bytes) -> Path:
    path = Path(name)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
    return path


# the named file -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("data", "rule", "line", "column", "words"),
    [
        (b"", "no-statement", 1, 1, "no statement"),
        (b"\x00\x01\x02" * 50, "file-not-read", 1, 1, "bytes of value zero"),
        (b"rig \x00", "file-not-read", 1, 1, "bytes of value zero"),
        (b'# one\nrig "caf\xe9"\n', "file-not-read", 2, 9, "no UTF-8 (byte 15 of the file)"),
        ('rig "Bench"\n'.encode("utf-16"), "file-not-read", 1, 1, "written in UTF-16"),
        (b"x" * 10_000_000, "over-limit", 1, 1, "10.0 MB; at most 2 MB"),
        (b"x {" * 100_000, "over-limit", 1, 195, "nested deeper than 64"),
        (b'rig "Bench\n', "unclosed-text", 1, 5, "no closing quotation mark"),
        (b"\x01\x02\x03\n", "unknown-property", 1, 1, ""),
    ],
    ids=["empty", "binary", "zero byte", "not UTF-8", "UTF-16", "10 MB", "100,000 braces", "open string", "stray bytes"],
)
def test_file_that_cannot_be_read(command: Any, data: bytes, rule: str, line: int, column: int, words: str) -> None:
    write("box.rig", data)
    (finding, *_) = told(command, "box.rig")
    assert (finding["span"]["path"], finding["span"]["line"], finding["span"]["column"]) == ("box.rig", line, column)
    if words:
        assert finding["rule"] == rule
        assert words in finding["message"]
    assert finding["remedy"]


def test_file_of_ten_megabytes_is_not_even_read(command: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    import builtins

    path = write("box.rig", b"x" * (MOST_BYTES + 1))
    real = builtins.open

    def refuse(file: Any, *arguments: Any, **named: Any) -> Any:
        assert Path(str(file)).name != path.name, "the file was opened"
        return real(file, *arguments, **named)

    monkeypatch.setattr(builtins, "open", refuse)
    assert told(command, "box.rig")[0]["rule"] == "over-limit"


def test_no_file(command: Any) -> None:
    write("shelf.rig", GOOD)
    ran = command("inspect", "shlef.rig")
    assert ran.code == 2
    assert "there is no file shlef.rig (files near this name: shelf.rig)" in ran.err


def test_no_path_at_all(command: Any) -> None:
    ran = command("inspect")
    assert ran.code == 2
    assert "name at least one build file or folder" in ran.err


def test_folder_without_builds(command: Any) -> None:
    Path("empty").mkdir()
    ran = command("inspect", "empty")
    assert ran.code == 2
    assert "there is no .rig file in the folder empty" in ran.err


def test_folder_without_builds_beside_a_good_build(command: Any) -> None:
    """What can be read is inspected all the same; 2 wins."""
    Path("empty").mkdir()
    write("box.rig", GOOD)
    ran = command("inspect", "empty", "box.rig")
    assert ran.code == 2
    assert "box.rig: Bench, revision 1" in ran.out


def test_folder_with_builds(command: Any) -> None:
    write("boxes/one.rig", GOOD)
    write("boxes/deeper/two.rig", GOOD)
    write("boxes/.hidden/three.rig", GOOD)
    ran = command("inspect", "boxes", "--output", "json")
    assert ran.code == 0
    assert [build["path"] for build in json.loads(ran.out)["builds"]] == ["deeper/two.rig", "one.rig"]


def test_paths_are_told_from_the_root(command: Any) -> None:
    Path(".git").mkdir()
    write("boxes/one.rig", GOOD)
    ran = command("inspect", "boxes", "--output", "json")
    assert [build["path"] for build in json.loads(ran.out)["builds"]] == ["boxes/one.rig"]


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="whoever is root may read every file")
def test_file_that_may_not_be_read(command: Any) -> None:
    write("box.rig", GOOD).chmod(0)
    (finding,) = told(command, "box.rig")
    assert finding["rule"] == "file-not-read"
    assert "may not be read" in finding["message"]


def test_file_that_the_system_will_not_open(command: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    import builtins

    write("box.rig", GOOD)
    real = builtins.open

    def refuse(file: Any, *arguments: Any, **named: Any) -> Any:
        if str(file).endswith("box.rig"):
            raise PermissionError(13, "Permission denied")
        return real(file, *arguments, **named)

    monkeypatch.setattr(builtins, "open", refuse)
    (finding,) = told(command, "box.rig")
    assert finding["message"] == "The file 'box.rig' may not be read."
    assert finding["remedy"] == "Change its permissions."


@pytest.mark.skipif(sys.platform == "win32", reason="a pipe has no name there")
def test_pipe_is_refused_and_nothing_waits_for_it(command: Any) -> None:
    os.mkfifo("box.rig")
    (finding,) = told(command, "box.rig")
    assert "no plain file" in finding["message"]


@pytest.mark.skipif(sys.platform == "win32", reason="links need a permission there")
def test_link_to_nowhere(command: Any) -> None:
    Path("box.rig").symlink_to("nowhere.rig")
    assert told(command, "box.rig")[0]["rule"] == "file-not-read"


@pytest.mark.skipif(sys.platform == "win32", reason="links need a permission there")
def test_link_in_a_circle(command: Any) -> None:
    Path("one.rig").symlink_to("two.rig")
    Path("two.rig").symlink_to("one.rig")
    assert told(command, "one.rig")[0]["rule"] == "file-not-read"


# files that a build reads ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("shlef.rig", "There is no file 'shlef.rig'."),
        ("/etc/shelf.rig", "is an absolute path"),
        ("C:\\shelf.rig", "is an absolute path"),
        ("../shelf.rig", "leads out of the folder of the build"),
        ("parts/../../shelf.rig", "leads out of the folder of the build"),
        ("parts", "is a folder"),
        ("", "leads out of the folder"),
    ],
)
def test_library_that_cannot_be_had(command: Any, written: str, words: str) -> None:
    Path("parts").mkdir()
    write("shelf.rig", "fuse small { 15 A blade }\n")
    write("box.rig", GOOD + f'parts from "{written}"\n')
    (finding,) = told(command, "box.rig")
    assert (finding["span"]["path"], finding["span"]["line"]) == ("box.rig", 5)
    assert words in finding["message"]


@pytest.mark.skipif(sys.platform == "win32", reason="links need a permission there")
def test_library_outside_of_the_root_through_a_link(command: Any) -> None:
    write("outside/shelf.rig", "fuse small { 15 A blade }\n")
    write("root/box.rig", GOOD + 'parts from "shelf.rig"\n')
    Path("root/shelf.rig").symlink_to("../outside/shelf.rig")
    (finding,) = told(command, "root/box.rig")
    assert "leads out of the folder of the build" in finding["message"]
    assert finding["span"]["line"] == 5


@pytest.mark.skipif(sys.platform == "win32", reason="links need a permission there")
def test_build_outside_of_the_root_through_a_link(command: Any) -> None:
    write("outside/box.rig", GOOD)
    Path("root").mkdir()
    Path("root/box.rig").symlink_to("../outside/box.rig")
    assert "leads out of the folder" in told(command, "root/box.rig")[0]["message"]


def test_circle_of_files(command: Any) -> None:
    write("box.rig", GOOD + 'parts from "one.rig"\n')
    write("one.rig", 'parts from "two.rig"\nfuse small { 15 A blade }\n')
    write("two.rig", 'parts from "one.rig"\nfuse large { 80 A blade }\n')
    (finding,) = told(command, "box.rig")
    assert finding["rule"] == "circle-of-files"
    assert "'one.rig' reads 'two.rig' reads 'one.rig'" in finding["message"]
    assert finding["span"]["path"] == "two.rig"


def test_builds_that_adapt_each_other(command: Any) -> None:
    write("one.rig", 'rig "One"\nadapts "two.rig"\n')
    write("two.rig", 'rig "Two"\nadapts "one.rig"\n')
    assert "circle-of-files" in {finding["rule"] for finding in told(command, "one.rig")}


def test_chain_of_adaptations_longer_than_can_be_followed(command: Any) -> None:
    for number in range(1200):
        write(f"b{number}.rig", f'rig "B{number}"\nadapts "b{number + 1}.rig"\n')
    write("b1200.rig", GOOD)
    findings = told(command, "b0.rig")
    assert [finding["rule"] for finding in findings] == ["over-limit"]


@pytest.mark.parametrize("data", [b"\x00", b"\xff\xfe", b"x" * (MOST_BYTES + 1), b"fuse small { 15 Amp blade }\n", b""])
def test_library_with_a_mistake_has_one_entry_and_every_build_that_reads_it_is_partial(command: Any, data: bytes) -> None:
    write("shelf.rig", data)
    for name in ("one", "two"):
        write(f"{name}.rig", GOOD + 'parts from "shelf.rig"\n')
    ran = command("inspect", "one.rig", "two.rig", "--output", "json")
    assert ran.code == 2
    builds = {build["path"]: build for build in json.loads(ran.out)["builds"]}
    assert sorted(builds) == ["one.rig", "shelf.rig", "two.rig"]
    assert builds["shelf.rig"]["kind"] == "library"
    assert [build["partial"] for build in builds.values()] == [True, True, True]
    assert len([finding for finding in builds["shelf.rig"]["findings"] if finding["family"] == "text"]) == 1
    assert all(finding["family"] != "text" for name in ("one.rig", "two.rig") for finding in builds[name]["findings"])
    assert builds["one.rig"]["states"], "what could be read was not inspected"


def test_library_that_is_named_too_has_one_entry_all_the_same(command: Any) -> None:
    write("shelf.rig", b"fuse small { 15 Amp blade }\n")
    write("box.rig", GOOD + 'parts from "shelf.rig"\n')
    ran = command("inspect", ".", "--output", "json")
    builds = json.loads(ran.out)["builds"]
    assert [(build["path"], build["kind"], len(build["findings"])) for build in builds if build["path"] == "shelf.rig"] == [
        ("shelf.rig", "library", 1)
    ]


def test_build_in_place_of_a_library(command: Any) -> None:
    write("other.rig", GOOD)
    write("box.rig", GOOD + 'parts from "other.rig"\n')
    (finding,) = told(command, "box.rig")
    assert "is a build (it has a rig statement)" in finding["message"]


def test_mistakes_do_not_keep_the_rest_from_being_inspected(command: Any) -> None:
    write(
        "box.rig",
        GOOD
        + "load lamp 9\nwire feed from house.plus to house.minus { 16 AWG; 1 m; copper; 105 degC insulation; in free air }\n",
    )
    ran = command("inspect", "box.rig", "--output", "json")
    assert ran.code == 2
    (build,) = json.loads(ran.out)["builds"]
    assert build["partial"]
    assert build["states"]
    assert build["findings"][0]["rule"] == "missing-unit"


def test_rig_statement_that_cannot_be_read_makes_no_library(command: Any) -> None:
    write("box.rig", GOOD.replace('"Bench"', "Bench"))
    ran = command("inspect", "box.rig", "--output", "json")
    (build,) = json.loads(ran.out)["builds"]
    assert (ran.code, build["kind"], build["partial"]) == (2, "build", True)
    assert build["states"]
