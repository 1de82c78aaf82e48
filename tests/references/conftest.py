"""The copied check rows of `data/`, with the header comments that say where they come from."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import pytest

DATA = Path(__file__).with_name("data")


@pytest.fixture(scope="session")
def source_rows() -> Callable[[str], list[dict[str, str]]]:
    """Read the rows of a copied source by its name, its header comments left out."""

    def read(name: str) -> list[dict[str, str]]:
        lines = (DATA / f"{name}.csv").read_text(encoding="utf-8").splitlines()
        rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
        assert rows, f"{name} has no rows"
        return rows

    return read
