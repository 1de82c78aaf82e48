"""What a walk tells of each conductor: the way in, the origin of its length, the devices before it and what lies beyond (drawings worked by hand)."""

from __future__ import annotations

from itertools import permutations, product
from typing import Any

import pytest

INFINITE = float("inf")
BOTH_WAYS = pytest.mark.parametrize("turned", [False, True])


def drawn(turned: bool, one: str, two: str) -> tuple[str, str]:
    """The ends of a branch, as they are or the other way round."""
    return (two, one) if turned else (one, two)


def name(branch: Any) -> str:
    return "" if branch is None else str(branch.name)


def names(branches: Any) -> list[str]:
    return [branch.name for branch in branches]


def over(box: Any) -> dict[str, Any]:
    """The stretches that devices which are too large leave open, by wire."""
    return {exposure.stretch.wire.name: exposure.stretch for exposure in box.protection().overreaches()}


def whole(box: Any) -> tuple[Any, Any]:
    """The protection of a net with one source, and the walk that passes everything."""
    protection = box.protection()
    (walk,) = protection.whole
    return protection, walk


def way_to(box: Any, wire: str) -> list[str]:
    """The conductors and devices on the way to a wire, past all devices."""
    protection, walk = whole(box)
    return names(protection.stretch(walk, next(branch for branch in box.branches if branch.name == wire)).path())


# the smallest devices on the way -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ratings", "smallest"),
    [((100, 60, 80), "fgg"), ((60, 100, 80), "fff"), ((100, 80, 60), "fgh"), ((60, 60, 60), "fff"), ((80, 60, 60), "fgg")],
)
def test_of_devices_in_a_row_the_smallest_is_named_and_of_equal_ones_the_first(
    net: Any, ratings: tuple[int, int, int], smallest: str
) -> None:
    """post - f - w1 - g - w2 - h - w3, every device larger than the 30 A of the wires."""
    box = net().source("house").join("house.plus", "n0")
    for number, (device, rating) in enumerate(zip("fgh", ratings, strict=True)):
        box.fuse(device, f"n{2 * number}", f"n{2 * number + 1}", rating)
        box.wire(f"w{number + 1}", f"n{2 * number + 1}", f"n{2 * number + 2}", 1.0, 30)
    found = over(box)
    assert [name(found[wire].device) for wire in ("w1", "w2", "w3")] == list(smallest)
    assert [name(found[wire].own) for wire in ("w1", "w2", "w3")] == list(smallest)
    assert [name(found[wire].before) for wire in ("w1", "w2", "w3")] == ["", "w1", "w2"]


@BOTH_WAYS
def test_own_device_is_one_behind_the_joint_and_the_device_one_on_the_whole_way(net: Any, turned: bool) -> None:
    """post - f 100 A - feeder 120 A - bus - t1 - g 150 A - t2 - h 200 A - t3 - k 130 A - t4, the taps for 20 A: what counts of f ends at the bus."""
    box = net().source("house").wire("feeder", *drawn(turned, "f.load", "bus"), 2.0, 120).fuse("f", "house.plus", "f.load", 100)
    box.wire("t1", "bus", "n1", 0.5, 20).fuse("g", "n1", "n2", 150).wire("t2", "n2", "n3", 0.25, 20)
    box.fuse("h", "n3", "n4", 200).wire("t3", "n4", "n5", 0.125, 20).fuse("k", "n5", "n6", 130).wire("t4", "n6", "n7", 1.0, 20)
    found = over(box)
    assert {wire: (name(stretch.device), name(stretch.own)) for wire, stretch in found.items()} == {
        "t1": ("f", ""),
        "t2": ("f", "g"),
        "t3": ("f", "g"),
        "t4": ("f", "k"),
    }
    assert {stretch.origin for stretch in found.values()} == {"bus"}
    assert all(stretch.from_joint for stretch in found.values())
    assert {wire: stretch.length for wire, stretch in found.items()} == {"t1": 0.5, "t2": 0.75, "t3": 0.875, "t4": 1.875}


