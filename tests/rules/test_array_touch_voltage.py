"""Rule array-touch-voltage: the fault catalogue's example A14, edges dry and wet, contacts of either side, what is missing and what need not be said."""

from __future__ import annotations

import pytest

BUILD = """rig "Folding panels", revision 1
site { record low -10 degC; SITE }
battery house { LFP, 4 cells, 100 Ah; internal resistance 5 mohm }
array fold { Voc 22.6 V; Isc 5.9 A; Voc -0.30 %/K; COUNT in series; REPLUG }
controller sun { MPPT; 20 A; PV at most 100 V; absorption 14.2 V }
connector near with far { 2 pins; near { NEAR }; far { FAR } }
wires 10 AWG, 2 m {
  in from fold.plus to near.1
  on from far.1 to sun.pv_plus
  home from far.2 to sun.pv_minus
  turn from near.2 to fold.minus
  charge from sun.batt_plus to house.plus
  back from house.minus to sun.batt_minus
}
"""


def build(
    count: int = 3, replug: str = "not re-pluggable", site: str = "not damp", near: str = "touch-safe", far: str = "male pins"
) -> str:
    text = BUILD.replace("COUNT", str(count)).replace("REPLUG", replug).replace("SITE", site)
    return text.replace("NEAR", near).replace("FAR", far)


