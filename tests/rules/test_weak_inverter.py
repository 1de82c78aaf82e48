"""I4: what a load takes at its start against the peak of its inverter."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

Said = Callable[..., Any]


def van(inverter: str = "300 W; peak 500 W for 3 s", load: str = "90 W; motor; promised") -> str:
    return f'rig "Van", revision 1\ninverter mill {{ {inverter} }}\nAC load cold_box {{ {load}; L on mill.L; N on mill.N }}\n'


def test_catalogue_example(said: Said) -> None:
    # Catalogue, I4, Ex: 90 W fridge x 6 = 540 > 500 W -> error
    found = said(van(), "weak_inverter")
    assert found.grades == [("cold_box", "cannot-start", "error")]
    finding = found.finding("cold_box")
    assert (finding.measured.value, finding.limit.value) == (540.0, 500.0)
    assert finding.message == "cold_box: its start takes 540 W; mill gives 500 W at most."
    assert said(van(load="90 W; motor"), "weak_inverter").grades == [("cold_box", "cannot-start-unrequired", "warning")]


@pytest.mark.parametrize("promise", ["start cold_box", "run cold_box for 4 h"])
def test_load_that_a_promise_names_is_a_promised_one(said: Said, promise: str) -> None:
    # Catalogue, I4: error for a required load
    text = van(load="90 W; motor") + f"require {promise}\n"
    assert said(text, "weak_inverter").grades == [("cold_box", "cannot-start", "error")]


@pytest.mark.parametrize(("peak", "broken"), [("540 W", False), ("541 W", False), ("539 W", True)])
def test_edge(said: Said, peak: str, broken: bool) -> None:
    assert bool(said(van(f"300 W; peak {peak}"), "weak_inverter").grades) is broken


@pytest.mark.parametrize(
    ("load", "power"),
    [
        ("90 W; starts at 3 times", 270.0),
        ("90 W; starts at 800 W", 800.0),
        ("90 W; starts at 3 A", 360.0),  # at 120 V
    ],
)
def test_a_declared_start(said: Said, load: str, power: float) -> None:
    found = said(van("300 W; peak 100 W; 120 V AC", load), "weak_inverter")
    assert found.finding("cold_box").measured.value == pytest.approx(power)


def test_a_peak_that_ends_before_the_start_does_not_count(said: Said) -> None:
    start = "100 W; motor; starts at 4 times for 1 s"
    assert said(van("300 W; peak 500 W for 1 s", start), "weak_inverter").grades == []
    short = said(van("300 W; peak 500 W for 0.5 s", start), "weak_inverter")
    assert short.finding("cold_box").limit.value == 300.0
    assert "for as long as that: its peak lasts 0.5 s, the start 1 s" in short.finding("cold_box").message
    assert said(van("peak 500 W for 0.5 s", start), "weak_inverter").missing == [
        ("cold_box", "cannot-start-unrequired", "rated power of mill")
    ]


def test_what_is_missing(said: Said) -> None:
    assert said(van("300 W"), "weak_inverter").missing == [("cold_box", "cannot-start", "peak power of mill")]
    assert said(van("600 W"), "weak_inverter").passed("cold_box").limit.value == 600.0
    unsaid = said(van(load="90 W; promised"), "weak_inverter").missing
    assert unsaid == [("cold_box", "cannot-start", "whether it is a motor, or what it takes when it starts")]
    assert said(van(load="motor"), "weak_inverter").missing[0][2] == "power"
    assert said(van(load="90 W; starts at 3 A"), "weak_inverter").missing[0][2] == "AC voltage of mill"


def test_what_does_not_apply(said: Said) -> None:
    assert [item.condition for item in said(van(load="90 W; not motor"), "weak_inverter").idle] == [
        "is no motor and says no start"
    ]
    alone = said('rig "Van", revision 1\ninverter mill { 300 W }\n', "weak_inverter")
    assert [item.condition for item in alone.idle] == ["no AC load hangs on it"]
