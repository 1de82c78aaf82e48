"""Reached states of packs: how many are joined, one of them low, one of them failed (DEVELOPERS.md, "Reached states").

Currents are checked by hand sums: Ohm's law over the measured resistances that the builds declare.
"""

from __future__ import annotations

from itertools import count

import pytest
from ohmwright.states.packs import natural, packs_of
from ohmwright.states.setup import Level
from ohmwright.study import SolvedState, Study, StudyOptions
from ohmwright.studying import make_study
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader, Resolved, resolve

OHM = 0.010 + 3 * 0.005  # of one pack: the battery, then three leads of 5 mohm
BMS = "bms { cuts both; charge at most 400 A; discharge at most 400 A; low cut-off 10 V }"
LFP = f"LFP, 4 cells, 100 Ah; internal resistance 10 mohm; rest 12.0 V at 0 %, 13.2 V at 50 %, 13.6 V at 100 %; {BMS}"
AGM = "AGM, 6 cells, 100 Ah; internal resistance 10 mohm; rest 11.4 V at 0 %, 12.3 V at 50 %, 12.9 V at 100 %"
HEAD = """
rig "Bank", revision 1
system 12 V
site { ambient 0 degC to 30 degC }
all wires { 2 AWG; copper; 0.3 m; measured 5 mohm }
all switches { contact resistance 0 mohm }
bus p 500 A
bus m 500 A
"""
NAMES = ("left", "right", "third")


def _bank(*packs: str, fuse: str = "400 A", switch: str = "400 A", more: str = "", joined: bool = True) -> str:
    """Return packs side by side on two bars, each behind a fuse and a switch of its own (`switch` "" for none); the state has them all closed."""
    lines = [HEAD]
    names = NAMES[: len(packs)]
    for name, said in zip(names, packs, strict=True):
        lines.append(f"battery {name} {{ {said} }}\nfuse {name}_fuse {{ {fuse}; line on {name}.plus }}")
        if switch:
            lines.append(f"switch {name}_switch {{ {switch} }}\nwire {name}_a from {name}_fuse.load to {name}_switch.line")
            lines.append(f"wire {name}_b from {name}_switch.load to p")
        else:
            lines.append(
                f"bus {name}_stud 400 A\nwire {name}_a from {name}_fuse.load to {name}_stud\nwire {name}_b from {name}_stud to p"
            )
        lines.append(f"wire {name}_c from m to {name}.minus")
    switches = ", ".join(f"{name}_switch" for name in names)
    how = f"{switches} closed; " if switch and joined else ""
    lines += ["load lamp { 10 A }\nwire l1 from p to lamp.plus\nwire l2 from lamp.minus to m", more]
    lines.append(f"state use {{ {how}lamp off; everything else at 50 % }}")
    return "\n".join(lines)


def _study(text: str, **options: object) -> Study:
    resolved = resolve("box.rig", Loader(MemoryFiles({"box.rig": text})))
    assert isinstance(resolved, Resolved)
    assert not resolved.problems
    return make_study(resolved.build, StudyOptions(reached=True, implied=False, **options))  # type: ignore[arg-type]


def _state(study: Study, name: str) -> SolvedState:
    state = study.state(name)
    assert state is not None, [item.name for item in study.reached]
    return state


def _told(study: Study, word: str) -> list[str]:
    return [state.name for state in study.reached if state.name.endswith(word)]


def test_a_pack_is_as_low_as_the_posted_rule_allows() -> None:
    """Two packs at 13.2 V, one 0.2 V below: 0.2 V over both packs' ways (common practice, no source: Ohm's law)."""
    study = _study(_bank(LFP, LFP, more="procedure { join packs within 0.2 V }"))
    state = _state(study, "use, left low")
    assert state.setup.levels == {"left": Level(13.0, is_voltage=True), "right": Level(0.5)}
    assert state.current("right") == pytest.approx(0.2 / (2 * OHM))
    assert state.current("left") == pytest.approx(-0.2 / (2 * OHM))
    assert _told(study, " low") == ["use, left low", "use, right low"]
    assert state.setup.after_failure == 0
    assert (state.setup.origin, state.setup.parent, state.setup.way) == ("reached", "use", "left low")


def test_a_rule_that_allows_more_than_a_pack_has_tells_nothing() -> None:
    """13.2 V less 20 V is no voltage of a battery."""
    assert _told(_study(_bank(LFP, LFP, more="procedure { join packs within 20 V }")), " low") == []


