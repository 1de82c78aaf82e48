"""Laws of protection, tried on random circuits: names and order change nothing, a wire split in two changes no verdict."""

from __future__ import annotations

import random
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from ohmwright.protection.far_ends import FarEnds, Place
from ohmwright.protection.prospective import Battery, prospective

NODES = 7


def random_net(net: Any, seed: int) -> Any:
    """A circuit of a few batteries and chargers, wires and fuses between few nodes, so that rings and taps are common."""
    dice = random.Random(seed)
    box = net()
    for number in range(dice.randint(1, 3)):
        limit = dice.choice((None, dice.randint(10, 60)))
        box.source(f"s{number}", limit, "battery" if limit is None else "charger", plus=f"n{dice.randrange(NODES)}")
    for number in range(dice.randint(2, 9)):
        one, two = dice.sample(range(NODES), 2)
        box.wire(
            f"w{number}",
            f"n{one}",
            f"n{two}",
            round(dice.uniform(0.01, 2.0), 6),
            dice.choice((10.0, 20.0, 40.0, 80.0)),
            dice.choice((True, False, None)),
        )
    for number in range(dice.randint(0, 6)):
        one, two = dice.sample(range(NODES), 2)
        box.fuse(f"f{number}", f"n{one}", f"n{two}", dice.choice((5.0, 15.0, 30.0, 60.0)))
    if dice.random() < 0.3:
        box.join("n0", "n1", "diode")
    if dice.random() < 0.3:
        box.join("n2", "n3", "switch", "sw")
    return box


def verdicts(box: Any) -> dict[tuple[str, str], tuple[float, bool | None, bool]]:
    """Length, cover and whether devices were passed, by source and wire, of everything that leaves a wire open."""
    found = {key: (round(stretch.length, 9), stretch.enclosed, False) for key, stretch in box.unfused().items()}
    found.update({key: (length, None, True) for key, (_, length, _) in box.overreaches().items()})
    return found


def renamed(net: Any, box: Any, seed: int) -> tuple[Any, dict[str, str]]:
    """The same circuit under other names, its statements in another order, and its wires the other way round."""
    dice = random.Random(seed)
    labels = list(range(1000))
    dice.shuffle(labels)
    new: dict[str, str] = {}

    def name(old: str) -> str:
        return new.setdefault(old, f"x{labels[len(new)]}")

    other = net()
    branches, sources = list(box.branches), list(box.sources)
    dice.shuffle(branches)
    dice.shuffle(sources)
    for source in sources:
        other.source(name(source.name), source.limit, source.kind, plus=name(source.plus), minus=source.minus)
    for branch in branches:
        one, two = name(branch.start), name(branch.end)
        if branch.kind == "wire":
            ends = (two, one) if dice.random() < 0.5 else (one, two)
            length = branch.conductor.length.high
            other.wire(name(branch.name), *ends, length, box.amperes[branch.name], box.covers[branch.name])
        elif branch.kind == "fuse":
            other.fuse(name(branch.name), one, two, box.ratings[branch.name])
        else:
            other.join(one, two, branch.kind, branch.gate)
    return other, new


SEEDS = st.integers(0, 10**9)
TRIES = settings(max_examples=200, suppress_health_check=[HealthCheck.function_scoped_fixture])


@TRIES
@given(seed=SEEDS)
def test_names_order_and_direction_change_nothing(net: Any, seed: int) -> None:
    box = random_net(net, seed)
    other, new = renamed(net, box, seed + 1)
    expected = {(new[source], new[wire]): value for (source, wire), value in verdicts(box).items()}
    assert verdicts(other) == expected
    flows, others = box.flows(), other.flows()
    by_name = {branch.name: branch for branch in other.branches}
    for branch in box.branches:
        if branch.kind == "wire":
            mirror = by_name[new[branch.name]]
            here, there = flows.into(branch), others.into(mirror)
            turned = mirror.start != new[branch.start]
            assert here.into_start.ampere == pytest.approx((there.into_end if turned else there.into_start).ampere)
            assert here.into_end.ampere == pytest.approx((there.into_start if turned else there.into_end).ampere)


