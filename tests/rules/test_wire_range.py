"""Rule wire-range: the fault catalogue's example G12 and its parts, the edges of the range, pins, studs, missing data."""

from __future__ import annotations

import pytest

BUILD = """rig "Block", revision 1
basis us-small-craft
battery house { LFP, 4 cells, 60 Ah; terminals plus, minus { takes 18 AWG to 2 AWG; 3 wires } }
load fan { 3 A; terminals plus, minus { takes 22 AWG to 10 AWG } }
wire feed from house.plus to fan.plus { GAUGE; 0.5 m }
wire back from fan.minus to house.minus { 12 AWG; 0.5 m }
"""


def build(gauge: str = "12 AWG", more: str = "") -> str:
    return BUILD.replace("GAUGE", gauge) + more


def test_catalogue_g12(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G12, Ex: block 22-10 AWG, 8 AWG wire -> error."""
    found = said(build("8 AWG"), "wire_range")
    assert found.grades == [("feed", "too-thick", "error")]
    finding = found.finding("feed")
    assert finding.subject == ("feed", "fan.plus")
    assert finding.message == "feed: its 8 AWG does not go into fan.plus, which takes 22 AWG to 10 AWG."
    assert finding.remedy.startswith("Bring at most 10 AWG to fan.plus")
    assert finding.measured.value == pytest.approx(8.367e-6, rel=1e-3)  # ASTM B258, 8 AWG
    assert finding.related[0].span.line == 4
    assert not found.unchecked


@pytest.mark.parametrize(
    ("gauge", "grades"),
    [
        ("10 AWG", []), ("8 AWG", [("feed", "too-thick")]), ("22 AWG", [("feed", "too-thin")]), ("18 AWG", []),
        ("5.26 mm2", []), ("6 mm2", [("feed", "too-thick")]), ("0.8 mm2", [("feed", "too-thin")]), ("0.83 mm2", []),
    ],
)  # fmt: skip
def test_edges_of_the_range(said, gauge: str, grades: list[tuple[str, str]]) -> None:  # type: ignore[no-untyped-def]
    """At the ends of a range it holds; mm2 compares by area (10 AWG 5.261 mm2, 18 AWG 0.8231 mm2 by the law of ASTM B258)."""
    assert [item[:2] for item in said(build(gauge), "wire_range").grades] == grades


@pytest.mark.parametrize(("count", "broken"), [(2, False), (3, False), (4, True)])
def test_number_of_wires(said, count: int, broken: bool) -> None:  # type: ignore[no-untyped-def]
    more = "".join(f"load l{k} 1 A\nwire w{k} from house.plus to l{k}.plus {{ 18 AWG; 1 m }}\n" for k in range(count - 1))
    found = said(build(more=more), "wire_range")
    assert [item for item in found.grades if item[1] == "too-many"] == ([("house", "too-many", "error")] if broken else [])
    if broken:
        finding = found.finding("house", "too-many")
        assert (finding.measured.value, finding.limit.value) == (4, 3)
        assert finding.message == "house.plus holds 4 wires (feed, w0, w1, w2); it may hold 3."


def test_one_wire_is_never_too_many_and_two_need_the_datum(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build(more="load lamp 1 A\nwire loop from fan.plus to lamp.plus { 16 AWG; 1 m }\n"), "wire_range")
    many = [item for item in found.unchecked if item.grade == "too-many"]
    assert [(item.subject[:2], item.missing) for item in many] == [
        (("fan", "fan.plus"), "how many wires the terminal may hold")
    ]
    assert ("fan", "fan.minus") in [item.subject[:2] for item in found.passes if item.grade == "too-many"]


@pytest.mark.parametrize(("words", "grades"), [("strands cut off", ["strands-cut"]), ("no strands cut off", []), ("", [])])
def test_strands(said, words: str, grades: list[str]) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G12: no strand cutting; readings: silence inside the range does not apply."""
    text = build().replace("takes 22 AWG to 10 AWG }", f"takes 22 AWG to 10 AWG; {words} }}".replace("; }", " }"))
    found = said(text, "wire_range")
    assert sorted({item[1] for item in found.grades}) == grades
    told = [item for item in found.passes if item.grade == "strands-cut"]
    assert len(told) == (2 if words.startswith("no ") else 0)


def test_pin_takes_what_its_half_says(said) -> None:  # type: ignore[no-untyped-def]
    more = (
        "connector out { takes 14 AWG to 12 AWG; pin 1; pin 2 { takes 20 AWG to 16 AWG } }\n"
        "wire one from house.plus to out.1 { 16 AWG; 1 m }\nwire two from house.minus to out.2 { 16 AWG; 1 m }\n"
    )
    found = said(build(more=more), "wire_range")
    assert found.grades == [("one", "too-thin", "error")]
    assert found.finding("one").limit.value == pytest.approx(2.081e-6, rel=1e-3)  # ASTM B258, 14 AWG


def test_what_is_missing(said) -> None:  # type: ignore[no-untyped-def]
    text = build("tinned").replace("; terminals plus, minus { takes 18 AWG to 2 AWG; 3 wires }", "")
    found = said(text, "wire_range")
    assert sorted((item.subject, item.missing) for item in found.unchecked) == [
        (("back", "house.minus"), "wire range of the terminal"),
        (("feed", "fan.plus"), "gauge"),
        (("feed", "house.plus"), "wire range of the terminal"),
    ]
    assert {item.grade for item in found.unchecked} == {"too-thick"}
    assert found.grades == []


def test_what_does_not_apply(said) -> None:  # type: ignore[no-untyped-def]
    more = (
        "bus plate\nload bolt { 1 A; terminals plus, minus { stud } }\nload ring { 1 A; terminal plus { takes 22 AWG to 18 AWG; M6 stud } }\n"
        "wire a from house.plus to plate { 2 AWG; 1 m }\nwire b from house.minus to bolt.minus { 2 AWG; 1 m; lugs }\n"
        "wire c from plate to bolt.plus { 2 AWG; 1 m; inside a bought device }\nwire d from plate to ring.plus { 2 AWG; 1 m }\n"
    )
    found = said(build(more=more), "wire_range")
    assert {item.condition: item.count for item in found.idle} == {
        "inside a bought device or part of it": 1,
        "a busbar or a case, which takes lugs": 2,
        "ends in a lug under a stud, whose hole is a matter of its own": 1,
    }
    assert found.grades == [("d", "too-thick", "error")]  # a range that is declared counts on a stud too


@pytest.mark.parametrize(
    ("terminal", "wire", "left"),
    [
        ("stud", "", 1),
        ("M6 stud", "", 1),
        ("wing nut", "", 1),
        ("75 degC", "; lugs", 1),
        ("bare screw", "; lugs", 0),
        ("75 degC", "", 0),
    ],
)
def test_a_lug_under_a_bolt(said, terminal: str, wire: str, left: int) -> None:  # type: ignore[no-untyped-def]
    more = f"load bolt {{ 1 A; terminal plus {{ {terminal} }} }}\nwire b from house.plus to bolt.plus {{ 12 AWG; 1 m{wire} }}\n"
    found = said(build(more=more), "wire_range")
    assert sum(item.count for item in found.idle) == left
    assert len([item for item in found.unchecked if item.subject == ("b", "bolt.plus")]) == 1 - left


def test_mains_wires_count_too(said) -> None:  # type: ignore[no-untyped-def]
    more = (
        "inverter mains { 300 W; terminals plus, minus { takes 10 AWG to 6 AWG }; terminals L, N { takes 18 AWG to 14 AWG } }\n"
        "AC load kettle { 100 W; terminals L, N { takes 18 AWG to 12 AWG } }\n"
        "wire hot from mains.L to kettle.L { 12 AWG; 1 m }\n"
    )
    assert said(build(more=more), "wire_range").grades == [("hot", "too-thick", "error")]


@pytest.mark.parametrize(
    ("defaults", "half", "pin", "thickest"),
    [
        ("all terminals { takes 18 AWG to 10 AWG }", "takes 20 AWG to 14 AWG", "", "14 AWG"),  # the half's own before a default
        ("all terminals { takes 18 AWG to 10 AWG }", "", "", "10 AWG"),
        ("all terminals { takes 18 AWG to 10 AWG }", "takes 20 AWG to 14 AWG", "takes 20 AWG to 16 AWG", "16 AWG"),
        ("all terminals { takes 18 AWG to 10 AWG }; all connectors { takes 20 AWG to 14 AWG }", "", "", "14 AWG"),
        ("all terminals { takes 18 AWG to 10 AWG }", "takes 20 AWG to 14 AWG", "plus", "14 AWG"),
    ],
)
def test_nearest_declaration_counts(said, defaults: str, half: str, pin: str, thickest: str) -> None:  # type: ignore[no-untyped-def]
    pins = f"pin 1 {{ {pin} }}" if pin else "pin 1"
    more = f"{defaults}\nconnector out {{ {half}; {pins} }}\nwire one from house.plus to out.1 {{ 8 AWG; 1 m }}\n".replace(
        "{ ; ", "{ "
    )
    finding = said(build(more=more), "wire_range").finding("one")
    assert finding.message.endswith(f" to {thickest}.")