def test_joint_at_the_far_side_of_a_device_begins_a_length_anew(net: Any) -> None:
    """post - lead - f 60 A - n; there a protected wire begins, and t1 - g 90 A - t2: cover, what is not measured and devices count from n."""
    box = net().source("house").wire("lead", "house.plus", "f.line", None, 20, enclosed=False).fuse("f", "f.line", "n", 60)
    box.wire("thick", "n", "bus", 2.0, 70).wire("t1", "n", "m", 0.5, 20, enclosed=True).fuse("g", "m", "k", 90)
    box.wire("t2", "k", "lamp.plus", 0.25, 20, enclosed=True)
    found = over(box)
    assert set(found) == {"t1", "t2"}
    for wire, length, own in (("t1", 0.5, ""), ("t2", 0.75, "g")):
        stretch = found[wire]
        assert (stretch.length, stretch.origin, stretch.from_joint) == (length, "n", True)
        assert (name(stretch.device), name(stretch.own)) == ("f", own)
        assert (stretch.unmeasured, stretch.enclosed, stretch.open_at) == (None, True, None)
    assert name(found["t1"].before) == "lead"


def test_protected_conductor_on_the_way_begins_length_cover_and_measure_anew(net: Any) -> None:
    """mains 30 A - thin (10 A, open, no length) - thick (40 A) - t1 - t2, both 10 A and enclosed."""
    box = net().source("mains", 30, "charger").wire("thin", "mains.plus", "n", None, 10, enclosed=False)
    box.wire("thick", "n", "bus", 3.0, 40, enclosed=False).wire("t1", "bus", "m", 0.5, 10, enclosed=True)
    box.wire("t2", "m", "lamp.plus", 0.25, 10, enclosed=True)
    found = {wire: stretch for (_, wire), stretch in box.unfused().items()}
    assert {
        wire: (stretch.length, stretch.enclosed, name(stretch.unmeasured), name(stretch.open_at))
        for wire, stretch in found.items()
    } == {
        "thin": (0.0, False, "thin", "thin"),
        "t1": (0.5, True, "", ""),
        "t2": (0.75, True, "", ""),
    }
    assert [name(found[wire].before) for wire in ("thin", "t1", "t2")] == ["", "thick", "t1"]


@pytest.mark.parametrize("spare", [False, True])
@pytest.mark.parametrize(("one", "two", "named"), [(None, None, "a"), (None, 1.0, "a"), (1.0, None, "b"), (1.0, 1.0, "")])
def test_first_conductor_on_the_way_without_a_length_is_named(
    net: Any, one: float | None, two: float | None, named: str, spare: bool
) -> None:
    box = net().source("house")
    if spare:
        box.wire("spare", "elsewhere", "nowhere")
    box.wire("a", "house.plus", "n1", one).wire("b", "n1", "n2", two).wire("c", "n2", "n3", 1.0)
    found = box.unfused()
    assert name(found["house", "c"].unmeasured) == named
    assert name(found["house", "b"].unmeasured) == named
    assert name(found["house", "a"].unmeasured) == ("a" if one is None else "")


@pytest.mark.parametrize("covers", list(product((True, None, False), repeat=3)))
def test_of_three_conductors_in_a_row_the_first_of_the_barest_decides(
    net: Any, covers: tuple[bool | None, bool | None, bool | None]
) -> None:
    """Not enclosed is barer than not said, not said barer than enclosed."""
    box = net().source("house")
    for number, cover in enumerate(covers):
        box.wire(f"w{number}", f"n{number}" if number else "house.plus", f"n{number + 1}", 1.0, enclosed=cover)
    last = box.unfused()["house", "w2"]
    barest = False if False in covers else None if None in covers else True
    assert last.enclosed is barest
    assert name(last.open_at) == ("" if barest else f"w{covers.index(barest)}")


# where a length counts from ------------------------------------------------------------------------------------------


