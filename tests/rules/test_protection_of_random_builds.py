"""Rules on protection over random builds: nothing is left without an outcome, and nothing raises."""

from __future__ import annotations

import random
from importlib import import_module

import pytest
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Passed
from ohmwright.study import Study, StudyOptions
from ohmwright.studying import make_study
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader, Resolved, resolve

RULES = (
    "far_fuse", "oversized_fuse", "two_feeds", "one_ended_link", "charger_lead_fuse", "unfused_pack", "weak_breaking", "fuse_voltage",
)  # fmt: skip
OF_CONDUCTORS = RULES[:4]


def random_build(seed: int) -> str:
    """A build of parts that are joined at random, most of it nonsense: shorts, strings, islands, missing data."""
    dice = random.Random(seed)
    pick = dice.choice
    lines = [f'rig "Random {seed}", revision 1']
    lines.append(pick(("basis us-small-craft", "basis us-premises", "basis iec", "")))
    lines.append(pick(("system 12 V", "system 48 V", "")))
    lines.append(pick(("site { ambient -10 degC to 40 degC; record low -20 degC }", "")))
    lines.append(
        pick(
            ("all wires { copper; 105 degC insulation; in free air }", "all wires { copper; 90 degC insulation; method C }", "")
        )
    )
    nodes = ["n1", "n2", "knob.one", "knob.two", "knob.common"]
    lines += [
        "bus n1 100 A",
        "bus n2",
        f"selector knob {{ position 1 joins one; position 2 joins {pick(('two', 'one, two'))} }}",
    ]
    for name in ("b1", "b2", "b3")[: dice.randint(1, 3)]:
        kind = pick(("LFP, 4 cells", "AGM, 6 cells", "LFP, 16 cells", "12 V"))
        lines.append(
            f"battery {name} {{ {kind}; {pick(('internal resistance 5 mohm', 'internal resistance at most 5 mohm', '60 Ah'))} }}"
        )
        nodes += [f"{name}.plus", f"{name}.minus"]
    lines.append(
        f"mains charger c1 {{ {pick(('20 A', '80 A', 'float stage'))}; {pick(('absorption 14.4 V', 'no equalise'))} }}"
    )
    lines.append("array roof { Voc 22 V; Vmp 18 V; Isc 6 A; Imp 5.5 A; 2 in parallel }")
    lines.append(f"controller sun {{ {pick(('20 A', 'lets current back into the array', 'no current back into the array'))} }}")
    nodes += [
        "c1.plus",
        "c1.minus",
        "roof.plus",
        "roof.minus",
        "sun.pv_plus",
        "sun.pv_minus",
        "sun.batt_plus",
        "sun.batt_minus",
    ]
    for number in range(1, dice.randint(2, 6)):
        rating = pick(("10 A blade", "40 A", "100 A", "30 A gG", "blade"))
        lines.append(
            f"fuse f{number} {{ {rating}; {pick(('breaks 1 kA at 32 V dc', '32 V dc', 'AC only', 'breaks 10 kA at 14 V dc'))} }}"
        )
        nodes += [f"f{number}.line", f"f{number}.load"]
    for number in range(1, dice.randint(2, 4)):
        lines += [
            f"switch s{number} 50 A",
            f"load l{number} {dice.randint(1, 20)} A",
            f"diode d{number} {{ drops 0.5 V; 20 A }}",
        ]
        nodes += [
            f"s{number}.line",
            f"s{number}.load",
            f"l{number}.plus",
            f"l{number}.minus",
            f"d{number}.anode",
            f"d{number}.cathode",
        ]
    for number in range(1, dice.randint(6, 20)):
        one, two = dice.sample(nodes, 2)
        says = "; ".join(
            filter(
                None, (pick(("14 AWG", "8 AWG", "2.5 mm2", "")), pick(("0.1 m", "0.5 m", "3 m", "")), pick(("in conduit", "")))
            )
        )
        lines.append(f"{one} on {two}" if dice.random() < 0.15 else f"wire w{number} from {one} to {two} {{ {says} }}")
    return "\n".join(line for line in lines if line) + "\n"


def study_of(text: str) -> Study:
    resolved = resolve("box.rig", Loader(MemoryFiles({"box.rig": text})))
    assert isinstance(resolved, Resolved)
    return make_study(resolved.build, StudyOptions())


@pytest.mark.parametrize("seed", range(120))
def test_every_conductor_gets_an_outcome_of_every_rule_and_nothing_raises(seed: int) -> None:
    study = study_of(random_build(seed))
    wires = {branch.name for branch in study.circuit.wires()}
    for name in RULES:
        module = import_module(f"ohmwright_rules.{name}")
        outcomes = list(module.check(study))
        told = {item.subject[0] for item in outcomes if isinstance(item, Finding | Passed | NotChecked)}
        left = sum(item.count for item in outcomes if isinstance(item, DoesNotApply))
        for item in outcomes:
            if not isinstance(item, DoesNotApply):
                module.RULE.grade(item.grade)
            if isinstance(item, Finding | Passed) and item.measured is not None and item.limit is not None:
                assert item.measured.value >= 0 and item.limit.value >= 0
        if name in OF_CONDUCTORS:
            assert told <= wires
            assert len(told) + left == len(wires), name
