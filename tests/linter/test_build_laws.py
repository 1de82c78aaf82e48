"""Laws of whole builds: renaming, reordering and splitting change nothing but names, and balances hold at every solved state."""

from __future__ import annotations

import random
import re
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright.results import Result
from ohmwright.study import Study, StudyOptions
from ohmwright.studying import make_study
from ohmwright_grammar.files import FolderFiles, MemoryFiles
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.distribution import Bus
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.kinds.switch import Switch
from ohmwright_grammar.resolve import Loader, Resolved, resolve
from ohmwright_rules import PACK

ROOT = Path(__file__).resolve().parents[2]
TODAY = date(2026, 3, 1)
BOX = """rig "Law box", revision 1
basis us-small-craft
system 12 V
site { ambient -5 degC to 35 degC; record low -18 degC }
all wires { copper; 105 degC insulation; in free air }
battery house { LFP, 4 cells, 100 Ah; internal resistance 4 mohm; lowest 11 V }
fuse main { 80 A bolt-down; breaks 10 kA at 32 V dc; 32 V; line on house.plus }
bus hub 150 A
bus back 150 A
wire feed from main.load to hub, 6 AWG, 0.3 m
wire return from back to house.minus, 6 AWG, 0.3 m
fuse lamp_fuse { 40 A blade; breaks 1 kA at 32 V dc; 32 V; line on hub }
fuse pump_fuse { 30 A blade; breaks 1 kA at 32 V dc; 32 V; line on hub }
switch lamp_switch { 10 A }
load lamp { 150 W; works on 10.5 V to 15 V }
load pump { 32 A; works on 11 V to 15 V }
wire lamp_out from lamp_fuse.load to lamp_switch.line, 18 AWG, 1.5 m
wire lamp_on from lamp_switch.load to lamp.plus, 16 AWG, 4 m
wire lamp_back from lamp.minus to back, 16 AWG, 4 m
wire pump_out from pump_fuse.load to pump.plus, 14 AWG, 3 m
wire pump_back from pump.minus to back, 14 AWG, 3 m
state "evening" { lamp_switch closed; lamp, pump on; house at 60 % }
"""
NAMES = sorted(
    set(re.findall(r"^(?:wire|fuse|switch|load|bus|battery) (\w+)", BOX, re.MULTILINE)),
    key=lambda name: (-len(name), name),
)


def _inspect(text: str) -> Result:
    options = InspectOptions(today=TODAY)
    result = inspect_files(["box.rig"], Loader(MemoryFiles({"box.rig": text})), options, (PACK,))
    assert not result.errors
    return result


def _verdicts(result: Result, names: dict[str, str] | None = None) -> list[tuple[object, ...]]:
    """Return what was found, without lines and words, names put back."""
    back = names or {}
    (build,) = result.builds

    def plain(name: str) -> str:
        return ".".join(back.get(piece, piece) for piece in name.split("."))

    rows: list[tuple[object, ...]] = []
    for item in build.findings:
        measured = item.finding.measured.value if item.finding.measured is not None else 0.0
        limit = item.finding.limit.value if item.finding.limit is not None else 0.0
        subject = tuple(sorted(plain(name) for name in item.finding.subject))
        rows.append(
            (item.rule.id, item.grade.name, int(item.severity), subject, float(f"{measured:.9g}"), float(f"{limit:.9g}"))
        )
    return sorted(rows, key=str)


PLAIN = _verdicts(_inspect(BOX))


def test_box_breaks_something() -> None:
    assert len(PLAIN) >= 5


@settings(max_examples=25)
@given(st.integers(0, 10**6))
def test_reordering_statements_changes_nothing(seed: int) -> None:
    first, *rest = BOX.splitlines()
    random.Random(seed).shuffle(rest)
    assert _verdicts(_inspect("\n".join([first, *rest]) + "\n")) == PLAIN


@settings(max_examples=25)
@given(st.permutations(NAMES), st.sampled_from(["part_{}", "z{}", "K{}_x"]))
def test_renaming_things_changes_only_names(order: list[str], pattern: str) -> None:
    new = {name: pattern.format(number) for number, name in enumerate(order)}
    text = re.sub(r"\b(" + "|".join(NAMES) + r")\b(?!\s+low)", lambda found: new[found[1]], BOX)
    back = {value: name for name, value in new.items()}
    assert _verdicts(_inspect(text), back) == PLAIN


