"""Rule open-terminal: what each kind of part needs, one missing terminal at a time; common poles, second poles, parts by themselves."""

from __future__ import annotations

import pytest

HEAD = 'rig "Ends", revision 1\nbasis us-small-craft\nall wires { 12 AWG; 1 m }\nbus a\nbus b\n'

# What is said of the part, and the terminals that it needs.
NEEDS = [
    ("battery", "LFP, 4 cells, 60 Ah", "plus minus"),
    ("array", "Voc 22 V", "plus minus"),
    ("load", "1 A", "plus minus"),
    ("AC load", "60 W", "L N"),
    ("inverter", "300 W", "plus minus"),
    ("mains charger", "10 A", "plus minus"),
    ("DC-DC charger", "10 A", "plus minus in_plus in_minus"),
    ("alternator", "40 A", "plus minus"),
    ("meter", "takes 1 mA", "plus minus"),
    ("fuse", "10 A", "line load"),
    ("breaker", "10 A", "line load"),
    ("switch", "10 A", "line load"),
    ("relay", "10 A", "line load coil_plus coil_minus"),
    ("disconnect", "10 A", "line load"),
    ("shunt", "50 mV at 100 A", "line load"),
    ("diode", "10 A", "anode cathode"),
    ("resistor", "10 ohm", "a b"),
    ("controller", "MPPT", "batt_plus batt_minus pv_plus pv_minus"),
    ("converter", "output 5 V; isolated", "in_plus in_minus out_plus out_minus"),
]


def wires(terminals: list[str]) -> str:
    return "".join(f"wire w{k} from {'a' if k % 2 else 'b'} to part.{name}\n" for k, name in enumerate(terminals))


@pytest.mark.parametrize(("kind", "said_of_it", "needs"), NEEDS, ids=[case[0] for case in NEEDS])
def test_each_terminal_is_needed(said, kind: str, said_of_it: str, needs: str) -> None:  # type: ignore[no-untyped-def]
    names = needs.split()
    part = f"{kind} part {{ {said_of_it} }}\n"
    assert said(HEAD + part + wires(names), "open_terminal").grades == []
    for name in names:
        rest = [other for other in names if other != name]
        found = said(HEAD + part + wires(rest), "open_terminal")
        assert found.grades == [("part", "open", "warning")], name
        assert f" {name} is joined to nothing" in found.finding("part").message
    assert said(HEAD + part, "open_terminal").grades == [("part", "unwired", "warning")]


@pytest.mark.parametrize(
    ("kind", "joined", "missing"),
    [
        ("switch part 10 A", "line2 load2", ""),
        ("switch part 10 A", "line load line2", "load2"),
        ("fuse part 10 A", "line load load2", "line2"),
        ("inverter part 300 W", "plus minus L", "N"),
        ("inverter part 300 W", "plus minus L N", ""),
        ("mains charger part 10 A", "plus minus N", "L"),
        ("controller part MPPT", "batt_plus batt_minus pv_plus pv_minus load_plus", "load_minus"),
        ("controller part { MPPT; common negative }", "batt_plus batt_minus pv_plus load_plus", ""),
        ("controller part { MPPT; common positive }", "batt_plus batt_minus pv_minus load_minus", ""),
        ("controller part { MPPT; common positive }", "batt_plus batt_minus pv_plus", "pv_minus"),
        ("converter part { output 5 V }", "in_plus in_minus out_plus", ""),
        ("converter part { output 5 V }", "in_plus out_plus", "one of in_minus, out_minus"),
        ('selector part { position "1" joins one; position "2" joins two }', "common two", ""),
        ('selector part { position "1" joins one; position "2" joins two }', "common", "one of one, two"),
        ('selector part { position "1" joins one; position "2" joins two }', "one two", "common"),
        ("fuse block part 4 ways", "feed 3", ""),
        ("fuse block part 4 ways", "1 2", "feed"),
    ],
)
def test_pairs_and_choices(said, kind: str, joined: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    found = said(HEAD + f"{kind}\n" + wires(joined.split()), "open_terminal")
    assert [item.message.split(" ", 1)[1] for item in found.findings] == (
        [f"{missing} is joined to nothing, so that no current can pass there."] if missing else []
    )


def test_a_joint_and_a_mate_count(said) -> None:  # type: ignore[no-untyped-def]
    text = HEAD + (
        "fuse part { 10 A; line on a }\nconnector out with plug { pin 1; pin 2 }\nload lamp 1 A\nwire w from part.load to out.1\n"
        "lamp.plus on plug.1\nlamp.minus on b\n"
    )
    found = said(text, "open_terminal")
    assert found.grades == []
    assert {item.condition: item.count for item in found.idle} == {"a part without terminals that its use needs": 4}


def test_both_poles_of_a_load_are_told_at_once(said) -> None:  # type: ignore[no-untyped-def]
    found = said(HEAD + "DC-DC charger part 10 A\n" + wires(["plus", "minus"]), "open_terminal").finding("part")
    assert found.message.startswith("part: in_plus and in_minus are joined to nothing")
    assert found.remedy.startswith("Join in_plus and in_minus of part")
