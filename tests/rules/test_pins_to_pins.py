"""Rule pins-to-pins: the fault catalogue's example G20, safe ends, dead ends, mains, missing forms, what yields."""

from __future__ import annotations

from datetime import date

import pytest
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader
from ohmwright_rules import PACK

BUILD = """rig "Two packs", revision 1
battery house { LFP, 4 cells, 60 Ah }
FAR
connector house_out with near { pins 1, 2; house_out { female sockets; on the panel } ; near { ONE } }
connector pack_out with far { pins 1, 2; pack_out { female sockets; on the panel } ; far { TWO } }
cable link { 10 AWG; 1 m; core plus from near.1 to far.1; core minus from near.2 to far.2 }
wires 10 AWG, 0.4 m {
  a from house.plus to house_out.1
  b from house.minus to house_out.2
  c from pack.plus to pack_out.1
  d from pack.minus to pack_out.2
}
"""


def build(one: str = "bare pins", two: str = "bare pins", far: str = "battery pack { LFP, 4 cells, 60 Ah }") -> str:
    return BUILD.replace("ONE", one).replace("TWO", two).replace("FAR", far)


def test_catalogue_g20(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G20, Ex: expansion cord male-male -> error."""
    found = said(build(), "pins_to_pins")
    assert found.grades == [("link", "live", "error")]
    finding = found.finding("link")
    assert finding.subject == ("link", "far", "near")
    assert (
        finding.message == "link: far and near both have bare pins; with near plugged in, the pins of far are live from house."
    )


def test_cord_to_a_load_is_live_from_the_box_only(said) -> None:  # type: ignore[no-untyped-def]
    finding = said(build(far="load pack 20 W"), "pins_to_pins").finding("link")
    assert finding.subject == ("link", "far", "near")


@pytest.mark.parametrize("form", ["female sockets", "shrouded", "touch-safe", "genderless"])
def test_one_other_half_is_enough(said, form: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(two=form), "pins_to_pins")
    assert found.findings == []
    assert found.passed("link").subject == ("link", "far", "near")


def test_dead_cord_passes(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        build(far="load pack 20 W")
        .replace("a from house.plus to house_out.1", "a from house.plus to house_out.2")
        .replace("b from house.minus", "b from house.plus")
    )
    text = text.replace("  a from house.plus to house_out.2\n  b from house.plus to house_out.2\n", "")
    assert said(text, "pins_to_pins").passed("link").grade == "live"


def test_mains_cord(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        'rig "Box", revision 1\ninverter mains { 300 W }\nAC load kettle { 100 W }\n'
        "connector outlet with plug { pins 1, 2; outlet { female; on the panel } ; plug { male } }\n"
        "connector inlet with tail { pins 1, 2; inlet { female; on the panel } ; tail { male } }\n"
        "cable cord { 16 AWG; 1 m; core l from plug.1 to tail.1; core n from plug.2 to tail.2 }\n"
        "wires 14 AWG, 1 m {\n  a from mains.L to outlet.1\n  b from mains.N to outlet.2\n  c from inlet.1 to kettle.L\n  d from inlet.2 to kettle.N\n}\n"
    )
    assert said(text, "pins_to_pins").grades == [("cord", "live", "error")]
    assert "live from the mains or the inverter" in said(text, "pins_to_pins").finding("cord").message


@pytest.mark.parametrize(
    ("one", "two", "asked"),
    [("10 A", "10 A", "far"), ("bare pins", "10 A", "far"), ("10 A", "bare pins", "near"), ("10 A", "sockets", "")],
)
def test_missing_form(said, one: str, two: str, asked: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(one, two), "pins_to_pins")
    assert found.missing == ([(asked, "live", "form of its contacts")] if asked else [])


def test_panel_halves_are_no_cord(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build("bare pins; on the panel"), "pins_to_pins")
    assert [item.condition for item in found.idle] == ["no cable and no wire runs from one connector half to another"]


def test_live_pins_yield_to_it() -> None:
    options = InspectOptions(today=date(2026, 1, 1), only=("pins-to-pins", "live-pins"))
    (result,) = inspect_files(["a.rig"], Loader(MemoryFiles({"a.rig": build()})), options, (PACK,)).builds
    assert [item.rule.id for item in result.findings] == ["pins-to-pins"]
    assert {item.rule.id for item in result.yielded} == {"live-pins"}


def test_no_cap_is_asked_for_beside_it() -> None:
    """A cap behind a switch makes a half safe (G1), but no cord with pins on both ends right: what would be asked does not decide."""
    text = build().replace(
        "a from house.plus to house_out.1", "a from house.plus to one.line\n  a2 from one.load to house_out.1"
    )
    text = text.replace("c from pack.plus to pack_out.1", "c from pack.plus to two.line\n  c2 from two.load to pack_out.1")
    text = text.replace("cable link", "switch one 30 A\nswitch two 30 A\ncable link")
    options = InspectOptions(today=date(2026, 1, 1), only=("pins-to-pins", "live-pins"))

    def inspected(text: str):  # type: ignore[no-untyped-def]
        return inspect_files(["a.rig"], Loader(MemoryFiles({"a.rig": text})), options, (PACK,)).builds[0]

    result = inspected(text)
    assert [item.rule.id for item in result.findings] == ["pins-to-pins"]
    assert [item.outcome.missing for item in result.not_checked] == []
    one_end = inspected(text.replace("far { bare pins }", "far { female sockets }"))
    assert [(item.outcome.subject, item.outcome.missing) for item in one_end.not_checked] == [
        (("near",), "whether it has a cap")
    ]
