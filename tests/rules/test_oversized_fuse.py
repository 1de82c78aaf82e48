"""F2 and F3: how large a fuse may be for a conductor, by basis; a gauge reduced without a fuse at the joint."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest


def box(
    rating: str,
    gauge: str = "14 AWG",
    basis: str = "us-small-craft",
    insulation: str = "105 degC insulation",
    more: str = "",
    lay: str = "in free air",
) -> str:
    return f"""rig "Box", revision 1
basis {basis}
site {{ ambient 0 degC to 30 degC }}
all wires {{ copper; {insulation}; {lay}; 2 m long }}
battery house {{ LFP, 4 cells, 60 Ah; internal resistance 9 mohm }}
fuse main {{ {rating}; line on house.plus }}
load lamp 5 A
wire feed from main.load to lamp.plus {{ {gauge} }}
wire back from lamp.minus to house.minus {{ {gauge} }}
{more}"""


@pytest.mark.parametrize(
    ("text", "limit", "broken"),
    [
        # Catalogue, F2, Ex: 14 AWG 105 degC 35 A: 60 A > 52.5 -> error; 40 A passes small craft; on premises 15 A
        (box("60 A"), 52.5, True),
        (box("40 A"), 52.5, False),
        (box("52.5 A"), 52.5, False),  # exactly at the limit
        (box("52.6 A"), 52.5, True),
        (box("40 A", basis="us-premises", insulation="90 degC insulation"), 15.0, True),
        (box("15 A", basis="us-premises", insulation="90 degC insulation"), 15.0, False),
        # readings.md, F2: small conductors 18/16/14/12/10 AWG at most 7/10/15/20/30 A
        (box("7 A", "18 AWG", "us-premises", "90 degC insulation"), 7.0, False),
        (box("10 A", "18 AWG", "us-premises", "90 degC insulation"), 7.0, True),
        (box("30 A", "10 AWG", "us-premises", "90 degC insulation"), 30.0, False),
        # 10 AWG 75 degC 40 A (33 CFR 183.425 Table 5): 60 A
        (box("60 A", "10 AWG", insulation="75 degC insulation"), 60.0, False),
        (box("70 A", "10 AWG", insulation="75 degC insulation"), 60.0, True),
    ],
)
def test_limits_of_the_bases(said: Callable[..., Any], text: str, limit: float, broken: bool) -> None:
    found = said(text, "oversized_fuse")
    if broken:
        finding = found.finding("feed", "too-large")
        assert finding.limit.value == pytest.approx(limit)
        assert found.grades == [("feed", "too-large", "error")]
    else:
        assert found.grades == []
        assert found.passed("feed", "too-large").limit.value == pytest.approx(limit)


def test_remedy_says_what_it_counts_on(said: Callable[..., Any]) -> None:
    """NFPA 70, Table 310.16: 2/0 AWG at 90 degC 195 A, so 200 A; with 31 to 40 conductors together 0.40, 78 A, so 80 A."""
    text = box("225 A", "2/0 AWG", "us-premises", "90 degC insulation", lay="in conduit")
    finding = said(text, "oversized_fuse").finding("feed")
    assert finding.limit.value == pytest.approx(200.0)
    assert finding.remedy.startswith("Make main 200 A or less (80 A while not all is said of feed), or use")
    alone = said(text.replace("in conduit", "in conduit; bundle of 2"), "oversized_fuse").finding("feed")
    assert alone.remedy.startswith("Make main 200 A or less, or use")


def test_message_names_basis_device_and_wire_and_the_remedy_has_numbers(said: Callable[..., Any]) -> None:
    finding = said(box("60 A"), "oversized_fuse").finding("feed")
    assert finding.message == "feed: main is a 60 A fuse; on us-small-craft this 14 AWG may lie behind 52.5 A at most."
    assert finding.remedy == "Make main 50 A or less, or use 12 AWG or larger for feed."  # 12 AWG: 45 A, 67.5 A
    assert [item.message for item in finding.related] == ["the rating of main"]


def test_from_50_volts_the_ampacity_itself_or_the_next_size_holds(said: Callable[..., Any]) -> None:
    # 33 CFR 183.455(c)(2); 16 LFP cells hold 52.8 V: 35 A is a standard rating itself, so that no next size is used
    text = box("40 A").replace("LFP, 4 cells", "LFP, 16 cells")
    assert said(text, "oversized_fuse").finding("feed").limit.value == pytest.approx(35.0)
    # A set-point of 51 V counts although the battery rests below 50 V.
    lead = box(
        "40 A",
        more="mains charger depot { 5 A; absorption 51 V; no equalise }\nwire in from depot.plus to main.load { 14 AWG }\nwire out from depot.minus to house.minus { 14 AWG }\n",
    )
    lead = lead.replace("LFP, 4 cells", "48 V")
    assert said(lead, "oversized_fuse").finding("feed").limit.value == pytest.approx(35.0)


def test_iec_holds_the_smaller_of_the_ampacity_and_its_must_open_rule(said: Callable[..., Any]) -> None:
    def grades(device: str) -> list[Any]:
        return said(box(device, "1.5 mm2", "iec", "90 degC insulation", lay="method C"), "oversized_fuse").grades

    # 1.5 mm2, XLPE, method C: 24 A (IEC 60364-5-52 Table B.52.4). gG from 16 A: 0.906 x 24 = 21.7 A
    assert grades("20 A gG") == []
    assert grades("25 A gG") == [("feed", "too-large", "error")]
    # A gG fuse of 10 A: 0.763 x 24 = 18.3 A
    assert grades("10 A gG") == []
    # Without a family nothing tells at what multiple it opens.
    text = box("20 A", "1.5 mm2", "iec", "90 degC insulation", lay="method C")
    assert said(text, "oversized_fuse").missing == [
        ("feed", "too-large", "multiple of its rating at which the device must open of main")
    ]
    assert grades("20 A; must open at 1.3 times its rating") == []
    assert grades("20 A; must open at 1.9 times its rating") == [("feed", "too-large", "error")]


def test_iec_small_fuse_by_a_remembered_multiple_is_a_warning(said: Callable[..., Any]) -> None:
    # 1.5 mm2 in hot air carries 10 to 13 A: a 10 A fuse breaks 0.763 x I_z only, a multiple from memory.
    text = box("10 A gG", "1.5 mm2", "iec", "70 degC insulation", lay="method C").replace("to 30 degC", "to 53 degC")
    finding = said(text, "oversized_fuse").finding("feed")
    assert finding.limit.value < 10 < finding.limit.value / 0.763
    assert said(text, "oversized_fuse").grades == [("feed", "too-large", "warning")]


def test_cord_takes_its_own_value_and_no_more(said: Callable[..., Any]) -> None:
    # NEC Table 400.5(A)(1): 14 AWG cord of two cores 18 A
    cord = """cable reel { flexible cord; 14 AWG; 10 m long
  core out from main.load to far.plus
  core home from far.minus to house.minus }
