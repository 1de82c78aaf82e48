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


# A conductor that ends in a device of its own (catalogue, F9: "or the branch has its own fuse"; F1: how far from the joint it may stand).


def stub(length: str = "150 mm", laid: str = "in free air", own: str = "40 A", more: str = "") -> str:
    """The catalogue's bench with a fuse between hall and lathe at the end of the wire `out`."""
    text = bench(more=f"fuse own {{ {own} }}\nwire on from own.load to lathe.plus {{ 10 AWG; not enclosed }}\n{more}")
    text = text.replace(
        "wire out from hall to lathe.plus { 10 AWG }", f"wire out from hall to own.line {{ 10 AWG; {length}; {laid} }}"
    )
    return text.replace("in free air; 1 m", "in free air; 1 m; not enclosed")


def test_stub_that_ends_in_its_own_fuse_near_the_joint_passes_with_that(said: Callable[..., Any]) -> None:
    found = said(stub(), "two_feeds")
    assert found.grades == []
    passed = found.passed("out")
    assert (passed.measured.value, passed.limit.value) == (40.0, pytest.approx(60.0))


@pytest.mark.parametrize(
    ("length", "laid", "broken"),
    [
        ("7 in", "not enclosed", False),  # 33 CFR 183.455(b): 7 in
        ("7.1 in", "not enclosed", True),
        ("7.1 in", "enclosed all the way", False),
        ("40 in", "enclosed all the way", False),  # 33 CFR 183.455(b): 40 in where enclosed
        ("40.1 in", "enclosed all the way", True),
    ],
)
def test_edge_of_the_distance(said: Callable[..., Any], length: str, laid: str, broken: bool) -> None:
    grades = said(stub(length, laid), "two_feeds").grades
    assert grades == ([("out", "over-sum", "error")] if broken else [])


def test_finding_names_the_device_that_stands_too_far(said: Callable[..., Any]) -> None:
    finding = said(stub("0.5 m", "not enclosed"), "two_feeds").finding("out")
    told = (
        "It ends in own, which lets out no more than 40 A, but 0.5 m of it lie between it and hall (0.178 m, 7 in, is allowed)"
    )
    assert told in finding.message
    assert "bring what it ends in within" in finding.remedy.lower() and "enclose it all the way" in finding.remedy
    assert "a device that it ends in: own" in {related.message for related in finding.related}


def test_device_of_its_own_must_be_small_enough(said: Callable[..., Any]) -> None:
    assert said(stub(own="60 A"), "two_feeds").grades == []
    assert said(stub(own="61 A"), "two_feeds").grades == [("out", "over-sum", "error")]


def test_what_hangs_beside_the_device_has_none(said: Callable[..., Any]) -> None:
    more = (
        "load lamp 1 A\nwire tap from own.line to lamp.plus { 10 AWG }\nwire lback from lamp.minus to house.minus { 8 AWG }\n"
    )
    assert ("out", "over-sum", "error") in said(stub(more=more), "two_feeds").grades


def test_what_decides_about_the_device_is_asked_for(said: Callable[..., Any]) -> None:
    assert ("out", "over-sum", "rated current of own") in said(stub(own="family blade"), "two_feeds").missing
    silent = stub("0.5 m", "bundled with 1").replace("in free air; 1 m; not enclosed", "1 m")
    assert ("out", "over-sum", "whether out is enclosed all the way") in said(silent, "two_feeds").missing
    unmeasured = stub("75 degC insulation", "not enclosed").replace("; 1 m; not enclosed", "; not enclosed")
    assert ("out", "over-sum", "length of out") in said(unmeasured, "two_feeds").missing


def test_feeds_behind_a_lead_still_count_as_two_where_one_is_not_declared(said: Callable[..., Any]) -> None:
    """Behind a lead that battery and charger share, a fuse without a rating leaves the sum open: that is not checked, never a single feed."""
    behind = bench(out="shed", more="bus shed 100 A\nwire lead from hall to shed { 8 AWG }\n")
    found = said(behind.replace("fuse main { 40 A; ", "fuse main { "), "two_feeds")
    assert {item.subject[0] for item in found.unchecked} >= {"lead", "out"}
