"""Prospective currents of bolted shorts at devices: sums by hand."""

from __future__ import annotations

from typing import Any

import pytest
from ohmwright.protection.prospective import Battery, Prospective, prospective


def shorts(box: Any, batteries: dict[str, tuple[float, float]], ohm: float = 0.0007) -> dict[str, Prospective]:
    poles = box.protection().poles
    return prospective(poles, {name: Battery(*values) for name, values in batteries.items()}, lambda wire: ohm)


def test_one_pack_through_its_lead(net: Any) -> None:
    # Catalogue, F6, Ex: 13.4 V, 1.8 mohm + 0.7 mohm loop = 2.5 mohm -> 5.36 kA
    box = (
        net()
        .source("house")
        .wire("lead", "house.plus", "f.line")
        .fuse("f", "f.line", "f.load", 100)
        .wire("on", "f.load", "lamp.plus")
    )
    found = shorts(box, {"house": (13.4, 0.0018)})["f"]
    assert found.ampere == pytest.approx(5360)
    assert (found.side, found.batteries) == ("f.line", ("house",))


def test_three_packs_at_a_bus(net: Any) -> None:
    # Catalogue, F6, Ex: three such packs at the bus give 16.1 kA (16.08 kA)
    box = net().fuse("main", "bus", "m.load", 200).wire("on", "m.load", "lamp.plus")
    for number in (1, 2, 3):
        box.source(f"p{number}").wire(f"lead{number}", f"p{number}.plus", "bus")
    found = shorts(box, {f"p{number}": (13.4, 0.0018) for number in (1, 2, 3)})["main"]
    assert found.ampere == pytest.approx(3 * 5360)
    assert found.batteries == ("p1", "p2", "p3")


def test_fuse_of_a_pack_breaks_its_own_pack_or_all_the_others(net: Any) -> None:
    # Each pack 13.4 V over 2.5 mohm. A short in p1 is fed through its fuse by two others: 10.72 kA; one behind it by p1 alone.
    box = net()
    for number in (1, 2, 3):
        box.source(f"p{number}").fuse(f"f{number}", f"p{number}.plus", f"n{number}", 100).wire(
            f"lead{number}", f"n{number}", "bus"
        )
    found = shorts(box, {f"p{number}": (13.4, 0.0018) for number in (1, 2, 3)}, ohm=0.0)
    assert found["f1"].ampere == pytest.approx(2 * 13.4 / 0.0018)
    assert (found["f1"].side, found["f1"].batteries) == ("n1", ("p2", "p3"))


def test_last_of_two_fuses_in_parallel_breaks_everything(net: Any) -> None:
    box = (
        net()
        .source("house")
        .join("house.plus", "f.line")
        .join("house.plus", "g.line")
        .fuse("f", "f.line", "bus", 60)
        .fuse("g", "g.line", "bus", 60)
    )
    found = shorts(box, {"house": (13.0, 0.01)})
    assert found["f"].ampere == found["g"].ampere == pytest.approx(1300)


def test_string_in_series_adds_voltage_resistance_and_its_link(net: Any) -> None:
    box = (
        net()
        .source("upper", minus="upper.minus")
        .source("lower")
        .wire("link", "lower.plus", "upper.minus")
        .fuse("f", "upper.plus", "f.load", 100)
    )
    found = shorts(box, {"upper": (13.0, 0.002), "lower": (13.0, 0.002)}, ohm=0.001)["f"]
    assert found.open_volt == pytest.approx(26.0)
    assert found.ampere == pytest.approx(26.0 / 0.005)


def test_charger_behind_a_fuse_adds_nothing(net: Any) -> None:
    box = net().source("house").source("mains", 30, "charger").fuse("f", "house.plus", "n", 40).wire("in", "mains.plus", "n")
    assert shorts(box, {"house": (13.0, 0.01)})["f"].ampere == pytest.approx(1300)
    assert shorts(box, {"house": (13.0, 0.01), "mains": (14.0, 0.01)})["f"].batteries == (
        "house",
    )  # no battery, whatever is said of it