@BOTH_WAYS
@pytest.mark.parametrize("letters", list(permutations("abc")))
def test_joint_is_named_by_the_conductor_that_lies_there_else_by_the_end_of_the_protected_one(
    net: Any, turned: bool, letters: tuple[str, str, str]
) -> None:
    """mains 30 A - feeder 40 A - bar in, joined to bar out - t1 - tee - t2, both for 10 A; whatever the nodes are called."""
    bar, tee, lamp = (f"{letter} {end}" for letter, end in zip(letters, ("bar", "tee", "lamp"), strict=True))
    box = net().source("mains", 30, "charger", plus="b post").wire("feeder", *drawn(turned, "b post", f"{bar} in"), 2.0, 40)
    box.join(f"{bar} in", f"{bar} out").wire("t1", *drawn(turned, f"{bar} out", tee), 0.5, 10).wire("t2", tee, lamp, 0.25, 10)
    found = box.unfused()
    t1, t2 = found["mains", "t1"], found["mains", "t2"]
    assert (t1.origin, t1.entry, t1.from_joint, t1.length) == (f"{bar} out", f"{bar} out", True, 0.5)
    assert (t2.origin, t2.entry, t2.from_joint, t2.length) == (f"{bar} in", tee, True, 0.75)


@BOTH_WAYS
@pytest.mark.parametrize("letters", ["ac", "ca"])
def test_without_a_joint_a_length_counts_from_the_pole(net: Any, turned: bool, letters: str) -> None:
    near, far = letters
    box = net().source("house", plus="b post").join("b post", f"{near} stud")
    box.wire("one", *drawn(turned, f"{near} stud", f"{far} tee"), 0.5).wire("two", *drawn(turned, f"{far} tee", "b lamp"), 0.25)
    found = box.unfused()
    one, two = found["house", "one"], found["house", "two"]
    assert (one.origin, one.entry, one.from_joint, one.length) == ("b post", f"{near} stud", False, 0.5)
    assert (two.origin, two.entry, two.from_joint, two.length) == ("b post", f"{far} tee", False, 0.75)
    (walk,) = box.protection().unfused
    edges = {branch.name: walk.ways.edge_of[branch.name] for branch in box.branches if branch.conductor is not None}
    assert (walk.entry(edges["one"]), walk.entry(edges["two"])) == (f"{near} stud", f"{far} tee")


# conductors that close a ring ----------------------------------------------------------------------------------------


@BOTH_WAYS
@pytest.mark.parametrize(("x", "y"), [("x", "y"), ("y", "x")])
def test_current_comes_into_a_ring_at_the_nearer_end(net: Any, turned: bool, x: str, y: str) -> None:
    """post - f - 1 m - x, post - g - 1.25 m - y, and 1 m from x to y: the point that lies farthest is at 1.625 m, 0.625 m from x."""
    box = net().source("house").fuse("f", "house.plus", "f.load", 60).fuse("g", "house.plus", "g.load", 40)
    box.wire("to x", "f.load", x, 1.0, 30).wire("to y", "g.load", y, 1.25, 30).wire("ring", *drawn(turned, x, y), 1.0, 30)
    protection, walk = whole(box)
    edge = protection.ways.edge_of["ring"]
    ring = protection.stretch(walk, box.branches[-1])
    assert (ring.entry, walk.entry(edge), name(walk.device_before(edge))) == (x, x, "f")
    assert (name(ring.before), name(ring.device), ring.length) == ("to x", "f", 1.625)
    assert names(ring.path()) == ["f", "to x"]
    assert list(walk.beyond(box.branches[-1])) == []
    assert list(walk.beyond(box.branches[2])) == [protection.ways.cluster[x]]
    told = [protection.ways.wire(number).name for number in walk.edges()]
    assert sorted(told) == ["ring", "to x", "to y"]
    assert walk.distance(protection.ways.cluster[y]) == 1.25


@BOTH_WAYS
def test_ring_with_both_ends_equally_near_is_entered_at_its_start(net: Any, turned: bool) -> None:
    box = net().source("house").wire("to x", "house.plus", "x", 1.0).wire("to y", "house.plus", "y", 1.0)
    ring = box.wire("ring", *drawn(turned, "x", "y"), 0.5).unfused()["house", "ring"]
    assert (ring.entry, ring.length) == ("y" if turned else "x", 1.25)


