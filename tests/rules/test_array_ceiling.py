"""Rule array-ceiling: the fault catalogue's examples A6, edges, the smaller of two ceilings, what is missing."""

from __future__ import annotations

from datetime import date

import pytest
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader
from ohmwright_rules import PACK

BUILD = """rig "Shed roof", revision 1
battery house { LFP, 4 cells, 50 Ah; internal resistance 9 mohm }
array roof { Voc 60 V; Vmp 50 V; Isc 12 A; Imp AMPS }
controller sun { PWM; 10 A; absorption 14.2 V; LIMIT }
wires 10 AWG, 2 m {
  in from roof.plus to sun.pv_plus
  home from sun.pv_minus to roof.minus
  charge from sun.batt_plus to house.plus
  back from house.minus to sun.batt_minus
}
"""
BOTH = "rated 130 W; array at most 3 times its rated power; leads swapped at most 1.5 times its rated power"


def build(amps: str, limit: str = BOTH) -> str:
    return BUILD.replace("AMPS", amps).replace("LIMIT", limit)


def test_catalogue_a6(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, A6, Ex: rated 130 W, k=3 -> 390 W; array 450 W -> error; array 250 W > 1.5 x 130 = 195 W -> note."""
    over = said(build("9 A"), "array_ceiling")
    finding = over.finding("sun", "over-ceiling")
    assert (finding.measured.value, finding.limit.value) == (450.0, 390.0)
    assert ("sun", "over-ceiling", "error") in over.grades
    assert finding.message == "sun: roof has 450 W; its maker allows 390 W (3 times its rated power), and more damages it."
    note = said(build("5 A"), "array_ceiling")
    assert note.grades == [("sun", "swapped-leads", "note")]
    assert note.finding("sun").limit.value == 195.0
    assert note.passed("sun", "over-ceiling").limit.value == 390.0


@pytest.mark.parametrize(
    ("amps", "grades"),
    [
        ("3.9 A", []),  # 195 W
        ("3.901 A", ["swapped-leads"]),
        ("7.8 A", ["swapped-leads"]),  # 390 W
        ("7.801 A", ["over-ceiling", "swapped-leads"]),
    ],
)
def test_edges(said, amps: str, grades: list[str]) -> None:  # type: ignore[no-untyped-def]
    assert sorted(item.grade for item in said(build(amps), "array_ceiling").findings) == grades


def test_the_smaller_of_two_ceilings_counts_and_is_pointed_at(said) -> None:  # type: ignore[no-untyped-def]
    text = build("9 A", "rated 130 W; array at most 3 times its rated power\n  array at most 300 W")
    finding = said(text, "array_ceiling").finding("sun")
    assert finding.limit.value == 300.0
    assert finding.related[-1].span.line == 5
    assert "its PV power limit" in finding.message


def test_arrays_on_one_input_add(said) -> None:  # type: ignore[no-untyped-def]
    text = build("4 A", "array at most 390 W") + (
        "array wall { Voc 60 V; Vmp 50 V; Isc 5 A; Imp 4 A }\n"
        "wire p from wall.plus to sun.pv_plus\nwire q from wall.minus to sun.pv_minus\n"
    )
    finding = said(text, "array_ceiling").finding("sun")
    assert finding.measured.value == 400.0
    assert "roof and wall have 400 W" in finding.message


def test_without_a_ceiling_there_is_nothing_to_hold(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build("9 A", "rated 130 W"), "array_ceiling")
    assert [item.condition for item in found.idle] == ["its maker gives no ceiling of array power"]
    assert not found.passes


@pytest.mark.parametrize(
    ("old", "new", "missing"),
    [
        ("rated 130 W; ", "", "rated power"),
        ("Imp 9 A", "cells 30 K above ambient", "power of roof (Vmp and Imp)"),
    ],
)
def test_missing_data_are_named(said, old: str, new: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build("9 A").replace(old, new), "array_ceiling")
    assert not found.findings
    assert found.missing == [("sun", "over-ceiling", missing), ("sun", "swapped-leads", missing)]
    assert all(item.declare for item in found.unchecked)


def test_it_is_told_once() -> None:
    options = InspectOptions(today=date(2026, 1, 1), only=("array-ceiling",))
    (result,) = inspect_files(["a.rig"], Loader(MemoryFiles({"a.rig": build("9 A")})), options, (PACK,)).builds
    assert [item.grade.name for item in result.findings] == ["over-ceiling"]
    assert [item.grade.name for item in result.yielded] == ["swapped-leads"]
