"""Far ends of devices, the way to them and the way back: circuits worked by hand (no source but the drawing beside each)."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import permutations
from typing import Any

import pytest
from ohmwright.protection.far_ends import End, FarEnds, Place
from ohmwright.protection.ways import Passage


def far_ends(box: Any, sources: Iterable[str] = ()) -> FarEnds:
    """The far ends of a net, for the named batteries or all of them."""
    named = list(sources) or [source.name for source in box.sources]
    return FarEnds(box.protection().poles, named, lambda device: box.ratings[device.name])


def names(branches: Iterable[Any]) -> tuple[str, ...]:
    return tuple(branch.name for branch in branches)


def told(ends: Iterable[End]) -> list[tuple[str, str, str, str]]:
    """Place, node of the return, battery and device of every end."""
    return [(end.place.name, end.place.back, end.walk.pole.source.name, end.device.name if end.device else "") for end in ends]


def bar_box(net: Any) -> Any:
    """house - feed - fuse `main` - bus - fuses `one` and `two` - loads; returns of both loads meet at the bar, one lead from there to the post.

    post --back-- bar --r1-- lamp.minus
                  bar --r2-- pump.minus
    """
    box = net().source("house", minus="post").wire("feed", "house.plus", "m.line").fuse("main", "m.line", "bus", 60)
    for name, fuse, run in (("lamp", "one", "r1"), ("pump", "two", "r2")):
        box.fuse(fuse, "bus", f"{fuse}.load", 10).wire(f"to {name}", f"{fuse}.load", f"{name}.plus", 2.0)
        box.wire(run, f"{name}.minus", "bar", 2.0)
    return box.wire("back", "bar", "post", 0.5)


PLACES = (Place("lamp", "lamp.plus", "lamp.minus"), Place("pump", "pump.plus", "pump.minus"))


def test_ends_are_loads_and_the_near_side_of_devices(net: Any) -> None:
    """Before a device the short lies against the bar, where the way back of the load behind it meets another's."""
    found = told(far_ends(bar_box(net)).ends(PLACES))
    assert sorted(found) == [
        ("bus", "bar", "house", "main"),  # before `one`
        ("bus", "bar", "house", "main"),  # before `two`
        ("lamp", "lamp.minus", "house", "one"),
        ("m.line", "bar", "house", ""),  # before `main` itself no device stands
        ("pump", "pump.minus", "house", "two"),
    ]


def test_ways_to_an_end_behind_its_device_and_back(net: Any) -> None:
    box = far_ends(bar_box(net))
    ends = {(end.place.name, end.device.name if end.device else ""): end for end in box.ends(PLACES)}
    lamp = ends["lamp", "one"]
    assert names(box.live(lamp)) == ("feed", "main", "one", "to lamp")
    assert names(box.behind(lamp)) == ("to lamp",)
    assert names(box.returns(lamp)) == ("r1", "back")
    before = ends["m.line", ""]
    assert names(box.live(before)) == ("feed",)
    assert names(box.behind(before)) == ("feed",)  # without a device all of the way lies behind the battery
    assert names(box.returns(before)) == ("back",)


def test_without_a_load_behind_a_device_the_short_lies_against_the_post(net: Any) -> None:
    assert told(far_ends(bar_box(net)).ends(())) == [
        ("m.line", "post", "house", ""),
        ("bus", "post", "house", "main"),
        ("bus", "post", "house", "main"),
    ]


def test_the_nearest_load_decides_which_bar_counts(net: Any) -> None:
    """Behind `main` the lamp hangs at 2 m with a bar of its own, the pump at 5 m with another."""
    box = net().source("house", minus="post").fuse("main", "house.plus", "bus", 60)
    box.wire("long", "bus", "pump.plus", 5.0).wire("short", "bus", "lamp.plus", 2.0)
    for name, bar in (("lamp", "bar1"), ("pump", "bar2")):
        box.wire(f"r {name}", f"{name}.minus", bar, 1.0).wire(f"b {name}", bar, "post", 1.0).wire(f"x {name}", bar, f"{bar}.x")
    assert told(far_ends(box).ends(PLACES))[0] == ("house.plus", "bar1", "house", "")
    box.branches[2] = box.wire("short", "bus", "lamp.plus", 6.0).branches.pop()
    assert told(far_ends(box).ends(PLACES))[0] == ("house.plus", "bar2", "house", "")