def test_a_hand_parts_packs_at_the_plug_rather_than_at_the_switch() -> None:
    plugged = "wire left_c from m to left.minus"
    text = _bank(LFP, LFP).replace(
        plugged,
        "connector a_socket with a_plug { 1 pins; 400 A }\nwire x from m to a_socket.1\nwire y from a_plug.1 to left.minus",
    )
    study = _study(text)
    packs = packs_of(study.build, study.circuit, study.anatomy)
    joint = next(joint for joint in packs.joints if [unit.word for unit in joint.far] == ["left"])
    assert sorted(lever.kind for lever in joint.levers) == ["plug", "switch"]
    ways = [(sorted(gates), words) for gates, words in packs.fewest()]
    assert (["a_socket with a_plug"], "left absent") in ways


def test_without_a_rule_it_is_empty_beside_full_ones_while_that_lasts() -> None:
    """Readings, C6: empty is the low cut-off at rest, 10 V, against 13.6 V: 3.6 V / 50 mohm = 72 A, which an 80 A fuse bears and one of 70 A does not."""
    flow = (13.6 - 10.0) / (2 * OHM)
    assert flow == pytest.approx(72.0)
    state = _state(_study(_bank(LFP, LFP, fuse="80 A")), "use, left low")
    assert state.setup.levels == {"left": Level(10.0, is_voltage=True), "right": Level(1.0)}
    assert state.current("right") == pytest.approx(flow)
    assert _told(_study(_bank(LFP, LFP, fuse="70 A")), " low") == []
    assert _told(_study(_bank(LFP, LFP, switch="70 A")), " low") == []
    lets_in = LFP.replace("charge at most 400 A; discharge", "charge at most 71 A; discharge")
    assert _told(_study(_bank(LFP, LFP)), " low") == ["use, left low", "use, right low"]
    assert _told(_study(_bank(lets_in, LFP)), " low") == ["use, right low"]
    lets_out = LFP.replace("discharge at most 400 A", "discharge at most 71 A")
    assert _told(_study(_bank(LFP, lets_out)), " low") == ["use, right low"]
    without = LFP.replace("; low cut-off 10 V", "")  # then 0 % of the rest table: 1.6 V / 50 mohm
    assert _state(_study(_bank(without, without)), "use, left low").current("right") == pytest.approx(1.6 / (2 * OHM))


def test_packs_that_something_evens_out_are_never_low() -> None:
    eased = _bank(LFP, LFP, switch="400 A; joins through precharge")
    assert _told(_study(eased), " low") == []
    assert _told(_study(eased.replace("joins through precharge", "makes 500 A")), " low") == ["use, left low", "use, right low"]


def test_packs_that_nothing_parts_are_never_low_and_never_absent() -> None:
    study = _study(_bank(LFP, LFP, switch=""))
    assert _told(study, " low") == []
    assert _told(study, " absent") == []
    assert _told(study, " open")[:2] == ["use, the BMS of left open", "use, the BMS of right open"]


def test_a_pack_without_management_system_fails() -> None:
    """One pack gone: the other gives all of 10 A. With a dead cell: 12.3 V x 5/6 against 12.3 V, 2.05 V / 50 mohm = 41 A, while a 50 A fuse bears it."""
    study = _study(_bank(AGM, AGM, switch="", fuse="50 A").replace("lamp off", "lamp on"))
    gone = _state(study, "use, left failed")
    assert (gone.current("left"), gone.current("right")) == (0.0, pytest.approx(10.0))
    assert gone.setup.after_failure == 1
    study = _study(_bank(AGM, AGM, switch="", fuse="50 A"))
    dead = _state(study, "use, left with a dead cell")
    assert dead.setup.levels["left"] == Level(pytest.approx(12.3 * 5 / 6), is_voltage=True)
    assert dead.current("right") == pytest.approx(12.3 / 6 / (2 * OHM))
    assert dead.setup.after_failure == 1
    assert _told(_study(_bank(AGM, AGM, switch="", fuse="40 A")), " cell") == []  # 41 A opens it
    silent = AGM.replace("6 cells, ", "") + "; nominal 12 V"
    assert _told(_study(_bank(silent, silent, switch="", fuse="50 A")), " cell") == []  # it does not say its cells
    assert _told(_study(_bank(AGM, switch="", fuse="50 A")), " failed") == []  # a lone battery is no pack


