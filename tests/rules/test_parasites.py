"""Rule parasites: the fault catalogue's example K3 end to end, the allowance a pack, edges, what is missing."""

from __future__ import annotations

import pytest

BUILD = """rig "Lantern", revision 1
battery house { BATTERY }
meter gauge METER
wires measured 1 uohm {
  a from house.plus to gauge.plus
  c from gauge.minus to house.minus
}
"""


def build(meter: str = "20 mA", battery: str = "AGM, 6 cells, 18 Ah") -> str:
    return BUILD.replace("METER", meter).replace("BATTERY", battery)


def test_catalogue_k3(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, K3, Ex: voltmeter 20 mA·730=14.6 Ah/month on 18 Ah -> flat in 5 weeks -> warning."""
    found = said(build(), "parasites")
    assert found.grades == [("house", "over-allowance", "warning")]
    finding = found.finding("house")
    assert (finding.measured.value, finding.limit.value) == (pytest.approx(0.020), 0.005)
    assert finding.message == (
        "house: stored as in state 'stored', 20 mA stay on (gauge 20 mA); 5 mA is the usual allowance for one pack."
        " They alone empty 18 Ah in 1.23 months."
    )
    assert finding.remedy == "Put gauge behind a switch that is open in storage: 0 mA stay on."


@pytest.mark.parametrize(("meter", "broken"), [("4.9 mA", False), ("5 mA", False), ("5.1 mA", True)])
def test_edge(said, meter: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    assert bool(said(build(meter), "parasites").findings) is broken


def test_the_management_system_counts_and_the_allowance_is_a_pack(said) -> None:  # type: ignore[no-untyped-def]
    """Readings, K1: K1 and K3 count BMS drain; K3's 5 mA is per pack."""
    lithium = "LFP, 4 cells, 18 Ah; bms { own drain 3 mA }"
    assert said(build("3 mA", lithium), "parasites").finding("house").measured.value == pytest.approx(0.006)
    pack = "battery pack { LFP, 4 cells, 18 Ah; bms { own drain 3 mA } }\nwire p from pack.plus to house.plus\nwire q from pack.minus to house.minus\n"
    both = said(build("3 mA", lithium) + pack, "parasites").passed("house")
    assert (both.measured.value, both.limit.value) == (pytest.approx(0.009), pytest.approx(0.010))


def test_the_remedy_names_the_fewest(said) -> None:  # type: ignore[no-untyped-def]
    more = "meter bar 6 mA\nwire x from house.plus to bar.plus\nwire y from bar.minus to house.minus\n"
    finding = said(build("3 mA") + more, "parasites").finding("house")
    assert finding.remedy == "Put bar behind a switch that is open in storage: 3 mA stays on."


def test_missing_data_are_named(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build('{ described as "LED" }'), "parasites")
    assert found.missing == [("house", "over-allowance", "own drain of gauge")]
    assert not found.passes
    assert said(build("6 mA", "LFP, 4 cells, 18 Ah"), "parasites").findings


def test_a_load_that_is_always_on_is_a_parasite(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, K3: each permanently fed device counts, whatever kind of part it is."""
    more = "load beacon { 8 mA; always on }\nwire x from house.plus to beacon.plus\nwire y from beacon.minus to house.minus\n"
    finding = said(build("3 mA") + more, "parasites").finding("house")
    assert finding.measured.value == pytest.approx(0.011)
    assert "(beacon 8 mA, gauge 3 mA)" in finding.message
    assert not said(build("3 mA") + more.replace("; always on", ""), "parasites").findings
