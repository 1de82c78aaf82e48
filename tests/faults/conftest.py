"""The verdicts of one run, and the table that is printed at its end."""

from __future__ import annotations

import gc
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from faults.judging import Verdict
from faults.table import table_of

_VERDICTS = pytest.StashKey[list[Verdict]]()


def pytest_configure(config: pytest.Config) -> None:
    """Give the run an empty collection."""
    config.stash[_VERDICTS] = []


@pytest.fixture(scope="session", autouse=True)
def _rarely_collected() -> Iterator[None]:
    """Look for garbage rarely: hundreds of builds come and go here beside the bases, which stay, and a third of the time would go into that."""
    before = gc.get_threshold()
    gc.set_threshold(100_000, 20, 50)
    yield
    gc.set_threshold(*before)


@pytest.fixture
def verdicts(pytestconfig: pytest.Config) -> list[Verdict]:
    """The verdicts of this run, for the table."""
    return pytestconfig.stash.setdefault(_VERDICTS, [])


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """Print what was planted, found, missed and told without cause, by family."""
    verdicts = config.stash.get(_VERDICTS, [])
    if verdicts:
        terminalreporter.section("planted faults")
        for line in table_of(verdicts):
            terminalreporter.write_line(line)