load far 2 A
"""
    text = box("20 A", more=cord)
    finding = said(text, "oversized_fuse").finding("reel.out")
    assert finding.limit.value == pytest.approx(18.0)
    assert "cord" in finding.message
    assert ("reel.out", "step-down", "error") in said(text, "oversized_fuse").grades
    assert all(chief != "reel.out" for chief, _, _ in said(box("15 A", more=cord), "oversized_fuse").grades)


# F3 ----------------------------------------------------------------------------------------------------------------


def tap(fuse: str, gauge: str = "18 AWG", insulation: str = "60 degC insulation", length: str = "1 m") -> str:
    """Catalogue, F3, Ex: a 30 A feeder tapped by an 18 AWG, 60 degC meter lead."""
    more = f"""bus hall 50 A
meter gauge 0.1 A
wire run from feeder.load to hall {{ 10 AWG }}
wire lead from hall to gauge.plus {{ {gauge}; {insulation}; {length} }}
wire under from gauge.minus to house.minus {{ {gauge}; {insulation} }}
fuse feeder {{ {fuse}; line on house.plus }}
"""
    return box("40 A", more=more)


def test_catalogue_example_of_a_step_down(said: Callable[..., Any]) -> None:
    finding = said(tap("30 A"), "oversized_fuse").finding("lead", "step-down")
    assert (finding.measured.value, finding.limit.value) == (30.0, 15.0)
    assert "begins at hall" in finding.message
    assert "15 A or less within 0.178 m (7 in) of hall" in finding.remedy
    assert [item.message for item in finding.related][1] == "run, which feeder does protect"
    fused = (
        tap("30 A").replace("from hall to gauge.plus", "from tapfuse.load to gauge.plus")
        + "fuse tapfuse { 1 A; line on hall }\n"
    )
    assert said(fused, "oversized_fuse").grades == []
    assert said(tap("15 A"), "oversized_fuse").grades == []


def test_stub_to_a_fuse_of_its_own_is_measured_from_the_joint(said: Callable[..., Any]) -> None:
    def stubbed(length: str) -> str:
        text = tap("30 A").replace("wire lead from hall to gauge.plus", "wire lead from tapfuse.load to gauge.plus")
        return (
            text + f"fuse tapfuse {{ 1 A }}\nwire stub from hall to tapfuse.line {{ 18 AWG; 60 degC insulation; {length} }}\n"
        )

    passed = said(stubbed("0.178 m"), "oversized_fuse").passed("stub", "step-down")
    assert (passed.measured.value, passed.limit.value) == (0.178, 0.178)
    assert said(stubbed("0.3 m"), "oversized_fuse").grades == [("stub", "step-down", "error")]
    assert said(stubbed("0.3 m; in conduit"), "oversized_fuse").grades == []


@pytest.mark.parametrize(
    ("source", "grade"),
    [
        ("mains charger more { 10 A; absorption 14.2 V; float 13.5 V }", "step-down"),
        ("battery more { same as house }", "too-large"),
    ],
)
def test_short_stub_that_ends_at_a_source_has_no_fuse_of_its_own(said: Callable[..., Any], source: str, grade: str) -> None:
    # Catalogue, F3: the fuse before the joint is small enough, else there is a fuse at the joint, and the distance is that to it.
    # 18 AWG at 105 degC carries 20 A (33 CFR 183.425 Table 5): 30 A; a stub that the other battery feeds too begins at no joint, F2.
    more = f"""{source}
