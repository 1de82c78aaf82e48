"""Which source reaches which conductor without a device, and along what length: circuits worked by hand."""

from __future__ import annotations

from typing import Any

import pytest


def lengths(net: Any) -> dict[tuple[str, str], float]:
    return {key: round(stretch.length, 9) for key, stretch in net.unfused().items()}


def test_lead_to_a_fuse_counts_to_its_end_and_what_lies_behind_the_fuse_does_not(net: Any) -> None:
    box = net().source("house").wire("feed", "house.plus", "main.line", 0.12).fuse("main", "main.line", "main.load", 40)
    box.wire("on", "main.load", "lamp.plus", 3.0).load("lamp")
    assert lengths(box) == {("house", "feed"): 0.12}
    stretch = box.unfused()["house", "feed"]
    assert stretch.beyond.device.name == "main"
    assert stretch.beyond.length == 0.12
    assert stretch.origin == stretch.entry == "house.plus"
    assert not stretch.beyond.joins_source


def test_wires_in_a_row_add_up_and_switches_and_joints_add_nothing(net: Any) -> None:
    box = net().source("house").wire("one", "house.plus", "s.line", 0.1).join("s.line", "s.load", "switch", "s")
    box.wire("two", "s.load", "bus", 0.2).join("bus", "f.line").fuse("f", "f.line", "f.load", 40)
    assert lengths(box) == {("house", "one"): 0.1, ("house", "two"): 0.3}
    two = box.unfused()["house", "two"]
    assert two.before.name == "one"
    assert [branch.name for branch in two.path()] == ["one"]


def test_fuse_on_the_post_leaves_nothing_open(net: Any) -> None:
    box = (
        net()
        .source("house")
        .join("f.line", "house.plus")
        .fuse("f", "f.line", "f.load", 40)
        .wire("on", "f.load", "lamp.plus", 2.0)
    )
    assert lengths(box) == {}
    assert box.overreaches() == {}


def test_fuse_at_the_wrong_end_leaves_the_whole_lead_open(net: Any) -> None:
    box = (
        net()
        .source("house")
        .source("mains", 20, "charger")
        .wire("lead", "house.plus", "f.line", 2.0)
        .fuse("f", "f.line", "mains.plus", 30)
    )
    assert lengths(box) == {("house", "lead"): 2.0}


def test_two_batteries_are_two_directions(net: Any) -> None:
    box = net().source("one").source("two").wire("link", "one.plus", "mid", 0.5).wire("rest", "mid", "two.plus", 0.2)
    assert lengths(box) == {
        ("one", "link"): 0.5, ("one", "rest"): 0.7, ("two", "rest"): 0.2, ("two", "link"): 0.7,
    }  # fmt: skip
    assert box.unfused()["one", "link"].entry == "one.plus"
    assert box.unfused()["two", "link"].entry == "mid"
    assert box.unfused()["one", "rest"].beyond.joins_source and box.unfused()["one", "rest"].beyond.joins_battery


def test_charger_that_is_joined_is_a_source_but_no_battery(net: Any) -> None:
    beyond = (
        net()
        .source("house")
        .source("mains", 20, "charger")
        .wire("lead", "house.plus", "mains.plus", 0.1)
        .unfused()["house", "lead"]
        .beyond
    )
    assert beyond.device is None and beyond.joins_source and not beyond.joins_battery


def test_link_with_a_fuse_at_one_end_is_open_from_the_other(net: Any) -> None:
    box = (
        net()
        .source("house")
        .source("pack")
        .join("f.line", "house.plus")
        .fuse("f", "f.line", "f.load", 40)
        .wire("cord", "f.load", "pack.plus", 2.0)
    )
    assert lengths(box) == {("pack", "cord"): 2.0}
    assert box.unfused()["pack", "cord"].beyond.device.name == "f"


def test_limited_source_counts_only_where_it_can_push_more_than_the_wire_carries(net: Any) -> None:
    box = (
        net()
        .source("mains", 30, "charger")
        .wire("thick", "mains.plus", "bus", 1.0, 30)
        .wire("thin", "bus", "lamp.plus", 0.4, 10)
    )
    assert lengths(box) == {("mains", "thin"): 0.4}  # counted from its joint with the wire that 30 A cannot overload
    assert box.unfused()["mains", "thin"].from_joint


