"""One cause, one finding, on the mains side: what a missing bond explains, and what stands beside it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

BUILD = """rig "Cabin", revision 1
site { SITE }
battery house { LFP, 4 cells, 50 Ah }
inverter power { 120 V AC; 600 W; floating; feeds FEEDS; not output isolated from the frame }
connector room { household socket; pin 1 L; pin 2 N; on the panel; female; outlet; ROOM }
connector porch { household socket; pin 1 L; pin 2 N; on the panel; female; outlet }
wires 14 AWG { L1 from power.L to room.1; N1 from power.N to room.2; L2 from power.L to porch.1; N2 from power.N to porch.2 }
"""


@pytest.mark.parametrize(
    ("site", "feeds", "room", "standing", "gone"),
    [
        # House wiring that floats: the one bond that is missing mends it.
        ("not damp", "house wiring", "15 A", {"neutral-bonds.no-bond on power"}, {"unguarded-outlet.floating-wiring on room, power", "unguarded-outlet.floating-wiring on porch, power"}),
        # In the wet a bond alone mends nothing.
        ("damp", "house wiring", "RCD", {"neutral-bonds.no-bond on power", "unguarded-outlet.no-device on porch, power"}, {"unguarded-outlet.floating-wiring on porch, power"}),
        # A device before one outlet that finds no bond, and none before the other.
        ("damp", "plug-in loads", "RCD", {"neutral-bonds.no-bond on power", "unguarded-outlet.no-device on porch, power"}, set()),
        ("damp", "plug-in loads", "15 A", {"unguarded-outlet.no-device on room, power", "unguarded-outlet.no-device on porch, power"}, set()),
    ],
)  # fmt: skip
def test_missing_bond_and_missing_device(
    site: str, feeds: str, room: str, standing: set[str], gone: set[str], together: Callable[..., Any]
) -> None:
    """Catalogue, I5 and I6: the bond and the device are two measures; only where house wiring floats does one missing bond make both."""
    text = BUILD.replace("SITE", site).replace("FEEDS", feeds).replace("ROOM", room)
    found, yielded = together(text, "neutral_bonds", "unguarded_outlet")
    assert (found - {"unguarded-outlet.blind on power"}, yielded) == (standing, gone)
