"""F9: the sum of all feeds that can push into one conductor, by device ratings and source limits."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest


def bench(
    charger: str = "30 A",
    fuse: str = "40 A",
    gauge: str = "10 AWG",
    more: str = "",
    out: str = "hall",
    basis: str = "us-small-craft",
) -> str:
    """Catalogue, F9, Ex: battery 40 A and charger 30 A join on 10 AWG of 75 degC (40 A)."""
    return f"""rig "Bench", revision 1
basis {basis}
site {{ ambient 0 degC to 30 degC }}
all wires {{ copper; 75 degC insulation; in free air; 1 m }}
battery house {{ LFP, 4 cells, 100 Ah; internal resistance 5 mohm }}
mains charger depot {{ {charger}; absorption 14.2 V }}
fuse main {{ {fuse}; line on house.plus }}
bus hall 100 A
load lathe 30 A
wire in1 from main.load to hall {{ 8 AWG }}
wire in2 from depot.plus to hall {{ 8 AWG }}
wire out from {out} to lathe.plus {{ {gauge} }}
wires 8 AWG {{ back from lathe.minus to house.minus; under from depot.minus to house.minus }}
{more}"""


def test_catalogue_example(said: Callable[..., Any]) -> None:
    finding = said(bench(), "two_feeds").finding("out")
    assert (finding.measured.value, finding.limit.value) == (70.0, pytest.approx(60.0))
    assert "30 A from depot and 40 A through main can come in at hall together, 70 A" in finding.message
    assert "60 A or less" in finding.remedy and "8 AWG or larger" in finding.remedy
    assert said(bench(), "two_feeds").grades == [("out", "over-sum", "error")]


def test_fuse_of_the_branch_itself_mends_it(said: Callable[..., Any]) -> None:
    found = said(bench(out="own.load", more="fuse own { 40 A; line on hall }\n"), "two_feeds")
    assert found.grades == []
    assert "one device or one limited source bounds what can flow into it" in {item.condition for item in found.idle}


@pytest.mark.parametrize(("charger", "broken"), [("20 A", False), ("19.9 A", False), ("20.1 A", True)])
def test_edge(said: Callable[..., Any], charger: str, broken: bool) -> None:
    found = said(bench(charger), "two_feeds")
    assert bool(found.grades) is broken
    if not broken:
        passed = found.passed("out")
        assert passed.limit.value == pytest.approx(60.0)
        assert passed.measured.value == pytest.approx(40.0 + float(charger.split()[0]))


def test_factor_of_the_basis(said: Callable[..., Any]) -> None:
    # us-premises: 1.0 x 10 AWG of 75 degC in free air (NEC Table 310.17: 50 A)
    finding = said(bench("20 A", basis="us-premises"), "two_feeds").finding("out")
    assert (finding.measured.value, finding.limit.value) == (60.0, pytest.approx(50.0))


def test_larger_of_the_two_ends_counts(said: Callable[..., Any]) -> None:
    # 40 A can come in at one end of the link and 30 A at the other: neither end alone has two feeds.
    more = "bus yard 60 A\nwire link from hall to yard { 12 AWG }\nmains charger barn { 10 A; absorption 14 V }\nwire in3 from barn.plus to yard { 12 AWG }\nwire under3 from barn.minus to house.minus { 14 AWG }\n"
    found = said(bench("5 A", "30 A", more=more), "two_feeds")
    assert found.passed("link").measured.value == pytest.approx(35.0)


def test_fuses_side_by_side_add(said: Callable[..., Any]) -> None:
    text = bench("1 A", "60 A", more="fuse twin { 60 A; line on house.plus; load on main.load }\n")
    finding = said(text, "two_feeds").finding("in1")  # 8 AWG of 75 degC: 65 A, 97.5 A
    assert (finding.measured.value, finding.limit.value) == (120.0, pytest.approx(97.5))


def test_source_without_a_device_is_left_to_far_fuse(said: Callable[..., Any]) -> None:
    text = bench().replace("line on house.plus", "line on x") + "bus x 100 A\n"
    text = text.replace("wire in1 from main.load", "wire in1 from house.plus")
    found = said(text, "two_feeds")
    assert found.grades == []
    assert "a source stands behind it without a device (far-fuse tells of that)" in {item.condition for item in found.idle}


def test_what_is_not_declared_is_asked_for_only_where_it_decides(said: Callable[..., Any]) -> None:
    text = bench("absorption 14.3 V").replace("; absorption 14.2 V", "")
    assert said(text, "two_feeds").missing == [("out", "over-sum", "rated current of depot")]
    silent = said(bench(fuse="family blade"), "two_feeds")
    assert ("out", "over-sum", "rated current of main") in silent.missing
    assert said(bench("80 A", fuse="family blade"), "two_feeds").grades == []  # 80 A alone is one piece: not this rule's


def test_gauge_that_nobody_said(said: Callable[..., Any]) -> None:
    text = bench().replace("wire out from hall to lathe.plus { 10 AWG }", "wire out from hall to lathe.plus")
    assert said(text, "two_feeds").missing == [("out", "over-sum", "gauge")]
