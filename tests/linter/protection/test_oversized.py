"""What devices that are too large leave open, and the joints that a stub is measured from: circuits worked by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from ohmwright.protection.poles import sides
from ohmwright.protection.reaching import Protection, Unsaid


def box_with_tap(net: Any, tap: float) -> Any:
    """A 60 A fuse on the post, a thick feeder, and a thin tap to a fuse of its own."""
    box = (
        net()
        .source("house")
        .join("f.line", "house.plus")
        .fuse("f", "f.line", "f.load", 60)
        .wire("feeder", "f.load", "bus", 2.0, 80)
    )
    return (
        box.wire("tap", "bus", "g.line", tap, 20).fuse("g", "g.line", "g.load", 15).wire("on", "g.load", "lamp.plus", 3.0, 20)
    )


def test_tap_is_measured_from_its_joint_with_the_protected_feeder(net: Any) -> None:
    box = box_with_tap(net, 0.15)
    assert box.overreaches() == {("house", "tap"): ("f", 0.15, True)}
    assert box.unfused() == {}


def test_tap_in_two_pieces_adds_up_from_the_joint(net: Any) -> None:
    box = (
        net()
        .source("house")
        .join("f.line", "house.plus")
        .fuse("f", "f.line", "f.load", 60)
        .wire("feeder", "f.load", "bus", 2.0, 80)
    )
    box.wire("t1", "bus", "m", 0.1, 20).wire("t2", "m", "g.line", 0.1, 20).fuse("g", "g.line", "g.load", 15)
    assert box.overreaches() == {("house", "t1"): ("f", 0.1, True), ("house", "t2"): ("f", 0.2, True)}


def test_thin_wire_straight_behind_its_fuse_has_no_joint(net: Any) -> None:
    box = (
        net()
        .source("house")
        .wire("lead", "house.plus", "f.line", 0.1, 80)
        .fuse("f", "f.line", "f.load", 60)
        .wire("thin", "f.load", "lamp.plus", 0.3, 20)
    )
    assert box.overreaches() == {("house", "thin"): ("f", pytest.approx(0.4), False)}


def test_thick_wire_beside_it_at_the_fuse_makes_a_joint(net: Any) -> None:
    box = (
        net()
        .source("house")
        .wire("lead", "house.plus", "f.line", 0.1, 80)
        .fuse("f", "f.line", "f.load", 60)
        .wire("thin", "f.load", "lamp.plus", 0.3, 20)
    )
    box.wire("thick", "f.load", "bus", 2.0, 70)
    assert box.overreaches() == {("house", "thin"): ("f", 0.3, True)}


def test_smallest_device_on_the_way_is_named(net: Any) -> None:
    box = (
        net()
        .source("house")
        .join("house.plus", "m.line")
        .fuse("m", "m.line", "m.load", 200)
        .wire("a", "m.load", "f.line", 0.5, 210)
    )
    box.fuse("f", "f.line", "f.load", 100).wire("b", "f.load", "lamp.plus", 1.0, 30)
    assert box.overreaches()["house", "b"][0] == "f"


def test_small_fuse_from_one_side_does_not_help_against_the_other(net: Any) -> None:
    box = (
        net()
        .source("one")
        .source("two")
        .join("one.plus", "f.line")
        .fuse("f", "f.line", "f.load", 30)
        .wire("link", "f.load", "g.load", 1.0, 30)
    )
    box.fuse("g", "g.line", "g.load", 60).join("g.line", "two.plus")
    assert box.overreaches() == {("two", "link"): ("g", 1.0, False)}


def test_two_fuses_in_parallel_are_two_ways_round(net: Any) -> None:
    box = (
        net()
        .source("house")
        .join("house.plus", "f.line")
        .join("house.plus", "g.line")
        .fuse("f", "f.line", "bus", 30)
        .fuse("g", "g.line", "bus", 60)
    )
    box.wire("feed", "bus", "lamp.plus", 1.0, 40)
    assert box.overreaches() == {("house", "feed"): ("g", 1.0, False)}


def test_rating_that_nobody_said_decides_only_where_it_matters(net: Any) -> None:
    box = (
        net()
        .source("house")
        .join("house.plus", "f.line")
        .fuse("f", "f.line", "f.load", None)
        .wire("a", "f.load", "g.line", 1.0, 40)
    )
    box.fuse("g", "g.line", "g.load", 10).wire("b", "g.load", "lamp.plus", 1.0, 20)
    told = {
        exposure.stretch.wire.name: exposure.unsaid for protection in box.protections() for exposure in protection.overreaches()
    }
    assert set(told) == {"a"}
    assert (told["a"].what, told["a"].of) == ("rated current", "f")


def test_gauge_that_nobody_said_is_named(net: Any) -> None:
    box = (
        net()
        .source("house")
        .join("house.plus", "f.line")
        .fuse("f", "f.line", "f.load", 20)
        .wire("a", "f.load", "lamp.plus", 1.0, None)
    )
    (exposure,) = [exposure for protection in box.protections() for exposure in protection.overreaches()]
    assert (exposure.unsaid.what, exposure.unsaid.of) == ("gauge", "a")


def test_limit_of_a_charger_that_nobody_said_is_named(net: Any) -> None:
    box = net().source("mains", None, "charger").fuse("f", "mains.plus", "f.load", 60).wire("a", "f.load", "lamp.plus", 1.0, 20)
    (exposure,) = [exposure for protection in box.protections() for exposure in protection.overreaches()]
    assert (exposure.unsaid.what, exposure.unsaid.of) == ("rated current", "mains")


@pytest.mark.parametrize("ratings", [(60, 100), (100, 60)])
def test_of_two_ways_of_equal_length_the_one_through_the_larger_device_counts(net: Any, ratings: tuple[float, float]) -> None:
    box = net().source("house").join("house.plus", "f.line").join("house.plus", "g.line")
    box.fuse("f", "f.line", "bus", ratings[0]).fuse("g", "g.line", "bus", ratings[1]).wire("feed", "bus", "lamp.plus", 1.0, 40)
    assert box.overreaches()["house", "feed"][0] == ("f" if ratings[0] == 100 else "g")


def test_ampacity_that_nobody_can_tell_is_named_where_a_limited_source_may_push_more(net: Any) -> None:
    """The fuse is too large whatever the wire carries; whether the charger's 30 A are too much depends on the wire alone."""
    box = net().source("mains", 30, "charger").fuse("f", "mains.plus", "n", 200).wire("w", "n", "lamp.plus", 1.0, None)
    (poles,) = sides(box.circuit())
    protection = Protection(poles, replace(box.limits(), small_enough=lambda device, wire: False))
    (exposure,) = protection.overreaches()
    assert exposure.unsaid == Unsaid("ampacity", "w")
    assert exposure.stretch.wire.name == "w"


