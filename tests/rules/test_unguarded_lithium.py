"""Rule unguarded-lithium: the fault catalogue's example C12, which devices count, silence and "none"."""

from __future__ import annotations

import pytest

LAMP = "load lamp 20 A\nwire feed from FEED to lamp.plus\nwire back from lamp.minus to house.minus\n"


def box(facts: str, more: str = "", feed: str = "house.plus") -> str:
    """A pack that feeds a lamp."""
    return f'rig "Box", revision 1\nbattery house {{ LFP, 4 cells, 100 Ah; {facts} }}\n{more}{LAMP.replace("FEED", feed)}'


def test_catalogue_c12(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, C12, Ex: pack "200 A BMS", no fuse -> error."""
    found = said(box("bms { 200 A }"), "unguarded_lithium")
    assert found.grades == [("house", "bms-alone", "error")]
    assert "its management system (200 A) is all that limits a fault on the way to lamp" in found.finding("house").message


@pytest.mark.parametrize("device", ["fuse main { 60 A }", "breaker main { 60 A }"])
def test_any_device_is_external(said, device: str) -> None:  # type: ignore[no-untyped-def]
    found = said(box("bms { 200 A }", f"{device}\nwire lead from house.plus to main.line\n", "main.load"), "unguarded_lithium")
    assert found.grades == []
    assert found.passed("house", "bms-alone")


def test_device_in_the_return_counts(said) -> None:  # type: ignore[no-untyped-def]
    text = box("bms { 200 A }", "fuse main { 60 A }\nwire lead from house.minus to main.line\n").replace(
        "lamp.minus to house.minus", "lamp.minus to main.load"
    )
    assert said(text, "unguarded_lithium").grades == []


def test_one_way_past_the_fuse_is_enough(said) -> None:  # type: ignore[no-untyped-def]
    """The lamp is fused; the pump hangs on the post itself. A switch is no fuse."""
    more = (
        "fuse main { 60 A }\nwire lead from house.plus to main.line\nload pump 3 A\nswitch s 10 A\n"
        "wire p1 from house.plus to s.line\nwire p2 from s.load to pump.plus\nwire p3 from pump.minus to house.minus\n"
    )
    finding = said(box("bms { 200 A }", more, "main.load"), "unguarded_lithium").finding("house")
    assert "on the way to pump;" in finding.message


def test_no_bms_and_silence(said) -> None:  # type: ignore[no-untyped-def]
    """Readings.md: a missing BMS is no limit from memory; silence is not checked, "none" is not silence."""
    assert said(box("no bms"), "unguarded_lithium").grades == [("house", "no-bms", "error")]
    assert said(box("12.8 V"), "unguarded_lithium").missing == [("house", "no-bms", "management system")]
    unknown = box("12.8 V").replace("LFP, 4 cells, ", "")
    assert said(unknown, "unguarded_lithium").missing == [("house", "no-bms", "chemistry")]


def test_lead_acid_is_no_matter_of_this_rule(said) -> None:  # type: ignore[no-untyped-def]
    found = said(box("12 V").replace("LFP, 4 cells", "AGM, 6 cells"), "unguarded_lithium")
    assert (found.grades, found.passes, found.missing) == ([], [], [])
    assert found.idle[0].condition == "neither lithium nor with a management system"


def test_whole_string_feeds_past_no_fuse(said) -> None:  # type: ignore[no-untyped-def]
    more = "battery upper { LFP, 4 cells, 100 Ah; bms { 200 A } }\nwire link from house.plus to upper.minus\n"
    found = said(box("bms { 200 A }", more, "upper.plus"), "unguarded_lithium")
    assert found.grades == [("house", "bms-alone", "error"), ("upper", "bms-alone", "error")]
