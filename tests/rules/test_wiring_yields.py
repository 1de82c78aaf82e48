"""One cause, one finding: what wiring faults explain is not told again (yields of the rules about wiring)."""

from __future__ import annotations

from datetime import date

from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright.results import BuildResult
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader
from ohmwright_rules import PACK

HEAD = (
    'rig "Yields", revision 1\nbasis us-small-craft\nsystem 12 V\nsite { ambient 0 degC to 30 degC }\n'
    "all wires { 12 AWG; 1 m; 105 degC insulation; in free air }\n"
    "battery house { LFP, 4 cells, 60 Ah; internal resistance 18 mohm }\n"
)
LAMP = (
    "load lamp { 1 A; works on 10 V to 15 V }\nwire l1 from house.plus to lamp.plus\nwire l2 from lamp.minus to house.minus\n"
)


def inspected(text: str) -> BuildResult:
    (build,) = inspect_files(
        ["box.rig"], Loader(MemoryFiles({"box.rig": text})), InspectOptions(date(2026, 1, 1)), (PACK,)
    ).builds
    assert not build.partial
    return build


def told(build: BuildResult, *rules: str) -> list[tuple[str, str]]:
    return sorted((item.rule.id, item.finding.subject[0]) for item in build.findings if item.rule.id in rules)


def yielded(build: BuildResult) -> set[tuple[str, str]]:
    return {(item.rule.id, item.finding.subject[0]) for item in build.yielded}


def test_what_a_short_circuit_overloads() -> None:
    build = inspected(
        HEAD + LAMP + "switch odd 10 A\nwire s1 from house.plus to odd.line\nwire s2 from odd.load to house.minus\n"
    )
    assert told(build, "short-circuit", "undersized-wire", "overloaded-switch", "hot-terminal") == [("short-circuit", "house")]
    # no state with a dead short lasts, so that nothing is held against what flows in it
    assert not {("undersized-wire", "s1"), ("undersized-wire", "s2"), ("overloaded-switch", "odd")} & yielded(build)


def test_battery_the_wrong_way_round() -> None:
    other = (
        "battery other { LFP, 4 cells, 60 Ah; internal resistance 18 mohm }\nwire a from house.plus to other.minus\n"
        "wire b from house.minus to other.plus\n"
    )
    build = inspected(HEAD + LAMP + other)
    assert told(build, "reversed-polarity", "short-circuit", "bank-voltage") == [("reversed-polarity", "other")]
    assert ("short-circuit", "house") in yielded(build)


def test_loads_on_a_bank_of_a_wrong_voltage() -> None:
    text = HEAD + (
        "battery other { LFP, 4 cells, 60 Ah; internal resistance 18 mohm }\nload lamp { 1 A; works on 10 V to 15 V }\n"
        "wire link from house.plus to other.minus\nwire l1 from other.plus to lamp.plus\nwire l2 from lamp.minus to house.minus\n"
    )
    build = inspected(text)
    assert told(build, "bank-voltage", "load-voltage") == [("bank-voltage", "house")]
    assert ("load-voltage", "lamp") in yielded(build)


def test_open_terminal_and_what_it_cuts_off() -> None:
    build = inspected(HEAD + LAMP + "load fan 1 A\nwire f1 from house.plus to fan.plus\n")
    assert told(build, "open-terminal", "floating-island") == [("open-terminal", "fan")]


def test_unlike_batteries_without_resistance() -> None:
    text = (
        HEAD.replace("; internal resistance 18 mohm", "")
        + LAMP
        + ("battery old { LFP, 8 cells, 60 Ah; nominal 25.6 V }\nold.plus on house.plus\nold.minus on house.minus\n")
    )
    build = inspected(text)
    assert ("conflicting-sources", "house") in told(build, "conflicting-sources")


def test_a_part_that_is_too_small_is_told_once() -> None:
    """One cause: the part is too small, both for what flows and for what the fuse passes; without an overload the fuse is told."""
    text = HEAD + (
        "fuse main { 40 A; line on house.plus }\nswitch key { 15 A }\nconnector outlet with plug { 2 pins; 15 A; contact resistance 1 mohm; pin 1 plus; pin 2 minus }\n"
        "load pump { AMPERE; works on 10 V to 15 V }\nwires 6 AWG {\n  a from main.load to key.line\n  b from key.load to outlet.1\n"
        "  c from plug.1 to pump.plus\n  d from pump.minus to plug.2\n  e from outlet.2 to house.minus\n}\n"
    )
    build = inspected(text.replace("AMPERE", "20 A"))
    assert {name for name, _ in told(build, "overloaded-switch", "overloaded-contact", "weak-part")} == {
        "overloaded-switch",
        "overloaded-contact",
    }
    assert {subject for name, subject in yielded(build) if name == "weak-part"} == {"key", "outlet"}
    small = inspected(text.replace("AMPERE", "5 A"))
    assert told(small, "overloaded-switch", "overloaded-contact", "weak-part") == [
        ("weak-part", "key"),
        ("weak-part", "outlet"),
    ]


def test_a_conductor_behind_too_large_a_fuse_is_told_once() -> None:
    text = HEAD.replace("12 AWG; 1 m", "1 m") + (
        "fuse main { FUSE; lets through 30000 A2s; line on house.plus }\nload lamp { 2 A; works on 10 V to 15 V }\n"
        "wire a from main.load to lamp.plus { 16 AWG; PVC }\nwire b from lamp.minus to house.minus { 6 AWG; PVC }\n"
    )
    build = inspected(text.replace("FUSE", "80 A"))
    assert told(build, "oversized-fuse", "short-circuit-heat") == [("oversized-fuse", "a")]
    assert ("short-circuit-heat", "a") in yielded(build)
    assert told(inspected(text.replace("FUSE", "15 A")), "oversized-fuse", "short-circuit-heat") == [
        ("short-circuit-heat", "a")
    ]


def test_what_drains_a_stored_bank_is_told_once() -> None:
    text = HEAD.replace("internal resistance 18 mohm", "internal resistance 18 mohm; bms { own drain 1 mA }") + (
        "meter gauge { takes AMPERE; always on }\nwire a from house.plus to gauge.plus\nwire b from gauge.minus to house.minus\n"
    )
    rules = ("parasites", "no-storage-position")
    build = inspected(text.replace("AMPERE", "15 mA"))
    assert told(build, *rules) == [("parasites", "house")]
    assert ("no-storage-position", "house") in yielded(build)
    assert told(inspected(text.replace("AMPERE", "3 mA")), *rules) == [("no-storage-position", "house")]


def test_an_inverter_the_wrong_way_round() -> None:
    mill = "inverter mill { 300 W; cut-off 10.5 V; peak 600 W for 5 s }\nwire i1 from house.plus to mill.minus\nwire i2 from mill.plus to house.minus\n"
    build = inspected(HEAD + LAMP + mill)
    assert told(build, "reversed-polarity", "surge-cut-off") == [("reversed-polarity", "mill")]
    assert ("surge-cut-off", "mill") in yielded(build)
