"""Which pole of a source is live, and what is live, returns or dead, in boxes of several systems and with diodes (drawings worked by hand)."""

from __future__ import annotations

from typing import Any

import pytest
from ohmwright.protection.poles import sides


def standing(box: Any) -> dict[str, str]:
    """Whether each conductor is live, a return or dead."""
    protection = box.protection()
    return {branch.name: protection.standing(branch) for branch in box.branches if branch.conductor is not None}


def exposed(box: Any) -> set[str]:
    """The conductors that nothing protects, or that nothing may protect."""
    protection = box.protection()
    return {protection.ways.wire(edge).name for edge in protection.exposed}


def lengths(box: Any) -> dict[str, float]:
    """How much of each conductor is open to a source, by wire."""
    return {wire: round(stretch.length, 9) for (_, wire), stretch in box.unfused().items()}


def two_systems(net: Any) -> Any:
    """A pack whose plus is on its case, and beside it another that floats; neither is joined to the other.

    case - a.plus;  a.minus - lead a - n - on a - lamp;  b.plus - lead b - m - on b - pump;  back a and back b are the returns.
    """
    box = net().source("a", plus="case", minus="a.minus").source("b", minus="b.minus")
    box.wire("lead a", "a.minus", "n", 1.0).wire("on a", "n", "lamp.minus", 0.5).wire("back a", "lamp.plus", "case", 1.0)
    box.wire("lead b", "b.plus", "m", 2.0).wire("on b", "m", "pump.plus", 0.25).wire("back b", "pump.minus", "b.minus", 1.0)
    box.cases.add("case")
    return box


def test_two_systems_of_which_one_has_its_plus_earthed_are_told_side_by_side(net: Any) -> None:
    box = two_systems(net)
    assert {pole.source.name: (pole.node, pole.backwards) for pole in box.protection().poles.all} == {
        "a": ("a.minus", True),
        "b": ("b.plus", False),
    }
    assert standing(box) == {
        "lead a": "live",
        "on a": "live",
        "back a": "return",
        "lead b": "live",
        "on b": "live",
        "back b": "return",
    }
    assert exposed(box) == {"lead a", "on a", "lead b", "on b"}
    assert lengths(box) == {"lead a": 1.0, "on a": 1.5, "lead b": 2.0, "on b": 2.25}


@pytest.mark.parametrize("lets", [True, False])
def test_with_the_plus_earthed_a_diode_lets_current_come_to_the_minus_and_not_from_it(net: Any, lets: bool) -> None:
    """a.minus - lead - n - diode - x - on - lamp: current flows towards the minus, so that the anode must lie at x."""
    box = net().source("a", plus="case", minus="a.minus").wire("lead", "a.minus", "n", 1.0).wire("on", "x", "lamp.minus", 0.5)
    box.join(*(("x", "n") if lets else ("n", "x")), "diode")
    box.cases.add("case")
    assert standing(box) == {"lead": "live", "on": "live" if lets else "dead"}
    assert exposed(box) == ({"lead", "on"} if lets else {"lead"})
    assert lengths(box) == ({"lead": 1.0, "on": 1.5} if lets else {"lead": 1.0})


@pytest.mark.parametrize("lets", [True, False])
def test_with_the_plus_live_a_diode_lets_current_come_from_it_and_not_to_it(net: Any, lets: bool) -> None:
    box = net().source("a", minus="a.minus").wire("lead", "a.plus", "n", 1.0).wire("on", "x", "lamp.plus", 0.5)
    box.join(*(("n", "x") if lets else ("x", "n")), "diode")
    assert standing(box) == {"lead": "live", "on": "live" if lets else "dead"}
    assert exposed(box) == ({"lead", "on"} if lets else {"lead"})


@pytest.mark.parametrize("earthed", [False, True])
@pytest.mark.parametrize("lets", [True, False])
def test_return_behind_a_diode_is_one_where_current_can_come_back(net: Any, earthed: bool, lets: bool) -> None:
    """lamp - r1 - x - diode - n - r2 - the pole that is not live; with the plus earthed current goes out there, else it comes in."""
    back = "a.plus" if earthed else "a.minus"
    box = net().source("a", minus="a.minus").wire("r1", "lamp", "x").wire("r2", "n", back)
    box.join(*(("n", "x") if earthed is lets else ("x", "n")), "diode")
    if earthed:
        box.cases.add("a.plus")
    assert standing(box) == {"r1": "return" if lets else "dead", "r2": "return"}


