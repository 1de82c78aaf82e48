"""Rule endless-charge: the fault catalogue's example B4 end to end, what ends a charge, closed cases, what is missing."""

from __future__ import annotations

import pytest

BUILD = """rig "Trailer", revision 1
case box { plastic; CASE }
zone inside { in box }
battery house { BATTERY }
KIND shore { 10 A; SAID }
wires 10 AWG, 2 m {
  more from shore.plus to house.plus
  less from shore.minus to house.minus
}
"""
NEVER = "absorption 14.8 V; no float stage; no timer"


def build(
    said: str = NEVER, battery: str = "flooded, 6 cells, 80 Ah; in inside", case: str = "closed", kind: str = "mains charger"
) -> str:
    return BUILD.replace("SAID", said).replace("BATTERY", battery).replace("CASE", case).replace("KIND", kind)


def test_catalogue_b4(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, B4, Ex: constant 14.8 V source for days, 12 V flooded -> error (in a closed box)."""
    found = said(build(), "endless_charge")
    assert found.grades == [("shore", "in-closed-case", "error")]
    assert found.finding("shore").message == (
        "shore: it holds 14.8 V on house for as long as it is fed, with neither a float stage nor a timer."
        " house bears 13.8 V for good. The gas of house stays in box, which is closed."
    )
    assert not found.passes
    assert not found.unchecked


@pytest.mark.parametrize(
    "ends",
    [
        "float 13.6 V; no timer",
        "float stage",
        "absorption 14.8 V; timer; no float stage",
        "absorption 14.8 V for 2 h; no float",
    ],
)
def test_what_ends_a_charge(said, ends: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(ends), "endless_charge")
    assert not found.findings
    assert found.passed("shore", "in-closed-case")
    assert found.passed("shore", "in-the-open")


@pytest.mark.parametrize(
    ("volt", "battery", "broken"),
    [
        ("13.79 V", "flooded, 6 cells; in inside", False),
        ("13.8 V", "flooded, 6 cells; in inside", False),
        ("13.81 V", "flooded, 6 cells; in inside", True),
        ("27.6 V", "AGM, 24 V; in inside", False),
        ("27.7 V", "AGM, 24 V; in inside", True),
        ("13.5 V", "AGM, 6 cells; float at most 13.5 V; in inside", False),
        ("13.6 V", "AGM, 6 cells; float at most 13.5 V; in inside", True),
        ("13.6 V", "gel; in inside", True),
        ("13.7 V plus or minus 0.2 V", "flooded, 6 cells; in inside", True),
        ("13.5 V", "AGM, 6 cells; float at most 13.5 V plus or minus 0.1 V; in inside", True),
    ],
)
def test_a_voltage_that_is_borne_for_good(said, volt: str, battery: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """The usual float voltage of lead-acid is from memory; a pass rests on it, no finding does."""
    found = said(build(f"absorption {volt}; no float stage; no timer", battery), "endless_charge")
    assert bool(found.findings) is broken


@pytest.mark.parametrize(
    ("battery", "case", "grades", "missing"),
    [
        ("in inside", "closed", [("in-closed-case", "error")], []),
        ("in box", "gasketed", [("in-closed-case", "error")], []),
        ("in inside", "IP54", [("in-closed-case", "error")], []),
        ("in inside", "IP43", [("in-the-open", "warning")], ["whether box is closed"]),
        ("in inside", "not closed", [("in-the-open", "warning")], []),
        ("in inside", "not closed; IP65", [("in-the-open", "warning")], []),
        ("in inside", "IP20", [("in-the-open", "warning")], ["whether box is closed"]),
        ("100 Ah", "closed", [("in-the-open", "warning")], ["whether house lies in a case"]),
    ],
)
def test_closed_or_not(said, battery: str, case: str, grades: list[tuple[str, str]], missing: list[str]) -> None:  # type: ignore[no-untyped-def]
    found = said(build(battery=f"flooded, 6 cells; {battery}", case=case), "endless_charge")
    assert [(grade, severity) for _, grade, severity in found.grades] == grades
    assert found.missing == [("shore", "in-closed-case", what) for what in missing]


def test_zones_without_a_case(said) -> None:  # type: ignore[no-untyped-def]
    lies = build().replace("zone inside { in box }", "zone inside { 0 degC to 30 degC }")
    assert [grade for _, grade, _ in said(lies, "endless_charge").grades] == ["in-closed-case"]  # the one case that there is
    two = lies + "case second { steel; not closed }\n"
    assert [grade for _, grade, _ in said(two, "endless_charge").grades] == ["in-the-open"]
    bare = build(battery="flooded, 6 cells").replace("case box { plastic; closed }\nzone inside { in box }\n", "")
    found = said(bare, "endless_charge")
    assert [grade for _, grade, _ in found.grades] == ["in-the-open"]
    assert not found.unchecked
    assert "Its water boils off, its plates warp and short." in found.finding("shore").message


@pytest.mark.parametrize(
    ("ends", "battery", "missing"),
    [
        ("absorption 14.8 V", "flooded, 6 cells; in inside", "float stage or timer"),
        ("absorption 14.8 V; no float", "flooded, 6 cells; in inside", "whether a timer ends its charge"),
        ("absorption 14.8 V; no timer", "flooded, 6 cells; in inside", "whether it has a float stage"),
        (NEVER, "12 V; in inside", "chemistry of house"),
    ],
)
def test_missing_data_are_named(said, ends: str, battery: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(ends, battery), "endless_charge")
    assert not found.findings
    assert found.missing == [("shore", "in-closed-case", missing), ("shore", "in-the-open", missing)]


@pytest.mark.parametrize(
    ("kind", "battery", "why"),
    [
        ("mains charger", "LFP, 4 cells; in inside", "no lead-acid battery"),
        ("alternator", "flooded, 6 cells; in inside", "it charges only while an engine runs"),
    ],
)
def test_what_does_not_apply(said, kind: str, battery: str, why: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(NEVER, battery, kind=kind), "endless_charge")
    assert not found.findings
    assert [(item.condition, item.count) for item in found.idle] == [(why, 1)]


def test_it_says_so_without_a_voltage(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build("no float stage; no timer"), "endless_charge")
    assert "shore: it goes on charging house" in found.finding("shore").message
    assert found.finding("shore").measured is None