def test_diode_keeps_a_battery_from_what_lies_before_it(net: Any) -> None:
    box = (
        net()
        .source("one")
        .source("two")
        .fuse("f", "one.plus", "n1", 40)
        .join("n1", "bus", "diode")
        .fuse("g", "two.plus", "n2", 40)
        .join("n2", "bus", "diode")
    )
    box.fuse("out", "bus", "o.load", 100)
    found = shorts(box, {"one": (13.0, 0.01), "two": (13.0, 0.02)})
    assert (found["f"].ampere, found["f"].batteries) == (pytest.approx(1300), ("one",))
    assert (found["g"].ampere, found["g"].batteries) == (pytest.approx(650), ("two",))
    assert (found["out"].ampere, found["out"].batteries) == (pytest.approx(1950), ("one", "two"))


def test_device_that_no_battery_comes_to_is_left_out(net: Any) -> None:
    box = net().source("roof", 10, "array").fuse("f", "roof.plus", "n", 15)
    assert shorts(box, {}) == {}


def test_devices_far_from_the_bank_see_every_wire_on_the_way(net: Any) -> None:
    box = net().source("house").wire("a", "house.plus", "n1").wire("b", "n1", "n2").wire("c", "n2", "n3").wire("d", "n1", "n4")
    box.fuse("near", "n1", "x", 10).fuse("far", "n3", "y", 10).fuse("aside", "n4", "z", 10)
    found = shorts(box, {"house": (13.0, 0.01)}, ohm=0.01)
    assert {name: round(short.ampere, 6) for name, short in found.items()} == {
        "near": 650.0,
        "far": 325.0,
        "aside": round(13 / 0.03, 6),
    }


def test_two_packs_beside_each_other_stand_on_one_below(net: Any) -> None:
    # 13.4 V and 1.8 mohm each: two in parallel, 0.9 mohm, over one, 1.8 mohm: 26.8 V / 2.7 mohm.
    box = net().source("one", minus="middle").source("two", minus="middle").source("under", plus="middle")
    box.join("one.plus", "f.line").join("two.plus", "f.line").fuse("f", "f.line", "f.load", 100).wire(
        "on", "f.load", "lamp.plus"
    )
    found = shorts(box, dict.fromkeys(("one", "two", "under"), (13.4, 0.0018)))["f"]
    assert found.ampere == pytest.approx(26.8 / 0.0027)
    assert found.batteries == ("one", "two", "under")


def test_device_in_a_return_is_left_out(net: Any) -> None:
    box = net().source("house", minus="post").fuse("f", "house.plus", "lamp.plus", 100).fuse("back", "lamp.minus", "post", 100)
    assert set(shorts(box, {"house": (13.4, 0.0018)})) == {"f"}


def test_wire_beside_a_fuse_changes_nothing(net: Any) -> None:
    box = net().source("house").wire("lead", "house.plus", "n").fuse("g", "n", "m", 100).wire("beside", "n", "m")
    box.fuse("f", "m", "f.load", 100)
    assert shorts(box, {"house": (13.4, 0.0018)})["f"].ampere == pytest.approx(13.4 / 0.0025)


def test_the_stronger_side_of_a_device_counts_whichever_way_it_is_drawn(net: Any) -> None:
    """As the fuse of a pack above, with its line side towards the others: two packs, 2 x 13.4 V / 1.8 mohm, not one."""
    box = net()
    for number in (1, 2, 3):
        box.source(f"p{number}").fuse(f"f{number}", f"n{number}", f"p{number}.plus", 100).wire(
            f"lead{number}", f"n{number}", "bus"
        )
    found = shorts(box, {f"p{number}": (13.4, 0.0018) for number in (1, 2, 3)}, ohm=0.0)
    assert found["f1"].ampere == pytest.approx(2 * 13.4 / 0.0018)
    assert (found["f1"].side, found["f1"].batteries) == ("n1", ("p2", "p3"))


def test_short_at_a_hanging_device_lies_on_its_side_of_the_battery(net: Any) -> None:
    """Whichever way it is drawn, and whatever the nodes are called (the battery's is the last one here)."""
    for ends in (("f.line", "f.load"), ("f.load", "f.line")):
        box = net().source("zz").wire("lead", "zz.plus", "f.line").fuse("f", *ends, 100).wire("on", "f.load", "g.line")
        box.fuse("g", "lamp.plus", "g.line", 50)
        found = shorts(box, {"zz": (13.4, 0.0018)})
        assert (found["f"].side, found["g"].side) == ("f.line", "g.line")
        assert found["f"].ampere == pytest.approx(13.4 / 0.0025)
        assert found["g"].ampere == pytest.approx(13.4 / 0.0032)