@TRIES
@given(seed=SEEDS, part=st.floats(0.05, 0.95))
def test_wire_split_in_two_changes_no_verdict(net: Any, seed: int, part: float) -> None:
    box = random_net(net, seed)
    wires = [branch for branch in box.branches if branch.kind == "wire"]
    chosen = wires[seed % len(wires)]
    other = net()
    other.sources, other.ratings, other.amperes, other.covers = box.sources, box.ratings, dict(box.amperes), dict(box.covers)
    other.branches = [branch for branch in box.branches if branch is not chosen]
    length = chosen.conductor.length.high
    for name, ends, piece in (
        ("left", (chosen.start, "middle"), length * part),
        ("right", ("middle", chosen.end), length * (1 - part)),
    ):
        other.wire(name, *ends, piece, box.amperes[chosen.name], box.covers[chosen.name])
    before, after = verdicts(box), verdicts(other)
    for source in box.sources:
        whole = before.pop((source.name, chosen.name), None)
        pieces = [piece for name in ("left", "right") if (piece := after.pop((source.name, name), None)) is not None]
        assert bool(pieces) == (whole is not None)
        if whole is not None:
            assert len(pieces) == 2
            assert max(piece[0] for piece in pieces) == pytest.approx(whole[0])
    assert before.keys() == after.keys()
    for key, value in before.items():
        assert after[key][0] == pytest.approx(value[0])
        assert after[key][1:] == value[1:]


def told(box: Any) -> dict[tuple[str, ...], Any]:
    """Everything that protection tells of the conductors of a circuit, by source and wire."""
    found: dict[tuple[str, ...], Any] = {}
    stretches = list(box.unfused().values())
    for protection in box.protections():
        stretches += [exposure.stretch for exposure in protection.overreaches()]
        batteries = {source.name: Battery(13.0, 0.002) for source in box.sources}
        shorts = prospective(protection.poles, batteries, lambda wire: wire.conductor.length.high)
        for short in shorts.values():
            found["short", short.device.name] = (short.side, round(short.ampere, 6), short.batteries)
        ends = FarEnds(protection.poles, list(batteries), lambda device: box.ratings[device.name])
        for end in ends.ends([Place(f"load {number}", f"n{number}", "ground") for number in range(NODES)]):
            key = ("end", end.walk.pole.source.name, end.place.name, end.place.back)
            found.setdefault(key, []).append([branch.name for branch in (*ends.live(end), *ends.behind(end))])
        for walk in protection.whole:
            for stretch in protection.stretches(walk):
                found["whole", walk.pole.source.name, stretch.wire.name] = shown(stretch)
                beyond = [protection.ways.members[cluster] for cluster in walk.beyond(stretch.wire)]
                found["beyond", walk.pole.source.name, stretch.wire.name] = beyond
    for stretch in stretches:
        found["open", stretch.source.name, stretch.wire.name] = shown(stretch)
    flows = box.flows()
    for branch in box.branches:
        if branch.kind == "wire":
            found["flows", branch.name] = (flows.into(branch), flows.pieces(branch, False), flows.pieces(branch, True))
    return found


def shown(stretch: Any) -> tuple[Any, ...]:
    """What a stretch says, with names for its branches."""
    parts = (stretch.unmeasured, stretch.open_at, stretch.before, stretch.device, stretch.own, stretch.beyond.device)
    return (
        *(part.name if part is not None else "" for part in parts),
        (stretch.entry, stretch.origin, stretch.from_joint, stretch.length, stretch.enclosed),
        (stretch.beyond.length, stretch.beyond.joins_source, stretch.beyond.joins_battery),
        tuple(branch.name for branch in stretch.path()),
    )


@pytest.mark.parametrize("seed", range(60))
def test_what_is_joined_to_nothing_changes_nothing(net: Any, seed: int) -> None:
    """Three hundred conductors that lie elsewhere: nodes and edges get other numbers, above those that Python keeps as one object."""
    box = random_net(net, seed)
    alone = told(box)
    other = net()
    for number in range(300):
        other.wire(f"!{number}", f"!a{number}", f"!b{number}", 1.0, 90.0)
    other.branches += box.branches
    other.sources = box.sources
    for mine, given_ in ((other.amperes, box.amperes), (other.ratings, box.ratings), (other.covers, box.covers)):
        mine.update(given_)
    crowded = {key: value for key, value in told(other).items() if not key[-1].startswith("!")}
    assert crowded == alone
