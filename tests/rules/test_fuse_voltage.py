"""F7: the DC voltage rating of devices against the highest voltage that the sources are set to; F8: devices for AC only."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest


def bank(
    cells: int,
    absorption: str,
    rating: str = "32 V dc",
    more: str = "",
    says: str = "; no equalise; no temperature compensation",
) -> str:
    return f"""rig "Bank", revision 1
site {{ ambient -20 degC to 30 degC; record low -20 degC }}
battery house {{ LFP, {cells} cells, 100 Ah; internal resistance 5 mohm }}
mains charger depot {{ 20 A; {absorption}{says} }}
fuse main {{ 40 A; {rating}; line on house.plus; load on depot.plus }}
wire under from depot.minus to house.minus {{ 8 AWG; 1 m }}
{more}"""


def test_catalogue_examples(said: Callable[..., Any]) -> None:
    # Catalogue, F7, Ex: 32 V fuse, "24 V" bank at 29.2 V passes; "48 V" bank at 58.4 V is an error
    passed = said(bank(8, "absorption 29.2 V"), "fuse_voltage").passed("main", "over-voltage")
    assert (passed.measured.value, passed.limit.value) == (29.2, 32.0)
    finding = said(bank(16, "absorption 58.4 V"), "fuse_voltage").finding("main")
    assert (finding.measured.value, finding.limit.value) == (58.4, 32.0)
    assert "58.4 V can stand here (absorption of depot); this fuse is rated for 32 V DC" in finding.message


@pytest.mark.parametrize(("volts", "broken"), [("32 V", False), ("32.01 V", True), ("31.9 V", False)])
def test_edge(said: Callable[..., Any], volts: str, broken: bool) -> None:
    assert bool(said(bank(8, f"absorption {volts}"), "fuse_voltage").grades) is broken


def test_equalising_and_compensation_in_the_cold_count(said: Callable[..., Any]) -> None:
    equalised = said(bank(8, "absorption 29 V; equalise 32.5 V", says="; no temperature compensation"), "fuse_voltage")
    assert equalised.finding("main").measured.value == 32.5
    # 29 V + 80 mV/K x (25 - (-20)) K = 32.6 V
    cold = said(bank(8, "absorption 29 V", says="; no equalise; temperature compensation -80 mV/K"), "fuse_voltage")
    assert cold.finding("main").measured.value == pytest.approx(32.6)


def test_what_was_not_said_of_a_charger_counts_with_the_limit_of_the_battery(said: Callable[..., Any]) -> None:
    # LFP: 3.65 V a cell
    silent = said(bank(8, "float stage"), "fuse_voltage").passed("main", "over-voltage")
    assert silent.measured.value == pytest.approx(29.2)
    alone = 'rig "Alone", revision 1\nbattery house { LFP, 16 cells }\nfuse main { 40 A; 58 V dc; line on house.plus }\nload lamp 1 A\nwire a from main.load to lamp.plus { 14 AWG; 1 m }\nwire b from lamp.minus to house.minus { 14 AWG; 1 m }\n'
    assert said(alone, "fuse_voltage").finding("main").measured.value == pytest.approx(58.4)


def test_silence_on_equalising_and_compensation_matters_only_near_the_rating(said: Callable[..., Any]) -> None:
    far = said(bank(4, "absorption 14.4 V", says=""), "fuse_voltage")
    assert far.missing == [] and far.passed("main", "over-voltage").measured.value == 14.4
    near = said(bank(8, "absorption 29 V", says=""), "fuse_voltage")
    assert near.missing == [("main", "over-voltage", "equalising voltage of depot")]


def test_rating_that_nobody_said(said: Callable[..., Any]) -> None:
    assert said(bank(8, "absorption 29 V", rating="blade"), "fuse_voltage").missing == [
        ("main", "over-voltage", "voltage rating for DC")
    ]


def test_array_side_takes_the_cold_open_circuit_voltage(said: Callable[..., Any]) -> None:
    more = """array roof { Voc 40 V; Vmp 33 V; Isc 5 A; Imp 4.6 A; Voc -0.30 %/K; 2 in series }
controller sun { MPPT; 20 A; absorption 28 V; no equalise; no temperature compensation }
fuse string { 10 A; 85 V dc; line on roof.plus; load on sun.pv_plus }
wire pvback from roof.minus to sun.pv_minus { 10 AWG; 3 m }
wire charge from sun.batt_plus to house.plus { 8 AWG; 1 m }
wire chargeback from sun.batt_minus to house.minus { 8 AWG; 1 m }
"""
    # 80 V x (1 + 0.003 x (25 - (-20))) = 90.8 V
    assert said(bank(8, "absorption 29 V", more=more), "fuse_voltage").finding("string").measured.value == pytest.approx(90.8)
    unknown = bank(8, "absorption 29 V", more=more).replace("; record low -20 degC", "")
    assert ("string", "over-voltage", "record low of the site") in said(unknown, "fuse_voltage").missing


def test_device_in_the_return_breaks_the_same_voltage(said: Callable[..., Any]) -> None:
    more = "load lamp 1 A\nwire a from house.plus to lamp.plus { 14 AWG; 1 m }\nfuse low { 5 A; 20 V dc; line on lamp.minus; load on house.minus }\n"
    assert said(bank(8, "absorption 29 V", more=more), "fuse_voltage").finding("low").measured.value == 29.0


def test_device_for_ac_only_is_an_error(said: Callable[..., Any]) -> None:
    # Catalogue, F8, Ex: 230 V AC 20 A breaker in a battery lead -> error
    text = bank(8, "absorption 29 V").replace("fuse main { 40 A; 32 V dc;", "breaker main { 20 A; AC only;")
    assert said(text, "fuse_voltage").grades == [("main", "ac-only", "error")]
