"""Parts of the builds for several runners: disjoint, together everything, alike in size, and the same wherever they are made."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from ohmwright.commands.sharing import MOST, part

pytestmark = pytest.mark.usefixtures("sample_installed")


@pytest.fixture
def builds(kit: Any, command: Any) -> dict[str, int]:
    """Thirty builds from 0.6 kB to 60 kB, in two repositories; their sizes by path."""
    sizes = {}
    for number in range(30):
        path = Path(f"{'one' if number % 3 else 'two'}/b{number:02d}.rig")
        (path.parent / ".git").mkdir(parents=True, exist_ok=True)
        text = kit.bench.replace("25 A", "5 A") + "# more\n" * (number * number * 9)
        path.write_text(text, encoding="utf-8")
        sizes[path.name] = len(text)
    return sizes


def inspected(command: Any, *arguments: str) -> dict[str, Any]:
    ran = command("inspect", "one", "two", "--output", "json", "--today", "2026-01-01", *arguments)
    assert ran.code == 0, ran.err
    return {build["path"]: build for build in json.loads(ran.out)["builds"]}


@pytest.mark.parametrize("of", [1, 2, 5, 29, 40])
def test_parts_are_everything_and_nothing_twice(command: Any, builds: dict[str, int], of: int) -> None:
    whole = inspected(command)
    together: dict[str, Any] = {}
    for number in range(1, of + 1):
        found = inspected(command, "--share", f"{number}/{of}")
        assert not set(found) & set(together)
        together.update(found)
    assert together == whole
    assert len(whole) == 30


def test_parts_are_alike_in_size(command: Any, builds: dict[str, int]) -> None:
    """Dealing the largest first leaves no part heavier than four thirds of the best there is (Graham 1969); 2,000 bytes stand for what each build takes anyhow."""
    loads = [sum(builds[path] + 2000 for path in inspected(command, "--share", f"{number}/4")) for number in range(1, 5)]
    best = max(sum(loads) / 4, max(builds.values()) + 2000)
    assert max(loads) <= 4 / 3 * best
    assert min(loads) > 0.8 * max(loads)


def test_parts_hang_on_nothing_but_the_builds(command: Any, builds: dict[str, int]) -> None:
    first = list(inspected(command, "--share", "2/3"))
    ran = command("inspect", "two", "one", "one/b01.rig", "--output", "json", "--share", "2/3", "--today", "2026-01-01")
    assert [build["path"] for build in json.loads(ran.out)["builds"]] == first


def test_part_is_said_and_an_empty_one_is_clean(command: Any, kit: Any) -> None:
    Path("box.rig").write_text(kit.bench, encoding="utf-8")
    ran = command("inspect", "box.rig", "--share", "1/2")
    assert (ran.code, ran.err) == (1, "ohmwright: part 1 of 2: 1 of 1 files\n")
    ran = command("inspect", "box.rig", "--share", "2/2")
    assert (ran.code, ran.err) == (0, "ohmwright: part 2 of 2: 0 of 1 files\n")
    assert "0 files" in ran.out


@pytest.mark.parametrize(
    "text", ["", "1", "0/5", "6/5", "1/0", "-1/5", "1/5/2", "a/b", "1/", "/5", "1/²", "٣/٥", f"1/{MOST + 1}", "1/" + "9" * 5000]
)
def test_what_is_no_part(command: Any, text: str) -> None:
    ran = command("inspect", "box.rig", f"--share={text}")
    assert ran.code == 2
    assert "is no part" in ran.err


def test_what_is_a_part() -> None:
    assert part("1/1") == (1, 1)
    assert part(f"{MOST}/{MOST}") == (MOST, MOST)


def test_baseline_is_of_everything(command: Any, kit: Any) -> None:
    Path("box.rig").write_text(kit.bench, encoding="utf-8")
    ran = command("inspect", "box.rig", "--share", "1/2", "--write-baseline", "--baseline", "known.json")
    assert ran.code == 2
    assert "leave out" in ran.err
    assert not Path("known.json").exists()
