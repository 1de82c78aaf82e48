"""What the clean builds are expected to answer, and how the expectation is rewritten after a deliberate change.

`python tools/expect_clean.py` inspects every build of `examples/clean/` in its declared states and in those that it can get into, and rewrites its file
under `tests/examples/clean_expected/`: one line for each check that could not be made, with what is missing, and one for each note. A finding above a note
is never written down: it is named, and the tool ends with 1. `--check` only says which files would change. The tests call the same functions.
"""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "tools"))

from expect import inspected  # noqa: E402  (the folder of the tools is no package)
from ohmwright.findings import Severity  # noqa: E402

__all__ = ["BUILDS", "CLEAN", "EXPECTED", "above_note", "expected_text", "main"]

CLEAN = ROOT / "examples" / "clean"
EXPECTED = ROOT / "tests" / "examples" / "clean_expected"
BUILDS = tuple(
    sorted(
        path.stem
        for path in CLEAN.glob("*.rig")
        if any(line.startswith('rig "') for line in path.read_text("utf-8").splitlines())
    )
)


def above_note(name: str) -> list[str]:
    """Return every finding of a build that is more than a note, in its declared states and in those that it can get into; waived ones among them."""
    lines = []
    for reached in (False, True):
        build = inspected(f"clean/{name}.rig", reached)
        lines += [
            f"{item.severity.word} {item.rule.id}.{item.grade.name} on {', '.join(item.finding.subject)}: {item.finding.message}"
            for item in (*build.findings, *build.waived, *build.yielded)
            if item.severity is not Severity.NOTE
        ]
        lines += ["read in part only"] * build.partial
    return lines


def expected_text(name: str) -> str:
    """Return the expectation of a build: what could not be checked, then its notes, sorted; what only the states that it can get into say begins with "reached"."""
    told: list[str] = []
    for reached in (False, True):
        build = inspected(f"clean/{name}.rig", reached)
        unchecked = {
            f"{item.rule.id}.{item.grade.name} on {', '.join(item.outcome.subject)}: {item.outcome.missing}"
            for item in build.not_checked
        }
        notes = {
            f"note {item.rule.id}.{item.grade.name} on {', '.join(item.finding.subject)}"
            for item in build.findings
            if item.severity is Severity.NOTE
        }
        for line in (*sorted(unchecked), *sorted(notes)):
            if not reached:
                told.append(line)
            elif line not in told:
                told.append(f"reached {line}")
    return "".join(f"{line}\n" for line in told)


def main(arguments: list[str]) -> int:
    """Rewrite every expectation, or say which would change; 1 where any would, or where a build has a finding above a note."""
    failed = 0
    for name in BUILDS:
        for line in above_note(name):
            failed = 1
            print(f"{name}: {line}")
        file = EXPECTED / f"{name}.txt"
        new = expected_text(name)
        if file.exists() and file.read_text("utf-8") == new:
            continue
        if "--check" in arguments:
            failed = 1
            print(f"{name}: would change")
        else:
            EXPECTED.mkdir(exist_ok=True)
            file.write_text(new, encoding="utf-8")
            print(f"{name}: rewritten")
    return failed


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