bus hall
wire on from main.load to hall {{ 6 AWG }}
wire stub from hall to more.plus {{ 18 AWG; 0.1 m }}
wire home from more.minus to house.minus {{ 6 AWG }}"""
    found = said(box("60 A", "6 AWG", more=more), "oversized_fuse")
    assert found.grades == [("stub", grade, "error")]
    assert found.finding("stub").limit.value == pytest.approx(30.0)


def test_rating_that_nobody_said_is_asked_for(said: Callable[..., Any]) -> None:
    assert said(box("family blade"), "oversized_fuse").missing == [("feed", "too-large", "rated current of main")]


def test_gauge_and_lie_that_nobody_said_are_asked_for(said: Callable[..., Any]) -> None:
    text = box("40 A").replace("{ 14 AWG }", "{ }")
    assert said(text, "oversized_fuse").missing == [("feed", "too-large", "gauge")]
    lying = box("40 A").replace("in free air; ", "")
    (missing,) = said(lying, "oversized_fuse").missing
    assert missing[:2] == ("feed", "too-large")
    assert said(lying.replace("40 A", "10 A"), "oversized_fuse").missing == []  # small enough however it lies
    assert said(lying.replace("40 A", "60 A"), "oversized_fuse").grades == [("feed", "too-large", "error")]


def test_what_far_fuse_tells_and_what_no_source_can_overload_is_left_out(said: Callable[..., Any]) -> None:
    more = """load fan 1 A
array roof { Voc 22 V; Vmp 18 V; Isc 5 A; Imp 4.6 A }
controller sun { MPPT; 10 A; no current back into the array }
wire open from house.plus to fan.plus { 14 AWG }
wire openback from fan.minus to house.minus { 14 AWG }
wire pv from roof.plus to sun.pv_plus { 14 AWG }
"""
    conditions = {item.condition for item in said(box("40 A", more=more), "oversized_fuse").idle}
    assert "no device stands before it (far-fuse tells of that)" in conditions
    assert "no source can push more than it carries" in conditions


# readings.md, A7: the battery behind a controller ------------------------------------------------------------------------


def sunny(says: str, strings: str = "2 in parallel; ") -> str:
    more = f"""array roof {{ Voc 22 V; Vmp 18 V; Isc 5 A; Imp 4.6 A; {strings}}}
