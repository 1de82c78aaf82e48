"""Rule hot-array-voltage: the fault catalogue's example A2 end to end, leads of one and of several strings, edges, what is missing."""

from __future__ import annotations

import pytest

BUILD = """rig "Van roof", revision 1
site { ambient -5 degC to 35 degC }
battery house { AGM, 6 cells, 100 Ah; internal resistance 5 mohm }
array roof { Voc 22 V; Vmp 18.0 V; Isc 6 A; Imp 5 A; Vmp -0.35 %/K }
controller sun { PWM; 10 A; absorption 14.4 V; headroom HEADROOM }
wires measured 50 mohm, 4 m {
  in from roof.plus to sun.pv_plus
  home from sun.pv_minus to roof.minus
}
wires 10 AWG, 1 m {
  charge from sun.batt_plus to house.plus
  back from house.minus to sun.batt_minus
}
"""


def build(headroom: str = "1.0 V") -> str:
    return BUILD.replace("HEADROOM", headroom)


def test_catalogue_a2(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, A2, Ex: 18 x (1 - 0.14) = 15.48 V; need 14.4 + 0.5 + 1.0 = 15.9 V -> warning. The leads: 5 A x 2 x 50 mohm = 0.5 V."""
    found = said(build(), "hot_array_voltage")
    assert found.grades == [("sun", "too-low", "warning")]
    finding = found.finding("sun")
    assert finding.measured.value == pytest.approx(15.48)
    assert finding.limit.value == pytest.approx(15.9)
    assert finding.sense == "at-least"
    assert finding.message == (
        "sun: with cells at 65 degC roof works at 15.5 V; to finish the charge it takes 15.9 V"
        " (14.4 V absorption, 0.5 V in the leads, 1 V headroom)."
    )
    assert finding.remedy == (
        "Put 2 modules in series (and look at cold-array-voltage), or use modules with a Vmp of 18.5 V or more."
    )
    steps = {step.symbol: step.value for step in finding.working}
    assert steps["V_drop"] == pytest.approx(0.5)
    assert steps["V_needed"] == pytest.approx(15.9)


@pytest.mark.parametrize(("headroom", "broken"), [("0.57 V", False), ("0.58 V", False), ("0.59 V", True)])
def test_edge(said, headroom: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """15.48 V - 14.4 V - 0.5 V leave 0.58 V; at equality it holds."""
    assert bool(said(build(headroom), "hot_array_voltage").findings) is broken


def test_shared_leads_carry_the_sum(said) -> None:  # type: ignore[no-untyped-def]
    """Two strings of 5 A over one pair of 50 mohm: 10 A x 0.1 ohm = 1 V."""
    text = (
        build("10 mV")
        + "array wall { Voc 22 V; Vmp 18.0 V; Isc 6 A; Imp 5 A; Vmp -0.35 %/K }\nwire p from wall.plus to roof.plus { measured 1 uohm }\n"
    )
    text += "wire q from wall.minus to roof.minus { measured 1 uohm }\n"
    found = said(text, "hot_array_voltage")
    assert found.passed("sun").limit.value == pytest.approx(14.41 + 1.0, abs=1e-4)


def test_the_cells_may_say_how_warm_they_get(said) -> None:  # type: ignore[no-untyped-def]
    """18 x (1 - 0.0035 x (35 + 20 - 25)) = 16.11 V."""
    text = build().replace("Vmp -0.35 %/K", "Vmp -0.35 %/K; cells 20 K above ambient")
    assert said(text, "hot_array_voltage").passed("sun").measured.value == pytest.approx(16.11)


def test_copper_is_warm(said) -> None:  # type: ignore[no-untyped-def]
    """IEC 60228, temperature coefficient 0.00393: at 35 degC 1.059 times the resistance at 20 degC."""
    text = build("10 mV").replace("wires measured 50 mohm, 4 m", "wires 10 AWG, 4 m")
    limit = said(text, "hot_array_voltage").passed("sun").limit.value
    assert limit - 14.41 == pytest.approx(5 * 8 * 3.277e-3 * (1 + 0.00393 * 15), rel=1e-3)


@pytest.mark.parametrize(
    ("old", "new", "missing"),
    [
        ("site { ambient -5 degC to 35 degC }\n", "", "temperature of the air"),
        ("; headroom 0.1 V", "", "headroom over the battery"),
        ("absorption 14.4 V; ", "", "absorption voltage"),
        ("Vmp 18.0 V; ", "", "voltage at maximum power of roof"),
        ("; Vmp -0.35 %/K", "", "temperature coefficient of Vmp of roof"),
        ("Imp 5 A; ", "", "current at maximum power of roof"),
        ("wires measured 50 mohm, 4 m", "wires 10 AWG", "length of home"),
    ],
)
def test_missing_data_are_named(said, old: str, new: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    assert old in build("0.1 V")
    found = said(build("0.1 V").replace(old, new), "hot_array_voltage")
    assert not found.findings
    assert not found.passes
    assert found.missing == [("sun", "too-low", missing)]
    assert found.unchecked[0].declare


def test_what_fails_at_its_kindest_is_found_all_the_same(said) -> None:  # type: ignore[no-untyped-def]
    text = build().replace("; headroom 1.0 V", "").replace("; Vmp -0.35 %/K", "").replace("Vmp 18.0 V", "Vmp 14.8 V")
    finding = said(text, "hot_array_voltage").finding("sun")
    assert finding.limit.value == pytest.approx(14.9)
    assert "headroom" not in finding.message


def test_coefficient_of_voc_is_the_kindest_that_of_vmp_can_be(said) -> None:  # type: ignore[no-untyped-def]
    """Common practice, no source: in percent Vmp falls with heat at least as much as Voc. 18 x (1 - 0.0030 x 40) = 15.84 V; 15.9 V are needed."""
    text = build().replace("Vmp -0.35 %/K", "Voc -0.30 %/K")
    assert said(text, "hot_array_voltage").finding("sun").measured.value == pytest.approx(15.84)
    assert said(text.replace("-0.30", "-0.25"), "hot_array_voltage").missing == [
        ("sun", "too-low", "temperature coefficient of Vmp of roof")
    ]


def test_modules_in_series_add_up(said) -> None:  # type: ignore[no-untyped-def]
    """2 x 18 x 0.86 = 30.96 V, and twice as much again in two arrays in series."""
    two = build().replace("Vmp -0.35 %/K", "Vmp -0.35 %/K; 2 in series")
    assert said(two, "hot_array_voltage").passed("sun").measured.value == pytest.approx(30.96)
    more = "array wall { Vmp 18.0 V; Imp 5 A; Vmp -0.35 %/K }\n"
    series = (two + more).replace(
        "home from sun.pv_minus to roof.minus", "home from sun.pv_minus to wall.minus\n  mid from wall.plus to roof.minus"
    )
    found = said(series, "hot_array_voltage").passed("sun")
    assert found.measured.value == pytest.approx(46.44)
    assert found.limit.value == pytest.approx(14.4 + 1.0 + 5 * 3 * 0.05)


def test_a_string_of_several_arrays_is_told_what_it_lacks(said) -> None:  # type: ignore[no-untyped-def]
    more = "array wall { Vmp 1.0 V; Imp 5 A; Vmp -0.35 %/K }\n"
    text = (
        build()
        .replace("Vmp 18.0 V", "Vmp 12.0 V")
        .replace(
            "home from sun.pv_minus to roof.minus", "home from sun.pv_minus to wall.minus\n  mid from wall.plus to roof.minus"
        )
    )
    finding = said(text + more, "hot_array_voltage").finding("sun")
    assert "wall + roof works at 11.2 V" in finding.message
    assert finding.remedy == "Use strings with 1.44 times this voltage (and look at cold-array-voltage)."
