"""Rule unlike-packs: the fault catalogue's example C3, the edges of capacity and age, lead-acid builds, strings, missing data."""

from __future__ import annotations

import pytest

JOINED = "wire upper from one.plus to two.plus\nwire lower from one.minus to two.minus\n"


def pair(one: str, two: str) -> str:
    """Two batteries side by side."""
    return f'rig "Bank", revision 1\nbattery one {{ {one} }}\nbattery two {{ {two} }}\n{JOINED}'


LFP = "LFP, 4 cells, 100 Ah; made 2025-03-01"


def test_catalogue_c3(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, C3, Ex: LFP 100 Ah beside AGM 100 Ah -> error."""
    found = said(pair(LFP, LFP.replace("LFP, 4", "AGM, 6")), "unlike_packs")
    assert found.grades == [("two", "chemistry", "error")]
    assert found.finding("two").message.startswith("two: it is AGM, beside one, which is LFP;")


@pytest.mark.parametrize(
    ("capacity", "broken"), [("95 Ah", False), ("94.9 Ah", True), ("95.1 Ah", False), ("105.2 Ah", False), ("105.3 Ah", True)]
)
def test_capacity_at_its_edge(said, capacity: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, C3: capacity +-5 %, of the largest; at equality it holds. 100 of 105.3 is 5.03 % less."""
    found = said(pair(LFP, LFP.replace("100 Ah", capacity)), "unlike_packs")
    assert [item[1:] for item in found.grades] == ([("capacity", "warning")] if broken else [])


@pytest.mark.parametrize(
    ("made", "broken"),
    [("2025-09-01", False), ("2025-09-02", True), ("2024-09-01", False), ("2024-08-31", True), ("2025-03-01", False)],
)
def test_age_at_its_edge(said, made: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, C3: age <= 6 months difference, either way; the same day of the sixth month still holds."""
    found = said(pair(LFP, LFP.replace("2025-03-01", made)), "unlike_packs")
    assert [item[1:] for item in found.grades] == ([("age", "warning")] if broken else [])


def test_build_of_lead_acid_is_a_warning(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, C3: error for chemistry, warning for others."""
    lead = "AGM, 6 cells, 100 Ah; made 2025-03-01"
    assert said(pair(lead, lead.replace("AGM", "gel")), "unlike_packs").grades == [("two", "build", "warning")]
    lithium = said(pair(LFP, LFP.replace("LFP, 4", "other lithium, 4")), "unlike_packs")
    assert lithium.grades == [("two", "chemistry", "error")]


def test_voltage(said) -> None:  # type: ignore[no-untyped-def]
    found = said(pair(LFP, LFP.replace("4 cells", "5 cells")), "unlike_packs")
    assert found.grades == [("two", "voltage", "warning")]
    assert found.finding("two").message == "two: its nominal voltage is 16 V, that of one beside it 12.8 V."


def test_missing_data(said) -> None:  # type: ignore[no-untyped-def]
    found = said(pair(LFP, "12.8 V"), "unlike_packs")
    assert [(grade, missing) for _, grade, missing in found.missing] == [
        ("chemistry", "chemistry of two"), ("capacity", "capacity of two"), ("age", "date made of two"),
    ]  # fmt: skip
    assert found.grades == []


def test_packs_of_one_part_are_alike(said) -> None:  # type: ignore[no-untyped-def]
    """Declared data, "alike, or what differs": alike if from one part."""
    found = said(
        f'rig "B", revision 1\nbattery one {{ LFP, 4 cells, 100 Ah }}\nbattery two same as one\n{JOINED}', "unlike_packs"
    )
    assert (found.grades, found.missing) == ([], [])
    assert [item.condition for item in found.idle] == ["packs of one part, none of which says when it was made"]
    twice = said(pair("LFP, 4 cells, 100 Ah", "LFP, 4 cells, 100 Ah"), "unlike_packs")
    assert [item[1:] for item in twice.missing] == [("age", "date made of one")]


def test_string_counts_with_its_smallest_battery(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        'rig "S", revision 1\n'
        + "".join(
            f"battery {name} {{ AGM, 6 cells, {size} Ah; made 2025-03-01 }}\n"
            for name, size in zip("abcd", (100, 100, 100, 80), strict=True)
        )
        + "wires { w1 from a.plus to b.minus; w2 from c.plus to d.minus; w3 from b.plus to d.plus; w4 from a.minus to c.minus }\n"
    )
    found = said(text, "unlike_packs")
    assert [item[1:] for item in found.grades] == [("capacity", "warning")]
    assert found.findings[0].message.startswith("c + d: 80 Ah beside a + b with 100 Ah, 20 % less;")


def test_no_bank(said) -> None:  # type: ignore[no-untyped-def]
    text = pair(LFP, LFP).replace(JOINED, "wire link from one.plus to two.minus\n")
    assert [item.condition for item in said(text, "unlike_packs").idle] == ["no batteries lie side by side"]


STARTER = """rig "Boat", revision 1
battery house { AGM, 6 cells, 150 Ah; internal resistance 4 mohm }
battery starter { flooded, 6 cells, 70 Ah; internal resistance 6 mohm }
alternator engine { 50 A; absorption 14.3 V; plus on starter.plus; minus on starter.minus }
wire lower from house.minus to starter.minus
"""
SENSING = "disconnect combiner { 120 A; CLOSES }\nwire a from starter.plus to combiner.line\nwire b from combiner.load to house.plus\nwire c from combiner.minus to house.minus\n"
RELAY = (
    "relay combiner { 120 A; coil 12 V; coil 2 W; REST }\nswitch key 5 A\nwire a from starter.plus to combiner.line\nwire b from combiner.load to house.plus\n"
    "wire d from starter.plus to key.line\nwire e from key.load to combiner.coil_plus\nwire c from combiner.coil_minus to house.minus\n"
)
KEY = "state driving { key closed; engine on }\nstate anchored { key open; engine off }\n"
DIODE = "diode isolator { 100 A }\nwire a from starter.plus to isolator.anode\nwire b from isolator.cathode to house.plus\n"


@pytest.mark.parametrize(
    ("joint", "grades"),
    [
        (SENSING.replace("CLOSES", "opens at 12.8 V; closes at 13.3 V"), []),
        (SENSING.replace("CLOSES", "opens at 11.5 V; closes at 12.4 V"), ["build", "capacity"]),
        (SENSING.replace("CLOSES", "opens at 12.8 V"), ["build", "capacity"]),
        (RELAY.replace("REST", "normally open") + KEY, []),
        (RELAY.replace("REST", "normally closed") + KEY, ["build", "capacity"]),
        (RELAY.replace("REST", "normally open") + KEY.replace("key open", "key closed"), ["build", "capacity"]),
        (RELAY.replace("REST", "normally open; latching") + KEY, ["build", "capacity"]),
        (DIODE, []),
        ("wire a from starter.plus to house.plus\n", ["build", "capacity"]),
    ],
)
def test_what_opens_at_rest_makes_no_bank(said, joint: str, grades: list[str]) -> None:  # type: ignore[no-untyped-def]
    """A starting battery that is joined only while the engine charges does not share its charge with the house battery (common practice, no source)."""
    assert sorted(item[1] for item in said(STARTER + joint, "unlike_packs").grades) == grades