controller sun {{ MPPT; 30 A; {says} }}
wire charge from main.load to sun.batt_plus {{ 10 AWG }}
wire chargeback from sun.batt_minus to house.minus {{ 10 AWG }}
wire pv from roof.plus to sun.pv_plus {{ 14 AWG }}
wire pvback from roof.minus to sun.pv_minus {{ 14 AWG }}
"""
    return box("60 A", "10 AWG", more=more)


def test_controller_that_lets_current_back_puts_the_battery_fuse_before_the_array_lead(said: Callable[..., Any]) -> None:
    assert said(sunny("lets current back into the array"), "oversized_fuse").finding("pv").limit.value == pytest.approx(52.5)
    assert said(sunny("no current back into the array"), "oversized_fuse").grades == []


def test_controller_that_does_not_say_is_asked_for_two_strings_and_more(said: Callable[..., Any]) -> None:
    missing = "whether sun lets current back into the array"
    assert ("pv", "too-large", missing) in said(sunny(""), "oversized_fuse").missing
    assert said(sunny("", strings=""), "oversized_fuse").missing == []


def test_fault_that_is_certain_is_told_beside_a_datum_that_is_missing(said: Callable[..., Any]) -> None:
    more = "battery twin { same as house }\ntwin.minus on house.minus\nfuse other { blade; line on twin.plus; load on main.load }\n"
    found = said(box("60 A", more=more), "oversized_fuse")
    assert found.grades == [("feed", "too-large", "error")]
    assert found.missing == []


# Air as hot as the insulation bears, or hotter: nothing may flow, so that no fuse is small enough.

HOT = """rig "Box in the sun", revision 1
basis {basis}
site {{ ambient 20 degC to {air} degC }}
all wires {{ copper; 60 degC insulation; in free air; 14 AWG; 1 m }}
battery house {{ LFP, 4 cells, 100 Ah; internal resistance 5 mohm }}
fuse main {{ 20 A gG; breaks 5 kA at 32 V dc; line on house.plus }}
load lathe 10 A
wire out from main.load to lathe.plus
wire back from lathe.minus to house.minus
"""


@pytest.mark.parametrize("basis", ["us-small-craft", "us-premises", "iec"])
@pytest.mark.parametrize("air", [60, 61, 75, 200])
def test_no_fuse_is_small_enough_where_the_air_is_too_hot(said: Callable[..., Any], basis: str, air: int) -> None:
    finding = said(HOT.format(basis=basis, air=air), "oversized_fuse").finding("out")
    assert (finding.grade, finding.measured.value, finding.limit.value) == ("too-large", 20.0, 0.0)
    assert finding.message == (
        f"out: main is a 20 A fuse; in air of {air} degC this 14 AWG with insulation of 60 degC may carry nothing, so that no fuse is "
        "small enough for it."
    )
    assert finding.remedy.startswith(f"Use insulation that bears well over {air} degC, or lay it where the air is cooler")


def test_the_ampacity_says_the_same(said: Callable[..., Any]) -> None:
    finding = said(HOT.format(basis="iec", air=75), "undersized_wire").finding("out")
    assert (finding.measured.value, finding.limit.value) == (10.0, 0.0)
    assert (
        "10 A flows here in state 'lathe on'; in air of 75 degC this 14 AWG with insulation of 60 degC may carry nothing."
        in finding.message
    )
    assert "no larger size helps" in finding.remedy


def test_device_at_the_joint_that_is_too_large_itself_is_no_step_down(said: Callable[..., Any]) -> None:
    # Catalogue, F2 and F3: a step-down is a joint without a fuse; here one stands there, and it is the one that is too large: 14 AWG 35 A x 1.5 = 52.5 A
    text = box("100 A", "4 AWG", more="""fuse branch { 60 A; line on lamp.plus }
load fan 1 A
wire thin from branch.load to fan.plus { 14 AWG }
wire under from fan.minus to house.minus { 14 AWG }
""")  # fmt: skip
    finding = said(text, "oversized_fuse").finding("thin", "too-large")
    assert finding.message == "thin: branch is a 60 A fuse; on us-small-craft this 14 AWG may lie behind 52.5 A at most."
    assert said(text.replace("60 A; line", "50 A; line"), "oversized_fuse").grades == []


def test_a_combination_of_selectors_that_shorts_the_battery_makes_no_return_live(said: Callable[..., Any]) -> None:
    """Kirchhoff: in it plus lies on the bar of the returns; unsafe-order tells that, and no other wire is too thin for it."""
    text = """rig "Brake", revision 1
basis us-small-craft
site { ambient 0 degC to 30 degC }
all wires { copper; 105 degC insulation; in free air; 0.1 m; 4 AWG }
battery house { LFP, 4 cells, 100 Ah; internal resistance 5 mohm }
fuse main { 80 A; line on house.plus }
fuse small { 5 A; line on house.plus }
bus returns
selector bow { 100 A; position haul joins up; position pay joins down }
selector brake { 100 A; position free joins nothing; position held joins end }
load winch { 20 A; motor }
load lamp 1 A
wires { a from main.load to bow.up; b from bow.down to returns; c from bow.common to winch.plus; d from winch.minus to returns
  e from returns to house.minus; f from bow.common to brake.common; g from brake.end to main.load }
wire h from small.load to lamp.plus { 16 AWG }
wire i from lamp.minus to returns { 16 AWG }
"""
    assert not said(text, "oversized_fuse").findings
    assert said(text, "unsafe_order").findings
