"""Rule wrong-controller: the fault catalogue's example B2 end to end, classes of voltage, banks in series, what is missing."""

from __future__ import annotations

import pytest

BUILD = """rig "Hut", revision 1
battery house { BATTERY }
mains charger shore { 10 A; SAID }
wires 10 AWG, 2 m {
  more from shore.plus to house.plus
  less from shore.minus to house.minus
}
"""


def build(said: str = "for 12 V batteries; charges LFP", battery: str = "LFP, 4 cells, 100 Ah") -> str:
    return BUILD.replace("SAID", said).replace("BATTERY", battery)


def test_catalogue_b2(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, B2, Ex: 4S LFP, controller with lead-acid profiles only -> error."""
    found = said(build("for 12 V batteries; charges flooded, AGM, gel"), "wrong_controller")
    assert found.grades == [("shore", "wrong-chemistry", "error")]
    assert found.finding("shore").message == (
        "shore: it has steps for flooded, AGM and gel; house is LFP. It would keep charging it by another chemistry's voltages."
    )
    assert found.passed("shore", "wrong-voltage").subject == ("shore", "house")


@pytest.mark.parametrize(
    ("voltages", "battery", "broken"),
    [
        ("for 12 V batteries", "LFP, 4 cells", False),  # 12.8 V
        ("for 24 V batteries", "LFP, 4 cells", True),
        ("for 12 V, 24 V batteries", "LFP, 8 cells", False),  # 25.6 V
        ("for 48 V batteries", "LFP, 16 cells", False),  # 51.2 V
        ("for 12 V batteries", "13.2 V; LFP", False),  # 10 % over, at equality
        ("for 12 V batteries", "13.21 V; LFP", True),
        ("for 12 V batteries", "10.79 V; LFP", True),
    ],
)
def test_classes_of_voltage(said, voltages: str, battery: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    found = said(build(f"{voltages}; charges LFP", battery), "wrong_controller")
    assert [grade for _, grade, _ in found.grades] == (["wrong-voltage"] if broken else [])


def test_a_bank_in_series_counts_as_one(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        build("for 12 V batteries; charges LFP")
        + "battery second { LFP, 4 cells, 100 Ah }\nwire link from second.minus to house.plus\n"
    )
    text = text.replace("shore.plus to house.plus", "shore.plus to second.plus")
    found = said(text, "wrong_controller")
    assert found.finding("shore").message == "shore: it is made for 12 V; house + second is a battery of 25.6 V."
    assert found.finding("shore").subject == ("shore", "house", "second")
    assert said(text.replace("for 12 V", "for 24 V"), "wrong_controller").findings == []


@pytest.mark.parametrize(
    ("what", "battery", "missing"),
    [
        ("charges LFP", "LFP, 4 cells", ("wrong-voltage", "battery voltages that it has steps for")),
        ("for 12 V batteries", "LFP, 4 cells", ("wrong-chemistry", "chemistries that it has steps for")),
        ("for 12 V batteries; charges LFP", "LFP", ("wrong-voltage", "nominal voltage of house")),
        ("for 12 V batteries; charges LFP", "12 V", ("wrong-chemistry", "chemistry of house")),
    ],
)
def test_missing_data_are_named(said, what: str, battery: str, missing: tuple[str, str]) -> None:  # type: ignore[no-untyped-def]
    found = said(build(what, battery), "wrong_controller")
    assert not found.findings
    assert found.missing == [("shore", *missing)]


def test_what_charges_nothing_is_counted(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build() + "controller spare { PWM; 10 A }\n", "wrong_controller")
    assert [(item.condition, item.count) for item in found.idle] == [("no battery can be joined to its output", 1)]
