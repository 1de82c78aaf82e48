"""Rule reserve-drained: the fault catalogue's example K4 end to end, edges, what is missing."""

from __future__ import annotations

import pytest

DAY = 86400.0


def build(bms: str, battery: str = "LFP, 4 cells, 100 Ah") -> str:
    inside = f"; bms {{ {bms} }}" if bms else ""
    return f'rig "Winter box", revision 1\nbattery house {{ {battery}{inside} }}\n'


def test_catalogue_k4(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, K4, Ex: 5 Ah/15 mA = 333 h = 13.9 days -> warning."""
    found = said(build("own drain 15 mA; charge left after cut-off 5 Ah"), "reserve_drained")
    assert found.grades == [("house", "under-a-month", "warning")]
    finding = found.finding("house")
    assert finding.measured.value == pytest.approx(5 * 3600 / 0.015)
    assert finding.measured.value / 3600 == pytest.approx(333, abs=0.5)
    assert finding.limit.value == 30 * DAY
    assert finding.message.startswith(
        "house: after its low cut-off 5 Ah are left, and its BMS goes on taking 15 mA: they last 13.9 days, 30 days are the least."
    )
    assert finding.remedy.startswith(
        "Use one that takes 6.94 mA or less after its cut-off, let it cut off with 10.8 Ah or more left"
    )


@pytest.mark.parametrize(
    ("bms", "broken"),
    [
        ("own drain 10 mA; charge left after cut-off 7.19 Ah", True),
        ("own drain 10 mA; charge left after cut-off 7.2 Ah", False),
        ("own drain 10 mA; charge left after cut-off 7.21 Ah", False),
        ("own drain 10 mA; charge left after cut-off 7.3 Ah plus or minus 0.2 Ah", True),
        ("own drain 10 mA plus or minus 1 mA; charge left after cut-off 7.3 Ah", True),
        ("own drain 50 mA; drain after cut-off 1 mA; charge left after cut-off 5 Ah", False),
        ("own drain 0.1 mA; drain after cut-off 15 mA; charge left after cut-off 5 Ah", True),
        ("own drain 0 mA", False),
        ("own drain 50 mA; no drain after cut-off", False),
    ],
)
def test_edge(said, bms: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    found = said(build(bms), "reserve_drained")
    assert bool(found.findings) is broken
    assert broken or found.passed("house")


@pytest.mark.parametrize(
    ("bms", "battery", "missing"),
    [
        ("own drain 15 mA", "LFP, 4 cells, 100 Ah", "charge left in house after its cut-off"),
        ("charge left after cut-off 5 Ah", "LFP, 4 cells, 100 Ah", "drain of the BMS of house after its cut-off"),
        ("", "LFP, 4 cells, 100 Ah", "management system of house"),
        ("", "12 V, 100 Ah", "management system of house"),
    ],
)
def test_missing_data_are_named(said, bms: str, battery: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(bms, battery), "reserve_drained")
    assert not found.findings
    assert found.missing == [("house", "under-a-month", missing)]


def test_the_drain_of_the_battery_is_that_of_its_bms(said) -> None:  # type: ignore[no-untyped-def]
    text = build("charge left after cut-off 5 Ah", "LFP, 4 cells, 100 Ah; own drain 15 mA")
    assert said(text, "reserve_drained").finding("house").measured.value == pytest.approx(5 * 3600 / 0.015)


@pytest.mark.parametrize(
    ("bms", "battery"),
    [
        ("", "AGM, 6 cells, 100 Ah"),
        ("", "LFP, 4 cells, 100 Ah; no bms"),
        ("cuts charge; own drain 15 mA; charge left after cut-off 5 Ah", "LFP, 4 cells, 100 Ah"),
    ],
)
def test_what_does_not_apply(said, bms: str, battery: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(bms, battery), "reserve_drained")
    assert not found.findings
    assert [(item.condition, item.count) for item in found.idle] == [
        ("it has no management system that cuts off the discharge", 1)
    ]
