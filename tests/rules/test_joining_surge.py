"""Rule joining-surge: the fault catalogue's examples C6, published rows of joined batteries, rules and devices, chains, missing data."""

from __future__ import annotations

import pytest

PACK = "LFP, 4 cells, 100 Ah; internal resistance OHM; FACTS"


def pair(
    facts: str, switch: str = "link { 30 A }", ohm: str = "10 mohm", way: str = "2 mohm", more: str = "", link: str = "switch"
) -> str:
    """Two packs that a switch joins; half of the way lies before it, half in the return."""
    pack = PACK.replace("OHM", ohm).replace("FACTS", facts)
    half = f"measured {float(way.split()[0]) / 2:g} mohm"
    return (
        f'rig "Pair", revision 1\nsystem 12 V\nbattery a {{ {pack} }}\nbattery b {{ {pack} }}\n{link} {switch}\n'
        f"wire w1 from a.plus to link.line, {half}\nwire w2 from a.minus to b.minus, {half}\nlink.load on b.plus\n{more}"
    )


RULE = "procedure { join packs within 0.2 V }\n"


def test_catalogue_c6_over_the_connector(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, C6, Ex: 13.5-12.8 = 0.7 V over 22 mohm = 31.8 A vs 30 A -> error; vs 20 A charge limit alone -> warning."""
    rest = "rest 13.5 V full; rest 12.8 V empty"
    found = said(pair(f"{rest}; charge at most 100 A"), "joining_surge")
    assert [item[1:] for item in found.grades] == [("over-rating", "error")]
    finding = found.findings[0]
    assert finding.measured.value == pytest.approx(31.8, abs=0.05)
    assert finding.limit.value == 30.0
    charge = said(pair(f"{rest}; charge at most 20 A", "link { 32 A }"), "joining_surge")
    assert [item[1:] for item in charge.grades] == [("over-charge", "warning")]
    assert charge.findings[0].measured.value == pytest.approx(31.8, abs=0.05)
    assert charge.passed("a", "over-rating").measured.value == pytest.approx(31.8, abs=0.05)


def test_catalogue_c6_posted_rule(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, C6, Ex: with a posted 0.2 V rule 9.1 A by the rule, 72.7 A (full against 10 %) without it -> warning; without the rule an error."""
    facts = "rest 13.6 V full; rest 12.0 V empty; charge at most 100 A"
    found = said(pair(facts, more=RULE), "joining_surge")
    assert [item[1:] for item in found.grades] == [("by-rule", "warning")]
    assert found.findings[0].measured.value == pytest.approx(72.7, abs=0.05)
    assert "With the posted rule of 0.2 V it is 9.09 A" in found.findings[0].message
    assert [item[1:] for item in said(pair(facts), "joining_surge").grades] == [("over-rating", "error")]


def test_catalogue_c6_tripped_pack(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, C6, Ex: tripped pack at 11.2 V: 2.4/0.022 = 109 A -> error without rule or device. 13.6 V is full LFP by the table."""
    facts = "charge at most 200 A; bms { low cut-off 11.2 V }"
    found = said(pair(facts), "joining_surge")
    assert [item[1:] for item in found.grades] == [("over-rating", "error")]
    assert found.findings[0].measured.value == pytest.approx(109.1, abs=0.05)
    device = said(pair(facts, "link { 30 A; joins through a precharge resistor }"), "joining_surge")
    assert device.grades == []
    assert device.passed("a", "over-rating")


@pytest.mark.parametrize(
    ("full", "low", "ohm", "way", "ampere"),
    [
        ("12.75 V", "12.6 V", "14 mohm", "2 mohm", 5.0),
        ("13.35 V", "13.05 V", "5 mohm", "2 mohm", 25.0),
        ("13.60 V", "12.00 V", "5 mohm", "2 mohm", 133.3),
        ("12.65 V", "11.89 V", "6 mohm", "2 mohm", 54.3),
    ],
)
def test_published_equalising_currents(said, full: str, low: str, ohm: str, way: str, ampere: float) -> None:  # type: ignore[no-untyped-def]
    """I0 = (V1 - V2)/(R1 + R2 + R_link): 0.15 V / 0.03 ohm = 5 A (published, read at a secondary source); 0.30 V / 0.012 ohm, 1.60 V / 0.012 ohm and
    0.76 V / 0.014 ohm (derived beside it for two batteries and a cable)."""
    found = said(pair(f"rest {full} full; rest {low} empty; charge at most 500 A", "link { 500 A }", ohm, way), "joining_surge")
    assert found.passed("a", "over-rating").measured.value == pytest.approx(ampere, abs=0.05)


@pytest.mark.parametrize(("rated", "broken"), [("100 A", False), ("99.9 A", True), ("100.1 A", False)])
def test_rating_at_its_edge(said, rated: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    found = said(pair("rest 13.2 V full; rest 11 V empty; charge at most 500 A", f"link {{ {rated} }}"), "joining_surge")
    assert bool(found.grades) == broken


def test_lower_end_of_the_resistance_counts(said) -> None:  # type: ignore[no-untyped-def]
    """Readings.md, Battery resistance: the measured value less its tolerance; with an upper bound alone not checked."""
    facts = "rest 13.2 V full; rest 11 V empty; charge at most 500 A"
    found = said(pair(facts, "link { 500 A }", "10 mohm plus or minus 1 mohm"), "joining_surge")
    assert found.passed("a", "over-rating").measured.value == pytest.approx(2.2 / 0.020)
    bound = said(pair(facts, "link { 500 A }", "at most 10 mohm"), "joining_surge")
    assert bound.missing[0] == ("a", "over-rating", "measured internal resistance of a")


def test_copper_counts_at_20_degrees(said) -> None:  # type: ignore[no-untyped-def]
    """Readings.md, Solver: largest-current checks take copper at 20 degC, however hot the site. 6 AWG: 1.296 mohm/m (catalogue)."""
    text = pair("rest 13.2 V full; rest 11 V empty; charge at most 500 A", "link { 500 A }").replace(
        "measured 1 mohm", "6 AWG, 1 m"
    )
    hot = text.replace("system 12 V", "system 12 V\nsite { ambient 0 degC to 60 degC }")
    assert said(hot, "joining_surge").passed("a", "over-rating").measured.value == pytest.approx(2.2 / 0.022592, rel=1e-3)


CHAIN = """rig "Chain", revision 1
system 12 V
battery main { LFP, 4 cells, 100 Ah; internal resistance 10 mohm; charge at most 500 A; rest 13 V full; rest 11 V empty }
battery one { same as main except { 50 Ah } }
battery two { same as main except { 50 Ah } }
switch s1 { 500 A }
switch s2 { 500 A }
wires { a from main.plus to s1.line, measured 5 mohm; b from one.plus to s2.line, measured 5 mohm }
s1.load on one.plus
s2.load on two.plus
one.minus on main.minus
two.minus on main.minus
"""


def test_chain_of_three(said) -> None:  # type: ignore[no-untyped-def]
    """Worst of the joints of a chain. First: main (10) over 5 against one (10) beside two (10 + 5): 15 + 6 = 21 mohm, or against one alone 25 mohm. Second: two
    (10) over 5 against one (10) beside main (15): 15 + 6 = 21 mohm. In the contact 2 V / 21 mohm; into two all of it."""
    found = said(CHAIN, "joining_surge")
    assert found.passed("main", "over-rating").measured.value == pytest.approx(2 / 0.021)
    assert found.passed("main", "over-charge").measured.value == pytest.approx(2 / 0.021)
    limited = said(CHAIN.replace("switch s2 { 500 A }", "switch s2 { 90 A }"), "joining_surge")
    finding = limited.findings[0]
    assert (finding.grade, finding.subject[:2]) == ("over-rating", ("two", "s2"))
    assert finding.measured.value == pytest.approx(2 / 0.021)


def test_fuses_part_a_bank_where_nothing_else_does(said) -> None:  # type: ignore[no-untyped-def]
    """Readings.md, C6: a plug, switch, contactor or fuse lies between the packs."""
    found = said(pair("rest 13.2 V full; rest 11 V empty; charge at most 500 A", "link { 60 A }", link="fuse"), "joining_surge")
    assert [item[1:] for item in found.grades] == [("over-rating", "error")]
    assert "through link, which is rated for 60 A" in found.findings[0].message


def test_joined_for_good_is_a_note(said) -> None:  # type: ignore[no-untyped-def]
    text = pair("rest 13.2 V full; rest 11 V empty; charge at most 50 A").replace("switch link { 30 A }", "bus link 50 A").replace("link.load on b.plus", "wire w3 from link to b.plus, measured 1 mohm").replace("link.line", "link")  # fmt: skip
    found = said(text, "joining_surge")
    assert [item[1:] for item in found.grades] == [("work-step", "note")]


def test_contacts_of_a_plug(said) -> None:  # type: ignore[no-untyped-def]
    plug = (
        'rig "Plug", revision 1\nsystem 12 V\nbattery a { LFP, 4 cells, 100 Ah; internal resistance 10 mohm; charge at most 500 A; bms { low cut-off 11 V } }\n'
        'battery b { same as a }\nconnector socket with plug { 2 pins; RATING; contact resistance 1 mohm; family "two"; pin 1 plus; pin 2 minus }\n'
        "socket.1 on a.plus\nsocket.2 on a.minus\nplug.1 on b.plus\nplug.2 on b.minus\n"
    )
    found = said(plug.replace("RATING", "75 A"), "joining_surge")
    assert found.findings[0].measured.value == pytest.approx(2.6 / 0.022)
    assert "of which a contact carries 75 A" in found.findings[0].message
    silent = said(plug.replace("RATING; ", ""), "joining_surge")
    assert silent.grades == []
    assert silent.missing == [("a", "over-rating", "current of a contact of socket")]


def test_what_is_asked_for(said) -> None:  # type: ignore[no-untyped-def]
    none = pair("charge at most 50 A; bms { low cut-off 11 V }", "link { 500 A }").replace("internal resistance 10 mohm; ", "")
    assert said(none, "joining_surge").missing[0] == ("a", "over-rating", "internal resistance of a")
    plain = pair("charge at most 500 A").replace("LFP, 4 cells,", "nominal 12 V;")
    assert said(plain, "joining_surge").missing[0] == ("a", "over-rating", "chemistry and cells of a")
    no_limit = said(pair("bms { low cut-off 11 V }", "link { 500 A }"), "joining_surge")
    assert no_limit.missing == [("a", "over-charge", "charge current limit of b")]


def test_single_battery(said) -> None:  # type: ignore[no-untyped-def]
    found = said('rig "One", revision 1\nbattery a { LFP, 4 cells, 100 Ah }\n', "joining_surge")
    assert [item.condition for item in found.idle] == ["no batteries lie side by side"]


def test_strings_in_parallel_count_as_packs(said) -> None:  # type: ignore[no-untyped-def]
    """Two strings of two: twice the voltage over twice the resistance of the batteries."""
    text = (
        'rig "S", revision 1\nsystem 24 V\n'
        + "".join(
            f"battery {n} {{ LFP, 4 cells, 100 Ah; internal resistance 10 mohm; charge at most 500 A; rest 13 V full; rest 11 V empty }}\n"
            for n in "abcd"
        )
        + "switch link { 500 A }\nwires { w1 from a.plus to b.minus, measured 1 mohm; w2 from c.plus to d.minus, measured 1 mohm }\n"
        "wire w3 from b.plus to link.line, measured 2 mohm\nlink.load on d.plus\na.minus on c.minus\n"
    )
    assert said(text, "joining_surge").passed("a", "over-rating").measured.value == pytest.approx(4 / 0.044)


def test_lowest_voltage_under_load_is_no_rest_voltage(said) -> None:  # type: ignore[no-untyped-def]
    """Readings.md, C6: "empty" = the declared low cut-off at rest, else 0 % of the rest table: 1.9667 V a cell of AGM, 2.1417 V full."""
    text = pair("charge at most 500 A; lowest 10.5 V", "link { 500 A }").replace("LFP, 4 cells", "AGM, 6 cells")
    assert said(text, "joining_surge").passed("a", "over-rating").measured.value == pytest.approx(6 * (2.1417 - 1.9667) / 0.022)


def test_plugs_of_a_row_joined_through_a_device(said) -> None:  # type: ignore[no-untyped-def]
    """A row may say through what its packs are joined, for all of its links."""
    row = (
        'rig "Row", revision 1\nsystem 12 V\nassembly extra {\n'
        "  battery cells { LFP, 4 cells, 50 Ah; internal resistance 10 mohm; charge at most 20 A; bms { low cut-off 11 V } }\n"
        '  connector inlet { 2 pins; 75 A; contact resistance 1 mohm; family "two"; pin 1 plus; pin 2 minus }\n'
        '  connector outlet { 2 pins; 75 A; contact resistance 1 mohm; family "two"; pin 1 plus; pin 2 minus }\n'
        "  bus p 100 A\n  bus m 100 A\n  cells.plus on p\n  cells.minus on m\n  inlet.1 on p\n  inlet.2 on m\n  outlet.1 on p\n  outlet.2 on m\n"
        "  port inlet at inlet\n  port outlet at outlet\n}\n"
        "battery main { LFP, 4 cells, 100 Ah; internal resistance 10 mohm; charge at most 80 A; bms { low cut-off 11 V } }\n"
        'connector socket { 2 pins; 75 A; contact resistance 1 mohm; family "two"; pin 1 plus; pin 2 minus }\n'
        "socket.1 on main.plus\nsocket.2 on main.minus\n"
        "row packs of 2 extra { starts at socket; joins inlet to outlet; 0 to 2 joined MORE }\n"
    )
    direct = said(row.replace("MORE", ""), "joining_surge")
    assert [item[1:] for item in direct.grades] == [("over-rating", "error")]
    assert said(row.replace("MORE", "; through a precharge resistor"), "joining_surge").grades == []


SELECTOR = """rig "Two banks", revision 1
system 12 V
battery house { LFP, 4 cells, 100 Ah; internal resistance 10 mohm; charge at most 20 A }
battery start { AGM, 6 cells, 60 Ah; internal resistance 10 mohm; charge at most 20 A }
selector choice { 100 A; POSITIONS }
load lamp 5 A
wires { a from house.plus to choice.one; b from start.plus to choice.two; c from choice.common to lamp.plus; d from lamp.minus to house.minus; e from house.minus to start.minus }
"""


def test_selector_that_never_joins_both(said) -> None:  # type: ignore[no-untyped-def]
    """Positions of a selector are not closed at the same time: only "both" makes a bank of the two."""
    apart = SELECTOR.replace("POSITIONS", 'position "1" joins one; position "2" joins two')
    assert [item.condition for item in said(apart, "joining_surge").idle] == ["no batteries lie side by side"]
    assert said(apart, "unlike_packs").grades == []
    both = SELECTOR.replace("POSITIONS", 'position "1" joins one; position "2" joins two; position both joins one, two')
    assert [item[1:] for item in said(both, "joining_surge").grades] == [("over-rating", "error")]
    assert [item[1] for item in said(both, "unlike_packs").grades] == ["chemistry", "capacity"]


def test_links_of_a_row_that_may_not_be_joined(said) -> None:  # type: ignore[no-untyped-def]
    row = (
        'rig "Row", revision 1\nsystem 12 V\nassembly extra {\n'
        "  battery cells { LFP, 4 cells, 50 Ah; internal resistance 10 mohm; charge at most 20 A }\n"
        '  connector inlet { 2 pins; 75 A; family "two"; pin 1 plus; pin 2 minus }\n'
        '  connector outlet { 2 pins; 75 A; family "two"; pin 1 plus; pin 2 minus }\n'
        "  bus p 100 A\n  bus m 100 A\n  cells.plus on p\n  cells.minus on m\n  inlet.1 on p\n  inlet.2 on m\n  outlet.1 on p\n  outlet.2 on m\n"
        "  port inlet at inlet\n  port outlet at outlet\n}\n"
        "battery main { LFP, 4 cells, 100 Ah; internal resistance 10 mohm; charge at most 80 A }\n"
        'connector socket { 2 pins; 75 A; family "two"; pin 1 plus; pin 2 minus }\nsocket.1 on main.plus\nsocket.2 on main.minus\n'
        "row packs of 3 extra { starts at socket; joins inlet to outlet; 0 to MOST joined }\n"
    )
    two = said(row.replace("MOST", "2"), "joining_surge").findings[0]
    assert "packs[3].cells" not in two.subject
    three = said(row.replace("MOST", "3"), "joining_surge").findings[0]
    assert "packs[3].cells" in three.subject


def test_next_pack_alone_takes_it_all(said) -> None:  # type: ignore[no-untyped-def]
    """The last pack of a chain is full, the next one low, the main one still apart: 2 V over 10 + 5 + 10 mohm into the middle one; every other way gives it less."""
    chain = CHAIN.replace("s1.line, measured 5 mohm", "s1.line, measured 15 mohm").replace("same as main except { 50 Ah }", "same as main except { 50 Ah; charge at most 75 A }", 1)  # fmt: skip
    finding = said(chain, "joining_surge").findings[0]
    assert (finding.grade, finding.subject[0]) == ("over-charge", "one")
    assert finding.measured.value == pytest.approx(2 / 0.025)


def test_all_of_the_near_side_low(said) -> None:  # type: ignore[no-untyped-def]
    """The last pack never falls below 12.9 V: only where it is full and both others are low do 2 V drive through the second switch: 15 mohm and 10 beside 25."""
    chain = CHAIN.replace("s1.line, measured 5 mohm", "s1.line, measured 15 mohm").replace("switch s2 { 500 A }", "switch s2 { 85 A }").replace("battery two { same as main except { 50 Ah } }", "battery two { same as main except { 50 Ah; bms { low cut-off 12.9 V } } }")  # fmt: skip
    finding = said(chain, "joining_surge").findings[0]
    assert (finding.grade, finding.subject[:2]) == ("over-rating", ("two", "s2"))
    assert finding.measured.value == pytest.approx(2 / (0.015 + 1 / (1 / 0.010 + 1 / 0.025)))
