"""Rules spark-in-gas and exposed-spark: the fault catalogue's examples L4 and L16, other spaces, missing data."""

from __future__ import annotations

import pytest

BUILD = """rig "Box", revision 1
case box { ABS; closed }
case other { ABS; closed }
battery house { CHEMISTRY; 80 Ah; in box }
relay contactor { 100 A; RELAY }
"""


@pytest.mark.parametrize(
    ("chemistry", "relay", "grades", "missing"),
    [
        ("flooded; 6 cells", "in box; not sealed", [("contactor", "vented", "error")], 0),  # catalogue, L4, Ex
        ("AGM; 6 cells", "in box; not sealed", [("contactor", "valve-regulated", "warning")], 0),
        ("flooded; 6 cells", "in box; sealed", [], 0), ("flooded; 6 cells", "in box; ignition-protected", [], 0),
        ("flooded; 6 cells", "in other; not sealed", [], 0), ("LFP, 4 cells", "in box; not sealed", [], 0),
        ("flooded; 6 cells", "in box", [], 1), ("flooded; 6 cells", "in box; electronic", [], 0),
    ],
)  # fmt: skip
def test_gas(said, chemistry: str, relay: str, grades: list[tuple[str, str, str]], missing: int) -> None:  # type: ignore[no-untyped-def]
    found = said(BUILD.replace("CHEMISTRY", chemistry).replace("RELAY", relay), "spark_in_gas")
    assert found.grades == grades
    assert len(found.unchecked) == missing


@pytest.mark.parametrize(
    ("site", "relay", "grades", "missing"),
    [
        ("boat; near petrol", "not ignition-protected", [("blower", "near-petrol", "error")], 0),  # catalogue, L16, Ex
        ("boat; near petrol", "ignition-protected", [], 0), ("boat; near petrol", "sealed", [], 1),
        ("boat; not near petrol", "not ignition-protected", [], 0), ("boat", "not ignition-protected", [], 1),
        ("fixed", "not ignition-protected", [], 0),
    ],
)  # fmt: skip
def test_petrol(said, site: str, relay: str, grades: list[tuple[str, str, str]], missing: int) -> None:  # type: ignore[no-untyped-def]
    text = f'rig "Boat", revision 1\nsite {{ {site} }}\nbattery house {{ LFP, 4 cells, 50 Ah }}\nrelay blower {{ 30 A; {relay} }}\n'
    found = said(text, "exposed_spark")
    assert found.grades == grades
    assert len(found.unchecked) == missing


def test_motors_spark(said) -> None:  # type: ignore[no-untyped-def]
    text = 'rig "Boat", revision 1\nsite { boat; near petrol }\nload blower { 3 A; motor; not ignition-protected }\n'
    assert said(text, "exposed_spark").grades == [("blower", "near-petrol", "error")]
