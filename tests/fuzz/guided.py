"""Texts that are found by what they reach in the parser: `python tests/fuzz/guided.py [CORPUS] -max_total_time=SECONDS`.

Needs atheris (Linux). Whatever is raised, but for what `checking.read` allows, ends the run with the text in a file. Every twentieth text is inspected too, with
all rules.
"""

from __future__ import annotations

import sys
from pathlib import Path

import atheris

sys.path.insert(0, str(Path(__file__).parents[1]))

with atheris.instrument_imports(include=["ohmwright_grammar", "lark"]):
    from fuzz.checking import read

from datetime import date

from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright_grammar.budget import Budget
from ohmwright_grammar.files import MemoryFiles, decode
from ohmwright_grammar.resolve import Loader

from fuzz.inputs import texts_of_builds

INSPECTED = 20
_seen = 0


def one(data: bytes) -> None:
    """Read one text, as bytes of a file."""
    global _seen
    source = decode(data, "fuzz.rig")
    if source.problems:
        return
    read(source.text)
    _seen += 1
    if _seen % INSPECTED == 0:
        options = InspectOptions(today=date(2026, 1, 1), budget=lambda: Budget(megabytes=500.0))
        result = inspect_files(["fuzz.rig"], Loader(MemoryFiles({"fuzz.rig": source.text})), options)
        assert not [error for error in result.errors if error.rule], result.errors


def main() -> None:
    """Fuzz; a folder that is named is the corpus, filled with the builds of this repository where it is empty."""
    folders = [Path(word) for word in sys.argv[1:] if not word.startswith("-")]
    for folder in folders[:1]:
        folder.mkdir(parents=True, exist_ok=True)
        if not any(folder.iterdir()):
            for number, text in enumerate(texts_of_builds()):
                (folder / f"build{number}").write_text(text, encoding="utf-8")
    atheris.Setup(sys.argv, one)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
