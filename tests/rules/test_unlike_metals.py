"""Rule unlike-metals: the fault catalogue's example G18, pairs, plating, terminals for both metals, joints, missing data."""

from __future__ import annotations

import pytest

BUILD = """rig "Lamp on a bar", revision 1
battery house { LFP, 4 cells, 60 Ah; terminals plus, minus { of brass } }
load lamp { 1 A; terminal plus { TERMINAL } ; terminal minus { of brass } }
wire a from house.plus to lamp.plus { 12 AWG; 1 mWIRE }
wire b from lamp.minus to house.minus { 12 AWG; 1 m; copper }
"""


def build(terminal: str, wire: str = "; copper") -> str:
    text = BUILD.replace("TERMINAL", terminal).replace("WIRE", wire)
    return (
        text if "alumin" not in wire else text.replace("minus { of brass } }\nload", "minus { of brass; tin-plated } }\nload")
    )


def test_catalogue_g18(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G18, Ex: bare Al lug on Cu bus -> warning."""
    text = (
        build("of brass")
        + "bus bar { terminals { of copper } }\nload bell { 1 A; terminals { of brass } }\nwire c from bar to bell.plus { 12 AWG; 1 m; aluminium }\n"
    )
    found = said(
        text.replace("bell { 1 A; terminals { of brass } }", "bell { 1 A; terminal plus { tin-plated } }"), "unlike_metals"
    )
    assert found.grades == [("c", "pair", "warning")]
    finding = found.finding("c")
    assert finding.subject == ("c", "bar")
    assert finding.message.startswith("c: its aluminium lies on the bare copper of bar")


@pytest.mark.parametrize(
    ("terminal", "wire", "broken"),
    [
        ("of copper", "; copper", False), ("of copper", "; aluminium", True), ("of copper", "; copper-clad aluminium", True),
        ("of brass", "; aluminium", True), ("of steel", "; copper", True), ("of steel", "; tinned copper", False),
        ("of steel; zinc-plated", "; copper", False), ("of copper; tin-plated", "; aluminium", False), ("of aluminium", "; copper", True),
        ("of aluminium", "; aluminium", False), ("of aluminium; for copper and aluminium", "; copper", False),
        ("of brass; AL/CU", "; aluminium", False), ("of brass; CU", "; aluminium", True), ('of "stainless steel"', "; copper", False),
        ('of "stainless steel"', "; aluminium", True), ("of lead", "; copper", False), ('of "zinc-plated steel"', "; copper", False),
    ],
)  # fmt: skip
def test_pairs(said, terminal: str, wire: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G18: tinned copper, brass and plated in the allowed list; the list is from memory."""
    found = said(build(terminal, wire), "unlike_metals")
    assert found.grades == ([("a", "pair", "warning")] if broken else [])
    assert (("a", "lamp.plus") in [item.subject for item in found.passes]) is not broken


@pytest.mark.parametrize(
    ("terminal", "wire", "missing"),
    [
        ("75 degC", "; copper", [("lamp", "pair", "metal of the terminals, or what they take")]),
        ("75 degC; of unobtainium", "; copper", [("lamp", "pair", "metal of the terminals, or what they take")]),
        ("for copper", "; copper", []), ("tin-plated", "", [("a", "pair", "metal")]),
    ],
)  # fmt: skip
def test_missing_data(said, terminal: str, wire: str, missing: list[tuple[str, str, str]]) -> None:  # type: ignore[no-untyped-def]
    found = said(build(terminal, wire), "unlike_metals")
    assert found.missing == missing and found.findings == []


def test_joint_of_two_parts(said) -> None:  # type: ignore[no-untyped-def]
    more = "fuse main { 30 A; line on house.plus; terminals line, load { of METAL } }\n"
    found = said(build("of brass") + more.replace("METAL", "aluminium"), "unlike_metals")
    assert found.grades == [("main", "pair", "warning")]
    assert found.finding("main").subject == ("main", "main.line", "house.plus")
    assert said(build("of brass") + more.replace("METAL", "copper"), "unlike_metals").grades == []


def test_what_does_not_apply(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        build("of copper", "; aluminium; inside a bought device")
        + "connector out { pin 1 }\nwire c from house.plus to out.1 { 16 AWG; 1 m; copper }\n"
    )
    found = said(text, "unlike_metals")
    assert {item.condition: item.count for item in found.idle} == {
        "inside a bought device or part of it": 1,
        "goes into a contact of a connector": 1,
    }
