"""Rules about labels, colours, ids, steps, sources and versions: the fault catalogue's examples M2 to M7 and M10 to M14, and what passes beside them."""

from __future__ import annotations

import pytest

TWO_POLES = """rig "Box", revision 1
SITE
battery house { LFP, 4 cells, 50 Ah }
bus minusbar 50 A
load lamp { 10 W }
wire a from house.plus to lamp.plus, 14 AWG, PLUS
wire b from lamp.minus to minusbar, 14 AWG, INSIDE
wire c from minusbar to house.minus, 10 AWG, OUTSIDE
"""


@pytest.mark.parametrize(
    ("site", "plus", "inside", "outside", "grades"),
    [
        ("", "red", "yellow", "black", ["second-colour"]),  # catalogue, M2, Ex: yellow - inside, black - outside, no table
        ("", "red", "black", "black", []), ("", "orange", "black", "black", []), ("", "red", "blue", "light blue", []),
        ("site { colour yellow for minus; colour black for minus; colour red for plus }", "red", "yellow", "black", []),
        ("site { colour black for minus; colour red for plus }", "red", "yellow", "black", ["not-in-scheme"]),
        ("site { colour black for minus; colour red for plus; exceptions to the scheme b }", "red", "yellow", "black", []),
        ("site { exceptions to the scheme b }", "red", "yellow", "black", []),
        ("", "red", "yellow; sleeve black at both ends", "black", []),
    ],
)  # fmt: skip
def test_two_schemes(said, site: str, plus: str, inside: str, outside: str, grades: list[str]) -> None:  # type: ignore[no-untyped-def]
    text = TWO_POLES.replace("SITE", site).replace("PLUS", plus).replace("OUTSIDE", outside)
    text = text.replace("14 AWG, INSIDE", f"14 AWG, {inside}" if ";" not in inside else f"14 AWG {{ {inside} }}")
    found = said(text, "two_schemes")
    assert [grade for _, grade, _ in found.grades] == grades
    assert grades or found.passes


@pytest.mark.parametrize(
    ("label", "count"),
    [
        ("", 2),  # catalogue, M3, Ex: blank holder -> warning
        ('label x { "30 A 32 V blade"; at main }', 1), ("label x { states current; states voltage; states family; at main, sub }", 0),
        ("label x { generated text; at main, sub }", 0), ("label x { states current; states voltage; at main, sub }", 2),
        ("site { labels as generated }", 0),
    ],
)  # fmt: skip
def test_unmarked_fuse(said, label: str, count: int) -> None:  # type: ignore[no-untyped-def]
    text = 'rig "Box", revision 1\nfuse main { 30 A; 32 V; blade }\nfuse sub { 5 A; blade }\nbreaker b 10 A\n'
    found = said(text + label + "\n", "unmarked_fuse")
    told = found.findings
    assert [item.measured.value for item in told if item.measured is not None] == ([float(count)] if count else [])
    assert len(found.passes) == 2 - count


def test_unmarked_fuse_offers_the_words(said) -> None:  # type: ignore[no-untyped-def]
    found = said('rig "Box", revision 1\nfuse main { 30 A; 32 V; blade }\n', "unmarked_fuse").finding("main")
    assert "'30 A, 32 V DC, blade'" in found.remedy


PANEL = """rig "Box", revision 1
battery house { LFP, 4 cells, 50 Ah }
connectors { one { 2 pins; pin 1 plus; pin 2 minus; WHERE }; loop { 2 pins; pins 1, 2; on the panel } }
wire a from house.plus to one.1, 14 AWG
wire b from one.2 to house.minus, 14 AWG
LABEL
"""


@pytest.mark.parametrize(
    ("where", "label", "found"),
    [
        ("on the panel", "", 1), ("inlet", "", 0),  # catalogue, M4, Ex
        ("on the panel", "label x { states voltage; states current; states polarity; states direction; at one }", 0),
        ("on the panel", "label x { states voltage; states current; states polarity; at one }", 1),
        ("on the panel", 'label x { "12 V 10 A + - outlet"; at one }', 0), ("on the panel", "site { labels from the label sheet }", 0),
    ],
)  # fmt: skip
def test_unmarked_connector(said, where: str, label: str, found: int) -> None:  # type: ignore[no-untyped-def]
    told = said(PANEL.replace("WHERE", where).replace("LABEL", label), "unmarked_connector")
    assert len(told.grades) == found