def test_none_to_all_packs_are_joined_in_the_order_of_names() -> None:
    study = _study(_bank(LFP, LFP, LFP, more="procedure { join packs within 0.2 V }"))
    packs = packs_of(study.build, study.circuit, study.anatomy)
    assert [unit.word for unit in packs.removable] == ["left", "right", "third"]
    setup = study.states[0].setup
    assert [(sorted(found.open_gates), words) for found, words in packs.counts(setup)] == [
        (["left_switch", "right_switch", "third_switch"], "left, right and third absent"),
        (["right_switch", "third_switch"], "right and third absent"),
        (["third_switch"], "third absent"),
    ]
    names = [state.name for state in study.reached]
    assert "use, third absent" not in names  # it is one move away: "third_switch open"
    assert names.index("use, third_switch open") < names.index("use, left, right and third absent")
    assert (
        names.index("use, right and third absent") < names.index("use, left low") < names.index("use, third absent, left low")
    )
    assert "use, third absent, third low" not in names
    assert "use, right and third absent, left low" not in names  # it is alone there
    state = _state(study, "use, third absent, left low")
    assert state.current("right") == pytest.approx(0.2 / (2 * OHM))
    assert len(names) == len(set(names))
    assert _state(study, "use, right_fuse blown").point is _state(study, "use, right_switch open").point
    assert study.circuits_solved < len(study.all_states)  # equal circuits are solved once


def test_a_pack_that_comes_is_as_full_as_what_it_joins() -> None:
    text = _bank(LFP, LFP, more="procedure { join packs within 0.2 V }").replace(
        "left_switch, right_switch closed", "left_switch closed"
    )
    text = text.replace("everything else at 50 %", "left at 90 %")
    study = _study(text)
    state = _state(study, "use, right joined")
    assert state.setup.levels == {"left": Level(0.9), "right": Level(0.9)}
    assert state.current("left") == pytest.approx(0.0, abs=1e-9)


CHAIN = (
    HEAD
    + """
battery house { LFP, 4 cells, 100 Ah; internal resistance 10 mohm }
fuse house_fuse { 100 A; line on house.plus }
wire h1 from house_fuse.load to p
wire h2 from m to house.minus
load lamp { 10 A }
wire l1 from p to lamp.plus
wire l2 from lamp.minus to m
assembly pack {
  battery cells { LFP, 4 cells, 50 Ah; internal resistance 10 mohm; bms { cuts both } }
  connector inlet { 2 pins; 60 A }
  connector outlet { 2 pins; 60 A }
  wire a from inlet.1 to cells.plus
  wire b from cells.minus to inlet.2
  wire c from cells.plus to outlet.1
  wire d from cells.minus to outlet.2
}
connector out { 2 pins; 60 A }
wire o1 from p to out.1
wire o2 from out.2 to m
row packs of 3 pack { starts at out; joins inlet to outlet; 0 to 3 joined }
procedure { join packs within 0.2 V }
state use { packs 1 joined; lamp on }
"""
)


def test_packs_of_a_chain_come_and_go_from_its_end() -> None:
    study = _study(CHAIN)
    packs = packs_of(study.build, study.circuit, study.anatomy)
    assert [unit.word for unit in packs.units] == ["house", "packs[1]", "packs[2]", "packs[3]"]
    assert [(joint.levers[0].kind, sorted(unit.word for unit in joint.far)) for joint in packs.joints] == [
        ("plug", ["packs[1]", "packs[2]", "packs[3]"]), ("plug", ["packs[2]", "packs[3]"]), ("plug", ["packs[3]"])
    ]  # fmt: skip
    words = [words for _, words in packs.counts(study.states[0].setup)]
    assert words == ["packs[1] absent", "packs[2] joined", "packs[2] and packs[3] joined"]
    assert _told(study, " low")[:2] == ["use, house low", "use, packs[1] low"]
    assert "use, packs[2] and packs[3] joined, packs[3] low" in _told(study, " low")
    for told, expected in (
        ("1 to 3 joined", ["packs[2] joined", "packs[2] and packs[3] joined"]),
        ("0 to 2 joined", ["packs[1] absent", "packs[2] joined"]),
    ):
        held = _study(CHAIN.replace("0 to 3 joined", told))
        packs = packs_of(held.build, held.circuit, held.anatomy)
        assert [words for _, words in packs.counts(held.states[0].setup)] == expected


