"""Rule weak-ingress: the fault catalogue's example L8, halves mated and apart, codes, missing data."""

from __future__ import annotations

import pytest
from ohmwright_rules.ingress import is_enough

BUILD = """rig "Garden box", revision 1
site { SITE }
case box { ABS; BOX }
connector socket { 2 pins; on the panel; SOCKET }
switch off { 10 A; SWITCH }
REST
"""


def build(site: str = "outdoors; water protection IPX4", box: str = "IP65", socket: str = "IP67 mated; IP44 apart", switch: str = "IP65; within reach", rest: str = "") -> str:  # fmt: skip
    return (
        BUILD.replace("SITE", site)
        .replace("BOX", box)
        .replace("SOCKET", socket)
        .replace("SWITCH", switch)
        .replace("REST", rest)
    )


def test_catalogue_l8(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, L8, Ex: box IP65, voltmeter IP40, outdoor IPx4 -> warning."""
    assert said(build(rest="meter volts { IP40; takes 5 mA }"), "weak_ingress").grades == [("volts", "below-use", "warning")]


@pytest.mark.parametrize(
    ("text", "grades", "missing"),
    [
        (build(), [], []), (build(socket="IP67 mated; IP40 apart"), ["socket"], []), (build(socket="IP40 mated; IP67 apart"), ["socket"], []),
        (build(socket="IP67 mated"), [], ["ingress rating apart"]), (build(switch="within reach"), [], ["ingress rating"]),
        (build(switch="1 pole"), [], []), (build(box="closed"), [], ["ingress rating"]), (build(box="IP43"), ["box"], []),
        (build(site="outdoors"), [], ["water protection asked for (it is used outdoors)"]), (build(site="outdoors; no water protection"), [], []),
        (build(site="not outdoors", box="IP20"), [], []),
        (build(site="outdoors", box="IP43", rest="require water protection IP44"), ["box"], []),
    ],
)  # fmt: skip
def test_weakest(said, text: str, grades: list[str], missing: list[str]) -> None:  # type: ignore[no-untyped-def]
    found = said(text, "weak_ingress")
    assert [subject for subject, _, _ in found.grades] == grades
    assert [item.missing for item in found.unchecked] == missing


@pytest.mark.parametrize(
    ("code", "wanted", "enough"),
    [
        ("IP44", "IP44", True), ("IP44", "IP54", False), ("IP54", "IP44", True), ("IPX4", "IP44", False), ("IP4X", "IPX1", False),
        ("IP67", "IPX5", False), ("IP66", "IPX5", True), ("IP67", "IPX4", True), ("IP69K", "IPX6", True), ("IP66", "IPX7", False),
    ],
)  # fmt: skip
def test_codes(code: str, wanted: str, enough: bool) -> None:
    """IEC 60529, from memory: each digit for itself; dipping (7, 8) does not cover jets (5, 6)."""
    assert is_enough(code, wanted) is enough