def test_chain_of_packs_counts_every_pack_from_its_own_post(net: Any) -> None:
    box = net().source("p1").source("p2").source("p3")
    for number in (1, 2, 3):
        box.wire(f"lead{number}", f"p{number}.plus", f"f{number}.line", 0.1).fuse(
            f"f{number}", f"f{number}.line", f"bus{number}", 40
        )
    box.wire("link12", "bus1", "bus2", 1.0).wire("link23", "bus2", "bus3", 1.0)
    assert lengths(box) == {("p1", "lead1"): 0.1, ("p2", "lead2"): 0.1, ("p3", "lead3"): 0.1}


def test_ring_counts_to_the_point_that_lies_farthest(net: Any) -> None:
    box = net().source("house").wire("a", "house.plus", "n1", 1.0).wire("b", "n1", "n2", 1.0).wire("c", "n2", "house.plus", 0.5)
    assert lengths(box) == {("house", "a"): 1.0, ("house", "c"): 0.5, ("house", "b"): 1.25}


def test_cover_of_a_stretch_is_that_of_its_barest_wire(net: Any) -> None:
    box = net().source("house").wire("a", "house.plus", "n1", 0.3, enclosed=True).wire("b", "n1", "n2", 0.3, enclosed=None)
    box.wire("c", "n2", "n3", 0.3, enclosed=False)
    found = box.unfused()
    assert [found["house", name].enclosed for name in "abc"] == [True, None, False]
    assert found["house", "b"].open_at.name == "b"


def test_length_that_nobody_said_is_named(net: Any) -> None:
    box = net().source("house").wire("a", "house.plus", "n1", None).wire("b", "n1", "n2", 0.3)
    found = box.unfused()
    assert found["house", "b"].unmeasured.name == "a"
    assert found["house", "b"].length == pytest.approx(0.3)


def test_diode_passes_one_way_only(net: Any) -> None:
    box = net().source("house").source("roof", 80, "array").wire("lead", "house.plus", "d.cathode", 1.0)
    box.join("d.anode", "d.cathode", "diode").wire("pv", "d.anode", "roof.plus", 5.0)
    assert set(lengths(box)) == {("house", "lead"), ("roof", "lead"), ("roof", "pv")}


def test_controller_that_lets_current_back_is_a_way_from_the_battery(net: Any) -> None:
    from ohmwright.protection.ways import Passage

    box = net().source("house").wire("lead", "house.plus", "mppt.batt_plus", 1.0).wire("pv", "mppt.pv_plus", "roof.plus", 5.0)
    box.source("roof", 10, "array")
    assert set(lengths(box)) == {("house", "lead")}
    box.passages.append(Passage("mppt, back into the array", "mppt.batt_plus", "mppt.pv_plus"))
    assert lengths(box) == {("house", "lead"): 1.0, ("house", "pv"): 6.0}


def test_resistor_that_limits_the_current_ends_the_way(net: Any) -> None:
    box = net().source("house").join("house.plus", "r.b", "resistor", ohm=50.0).wire("led", "r.b", "lamp.plus", 1.0)
    assert lengths(box) == {}
    weak = net().source("house").join("house.plus", "r.b", "resistor", ohm=0.01).wire("led", "r.b", "lamp.plus", 1.0)
    assert lengths(weak) == {("house", "led"): 1.0}


def test_selector_without_a_both_position_keeps_two_batteries_apart(net: Any) -> None:
    def box(both: bool) -> Any:
        made = (
            net()
            .source("one")
            .source("two")
            .wire("l1", "one.plus", "s.1", 0.3)
            .wire("l2", "two.plus", "s.2", 0.3)
            .wire("feed", "s.common", "bus", 1.0)
        )
        made.join("s.common", "s.1", "selector", "s at 1", "s").join("s.common", "s.2", "selector", "s at 2", "s")
        if both:
            made.join("s.common", "s.1", "selector", "s at both", "s").join("s.common", "s.2", "selector", "s at both", "s")
        return made

    apart = lengths(box(False))
    assert set(apart) == {("one", "l1"), ("one", "feed"), ("two", "l2"), ("two", "feed")}
    joined = lengths(box(True))
    assert joined["one", "l2"] == pytest.approx(0.6)
    assert len(box(True).protections()) == 1