@BOTH_WAYS
@pytest.mark.parametrize(
    ("to_x", "to_y", "longest"),
    [
        ((1.0, 40), (1.5, 10), 1.75),  # balance 0.75 m from x: 0 + 0.75 from the joint x, 1.5 + 0.25 over y
        ((0.6, 10), (1.0, 40), 1.3),  # balance 0.7 m from x: 0.6 + 0.7 over x, 0 + 0.3 from the joint y
        ((0.5, 40), (0.9, 40), 0.7),  # balance 0.7 m from x, and both ends are joints
        ((1.0, 40), (1.0, 10), 1.5),  # balance in the middle: 0 + 0.5 from the joint x, 1 + 0.5 over y
        ((0.2, 10), (1.2, 10), 1.2),  # y lies as far by x: nothing of the ring is nearer by y
    ],
)
def test_farthest_point_of_a_ring_counts_from_the_joints_at_its_ends(
    net: Any, turned: bool, to_x: tuple[float, int], to_y: tuple[float, int], longest: float
) -> None:
    """mains 30 A, one wire to x and one to y (for 40 A protected, for 10 A not), and 1 m for 10 A from x to y."""
    box = net().source("mains", 30, "charger").wire("to x", "mains.plus", "x", *to_x).wire("to y", "mains.plus", "y", *to_y)
    box.wire("ring", *drawn(turned, "x", "y"), 1.0, 10)
    assert box.unfused()["mains", "ring"].length == pytest.approx(longest)


@BOTH_WAYS
@pytest.mark.parametrize(
    ("near", "far", "own", "enclosed", "open_at"),
    [
        (True, True, True, True, ""),
        (True, False, True, False, "far"),
        (False, True, True, False, "near"),
        (True, True, False, False, "ring"),
        (None, False, True, False, "far"),
        (False, None, True, False, "near"),
        (None, None, True, None, "near"),
        (True, None, True, None, "far"),
        (True, True, None, None, "ring"),
        (False, False, False, False, "near"),
    ],
)
def test_ring_is_as_covered_as_the_barest_of_both_its_ways(
    net: Any, turned: bool, near: bool | None, far: bool | None, own: bool | None, enclosed: bool | None, open_at: str
) -> None:
    box = net().source("house").wire("near", "house.plus", "x", 1.0, enclosed=near)
    box.wire("far", "house.plus", "y", 1.25, enclosed=far).wire("ring", *drawn(turned, "x", "y"), 1.0, enclosed=own)
    ring = box.unfused()["house", "ring"]
    assert ring.enclosed is enclosed
    assert name(ring.open_at) == open_at


@pytest.mark.parametrize(
    ("near", "far", "own", "named"),
    [
        (None, None, 1.0, "near"),
        (None, 0.5, 1.0, "near"),
        (0.5, 1.0, None, "ring"),
        (None, 1.0, None, "near"),
        (0.5, 0.75, 1.0, ""),
    ],
)
def test_conductor_of_a_ring_without_a_length_is_named(
    net: Any, near: float | None, far: float | None, own: float | None, named: str
) -> None:
    box = net().source("house").wire("near", "house.plus", "x", near).wire("far", "house.plus", "y", far)
    box.wire("ring", "x", "y", own)
    assert name(box.unfused()["house", "ring"].unmeasured) == named


def test_conductor_without_a_length_on_the_farther_way_round_a_ring_is_named(net: Any) -> None:
    """post - 0.5 m - x, post - 1 m - y1 - no length - y, and 1 m from x to y."""
    box = net().source("house").wire("near", "house.plus", "x", 0.5).wire("far", "house.plus", "y1", 1.0)
    box.wire("unsaid", "y1", "y", None).wire("ring", "x", "y", 1.0)
    assert name(box.unfused()["house", "ring"].unmeasured) == "unsaid"


