"""Shared fixtures: the report of checks against published sources, and counted skips of absent references.

A check against a source calls `reference_report(source, checked, worst, note)`; the run ends with one table
of them all. A check that needs an outside program or package which is not on this machine calls
`reference_skip(what)`: the skip is counted and printed, and is a failure instead where the environment says
OHMWRIGHT_REQUIRE_REFERENCES=1.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import NoReturn

import pytest
from hypothesis import HealthCheck, settings

REQUIRE = "OHMWRIGHT_REQUIRE_REFERENCES"

# Every run tries the same examples, on a busy machine as on a quiet one; at night others are tried (tests/fuzz/README.md).
settings.register_profile("alike", derandomize=True, database=None, deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("alike")


@dataclass
class _Collected:
    """What the tests of one run reported."""

    rows: list[tuple[str, int, float, str]] = field(default_factory=list)
    skips: dict[str, int] = field(default_factory=dict)


_COLLECTED = pytest.StashKey[_Collected]()


def pytest_configure(config: pytest.Config) -> None:
    """Give the run an empty collection."""
    config.stash[_COLLECTED] = _Collected()


@pytest.fixture(autouse=True, scope="session")
def _own_surroundings(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep what is set on the machine of whoever runs the tests out of them, and what they leave out of that person's folders."""
    folder = tmp_path_factory.mktemp("surroundings")
    (folder / "gitconfig").touch()
    with pytest.MonkeyPatch.context() as patch:
        for name in list(os.environ):  # a hook of git names its repository, in which the tests would add their files
            if name.startswith("GIT_") or name in ("COLUMNS", "FORCE_COLOR", "OHMWRIGHT_TRACE"):
                patch.delenv(name)
        patch.setenv("GIT_CONFIG_GLOBAL", str(folder / "gitconfig"))
        patch.setenv("GIT_CONFIG_NOSYSTEM", "1")
        for name in ("XDG_CACHE_HOME", "LOCALAPPDATA", *(("HOME",) if sys.platform == "darwin" else ())):
            patch.setenv(name, str(folder))
        yield


@pytest.fixture
def reference_report(pytestconfig: pytest.Config) -> Callable[..., None]:
    """Record that `checked` cells or examples of `source` were compared, `worst` the largest difference.

    `worst` is relative unless `note` says otherwise. Call it just before the assertion, so that a failing
    check still shows how far off it was.
    """

    def report(source: str, checked: int, worst: float, note: str = "") -> None:
        assert checked > 0, f"nothing of {source!r} was compared"
        pytestconfig.stash[_COLLECTED].rows.append((source, checked, worst, note))

    return report


@pytest.fixture
def reference_skip(pytestconfig: pytest.Config) -> Callable[[str], NoReturn]:
    """Skip a check whose outside reference is absent, counted; fail instead where references are required."""

    def skip(what: str) -> NoReturn:
        if os.environ.get(REQUIRE) == "1":
            pytest.fail(f"{what} is absent, and {REQUIRE}=1", pytrace=False)
        skips = pytestconfig.stash[_COLLECTED].skips
        skips[what] = skips.get(what, 0) + 1
        pytest.skip(f"{what} is absent")

    return skip


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """Print one table of all checks against published sources, then the skipped ones."""
    collected = config.stash[_COLLECTED]
    if collected.rows:
        terminalreporter.section("checked against something outside")
        wide = max(len(source) for source, *_ in collected.rows)
        terminalreporter.write_line(f"{'source':<{wide}}  {'checked':>7}  {'worst':>8}  note")
        for source, checked, worst, note in sorted(collected.rows):
            terminalreporter.write_line(f"{source:<{wide}}  {checked:>7}  {worst:>8.2g}  {note}".rstrip())
        total = sum(checked for _, checked, _, _ in collected.rows)
        terminalreporter.write_line(f"{total} cells and examples compared, {len(collected.rows)} checks")
    if collected.skips:
        terminalreporter.section("outside references that are absent here")
        for what, count in sorted(collected.skips.items()):
            terminalreporter.write_line(f"{what}: {count} {'check' if count == 1 else 'checks'} skipped")
        total = sum(collected.skips.values())
        terminalreporter.write_line(f"{total} skipped in all; {REQUIRE}=1 makes them failures")