def test_places_outside_of_the_setting_are_left_out(net: Any) -> None:
    places = (*PLACES, Place("ghost", "ghost.plus", "lamp.minus"), Place("half", "lamp.plus", "ghost.minus"))
    found = told(far_ends(bar_box(net)).ends(places))
    assert not {"ghost", "half"} & {end[0] for end in found}
    assert len(found) == 5


def test_smallest_device_that_carries_all_of_it_is_named(net: Any) -> None:
    """Two packs with fuses of their own feed one main fuse: each of theirs carries a half, so the main one is named, though it is larger."""
    box = net().fuse("main", "bus", "m.load", 100).wire("to lamp", "m.load", "lamp.plus")
    for number in (1, 2):
        box.source(f"p{number}").fuse(f"f{number}", f"p{number}.plus", "bus", 40)
    found = far_ends(box)
    assert {branch.name: found.carries_all(branch) for branch in box.branches if branch.device} == {
        "main": True,
        "f1": False,
        "f2": False,
    }
    place = Place("lamp", "lamp.plus", "ground")
    assert [end for end in told(found.ends((place,))) if end[0] == "lamp"] == [
        ("lamp", "ground", "p1", "main"),
        ("lamp", "ground", "p2", "main"),
    ]
    alone = far_ends(box, ("p1",))
    assert alone.carries_all(next(branch for branch in box.branches if branch.name == "f1"))
    assert [end[3] for end in told(alone.ends((place,))) if end[0] == "lamp"] == ["f1"]


def test_unsaid_rating_ranks_behind_a_said_one_but_before_a_device_that_carries_a_part(net: Any) -> None:
    box = net().source("house").fuse("f", "house.plus", "n", None).fuse("g", "n", "bus", 500).wire("w", "bus", "lamp.plus")
    place = Place("lamp", "lamp.plus", "ground")
    assert told(far_ends(box).ends((place,)))[-1] == ("lamp", "ground", "house", "g")
    box = net().fuse("main", "bus", "m.load", None).wire("w", "m.load", "lamp.plus")
    for number in (1, 2):
        box.source(f"p{number}").fuse(f"f{number}", f"p{number}.plus", "bus", 40)
    assert {end[3] for end in told(far_ends(box).ends((place,))) if end[0] == "lamp"} == {"main"}


def test_beyond_sixteen_batteries_only_those_count_that_no_other_comes_to(net: Any) -> None:
    """Twenty batteries on one bus and one on a circuit of its own, last in order: sixteen walks and that one."""
    box = net()
    for number in range(20):
        box.source(f"p{number:02}").wire(f"w{number}", f"p{number:02}.plus", "bus")
    box.source("z", plus="z.plus", minus="z.minus").wire("wz", "z.plus", "zz")
    walks = far_ends(box).walks
    assert [walk.pole.source.name for walk in walks] == [f"p{number:02}" for number in range(16)] + ["z"]


def test_way_back_may_lead_through_a_part(net: Any) -> None:
    """A passage is a way back, but no conductor: it is stepped over."""
    box = net().source("house", minus="post").wire("feed", "house.plus", "lamp.plus")
    box.wire("r1", "lamp.minus", "in").wire("r2", "out", "post")
    box.passages.append(Passage("controller", "in", "out"))
    found = far_ends(box)
    (lamp,) = found.ends((Place("lamp", "lamp.plus", "lamp.minus"),))
    assert names(found.returns(lamp)) == ("r1", "r2")
    assert sorted(str(branch.name) for _, branch, _ in found.return_tree() if branch is not None) == ["r1", "r2"]


