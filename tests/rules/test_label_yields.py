"""One cause, one finding, where labels, budgets and shorts meet: what is told beside each other, and what yields."""

from __future__ import annotations

from datetime import date

from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright.rules import Pack
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader
from ohmwright_rules import PACK, YIELDS


def told(text: str, *modules: str) -> tuple[set[str], set[str]]:
    """Return what stands and what yielded, as rule.grade, of some rules together."""
    pack = Pack("ohmwright", "0", tuple(f"ohmwright_rules.{name}" for name in modules), yields=YIELDS, bases=PACK.bases)
    result = inspect_files(["box.rig"], Loader(MemoryFiles({"box.rig": text})), InspectOptions(today=date(2026, 1, 1)), (pack,))
    assert not result.errors, result.errors
    build = result.builds[0]
    assert not [item.finding.message for item in build.findings if item.rule.family == "text"]
    return (
        {f"{item.rule.id}.{item.grade.name}" for item in build.findings},
        {f"{item.rule.id}.{item.grade.name}" for item in build.yielded},
    )


def test_holder_that_takes_too_much_is_told_beside_its_missing_label() -> None:
    """Catalogue, F18 and M3: the limit of the wire is not what a missing label says, and another holder mends it without a label."""
    text = """rig "Box", revision 1
basis us-small-craft
system 12 V
site { ambient 0 degC to 30 degC }
all wires { copper; 105 degC insulation; in free air; 16 AWG; 1 m }
battery house { LFP, 4 cells, 100 Ah }
fuse main { 10 A blade; line on house.plus; holder { block; 40 A } }
load winch 5 A
wire a from main.load to winch.plus
wire b from winch.minus to house.minus
"""
    both = {"roomy-holder.unlabelled", "unmarked-fuse.no-label"}
    assert told(text, "roomy_holder", "unmarked_fuse") == (both, set())
    assert told(text.replace("40 A }", "30 A }"), "roomy_holder", "unmarked_fuse") == ({"unmarked-fuse.no-label"}, set())


def test_short_takes_what_the_main_then_carries() -> None:
    """By the circuit as declared: what flows through the main with the bank shorted is not what its loads draw."""
    text = """rig "Shop", revision 1
system 12 V
battery house { LFP, 4 cells, 100 Ah; internal resistance 5 mohm }
fuse main { 60 A; line on house.plus }
loads { fan { 15 A }; lamp { 10 A } }
wires 8 AWG, 1 m {
  b from main.load to fan.plus
  c from main.load to lamp.plus
  d from fan.minus to house.minus
  e from lamp.minus to house.minus
}
"""
    assert told(text, "short_circuit", "overloaded_main") == (set(), set())
    text = text.replace("c from main.load to lamp.plus", "c from main.load to house.minus")
    assert told(text, "short_circuit", "overloaded_main") == ({"short-circuit.shorted"}, {"overloaded-main.over-main"})