@BOTH_WAYS
@pytest.mark.parametrize("order", list(permutations(range(3))))
def test_nothing_is_reached_through_a_conductor_that_closes_a_ring_in_whatever_order_it_is_drawn(
    net: Any, turned: bool, order: tuple[int, int, int]
) -> None:
    """post - 1 m - x, post - 1.25 m - y, and 1 m between them."""
    wires = (("to x", "house.plus", "x", 1.0), ("to y", "house.plus", "y", 1.25), ("ring", *drawn(turned, "x", "y"), 1.0))
    box = net().source("house")
    for number in order:
        box.wire(*wires[number])
    protection, walk = whole(box)
    beyond = {branch.name: [protection.ways.members[cluster] for cluster in walk.beyond(branch)] for branch in box.branches}
    assert beyond == {"to x": [["x"]], "to y": [["y"]], "ring": []}
    assert sorted(protection.ways.wire(edge).name for edge in walk.edges()) == ["ring", "to x", "to y"]
    assert (box.unfused()["house", "ring"].entry, box.unfused()["house", "ring"].length) == ("x", 1.625)


# what lies beyond ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("letters", list(permutations("abc")))
@BOTH_WAYS
def test_nearest_device_beyond_is_found_whatever_the_nodes_are_called(
    net: Any, letters: tuple[str, str, str], turned: bool
) -> None:
    """post - lead 1 m - tee; from there 2 m to fuse f, 0.5 m to fuse g, 0.75 m to a lamp."""
    tee, there, here = letters
    box = net().source("house").wire("lead", *drawn(turned, "house.plus", tee), 1.0)
    box.wire("long", *drawn(turned, tee, there), 2.0).fuse("f", *drawn(turned, there, "f.load"), 10)
    box.wire("short", *drawn(turned, tee, here), 0.5).fuse("g", *drawn(turned, here, "g.load"), 10)
    box.wire("side", tee, "lamp.plus", 0.75)
    found = {wire: stretch.beyond for (_, wire), stretch in box.unfused().items()}
    assert {wire: (name(beyond.device), beyond.length) for wire, beyond in found.items()} == {
        "lead": ("g", 1.5),
        "long": ("f", 3.0),
        "short": ("g", 1.5),
        "side": ("", INFINITE),
    }
    assert not any(beyond.joins_source or beyond.joins_battery for beyond in found.values())


def test_of_devices_at_one_joint_the_first_by_name_is_told(net: Any) -> None:
    for order in permutations("kmp"):
        box = net().source("house")
        for device in order:
            box.fuse(device, "n", f"{device}.load", 10)
        beyond = box.wire("lead", "house.plus", "n", 1.0).unfused()["house", "lead"].beyond
        assert (name(beyond.device), beyond.length) == ("k", 1.0)


@pytest.mark.parametrize("spare", [0, 3])
@pytest.mark.parametrize("first", [True, False])
@pytest.mark.parametrize("more", [0.0, 0.25])
def test_of_devices_at_one_distance_the_one_of_fewer_pieces_is_told(net: Any, first: bool, more: float, spare: int) -> None:
    """post - lead 1 m - tee with fuse z; from the tee a wire of no length (or of 0.25 m) to fuse a. Which of the fuses is drawn first does not matter."""
    box = net().source("house")
    for number in range(spare):
        box.wire(f"spare {number}", f"s{number}", f"t{number}")
    for device, node in (("z", "tee"), ("a", "end")) if first else (("a", "end"), ("z", "tee")):
        box.fuse(device, node, f"{device}.load", 10)
    box.wire("lead", "house.plus", "tee", 1.0).wire("on", "tee", "end", more)
    found = box.unfused()
    assert (name(found["house", "lead"].beyond.device), found["house", "lead"].beyond.length) == ("z", 1.0)
    assert (name(found["house", "on"].beyond.device), found["house", "on"].beyond.length) == ("a", 1.0 + more)


def test_device_that_the_walk_passes_does_not_end_it(net: Any) -> None:
    """post - f 100 A - w1 - g 60 A - w2 - h 15 A - lamp, the wires for 20 A: only h is small enough for them."""
    box = net().source("house").fuse("f", "house.plus", "n1", 100).wire("w1", "n1", "n2", 1.0, 20).fuse("g", "n2", "n3", 60)
    box.wire("w2", "n3", "n4", 0.5, 20).fuse("h", "n4", "n5", 15).wire("w3", "n5", "lamp.plus", 1.0, 20)
    found = over(box)
    assert {wire: (name(stretch.beyond.device), stretch.beyond.length) for wire, stretch in found.items()} == {
        "w1": ("h", 1.5),
        "w2": ("h", 1.5),
    }


