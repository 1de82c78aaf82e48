"""Rule conflicting-sources: what the solver meets without resistance, outputs beside outputs and batteries, missing data."""

from __future__ import annotations

import pytest

HEAD = 'rig "Sources", revision 1\nbasis us-small-craft\nall wires { 12 AWG; 1 m }\n'
PAIR = "battery one { LFP, 4 cells, 60 Ah; ONE }\nbattery two { LFP, 4 cells, 60 Ah; TWO }\ntwo.plus on one.plus\ntwo.minus on one.minus\n"
APART = 'state "joined" { one at 60 %; two at 40 % }\n'
EVEN = 'state "joined" { one at 60 %; two at 60 % }\n'


def pair(one: str, two: str) -> str:
    return (HEAD + PAIR.replace("ONE", one).replace("TWO", two)).replace("; }", " }")


def test_two_batteries_without_resistance(said) -> None:  # type: ignore[no-untyped-def]
    """The run does not fail: the state that has no operating point is a finding."""
    found = said(pair("", "") + APART, "conflicting_sources")
    assert found.grades == [("one", "unlimited", "error")]
    finding = found.finding("one")
    assert finding.subject == ("one", "two")
    assert (finding.state, [state.state for state in finding.states]) == ("joined", ["joined"])
    assert finding.remedy.startswith("Declare the internal resistance of one and two")
    assert found.passes == []
    short = pair("", "") + 'bus bar\nwire w from one.plus to bar\nstate "test" { one at 60 %; two at 40 %; short at bar }\n'
    assert said(short, "conflicting_sources").grades == []  # a dead short that is declared is wanted


@pytest.mark.parametrize(
    ("one", "two", "state"),
    [
        ("", "", EVEN),
        ("internal resistance 9 mohm", "", APART),
        ("internal resistance 9 mohm", "internal resistance 9 mohm", APART),
    ],
)
def test_resistance_or_equal_charge_leaves_none(said, one: str, two: str, state: str) -> None:  # type: ignore[no-untyped-def]
    found = said(pair(one, two) + state, "conflicting_sources")
    assert found.grades == []
    assert [item.subject for item in found.passes] == [("one",), ("two",)]


OUTPUT = (
    "battery big { LFP, 8 cells, 60 Ah; internal resistance 9 mohm }\nconverter step { OUT; output at most 10 A; isolated }\n"
    "wire a from big.plus to step.in_plus\nwire b from step.in_minus to big.minus\n"
)
BESIDE = (
    "battery small { LFP, 4 cells, 60 Ah; internal resistance 9 mohm }\nwire c from step.out_plus to small.plus\n"
    "wire d from step.out_minus to small.minus\n"
)


@pytest.mark.parametrize(
    ("out", "sense"),
    [
        ("11.52 V", ""),
        ("11.51 V", "at-least"),
        ("14.6 V", ""),
        ("14.61 V", "at-most"),
        ("5 V", "at-least"),
        ("24 V", "at-most"),
    ],
)
def test_output_beside_a_battery(said, out: str, sense: str) -> None:  # type: ignore[no-untyped-def]
    """10 % under 12.8 V nominal, and the charge voltage of the cells, 4 x 3.65 V."""
    found = said(HEAD + OUTPUT.replace("OUT", f"output {out}") + BESIDE, "conflicting_sources")
    assert [item[:2] for item in found.grades] == ([("step", "unlike-outputs")] if sense else [])
    if sense:
        finding = found.finding("step")
        assert finding.sense == sense
        assert finding.limit.value == pytest.approx(11.52 if sense == "at-least" else 14.6)


@pytest.mark.parametrize(("other", "broken"), [("12 V", False), ("13.2 V", False), ("13.3 V", True), ("5 V", True)])
def test_two_outputs(said, other: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    more = (
        f"converter second {{ output {other}; output at most 5 A; isolated }}\nwire e from big.plus to second.in_plus\n"
        "wire f from second.in_minus to big.minus\nwire g from second.out_plus to step.out_plus\nwire h from second.out_minus to step.out_minus\n"
    )
    found = said(HEAD + OUTPUT.replace("OUT", "output 12 V") + more, "conflicting_sources")
    assert [item.subject for item in found.findings] == ([("second", "step")] if broken else [])


def test_only_where_a_switch_joins_them(said) -> None:  # type: ignore[no-untyped-def]
    more = BESIDE.replace(
        "wire c from step.out_plus to small.plus",
        "switch gate 10 A\nwire c from step.out_plus to gate.line\nwire k from gate.load to small.plus",
    )
    text = HEAD + OUTPUT.replace("OUT", "output 5 V") + more
    assert said(text, "conflicting_sources").finding("step").state == "resting"
    assert said(text + 'state "apart" { gate open }\n', "conflicting_sources").findings


def test_what_is_missing_and_what_does_not_apply(said) -> None:  # type: ignore[no-untyped-def]
    found = said(HEAD + OUTPUT.replace("OUT; ", "") + BESIDE, "conflicting_sources")
    assert found.missing == [("step", "unlike-outputs", "output voltage")]
    found = said(HEAD + OUTPUT.replace("OUT", "output 5 V") + BESIDE.replace("LFP, 4 cells, ", ""), "conflicting_sources")
    assert found.missing == [("step", "unlike-outputs", "nominal voltage")]
    found = said(HEAD + OUTPUT.replace("OUT", "output 5 V"), "conflicting_sources")
    assert [item.condition for item in found.idle] == ["no other source at the output of a converter"]
    found = said(HEAD + "load lamp 1 A\n", "conflicting_sources")
    assert [item.condition for item in found.idle] == ["no battery"]
