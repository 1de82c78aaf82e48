"""The most that can flow into either end of a conductor: circuits worked by hand, and against a plain search of all cuts."""

from __future__ import annotations

from itertools import combinations
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from ohmwright.protection.largest_flow import Cut, Flow, FlowNet, Link

INFINITE = float("inf")


def battery_and_charger(net: Any) -> Any:
    """Catalogue, F9, Ex: battery 40 A and charger 30 A join on one conductor."""
    box = net().source("house").source("mains", 30, "charger").join("house.plus", "f.line").fuse("f", "f.line", "bus", 40)
    return box.wire("in", "mains.plus", "bus").wire("out", "bus", "lamp.plus", 1.0, 40).wire("lead", "f.line", "x")


def test_two_feeds_add_on_what_both_flow_into(net: Any) -> None:
    box = battery_and_charger(net)
    assert box.into("out") == ((70.0, 2), (0.0, 0))
    assert box.into("in") == ((30.0, 1), (40.0, 1))
    assert box.flows().pieces(box.branches[3], into_end=False) == (("f", 40.0), ("mains", 30.0))


def test_fuse_of_its_own_bounds_the_branch(net: Any) -> None:
    box = (
        net().source("house").source("mains", 30, "charger").fuse("f", "house.plus", "bus", 40).wire("in", "mains.plus", "bus")
    )
    box.fuse("own", "bus", "own.load", 40).wire("out", "own.load", "lamp.plus")
    assert box.into("out") == ((40.0, 1), (0.0, 0))


def test_shared_fuse_counts_once(net: Any) -> None:
    box = (
        net()
        .source("one")
        .source("two")
        .fuse("f1", "one.plus", "n", 60)
        .fuse("f2", "two.plus", "n", 60)
        .wire("run", "n", "m.line", 1.0)
    )
    box.fuse("main", "m.line", "m.load", 80).wire("out", "m.load", "lamp.plus")
    assert box.into("run")[0] == (120.0, 2)
    assert box.into("out")[0] == (80.0, 1)


def test_fuses_in_parallel_on_one_post_add(net: Any) -> None:
    box = (
        net()
        .source("house")
        .join("house.plus", "f.line")
        .join("house.plus", "g.line")
        .fuse("f", "f.line", "bus", 60)
        .fuse("g", "g.line", "bus", 60)
    )
    box.wire("feed", "bus", "lamp.plus")
    assert box.into("feed") == ((120.0, 2), (0.0, 0))
    assert box.flows().pieces(box.branches[-1], into_end=False) == (("f", 60.0), ("g", 60.0))


def test_source_without_a_fuse_gives_without_bound(net: Any) -> None:
    box = (
        net()
        .source("house")
        .source("mains", 30, "charger")
        .wire("a", "house.plus", "bus")
        .wire("in", "mains.plus", "bus")
        .wire("out", "bus", "lamp.plus")
    )
    assert box.into("out")[0][0] == INFINITE
    assert box.into("in") == ((30.0, 1), (INFINITE, 1))


def test_larger_of_the_two_directions_counts_not_their_sum(net: Any) -> None:
    box = (
        net()
        .source("one")
        .source("two")
        .fuse("f", "one.plus", "n", 40)
        .wire("link", "n", "m", 1.0)
        .fuse("g", "m", "two.plus", 60)
    )
    assert box.into("link") == ((40.0, 1), (60.0, 1))


def test_ring_of_wires_takes_all_that_comes_in(net: Any) -> None:
    box = net().source("one").source("two").fuse("f", "one.plus", "n1", 40).fuse("g", "two.plus", "n2", 30)
    box.wire("a", "n1", "n2").wire("b", "n2", "n3").wire("c", "n3", "n1")
    assert box.into("b") == ((70.0, 2), (70.0, 2))


def test_wire_that_alone_joins_two_ends_of_a_loop_of_fuses(net: Any) -> None:
    # One source feeds both ends of the wire through fuses of its own: 40 A come in at one, 30 A at the other.
    box = net().source("one").fuse("f", "one.plus", "n1", 40).fuse("g", "one.plus", "n2", 30).wire("a", "n1", "n2")
    assert box.into("a") == ((40.0, 1), (30.0, 1))


def test_chain_of_packs_carries_all_that_lie_behind(net: Any) -> None:
    box = net()
    for number in (1, 2, 3):
        box.source(f"p{number}").fuse(f"f{number}", f"p{number}.plus", f"bus{number}", 40)
    box.wire("first", "bus1", "bus2").wire("second", "bus2", "bus3")
    assert box.into("first") == ((40.0, 1), (80.0, 2))
    assert box.into("second") == ((80.0, 2), (40.0, 1))


