"""What the good examples are expected to answer, and how the expectation is rewritten after a deliberate change.

`python tools/expect.py` copies the published build to where the adaptation keeps it, with the new hash, inspects every example that has a file under `tests/examples/expected/` and rewrites that file; a reviewer then reads
the difference. Comments behind two spaces and `#` stay with their line as long as the line stays; lines that begin with `#` stay at the top.
`python tools/expect.py --check` only says which files would change. The tests of the examples call the same functions.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterable
from datetime import date
from functools import cache
from pathlib import Path

from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright.results import BuildResult, Judged
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.files import FolderFiles
from ohmwright_grammar.resolve import Loader

__all__ = ["EXAMPLES", "EXPECTED", "TODAY", "answer_lines", "expected_lines", "inspected", "main", "rewritten"]

ROOT = Path(__file__).resolve().parent.parent
EXAMPLES = ROOT / "examples"
EXPECTED = ROOT / "tests" / "examples" / "expected"
TODAY = date(2026, 6, 1)  # every example is inspected on this day, so that its waivers answer alike for ever


@cache
def inspected(path: str, reached: bool = False) -> BuildResult:
    """Inspect one example, named relative to the folder of the examples; AssertionError where the run itself failed."""
    options = InspectOptions(today=TODAY, reached=reached)
    result = inspect_files([f"examples/{path}"], Loader(FolderFiles(ROOT)), options)
    assert not result.errors, result.errors
    return next(build for build in result.builds if build.path == f"examples/{path}")


def _numbers(measured: Amount | None, limit: Amount | None) -> str:
    if measured is None:
        return ""
    if limit is None:
        return f" at {shown(measured)}"
    here, allowed = shown_pair(measured, limit)
    return f" at {here} for {allowed}"


def _told(word: str, item: Judged) -> str:
    finding = item.finding
    name = f"{item.rule.id}.{item.grade.name}" if item.rule.family != "text" else item.rule.id
    return f"{word} {name} on {', '.join(finding.subject)}{_numbers(finding.measured, finding.limit)}"


def answer_lines(path: str) -> list[str]:
    """Return everything that an inspection says of an example, one line each, in an order that does not depend on the run."""
    build = inspected(path)
    lines = [_told(item.severity.word, item) for item in sorted(build.findings, key=_order)]
    lines += [_told(f"waived {item.severity.word}", item) for item in sorted(build.waived, key=_order)]
    lines += [_told(f"yielded {item.severity.word}", item) for item in sorted(build.yielded, key=_order)]
    lines += sorted(
        {
            f"unchecked {item.severity.word} {item.rule.id}.{item.grade.name} on {', '.join(item.outcome.subject)}: {item.outcome.missing}"
            for item in build.not_checked
        }
    )
    lines += [
        f"promise {promise.verdict}: {promise.name}" for promise in sorted(build.requirements, key=lambda item: item.name)
    ]
    known = set(lines)
    again = inspected(path, reached=True)
    lines += [
        f"reached {line}"
        for item in sorted(again.findings, key=_order)
        if (line := _told(item.severity.word, item)) not in known
    ]
    return lines


def _order(item: Judged) -> tuple[int, str, str, tuple[str, ...]]:
    return -item.severity, item.rule.id, item.grade.name, item.finding.subject


def expected_lines(text: str) -> list[str]:
    """Return the lines of an expectation without comments and blank lines."""
    return [line for raw in text.splitlines() if (line := _bare(raw))]


def _bare(line: str) -> str:
    return "" if line.startswith("#") else line.partition("  # ")[0].rstrip()


def rewritten(text: str, lines: Iterable[str]) -> str:
    """Return an expectation for new lines that keeps the opening comment, and the comments of lines that stay."""
    opening: list[str] = []
    for line in text.splitlines():
        if not line.startswith("#"):
            break
        opening.append(line)
    said = {_bare(line): line for line in text.splitlines() if _bare(line)}
    return "".join(f"{line}\n" for line in [*opening, *(said.get(line, line) for line in lines)])


def _copy_published() -> None:
    """Bring the copy that the adaptation keeps up to the published build, and put its hash into the adaptation."""
    for source in sorted((EXAMPLES / "farm_stand").glob("*.rig")):
        (EXAMPLES / "hill_stand" / "published" / source.name).write_bytes(source.read_bytes())
    file = EXAMPLES / "hill_stand" / "hill_stand.rig"
    for item in inspected("hill_stand/hill_stand.rig").findings:
        said = re.search(r'hash "([0-9a-f]{64})"', item.finding.remedy) if item.rule.id == "changed-base" else None
        if said is not None:
            text = file.read_text(encoding="utf-8")
            file.write_text(re.sub(r'hash "[0-9a-f]{64}"', said[0], text), encoding="utf-8")
            print("hill_stand: copied anew")
    inspected.cache_clear()


def main(arguments: list[str]) -> int:
    """Rewrite every expectation, or say which would change; 1 where any does."""
    changed = 0
    if "--check" not in arguments:
        _copy_published()
    for file in sorted(EXPECTED.rglob("*.txt")):
        path = file.relative_to(EXPECTED).with_suffix(".rig").as_posix()
        text = file.read_text(encoding="utf-8")
        new = rewritten(text, answer_lines(path))
        if new != text:
            changed = 1
            print(f"{path}: {'would change' if '--check' in arguments else 'rewritten'}")
            if "--check" not in arguments:
                file.write_text(new, encoding="utf-8")
    return changed if "--check" in arguments else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
