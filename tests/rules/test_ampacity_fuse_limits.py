"""How large a fuse may be: the fault catalogue's examples F2, F3, F9 and G6, and the readings of F2, at their edges."""

from __future__ import annotations

import pytest
from ohmwright_grammar.quantities import Gauge
from ohmwright_rules.ampacity import Ampacity, Demand, Laying, Unknown, ampacity, demand
from ohmwright_rules.basis import get
from ohmwright_rules.fusing import (
    FuseLimit,
    fuse_factor,
    fuse_limit,
    largest_rating,
    rating_at_least,
    rating_at_most,
    standard_ratings,
)
from ohmwright_rules.sizing import gauges, smallest_for_current, smallest_for_fuse

SMALL, PREMISES, IEC = get("us-small-craft"), get("us-premises"), get("iec")


def wire(awg: int, **given: object) -> Laying:
    gauge = Gauge.from_awg(awg)
    return Laying(gauge.text, gauge.area, **{"ambient": 30.0, "insulation": 105.0, "in_conduit": True, **given})  # type: ignore[arg-type]


def rated(basis: object, laying: Laying) -> Ampacity:
    found = ampacity(basis, laying)  # type: ignore[arg-type]
    assert isinstance(found, Ampacity), found
    return found


def limit(basis: object, laying: Laying, voltage: float | None = 14.6, **device: object) -> FuseLimit:
    found = fuse_limit(basis, rated(basis, laying), voltage, **device)  # type: ignore[arg-type]
    assert isinstance(found, FuseLimit), found
    return found


def of_ampacity(value: float, row: str = "6", *, cord: bool = False) -> Ampacity:
    """An ampacity of that value without a working, for the edges of a limit."""
    reference = SMALL.continuous.reference
    return Ampacity(value, value, value, row, 75.0, 1.0, 1.0, 1.0, cord, (), (reference,))


def test_f2_small_craft_take_half_as_much_again_below_fifty_volts() -> None:
    """33 CFR 183.455(c)(1), read: 14 AWG at 105 degC, 35 A: 52.5 A, so 60 A is too large and 40 A passes."""
    found = limit(SMALL, wire(14))
    assert found.value == 52.5
    assert found.steps[0].expression == "1.5 x 35"
    assert found.steps[0].source == "33 CFR 183.455, as on a law mirror, undated, (c)(1)"
    assert found.weakest.status == "read"


def test_f2_premises_hold_fourteen_gauge_at_fifteen_amperes() -> None:
    """NEC 240.4(D): 14 AWG at most 15 A, whatever its ampacity."""
    found = limit(PREMISES, wire(14))
    assert found.value == 15.0
    assert [step.value for step in found.steps] == [25.0, 15.0]


@pytest.mark.parametrize(("awg", "most"), [(18, 7.0), (16, 10.0), (14, 15.0), (12, 20.0), (10, 30.0)])
def test_small_conductors_of_the_nec(awg: int, most: float) -> None:
    assert limit(PREMISES, wire(awg)).value == most


def test_metric_wire_takes_the_limit_of_its_row() -> None:
    laying = Laying("4 mm2", 4e-6, ambient=30.0, insulation=90.0, in_conduit=True)
    assert limit(PREMISES, laying).value == 20.0


def test_f3_meter_lead_behind_a_thirty_ampere_feeder() -> None:
    assert limit(SMALL, wire(18, insulation=60.0)).value == 15.0


def test_f9_factor_of_two_feeds() -> None:
    assert fuse_factor(SMALL, 14.6) == 1.5
    assert fuse_factor(SMALL, 50.0) == 1.0
    assert fuse_factor(PREMISES, None) == fuse_factor(IEC, 14.6) == 1.0
    assert fuse_factor(SMALL, None) == Unknown("highest voltage of the wire")


@pytest.mark.parametrize(
    ("ampere", "most"),
    [
        (28.0, 30.0),  # next standard rating up
        (30.0, 30.0),  # a standard rating itself: no next one
        (30.0 * (1 + 1e-12), 30.0),
        (30.1, 35.0),
        (6.1, 6.1),  # 10 A is over 1.5 times
        (6.67, 10.0),
        (0.0, 0.0),
        (500.5, 600.0),
    ],
)
def test_next_size_up_of_small_craft_from_fifty_volts(ampere: float, most: float) -> None:
    """33 CFR 183.455(c)(2), read: the amperage, or the next standard size up if that is at most 150 %."""
    found = fuse_limit(SMALL, of_ampacity(ampere), 50.0)
    assert isinstance(found, FuseLimit)
    assert found.value == pytest.approx(most)