def test_limit_below_the_fuse_is_what_bounds(net: Any) -> None:
    box = net().source("mains", 20, "charger").fuse("f", "mains.plus", "n", 60).wire("out", "n", "lamp.plus")
    assert box.into("out")[0] == (20.0, 1)
    assert box.flows().pieces(box.branches[-1], into_end=False) == (("mains", 20.0),)


NODES = [f"n{number}" for number in range(6)]
PAIRS = [(one, two) for one in NODES for two in NODES if one < two]


@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    wires=st.lists(st.sampled_from(PAIRS), min_size=1, max_size=6),
    fuses=st.lists(st.tuples(st.sampled_from(PAIRS), st.integers(1, 9)), max_size=6),
    sources=st.lists(st.tuples(st.sampled_from(NODES), st.integers(1, 20)), min_size=1, max_size=3),
)
def test_flow_is_that_of_the_smallest_cut(net: Any, wires: list[Any], fuses: list[Any], sources: list[Any]) -> None:
    box = net()
    for number, (one, two) in enumerate(wires):
        box.wire(f"w{number}", one, two)
    for number, ((one, two), rating) in enumerate(fuses):
        box.fuse(f"f{number}", one, two, rating)
    for number, (node, limit) in enumerate(sources):
        box.source(f"s{number}", limit, "charger", plus=node)
    flows = box.flows()
    for number, (one, two) in enumerate(wires):
        found = flows.into(box.branches[number])
        assert found.into_start.ampere == pytest.approx(_smallest_cut(wires, fuses, sources, number, one))
        assert found.into_end.ampere == pytest.approx(_smallest_cut(wires, fuses, sources, number, two))
        for into_end, flow in ((False, found.into_start), (True, found.into_end)):
            pieces = flows.pieces(box.branches[number], into_end)
            if len(fuses) < 2 and flow.ampere:
                assert sum(amperes for _, amperes in pieces) == pytest.approx(flow.ampere)


def _smallest_cut(wires: list[Any], fuses: list[Any], sources: list[Any], without: int, sink: str) -> float:
    """Try every set of nodes around the sink: what crosses into it and what sources inside give."""
    others = [node for node in NODES if node != sink]
    best = INFINITE
    for size in range(len(others) + 1):
        for chosen in combinations(others, size):
            inside = {sink, *chosen}
            if any((one in inside) != (two in inside) for number, (one, two) in enumerate(wires) if number != without):
                continue
            crossing = sum(rating for (one, two), rating in fuses if (one in inside) != (two in inside))
            best = min(best, crossing + sum(limit for node, limit in sources if node in inside))
    return best


def test_diode_lets_a_feed_through_one_way_only(net: Any) -> None:
    box = net().source("roof", 10, "array").source("house").fuse("f", "house.plus", "bus", 40).join("roof.plus", "bus", "diode")
    box.wire("out", "bus", "lamp.plus").wire("up", "roof.plus", "meter.plus")
    assert box.into("out") == ((50.0, 2), (0.0, 0))
    assert box.into("up") == ((10.0, 1), (0.0, 0))


def test_diode_in_a_loop_of_fuses_lets_nothing_back(net: Any) -> None:
    # The charger sits behind the diode's cathode: what it gives comes to the anode through the fuse only.
    box = (
        net()
        .source("mains", 30, "charger")
        .join("n1", "mains.plus", "diode")
        .fuse("f", "n1", "mains.plus", 5)
        .wire("out", "n1", "lamp.plus")
    )
    assert box.into("out")[0] == (5.0, 1)


def test_flow_to_a_cluster_comes_from_all_sides(net: Any) -> None:
    box = battery_and_charger(net)
    flows = box.flows()
    bus = flows.ways.cluster["bus"]
    assert flows.at(bus) == (70.0, 2)
    assert flows.pieces_at(bus) == (("f", 40.0), ("mains", 30.0))
    behind_a_lead = flows.ways.cluster["x"]  # the charger comes to it too, back through the fuse
    assert flows.at(behind_a_lead) == (INFINITE, 2)
    assert flows.pieces_at(behind_a_lead) == (("house", INFINITE), ("mains", 30.0))
    feeding = flows.into(box.branches[2])
    assert feeding.larger == (40.0, 1)


def test_what_bounds_a_wire_between_two_ends_of_a_loop_of_fuses_is_named(net: Any) -> None:
    """Two fuses of 60 A feed either end of one wire, each from the same battery: 60 A into each end, by the fuse on that side.

    Behind the far end the charger's 30 A join the fuse there.
    """
    box = net().source("house").source("mains", 30, "charger").join("house.plus", "a").join("house.plus", "b")
    box.fuse("f", "a", "left", 60).fuse("g", "b", "right", 60).wire("between", "left", "right").wire(
        "in", "mains.plus", "right"
    )
    wire = box.branches[4]
    assert box.into("between") == ((60.0, 1), (90.0, 2))
    flows = box.flows()
    assert flows.pieces(wire, into_end=False) == (("f", 60.0),)
    assert flows.pieces(wire, into_end=True) == (("g", 60.0), ("mains", 30.0))
    assert flows.into(wire).larger == (90.0, 2)