def _study(text: str) -> Study:
    resolved = resolve("box.rig", Loader(MemoryFiles({"box.rig": text})))
    assert isinstance(resolved, Resolved)
    assert not resolved.problems
    return make_study(resolved.build, StudyOptions(today=TODAY))


@pytest.mark.parametrize("share", [0.1, 0.5, 0.73])
def test_splitting_a_wire_in_two_changes_no_current_and_no_drop(share: float) -> None:
    whole = _study(BOX)
    near, far = 4 * share, 4 * (1 - share)
    split = _study(
        BOX.replace(
            "wire lamp_on from lamp_switch.load to lamp.plus, 16 AWG, 4 m",
            f"bus joint 20 A\nwire lamp_on from lamp_switch.load to joint, 16 AWG, {near:.6f} m\nwire lamp_on_2 from joint to lamp.plus, 16 AWG, {far:.6f} m",
        )
    )
    for one, two in zip(whole.states, split.states, strict=True):
        assert one.name == two.name
        assert one.current("lamp_back") == pytest.approx(two.current("lamp_back"), rel=1e-9, abs=1e-9)
        before, after = one.voltage("lamp.plus"), two.voltage("lamp.plus")
        assert (before is None) == (after is None)
        assert before is None or before == pytest.approx(after, rel=1e-9)


def test_double_length_doubles_the_drop_of_a_constant_current() -> None:
    def drop(length: str) -> float:
        state = _study(BOX.replace("14 AWG, 3 m", f"14 AWG, {length}")).state("evening")
        assert state is not None
        across = state.across("pump_fuse.load", "pump.plus")
        assert across is not None
        return across

    assert drop("6 m") == pytest.approx(2 * drop("3 m"), rel=1e-9)


@pytest.mark.parametrize(
    "path", sorted(path.relative_to(ROOT / "examples").as_posix() for path in (ROOT / "examples").glob("*/*.rig"))
)
def test_energy_and_charge_balance_in_every_state_of_the_examples(path: str) -> None:
    """What sources deliver is what all others take and lose, and what flows into a node flows out: to 1e-9 of the throughput."""
    folder = ROOT / "examples"
    resolved = resolve(path, Loader(FolderFiles(folder)))
    assert isinstance(resolved, Resolved)
    if resolved.build.is_library or resolved.build.partial:
        pytest.skip("a library, or a build that is wrong in its text")
    study = make_study(resolved.build, StudyOptions(today=TODAY))
    inverters = {consumer.part.name for consumer in study.circuit.consumers if consumer.kind == "inverter"}
    all_sources = {source.name for source in study.circuit.sources}
    for state in study.states:
        sources = (all_sources - inverters) | state.setup.on_mains  # one that also charges is on both lists
        if not state.solved or state.operation.conflicts:
            continue
        powers = state.operation.powers
        sides = {f"{name}{side}" for name in sources for side in (".in", ".out")}
        plain = {name: value for name, value in powers.items() if name not in sides}
        delivered = sum(value for name, value in plain.items() if name in sources and f"{name}.in" not in powers)
        taken = sum(value for name, value in plain.items() if name not in sources or f"{name}.in" in powers)
        throughput = sum(abs(value) for value in plain.values())
        assert delivered == pytest.approx(taken, abs=1e-9 * throughput + 1e-9), (path, state.name)
        _nodes_balance(study, state.name)


def _nodes_balance(study: Study, name: str) -> None:
    """Hold the sum of currents at zero at every node where only branches meet: buses, fuses, switches, contacts."""
    state = study.state(name)
    assert state is not None
    for node, branches in study.circuit.at_node.items():
        part = study.part(study.build.nodes.get(node, ""))
        if node not in study.networker.number or not isinstance(part, Bus | Fuse | Switch | Half):
            continue
        flows = [state.current(branch.name) * (1 if branch.end == node else -1) for branch in branches]
        assert sum(flows) == pytest.approx(0.0, abs=1e-9 * sum(abs(flow) for flow in flows) + 1e-9), (node, name)
