"""Rule bank-voltage: the fault catalogue's example C9, what a bank is held against, selectors, loops and their resistance, missing data."""

from __future__ import annotations

import pytest

HEAD = 'rig "Bank", revision 1\nbasis us-small-craft\nsystem 12 V\nall wires { 6 AWG; 0.3 m }\n'
PAIR = (
    "battery one { LFP, 4 cells, 60 Ah; internal resistance 9 mohm }\n"
    "battery two { LFP, 4 cells, 60 Ah; internal resistance 9 mohm }\n"
)
PARALLEL = "wire upper from one.plus to two.plus\nwire lower from one.minus to two.minus\n"
SERIES = "wire link from one.plus to two.minus\n"
LAMP = "load lamp 5 A\nwire feed from two.plus to lamp.plus\nwire back from lamp.minus to one.minus\n"


def test_catalogue_c9(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, C9, Ex: two 12.8 V wired 25.6 V on 12 V bus -> error."""
    found = said(HEAD + PAIR + SERIES + LAMP, "bank_voltage")
    assert found.grades == [("one", "off-nominal", "error")]
    finding = found.finding("one")
    assert finding.subject == ("one", "two", "lamp")
    assert (finding.measured.value, finding.limit.value, finding.sense) == (pytest.approx(25.6), pytest.approx(13.2), "at-most")
    assert finding.message == "one and two as wired give 25.6 V to lamp; the system is one of 12 V."
    assert finding.remedy.startswith("Join them in parallel, which gives 12.8 V")


def test_parallel_pair_passes(said) -> None:  # type: ignore[no-untyped-def]
    found = said(HEAD + PAIR + PARALLEL + LAMP, "bank_voltage")
    assert found.grades == []
    assert found.passed("one", "off-nominal").measured.value == pytest.approx(12.8)
    assert found.passed("one", "loop").measured.value == 0.0


@pytest.mark.parametrize(
    ("nominal", "broken", "sense"),
    [
        ("13.2 V", False, "at-most"), ("13.21 V", True, "at-most"), ("10.8 V", False, "at-least"), ("10.79 V", True, "at-least"),
        ("12 V", False, "at-most"),
    ],
)  # fmt: skip
def test_ten_percent_either_way(said, nominal: str, broken: bool, sense: str) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, C9: 10 % either way; at equality it holds."""
    text = HEAD + f"battery one {{ other lithium; nominal {nominal}; 60 Ah }}\n"
    found = said(text, "bank_voltage")
    assert [item[1] for item in found.grades] == (["off-nominal"] if broken else [])
    told = found.findings[0] if broken else found.passed("one")
    assert told.sense == sense


def test_lead_cells_count_two_volts(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, C9: 2.0 V per lead cell."""
    found = said(HEAD + "battery one { AGM, 6 cells, 60 Ah }\n", "bank_voltage")
    assert found.passed("one").measured.value == pytest.approx(12.0)


def test_what_a_load_says_counts_before_the_system(said) -> None:  # type: ignore[no-untyped-def]
    """The second bank feeds a thing for 24 V only; the bank of the largest battery stays with the system's voltage."""
    second = (
        "battery big { LFP, 8 cells, 20 Ah; internal resistance 9 mohm }\nload radio { 2 A; VOLT }\n"
        "wire b1 from big.plus to radio.plus\nwire b2 from radio.minus to big.minus\n"
    )
    good = said(HEAD + PAIR + PARALLEL + LAMP + second.replace("VOLT", "24 V"), "bank_voltage")
    assert good.grades == []
    assert good.passed("big").limit.value == pytest.approx(26.4)
    bad = said(HEAD + PAIR + PARALLEL + LAMP + second.replace("VOLT", "36 V"), "bank_voltage").finding("big")
    assert bad.message == "big as wired gives 25.6 V to radio, which is made for 36 V."
    assert (bad.limit.value, bad.sense) == (pytest.approx(32.4), "at-least")
    main = said(HEAD + PAIR + SERIES + LAMP.replace("5 A", "{ 5 A; 24 V }"), "bank_voltage").finding("one")
    assert main.limit.value == pytest.approx(13.2)


def test_a_range_is_held_at_both_ends(said) -> None:  # type: ignore[no-untyped-def]
    text = HEAD.replace("system 12 V\n", "") + PAIR + SERIES + LAMP.replace("5 A", "{ 5 A; nominal 12 V to 24 V }")
    assert said(text, "bank_voltage").passed("one").limit.value == pytest.approx(26.4)


def test_coil_counts_with_its_own_voltage(said) -> None:  # type: ignore[no-untyped-def]
    coil = "relay gate { coil 24 V; coil 2 W }\nwire c1 from one.plus to gate.coil_plus\nwire c2 from gate.coil_minus to one.minus\n"
    text = HEAD + "battery one { LFP, 4 cells, 60 Ah }\n" + coil
    assert said(text, "bank_voltage").finding("one").limit.value == pytest.approx(21.6)


def test_every_position_of_a_selector(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, C9: in every switch position. Position 2 joins a bank of 24 V, which no declared state uses."""
    text = HEAD + (
        "battery small { LFP, 4 cells, 60 Ah; internal resistance 9 mohm }\n"
        "battery large { LFP, 8 cells, 30 Ah; internal resistance 9 mohm }\n"
        'selector choice { position "1" joins one; position "2" joins two }\nload lamp 5 A\n'
        "wire s1 from small.plus to choice.one\nwire s2 from large.plus to choice.two\nwire feed from choice.common to lamp.plus\n"
        "wire back from lamp.minus to small.minus\nwire lower from small.minus to large.minus\n"
        'state "lit" { choice at "1"; lamp on }\n'
    )
    found = said(text, "bank_voltage")
    assert [item[:2] for item in found.grades] == [("large", "off-nominal")]
    assert found.findings[0].state == "resting, choice at 2"
    assert found.passed("small").limit.value == pytest.approx(13.2)


def test_short_circuited_string_is_left_to_its_own_rule(said) -> None:  # type: ignore[no-untyped-def]
    text = HEAD + "battery one { LFP, 4 cells, 60 Ah }\nwire slip from one.plus to one.minus\n"
    found = said(text, "bank_voltage")
    assert found.grades == []
    assert [item.condition for item in found.idle] == ["short-circuited, which is a matter of its own"]


UNLIKE = (
    "battery one { LFP, 4 cells, 60 Ah; internal resistance 9 mohm }\n"
    "battery two { flooded, 6 cells, 80 Ah; OHM }\n"
)  # fmt: skip


def test_loop_of_unlike_batteries(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, C9: no loop with net EMF over 0.5 V and below 0.1 ohm at equal charge."""
    found = said(HEAD + UNLIKE.replace("OHM", "internal resistance 6 mohm") + PARALLEL + LAMP, "bank_voltage")
    finding = found.finding("one", "loop")
    # 4 x 2.5 V empty LFP (from memory) against 6 x 1.98 V flooded (rest voltages of the package): 10.0 V and 11.89 V.
    assert finding.measured.value == pytest.approx(1.89, abs=0.01)
    # 6 AWG 1.296 mohm/m (catalogue), twice 0.3 m, and 15 mohm of batteries.
    assert finding.working[2].value == pytest.approx(0.01578, rel=1e-3)
    assert {state.state for state in finding.states} >= {"stored", "lamp on"}


@pytest.mark.parametrize(("ohm", "grades"), [("90 mohm", ["loop"]), ("91 mohm", []), ("200 mohm", [])])
def test_a_tenth_of_an_ohm(said, ohm: str, grades: list[str]) -> None:  # type: ignore[no-untyped-def]
    """9 mohm of the other battery, and 0.78 mohm of wires: 99.8 and 100.8 mohm."""
    found = said(HEAD + UNLIKE.replace("OHM", f"internal resistance {ohm}") + PARALLEL + LAMP, "bank_voltage")
    assert [item[1] for item in found.grades] == grades
    assert bool(found.idle) is not bool(grades)


@pytest.mark.parametrize(
    ("said_of_it", "missing"),
    [
        ("80 Ah", "internal resistance"), ("internal resistance at most 200 mohm", "internal resistance"),
        ("internal resistance at most 20 mohm", ""), ("internal resistance 80 mohm to 200 mohm", ""),
    ],
)  # fmt: skip
def test_unknown_resistance(said, said_of_it: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    """Readings: the lower end counts; an upper bound alone leaves it unchecked, unless even the bound decides."""
    text = (
        HEAD + UNLIKE.replace("80 Ah; OHM", said_of_it if said_of_it == "80 Ah" else f"80 Ah; {said_of_it}") + PARALLEL + LAMP
    )
    found = said(text, "bank_voltage")
    assert [item[2] for item in found.missing if item[1] == "loop"] == ([missing] if missing else [])
    assert [item[1] for item in found.grades] == ([] if missing else ["loop"])


@pytest.mark.parametrize(("volt", "broken"), [("13.5 V", False), ("13.51 V", True)])
def test_half_a_volt(said, volt: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    text = HEAD + (
        "battery one { other lithium; nominal 12 V; 60 Ah; internal resistance 9 mohm; rests at 13.0 V at 50 % }\n"
        f"battery two {{ other lithium; nominal 12 V; 60 Ah; internal resistance 9 mohm; rests at {volt} at 50 % }}\n"
    )
    found = said(text + PARALLEL + LAMP, "bank_voltage")
    assert [item[1] for item in found.grades] == (["loop"] if broken else [])


def test_string_that_feeds_nothing_is_held_against_the_system(said) -> None:  # type: ignore[no-untyped-def]
    """Two in series with a third on the same minus: the string is told with its own members only."""
    third = "battery third { LFP, 4 cells, 60 Ah }\nwire lower from one.minus to third.minus\n"
    found = said(HEAD + PAIR + SERIES + third, "bank_voltage")
    assert [item.subject for item in found.findings] == [("one", "two")]
    assert found.findings[0].message == "one and two as wired give 25.6 V; the system is one of 12 V."
    assert found.passed("third").measured.value == pytest.approx(12.8)
    assert found.findings[0].working[0].expression == "4 cells of LFP x 3.2 V"


def test_loop_leaves_out_what_stands_before_it(said) -> None:  # type: ignore[no-untyped-def]
    """A battery in series with two that stand side by side is no part of their loop."""
    base = "battery base { LFP, 4 cells, 60 Ah; internal resistance 9 mohm }\nwire up from base.plus to one.minus\n"
    lamp = "load lamp 5 A\nwire feed from two.plus to lamp.plus\nwire back from lamp.minus to base.minus\n"
    text = HEAD.replace("12 V", "24 V") + base + UNLIKE.replace("OHM", "internal resistance 6 mohm") + PARALLEL + lamp
    found = said(text, "bank_voltage")
    assert [item.subject for item in found.findings] == [("one", "two")]
    assert "would flow between them" in found.findings[0].message
    assert found.findings[0].working[-1].value == pytest.approx(1.89 / 0.01578, rel=1e-2)


def test_only_what_gets_a_wrong_voltage_is_named(said) -> None:  # type: ignore[no-untyped-def]
    more = "load radio { 1 A; nominal 24 V }\nwire r1 from two.plus to radio.plus\nwire r2 from radio.minus to one.minus\n"
    finding = said(HEAD + PAIR + SERIES + LAMP + more, "bank_voltage").finding("one")
    assert finding.subject == ("one", "two", "lamp")


def test_what_is_missing(said) -> None:  # type: ignore[no-untyped-def]
    found = said(HEAD.replace("system 12 V\n", "") + PAIR + PARALLEL + LAMP, "bank_voltage")
    assert found.missing == [("one", "off-nominal", "nominal system voltage")]
    found = said(HEAD + "battery one { 60 Ah }\n", "bank_voltage")
    assert found.missing == [("one", "off-nominal", "chemistry and cells of one")]


def test_no_battery(said) -> None:  # type: ignore[no-untyped-def]
    assert [item.condition for item in said(HEAD + "load lamp 1 A\n", "bank_voltage").idle] == ["no battery"]