def test_a_source_of_half_an_ampere_bounds_a_flow() -> None:
    net = FlowNet((Link(7, 0, 1, 10.0, 10.0),), {0: Flow(0.5, 2), 2: Flow(3.0, 1)})
    assert net.to(1) == Cut(Flow(0.5, 2), (), (0,))
    assert net.to(1, without=7) == Cut(Flow(0.0, 0), (), ())


def test_source_behind_no_device_is_a_flow_without_bound() -> None:
    """Nothing but the source bounds it, and it counts as one."""
    net = FlowNet((Link(7, 0, 1, INFINITE, INFINITE),), {0: Flow(INFINITE, 1), 2: Flow(3.0, 1)})
    assert net.to(1) == Cut(Flow(INFINITE, 1), (), ())
    assert net.to(1, without=7) == Cut(Flow(0.0, 0), (), ())
    assert net.to(1, mute=(0,)) == Cut(Flow(0.0, 0), (), ())
    assert net.to(1) == Cut(Flow(INFINITE, 1), (), ())  # a question leaves the graph as it was


def test_cut_lies_nearest_to_the_sink() -> None:
    """20 A - link 1 of 5 A - link 2 of 5 A - sink: both bound it alike, the one at the sink is named."""
    net = FlowNet((Link(1, 0, 1, 5.0, 5.0), Link(2, 1, 2, 5.0, 5.0)), {0: Flow(20.0, 1)})
    assert net.to(2) == Cut(Flow(5.0, 1), (2,), ())
    assert net.to(1) == Cut(Flow(5.0, 1), (1,), ())
    assert net.to(0) == Cut(Flow(20.0, 1), (), (0,))


def test_flow_turns_back_what_was_sent_the_wrong_way_first() -> None:
    """A crossed square: s - a 3 A, s - b 2 A, a - b 2 A, a - t 2 A, b - t 3 A. Out of s go 5 A, into t come 5 A."""
    links = (
        Link(1, 0, 1, 3.0, 0.0),
        Link(2, 0, 2, 2.0, 0.0),
        Link(3, 1, 2, 2.0, 0.0),
        Link(4, 1, 3, 2.0, 0.0),
        Link(5, 2, 3, 3.0, 0.0),
    )
    for order in (links, links[::-1]):
        net = FlowNet(order, {0: Flow(9.0, 1)})
        assert net.to(3) == Cut(Flow(5.0, 2), (4, 5), ())
        assert net.to(3, without=4) == Cut(Flow(3.0, 1), (5,), ())
        assert net.to(0) == Cut(Flow(9.0, 1), (), (0,))


def test_supplies_and_links_bound_a_flow_together() -> None:
    """Sink 2: 4 A of its own, 3 A of a source behind a link of 10 A, and a link of 2 A before another source: 9 A by three."""
    net = FlowNet((Link(1, 0, 2, 10.0, 10.0), Link(2, 1, 2, 2.0, 2.0)), {0: Flow(3.0, 1), 1: Flow(8.0, 1), 2: Flow(4.0, 1)})
    assert net.to(2) == Cut(Flow(9.0, 3), (2,), (0, 2))
    assert net.to(2, mute=(2,)) == Cut(Flow(5.0, 2), (2,), (0,))
    assert net.between({1: Flow(1.5, 4)}, (2,)) == Cut(Flow(1.5, 4), (), (1,))
    assert net.between({0: Flow(9.0, 1), 1: Flow(9.0, 1)}, (2, 1)).flow == Flow(18.0, 2)


def test_more_ways_than_go_straight_add_up() -> None:
    """A hundred sources of 1 A, each over a node of its own: after fifty the shortest ways are taken, and all add to 100 A."""
    links = tuple(Link(number, number, 0, 2.0, 0.0) for number in range(1, 101))
    assert FlowNet(links, {number: Flow(1.0, 1) for number in range(1, 101)}).to(0).flow == Flow(100.0, 100)


@pytest.mark.parametrize(("rating", "bounding"), [(59, (("f", 59),)), (60, (("f", 60),)), (61, (("in", 30), ("mains", 30)))])
def test_device_bounds_what_just_comes_to_it(net: Any, rating: int, bounding: tuple[tuple[str, int], ...]) -> None:
    """Two chargers of 30 A before one fuse: up to 60 A the fuse bounds what comes out, and counts as one."""
    box = net().source("mains", 30, "charger", plus="n").source("in", 30, "charger", plus="n").fuse("f", "n", "m", rating)
    box.wire("out", "m", "lamp.plus")
    assert box.into("out") == ((min(rating, 60), len(bounding)), (0.0, 0))
    assert box.flows().pieces(box.branches[-1], into_end=False) == bounding