SUN = """rig "Roof", revision 1
battery house { LFP, 4 cells, 50 Ah }
array roof { Voc 22 V; Isc 6 A; Vmp 18 V; Imp 5.5 A }
controller sun { MPPT; 20 A; SUN }
switch off 30 A
wires 10 AWG {
  a from roof.plus to sun.pv_plus
  b from roof.minus to sun.pv_minus
  c from sun.batt_plus to off.line
  d from off.load to house.plus
  e from sun.batt_minus to house.minus
}
REST
"""


@pytest.mark.parametrize(
    ("sun", "rest", "found", "missing"),
    [
        ("needs its battery", "", 1, 0),  # catalogue, M5, Ex: missing -> warning
        ("needs its battery", "procedure { connection order posted }", 0, 0), ("needs its battery", "label o { states connection order }", 0, 0),
        ("bears PV with no battery", "", 0, 0), ("headroom 1 V", "", 0, 1), ("needs its battery", "site { labels as generated }", 1, 0),  # those are labels of fuses, connectors, batteries, outlets and leads: none says an order
    ],
)  # fmt: skip
def test_unposted_order(said, sun: str, rest: str, found: int, missing: int) -> None:  # type: ignore[no-untyped-def]
    told = said(SUN.replace("SUN", sun).replace("REST", rest), "unposted_order")
    assert (len(told.grades), len(told.unchecked)) == (found, missing)


LEAD = """rig "Lead", revision 1
battery house { LFP, 4 cells, 50 Ah }
load lamp { 10 W }
connector socket with plug { 2 pins; PINS; socket { on the panel } }
wire a from house.plus to socket.1, 14 AWG
wire b from socket.2 to house.minus, 14 AWG
cable cord { 14 AWG; CABLE; core p from plug.1 to lamp.plus, ONE; core m from lamp.minus to plug.2, TWO }
"""


@pytest.mark.parametrize(
    ("pins", "cable", "one", "two", "found"),
    [
        ("pin 1 plus; pin 2 minus", "2 m", "black", "black", 1),  # catalogue, M6, Ex: bare pigtail, both cores black
        ("pin 1 plus; pin 2 minus", "2 m", "red", "black", 0), ("pins 1, 2", "2 m", "red", "black", 1),
        ("pins 1, 2", "polarity marked at both ends", "black", "black", 0),
    ],
)  # fmt: skip
def test_unmarked_lead(said, pins: str, cable: str, one: str, two: str, found: int) -> None:  # type: ignore[no-untyped-def]
    text = LEAD.replace("PINS", pins).replace("CABLE", cable).replace("ONE", one).replace("TWO", two)
    assert len(said(text, "unmarked_lead").grades) == found


IDS = """rig "Ids", revision 1
battery house { LFP, 4 cells, 50 Ah }
load lamp { 10 W }
wire a from house.plus to lamp.plus { 14 AWG; FIRST }
wire b from lamp.minus to house.minus { 14 AWG; SECOND }
SHEET
"""


@pytest.mark.parametrize(
    ("first", "second", "sheet", "grades"),
    [
        ("id W12", "id W12", "", ["twice"]), ("id W12", "label W12", "", ["twice"]), ("id b", "red", "", ["twice"]),  # catalogue, M7, Ex: W12 twice
        ("id W1", "id W2", "", []), ("id W1", "id W2", "sheet s { kept by hand; lists W1; lists b; lists house }", []),
        ("id W1", "id W2", "sheet s { kept by hand; lists W1 }", ["not-on-sheet"]), ("id W1", "id W2", "sheet s { lists W1 }", []),
        ("id W1", "id W2", "sheet s { kept by hand; lists house; lists 2 lamp }", []),
        ("id W1", "id W2", "sheet s { kept by hand; lists W1; lists W2; lists W3 }", ["unknown"]),
    ],
)  # fmt: skip
def test_confusing_id(said, first: str, second: str, sheet: str, grades: list[str]) -> None:  # type: ignore[no-untyped-def]
    second = second.replace("label W12", 'label "W12"')
    found = said(IDS.replace("FIRST", first).replace("SECOND", second).replace("SHEET", sheet), "confusing_id")
    assert [grade for _, grade, _ in found.grades] == grades