@BOTH_WAYS
@pytest.mark.parametrize("tee", ["a", "z"])
@pytest.mark.parametrize("at", ["tee", "end"])
@pytest.mark.parametrize("kind", ["battery", "charger"])
def test_source_that_is_joined_beyond_counts_on_its_own_side_only(net: Any, turned: bool, tee: str, at: str, kind: str) -> None:
    """post - lead - tee - on - end, and a side wire from the tee to a lamp; one more source at the tee or at the end."""
    box = net().source("house").wire("lead", *drawn(turned, "house.plus", tee), 1.0).wire("on", tee, "end", 1.0)
    box.wire("side", *drawn(turned, tee, "lamp.plus"), 1.0).source("other", 30, kind, plus={"tee": tee, "end": "end"}[at])
    found = {wire: stretch.beyond for (source, wire), stretch in box.unfused().items() if source == "house"}
    battery = kind == "battery"
    told = {wire: (beyond.joins_source, beyond.joins_battery) for wire, beyond in found.items()}
    assert told == {
        "lead": (True, battery),
        "on": (at == "end", at == "end" and battery),
        "side": (False, False),
    }


def test_battery_and_charger_at_two_places_are_both_told(net: Any) -> None:
    """post - lead - tee; the charger on one arm, the battery on the other."""
    for order in (("charger", "battery"), ("battery", "charger")):
        box = net().source("house").wire("lead", "house.plus", "tee", 1.0)
        for number, kind in enumerate(order):
            box.wire(f"to {kind}", "tee", f"end{number}", 1.0).source(kind, 60, kind, plus=f"end{number}")
        found = {wire: stretch.beyond for (source, wire), stretch in box.unfused().items() if source == "house"}
        assert {wire: (beyond.joins_source, beyond.joins_battery) for wire, beyond in found.items()} == {
            "lead": (True, True),
            "to charger": (True, False),
            "to battery": (True, True),
        }


@BOTH_WAYS
def test_with_the_plus_earthed_devices_beyond_are_found_against_the_current(net: Any, turned: bool) -> None:
    """case - plus; minus - lead - n; a diode lets current from m come to n, and before m stands a fuse. A diode that lets nothing come is no way."""
    box = net().source("house", plus="case", minus="post").wire("lead", *drawn(turned, "post", "n"), 1.0)
    box.join("m", "n", "diode").wire("on", "m", "f.line", 0.5).fuse("f", "f.line", "f.load", 10)
    box.join("n", "x", "diode").wire("off", "x", "g.line", 0.25).fuse("g", "g.line", "g.load", 10)
    box.cases.add("case")
    found = box.unfused()
    assert {wire: stretch.length for (_, wire), stretch in found.items()} == {"lead": 1.0, "on": 1.5}
    assert (name(found["house", "lead"].beyond.device), found["house", "lead"].beyond.length) == ("f", 1.5)
    (walk,) = box.protection().unfused
    assert [walk.ways.wire(edge).name for edge in walk.edges()] == ["lead", "on"]


# which way counts ----------------------------------------------------------------------------------------------------


def beside(net: Any, first: list[tuple[str, float]], second: list[tuple[str, float]]) -> Any:
    """Two ways from the post to x in pieces of a kind and a length, the first one drawn first, and a wire on from x."""
    box = net().source("house")
    for letter, pieces in (("a", first), ("b", second)):
        for number, (kind, length) in enumerate(pieces):
            start = f"{letter}{number}" if number else "house.plus"
            end = f"{letter}{number + 1}" if number + 1 < len(pieces) else "x"
            if kind == "wire":
                box.wire(f"{letter}{number + 1}", start, end, length)
            elif kind == "fuse":
                box.fuse(f"{letter}{number + 1}", start, end, 10)
            else:
                box.join(start, end, "diode")
    return box.wire("on", "x", "lamp.plus")


