"""Put the files and outputs that README.md shows between their marks: `python tools/make_readme.py [--check]`.

`<!-- file: PATH -->` is followed by the text of a file, `<!-- output: ARGUMENTS -->` by what the command prints, each up to `<!-- end -->`.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
README = ROOT / "README.md"
MARK = re.compile(r"<!-- (file|output): (.+?) -->\n.*?<!-- end -->", re.DOTALL)
TODAY = "2026-03-01"


def shown(kind: str, what: str) -> str:
    """Return what stands between the marks."""
    if kind == "file":
        return (ROOT / what).read_text(encoding="utf-8").rstrip()
    from ohmwright.cli import main

    caught = io.StringIO()
    with contextlib.redirect_stdout(caught):
        main([*what.split(), "--today", TODAY])
    return caught.getvalue().rstrip()


def made() -> str:
    """Return the text of README.md with everything between its marks made anew."""

    def put(found: re.Match[str]) -> str:
        return f"<!-- {found[1]}: {found[2]} -->\n```\n{shown(found[1], found[2])}\n```\n<!-- end -->"

    before = Path.cwd()
    os.chdir(ROOT)
    try:
        return MARK.sub(put, README.read_text(encoding="utf-8"))
    finally:
        os.chdir(before)


if __name__ == "__main__":
    text = made()
    if "--check" in sys.argv:
        sys.exit(0 if text == README.read_text(encoding="utf-8") else 1)
    README.write_text(text, encoding="utf-8")
