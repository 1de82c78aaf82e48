"""What an adaptation removes is left out of the lists in which the published build names it."""

from __future__ import annotations

from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.model import Build
from ohmwright_grammar.resolve import Loader, Resolved, resolve

PUBLISHED = """rig "Box", revision 1
battery house { LFP; 60 Ah }
load pump { 60 W }
load lamp { 10 W }
connector socket with plug { pin 1 plus; pin 2 minus }
wire feed from house.plus to pump.plus, 8 AWG, 0.4 m
wire return from pump.minus to house.minus, 8 AWG, 0.4 m
wire lamp_feed from house.plus to lamp.plus, 14 AWG, 2 m
wire lamp_return from lamp.minus to house.minus, 14 AWG, 2 m
never together pump, lamp
state night { lamp, pump on; plug apart; lamp on for 3 h/day; house at 50 % }
require run pump, lamp for 4 h
require run lamp for 8 h
waive voltage-drop on lamp up to 5 % because "old lamps" until 2027-01-01
"""


def adapted(text: str) -> Build:
    files = {"box.rig": PUBLISHED, "own.rig": 'rig "Own", revision 1\nadapts "box.rig" revision 1\n' + text}
    resolved = resolve("own.rig", Loader(MemoryFiles(files)))
    assert isinstance(resolved, Resolved)
    assert [problem.message for problem in resolved.problems] == []
    return resolved.build


def test_states_promises_and_groups_leave_a_removed_load_out() -> None:
    build = adapted("remove lamp, lamp_feed, lamp_return\n")
    (night,) = build.states
    assert [(setting.things, setting.how) for setting in night.settings or ()] == [(("pump",), "on"), (("plug",), "apart")]
    assert not build.rig.never_together
    promises = [thing.facts["run"].value.loads for thing in build.things if thing.KIND == "require"]
    assert promises == [("pump",)]
    assert build.adapted is not None
    assert not build.adapted.waivers


def test_the_other_half_of_a_removed_connector_stands_alone() -> None:
    build = adapted("remove plug\n")
    assert build.matings == ()
    (night,) = build.states
    assert all("plug" not in setting.things for setting in night.settings or ())


def test_what_is_declared_anew_keeps_its_place_in_the_states() -> None:
    build = adapted("remove lamp\nload lamp { 6 W }\n")
    (night,) = build.states
    assert (night.settings or ())[0].things == ("lamp", "pump")
    assert build.rig.never_together == (("pump", "lamp"),)


def test_a_wire_on_a_removed_part_is_still_a_mistake() -> None:
    files = {"box.rig": PUBLISHED, "own.rig": 'rig "Own", revision 1\nadapts "box.rig" revision 1\nremove lamp\n'}
    resolved = resolve("own.rig", Loader(MemoryFiles(files)))
    assert isinstance(resolved, Resolved)
    assert {problem.rule for problem in resolved.problems} == {"unknown-name"}
    assert len(resolved.problems) == 2