def test_shorts_are_looked_for_with_as_few_packs_as_can_be() -> None:
    study = _study(_bank(LFP, LFP, LFP))
    packs = packs_of(study.build, study.circuit, study.anatomy)
    assert [(sorted(gates), words) for gates, words in packs.fewest()] == [
        (["right_switch", "third_switch"], "right and third absent"),
        (["left_switch", "third_switch"], "left and third absent"),
        (["left_switch", "right_switch"], "left and right absent"),
    ]
    chain = _study(CHAIN)
    packs = packs_of(chain.build, chain.circuit, chain.anatomy)
    assert [words for _, words in packs.fewest()] == ["packs[1], packs[2] and packs[3] absent"]
    assert list(packs_of(*_parts(_bank(LFP, LFP, switch=""))).fewest()) == []


def _parts(text: str) -> tuple[object, ...]:
    study = _study(text)
    return study.build, study.circuit, study.anatomy


def test_strings_are_packs() -> None:
    """Two strings of two 6 V blocks: a low string lies the whole difference below the other, half of it in each block."""
    block = "AGM, 3 cells, 100 Ah; internal resistance 5 mohm; rest 5.7 V at 0 %, 6.15 V at 50 %, 6.45 V at 100 %"
    text = _bank(block, block, more="procedure { join packs within 0.2 V }")
    for name in NAMES[:2]:
        text = text.replace(
            f"wire {name}_c from m to {name}.minus",
            f"battery {name}_low {{ {block} }}\n{name}_low.plus on {name}.minus\nwire {name}_c from m to {name}_low.minus",
        )
    study = _study(text)
    state = _state(study, "use, left_low and left low")
    assert state.setup.levels["left"] == state.setup.levels["left_low"] == Level(pytest.approx(6.05), is_voltage=True)
    assert state.current("right") == pytest.approx(0.2 / (2 * OHM))
    assert {"use, left failed", "use, left_low failed"} <= set(_told(study, " failed"))


def test_what_does_not_fit_is_counted() -> None:
    text = _bank(LFP, LFP, LFP, more="procedure { join packs within 0.2 V }")
    everything = _study(text)
    assert everything.not_reached == 0
    names = [state.name for state in everything.reached]
    for most in (5, names.index("use, left low") + 1, names.index("use, third absent, left low") + 1):
        few = _study(text, most_states=most)
        assert [state.name for state in few.reached] == names[:most]
        assert few.not_reached >= len(names) - most


def test_other_numbers_with_one_low_leave_room_for_the_rest(monkeypatch: pytest.MonkeyPatch) -> None:
    import ohmwright.states.walk as walk

    text = _bank(LFP, LFP, LFP, more="procedure { join packs within 0.2 V }")
    everything = {state.name for state in _study(text).reached}
    monkeypatch.setattr(walk, "MOST_WITH_ONE", 1)
    study = _study(text)
    left = everything - {state.name for state in study.reached}
    assert left
    assert all("absent, " in name for name in left)
    assert study.not_reached >= len(left)


def test_a_selector_joins_packs_too() -> None:
    text = (
        HEAD
        + f"""
battery one {{ {LFP} }}
battery two {{ {LFP} }}
selector choice {{ 400 A; contact resistance 0 mohm; position "one" joins x; position "two" joins y; position "both" joins x, y }}
wire a from one.plus to choice.x
wire b from two.plus to choice.y
wire c from m to one.minus
wire d from m to two.minus
wire e from choice.common to p
load lamp {{ 10 A }}
wire l1 from p to lamp.plus
wire l2 from lamp.minus to m
procedure {{ join packs within 0.2 V }}
state apart {{ choice at one; everything else at 50 % }}
state joined {{ choice at both; everything else at 50 % }}
"""
    )
    study = _study(text)
    assert _told(study, " low") == ["joined, one low", "joined, two low"]  # in the other state they are not joined
    assert _told(study, " absent") == []  # its positions are departures of their own


def test_packs_that_bar_each_other_are_never_joined() -> None:
    text = _bank(LFP, LFP, more="barred together left_switch, right_switch\nprocedure { join packs within 0.2 V }").replace(
        "left_switch, right_switch closed", "left_switch closed"
    )
    study = _study(text)
    assert _told(study, " low") == []
    assert not any("right_switch" not in state.open_gates and "left_switch" not in state.open_gates for state in study.reached)


def test_names_sort_as_people_count() -> None:
    names = [f"pack[{number}]" for _, number in zip(range(12), count(1), strict=False)]
    assert sorted(sorted(names), key=natural) == names