def two_packs(net: Any, turned: bool = False) -> Any:
    """a - lead - n - f - m - lead - z; both minus poles stand on the ground."""
    box = net().source("a").source("z").wire("lead a", "a.plus", "n").wire("lead z", "z.plus", "m")
    return box.fuse("f", *(("m", "n") if turned else ("n", "m")), 100)


def test_fuse_between_two_packs_breaks_the_stronger_one(net: Any) -> None:
    """13.4 V: 1.8 mohm and 0.7 mohm of lead behind n give 5360 A; 0.6 mohm and 0.7 mohm behind m give 10308 A."""
    for turned in (False, True):
        found = shorts(two_packs(net, turned), {"a": (13.4, 0.0018), "z": (13.4, 0.0006)})["f"]
        assert (found.ampere, found.side, found.batteries) == (pytest.approx(13.4 / 0.0013), "m", ("z",))
        assert found.ohm == pytest.approx(0.0013)
        found = shorts(two_packs(net, turned), {"a": (13.4, 0.0006), "z": (13.4, 0.0018)})["f"]
        assert (found.ampere, found.side, found.batteries) == (pytest.approx(13.4 / 0.0013), "n", ("a",))


@pytest.mark.parametrize("turned", [False, True])
def test_of_two_sides_alike_the_one_at_the_start_of_the_device_is_named(net: Any, turned: bool) -> None:
    found = shorts(two_packs(net, turned), dict.fromkeys("az", (13.4, 0.0018)))["f"]
    assert (found.ampere, found.side) == (pytest.approx(5360), "m" if turned else "n")


