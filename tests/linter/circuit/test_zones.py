"""The zone of a conductor that does not name one: the hotter of those that its ends lie in (declared data, conductor, zone)."""

from __future__ import annotations

import pytest
from ohmwright.circuit.making import make_circuit
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader, Resolved, resolve

BUILD = """rig "Two zones", revision 1
site { ambient 0 degC to 30 degC }
zone hot { 20 degC to 55 degC }
zone cellar { 5 degC to 15 degC }
zone lid
battery house { LFP, 4 cells, 100 Ah; in PLACE }
load lamp { 5 A; in OTHER }
wire feed from house.plus to lamp.plus { 12 AWG; 1 m }
wire back from lamp.minus to house.minus { 12 AWG; 1 m; in cellar }
"""


@pytest.mark.parametrize(
    ("one", "other", "zone"),
    [
        ("hot", "cellar", "hot"),
        ("cellar", "hot", "hot"),
        ("lid", "hot", "hot"),
        ("cellar", "lid", "lid"),
        ("lid", "lid", "lid"),
    ],
)
def test_a_wire_lies_in_the_hotter_zone_of_its_ends(one: str, other: str, zone: str) -> None:
    text = BUILD.replace("PLACE", one).replace("OTHER", other)
    resolved = resolve("box.rig", Loader(MemoryFiles({"box.rig": text})))
    assert isinstance(resolved, Resolved)
    assert not resolved.problems
    circuit = make_circuit(resolved.build)
    assert circuit.by_name["feed"].zone == zone
    assert circuit.by_name["back"].zone == "cellar"


def test_a_wire_with_one_end_outside_of_every_zone_lies_in_the_warmer_place() -> None:
    for one, zone in (("hot", "hot"), ("cellar", "")):
        text = BUILD.replace("PLACE", one).replace("; in OTHER", "")
        resolved = resolve("box.rig", Loader(MemoryFiles({"box.rig": text})))
        assert isinstance(resolved, Resolved)
        assert make_circuit(resolved.build).by_name["feed"].zone == zone
