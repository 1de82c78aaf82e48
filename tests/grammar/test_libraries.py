"""Files that read others: libraries, what is the same as what, circles, paths that lead nowhere or out."""

from __future__ import annotations

import hashlib
import sys
from pathlib import Path

import pytest
from ohmwright_grammar.files import FolderFiles
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.resolve import Loader, Resolved, resolve

sys.path.insert(0, str(Path(__file__).parent))
from reading import build_of, problems_of, resolved, told

SHELF = "battery big { LFP; 4 cells; 60 Ah; internal resistance 9 mohm; bms { charge at most 30 A; own drain 1 mA } }\nfuse blade { 15 A blade }\n"


def test_a_part_of_a_library_with_one_fact_changed() -> None:
    text = 'rig "A"\nparts from "shelf.rig"\nbattery house { same as big except { 50 Ah; bms { charge at most 20 A } } }\n'
    build = build_of(text, {"shelf.rig": SHELF})
    house = build.parts["house"]
    assert isinstance(house, Battery)
    assert house.capacity is not None and house.capacity.charge.unit == "Ah" and house.capacity.charge.nominal == 50 * 3600
    assert house.bms is not None and house.bms.charge_current_limit is not None and house.bms.own_drain is not None
    assert house.bms.charge_current_limit.nominal == 20.0
    fact = house.fact(Battery.internal_resistance)
    assert fact is not None and fact.origin == "base" and fact.source.path == "shelf.rig"
    assert list(build.parts) == ["house"]
    assert [file.path for file in build.files] == ["build.rig", "shelf.rig"]
    assert build.files[1].sha256 == hashlib.sha256(SHELF.encode()).hexdigest()


def test_the_same_as_the_same_as() -> None:
    text = "fuse a { 5 A blade; 32 V dc }\nfuse b { same as a except { 7 A } }\nfuse c { same as b except { 58 V dc } }\n"
    fuses = {fuse.name: fuse for fuse in build_of(text).of(Fuse)}
    assert fuses["c"].rated_current and fuses["c"].voltage_dc
    assert (fuses["c"].rated_current.nominal, fuses["c"].voltage_dc.nominal, fuses["c"].family) == (7.0, 58.0, "blade")


def test_a_name_may_hide_that_of_the_library_part_it_is_the_same_as() -> None:
    build = build_of('rig "A"\nparts from "shelf.rig"\nbattery big same as big\n', {"shelf.rig": SHELF})
    assert build.parts["big"].fact(Battery.capacity) is not None


@pytest.mark.parametrize(("name", "written"), [("pump", "pump"), ("bilge pump", '"bilge pump"')])
@pytest.mark.parametrize("use", ["state s {{ {} on }}", "bus hub 3 A\nwire w from {}.plus to hub"])
def test_a_library_part_that_is_named_but_not_taken_into_the_build(name: str, written: str, use: str) -> None:
    """What a library holds is not built by being read."""
    text = f'rig "A"\nparts from "shelf.rig"\n{use.format(written)}\n'
    (problem,) = problems_of(text, {"shelf.rig": f"load {written} 60 W\n"})
    assert (problem.rule, problem.message.split(" named ")[1]) == ("unknown-name", f"{name!r}.")
    line = problem.remedy.rpartition(": ")[2]
    assert line == f"load {written} same as {written}"
    assert not problems_of(f"{text}{line}\n", {"shelf.rig": f"load {written} 60 W\n"})


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("fuse a same as b", ("unknown-name", 1)),
        ("fuse a same as b\nfuse b same as a", ("unknown-name", 1)),
        ("fuse a same as a", ("unknown-name", 1)),
        ("load b 5 W\nfuse a same as b", ("unknown-name", 2)),
        ("fuse c 3 A\nfuse b 3 A\nfuse a { same as b; same as c }", ("duplicate-name", 3)),
    ],
)
def test_what_cannot_be_the_same(text: str, wanted: tuple[str, int]) -> None:
    assert wanted in told(text)


def test_libraries_may_read_libraries_each_once_and_with_their_own_defaults() -> None:
    files = {
        "parts/a.rig": 'parts from "b.rig", "../parts/c.rig"\nall fuses { bolt-down }\nfuse one same as two\n',
        "parts/b.rig": 'parts from "c.rig"\nall fuses { blade }\nfuse two 5 A\n',
        "parts/c.rig": "fuse three 7 A\n",
    }
    text = 'rig "A"\nparts from "parts/a.rig"\nfuse x same as one\nfuse y same as two\nfuse z same as three\n'
    build = build_of(text, files)
    assert [file.path for file in build.files] == ["build.rig", "parts/a.rig", "parts/b.rig", "parts/c.rig"]
    assert {fuse.name: fuse.family for fuse in build.of(Fuse)} == {"x": "bolt-down", "y": "blade", "z": None}


def test_how_far_the_defaults_of_a_library_reach() -> None:
    shelf = "all fuses { bolt-down; 32 V dc }\nfuse kept 5 A\nassembly box { fuse inside 5 A }\n"
    text = 'rig "A"\nparts from "shelf.rig"\n{}fuse taken same as kept\nfuse own 7 A\nplace b of box\n'
    alone = build_of(text.format(""), {"shelf.rig": shelf})
    assert {fuse.name: fuse.family for fuse in alone.of(Fuse)} == {"b.inside": "bolt-down", "own": None, "taken": "bolt-down"}
    said = build_of(text.format("all fuses { blade }\n"), {"shelf.rig": shelf})
    assert {fuse.name: fuse.family for fuse in said.of(Fuse)} == {"b.inside": "bolt-down", "own": "blade", "taken": "blade"}
    assert {fuse.name: fuse.voltage_dc is not None for fuse in said.of(Fuse)} == {"b.inside": True, "own": False, "taken": True}