def test_charger_whose_limit_nobody_said_is_named_before_the_wire(net: Any) -> None:
    box = net().source("mains", None, "charger").fuse("f", "mains.plus", "n", 200).wire("w", "n", "lamp.plus", 1.0, 50)
    (exposure,) = box.protection().overreaches()
    assert exposure.unsaid == Unsaid("rated current", "mains")


def test_conductor_that_a_walk_does_not_come_to_has_no_way_in(net: Any) -> None:
    box = net().source("one").source("two").wire("w1", "one.plus", "a").wire("w2", "two.plus", "b")
    protection = box.protection()
    one = next(walk for walk in protection.whole if walk.pole.source.name == "one")
    near, far = (protection.ways.edge_of[name] for name in ("w1", "w2"))
    assert (one.entry(near), one.entry(far)) == ("one.plus", None)
    assert one.device_before(far) is None
    assert one.came_by(protection.ways.cluster["b"]) == -1
    assert list(one.beyond(box.branches[1])) == []
    assert protection.stretch(one, box.branches[1]) is None


def test_walk_tells_what_lies_beyond_a_conductor_and_before_it(net: Any) -> None:
    """house - lead - n, from there `one` to a lamp and, through a controller, `two` to an array."""
    from ohmwright.protection.ways import Passage

    box = net().source("house").wire("lead", "house.plus", "n", 1.0).wire("one", "n", "lamp.plus", 2.0)
    box.wire("two", "pv", "roof.plus", 3.0).passages.append(Passage("controller", "n", "pv"))
    protection = box.protection()
    (walk,) = protection.whole
    cluster = protection.ways.cluster
    lead, one, two = box.branches
    assert set(walk.beyond(lead)) == {cluster["n"], cluster["lamp.plus"], cluster["pv"], cluster["roof.plus"]}
    assert next(iter(walk.beyond(lead))) == cluster["n"]
    assert list(walk.beyond(one)) == [cluster["lamp.plus"]]
    assert list(walk.back(two)) == [lead]  # a passage is a way, but no conductor
    assert walk.path(lead) == ()
    assert [protection.ways.wire(edge).name for edge in walk.edges()] == ["lead", "one", "two"]


def test_unsaid_rating_is_named_behind_a_device_that_is_known_to_be_too_large(net: Any) -> None:
    """house - lead - f of 200 A - g, which says nothing - a wire for 50 A: only g could still save it."""
    box = net().source("house").wire("lead", "house.plus", "f.line", 0.1, 500).fuse("f", "f.line", "n", 200)
    box.fuse("g", "n", "m", None).wire("w", "m", "lamp.plus", 1.0, 50)
    (exposure,) = box.protection().overreaches()
    assert exposure.unsaid == Unsaid("rated current", "g")
