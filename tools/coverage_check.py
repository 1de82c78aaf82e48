"""Branch coverage of the solver and of the protection by their own tests: `python tools/coverage_check.py` prints the figure, and ends with 1 below 100 %.

What is not run is listed file by file with its lines and the jumps that never came. `# pragma: no cover` counts only with a reason behind it on the line
(pyproject.toml, tool.coverage). It takes about a minute and needs the extra `test`.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

__all__ = ["main"]

ROOT = Path(__file__).resolve().parent.parent
PACKAGES = ("grammar", "linter", "rules")
COVERED = ("linter/ohmwright/solver", "linter/ohmwright/protection")
TESTS = ("tests/linter/solver", "tests/linter/protection")


def main() -> int:
    """Run the tests under coverage and report; 1 where a branch was not taken, 2 where the tests fail."""
    with tempfile.TemporaryDirectory() as folder:
        data = f"--data-file={Path(folder) / 'coverage'}"
        if _coverage("run", data, f"--source={','.join(COVERED)}", "-m", "pytest", "-p", "no:cacheprovider", *TESTS):
            print("the tests fail: no coverage is told", file=sys.stderr)
            return 2
        return 1 if _coverage("report", data, "--show-missing", "--skip-covered", "--fail-under=100", "--precision=2") else 0


def _coverage(*arguments: str) -> int:
    """Run coverage on the packages of this checkout, whatever else is installed."""
    paths = os.pathsep.join(str(ROOT / name) for name in PACKAGES)
    command = [sys.executable, "-m", "coverage", *arguments]
    return subprocess.run(command, cwd=ROOT, env=os.environ | {"PYTHONPATH": paths}, check=False).returncode


if __name__ == "__main__":
    sys.exit(main())