@pytest.mark.parametrize(("ampere", "most"), [(28.0, 30.0), (66.0, 70.0), (6.1, 10.0), (750.0, 800.0), (801.0, 801.0)])
def test_next_size_up_of_premises(ampere: float, most: float) -> None:
    """NEC 240.4(B), secondary: the next standard rating up, not above 800 A."""
    found = fuse_limit(PREMISES, of_ampacity(ampere), 14.6)
    assert isinstance(found, FuseLimit)
    assert found.value == pytest.approx(most)


def test_cords_take_their_own_unwound_value_on_every_basis() -> None:
    laying = wire(14, cord=True, together=2, coiled=True)
    for basis in (SMALL, PREMISES):
        assert rated(basis, laying).value == pytest.approx(18 * 0.22)
        assert limit(basis, laying).value == pytest.approx(18.0)
    metric = Laying("4 mm2", 4e-6, ambient=30.0, cord=True, together=2)
    assert limit(IEC, metric).value == 30.0


@pytest.mark.parametrize(
    ("rating", "share"),
    [(16.0, 0.906), (63.0, 0.906), (160.0, 0.906), (1250.0, 0.906), (15.0, 0.763), (10.0, 0.763), (4.0, 0.690), (2.0, 0.690)],
)
def test_iec_shares_of_gg_fuses(rating: float, share: float) -> None:
    """IEC 60364-4-43 433.1 with the multiples of IEC 60269: 1.6 from 16 A (secondary), below from memory."""
    found = fuse_limit(IEC, of_ampacity(100.0), 230.0, rating=rating, family="gG")
    assert isinstance(found, FuseLimit)
    assert found.value == pytest.approx(100 * share, abs=0.06)
    assert found.remembered == (rating < 16)


@pytest.mark.parametrize(
    ("ampere", "most"),
    [
        (100.0, 90.625),
        (17.7, 16.04),
        (17.0, 1.45 * 17 / 1.9),
        (8.0, 1.45 * 8 / 1.9),
        (5.0, 1.45 * 5 / 2.1),
        (4.0, 1.45 * 4 / 2.1),
    ],
)
def test_iec_limit_without_a_rating_finds_its_own_multiple(ampere: float, most: float) -> None:
    found = fuse_limit(IEC, of_ampacity(ampere), 230.0, family="gG")
    assert isinstance(found, FuseLimit)
    assert found.value == pytest.approx(most, rel=1e-3)


def test_other_devices_from_their_own_multiple() -> None:
    """MCB 1.45 (IEC 60898-1, secondary), blade 1.35 (ISO 8820-3, from memory), or as the device declares."""
    breaker = fuse_limit(IEC, of_ampacity(20.0), 48.0, rating=20.0, family="MCB")
    blade = fuse_limit(IEC, of_ampacity(20.0), 14.6, rating=20.0, family="blade")
    declared = fuse_limit(IEC, of_ampacity(20.0), 14.6, rating=20.0, must_open=2.0)
    nothing = fuse_limit(IEC, of_ampacity(20.0), 14.6, rating=20.0)
    assert isinstance(breaker, FuseLimit)
    assert isinstance(blade, FuseLimit)
    assert isinstance(declared, FuseLimit)
    assert isinstance(nothing, FuseLimit)
    assert (breaker.value, breaker.remembered) == (20.0, False)
    assert (blade.value, blade.remembered) == (20.0, True)
    assert (declared.value, declared.unchecked) == (14.5, "")
    assert (nothing.value, nothing.unchecked) == (20.0, "multiple of its rating at which the device must open")


def test_the_voltage_is_asked_for_where_it_decides() -> None:
    assert fuse_limit(SMALL, of_ampacity(20.0), None) == Unknown("highest voltage of the wire")
    assert isinstance(fuse_limit(PREMISES, of_ampacity(20.0), None), FuseLimit)


