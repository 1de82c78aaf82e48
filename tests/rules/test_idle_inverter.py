"""Rule idle-inverter: the fault catalogue's example K2 end to end, hours, banks, edges, what is missing."""

from __future__ import annotations

import pytest

BUILD = """rig "Van", revision 1
battery house { LFP, 4 cells, 100 Ah }
inverter mill { 600 W; IDLE }
wires 2 AWG, 0.4 m {
  a from house.plus to mill.plus
  b from mill.minus to house.minus
}
"""


def build(idle: str = "idle 10 W") -> str:
    return BUILD.replace("IDLE", idle)


def test_catalogue_k2(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, K2, Ex: 10 W·24=240/1280=18.8 % -> warning."""
    found = said(build(), "idle_inverter")
    assert found.grades == [("mill", "over-a-twentieth", "warning")]
    finding = found.finding("mill")
    assert finding.measured.value == pytest.approx(240 * 3600)
    assert finding.limit.value == pytest.approx(64 * 3600)
    assert finding.message == (
        "mill: left on, it draws 10 W with nothing plugged in, 240 Wh a day: 18.8 % of house. A twentieth is 64 Wh."
    )
    assert finding.remedy == (
        "Switch it on for 6.4 h a day at most, use one that sleeps by itself, or one that draws 2.67 W or less."
    )


@pytest.mark.parametrize(("idle", "broken"), [("idle 2.66 W", False), ("idle 2.6667 W", True), ("idle 2.6666 W", False)])
def test_edge(said, idle: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    assert bool(said(build(idle), "idle_inverter").findings) is broken


def test_one_that_sleeps_passes(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build("idle 10 W; sleeps"), "idle_inverter").passed("mill")


def test_hours_of_the_states_count_where_all_say(said) -> None:  # type: ignore[no-untyped-def]
    text = build() + "state evening { mill on; for 3 h/day }\nstate idle { mill off }\n"
    assert said(text, "idle_inverter").passed("mill").measured.value == pytest.approx(30 * 3600)
    open_ended = text + "state noon { mill on at 100 W }\n"
    assert said(open_ended, "idle_inverter").finding("mill").measured.value == pytest.approx(240 * 3600)


def test_a_state_in_which_nothing_feeds_it_counts_for_nothing(said) -> None:  # type: ignore[no-untyped-def]
    """Source: the rule's page; behind an open main switch it draws nothing, whatever its own switch does."""
    text = build().replace(
        "  a from house.plus to mill.plus", "  a from house.plus to main.line\n  c from main.load to mill.plus"
    )
    text += (
        "switch main 100 A\nall states { main closed }\nstate evening { mill on; for 3 h/day }\nstate stored { main open }\n"
    )
    assert said(text, "idle_inverter").passed("mill").measured.value == pytest.approx(30 * 3600)
    closed = text.replace("main open", "main closed")
    assert said(closed, "idle_inverter").finding("mill").measured.value == pytest.approx(240 * 3600)


def test_the_bank_counts_as_it_is_joined(said) -> None:  # type: ignore[no-untyped-def]
    pack = "battery pack { LFP, 4 cells, 50 Ah }\nwire p from pack.plus to house.plus\nwire q from pack.minus to house.minus\n"
    assert said(build() + pack, "idle_inverter").finding("mill").limit.value == pytest.approx(0.05 * 12.8 * 150 * 3600)
    series = (
        build().replace("a from house.plus", "a from pack.plus")
        + pack.replace("pack.plus to house.plus", "pack.minus to house.plus").split("wire q")[0]
    )
    assert said(series, "idle_inverter").finding("mill").limit.value == pytest.approx(0.05 * 25.6 * 50 * 3600)


@pytest.mark.parametrize(
    ("text", "missing"),
    [
        (build('described as "blue"'), "draw with no load"),
        (build().replace(", 100 Ah", ""), "capacity of house"),
        (build().replace("LFP, 4 cells, 100 Ah", "100 Ah"), "chemistry and cells of house"),
    ],
)
def test_missing_data_are_named(said, text: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    found = said(text, "idle_inverter")
    assert not found.findings
    assert found.missing == [("mill", "over-a-twentieth", missing)]


def test_an_inverter_on_nothing_is_counted(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build() + "inverter spare 300 W\n", "idle_inverter")
    assert [(item.condition, item.count) for item in found.idle] == [("no battery can be joined to it", 1)]
