"""Run one command in a virtual environment of this checkout, made at the first call: `python tools/with_venv.py [--extras NAMES] COMMAND …`.

It needs Python 3.11 or newer and nothing else. The environment lies in `.venv-<extras>` and is made anew when pyproject.toml changes.
"""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
DEFAULT_EXTRAS = "test"


def environment(extras: str) -> Path:
    """Return the folder of the environment with the programs, made or made anew where it has to be."""
    folder = ROOT / f".venv-{extras.replace(',', '-')}"
    programs = folder / ("Scripts" if os.name == "nt" else "bin")
    mark = folder / "made-for"
    wanted = hashlib.sha256((ROOT / "pyproject.toml").read_bytes() + sys.version.encode()).hexdigest()
    if mark.exists() and mark.read_text() == wanted:
        return programs
    print(f"making {folder.name} (once) …", file=sys.stderr, flush=True)
    subprocess.run([sys.executable, "-m", "venv", "--clear", str(folder)], check=True)
    install = [
        str(programs / "python"),
        "-m",
        "pip",
        "install",
        "--quiet",
        "--disable-pip-version-check",
        "-e",
        f"{ROOT}[{extras}]",
    ]
    subprocess.run(install, check=True)
    mark.write_text(wanted)
    return programs


def main() -> int:
    """Make the environment and run the command in it."""
    arguments = sys.argv[1:]
    extras = DEFAULT_EXTRAS
    if arguments[:1] == ["--extras"]:
        extras, arguments = arguments[1], arguments[2:]
    if sys.version_info < (3, 11):  # noqa: UP036 (whoever runs this may have any Python)
        print("Ohmwright needs Python 3.11 or newer.", file=sys.stderr)
        return 2
    if not arguments:
        print(__doc__, file=sys.stderr)
        return 2
    try:
        programs = environment(extras)
    except subprocess.CalledProcessError as error:
        print(f"the environment cannot be made: {error}", file=sys.stderr)
        return 2
    command = [str(programs / arguments[0]), *arguments[1:]]
    surroundings = os.environ | {"PATH": f"{programs}{os.pathsep}{os.environ.get('PATH', '')}"}
    return subprocess.run(command, check=False, env=surroundings).returncode


if __name__ == "__main__":
    sys.exit(main())
