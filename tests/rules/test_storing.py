"""The state in which a build counts as stored: named by the procedure, by itself, else the one in which least is drained."""

from __future__ import annotations

import pytest

MONTH = 730 * 3600.0
BUILD = """rig "Winter box", revision 1
battery house { LFP, 4 cells, 100 Ah; usable 80 %; self-discharge 3 %/month; bms { own drain 4 mA } }
switch isolator 40 A
meter gauge 8 mA
load lamp 20 W
connector socket with plug { 15 A; pins 1, 2 }
wires measured 1 uohm {
  a from house.plus to isolator.line
  b from isolator.load to socket.1
  c from plug.1 to lamp.plus
  d from lamp.minus to plug.2
  e from socket.2 to house.minus
  f from house.plus to gauge.plus
  g from gauge.minus to house.minus
}
require on the shelf for 6 months
"""
EVENING = 'state "evening" { isolator closed; lamp on; house at 90 % }\n'


def taken(said, text: str) -> tuple[str, str]:  # type: ignore[no-untyped-def]
    """Return the state that was taken, and why."""
    (row,) = said(text, "shelf_life").build.requirements
    (step,) = [step for step in row.working if step.symbol == "stored"]
    return step.expression.removeprefix("as in state "), step.source


def lasts(said, text: str) -> float:  # type: ignore[no-untyped-def]
    (row,) = said(text, "shelf_life").build.requirements
    return float(row.value.value) / MONTH


def test_without_a_state_of_storage_the_implied_one_counts(said) -> None:  # type: ignore[no-untyped-def]
    name, why = taken(said, BUILD + EVENING)
    assert name == "'stored'"
    assert why.startswith("implied")
    assert lasts(said, BUILD + EVENING) == pytest.approx(80 / 11.76)


@pytest.mark.parametrize(
    "state",
    [
        'state "shut" { isolator open; house at 70 % }',
        'state "shut" { isolator open; plug apart; house at 70 % }',
        'state "shut" { isolator closed; plug apart; house at 70 % }',
        'state "shut" { isolator open; lamp on; house at 70 % }',
    ],
)
def test_a_state_in_which_nothing_runs_counts_with_its_charge(said, state: str) -> None:  # type: ignore[no-untyped-def]
    """50 Ah over 12 mA x 730 h + 3 Ah; the gates need not be those of the implied state, and a load without a feed does not run."""
    text = BUILD + EVENING + state + "\n"
    assert taken(said, text) == (
        "'shut'",
        "of the states in which no load runs and no charger works the least is drained in it",
    )
    assert lasts(said, text) == pytest.approx(50 / 11.76)


def test_of_quiet_states_that_one_counts_in_which_least_is_drained(said) -> None:  # type: ignore[no-untyped-def]
    """The meter behind the switch: 4 mA x 730 h + 3 Ah instead of 11.76 Ah."""
    text = BUILD.replace("f from house.plus", "f from isolator.load")
    states = 'state "watched" { isolator closed; house at 50 % }\nstate "shut" { isolator open; house at 70 % }\n'
    assert taken(said, text + states)[0] == "'shut'"
    assert lasts(said, text + states) == pytest.approx(50 / 5.92)
    watched = states.partition("\n")[0] + "\n"
    assert taken(said, text + watched)[0] == "'stored'"  # more is drained in it than with every switch open


@pytest.mark.parametrize("name", ["stored", "Stored", "in storage", "on the shelf", "winter", "parked", "laid up for winter"])
def test_a_name_says_so_whatever_it_drains(said, name: str) -> None:  # type: ignore[no-untyped-def]
    text = BUILD.replace("f from house.plus", "f from isolator.load")
    state = f'state "{name}" {{ isolator closed; house at 70 % }}\nstate "shut" {{ isolator open }}\n'
    assert taken(said, text + state) == (repr(name), "its name says so")


@pytest.mark.parametrize("name", ["winter evening", "shelf light on", "restored"])
def test_a_name_alone_does_not_make_a_state_of_use_one_of_storage(said, name: str) -> None:  # type: ignore[no-untyped-def]
    assert taken(said, BUILD + f'state "{name}" {{ isolator closed; lamp on }}\n')[0] == "'stored'"


def test_what_runs_in_a_state_called_storage_counts(said) -> None:  # type: ignore[no-untyped-def]
    text = BUILD + 'state "storage, lamp forgotten" { isolator closed; lamp on }\nstate "shut" { isolator open }\n'
    assert taken(said, text)[0] == "'storage, lamp forgotten'"
    assert lasts(said, text) < 1


def test_the_procedure_names_it(said) -> None:  # type: ignore[no-untyped-def]
    states = 'state "stored" { isolator open }\nstate "hung up" { isolator open; plug apart; house at 70 % }\nstate "hung" { isolator open }\n'
    plan = 'procedure { to store "leave it as in hung up, in the dry" }\n'
    assert taken(said, BUILD + states + plan) == ("'hung up'", "the procedure's storage action names it")
    assert taken(said, BUILD + states + plan.replace("hung up", "hungry"))[0] == "'stored'"


@pytest.mark.parametrize("state", ["main blown", "bms of house open", "house failed", "not allowed", "lasts 5 s"])
def test_a_failed_or_passing_state_is_none_of_storage(said, state: str) -> None:  # type: ignore[no-untyped-def]
    text = BUILD.replace("a from house.plus", "z from house.plus to main.line\n  a from main.load").replace(
        "f from house.plus", "f from main.load"
    )
    text += "fuse main 30 A\n"
    assert taken(said, text + f'state "odd" {{ isolator open; house at 50 %; {state} }}\n')[0] == "'stored'"


def test_a_working_charger_is_no_storage(said) -> None:  # type: ignore[no-untyped-def]
    charger = "mains charger depot { 10 A; absorption 14.4 V; drain when unplugged 0 mA }\n"
    charger += (
        "wire p from depot.plus to house.plus { measured 1 uohm }\nwire q from depot.minus to house.minus { measured 1 uohm }\n"
    )
    assert taken(said, BUILD + charger + 'state "home" { isolator open; house at 50 % }\n')[0] == "'stored'"
    assert taken(said, BUILD + charger + 'state "home" { isolator open; depot off; house at 50 % }\n')[0] == "'home'"


def test_packs_that_are_not_joined_are_banks_of_their_own(said) -> None:  # type: ignore[no-untyped-def]
    packs = "battery spare { LFP, 4 cells, 50 Ah; usable 80 %; self-discharge 3 %/month; bms { own drain 2 mA } }\n"
    packs += "connector link with link_plug { 15 A; pins 1, 2 }\n"
    packs += "wires measured 1 mohm {\n  p from house.plus to link.1\n  q from house.minus to link.2\n"
    packs += "  r from link_plug.1 to spare.plus\n  s from link_plug.2 to spare.minus\n}\n"
    state = 'state "shut" { isolator open; link apart; house at 70 %; spare at 60 % }\n'
    found = said(BUILD + packs + state, "shelf_life")
    assert {item.state for item in [*found.passes, *found.findings]} == {"shut"}
    assert found.passed("spare").measured.value == pytest.approx(20 / (2e-3 * 730 + 1.5) * MONTH)
    assert found.finding("house").measured.value == pytest.approx(50 / 11.76 * MONTH)


def test_parasites_take_the_same_state(said) -> None:  # type: ignore[no-untyped-def]
    finding = said(BUILD + 'state "shut" { isolator open; plug apart }\n', "parasites").finding("house")
    assert finding.state == "shut"
    assert finding.working[0].symbol == "stored"
