"""The examples in the docstrings of tables, constants, ampacity and fuses hold."""

from __future__ import annotations

import doctest
import importlib

import pytest


@pytest.mark.parametrize(
    "module",
    [
        "ohmwright.references",
        "ohmwright.constants.batteries",
        "ohmwright.constants.metals",
        "ohmwright_rules.ampacity",
        "ohmwright_rules.basis",
        "ohmwright_rules.cold_voltage",
        "ohmwright_rules.derating",
        "ohmwright_rules.duty",
        "ohmwright_rules.fusing",
        "ohmwright_rules.sizing",
        "ohmwright_rules.temperature_curve",
    ],
)
def test_docstrings_hold(module: str) -> None:
    result = doctest.testmod(importlib.import_module(module))
    assert result.attempted > 0
    assert result.failed == 0
