"""One cause, one finding, where batteries lie side by side: which findings yield to which (readings.md, and what follows from the sums)."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest


@pytest.fixture
def told(together: Callable[..., tuple[set[str], set[str]]]) -> Callable[..., tuple[set[str], ...]]:
    """Return what stands and what yielded, as rule.grade, of some rules together."""

    def grades(text: str, *modules: str) -> tuple[set[str], ...]:
        return tuple({name.partition(" on ")[0] for name in found} for found in together(text, *modules))

    return grades


CHAIN = """rig "Chain", revision 1
basis us-small-craft
system 12 V
site { ambient 0 degC to 30 degC }
all wires { copper; 105 degC insulation; in free air; 14 AWG; 0.3 m }
battery main { LFP, 4 cells, 100 Ah; internal resistance 40 mohm; discharge at most 200 A; charge at most 300 A }
battery extra { LFP, 4 cells, 100 Ah; internal resistance 10 mohm; discharge at most 200 A; charge at most 300 A }
connector socket with plug { 2 pins; 20 A; contact resistance 1 mohm; family "two"; pin 1 plus; pin 2 minus }
wires { a from main.plus to socket.1; b from main.minus to socket.2; c from plug.1 to extra.plus; d from plug.2 to extra.minus }
load lamp 120 A
wire feed from main.plus to lamp.plus, 2 AWG
wire back from lamp.minus to main.minus, 2 AWG
"""


def test_chain_link_before_wires_and_contacts_of_the_link(told: Callable[..., Any]) -> None:
    """Readings.md, One cause: chain link C4 > D1, G5. The leads of the lamp are none of the link's parts."""
    standing, yielded = told(CHAIN, "chain_link", "undersized_wire", "overloaded_contact")
    assert standing == {"chain-link.over-rating"}
    assert yielded == {"undersized-wire.over-ampacity", "overloaded-contact.over-rating"}
    thin = CHAIN.replace("lamp.plus, 2 AWG", "lamp.plus, 8 AWG")
    assert told(thin, "chain_link", "undersized_wire")[0] == {"chain-link.over-rating", "undersized-wire.over-ampacity"}


def test_joining_surge_before_joining_while_charging(told: Callable[..., Any]) -> None:
    """Readings.md, One cause: C6 > C14."""
    charger = "mains charger shore { 40 A; absorption 14.2 V }\nwire c1 from shore.plus to main.plus, 6 AWG\nwire c2 from shore.minus to main.minus, 6 AWG\n"
    standing, yielded = told(CHAIN + charger, "joining_surge", "joining_while_charging")
    assert standing == {"joining-surge.over-rating"}
    assert yielded == {"joining-while-charging.over-rating"}


def test_unlike_chemistry_before_what_is_left_over(told: Callable[..., Any]) -> None:
    """LFP beside AGM leaves a voltage over at equal charge: the chemistry is the cause (C3 before C9)."""
    text = (
        'rig "Bank", revision 1\nsystem 12 V\nall wires { 6 AWG; 0.3 m }\n'
        "battery one { LFP, 4 cells, 100 Ah; internal resistance 5 mohm; made 2025-01-01 }\n"
        "battery two { AGM, 6 cells, 100 Ah; internal resistance 5 mohm; made 2025-01-01 }\n"
        "wire upper from one.plus to two.plus\nwire lower from one.minus to two.minus\n"
    )
    standing, yielded = told(text, "unlike_packs", "bank_voltage")
    assert standing == {"unlike-packs.chemistry"}
    assert yielded == {"bank-voltage.loop"}
    cells = text.replace("AGM, 6 cells", "LFP, 5 cells")
    standing, yielded = told(cells, "unlike_packs", "bank_voltage")
    assert (standing, yielded) == ({"bank-voltage.loop"}, {"unlike-packs.voltage"})


def test_uneven_share_before_the_limit_that_it_breaks(told: Callable[..., Any]) -> None:
    """A pack over its limit only because it gives more than its share is told once; one over it anyway is told by overdrawn-battery."""
    text = (
        'rig "Bank", revision 1\nsystem 12 V\n'
        "battery near { LFP, 4 cells, 100 Ah; internal resistance 10 mohm; discharge at most 40 A }\n"
        "battery away { LFP, 4 cells, 100 Ah; internal resistance 10 mohm; discharge at most 40 A }\nload lamp AMPERE\n"
        "wires { f from near.plus to lamp.plus, 4 AWG, 1 m; b from lamp.minus to near.minus, 4 AWG, 1 m }\n"
        "wires { u from near.plus to away.plus, 14 AWG, 1.5 m; l from near.minus to away.minus, 14 AWG, 1.5 m }\n"
    )
    standing, yielded = told(text.replace("AMPERE", "60 A"), "uneven_sharing", "overdrawn_battery")
    assert standing == {"uneven-sharing.over-limit", "uneven-sharing.uneven"}
    assert yielded == {"overdrawn-battery.continuous"}
    standing, yielded = told(text.replace("AMPERE", "200 A"), "uneven_sharing", "overdrawn_battery")
    assert (standing, yielded) == ({"uneven-sharing.uneven", "overdrawn-battery.continuous"}, set())


def test_short_circuit_before_what_it_draws(told: Callable[..., Any]) -> None:
    text = (
        'rig "Short", revision 1\nsystem 12 V\nbattery one { LFP, 4 cells, 100 Ah; internal resistance 5 mohm; discharge at most 100 A }\n'
        "wire loop from one.plus to one.minus, 6 AWG, 0.5 m\n"
    )
    standing, yielded = told(text, "short_circuit", "overdrawn_battery")
    assert {name.partition(".")[0] for name in standing} == {"short-circuit"}
    assert not yielded  # no state with a dead short lasts, so that nothing is held against what flows in it
