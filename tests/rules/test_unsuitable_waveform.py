"""I11: loads that need a sine wave, and the waveform that they get."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

Said = Callable[..., Any]


def van(waveform: str, load: str) -> str:
    return f'rig "Van", revision 1\ninverter mill {{ 300 W; {waveform} }}\nAC load aid {{ 40 W; {load}; L on mill.L; N on mill.N }}\n'


@pytest.mark.parametrize(
    ("waveform", "load", "grades", "missing"),
    [
        # Catalogue, I11, Ex: CPAP on modified wave -> warning
        ("modified sine", "needs a sine wave", [("aid", "modified", "warning")], []),
        ("sine", "needs a sine wave", [], []),
        ("modified sine", "no needs sine", [], []),
        ("modified sine", "", [], [("aid", "modified", "whether it needs a sine wave")]),
        ("sine", "", [], []),
        ("", "needs a sine wave", [], [("aid", "modified", "waveform of mill")]),
        ("", "no needs sine", [], []),
    ],
)
def test_waveform(said: Said, waveform: str, load: str, grades: list[Any], missing: list[Any]) -> None:
    found = said(van(waveform, load), "unsuitable_waveform")
    assert (found.grades, found.missing) == (grades, missing)
    assert bool(found.passes) is not bool(grades or missing)


def test_an_inverter_without_loads(said: Said) -> None:
    alone = said('rig "Van", revision 1\ninverter mill { 300 W; modified sine }\n', "unsuitable_waveform")
    assert [item.condition for item in alone.idle] == ["no AC load hangs on it"]
