"""What README.md shows is what the tool says today."""

from __future__ import annotations

import importlib.util
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]


def test_readme_is_current() -> None:
    spec = importlib.util.spec_from_file_location("make_readme", ROOT / "tools" / "make_readme.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    assert module.made() == (ROOT / "README.md").read_text(encoding="utf-8"), "run python tools/make_readme.py"