def test_catalogue_a14(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, A14, Ex: 3 x 24.97 = 74.9 V -> warning, needs guarded connectors + label."""
    found = said(build(replug="re-pluggable", near="male pins"), "array_touch_voltage")
    assert found.grades == [("fold", "over-limit", "warning")]
    finding = found.finding("fold")
    assert finding.measured.value == pytest.approx(3 * 24.97, abs=0.02)
    assert finding.limit.value == 60.0
    assert finding.message == (
        "fold: with nothing drawn it reaches 74.9 V at -10 degC; 60 V is the most that may be touched, "
        "and near can be touched when apart and its owner may re-plug it."
    )
    assert finding.remedy == (
        "Use touch-safe contacts for near that cannot be re-plugged, and a label with 74.9 V, or plug at most 2 modules in series."
    )


def test_an_arrangement_that_may_be_plugged_counts(said) -> None:  # type: ignore[no-untyped-def]
    text = build(1, "re-pluggable; may be plugged as 2 in series and 1 in parallel, 3 in series and 1 in parallel")
    finding = said(text, "array_touch_voltage").finding("fold")
    assert finding.measured.value == pytest.approx(3 * 24.973)
    assert "it reaches, fold plugged as 3 in series, 74.9 V" in finding.message
    assert not said(text.replace(", 3 in series and 1 in parallel", ""), "array_touch_voltage").findings


@pytest.mark.parametrize(
    ("voc", "site", "broken"),
    [
        ("54.29 V", "not damp", False),  # 54.29 x 1.105 = 59.99 V
        ("54.31 V", "not damp", True),  # 60.01 V
        ("27.14 V", "damp", False),  # 29.99 V
        ("27.16 V", "damp", True),  # 30.01 V
    ],
)
def test_edges(said, voc: str, site: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """60 V dry, 30 V wet; 1 + 0.0030 x 35 = 1.105."""
    text = build(1, "re-pluggable", site).replace("Voc 22.6 V", f"Voc {voc}")
    assert bool(said(text, "array_touch_voltage").findings) is broken


@pytest.mark.parametrize(
    ("near", "far", "broken"),
    [
        ("touch-safe", "male pins", False),
        ("female sockets", "male pins", False),
        ("shrouded", "male pins", False),
        ("male pins", "touch-safe", True),
        ("same both halves", "same both halves", True),
    ],
)
def test_only_the_half_on_the_arrays_side_stays_live(said, near: str, far: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    assert bool(said(build(near=near, far=far), "array_touch_voltage").findings) is broken


def test_touch_safe_contacts_do_not_help_where_it_may_be_re_plugged(said) -> None:  # type: ignore[no-untyped-def]
    finding = said(build(replug="re-pluggable"), "array_touch_voltage").finding("fold")
    assert finding.message.endswith("may be touched, and its owner may re-plug it.")


def test_hard_wired_and_not_re_pluggable_has_nothing_to_touch(said) -> None:  # type: ignore[no-untyped-def]
    text = build().replace("in from fold.plus to near.1\n  on from far.1 to", "in from fold.plus to")
    text = text.replace(
        "home from far.2 to sun.pv_minus\n  turn from near.2 to fold.minus", "home from fold.minus to sun.pv_minus"
    )
    assert said(text, "array_touch_voltage").passed("fold").measured is None
    silent = said(text.replace("not re-pluggable", "cells 30 K above ambient"), "array_touch_voltage")
    assert silent.missing == [("fold", "over-limit", "whether the owner of fold may re-plug it")]


def test_a_plug_without_a_mate_is_a_contact_too(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        build()
        + "connector spare { 2 pins; male pins; pins 1, 2 }\nwire s from spare.1 to near.1\nwire t from spare.2 to house.minus\n"
    )
    assert "spare can be touched when apart" in said(text, "array_touch_voltage").finding("fold").message


def test_contacts_of_other_circuits_on_the_common_minus_are_none_of_the_array(said) -> None:  # type: ignore[no-untyped-def]
    text = build() + (
        "connector dead { 2 pins; male pins; pins 1, 2 }\nwire w from dead.2 to fold.minus\n"
        "connector lamp with plug { 2 pins; male pins; pins 1, 2 }\nload bulb 10 W\n"
        "wires 1 m {\n  s from lamp.1 to house.plus\n  t from lamp.2 to fold.minus\n  u from plug.1 to bulb.plus\n  v from plug.2 to bulb.minus\n}\n"
    )
    assert not said(text, "array_touch_voltage").findings


def test_arrays_in_series_are_one_subject(said) -> None:  # type: ignore[no-untyped-def]
    text = build(2, near="male pins").replace("turn from near.2 to fold.minus", "turn from near.2 to low.minus")
    text += "array low { Voc 22.6 V; Isc 5.9 A; Voc -0.30 %/K; not re-pluggable }\nwire l from low.plus to fold.minus\n"
    finding = said(text, "array_touch_voltage").finding("low")
    assert finding.subject == ("low", "fold")
    assert finding.measured.value == pytest.approx(3 * 24.973)


@pytest.mark.parametrize(
    ("change", "missing"),
    [
        ({"site": "outdoors", "count": 2, "near": "male pins"}, "whether its surroundings are damp or wet"),
        ({"replug": "Isc 5.9 A"}, "whether the owner of fold may re-plug it"),
        ({"near": "30 A"}, "form of the contacts of near"),
    ],
)
def test_missing_data_are_named(said, change: dict[str, str], missing: str) -> None:  # type: ignore[no-untyped-def]
    text = build(**change)  # type: ignore[arg-type]
    found = said(text.replace("; Isc 5.9 A; Voc", "; Voc") if "replug" in change else text, "array_touch_voltage")
    assert not found.findings
    assert found.missing == [("fold", "over-limit", missing)]
    assert found.unchecked[0].declare


def test_what_does_not_decide_is_not_asked_for(said) -> None:  # type: ignore[no-untyped-def]
    low = said(build(1, "cells 30 K above ambient", "outdoors", "30 A"), "array_touch_voltage")  # 25 V, below either limit
    assert not low.missing
    safe = said(
        build().replace("record low -10 degC; ", ""), "array_touch_voltage"
    )  # contacts and arrangement are safe at any voltage
    assert not safe.missing
    unsafe = said(build(near="male pins").replace("record low -10 degC; ", ""), "array_touch_voltage")
    assert unsafe.missing == [("fold", "over-limit", "record low of the site")]
