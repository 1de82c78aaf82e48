"""Rule spillable-battery: the fault catalogue's example L11, other uses, missing data."""

from __future__ import annotations

import pytest


@pytest.mark.parametrize(
    ("site", "battery", "grades", "missing"),
    [
        ("portable", "flooded; 6 cells", [("house", "portable", "error")], []),  # catalogue, L11, Ex: flooded 80 Ah in tote
        ("portable", "AGM; 6 cells", [], []), ("vehicle", "flooded; 6 cells", [], []), ("fixed", "flooded; 6 cells", [], []),
        ("not damp", "flooded; 6 cells", [], ["how the box is used (portable, vehicle, boat or fixed)"]),
        ("not damp", "AGM; 6 cells", [], []), ("portable", "12 V", [], ["chemistry"]),
    ],
)  # fmt: skip
def test_uses(said, site: str, battery: str, grades: list[tuple[str, str, str]], missing: list[str]) -> None:  # type: ignore[no-untyped-def]
    found = said(f'rig "Tote", revision 1\nsite {{ {site} }}\nbattery house {{ {battery}; 80 Ah }}\n', "spillable_battery")
    assert found.grades == grades
    assert [item.missing for item in found.unchecked] == missing
