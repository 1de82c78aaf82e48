"""Rule shared-return: the fault catalogue's example D11 end to end, who comes back through a wire, and what wins over undersized-wire."""

from __future__ import annotations

from datetime import date

import pytest
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader
from ohmwright_rules import PACK

BUILD = """rig "Three lamps", revision 1
basis us-small-craft
site { ambient 0 degC to 30 degC }
battery house { LFP, 4 cells, 100 Ah; internal resistance 4 mohm }
load left LEFT
load right RIGHT
load rear REAR
bus minus
all wires { 14 AWG; copper; 75 degC insulation; in free air; 0.4 m }
wire feed_left from house.plus to left.plus
wire feed_right from house.plus to right.plus
wire feed_rear from house.plus to rear.plus
wire from_left from left.minus to minus
wire from_right from right.minus to minus
wire from_rear from rear.minus to minus
wire back from minus to house.minus
"""


def build(left: str = "15 A", right: str = "15 A", rear: str = "15 A") -> str:
    return BUILD.replace("LEFT", left).replace("RIGHT", right).replace("REAR", rear)


def test_catalogue_d11(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, D11, Ex: three 15 A feeds share one 14 AWG 75 degC negative: 45 A vs 20 A -> error."""
    found = said(build(), "shared_return")
    assert found.grades == [("back", "over-ampacity", "error")]
    finding = found.finding("back")
    assert (finding.measured.value, finding.limit.value) == (pytest.approx(45.0), 20.0)
    assert finding.message == (
        "back: 45 A returns here in state 'all loads on', 15 A from left, 15 A from rear and 15 A from right; "
        "this 14 AWG is rated for 20 A."
    )
    assert finding.remedy == "Use 8 AWG or larger, or give each feed a return of its own, or bring the current to 20 A or less."
    assert [item.span.line for item in finding.related] == [5, 7, 6]
    assert {item.condition: item.count for item in found.idle} == {
        "not on the return side": 3,
        "the current of one feed only returns through it": 3,
    }


@pytest.mark.parametrize(("rear", "broken"), [("10 A", False), ("9.99 A", False), ("10.01 A", True)])
def test_edges(said, rear: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """5 A + 5 A + 10 A = 20 A, the value of 14 AWG at 75 degC in 33 CFR 183.425 Table 5: at equality it holds."""
    found = said(build("5 A", "5 A", rear), "shared_return")
    assert bool(found.findings) is broken
    if not broken:
        assert found.passed("back").limit.value == 20.0


def test_one_feed_is_no_shared_return(said) -> None:  # type: ignore[no-untyped-def]
    """A single overloaded feed is a matter of undersized-wire; so is a return whose worst state has one load only."""
    text = build("30 A", "1 A", "1 A") + "never together left, right\nnever together left, rear\n"
    assert not said(text, "shared_return").findings
    assert {item[0] for item in said(text, "undersized_wire").grades} == {"back", "feed_left", "from_left"}


def test_two_ways_of_one_feed_are_one_feed(said) -> None:  # type: ignore[no-untyped-def]
    """Two wires from one load to the bus bring one sender, not two."""
    text = build("30 A", "1 A", "1 A").replace("load right 1 A", "").replace("load rear 1 A", "")
    text = text.replace("wire feed_right from house.plus to right.plus\n", "").replace(
        "wire feed_rear from house.plus to rear.plus\n", ""
    )
    text = text.replace("from_right from right.minus", "from_right from left.minus").replace(
        "wire from_rear from rear.minus to minus\n", ""
    )
    found = said(text, "shared_return")
    assert not found.findings
    assert not found.passes


def test_a_battery_on_charge_sends_current_back_too(said) -> None:  # type: ignore[no-untyped-def]
    text = """rig "Two packs on one charger", revision 1
basis us-small-craft
site { ambient 0 degC to 30 degC }
battery one { LFP, 4 cells, 100 Ah; internal resistance 4 mohm }
battery two { LFP, 4 cells, 100 Ah; internal resistance 4 mohm }
mains charger depot { 40 A; absorption 14.4 V }
bus plus
bus minus
all wires { 10 AWG; copper; 75 degC insulation; in free air; 0.4 m }
wire a from plus to one.plus
wire b from plus to two.plus
wire c from one.minus to minus
wire d from two.minus to minus
wire out from depot.plus to plus { 4 AWG }
wire home from minus to depot.minus { 12 AWG }
"""
    finding = said(text, "shared_return").finding("home")
    assert finding.measured.value == pytest.approx(40.0)
    assert "20 A from one and 20 A from two" in finding.message


def test_more_than_four_feeds_are_counted(said) -> None:  # type: ignore[no-untyped-def]
    text = build("6 A", "5 A", "4 A")
    for number, current in enumerate((3, 2, 1)):
        text += f"load spot{number} {current} A\nwire p{number} from house.plus to spot{number}.plus\n"
        text += f"wire m{number} from spot{number}.minus to minus\n"
    message = said(text, "shared_return").finding("back").message
    assert "6 A from left, 5 A from right, 4 A from rear, 3 A from spot0 and 2 more" in message


def test_continuous_current_counts_more_on_premises(said) -> None:  # type: ignore[no-untyped-def]
    """NEC 210.19 and Table 310.17: 1.25 x 25 A = 31.25 A over the 30 A of 14 AWG at 75 degC in free air."""
    finding = said(build("10 A", "10 A", "5 A"), "shared_return", basis="us-premises").finding("back")
    assert finding.measured.value == pytest.approx(31.25)
    assert "25 A returns here" in finding.message
    assert "against 31.2 A with the continuous part counted 1.25 times" in finding.message


def test_what_is_missing_and_what_does_not_apply(said) -> None:  # type: ignore[no-untyped-def]
    text = build("5 A", "5 A", "5 A")
    assert said(text.replace("; in free air", ""), "shared_return").missing[0][:2] == ("back", "over-ampacity")
    assert {item[2] for item in said(text.replace("basis us-small-craft\n", ""), "shared_return").missing} == {"basis"}
    cord = text.replace("wire back from minus to house.minus", "wire back from minus to house.minus { flexible cord }")
    assert "a cord, which its own table judges (overloaded-cord)" in [
        item.condition for item in said(cord, "shared_return").idle
    ]


def test_it_wins_over_undersized_wire_on_the_return() -> None:
    """Readings, One cause, one finding: shared return D11 > D1; the feeds are left alone."""
    options = InspectOptions(today=date(2026, 1, 1), only=("shared-return", "undersized-wire"))
    result = inspect_files(["box.rig"], Loader(MemoryFiles({"box.rig": build("15 A", "15 A", "25 A")})), options, (PACK,))
    (done,) = result.builds
    assert [(item.rule.id, item.finding.subject[0]) for item in done.findings] == [
        ("undersized-wire", "feed_rear"),
        ("undersized-wire", "from_rear"),
        ("shared-return", "back"),
    ]
    assert [(item.rule.id, item.finding.subject[0]) for item in done.yielded] == [("undersized-wire", "back")]
