"""What a plain `inspect` imports: a hook starts cold, so that everything that is not needed costs every commit."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from ohmwright.reports import WRITERS

# Never needed for a sheet of text, with the reason why somebody might have pulled it in.
NEVER = (
    "jsonschema", "referencing", "rpds",  # schemas are for tests and other programs
    "numpy", "scipy", "pandas",  # the solver is pure Python
    "pint",  # the usual units are in a table that pint made
    "rich", "attrs", "attr", "pygments",
    "asyncio", "concurrent", "multiprocessing", "threading", "socket", "ssl", "selectors",
    "http", "urllib.request", "email", "ftplib", "xml",
    "urllib.parse", "ipaddress",  # pathlib would, for addresses
    "unittest", "doctest", "pdb", "pydoc", "inspect", "ast", "tokenize", "traceback",
    "json", "csv", "logging", "subprocess", "tempfile", "sqlite3", "ctypes", "difflib",
)  # fmt: skip
# Pulled in by what a run does.
UNAVOIDABLE = {
    "csv": "the tables of the rule pack",
}  # fmt: skip

WATCH = """
import sys
sys.argv = ["ohmwright", "inspect", "box.rig", "--today", "2026-01-01"]
from ohmwright.cli import main
code = main()
sys.stderr.write(f"{code}\\n" + "\\n".join(sorted(sys.modules)))
"""


def modules_of(folder: Path, script: str = WATCH) -> tuple[int, set[str], str]:
    """Run a cold process in a folder; return the command's exit code, the modules that it holds at the end, and what it printed."""
    ran = subprocess.run([sys.executable, "-c", script], cwd=folder, capture_output=True, text=True, check=True)
    code, *modules = ran.stderr.splitlines()
    return int(code), set(modules), ran.stdout


@pytest.fixture
def box(tmp_path: Path, kit: Any) -> Path:
    """A folder with the bench build, without the finding that it holds."""
    (tmp_path / "box.rig").write_text(kit.bench.replace("25 A", "5 A"), encoding="utf-8")
    return tmp_path


def test_plain_inspect_imports_nothing_that_it_does_not_need(box: Path) -> None:
    code, modules, printed = modules_of(box)
    assert code in (0, 1), printed
    assert "box.rig: Bench" in printed
    found = {name for name in NEVER if name in modules} - set(UNAVOIDABLE)
    assert found == set()


def test_engine_imports_no_threads_processes_or_sockets(box: Path) -> None:
    """The core is called from fronts that have none of them (a browser's Python)."""
    script = WATCH.replace("from ohmwright.cli import main\ncode = main()", "import ohmwright.inspecting\ncode = 0")
    _, modules, _ = modules_of(box, script)
    assert "ohmwright.study" in modules
    barred = {"asyncio", "multiprocessing", "concurrent.futures", "_socket", "subprocess", "resource", "argparse"}
    assert modules & barred == set()


@pytest.mark.parametrize(
    "module", ["ohmwright_rules", "ohmwright.commands.solve", "ohmwright.commands.basis", "ohmwright.reports.json_report"]
)
def test_reading_and_inspecting_need_no_pack_and_no_other_command(box: Path, module: str) -> None:
    script = WATCH.replace("from ohmwright.cli import main\ncode = main()", "import ohmwright.inspecting\ncode = 0")
    assert module not in modules_of(box, script)[1]


SETTINGS = 'bar = "warning"\nsite = "ambient 5 degC to 30 degC"\n[[left-out]]\npath = "drafts"\nbecause = "sketches"\n'


def test_settings_need_no_schema_and_no_report_of_another_format(box: Path) -> None:
    """Own code reads the settings: jsonschema alone would cost more than the whole run."""
    (box / "ohmwright.toml").write_text(SETTINGS, encoding="utf-8")
    code, modules, printed = modules_of(box)
    assert code in (0, 1), printed
    assert "Settings: ohmwright.toml (bar warning)." in printed
    assert {"tomllib", "ohmwright.settings.reading"} <= modules
    assert {name for name in NEVER if name in modules} - set(UNAVOIDABLE) == set()


@pytest.mark.parametrize("format", sorted(WRITERS))
def test_each_output_imports_its_own_writer_only(box: Path, format: str) -> None:
    script = WATCH.replace('"box.rig",', f'"box.rig", "--output", "{format}", "--to", "a",')
    code, modules, printed = modules_of(box, script)
    assert (code, printed) in ((0, ""), (1, ""))
    assert WRITERS[format] in modules
    shared = {"json": {"sarif", "gitlab"}}  # documents of JSON are laid out by the same code
    others = {name for name in WRITERS if name != format and WRITERS[name] in modules}
    assert {name for name in others if format not in shared.get(name, ())} == set()
    assert not modules & {"jsonschema", "referencing", "rpds", "xml", "lxml", "cmarkgfm"}


def test_heat_of_cases_is_imported_only_where_a_case_has_a_size(tmp_path: Path, kit: Any) -> None:
    """No build pays for the thermal study that has no case, or none of which a size is said."""
    text = kit.bench.replace("25 A", "5 A")
    for name, more, there in (
        ("without", "", False),
        ("with", "case tin { closed; size 400 x 300 x 250 mm }\nzone inside { in tin }\n", True),
    ):
        folder = tmp_path / name
        folder.mkdir()
        (folder / "box.rig").write_text(text + more, encoding="utf-8")
        _, modules, _ = modules_of(folder)
        assert any(module.startswith("ohmwright.thermal") for module in modules) is there
