"""Rule tapped-string: the fault catalogue's example C15, which batteries make it an error, balancers, chargers of their own, missing data."""

from __future__ import annotations

import pytest

RADIO = "load radio { 2 A; for 10 h/day }\nwire feed from low.plus to radio.plus\nwire back from radio.minus to low.minus\n"


def bank(facts: str, more: str = RADIO, upper: str = "") -> str:
    """Two batteries in series."""
    return (
        f'rig "Bank", revision 1\nbattery low {{ {facts} }}\nbattery high {{ {upper or facts} }}\n'
        f"wire link from low.plus to high.minus\n{more}"
    )


AGM = "AGM, 6 cells, 100 Ah"
LFP = "LFP, 4 cells, 100 Ah"


def test_catalogue_c15(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, C15, Ex: 12 V radio on the lower half of a 24 V bank, 2 A for 10 h = 20 Ah a day from one battery only -> error."""
    found = said(bank(AGM), "tapped_string")
    assert found.grades == [("radio", "unwatched", "error")]
    finding = found.finding("radio")
    assert finding.subject == ("radio", "low", "high")
    assert finding.working[0].value == pytest.approx(20.0)
    assert finding.message.startswith("radio: it takes from low alone, 20 Ah a day, not the whole string (low and high)")


@pytest.mark.parametrize(
    ("facts", "severity"),
    [("LFP, 4 cells; bms { cuts both }", "warning"), ("LFP, 4 cells; no bms", "error"), ("gel, 6 cells", "error")],
)
def test_severity_by_what_supervises_the_cells(said, facts: str, severity: str) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, C15: error for lead-acid or lithium without cell supervision, else warning."""
    assert [item[2] for item in said(bank(facts), "tapped_string").grades] == [severity]


def test_silence_leaves_a_warning_and_an_open_question(said) -> None:  # type: ignore[no-untyped-def]
    found = said(bank(LFP), "tapped_string")
    assert found.grades == [("radio", "watched", "warning")]
    assert found.missing == [("radio", "unwatched", "management system of low")]
    mixed = said(bank(LFP, upper=AGM), "tapped_string")
    assert (mixed.grades, mixed.missing) == ([("radio", "unwatched", "error")], [])


def test_upper_half_and_whole_string(said) -> None:  # type: ignore[no-untyped-def]
    upper = RADIO.replace("low.plus", "high.plus").replace("low.minus", "high.minus")
    assert "takes from high alone" in said(bank(AGM, upper), "tapped_string").finding("radio").message
    whole = said(bank(AGM, RADIO.replace("low.plus", "high.plus")), "tapped_string")
    assert whole.grades == []
    assert whole.passed("low").subject == ("low", "high")


def test_balancer_and_chargers_of_their_own(said) -> None:  # type: ignore[no-untyped-def]
    balanced = said(bank(f"{AGM}; balancer"), "tapped_string")
    assert balanced.grades == []
    assert [item.condition for item in balanced.idle] == ["a balancer lies across the string"]
    first = "mains charger one 10 A\nwire c1 from one.plus to low.plus\nwire c2 from one.minus to low.minus\n"
    second = "mains charger two 10 A\nwire c3 from two.plus to high.plus\nwire c4 from two.minus to high.minus\n"
    assert said(bank(AGM, first), "tapped_string").grades == [("one", "unwatched", "error")]
    both = said(bank(AGM, first + second + RADIO), "tapped_string")
    assert both.grades == []
    assert [item.condition for item in both.idle] == ["every battery of the string has a charger of its own"]


def test_no_series(said) -> None:  # type: ignore[no-untyped-def]
    text = bank(AGM).replace(
        "wire link from low.plus to high.minus", "wire link from low.plus to high.plus\nwire other from low.minus to high.minus"
    )
    assert [item.condition for item in said(text, "tapped_string").idle] == ["no batteries lie in series"]