@pytest.mark.parametrize("height", [1, 2, 40])
def test_plus_that_is_joined_to_earth_only_over_a_string_is_nearer_to_it_than_a_minus_that_floats(
    net: Any, height: int
) -> None:
    """Packs in series on an earthed post, at the top the plus of a charger whose minus is joined to nothing."""
    box = net()
    for number in range(height):
        box.source(f"p{number}", minus=f"p{number - 1}.plus" if number else "post")
    box.source("mains", 30, "charger", plus=f"p{height - 1}.plus", minus="mains.minus")
    box.cases.add("post")
    poles = {pole.source.name: pole.backwards for pole in box.protection().poles.all}
    assert poles == {**{f"p{number}": False for number in range(height)}, "mains": True}


def test_nodes_that_are_earthed_without_a_branch_that_says_so_count_like_a_case(net: Any) -> None:
    box = net().source("a", minus="a.minus").wire("lead", "a.plus", "n")
    (plain,) = sides(box.circuit())
    (earthed,) = sides(box.circuit(), earthed=("n", "nowhere"))
    assert [pole.backwards for pole in (*plain.all, *earthed.all)] == [False, True]


def test_poles_come_in_name_order(net: Any) -> None:
    box = net().source("c").source("a").source("b", 10, "charger")
    assert [pole.source.name for pole in box.protection().poles.all] == ["a", "b", "c"]


# what is exposed -----------------------------------------------------------------------------------------------------


def test_device_that_is_small_enough_ends_what_may_be_exposed_behind_one_that_says_nothing(net: Any) -> None:
    """post - f (no rating) - a 40 A - g 10 A - b 20 A: f may be too large for `a`; for b there is g."""
    box = net().source("house").fuse("f", "house.plus", "n1", None).wire("a", "n1", "n2", 1.0, 40)
    box.fuse("g", "n2", "n3", 10).wire("b", "n3", "lamp.plus", 1.0, 20)
    assert exposed(box) == {"a"}
    box.join("n2", "aside", "diode").wire("c", "aside", "pump.plus", 1.0, 20)
    assert exposed(box) == {"a", "c"}


def test_charger_that_says_no_limit_may_expose_what_lies_before_its_small_device(net: Any) -> None:
    """mains (no limit) - a - f 10 A - b, both for 20 A."""
    box = net().source("mains", None, "charger").wire("a", "mains.plus", "n", 1.0, 20).fuse("f", "n", "m", 10)
    box.wire("b", "m", "lamp.plus", 1.0, 20)
    assert exposed(box) == {"a"}


@pytest.mark.parametrize(("limit", "open_"), [(19.0, False), (20.0, False), (20.5, True), (None, True)])
def test_limited_source_exposes_what_carries_less_than_it_gives(net: Any, limit: float | None, open_: bool) -> None:
    box = net().source("mains", limit, "charger").wire("a", "mains.plus", "lamp.plus", 1.0, 20)
    assert exposed(box) == ({"a"} if open_ else set())
    assert box.protection().pushes(box.sources[0], box.branches[0]) is (None if limit is None else open_)


def test_what_the_current_can_come_to_is_marked_by_one(net: Any) -> None:
    """Clusters in order of their names: a, b, c, d, ground; the fuse between b and c is taken away."""
    box = net().source("s", plus="a").wire("w", "a", "b").fuse("f", "b", "c", 10).wire("v", "c", "d")
    ways = box.protection().ways
    fuse = ways.edge_of["f"]
    assert [ways.cluster[node] for node in ("a", "b", "c", "d", "ground")] == [0, 1, 2, 3, 4]
    assert bytes(ways.reach([0], lambda edge: edge == fuse)) == bytes((1, 1, 0, 0, 0))
    assert bytes(ways.reach([3], lambda edge: edge == fuse)) == bytes((0, 0, 1, 1, 0))
    assert bytes(ways.reach([0, 4])) == bytes((1, 1, 1, 1, 1))
