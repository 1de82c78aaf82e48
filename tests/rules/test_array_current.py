"""Rule array-current: the fault catalogue's example A4 end to end, edges, tracking controllers, what is missing."""

from __future__ import annotations

import pytest

BUILD = """rig "Barn roof", revision 1
battery house { AGM, 6 cells, 100 Ah; internal resistance 5 mohm }
array roof { Voc 22 V; Vmp 18 V; Isc 6.0 A; Imp 5.6 A; 3 in parallel }
controller sun { KIND; absorption 14.4 V }
wires 10 AWG, 2 m {
  in from roof.plus to sun.pv_plus
  home from sun.pv_minus to roof.minus
  charge from sun.batt_plus to house.plus
  back from house.minus to sun.batt_minus
}
"""


def build(kind: str = "PWM; 20 A") -> str:
    return BUILD.replace("KIND", kind)


def test_catalogue_a4(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, A4, Ex: 3 x 6.0 A = 18; x 1.25 = 22.5 A vs 20 A PWM -> error."""
    found = said(build(), "array_current")
    assert found.grades == [("sun", "over-limit", "error")]
    finding = found.finding("sun")
    assert (finding.measured.value, finding.limit.value) == (22.5, 20.0)
    assert finding.message == (
        "sun: roof can push 22.5 A into it (1.25 times 18 A in bright sun); it bears 20 A and passes the array's current on."
    )
    assert finding.remedy == "Put at most 2 of roof's strings in parallel, or use a controller for 22.5 A or more."
    assert [step.symbol for step in finding.working] == ["Isc", "I_bright"]


def test_the_owner_may_plug_more_side_by_side(said) -> None:  # type: ignore[no-untyped-def]
    """4 x 6.0 A x 1.25 = 30 A."""
    text = build("PWM; 25 A").replace("3 in parallel }", "3 in parallel; or 1 in series and 4 in parallel }")
    finding = said(text, "array_current").finding("sun")
    assert finding.measured.value == pytest.approx(30.0)
    assert finding.remedy == "Put at most 3 of roof's strings in parallel, or use a controller for 30 A or more."
    assert not said(text.replace("25 A", "30 A"), "array_current").findings


@pytest.mark.parametrize(("rated", "broken"), [("22.49 A", True), ("22.5 A", False), ("22.51 A", False)])
def test_edge(said, rated: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    assert bool(said(build(f"PWM; {rated}"), "array_current").findings) is broken


def test_a_tracking_controller_is_held_to_a_stated_limit_only(said) -> None:  # type: ignore[no-untyped-def]
    plain = said(build("MPPT; 10 A"), "array_current")
    assert not plain.findings
    assert [item.condition for item in plain.idle] == ["a tracking controller that states no limit of short-circuit current"]
    stated = said(build("MPPT; 10 A; PV at most 22 A"), "array_current").finding("sun")
    assert stated.limit.value == 22.0
    assert "it bears 22 A and states this limit for its PV input" in stated.message


def test_on_iec_the_factor_is_from_memory(said) -> None:  # type: ignore[no-untyped-def]
    """Readings, A7, for the same factor: on iec a warning between 1.0 and 1.25, an error above 1.0 by the sum itself."""
    assert said(build("PWM; 20 A"), "array_current", basis="iec").grades == [("sun", "over-limit", "warning")]
    assert said(build("PWM; 17 A"), "array_current", basis="iec").grades == [("sun", "over-limit", "error")]


def test_strings_add_and_of_a_series_string_the_larger_counts(said) -> None:  # type: ignore[no-untyped-def]
    text = build("PWM; 60 A") + "array wall { Isc 5 A }\narray porch { Isc 7 A }\n"
    beside = text + "wire p from wall.plus to sun.pv_plus\nwire q from wall.minus to sun.pv_minus\n"
    assert said(beside, "array_current").passed("sun").measured.value == pytest.approx(1.25 * (18 + 5))
    series = (
        text
        + "wire p from wall.plus to sun.pv_plus\nwire q from wall.minus to porch.plus\nwire r from porch.minus to sun.pv_minus\n"
    )
    assert said(series, "array_current").passed("sun").measured.value == pytest.approx(1.25 * (18 + 7))


@pytest.mark.parametrize(
    ("kind", "cut", "missing"),
    [
        ("20 A", "", "kind of controller (PWM or MPPT)"),
        ("PWM", "", "rated current"),
        ("PWM; 20 A", "Isc 6.0 A; ", "short-circuit current of roof"),
    ],
)
def test_missing_data_are_named(said, kind: str, cut: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(kind).replace(cut, ""), "array_current")
    assert not found.findings
    assert not found.passes
    assert found.missing == [("sun", "over-limit", missing)]
    assert found.unchecked[0].declare