@pytest.mark.parametrize(
    ("step", "found"),
    [
        ('"check voltage"', 1),  # catalogue, M10, Ex
        ('"x"; in state "rest"; between house.plus and house.minus; expect 13.0 V to 13.4 V', 0),
        ('"x"; in state "rest"; at house; expect at most 5 mA', 0), ('"x"; in state "rest"; at house; expect 13.2 V', 1),
        ('"x"; at house; expect 13.0 V to 13.4 V', 1), ('"x"; in state "rest"; expect 13.0 V to 13.4 V', 1),
    ],
)  # fmt: skip
def test_vague_step(said, step: str, found: int) -> None:  # type: ignore[no-untyped-def]
    text = 'rig "Steps", revision 1\nbattery house { LFP, 4 cells, 50 Ah }\nstate "rest" { dark }\ncommissioning {\n  step 1 { STEP }\n}\n'
    assert len(said(text.replace("STEP", step), "vague_step").grades) == found


@pytest.mark.parametrize(
    ("label", "found"),
    [
        ("", 1), ('label x { "LFP 1280 Wh"; at house }', 0), ("label x { states chemistry; at house }", 1),
        ("label x { states chemistry; states energy; at house }", 0), ("site { labels as generated }", 0),
    ],
)  # fmt: skip
def test_unmarked_battery(said, label: str, found: int) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, M11, Ex: 12.8 x 100 = 1280 Wh unmarked -> note."""
    told = said(f'rig "Box", revision 1\nbattery house {{ LFP, 4 cells, 12.8 V, 100 Ah }}\n{label}\n', "unmarked_battery")
    assert len(told.grades) == found
    if found:
        assert "1280 Wh" in told.finding("house").remedy


@pytest.mark.parametrize(
    ("feeds", "label", "found"),
    [
        ("plug-in loads", "", 1),  # catalogue, M12, Ex: none -> warning
        ("plug-in loads", "label x { states bonded or floating; at power }", 1),
        ("plug-in loads", "label x { states bonded or floating; states not for house wiring; at power }", 0),
        ("house wiring", "label x { states bonded or floating; at power }", 0), ("house wiring", "", 1),
        ("plug-in loads", "site { labels as generated }", 0),
    ],
)  # fmt: skip
def test_unmarked_outlet(said, feeds: str, label: str, found: int) -> None:  # type: ignore[no-untyped-def]
    text = f'rig "Box", revision 1\ninverter power {{ 300 W; feeds {feeds}; outlet {{ household socket }} }}\n{label}\n'
    assert len(said(text, "unmarked_outlet").grades) == found


@pytest.mark.parametrize(
    ("part", "found"),
    [
        ("2 pins; 50 A", 1),  # catalogue, M13, Ex: "50 A connector" without reference -> note
        ('2 pins; 50 A; ratings from "sheet" dated 2026-01-10', 0), ('2 pins; 50 A; ratings from "sheet"', 1), ("2 pins; 50 A; assumed", 0),
        ("2 pins; weighs 0.1 kg", 0),
    ],
)  # fmt: skip
def test_unsourced_rating(said, part: str, found: int) -> None:  # type: ignore[no-untyped-def]
    assert len(said(f'rig "Box", revision 1\nconnector socket {{ {part} }}\n', "unsourced_rating").grades) == found


@pytest.mark.parametrize(
    ("rig", "history", "grades"),
    [
        ('rig "Box"', "", ["no-revision"]), ('rig "Box", revision 1', "", []),
        ('rig "Box", revision 2', "version 1 { 2026-01-01 }", ["not-in-history"]),
        ('rig "Box", revision 1', "version 1 { 2026-01-01; changed F2 }", ["not-tested"]),  # catalogue, M14, Ex: fuse F2, no entry
        ('rig "Box", revision 1', "version 1 { 2026-01-01; changed F2; re-test done }", []),
        ('rig "Box", revision 1', "version 1 { 2026-01-01; changed lamp }", []), ('rig "Box", revision 1', "version 1 { 2026-01-01; re-test needed }", ["not-tested"]),
        ('rig "Box", revision 1', "version 1 { 2026-01-01; changed old_fuse }", ["not-tested"]),
    ],
)  # fmt: skip
def test_untold_change(said, rig: str, history: str, grades: list[str]) -> None:  # type: ignore[no-untyped-def]
    text = f"{rig}\nfuse F2 30 A\nload lamp {{ 10 W }}\n" + (f"history {{ {history} }}\n" if history else "")
    assert [grade for _, grade, _ in said(text, "untold_change").grades] == grades
