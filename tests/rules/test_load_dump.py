"""Rule load-dump: the fault catalogue's example B7 end to end, what stays on, clamps, what is missing."""

from __future__ import annotations

import pytest

BUILD = """rig "Van", revision 1
battery house { BATTERY }
KIND engine { 90 A; absorption 14.2 V; SAID }
wires 4 AWG, 1 m {
  a from engine.plus to house.plus
  b from engine.minus to house.minus
}
"""
BOTH = "LFP, 4 cells, 100 Ah; bms { cuts charge and discharge }"
STARTER = "battery starter { AGM, 6 cells, 70 Ah }\n"


def build(battery: str = BOTH, said: str = "no dump load", kind: str = "alternator") -> str:
    return BUILD.replace("BATTERY", battery).replace("SAID", said).replace("KIND", kind)


@pytest.mark.parametrize("kind", ["alternator", "wind turbine", "hydro turbine"])
def test_catalogue_b7(said, kind: str) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, B7, Ex: vehicle alternator direct to LFP -> error."""
    found = said(build(kind=kind), "load_dump")
    assert found.grades == [("engine", "battery-cuts", "error")]
    finding = found.finding("engine")
    assert finding.subject == ("engine", "house")
    assert finding.message == (
        "engine: the BMS of house can cut off its charge, and no other battery stays on it."
        " When it opens, the voltage of engine runs up into everything on the bus."
    )


def test_catalogue_b7_through_a_charger(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, B7, Ex: via DC-DC charger -> pass."""
    text = (
        STARTER
        + build(kind="DC-DC charger")
        + "alternator motor { 60 A; no dump load }\nwires 4 AWG, 1 m {\n  c from motor.plus to starter.plus\n  d from motor.minus to starter.minus\n"
        "  e from starter.plus to engine.in_plus\n  f from starter.minus to engine.in_minus\n}\n"
    )
    found = said(text, "load_dump")
    assert not found.findings
    assert found.passed("motor").grade == "battery-cuts"
    assert [(item.condition, item.count) for item in found.idle] == [("no rotating source", 1)]


@pytest.mark.parametrize(
    ("battery", "dump", "broken"),
    [
        ("AGM, 6 cells, 100 Ah", "no dump load", False),
        ("AGM, 6 cells, 100 Ah; bms { cuts charge }", "no dump load", True),
        ("LFP, 4 cells, 100 Ah; no bms", "no dump load", False),
        ("LFP, 4 cells, 100 Ah; bms { cuts discharge }", "no dump load", False),
        ("LFP, 4 cells, 100 Ah; bms { cuts charge }", "no dump load", True),
        (BOTH, "dump load", False),
        (BOTH, "clamp", False),
    ],
)
def test_what_cuts_and_what_clamps(said, battery: str, dump: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    found = said(build(battery, dump), "load_dump")
    assert bool(found.findings) is broken
    assert broken or found.passed("engine")


@pytest.mark.parametrize(
    ("battery", "dump", "missing"),
    [
        (BOTH, "float 13.5 V", "whether engine has a dump load or clamp"),
        ("LFP, 4 cells, 100 Ah; bms { own drain 1 mA }", "no dump load", "side that the BMS of house can cut"),
        ("LFP, 4 cells, 100 Ah", "no dump load", "management system of house"),
        ("100 Ah", "no dump load", "management system of house"),
    ],
)
def test_missing_data_are_named(said, battery: str, dump: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    """Readings, Silence: a missing datum is not checked, also where the catalogue says "no dump/clamp" (B7)."""
    found = said(build(battery, dump), "load_dump")
    assert not found.findings
    assert found.missing == [("engine", "battery-cuts", missing)]


def test_a_charger_of_unknown_kind_is_asked_for_it(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build(kind="charger", said="float 13.5 V"), "load_dump").missing == [
        ("engine", "battery-cuts", "kind of charger")
    ]


@pytest.mark.parametrize(
    ("says", "found_in"),
    [
        ("link closed", None),
        ("link open", "anchored"),
        ("link open; engine off", None),
        ("link closed; starter_fuse blown", None),
    ],
)
def test_a_battery_that_stays_on_holds_only_where_it_is_joined(said, says: str, found_in: str | None) -> None:  # type: ignore[no-untyped-def]
    text = (
        STARTER
        + build()
        + "switch link 200 A\nfuse starter_fuse { 200 A; line on starter.plus }\nwires 4 AWG, 1 m {\n  c from house.plus to link.line\n"
        "  d from link.load to starter_fuse.load\n  e from house.minus to starter.minus\n}\n"
        f'state "anchored" {{ {says} }}\n'
    )
    found = said(text, "load_dump")
    if found_in is None:
        assert found.passed("engine")
    else:
        assert found.finding("engine").state == found_in
        assert "stays on it in state 'anchored'. When it opens" in found.finding("engine").message


def test_a_clamp_that_is_drawn_counts(said) -> None:  # type: ignore[no-untyped-def]
    clamp = "diode spike { job JOB }\nwire c from spike.cathode to house.plus, 10 AWG, 0.2 m\nwire d from house.minus to spike.anode, 10 AWG, 0.2 m\n"
    assert said(build() + clamp.replace("JOB", "clamp"), "load_dump").passed("engine")
    assert said(build() + clamp.replace("JOB", "bypass"), "load_dump").findings
    aside = clamp.replace("JOB", "clamp").replace("house.plus", "lamp.plus") + "load lamp 5 W\n"
    assert said(build() + aside, "load_dump").findings


def test_several_batteries_that_cut(said) -> None:  # type: ignore[no-untyped-def]
    pack = f"battery pack {{ {BOTH} }}\nwire p from pack.plus to house.plus\nwire q from pack.minus to house.minus\n"
    finding = said(build() + pack, "load_dump").finding("engine")
    assert finding.subject == ("engine", "house", "pack")
    assert "When they open" in finding.message
    assert said(build() + pack.replace(BOTH, "flooded, 6 cells, 80 Ah"), "load_dump").passed("engine")
    unknown = said(build() + pack.replace(BOTH, "80 Ah"), "load_dump")
    assert unknown.missing == [("engine", "battery-cuts", "management system of pack")]


def test_a_source_on_its_own_does_not_apply(said) -> None:  # type: ignore[no-untyped-def]
    found = said('rig "Post", revision 1\nwind turbine mill { 20 A }\n', "load_dump")
    assert [(item.condition, item.count) for item in found.idle] == [("no battery can be joined to its output", 1)]