def test_return_tree_leads_every_cluster_to_the_battery_outer_ones_first(net: Any) -> None:
    found = far_ends(bar_box(net))
    cluster = found.ways.cluster
    tree = [(here, branch.name if branch else "", toward) for here, branch, toward in found.return_tree()]
    assert tree[-1] == (cluster["post"], "", -1)
    assert tree[-2] == (cluster["bar"], "back", cluster["post"])
    assert set(tree[:-2]) == {
        (cluster["lamp.minus"], "r1", cluster["bar"]),
        (cluster["pump.minus"], "r2", cluster["bar"]),
    }


def test_of_two_ways_back_the_shorter_counts(net: Any) -> None:
    box = net().source("house", minus="post").wire("feed", "house.plus", "lamp.plus")
    box.wire("long", "lamp.minus", "post", 3.0).wire("half", "lamp.minus", "x", 1.0).wire("other half", "x", "post", 1.0)
    found = far_ends(box)
    (lamp,) = found.ends((Place("lamp", "lamp.plus", "lamp.minus"),))
    assert names(found.returns(lamp)) == ("half", "other half")


def test_of_two_ways_back_of_one_length_the_one_of_fewer_pieces_counts(net: Any) -> None:
    box = net().source("house", minus="post").wire("feed", "house.plus", "lamp.plus")
    box.wire("half", "lamp.minus", "x", 1.0).wire("other half", "x", "post", 1.0).wire("whole", "lamp.minus", "post", 2.0)
    found = far_ends(box)
    (lamp,) = found.ends((Place("lamp", "lamp.plus", "lamp.minus"),))
    assert names(found.returns(lamp)) == ("whole",)


def test_with_the_plus_earthed_the_minus_side_is_followed(net: Any) -> None:
    """The same box turned round: shorts lie between the minus side and the plus post."""
    box = net().source("house", plus="post", minus="house.minus").wire("feed", "house.minus", "f.line")
    box.fuse("f", "f.line", "f.load", 20).wire("on", "f.load", "lamp.minus").wire("r", "lamp.plus", "post")
    box.cases.add("post")
    found = far_ends(box)
    assert told(found.ends((Place("lamp", "lamp.minus", "lamp.plus"),))) == [
        ("f.line", "post", "house", ""),
        ("lamp", "lamp.plus", "house", "f"),
    ]


def string(net: Any) -> Any:
    """Three batteries in series, a fuse at the upper post: top - middle - bottom; the bottom one stands on the return."""
    box = net().source("top", minus="top.minus").source("middle", minus="middle.minus").source("bottom", minus="post")
    box.wire("link1", "middle.plus", "top.minus", 0.3).wire("link2", "bottom.plus", "middle.minus", 0.3)
    return box.fuse("f", "top.plus", "f.load", 20).wire("on", "f.load", "lamp.plus").wire("r", "lamp.minus", "post")


def test_short_before_the_device_of_a_string_lies_against_the_post_of_its_lowest_battery(net: Any) -> None:
    """The minus of the upper batteries is live: a short there is none of the whole string."""
    assert ("top.plus", "post", "top", "") in told(far_ends(string(net)).ends(()))


def test_string_that_is_counted_in_part_stands_where_its_counted_part_ends(net: Any) -> None:
    assert ("top.plus", "middle.minus", "top", "") in told(far_ends(string(net), ("top", "middle")).ends(()))
    assert ("top.plus", "top.minus", "top", "") in told(far_ends(string(net), ("top",)).ends(()))


def test_way_behind_a_device_may_lead_through_a_part_that_is_no_conductor(net: Any) -> None:
    box = net().source("house").fuse("f", "house.plus", "c.in", 20).wire("on", "c.out", "lamp.plus", 1.0)
    box.passages.append(Passage("controller", "c.in", "c.out"))
    found = far_ends(box)
    lamp = next(end for end in found.ends((Place("lamp", "lamp.plus", "ground"),)) if end.place.name == "lamp")
    assert names(found.behind(lamp)) == ("on",)
    assert names(found.live(lamp)) == ("f", "on")


def test_only_batteries_are_walked_from_whatever_else_is_named(net: Any) -> None:
    box = net().source("house").source("mains", 30, "charger").source("roof", 10, "array").wire("w", "house.plus", "mains.plus")
    assert [pole.source.name for pole in far_ends(box).batteries] == ["house"]


