"""Rule hot-part-on-wood: the fault catalogue's example L14, materials, stand-off at the edge, missing data."""

from __future__ import annotations

import pytest


@pytest.mark.parametrize(
    ("fuse", "found", "missing"),
    [
        ('holder { block; 35 A }; screwed to "plywood"', 1, 0),  # catalogue, L14, Ex: 35 A holders on plywood -> note
        ('holder { block; 35 A }; screwed to "plywood"; stand-off 10 mm', 0, 0), ('holder { block; 35 A }; screwed to "plywood"; stand-off 9.9 mm', 1, 0),
        ('holder { block; 35 A }; screwed to "foam board"', 1, 0), ('holder { block; 35 A }; screwed to "fibre cement board"', 0, 0),
        ('holder { block; 35 A }; screwed to "steel"', 0, 0), ("holder { block; 35 A }", 0, 1), ("holder { block; 35 A }; stand-off 12 mm", 0, 0),
        ("holder { DIN rail; 35 A }", 0, 0), ("holder { post; 35 A }", 0, 0),
    ],
)  # fmt: skip
def test_materials(said, fuse: str, found: int, missing: int) -> None:  # type: ignore[no-untyped-def]
    told = said(f'rig "Panel", revision 1\nfuse main {{ 30 A; {fuse} }}\n', "hot_part_on_wood")
    assert (len(told.grades), len(told.unchecked)) == (found, missing)
