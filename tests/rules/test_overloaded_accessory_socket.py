"""Rule overloaded-accessory-socket: the fault catalogue's example G17, 10 A, fuses, declared ratings, surges, what yields."""

from __future__ import annotations

from datetime import date

import pytest
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader
from ohmwright_rules import PACK

BUILD = """rig "Lighter socket", revision 1
battery house { LFP, 4 cells, 60 Ah; internal resistance 0.001 mohm; rests at 12 V at 0 %, 12 V at 100 % }
fuse main { FUSE; line on house.plus }
LOAD
connector out with tail { lighter socket; pins 1, 2FACTS }
wires 0 AWG, 1 mm {
  a from main.load to out.1
  b from house.minus to out.2
  c from tail.1 to cooler.plus
  d from tail.2 to cooler.minus
}
state "noon" { cooler on }
"""


def build(load: str = "load cooler { 12 A }", facts: str = "", fuse: str = "15 A") -> str:
    return BUILD.replace("FUSE", fuse).replace("LOAD", load).replace("FACTS", facts)


def test_catalogue_g17(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G17, Ex: 150 W inverter: 150 / (0.85 x 12) = 14.7 A -> warning."""
    text = build(
        "inverter cooler { 150 W; efficiency 85 %; draws 0 W with no load; cut-off 12 V }", "; contact resistance 0 mohm"
    ).replace("cooler on", "cooler on at 150 W")
    found = said(text, "overloaded_accessory_socket")
    assert found.grades == [("out", "overloaded", "warning")]
    finding = found.finding("out")
    assert finding.measured.value == pytest.approx(14.7, abs=0.05)
    assert finding.limit.value == 10.0
    assert finding.reference.status == "common-practice"
    assert "for hours its spring contact carries 10 A" in finding.message


@pytest.mark.parametrize(
    ("amps", "fuse", "facts", "limit", "broken"),
    [
        ("10 A", "15 A", "", 10.0, False), ("10.1 A", "15 A", "", 10.0, True), ("8 A", "7.5 A", "", 7.5, True), ("7.5 A", "7.5 A", "", 7.5, False),
        ("12 A", "15 A", "; 15 A", 15.0, False), ("6 A", "15 A", "; 5 A", 5.0, True), ("16 A", "20 A", "; 15 A", 15.0, True),
    ],
)  # fmt: skip
def test_limits(said, amps: str, fuse: str, facts: str, limit: float, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G17: I <= min(I_fuse, 10 A continuous default); a declared current stands in place of the default."""
    found = said(build(f"load cooler {{ {amps} }}", facts, fuse), "overloaded_accessory_socket")
    assert bool(found.findings) is broken
    told = found.finding("out") if broken else found.passed("out")
    assert told.limit.value == limit


def test_surge_does_not_count(said) -> None:  # type: ignore[no-untyped-def]
    text = build().replace("cooler on }", "cooler on; lasts 1 s; back after 20 min }")
    text = text.replace("load cooler { 12 A }", "load cooler { 4 A; starts at 3 times for 1 s }")
    assert said(text, "overloaded_accessory_socket").findings == []


def test_other_sockets_do_not_apply(said) -> None:  # type: ignore[no-untyped-def]
    (idle,) = said(build().replace("lighter socket; ", ""), "overloaded_accessory_socket").idle
    assert idle.condition == "there is no accessory socket that is mated"


def test_declared_rating_is_told_once() -> None:
    options = InspectOptions(today=date(2026, 1, 1), only=("overloaded-accessory-socket", "overloaded-contact"))
    text = build("load cooler { 6 A }", "; 5 A")
    (result,) = inspect_files(["a.rig"], Loader(MemoryFiles({"a.rig": text})), options, (PACK,)).builds
    assert {item.rule.id for item in result.findings} == {"overloaded-contact"}
    assert [item.rule.id for item in result.yielded] == ["overloaded-accessory-socket"]
