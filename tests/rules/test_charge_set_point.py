"""Rule charge-set-point: the fault catalogue's example B3 end to end, each set-point at its edge, series banks, what is not said."""

from __future__ import annotations

import pytest

GOOD = "absorption 14.2 V; float 13.5 V; no equalise; no temperature compensation"
BUILD = """rig "Hut", revision 1
site { ambient -10 degC to 30 degC }
battery house { LFP, 4 cells, 100 Ah; LIMITS }
mains charger shore { 10 A; SAID }
wires 10 AWG, 2 m {
  more from shore.plus to house.plus
  less from shore.minus to house.minus
}
"""
LIMITS = "charge to at most 14.6 V; float at most 13.8 V; lowest charge voltage 13.8 V"


def build(what: str = GOOD, limits: str = LIMITS) -> str:
    return BUILD.replace("SAID", what).replace("LIMITS", limits)


def test_all_in_order(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build(), "charge_set_point")
    assert sorted(item.grade for item in found.passes) == [
        "compensates-lithium", "equalises-lithium", "over-absorption", "over-float", "under-absorption"
    ]  # fmt: skip
    assert not found.findings
    assert not found.unchecked


def test_catalogue_b3(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, B3, Ex: equalise 15.2 V on 4S LFP limit 14.6 V: 15.2/4 = 3.80 V/cell > 3.65 -> error."""
    found = said(build(GOOD.replace("no equalise", "equalise 15.2 V")), "charge_set_point")
    assert found.grades == [("shore", "equalises-lithium", "error")]
    finding = found.finding("shore")
    assert (finding.measured.value, finding.limit.value) == (15.2, 14.6)
    assert finding.message == (
        "shore: it equalises at 15.2 V (3.8 V a cell), over the 14.6 V that it may be charged to."
        " house is lithium, which must not be equalised."
    )


def test_lithium_is_not_equalised_even_below_its_limit(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build(GOOD.replace("no equalise", "equalise 14.4 V")), "charge_set_point")
    assert found.grades == [("shore", "equalises-lithium", "error")]
    assert found.finding("shore").measured is None


@pytest.mark.parametrize(
    ("old", "new", "grades"),
    [
        ("absorption 14.2 V", "absorption 14.6 V", []),
        ("absorption 14.2 V", "absorption 14.61 V", ["over-absorption"]),
        ("absorption 14.2 V", "absorption 14.5 V plus or minus 0.1 V", []),
        ("absorption 14.2 V", "absorption 14.5 V plus or minus 0.11 V", ["over-absorption"]),
        ("float 13.5 V", "float 13.8 V", []),
        ("float 13.5 V", "float 13.81 V", ["over-float"]),
        ("absorption 14.2 V", "absorption 13.8 V", []),
        ("absorption 14.2 V", "absorption 13.79 V", ["under-absorption"]),
        ("no temperature compensation", "temperature compensation 12 mV/K", ["compensates-lithium"]),
    ],
)
def test_edges(said, old: str, new: str, grades: list[str]) -> None:  # type: ignore[no-untyped-def]
    assert [grade for _, grade, _ in said(build(GOOD.replace(old, new)), "charge_set_point").grades] == grades


def test_severities(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, B3: error (over-volt), warning (under)."""
    low = said(build(GOOD.replace("absorption 14.2 V", "absorption 13.7 V")), "charge_set_point")
    assert low.grades == [("shore", "under-absorption", "warning")]
    assert low.finding("shore").remedy == "Set absorption to 13.8 V or more."
    high = said(build(GOOD.replace("float 13.5 V", "float 14 V")), "charge_set_point")
    assert high.grades == [("shore", "over-float", "error")]
    assert high.finding("shore").message == (
        "shore: its float of 14 V (3.5 V a cell) is over the highest float voltage of house, 13.8 V."
        " Every hour above it overcharges the battery."
    )


def test_compensation_tells_what_it_does_in_the_cold(said) -> None:  # type: ignore[no-untyped-def]
    """14.2 V + 24 mV/K x 35 K = 15.04 V at -10 degC; the comparison itself is at 25 degC (readings, B3)."""
    text = build(GOOD.replace("no temperature compensation", "temperature compensation 24 mV/K"))
    finding = said(text, "charge_set_point").finding("shore")
    assert "At -10 degC it would charge to 15 V." in finding.message
    assert finding.working[-1].value == pytest.approx(15.04)
    assert said(text, "charge_set_point").passed("shore", "over-absorption").measured.value == 14.2


def test_a_series_bank_sums_its_limits(said) -> None:  # type: ignore[no-untyped-def]
    text = build(GOOD.replace("14.2 V", "29.2 V").replace("13.5 V", "27 V")).replace(
        "shore.plus to house.plus", "shore.plus to second.plus"
    )
    text += f"battery second {{ LFP, 4 cells, 100 Ah; {LIMITS} }}\nwire link from second.minus to house.plus\n"
    assert said(text, "charge_set_point").passed("shore", "over-absorption").limit.value == pytest.approx(29.2)


def test_lead_acid_may_be_equalised_and_compensated(said) -> None:  # type: ignore[no-untyped-def]
    text = build("absorption 14.4 V; float 13.5 V; equalise 15.5 V; temperature compensation 24 mV/K").replace(
        "LFP, 4", "flooded, 6"
    )
    found = said(text, "charge_set_point")
    assert not found.findings
    assert [item.condition[:18] for item in found.idle] == ["no lithium battery"]


@pytest.mark.parametrize("words", ["no float", "no float stage"])
def test_no_float_has_no_limit(said, words: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(GOOD.replace("float 13.5 V", words)), "charge_set_point")
    assert not found.findings
    assert not found.unchecked
    assert [item.condition for item in found.idle] == ["it does not float"]


def test_a_float_over_the_charge_limit_needs_no_float_limit(said) -> None:  # type: ignore[no-untyped-def]
    text = build(GOOD.replace("float 13.5 V", "float 14.7 V"), LIMITS.replace("float at most 13.8 V; ", ""))
    found = said(text, "charge_set_point")
    assert found.finding("shore").limit.value == 14.6
    assert "over the highest charge voltage of house" in found.finding("shore").message


@pytest.mark.parametrize(
    ("text", "missing"),
    [
        (build(GOOD.replace("absorption 14.2 V; ", "")), [("over-absorption", "absorption voltage"), ("under-absorption", "absorption voltage")]),
        (build(GOOD.replace("float 13.5 V; ", "")), [("over-float", "float voltage")]),
        (build(GOOD.replace("no equalise; ", "")), [("equalises-lithium", "whether it equalises")]),
        (build(GOOD.replace("; no temperature compensation", "")), [("compensates-lithium", "whether it compensates for temperature")]),
        (build(limits=LIMITS.replace("charge to at most 14.6 V; ", "")), [("over-absorption", "highest charge voltage of house")]),
        (build(limits=LIMITS.replace("float at most 13.8 V; ", "")), [("over-float", "highest float voltage of house")]),
        (build(limits=LIMITS.replace("; lowest charge voltage 13.8 V", "")), [("under-absorption", "lowest useful charge voltage of house")]),
        (build().replace("LFP, 4 cells, 100 Ah", "12.8 V; 100 Ah"), [("compensates-lithium", "chemistry of house"), ("equalises-lithium", "chemistry of house")]),
    ],
)  # fmt: skip
def test_missing_data_are_named(said, text: str, missing: list[tuple[str, str]]) -> None:  # type: ignore[no-untyped-def]
    found = said(text, "charge_set_point")
    assert not found.findings
    assert sorted((grade, what) for _, grade, what in found.missing) == missing
    assert all(item.declare for item in found.unchecked)