@pytest.mark.parametrize("letters", list(permutations("abc")))
@pytest.mark.parametrize("turned", [False, True])
def test_ends_do_not_depend_on_what_the_nodes_are_called(net: Any, letters: tuple[str, str, str], turned: bool) -> None:
    """post - main - bus; from there fuse `one` to x, 2 m on to the lamp and 5 m to the pump, each with a bar of its own on the way back.

    Before both devices a short lies against the bar of the lamp, which is the nearer load.
    """

    def ends(one: str, two: str) -> tuple[str, str]:
        return (two, one) if turned else (one, two)

    post, bus, x = letters
    box = net().source("house", plus=post, minus="minus")
    for place in ("lamp", "pump"):
        bar = f"bar {place}"
        box.wire(f"b {place}", *ends(bar, "minus"), 1.0).wire(f"r {place}", *ends(f"{place}.minus", bar), 1.0)
        box.wire(f"x {place}", bar, f"else {place}")
    box.fuse("main", *ends(post, bus), 60).fuse("one", *ends(bus, x), 10)
    box.wire("to lamp", *ends(x, "lamp.plus"), 2.0).wire("to pump", *ends(x, "pump.plus"), 5.0)
    found = far_ends(box)
    assert sorted(told(found.ends(PLACES))) == sorted(
        [
            (post, "bar lamp", "house", ""),
            (bus, "bar lamp", "house", "main"),
            ("lamp", "lamp.minus", "house", "one"),
            ("pump", "pump.minus", "house", "one"),
        ]
    )
    by_name = {end.place.name: end for end in found.ends(PLACES)}
    assert names(found.returns(by_name["lamp"])) == ("r lamp", "b lamp")
    assert names(found.returns(by_name["pump"])) == ("r pump", "b pump")
    assert names(found.behind(by_name["pump"])) == ("to pump",)
    assert names(found.live(by_name["pump"])) == ("main", "one", "to pump")


def test_bar_is_where_three_conductors_come_together_and_not_two(net: Any) -> None:
    """lamp.minus - r1 - tee - r2 - bar - r3 - post: two wires at the tee, at the bar a third one."""
    box = net().source("house", minus="post").fuse("f", "house.plus", "n", 10).wire("on", "n", "lamp.plus")
    box.wire("r1", "lamp.minus", "tee").wire("r2", "tee", "bar").wire("r3", "bar", "post").wire("r4", "bar", "pump.minus")
    before = next(end for end in far_ends(box).ends(PLACES[:1]) if end.place.name == "house.plus")
    assert before.place.back == "bar"
    assert names(far_ends(box).returns(before)) == ("r3",)


def test_of_two_places_equally_far_the_first_one_on_the_walk_decides(net: Any) -> None:
    """Lamp and pump hang at one node with a bar each: the place that is named first counts."""
    box = net().source("house", minus="post").fuse("f", "house.plus", "n", 10).wire("on", "n", "both.plus")
    for place in ("lamp", "pump"):
        box.wire(f"r {place}", f"{place}.minus", f"bar {place}").wire(f"b {place}", f"bar {place}", "post")
        box.wire(f"x {place}", f"bar {place}", f"else {place}")
    places = [Place(place, "both.plus", f"{place}.minus") for place in ("lamp", "pump")]
    for order in (places, places[::-1]):
        before = next(end for end in far_ends(box).ends(order) if end.place.name == "house.plus")
        assert before.place.back == f"bar {order[0].name}"


def test_device_beside_another_carries_a_part(net: Any) -> None:
    """Two fuses side by side, and one behind them: of what flows into a short each of the two carries a part."""
    box = net().source("house").fuse("f", "house.plus", "n", 10).fuse("g", "house.plus", "n", 10).fuse("main", "n", "m", 60)
    found = far_ends(box.wire("on", "m", "lamp.plus"))
    assert {branch.name: found.carries_all(branch) for branch in box.branches if branch.device} == {
        "f": False,
        "g": False,
        "main": True,
    }
    assert {end[3] for end in told(found.ends((Place("lamp", "lamp.plus", "ground"),))) if end[0] == "lamp"} == {"main"}