def test_beyond_the_most_shorts_a_way_round_a_device_counts_too(net: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """Three packs with a fuse and a lead each: 6 ways between batteries, 3 of them devices, 18 in all.

    Up to there a short in a pack is fed by the two others, beyond by all three: at most too large.
    """
    box = net()
    for number in (1, 2, 3):
        box.source(f"p{number}").wire(f"lead{number}", f"n{number}", "bus").fuse(
            f"f{number}", f"p{number}.plus", f"n{number}", 100
        )
    for most, packs in ((18, 2), (19, 2), (17, 3), (6, 3)):
        monkeypatch.setattr("ohmwright.protection.prospective.MOST_SHORTS", most)
        found = shorts(box, {f"p{number}": (13.4, 0.0018) for number in (1, 2, 3)}, ohm=0.0)["f1"]
        assert found.ampere == pytest.approx(packs * 13.4 / 0.0018)
        assert len(found.batteries) == packs


def test_short_at_a_device_that_hangs_on_the_post_lies_at_the_post(net: Any) -> None:
    """post - f - n - g - m - on - lamp, whichever way the devices are drawn."""
    for turned in (False, True):
        box = net().source("house").fuse("f", *(("n", "house.plus") if turned else ("house.plus", "n")), 100)
        box.fuse("g", *(("m", "n") if turned else ("n", "m")), 50).wire("on", "m", "lamp.plus")
        found = shorts(box, {"house": (13.4, 0.0018)})
        assert (found["f"].side, found["g"].side) == ("house.plus", "n")
        assert found["f"].ampere == found["g"].ampere == pytest.approx(13.4 / 0.0018)


def test_only_the_devices_that_are_asked_for_are_told(net: Any) -> None:
    box = two_packs(net).fuse("g", "n", "lamp.plus", 10)
    poles = box.protection().poles
    batteries = dict.fromkeys("az", Battery(13.4, 0.0018))
    asked = [branch for branch in box.branches if branch.name == "g"]
    assert set(prospective(poles, batteries, lambda wire: 0.0, asked)) == {"g"}
    assert prospective(poles, batteries, lambda wire: 0.0, []) == {}


def test_resistance_of_nothing_gives_a_current_without_bound(net: Any) -> None:
    box = net().source("house").fuse("f", "house.plus", "n", 100)
    found = shorts(box, {"house": (13.4, 0.0)})["f"]
    assert (found.ampere, found.ohm) == (float("inf"), 0.0)


def test_conductors_that_branch_off_carry_nothing_of_a_short(net: Any) -> None:
    """post - 1 - n, from there 2 - m with fuse f, and a tree of leads to lamps beside; each wire 10 mohm, the pack 13 V and 10 mohm.

    At f: 13 V / 30 mohm. Fuse g lies three wires out on the tree: post - 1 - n - 3 - k - 4 - q: 13 V / 40 mohm.
    """
    box = net().source("house").wire("1", "house.plus", "n").wire("2", "n", "m").wire("3", "n", "k").wire("4", "k", "q")
    box.wire("5", "k", "lamp").wire("6", "lamp", "pump").wire("7", "n", "fan").fuse("f", "m", "x", 10).fuse("g", "q", "y", 10)
    found = shorts(box, {"house": (13.0, 0.01)}, ohm=0.01)
    assert found["f"].ampere == pytest.approx(13 / 0.03)
    assert found["g"].ampere == pytest.approx(13 / 0.04)


def test_with_the_plus_earthed_shorts_lie_on_the_minus_side_and_diodes_are_followed_against_the_current(net: Any) -> None:
    """Plus poles on the case; each minus over a fuse and a diode that lets current come to it; a fuse on what feeds both."""
    box = net().source("one", plus="case", minus="one.minus").source("two", plus="case", minus="two.minus")
    for name in ("one", "two"):
        box.fuse(f"f {name}", f"{name}.minus", f"n {name}", 40).join("bus", f"n {name}", "diode")
    box.fuse("out", "bus", "o.load", 100).cases.add("case")
    found = shorts(box, {"one": (13.0, 0.01), "two": (13.0, 0.02)})
    assert (found["f one"].ampere, found["f one"].batteries) == (pytest.approx(1300), ("one",))
    assert (found["f two"].ampere, found["f two"].batteries) == (pytest.approx(650), ("two",))
    assert (found["out"].ampere, found["out"].batteries) == (pytest.approx(1950), ("one", "two"))


@pytest.mark.parametrize("lets", [True, False])
def test_with_the_plus_earthed_a_battery_behind_a_diode_feeds_only_what_current_can_come_from(net: Any, lets: bool) -> None:
    """one.minus - f - n - diode - m, the minus of `two`. In a short at n current flows to the minus poles: to `two` if the anode lies at n.

    13 V over 10 mohm is what `one` gives, over 1 mohm what `two` gives.
    """
    box = net().source("one", plus="case", minus="one.minus").source("two", plus="case", minus="m")
    box.fuse("f", "one.minus", "n", 40).join(*(("n", "m") if lets else ("m", "n")), "diode").cases.add("case")
    found = shorts(box, {"one": (13.0, 0.01), "two": (13.0, 0.001)})["f"]
    assert (found.side, found.batteries) == (("n", ("two",)) if lets else ("one.minus", ("one",)))
    assert found.ampere == pytest.approx(13000 if lets else 1300)


def test_packs_with_returns_of_their_own_lie_between_each_other_all_the_same(net: Any) -> None:
    """As two packs on one return: whichever side a short lies on, through the fuse it is fed by the other pack alone, 5360 A."""
    box = net().source("a", minus="a.minus").source("z", minus="z.minus").wire("back", "a.minus", "z.minus")
    box.wire("lead a", "a.plus", "n").wire("lead z", "z.plus", "m").fuse("f", "n", "m", 100)
    found = shorts(box, dict.fromkeys("az", (13.4, 0.0018)))["f"]
    assert (found.ampere, found.side, found.batteries) == (pytest.approx(5360), "n", ("a",))


@pytest.mark.parametrize("lets", [True, False])
def test_a_battery_behind_a_diode_feeds_only_what_current_can_come_to(net: Any, lets: bool) -> None:
    """one.plus - f - n - diode - m, the plus of `two`: it feeds a short at n if the anode lies at m. 13 V over 10 mohm and over 1 mohm."""
    box = net().source("one").source("two", plus="m").fuse("f", "one.plus", "n", 40)
    box.join(*(("m", "n") if lets else ("n", "m")), "diode")
    found = shorts(box, {"one": (13.0, 0.01), "two": (13.0, 0.001)})["f"]
    assert (found.side, found.batteries) == (("n", ("two",)) if lets else ("one.plus", ("one",)))
    assert found.ampere == pytest.approx(13000 if lets else 1300)