@pytest.mark.parametrize(
    ("path", "message"),
    [
        ("missing.rig", "There is no file 'missing.rig'."),
        ("/etc/shelf.rig", "'/etc/shelf.rig' is an absolute path."),
        ("C:/shelf.rig", "'C:/shelf.rig' is an absolute path."),
        ("../shelf.rig", "'../shelf.rig' leads out of the folder of the build."),
        ("a/../../shelf.rig", "'a/../../shelf.rig' leads out of the folder of the build."),
        ("build.rig", None),
    ],
)
def test_paths_that_cannot_be_read(path: str, message: str | None) -> None:
    problems = problems_of(f'rig "A"\n\nparts from "{path}"\n')
    assert problems[0].span.line == 3
    assert message is None or problems[0].message == message


def test_a_library_that_is_not_there(tmp_path: Path) -> None:
    (tmp_path / "shelf.rig").write_text("fuse kept 5 A\n")
    for name, remedy in (
        ("shlef.rig", "Files near this one: shelf.rig."),
        ("zzz.rig", "A path begins at the folder of the file that names it."),
    ):
        (tmp_path / "box.rig").write_text(f'rig "A"\nparts from "{name}"\n')
        found = resolve("box.rig", Loader(FolderFiles(tmp_path)))
        assert isinstance(found, Resolved)
        assert [problem.remedy for problem in found.problems] == [remedy]


def test_a_circle_of_libraries() -> None:
    files = {"a.rig": 'parts from "b.rig"\nfuse x 3 A\n', "b.rig": 'parts from "a.rig"\nfuse y 3 A\n'}
    (problem,) = problems_of('rig "A"\nparts from "a.rig"\nfuse f same as y\n', files)
    assert problem.rule == "circle-of-files"
    assert "'a.rig' reads 'b.rig' reads 'a.rig'" in problem.message
    assert problem.span.path == "b.rig"


def test_libraries_and_bases_go_only_so_deep() -> None:
    files = {f"l{number}.rig": f'parts from "l{number + 1}.rig"\nfuse x{number} 3 A\n' for number in range(200)}
    assert [problem.rule for problem in problems_of('rig "A"\nparts from "l0.rig"\n', files)] == ["over-limit"]
    bases = {f"b{number}.rig": f'rig "B"\nadapts "b{number + 1}.rig"\n' for number in range(200)}
    assert [problem.rule for problem in problems_of('rig "A"\nadapts "b0.rig"\n', bases)] == ["over-limit"]


def test_two_libraries_with_a_part_of_one_name() -> None:
    files = {"a.rig": "fuse x 3 A\n", "b.rig": "fuse x 4 A\n"}
    (problem,) = problems_of('rig "A"\nparts from "a.rig", "b.rig"\n', files)
    assert problem.rule == "duplicate-name"
    assert "a.rig" in problem.message and "b.rig" in problem.message
    assert problem.span[:3] == ("build.rig", 2, 1)


def test_a_build_is_no_library() -> None:
    (problem,) = problems_of('rig "A"\nparts from "b.rig"\n', {"b.rig": 'rig "B"\n'})
    assert problem.rule == "file-not-read"


def test_mistakes_of_a_library_are_its_own_and_make_a_build_partial() -> None:
    found = resolved('rig "A"\nparts from "shelf.rig"\nfuse f same as blade\n', {"shelf.rig": SHELF + "load l 5\n"})
    assert found.problems == ()
    assert [(problem.rule, problem.span.path, problem.span.line) for problem in found.library_problems] == [
        ("missing-unit", "shelf.rig", 3)
    ]
    assert found.build.partial


def test_a_file_without_a_rig_is_a_library() -> None:
    assert resolved(SHELF).build.is_library
    assert not resolved('rig "A"').build.is_library


# files on a disk -----------------------------------------------------------------------------------------------------


def rules(root: Path, path: str) -> list[str]:
    """Return the rules of what is wrong with a file below a root."""
    found = resolve(path, Loader(FolderFiles(root)))
    return [problem.rule for problem in (found.problems if isinstance(found, Resolved) else found)]


def test_files_that_are_no_text(tmp_path: Path) -> None:
    (tmp_path / "zero.rig").write_bytes(b"bus a\0 3 A")
    (tmp_path / "latin.rig").write_bytes("# caf\xe9".encode("latin-1"))
    (tmp_path / "large.rig").write_bytes(b"# large\n" * 300_000)
    (tmp_path / "folder.rig").mkdir()
    (tmp_path / "marked.rig").write_bytes(b"\xef\xbb\xbfbus a 3 A\r\nbus b 3 A\r")
    assert rules(tmp_path, "zero.rig") == ["file-not-read"]
    assert rules(tmp_path, "latin.rig") == ["file-not-read"]
    assert rules(tmp_path, "large.rig") == ["over-limit"]
    assert rules(tmp_path, "folder.rig") == ["file-not-read"]
    assert rules(tmp_path, "marked.rig") == []


@pytest.mark.skipif(sys.platform == "win32", reason="links need a right that a user may lack")
def test_a_link_that_leads_out_of_the_root_is_not_read(tmp_path: Path) -> None:
    root = tmp_path / "root"
    root.mkdir()
    (tmp_path / "shelf.rig").write_text("fuse x 3 A\n", encoding="utf-8")
    (root / "shelf.rig").symlink_to(tmp_path / "shelf.rig")
    (root / "a.rig").write_text('rig "A"\nparts from "shelf.rig"\n', encoding="utf-8")
    assert rules(root, "a.rig") == ["file-not-read"]
    assert rules(tmp_path, "root/a.rig") == []