@pytest.mark.parametrize("kind", ["wire", "fuse", "diode"])
@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_of_two_ways_of_one_length_the_one_of_fewer_pieces_counts_and_each_is_one(
    net: Any, kind: str, order: tuple[int, int]
) -> None:
    """2 m in four wires, against 1 m + one piece without a length + 1 m: three pieces, whichever kind the middle one is of."""
    ways = ([("wire", 0.5)] * 4, [("wire", 1.0), (kind, 0.0), ("wire", 1.0)])
    box = beside(net, ways[order[0]], ways[order[1]])
    shorter = "b" if order == (0, 1) else "a"
    assert [piece[0] for piece in way_to(box, "on") if not piece.startswith("diode")] == [shorter] * (
        2 if kind == "diode" else 3
    )


@pytest.mark.parametrize("kind", ["wire", "fuse", "diode"])
def test_of_two_ways_of_one_length_wires_count_no_more_than_other_pieces(net: Any, kind: str) -> None:
    """2 m in three wires, against 1 m + two pieces without a length + 1 m."""
    box = beside(net, [("wire", 1.0), (kind, 0.0), (kind, 0.0), ("wire", 1.0)], [("wire", 0.5), ("wire", 1.0), ("wire", 0.5)])
    assert way_to(box, "on") == ["b1", "b2", "b3"]


@pytest.mark.parametrize("kind", ["wire", "fuse", "diode"])
def test_pieces_at_the_post_count_too(net: Any, kind: str) -> None:
    """Two pieces without a length + 2 m, against 1 m + 1 m."""
    box = beside(net, [(kind, 0.0), (kind, 0.0), ("wire", 2.0)], [("wire", 1.0), ("wire", 1.0)])
    assert way_to(box, "on") == ["b1", "b2"]


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_of_two_ways_of_one_length_one_wire_goes_before_two(net: Any, order: tuple[int, int]) -> None:
    ways = ([("wire", 1.0), ("wire", 1.0)], [("wire", 2.0)])
    assert len(way_to(beside(net, ways[order[0]], ways[order[1]]), "on")) == 1


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_the_shorter_way_counts_before_the_one_of_fewer_pieces(net: Any, order: tuple[int, int]) -> None:
    ways = ([("wire", 0.5), ("fuse", 0.0), ("wire", 0.5), ("wire", 0.5)], [("wire", 1.75)])
    found = way_to(beside(net, ways[order[0]], ways[order[1]]), "on")
    assert len(found) == 4


def test_walk_tells_the_way_to_a_place_step_by_step(net: Any) -> None:
    """house - lead 1 m - n - f - m - on 2 m - lamp."""
    box = net().source("house").wire("lead", "house.plus", "n", 1.0).fuse("f", "n", "m", 10).wire("on", "m", "lamp.plus", 2.0)
    protection, walk = whole(box)
    cluster, edge = protection.ways.cluster, protection.ways.edge_of
    lamp = cluster["lamp.plus"]
    assert walk.way(lamp) == ((edge["lead"], cluster["n"]), (edge["f"], cluster["m"]), (edge["on"], lamp))
    assert walk.way(cluster["house.plus"]) == ()
    assert (walk.before(lamp), walk.before(cluster["house.plus"])) == (cluster["m"], -1)
    assert (walk.came_by(lamp), walk.came_by(cluster["house.plus"])) == (edge["on"], -1)
    assert [walk.distance(cluster[node]) for node in ("house.plus", "n", "m", "lamp.plus")] == [0.0, 1.0, 1.0, 3.0]
    assert [walk.smallest(cluster[node]) for node in ("house.plus", "n", "m", "lamp.plus")] == [-1, -1, edge["f"], edge["f"]]
    assert name(walk.device_before(edge["lead"])) == "" and name(walk.device_before(edge["on"])) == "f"
    assert walk.tree == [cluster[node] for node in ("house.plus", "n", "m", "lamp.plus")]
