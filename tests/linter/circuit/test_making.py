"""Which nodes are mains and which are DC, and which poles a part joins inside."""

from __future__ import annotations

import pytest
from ohmwright.circuit.graph import Circuit
from ohmwright.circuit.making import make_circuit
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader, Resolved, resolve

HEAD = (
    'rig "Box", revision 1\nall wires { 12 AWG; 1 m }\nbus bar\ncase box steel\nbattery house { LFP, 4 cells, 100 Ah }\n'
    "inverter mains { 600 W }\nAC load kettle 500 W\nwire m from house.plus to bar\nwire i1 from bar to mains.plus\n"
    "wire i2 from mains.minus to house.minus\nwire hot from mains.L to kettle.L\nwire cold from mains.N to kettle.N\n"
)


def made(text: str) -> Circuit:
    resolved = resolve("box.rig", Loader(MemoryFiles({"box.rig": text})))
    assert isinstance(resolved, Resolved)
    assert not resolved.problems
    return make_circuit(resolved.build)


def test_mains_and_dc_are_two_graphs() -> None:
    circuit = made(HEAD)
    assert circuit.ac_nodes == {"mains.L", "mains.N", "mains.shore_L", "mains.shore_N", "kettle.L", "kettle.N"}
    assert [branch.name for branch in circuit.ac_branches] == ["cold", "hot"]
    assert "hot" not in circuit.by_name


@pytest.mark.parametrize(
    "wires",
    [
        "wire x from mains.L to bar\n",
        "wire x from mains.N to house.minus\n",
        "wire x from mains.N to mains.PE\nwire y from mains.PE to house.minus\n",
        "bus earth\nwire x from mains.N to earth\nwire y from earth to house.minus\n",
        "wire x from kettle.N to box\nwire y from box to house.minus\n",
    ],
)
def test_poles_of_the_dc_side_stay_there(wires: str) -> None:
    """Whatever joins both sides, by a bond or by mistake: every source and consumer keeps both of its nodes."""
    circuit = made(HEAD + wires)
    nodes = set(circuit.nodes)
    for item in (*circuit.sources, *circuit.consumers):
        assert {item.plus, item.minus} <= nodes
    assert {"mains.L", "mains.N", "kettle.L", "kettle.N"} <= circuit.ac_nodes
    assert "x" not in circuit.by_name
    assert "i2" in circuit.by_name


@pytest.mark.parametrize(("words", "joined"), [("", True), ("; isolated", False)])
def test_converter_joins_its_minus_poles_unless_it_isolates(words: str, joined: bool) -> None:
    """Declared data, converter: input and output isolated, undeclared no; also where one of the two is used alone."""
    for terminal in ("in_minus", "out_minus"):
        circuit = made(HEAD + f"converter small {{ output 5 V{words} }}\nwire a from bar to small.{terminal}\n")
        assert ("small common minus" in circuit.by_name) is joined


@pytest.mark.parametrize(
    ("words", "terminal", "branch"),
    [
        ("", "pv_plus", ""), ("", "pv_minus", "sun common minus"), ("; common negative", "pv_plus", "sun common minus"),
        ("; common positive", "pv_minus", "sun common plus"), ("; common negative", "batt_plus", ""),
    ],
)  # fmt: skip
def test_controller_joins_its_common_pole(words: str, terminal: str, branch: str) -> None:
    circuit = made(HEAD + f"controller sun {{ MPPT{words} }}\nwire a from bar to sun.{terminal}\n")
    assert [name for name in circuit.by_name if name.startswith("sun common")] == ([branch] if branch else [])
