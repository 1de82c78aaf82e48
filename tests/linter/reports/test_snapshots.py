"""Whole messages: the build above, the sheet below. With OHMWRIGHT_WRITE_SNAPSHOTS=1 the sheets are written anew, to be reviewed as a diff.

A snapshot has a section for each file (`==== file NAME`), then one for what was asked (`==== sheet OPTION …`), with what was answered.
"""

from __future__ import annotations

import os
import re
from pathlib import Path
from typing import Any

import pytest
from ohmwright.reports.text import TextOptions, write

SNAPSHOTS = sorted(Path(__file__).with_name("snapshots").glob("*.txt"))
SECTION = re.compile(r"^==== (file|sheet)(?: (.*))?\n", re.MULTILINE)


def _sections(text: str) -> list[tuple[str, str, str]]:
    pieces = SECTION.split(text)[1:]
    return list(zip(pieces[0::3], pieces[1::3], pieces[2::3], strict=True))


def _unescaped(text: str) -> str:
    """Read \\x1b and the like in a snapshot's build as the characters that they stand for."""
    return re.sub(r"\\(x[0-9a-f]{2}|u[0-9a-f]{4})", lambda found: chr(int(found[1][1:], 16)), text)


@pytest.mark.parametrize("path", SNAPSHOTS, ids=[path.stem for path in SNAPSHOTS])
def test_sheet(path: Path, kit: Any) -> None:
    kept = path.read_text(encoding="utf-8")
    files: dict[str, str] = {}
    now = ""
    for kind, name, body in _sections(kept):
        if kind == "file":
            files[name] = _unescaped(body)
            now += f"==== file {name}\n{body}"
            continue
        words = (name or "").split()
        result = kit.inspect(files, assumed="assumed" in words, paths=tuple(word for word in words if word.endswith(".rig")))
        options = TextOptions("working" in words, "assumed" in words, "colour" in words, "require-checked" in words)
        now += f"==== sheet {name}\n" if name else "==== sheet\n"
        now += write(result, options).replace("\x1b", "\\x1b") + "\n"
    now = now.rstrip("\n") + "\n"
    if os.environ.get("OHMWRIGHT_WRITE_SNAPSHOTS"):
        path.write_text(now, encoding="utf-8")
    assert now == kept
    for line in now.split("==== sheet")[-1].splitlines()[1:]:
        assert len(line.replace("\\x1b", "\x1b")) <= 80 or "\\x1b[" in line, line


def test_there_are_snapshots() -> None:
    assert len(SNAPSHOTS) >= 20