def test_switches_that_bar_each_other_are_never_closed_together(net: Any) -> None:
    box = net().source("one").source("two").wire("l1", "one.plus", "a.line", 0.3).wire("l2", "two.plus", "b.line", 0.3)
    box.join("a.line", "bus", "switch", "a").join("b.line", "bus", "switch", "b").wire("feed", "bus", "lamp.plus", 1.0)
    assert ("one", "l2") in lengths(box)
    box.barred.append(("a", "b"))
    assert ("one", "l2") not in lengths(box)
    assert ("one", "feed") in lengths(box) and ("two", "feed") in lengths(box)


def test_returns_are_no_feeds_and_a_grounded_plus_turns_the_sides(net: Any) -> None:
    box = (
        net()
        .source("house", minus="house.minus")
        .wire("feed", "house.plus", "lamp.plus", 1.0)
        .wire("back", "lamp.minus", "house.minus", 1.0)
    )
    protection = box.protection()
    wires = {branch.name: branch for branch in box.branches}
    assert {name: protection.standing(wire) for name, wire in wires.items()} == {"feed": "live", "back": "return"}
    assert set(lengths(box)) == {("house", "feed")}
    box.cases.add("case")
    box.join("case", "house.plus")
    assert set(lengths(box)) == {("house", "back")}


def test_middle_of_a_series_string_is_live_and_what_floats_is_dead(net: Any) -> None:
    box = (
        net()
        .source("upper", minus="upper.minus")
        .source("lower", minus="lower.minus")
        .wire("link", "lower.plus", "upper.minus", 0.3)
    )
    box.wire("top", "upper.plus", "n", 1.0).wire("stray", "x", "y", 1.0).wire("back", "lower.minus", "z", 1.0)
    protection = box.protection()
    found = {branch.name: protection.standing(branch) for branch in box.branches}
    assert found == {"link": "live", "top": "live", "stray": "dead", "back": "return"}
    assert set(lengths(box)) == {("lower", "link"), ("upper", "top")}


@pytest.mark.parametrize(
    ("lead", "on", "whole", "open_at"),
    [
        (True, True, True, ""),
        (False, True, False, "lead"),
        (True, False, False, "on"),
        (None, True, None, "lead"),
        (None, False, False, "on"),
    ],
)
def test_a_stretch_is_as_covered_as_the_least_covered_conductor_on_its_way(
    net: Any, lead: bool | None, on: bool | None, whole: bool | None, open_at: str
) -> None:
    box = net().source("house").wire("lead", "house.plus", "n", enclosed=lead).wire("on", "n", "lamp.plus", enclosed=on)
    stretch = box.unfused()["house", "on"]
    assert stretch.enclosed is whole
    assert (stretch.open_at.name if stretch.open_at is not None else "") == open_at


@pytest.mark.parametrize("ends", [("x", "y"), ("y", "x")])
def test_beyond_a_conductor_that_closes_a_ring_lies_what_is_beyond_either_end(net: Any, ends: tuple[str, str]) -> None:
    """Behind x a fuse after 3 m, behind y one after half a metre: the nearer one counts, whichever way the conductor is drawn."""
    box = (
        net().source("house").wire("to x", "house.plus", "x", 1.0).wire("to y", "house.plus", "y", 1.0).wire("ring", *ends, 1.0)
    )
    box.wire("long", "x", "f.line", 3.0).fuse("f", "f.line", "f.load", 10).wire("short", "y", "g.line", 0.5).fuse(
        "g", "g.line", "g.load", 10
    )
    beyond = box.unfused()["house", "ring"].beyond
    assert (beyond.device.name, beyond.length) == ("g", 1.5)
    assert (beyond.joins_source, beyond.joins_battery) == (False, False)
    for kind, name in (("charger", "x"), ("charger", "y"), ("battery", "x"), ("battery", "y")):
        box.source(f"{kind} at {name}", 30, kind, plus=name)
        beyond = box.unfused()["house", "ring"].beyond
        assert (beyond.joins_source, beyond.joins_battery) == (True, kind == "battery")
        box.sources.pop()
