"""Rule misleading-colour: the fault catalogue's example M1, colours by pole and scheme, sleeves, bonds, series links, missing data."""

from __future__ import annotations

import pytest

CORD = """rig "Cord", revision 1
basis us-small-craft
SITE
battery house { LFP, 4 cells, 60 Ah }
load lamp 2 A
relay hold { coil 12 V; coil power 2 W; 30 A }
cable lead { flexible cord; 16 AWG; 3 m; CORD
  core out from house.plus to lamp.plus { OUT }
  core home from lamp.minus to house.minus { HOME }
  core loop from house.plus to hold.coil_plus { LOOP }
}
wire back from hold.coil_minus to house.minus { 16 AWG; 1 m; black }
"""


def cord(out: str = "black", home: str = "white", loop: str = "green", kind: str = "household cord", site: str = "") -> str:
    text = CORD.replace("SITE", site).replace("; CORD", f"; {kind}" if kind else "")
    return text.replace("OUT", out).replace("HOME", home).replace("LOOP", loop)


def test_catalogue_m1(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, M1, Ex: SJ cord black=+, white=-, green=interlock -> error (green) + warning (black +)."""
    found = said(cord(), "misleading_colour")
    assert sorted(found.grades) == [
        ("lead", "cord-not-marked", "warning"),
        ("lead.loop", "green-live", "error"),
        ("lead.out", "wrong-pole", "warning"),
    ]
    assert found.finding("lead.out").message == "lead.out: it is black and lies on the plus side; black is minus by custom."
    assert found.finding("lead.loop").message.startswith("lead.loop: it is green and carries current in state")


@pytest.mark.parametrize(
    ("out", "home", "site", "grades"),
    [
        ("red", "black", "", []),
        ("white", "black", "", [("lead.out", "white-positive")]),
        ("red", "red", "", [("lead.home", "wrong-pole")]),
        ("black; sleeve red at both ends", "white; sleeve black at both ends", "", []),
        ("black; sleeve red at house.plus", "black", "", [("lead.out", "wrong-pole")]),
        ("black; sleeve red at house.plus; sleeve red at lamp.plus", "black", "", []),
        ("blue", "blue", "", [("lead.home", "two-roles")]),
        ("blue", "brown", "", []),
        ("white; sleeve red at both ends", "black", "", []),
        ("blue", "black", "site { colour blue for minus }", [("lead.out", "wrong-pole")]),
        ("blue", "black", "site { colour blue for minus; exceptions to the scheme lead }", []),
        ("red", "black", "site { colour black for positive }", [("back", "wrong-pole"), ("lead.home", "wrong-pole")]),
        ("yellow", "yellow", "site { colour yellow for interlock }", []),
        ("red", "black", "site { colour red for plus, colour red for lamps }", [("site", "two-roles")]),
    ],
)  # fmt: skip
def test_poles(said, out: str, home: str, site: str, grades: list[tuple[str, str]]) -> None:  # type: ignore[no-untyped-def]
    found = said(cord(out, home, "red", "boat cable", site).replace("flexible cord; ", ""), "misleading_colour")
    assert sorted(item[:2] for item in found.grades) == grades


@pytest.mark.parametrize(
    ("loop", "broken"),
    [
        ("green", True),
        ("green and yellow", True),
        ("green; sleeve red at both ends", True),
        ("red", False),
        ("red; sleeve green at both ends", True),
    ],
)
def test_green_in_a_circuit(said, loop: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    found = said(cord("red", "black", loop, ""), "misleading_colour")
    assert [item[:2] for item in found.grades] == ([("lead.loop", "green-live")] if broken else [])


@pytest.mark.parametrize(
    ("wire", "broken"),
    [
        ("wire bond from house.minus to box { 8 AWG; 1 m; green; bond }", False),
        ("wire bond from house.minus to box { 8 AWG; 1 m; green }", False),
        ("wire bond from house.minus to lamp.minus { 8 AWG; 1 m; green; bond }", True),  # carries a part of the lamp's return
        ("wire stub from house.minus to spare.minus { 8 AWG; 1 m; green }\nload spare { 1 A }", True),
    ],
)
def test_bonds(said, wire: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    found = said(cord("red", "black", "red", "") + f"case box {{ metal }}\n{wire}\n", "misleading_colour")
    assert [item[1] for item in found.grades] == (["green-live"] if broken else [])


def test_green_with_mains(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        'rig "Kiosk", revision 1\nbasis us-small-craft\nbattery house { LFP, 4 cells, 60 Ah }\ninverter power { 300 W; 120 V AC }\nAC load till 50 W\n'
        "wire a from house.plus to power.plus { 6 AWG; 1 m; red }\nwire b from power.minus to house.minus { 6 AWG; 1 m; black }\n"
        "wire hot from power.L to till.L { 14 AWG; 1 m; green }\nwire cold from power.N to till.N { 14 AWG; 1 m; white }\n"
        "wire earth from power.PE to till.PE { 14 AWG; 1 m; green }\n"
    )
    assert said(text, "misleading_colour").grades == [("hot", "green-live", "error")]


def test_links_of_a_series_string_belong_to_neither_pole(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        'rig "String", revision 1\nbasis us-small-craft\nbattery low { LFP, 4 cells, 60 Ah }\nbattery high { LFP, 4 cells, 60 Ah }\nload lamp 2 A\n'
        "wire link from low.plus to high.minus { 6 AWG; 1 m; black }\nwire a from high.plus to lamp.plus { 6 AWG; 1 m; red }\n"
        "wire b from lamp.minus to low.minus { 6 AWG; 1 m; black }\n"
    )
    assert said(text, "misleading_colour").grades == []


@pytest.mark.parametrize(
    ("sleeves", "site", "grade", "missing"),
    [
        ("sleeve red at both ends", "site { exceptions to the scheme lead }", [], []),
        ("sleeve red at both ends", "", ["cord-not-marked"], []),
        ("no sleeve", "site { exceptions to the scheme lead }", ["cord-not-marked"], []),
        ("", "site { exceptions to the scheme lead }", [], ["sleeves at both ends of lead.home, lead.loop and lead.out"]),
    ],
)  # fmt: skip
def test_household_cord(said, sleeves: str, site: str, grade: list[str], missing: list[str]) -> None:  # type: ignore[no-untyped-def]
    words = f"; {sleeves}" if sleeves else ""
    found = said(cord(f"red{words}", f"black{words.replace('red', 'black')}", f"red{words}", site=site), "misleading_colour")
    assert [item[1] for item in found.grades] == grade
    assert [item.missing for item in found.unchecked] == missing


def test_household_cord_that_carries_mains_is_as_it_was_made(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        'rig "Kettle", revision 1\ninverter power { 300 W }\nAC load kettle { 100 W }\ncable lead { household cord; 16 AWG; 1 m\n'
        "  core live from power.L to kettle.L { black }\n  core neutral from power.N to kettle.N { white }\n  core earth from power.PE to kettle.PE { green }\n}\n"
    )
    found = said(text, "misleading_colour")
    assert [item for item in found.grades if item[1] == "cord-not-marked"] == []
    assert [item.condition for item in found.idle] == ["household cord that carries mains"]


def test_colour_that_nobody_said(said) -> None:  # type: ignore[no-untyped-def]
    found = said(cord("", "black", "", ""), "misleading_colour")
    assert found.missing == [("lead.loop", "green-live", "colour"), ("lead.out", "green-live", "colour")]


@pytest.mark.parametrize(
    ("wire", "broken"),
    [
        (
            "wire stub from house.minus to spare.minus { 8 AWG; 1 m; green; earth }\nload spare { 1 A }",
            False,
        ),  # carries nothing
        ("wire stub from house.minus to box { 8 AWG; 1 m; green; power }", True),  # said to be no bond
        ("wire stub from house.plus to spare.plus { 8 AWG; 1 m; green; inside a bought device }\nload spare { 1 A }", False),
    ],
)
def test_green_by_job(said, wire: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    found = said(cord("red", "black", "red", "") + f"case box {{ metal }}\n{wire}\n", "misleading_colour")
    assert [item[1] for item in found.grades] == (["green-live"] if broken else [])
    assert [item.count for item in found.idle] == ([1] if "inside" in wire else [])


def test_scheme_with_one_meaning_each(said) -> None:  # type: ignore[no-untyped-def]
    found = said(cord("red", "black", "red", "", "site { colour red for plus, black for minus }"), "misleading_colour")
    assert found.passed("site", "two-roles")