@pytest.mark.parametrize(
    ("basis", "current", "below", "above"),
    [(PREMISES, 34.0, 30.0, 35.0), (PREMISES, 35.0, 35.0, 35.0), (SMALL, 7.0, 6.0, 7.5), (IEC, 64.0, 63.0, 70.0)],
)
def test_standard_ratings_around_a_current(basis: object, current: float, below: float, above: float) -> None:
    assert rating_at_most(basis, current) == below  # type: ignore[arg-type]
    assert rating_at_least(basis, current) == above  # type: ignore[arg-type]


def test_beyond_the_standard_ratings_there_is_none() -> None:
    assert rating_at_most(PREMISES, 0.5) is None
    assert rating_at_least(PREMISES, 6000.1) is None
    assert list(standard_ratings(IEC)) == sorted(standard_ratings(IEC))


def test_largest_rating_for_a_remedy() -> None:
    assert largest_rating(SMALL, rated(SMALL, wire(14)), 14.6) == 50.0  # 52.5 A allowed
    assert largest_rating(PREMISES, rated(PREMISES, wire(14)), 14.6) == 15.0
    assert largest_rating(IEC, of_ampacity(36.0), 14.6, family="gG") == 32.0  # 0.906 x 36 = 32.6 A
    assert largest_rating(IEC, of_ampacity(17.0), 14.6, family="gG") == 10.0  # 16 A asks for 17.7 A; 13 A for 17.03 A
    assert largest_rating(SMALL, rated(SMALL, wire(14)), None) is None


# ---- the smallest size that mends something


def size(basis: object, laying: Laying, needed: Demand, **terminal: object) -> str | None:
    found = smallest_for_current(basis, laying, needed, **terminal)  # type: ignore[arg-type]
    return None if found is None else found.gauge.text


def test_smallest_size_for_a_current_keeps_the_way_of_laying() -> None:
    bundle = wire(16, together=6, bundled_length=1.0, voltage=14.6)
    assert size(SMALL, bundle, demand(SMALL, 28.0)) == "14 AWG"  # 35 x 0.8
    assert size(SMALL, bundle, demand(SMALL, 28.1)) == "12 AWG"
    assert size(SMALL, wire(16, insulation=105.0), demand(SMALL, 446.0)) is None


def test_smallest_size_speaks_the_system_of_the_wire() -> None:
    metric = Laying("1.5 mm2", 1.5e-6, ambient=30.0, insulation=70.0, method="C")
    assert size(IEC, metric, demand(IEC, 36.1)) == "6 mm2"
    assert size(SMALL, Laying("1.5 mm2", 1.5e-6, ambient=30.0, insulation=105.0), demand(SMALL, 35.0)) == "2.5 mm2"
    assert [gauge.text for gauge in gauges(metric=True)][:4] == ["0.5 mm2", "0.75 mm2", "1 mm2", "1.5 mm2"]


def test_smallest_size_with_cool_terminals() -> None:
    assert size(SMALL, wire(16), demand(SMALL, 30.0)) == "14 AWG"
    assert size(SMALL, wire(16), demand(SMALL, 30.0), terminal=75.0, terminals=True) == "10 AWG"
    assert size(SMALL, wire(16), demand(SMALL, 30.0), terminals=True) == "10 AWG"  # unmarked: 60 degC, 40 A


def test_continuous_current_on_premises_is_held_against_the_table() -> None:
    """1.25 x 24 = 30 A of Table 310.16 at 75 degC: 10 AWG has 35 A, 12 AWG 25 A."""
    assert size(PREMISES, wire(12, insulation=75.0), demand(PREMISES, 24.0)) == "10 AWG"
    assert size(PREMISES, wire(12, insulation=75.0), demand(PREMISES, 0.0, 24.0)) == "12 AWG"


def test_smallest_size_behind_a_fuse() -> None:
    def behind(basis: object, laying: Laying, rating: float, **device: object) -> str | None:
        found = smallest_for_fuse(basis, laying, rating, **device)  # type: ignore[arg-type]
        return None if found is None else found.gauge.text

    assert behind(SMALL, wire(18, voltage=14.6), 40.0) == "14 AWG"
    assert behind(PREMISES, wire(18), 40.0) == "8 AWG"
    assert behind(PREMISES, wire(18), 20.0) == "12 AWG"
    metric = Laying("1.5 mm2", 1.5e-6, ambient=30.0, insulation=70.0, method="C")
    assert behind(IEC, metric, 20.0, family="gG") == "2.5 mm2"
    assert behind(IEC, metric, 20.0) is None, "without a multiple nothing can be promised"
