"""Files that lead out of the repository, or that are no files: each is refused at the statement that names it, and nothing of it is opened or told."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from hostile.attacking import BUILD, Repository, need_links, need_pipes

SHELF = BUILD.count("\n") + 1  # the line after the build


def reading(written: str) -> str:
    return f'{BUILD}parts from "{written}"\n'


# written in a statement ------------------------------------------------------------------------------------------------

WRITTEN = {
    "up": ("../outside/shelf.rig", "leads out of the folder"),
    "up and down and up": ("parts/../../outside/shelf.rig", "leads out of the folder"),
    "up with signs of another system": ("..\\outside\\shelf.rig", "leads out of the folder"),
    "up with both signs": ("./..\\../outside/shelf.rig", "leads out of the folder"),
    "absolute": ("/etc/passwd", "absolute path"),
    "absolute with two signs": ("//etc/passwd", "absolute path"),
    "a drive": ("C:\\Windows\\win.ini", "absolute path"),
    "a drive without a sign": ("c:shelf.rig", "absolute path"),
    "a share": ("\\\\server\\share\\shelf.rig", "absolute path"),
    "a home": ("~/shelf.rig", "There is no file"),
    "a variable": ("$HOME/shelf.rig", "There is no file"),
    "an address": ("https://example.com/shelf.rig", "There is no file"),
    "an address of a file": ("file:///etc/passwd", "There is no file"),
    "a command": ("|id", "There is no file"),
    "a device of the system": ("/dev/zero", "absolute path"),
    "memory of the process": ("/proc/self/mem", "absolute path"),
    "nothing": ("", "leads out of the folder"),
    "only points": ("./.", "leads out of the folder"),
    "the root itself": ("parts/..", "leads out of the folder"),
    "blanks": ("   ", "There is no file"),
    "a stream of a file": ("box.rig::$DATA", "There is no file"),
    "a name that is too long": ("x" * 300 + ".rig", "cannot be read"),
    "a pattern": ("*.rig", "There is no file"),
    "a name with a bidirectional mark": ("shelf\u202egir.rig", "There is no file"),
    "a name that has half a character": ("shelf\udcff.rig", ""),
}


@pytest.mark.parametrize("name", WRITTEN)
def test_path_that_is_written(repository: Repository, name: str) -> None:
    written, words = WRITTEN[name]
    repository.write("box.rig", reading(written))
    repository.write("parts/shelf.rig", "fuse small { 15 A blade }\n")
    if not words:  # bytes that are no text are refused before
        assert "no UTF-8" in repository.inspect().text_findings()[0]["message"]
        return
    repository.refused("file-not-read", words, line=SHELF)


@pytest.mark.parametrize("sign", ["\0", "\x1b[2J", "\n"])
def test_path_with_a_sign_that_ends_it_elsewhere(repository: Repository, sign: str) -> None:
    """A zero byte ends a path for the system; such a file is no text, and is refused whole."""
    repository.write("box.rig", reading(f"shelf.rig{sign}/../../outside/shelf.rig"))
    assert repository.inspect().code == 2


@pytest.mark.parametrize("statement", ['adapts "../outside/box.rig"', 'adapts "/etc/passwd"', 'adapts "box.rig"'])
def test_base_that_cannot_be_had(repository: Repository, statement: str) -> None:
    repository.write("box.rig", f'rig "Box"\n{statement}\n')
    answer = repository.inspect()
    assert answer.code == 2
    assert answer.text_findings()[0]["span"]["line"] == 2


# links -----------------------------------------------------------------------------------------------------------------


@need_links
@pytest.mark.parametrize(
    "target", ["../outside/shelf.rig", "/etc/passwd", "/dev/zero", "/dev/stdin", "/proc/self/environ", "../outside"]
)
def test_library_by_a_link_that_leads_out(repository: Repository, target: str) -> None:
    repository.write("box.rig", reading("shelf.rig"))
    (repository.root / "shelf.rig").symlink_to(target)
    repository.refused("file-not-read", "leads out of the folder of the build", line=SHELF)


@need_links
def test_library_below_a_folder_that_is_a_link(repository: Repository) -> None:
    """Not even the names of the files there are told, which a message on a name that is not there could do."""
    repository.write("box.rig", reading("parts/shlef.rig"))
    (repository.root / "parts").symlink_to("../outside")
    found = repository.refused("file-not-read", "leads out of the folder of the build", line=SHELF)
    assert "shelf" not in found["remedy"]


@need_links
def test_links_one_behind_the_other(repository: Repository) -> None:
    repository.write("box.rig", reading("l0.rig"))
    for number in range(30):
        (repository.root / f"l{number}.rig").symlink_to(f"l{number + 1}.rig")
    (repository.root / "l30.rig").symlink_to("../outside/shelf.rig")
    repository.refused("file-not-read", "leads out of the folder of the build", line=SHELF)


@need_links
def test_links_in_a_circle(repository: Repository) -> None:
    repository.write("box.rig", reading("one.rig"))
    (repository.root / "one.rig").symlink_to("two.rig")
    (repository.root / "two.rig").symlink_to("one.rig")
    repository.refused("file-not-read", "one.rig", line=SHELF)


@need_links
def test_build_that_is_a_link_out(repository: Repository) -> None:
    (repository.root / "box.rig").symlink_to("../outside/box.rig")
    repository.refused("file-not-read", "leads out of the folder")


@need_links
def test_folder_that_is_a_link_out_is_not_walked(repository: Repository) -> None:
    repository.write("box.rig")
    (repository.root / "more").symlink_to("../outside")
    assert list(repository.inspect(".").builds()) == ["box.rig"]


@need_links
def test_folder_that_is_a_link_to_itself_is_not_walked(repository: Repository) -> None:
    repository.write("box.rig")
    (repository.root / "again").symlink_to(".")
    assert list(repository.inspect(".").builds()) == ["box.rig"]


@need_links
@pytest.mark.parametrize("command", ["tidy", "solve", "size"])
def test_other_commands_on_links_out(repository: Repository, command: str) -> None:
    (repository.root / "box.rig").symlink_to("../outside/box.rig")
    repository.write("other.rig", reading("shelf.rig"))
    (repository.root / "shelf.rig").symlink_to("../outside/shelf.rig")
    answer = repository.run(command, "box.rig", "other.rig")
    assert answer.code == 2
    assert "leads out of the folder" in answer.err or command == "size"


# no plain files --------------------------------------------------------------------------------------------------------


@need_pipes
@pytest.mark.parametrize("name", ["box.rig", "shelf.rig", "ohmwright.toml", "pyproject.toml", "known.json"])
def test_pipe_that_nobody_writes_into(repository: Repository, name: str) -> None:
    """Whoever opened it would wait for ever."""
    if name != "box.rig":
        repository.write("box.rig", reading("shelf.rig"))
    if name == "known.json":
        repository.write("ohmwright.toml", 'baseline = "known.json"\n')
    if name not in ("shelf.rig", "box.rig"):
        repository.write("shelf.rig", "fuse small { 15 A blade }\n")
    os.mkfifo(repository.root / name)
    answer = repository.inspect()
    if name == "pyproject.toml":
        assert answer.code in (0, 1)
    else:
        assert answer.code == 2
        assert "no plain file" in answer.out + answer.err


@need_pipes
def test_socket(repository: Repository) -> None:
    import socket

    repository.write("box.rig", reading("s.rig"))
    here = Path.cwd()
    with socket.socket(socket.AF_UNIX) as made:
        os.chdir(repository.root)  # the path of a socket must be short
        try:
            made.bind("s.rig")
        finally:
            os.chdir(here)
        repository.refused("file-not-read", "no plain file", line=SHELF)


@need_pipes
def test_device(repository: Repository) -> None:
    repository.write("box.rig", reading("shelf.rig"))
    try:
        os.mknod(repository.root / "shelf.rig", 0o020666, os.makedev(1, 5))  # what reads as zeros without end
    except (PermissionError, OSError):
        pytest.skip("devices need a permission here")
    repository.refused("file-not-read", "no plain file", line=SHELF)


@pytest.mark.skipif(sys.platform == "win32", reason="there are no such paths there")
@pytest.mark.parametrize("place", ["/dev/zero", "/dev/full", "/dev/tty", "/dev/null"])
def test_device_on_the_command_line(repository: Repository, place: str) -> None:
    answer = repository.run("inspect", place, "--output", "json")
    assert answer.code == 2


# twins -----------------------------------------------------------------------------------------------------------------


def test_twins_that_differ_in_capitals(repository: Repository) -> None:
    """Each is read by its own name, once, where the system tells them apart; where it does not, there is one file."""
    repository.write("box.rig", f'{BUILD}parts from "Shelf.rig", "shelf.rig"\nfuse one same as small\nfuse two same as large\n')
    repository.write("Shelf.rig", "fuse small { 15 A blade }\n")
    apart = not (repository.root / "shelf.rig").exists()
    repository.write("shelf.rig", "fuse large { 30 A blade }\n")
    answer = repository.inspect()
    if apart:
        assert answer.text_findings() == []
    else:
        assert answer.code == 2


def test_twins_that_differ_in_how_a_letter_is_composed(repository: Repository) -> None:
    repository.write("caf\u00e9.rig", BUILD.replace("Bench", "one"))
    repository.write("cafe\u0301.rig", BUILD.replace("Bench", "two"))
    found = repository.inspect(".").builds()
    assert len(found) == len([path for path in repository.root.iterdir() if path.suffix == ".rig"])


def test_library_that_is_named_by_several_ways_is_read_once(repository: Repository) -> None:
    ways = ("shelf.rig", "./shelf.rig", "parts/../shelf.rig", ".//shelf.rig", "parts\\..\\shelf.rig")
    repository.write("box.rig", BUILD + "parts from " + ", ".join(f'"{way}"' for way in ways) + "\n")
    repository.write("shelf.rig", "fuse small { 15 A blade }\n")
    assert repository.inspect().text_findings() == []


@need_links
def test_library_that_is_itself_by_a_link(repository: Repository) -> None:
    repository.write("box.rig", reading("one.rig"))
    repository.write("one.rig", 'parts from "two.rig"\nfuse small { 15 A blade }\n')
    (repository.root / "two.rig").symlink_to("one.rig")
    answer = repository.inspect()
    assert answer.code == 2
    assert {item["rule"] for item in answer.text_findings()} <= {"circle-of-files", "duplicate-name"}
