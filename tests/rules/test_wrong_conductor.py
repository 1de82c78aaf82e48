"""Rule wrong-conductor: the fault catalogue's example D8, terminals by the metals that they take, solid wires, missing data."""

from __future__ import annotations

import pytest
from ohmwright.constants.metals import resistance_per_metre
from ohmwright_grammar.quantities import Gauge

BUILD = """rig "Shed", revision 1
basis us-small-craft
SITE
battery house { LFP, 4 cells, 60 Ah; terminals plus, minus { TAKES } }
load pump { 6 A; terminals plus, minus { takes copper and aluminium } }
wire feed from house.plus to pump.plus { 8 AWG; 1.5 m; WIRE }
wire back from pump.minus to house.minus { 8 AWG; 1.5 m; copper; stranded }
"""


def build(wire: str, takes: str = "takes copper only", site: str = "site { portable }") -> str:
    return BUILD.replace("WIRE", wire).replace("TAKES", takes).replace("SITE", site)


def test_catalogue_d8(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, D8, Ex: 8 AWG CCA 2.061/0.63 = 3.27 mohm/m = a 10 AWG copper -> re-check as 10 AWG."""
    assert resistance_per_metre(Gauge.from_awg(8), "copper-clad") * 1e3 == pytest.approx(2.061 / 0.63, rel=2e-3)
    found = said(build("copper-clad aluminium; stranded"), "wrong_conductor")
    assert found.grades == [("feed", "copper-clad", "warning")]
    finding = found.finding("feed")
    assert finding.message.startswith(
        "feed: copper-clad aluminium conducts 0.63 times as well as copper; this 8 AWG counts as 10 AWG copper."
    )
    (step,) = finding.working
    assert step.value == pytest.approx(8.367 * 0.63, rel=1e-3)  # ASTM B258, 8 AWG: 8.367 mm2


@pytest.mark.parametrize(
    ("takes", "grades", "missing"),
    [
        ("takes copper only", [("feed", "copper-terminal", "error")], []),
        ("takes copper and aluminium", [], []),
        ("takes aluminium", [], []),
        ("75 degC", [], [("feed", "copper-terminal", "metals that the terminal takes")]),
    ],
)
def test_aluminium_by_terminal(said, takes: str, grades: list[object], missing: list[object]) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, D8: error for aluminium in a terminal for copper only; declared data: not checked where the terminal does not say."""
    found = said(build("aluminium; stranded", takes), "wrong_conductor")
    assert found.grades == grades
    assert found.missing == missing


@pytest.mark.parametrize(
    ("words", "site", "broken", "missing"),
    [
        ("copper; solid", "site { portable }", True, False), ("copper; solid", "", True, False),
        ("copper; solid", "site { fixed }", False, False), ("copper; class 1", "site { boat }", True, False),
        ("copper; class 2", "site { boat }", False, False), ("copper", "site { portable }", False, True),
        ("copper; boat cable", "site { portable }", False, False), ("copper; building wire", "site { portable }", False, True),
        ("copper", "site { fixed }", False, False),
    ],
)  # fmt: skip
def test_solid(said, words: str, site: str, broken: bool, missing: bool) -> None:  # type: ignore[no-untyped-def]
    found = said(build(words, site=site), "wrong_conductor")
    assert found.grades == ([("feed", "solid", "warning")] if broken else [])
    assert found.missing == ([("feed", "solid", "stranding")] if missing else [])


def test_metal_that_nobody_said(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build("stranded"), "wrong_conductor").missing == [("feed", "copper-terminal", "metal")]
    assert said(build("stranded", "takes copper and aluminium"), "wrong_conductor").missing == [
        ("feed", "copper-clad", "metal")
    ]


def test_cores_of_a_cable_are_told_once_and_devices_are_left_out(said) -> None:  # type: ignore[no-untyped-def]
    more = (
        "load lamp 1 A\ncable lead { 14 AWG; 2 m; copper-clad; stranded\n core out from house.plus to lamp.plus\n core home from lamp.minus to house.minus\n}\n"
        "load fan 1 A\nwire in from house.plus to fan.plus { 18 AWG; 0.1 m; solid; aluminium; inside a bought device }\n"
    )
    found = said(build("copper; stranded") + more, "wrong_conductor")
    assert found.grades == [("lead", "copper-clad", "warning")]
    assert found.finding("lead").subject == ("lead", "lead.home", "lead.out")
    assert [(item.condition, item.count) for item in found.idle] == [("inside a bought device or part of it", 1)]


def test_fixed_builds_and_mains_wires(said) -> None:  # type: ignore[no-untyped-def]
    more = "inverter power 300 W\nAC load till 50 W\nwire hot from power.L to till.L { 14 AWG; 1 m; copper-clad; stranded }\n"
    found = said(build("copper; solid", site="site { fixed }") + more, "wrong_conductor")
    assert {item.condition: item.count for item in found.idle} == {"in a fixed build a conductor may be solid": 3}
    assert found.grades == [("hot", "copper-clad", "warning")]


@pytest.mark.parametrize("takes", ["for copper", "for copper or aluminium"])
def test_the_studs_of_a_busbar_are_read_like_terminals(said, takes: str) -> None:  # type: ignore[no-untyped-def]
    bar = f"bus bar {{ terminals {{ {takes} }} }}\nwire on from pump.plus to bar {{ 8 AWG; 1 m; aluminium; stranded }}\n"
    found = said(build("copper; stranded") + bar, "wrong_conductor")
    assert [item.subject for item in found.findings] == ([("on", "bar")] if takes == "for copper" else [])
    assert found.missing == []
