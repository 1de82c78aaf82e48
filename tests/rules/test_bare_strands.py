"""Rule bare-strands: the fault catalogue's example G16, kinds of terminals against ends, stranding, contacts, missing data."""

from __future__ import annotations

import pytest

BUILD = """rig "Lamp on a block", revision 1
battery house { LFP, 4 cells, 60 Ah; terminals plus, minus { stud; lug } }
load lamp { 20 A; terminal plus { TERMINAL } ; terminal minus { clamp plate; ferrule } }
wire a from house.plus to lamp.plus { 12 AWG; 1 mWIRE }
wire b from lamp.minus to house.minus { 12 AWG; 1 m; stranded }
"""


def build(terminal: str, wire: str = "; stranded") -> str:
    return BUILD.replace("TERMINAL", terminal).replace("WIRE", wire)


def test_catalogue_g16(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G16, Ex: 12 AWG tinned in block at 20 A -> warning."""
    found = said(build("bare screw; tinned"), "bare_strands")
    assert found.grades == [("a", "tinned", "warning")]
    finding = found.finding("a")
    assert finding.subject == ("a", "lamp.plus")
    assert finding.message.startswith("a: its strands are tinned with solder under the bare screw of lamp.plus")
    assert finding.related[0].span.line == 3


@pytest.mark.parametrize(
    ("terminal", "wire", "grade"),
    [
        ("bare screw; bare", "; stranded", "bare"), ("bare screw; bare", "; class 5", "bare"), ("bare screw; bare", "; solid", ""),
        ("bare screw; ferrule", "; stranded", ""), ("bare screw; lug", "; stranded", ""), ("stud; bare", "; stranded", "bare"),
        ("wing nut; bare", "; stranded", "bare"), ("clamp plate; bare", "; stranded", ""), ("spring cage; bare", "; stranded", ""),
        ("clamp plate; tinned", "; stranded", "tinned"), ("spring cage; tinned", "; stranded", ""), ("post clamp; tinned", "; stranded", "tinned"),
        ("soldered only", "; stranded", "soldered-only"), ("solder", "; stranded", "soldered-only"), ("solder; lug", "; stranded", ""),
        ("bare screw", "; stranded; ferrules", ""), ("bare screw", "; stranded; bare ends", "bare"), ("bare screw", "; solid", ""),
        ("bare screw; ferrule", "; stranded; bare ends", ""), ("bare screw; bare", "; boat cable", "bare"),
    ],
)  # fmt: skip
def test_kinds_and_ends(said, terminal: str, wire: str, grade: str) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G16: stranded + direct-bearing screw -> ferrule or lug; not tinned; solder not the sole joint."""
    found = said(build(terminal, wire), "bare_strands")
    assert [item[:2] for item in found.grades] == ([("a", grade)] if grade else [])
    assert (("a", "lamp.plus") in [item.subject for item in found.passes]) is not bool(grade)


@pytest.mark.parametrize(
    ("terminal", "wire", "missing"),
    [
        ("75 degC", "; stranded", [("lamp", "bare", "kind of the terminal, or how the wires end in it")]),
        ("bare", "; stranded", [("lamp", "bare", "kind of the terminal, or how the wires end in it")]),
        ("bare screw", "; stranded", [("lamp", "bare", "how the wires end in the terminal")]),
        ("bare screw; bare", "", [("a", "bare", "stranding")]),
        ("clamp plate", "", []), ("75 degC", "; ferrules", []),
    ],
)  # fmt: skip
def test_missing_data(said, terminal: str, wire: str, missing: list[tuple[str, str, str]]) -> None:  # type: ignore[no-untyped-def]
    found = said(build(terminal, wire), "bare_strands")
    assert found.missing == missing
    assert found.findings == []


def test_what_does_not_apply(said) -> None:  # type: ignore[no-untyped-def]
    text = build("stud", "; stranded; inside a bought device") + (
        "all terminals { bare screw; tinned }\nconnector out { pin 1; pin 2 }\nwire c from house.plus to out.1 { 16 AWG; 1 m }\n"
        "load nut { 1 A; terminals { stud } }\nwire d from house.plus to nut.plus { 16 AWG; 1 m }\n"
    )
    found = said(
        text.replace("terminals { stud } }", "terminal plus { wing nut } }").replace("; tinned }", " }"), "bare_strands"
    )
    assert {item.condition: item.count for item in found.idle} == {
        "inside a bought device or part of it": 1,
        "goes into a contact of a connector": 1,
        "lies under a nut, which takes a lug": 1,
    }
    assert found.findings == [] and found.unchecked == []


def test_contact_that_says_so(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        build("bare screw; ferrule")
        + "connector out { pin 1 { solder cup; soldered only } }\nwire c from house.plus to out.1 { 16 AWG; 1 m }\n"
    )
    assert said(text, "bare_strands").grades == [("c", "soldered-only", "warning")]


def test_busbar_takes_what_is_said_of_its_studs(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        build("bare screw; ferrule")
        + "bus bar { terminals { bare screw } }\nwire c from house.plus to bar { 16 AWG; 1 m; stranded; bare ends }\n"
    )
    assert [item[:2] for item in said(text, "bare_strands").grades] == [("c", "bare")]
