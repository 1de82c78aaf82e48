"""The numbered graph, its bridges and parts, and the settings of what cannot be closed together (arithmetic and counting by hand)."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from ohmwright.protection.bridges import bridges, parts
from ohmwright.protection.ways import DEVICE, MOST_SETTINGS, WIRE, Passage, Ways
from ohmwright.protection.ways import settings as settings_of

EDGES = st.lists(st.tuples(st.integers(0, 7), st.integers(0, 7)), max_size=14)


def test_an_edge_from_a_node_to_itself_is_no_bridge() -> None:
    assert bridges(3, [(5, 0, 0), (6, 0, 1), (7, 1, 2), (8, 1, 2)]) == {6}


def test_nodes_are_told_apart_by_their_numbers() -> None:
    """Equal numbers above 256 are not one object by themselves."""
    one, two = int("1000"), int("1000")
    assert bridges(1001, [(int("700"), one, two), (int("701"), one, 0), (int("702"), two, 0)]) == set()
    assert bridges(1001, [(int("700"), 0, one), (int("701"), two, 1)]) == {700, 701}
    assert max(parts(1001, [(one, two), (0, one)])) == 999


@settings(max_examples=200)
@given(pairs=EDGES)
def test_bridges_are_the_edges_without_which_there_are_more_parts(pairs: list[tuple[int, int]]) -> None:
    whole = max(parts(8, pairs))
    wanted = {k for k in range(len(pairs)) if max(parts(8, pairs[:k] + pairs[k + 1 :])) > whole}
    assert bridges(8, [(k, one, two) for k, (one, two) in enumerate(pairs)]) == wanted


@settings(max_examples=200)
@given(pairs=EDGES)
def test_parts_are_what_a_plain_search_reaches(pairs: list[tuple[int, int]]) -> None:
    found = parts(8, pairs)
    for start in range(8):
        seen, queue = {start}, [start]
        while queue:
            here = queue.pop()
            more = {two for one, two in pairs if one == here} | {one for one, two in pairs if two == here}
            queue.extend(more - seen)
            seen |= more
        assert {node for node in range(8) if found[node] == found[start]} == seen
    firsts = [number for k, number in enumerate(found) if number not in found[:k]]
    assert firsts == list(range(len(firsts)))


def test_clusters_edges_and_lengths(net: Any) -> None:
    box = net().source("house").join("house.plus", "f.line").fuse("f", "f.line", "n", 20).wire("w", "n", "x", 2.5)
    box.wire("u", "x", "lamp.plus", None).join("x", "y", "resistor", ohm=0.1).join("y", "z", "resistor", ohm=0.11)
    ways = Ways(box.circuit())
    assert ways.cluster["house.plus"] == ways.cluster["f.line"]
    assert ways.cluster["x"] == ways.cluster["y"] != ways.cluster["z"]  # 0.1 ohm joins, more ends a walk
    assert [branch.name for branch in ways.branches] == ["f", "w", "u"]
    assert (ways.kinds, ways.lengths, ways.unmeasured) == ([DEVICE, WIRE, WIRE], [0.0, 2.5, 0.0], {2})
    assert ways.of_kind(WIRE) == [1, 2]
    assert set(ways.members[ways.cluster["x"]]) == {"x", "y"}


def test_branches_that_stay_are_conductors_without_length(net: Any) -> None:
    box = net().source("house").join("house.plus", "n", "switch", "s").join("n", "lamp.plus")
    ways = Ways(box.circuit(), stays=lambda branch: branch.kind == "switch")
    assert ways.cluster["house.plus"] != ways.cluster["n"] == ways.cluster["lamp.plus"]
    assert (ways.kinds, ways.lengths) == ([WIRE], [0.0])
    assert ways.wire(0).kind == "switch"


def test_open_gates_take_their_branches_away(net: Any) -> None:
    box = net().source("house").join("house.plus", "n", "switch", "s").fuse("f", "n", "x", 5)
    closed, opened = Ways(box.circuit()), Ways(box.circuit(), ("s",))
    assert closed.cluster["house.plus"] == closed.cluster["n"]
    assert opened.cluster["house.plus"] != opened.cluster["n"]


def test_reach_stops_at_what_is_blocked_and_at_diodes_the_wrong_way(net: Any) -> None:
    box = net().source("house").fuse("f", "house.plus", "n", 20).join("n", "x", "diode").wire("w", "x", "y")
    ways = Ways(box.circuit())

    def reached(node: str, **more: Any) -> set[str]:
        seen = ways.reach([ways.cluster[node]], **more)
        return {name for name in ("house.plus", "n", "x", "y") if seen[ways.cluster[name]]}

    assert reached("house.plus") == {"house.plus", "n", "x", "y"}
    assert reached("house.plus", blocked=lambda edge: ways.kinds[edge] == DEVICE) == {"house.plus"}
    assert reached("y") == {"x", "y"}
    assert reached("y", backwards=True) == {"house.plus", "n", "x", "y"}
    assert reached("n", backwards=True) == {"house.plus", "n"}


def selectors(net: Any, count: int) -> Any:
    box = net()
    for number in range(count):
        part = f"s{number}"
        for position in ("1", "2"):
            box.join(f"{part}.common", f"{part}.{position}", "selector", f"{part}.{position}", part)
    return box


def test_settings_multiply_up_to_a_limit_and_then_everything_is_closed(net: Any) -> None:
    assert MOST_SETTINGS == 64
    assert len(settings_of(selectors(net, 6).circuit())) == 64
    assert settings_of(selectors(net, 7).circuit()) == (frozenset(),)
    assert settings_of(net().circuit()) == (frozenset(),)


def test_positions_within_another_give_no_setting_of_their_own(net: Any) -> None:
    """1, 2 and both: "both" joins all that the others join."""
    box = net()
    for position, ends in (("1", ("a",)), ("2", ("b",)), ("both", ("a", "b"))):
        for end in ends:
            box.join("common", end, "selector", position, "s")
    assert settings_of(box.circuit()) == (frozenset(("1", "2")),)


def test_barred_gates_of_which_the_circuit_has_one_choose_nothing(net: Any) -> None:
    box = net().join("a", "b", "switch", "s1").join("b", "c", "switch", "s2").join("c", "d", "switch", "s3")
    circuit = box.circuit()
    assert settings_of(circuit, [("s1", "elsewhere")]) == (frozenset(),)
    assert settings_of(circuit, [("s1", "s2")]) == (frozenset(("s1",)), frozenset(("s2",)))
    assert settings_of(circuit, [("s1", "s2", "s3")]) == (
        frozenset(("s1", "s2")),
        frozenset(("s1", "s3")),
        frozenset(("s2", "s3")),
    )
    # Each pair apart from the other: what one choice opens, another need not open again.
    assert settings_of(circuit, [("s1", "s2"), ("s2", "s3")]) == (frozenset(("s1", "s3")), frozenset(("s2",)))


def test_passage_between_nodes_that_the_circuit_does_not_have_is_none(net: Any) -> None:
    box = net().source("house").wire("lead", "house.plus", "n")
    plain = Ways(box.circuit())
    assert Ways(box.circuit(), passages=[Passage("x", "n", "ghost"), Passage("y", "ghost", "n")]).branches == plain.branches
    assert len(Ways(box.circuit(), passages=[Passage("z", "n", "house.plus")]).branches) == len(plain.branches) + 1


def test_poles_of_a_cluster_are_those_of_the_sources_that_stand_there(net: Any) -> None:
    box = (
        net()
        .source("one")
        .source("two")
        .source("far")
        .join("one.plus", "bus")
        .join("two.plus", "bus")
        .wire("w", "bus", "far.plus")
    )
    poles = box.protection().poles
    assert [pole.source.name for pole in poles.at(poles.ways.cluster["bus"])] == ["one", "two"]
    assert [pole.source.name for pole in poles.at(poles.ways.cluster["far.plus"])] == ["far"]
    assert poles.at(poles.ways.cluster["ground"]) == ()


def test_contact_that_stays_an_edge_passes_both_ways(net: Any) -> None:
    box = net().source("house").join("house.plus", "b", "contact")
    assert Ways(box.circuit()).kinds == []
    ways = Ways(box.circuit(), stays=lambda branch: branch.kind == "contact")
    assert ways.kinds == [WIRE]
    one, two = ways.cluster["house.plus"], ways.cluster["b"]
    assert (ways.reach([one])[two], ways.reach([two])[one]) == (1, 1)


def test_only_a_resistor_ends_a_way_by_its_resistance(net: Any) -> None:
    """Contacts, switches and selectors join whatever they measure; a resistor joins up to 0.1 ohm, and only if somebody says so."""
    for kind in ("contact", "joint", "selector", "switch"):
        ways = Ways(net().join("a", "b", kind, ohm=0.5).circuit())
        assert ways.cluster["a"] == ways.cluster["b"]
    for ohm, assumed, joins in ((0.1, False, True), (0.101, False, False), (0.05, True, False)):
        box = net().join("a", "b", "resistor", ohm=ohm)
        box.branches = [replace(branch, assumed=assumed) for branch in box.branches]
        ways = Ways(box.circuit())
        assert (ways.cluster["a"] == ways.cluster["b"]) is joins
    ways = Ways(net().join("a", "b", "diode").circuit())
    assert ways.cluster["a"] != ways.cluster["b"]
