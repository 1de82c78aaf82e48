"""Reached states of mains and of warmth (DEVELOPERS.md, "Reached states"): inverter alone, shore supply, both, neither; the hottest and the coldest air."""

from __future__ import annotations

import pytest
from ohmwright.study import SolvedState, Study, StudyOptions
from ohmwright.studying import make_study
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader, Resolved, resolve

HEAD = """
rig "Box", revision 1
system 12 V
all wires { 2 AWG; copper; 1 m }
battery house { LFP, 4 cells, 100 Ah; internal resistance 5 mohm }
fuse main { 100 A; line on house.plus }
bus p
wire f1 from main.load to p
bus m
wire f2 from m to house.minus
"""
LAMP = "load lamp { 12 W }\nwire l1 from p to lamp.plus\nwire l2 from lamp.minus to m\n"
CHARGER = "mains charger keeper { 20 A; absorption 14.2 V }\nwire c1 from keeper.plus to p\nwire c2 from m to keeper.minus\n"
INVERTER = "inverter power { 500 W; efficiency 100 %; draws 10 W with no load }\nwire i1 from p to power.plus\nwire i2 from power.minus to m\n"
BOTH_WAYS = (
    "inverter-charger combi { 500 W; 30 A; efficiency 100 %; draws 8 W with no load; absorption 14.2 V }\n"
    "wire b1 from p to combi.plus\nwire b2 from combi.minus to m\n"
)
ARRAY = (
    "array roof { Voc 22 V; Vmp 18 V; Isc 6 A; Imp 5.5 A; Voc -0.3 %/K; Isc 0 %/K }\ncontroller sun { MPPT; 30 A; absorption 14.2 V; efficiency 100 % }\n"
    "wire r1 from roof.plus to sun.pv_plus\nwire r2 from sun.pv_minus to roof.minus\nwire s1 from sun.batt_plus to p\nwire s2 from m to sun.batt_minus\n"
)
SITE = "site { ambient -5 degC to 40 degC; record low -20 degC }\n"


def _study(text: str, **options: object) -> Study:
    resolved = resolve("box.rig", Loader(MemoryFiles({"box.rig": text})))
    assert isinstance(resolved, Resolved)
    assert not resolved.problems
    return make_study(resolved.build, StudyOptions(reached=True, implied=False, **options))  # type: ignore[arg-type]


def _state(study: Study, name: str) -> SolvedState:
    state = study.state(name)
    assert state is not None, [item.name for item in study.reached]
    return state


def _ways(study: Study) -> list[str]:
    """The words of the states in which no switch, plug or fuse is otherwise."""
    return [
        state.setup.way for state in study.reached if not any(word in state.setup.way for word in ("blown", "open", "apart"))
    ]


# mains ------------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("parts", "how", "ways"),
    [
        (CHARGER + INVERTER, "", ["inverter alone", "shore supply alone", "neither inverter nor shore supply"]),  # both is what it says
        (CHARGER + INVERTER, "keeper off", ["shore supply alone", "inverter beside shore supply", "neither inverter nor shore supply"]),
        (CHARGER + INVERTER, "power off", ["inverter alone", "inverter beside shore supply", "neither inverter nor shore supply"]),
        (CHARGER + INVERTER, "keeper, power off", ["inverter alone", "shore supply alone", "inverter beside shore supply"]),
        (CHARGER, "", ["shore supply off"]),
        (CHARGER, "keeper off", ["shore supply on"]),
        (INVERTER, "", []),  # nothing that mains could feed
        (BOTH_WAYS, "", ["shore supply alone", "neither inverter nor shore supply"]),  # it cannot do both at once
        (BOTH_WAYS + INVERTER, "", ["shore supply alone", "inverter beside shore supply", "neither inverter nor shore supply"]),
        (CHARGER.replace("mains charger", "DC-DC charger") + INVERTER, "", []),
    ],
)  # fmt: skip
def test_mains_is_there_or_not_beside_the_inverter(parts: str, how: str, ways: list[str]) -> None:
    assert _ways(_study(f"{HEAD}{LAMP}{parts}state use {{ lamp on; {how} }}\n")) == ways


def test_what_flows_with_mains_and_without() -> None:
    """The charger gives its rated current; the inverter takes 10 W at no load, the lamp 12 W: the battery takes or gives the rest (sum of currents)."""
    study = _study(f"{HEAD}{LAMP}{CHARGER}{INVERTER}state use {{ lamp on; house at 50 % }}\n")
    alone, shore = _state(study, "use, inverter alone"), _state(study, "use, shore supply alone")
    volts = alone.across("lamp.plus", "lamp.minus")
    assert volts is not None
    assert (alone.current("keeper"), alone.current("power")) == (0.0, pytest.approx(10 / volts, rel=1e-3))
    assert alone.current("house") == pytest.approx(22 / volts, rel=1e-3)
    assert (shore.current("keeper"), shore.current("power")) == (pytest.approx(20.0), 0.0)
    assert shore.current("house") == pytest.approx(shore.current("lamp") - 20.0)
    neither = _state(study, "use, neither inverter nor shore supply")
    assert neither.current("house") == pytest.approx(neither.current("lamp"))
    assert [state.setup.after_failure for state in (alone, shore, neither)] == [0, 0, 0]


def test_an_inverter_charger_charges_once_mains_is_there() -> None:
    study = _study(f"{HEAD}{LAMP}{BOTH_WAYS}state use {{ lamp on; house at 50 % }}\n")
    assert study.states[0].current("combi") == pytest.approx(8 / 13.15, rel=0.02)  # declared: it inverts and takes its 8 W
    shore = _state(study, "use, shore supply alone")
    assert shore.current("combi") == pytest.approx(30.0)
    assert shore.current("house") == pytest.approx(shore.current("lamp") - 30.0)
    assert "combi" in shore.setup.chargers


# warmth -----------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("site", "how", "ways"),
    [
        (SITE, "dark", []),  # without a temperature it counts at the hot end
        (SITE, "dark; 20 degC", ["hottest, 40 degC"]),
        (SITE, "dark; 40 degC", []),
        (SITE, "dark; inside 30 degC", ["hottest, 40 degC"]),
        (SITE, "full sun", ["coldest, -20 degC"]),
        (SITE, "full sun; 20 degC", ["hottest, 40 degC", "coldest, -20 degC"]),
        (SITE, "full sun; -20 degC", ["hottest, 40 degC"]),
        (SITE, "full sun; -30 degC", ["hottest, 40 degC"]),  # colder than the site ever gets
        (SITE.replace("; record low -20 degC", ""), "full sun", ["coldest, -5 degC"]),
        ("site { record low -20 degC }\n", "full sun; 20 degC", ["coldest, -20 degC"]),
        ("", "full sun; 20 degC", []),
    ],
)
def test_states_get_as_hot_and_as_cold_as_the_site(site: str, how: str, ways: list[str]) -> None:
    assert _ways(_study(f"{HEAD}{LAMP}{ARRAY}{site}state use {{ lamp on; {how} }}\n")) == ways


def test_copper_is_as_warm_as_the_hottest_air() -> None:
    """R(T) = R20 (1 + 0.00393 (T - 20)) (readings.md, Solver): 1.118 at 50 degC, the hot end of the zone, and 1 at the 20 degC that the state gives."""
    zone = "zone hot { 0 degC to 50 degC }\nall wires { in hot }\n"
    study = _study(HEAD + LAMP.replace("12 W", "10 A") + SITE + zone + "state use { lamp on; inside 20 degC }\n")
    cool, hot = study.states[0], _state(study, "use, hottest, 40 degC")
    assert (cool.temperatures.of("hot"), hot.temperatures.of("hot"), hot.temperatures.outside) == (20.0, 50.0, 40.0)
    drops = [state.across("main.load", "p") for state in (cool, hot)]
    assert drops[1] == pytest.approx(drops[0] * (1 + 0.00393 * 30), rel=1e-6)


def test_the_sun_gives_more_in_cold_air() -> None:
    """Vmp -0.3 %/K over 40 K: some 12 % more power at -20 degC than at 20 degC, the cells 30 K above the air in both."""
    study = _study(f"{HEAD}{LAMP}{ARRAY}{SITE}state use {{ full sun; 20 degC; house at 50 % }}\n")
    warm, cold = study.states[0], _state(study, "use, coldest, -20 degC")
    assert cold.temperatures.outside == -20.0
    assert 1.08 < cold.current("sun.out") / warm.current("sun.out") < 1.20


def test_the_way_of_a_state_is_the_shortest() -> None:
    """A state that another start reaches by one move has the name of that move, whatever lies between."""
    text = f"{HEAD}{LAMP}{CHARGER}switch s 20 A\nwire q from p to s.line\nstate use {{ lamp on }}\nstate night {{ lamp on; keeper off }}\n"
    names = [state.name for state in _study(text).reached]
    assert not any("shore supply" in name for name in names)  # each is the other declared state
    assert names[:4] == ["night, main blown", "night, s closed", "use, main blown", "use, s closed"]


def test_a_declared_dead_short_is_no_start() -> None:
    study = _study(
        f"{HEAD}{LAMP}{SITE}state use {{ lamp on; 20 degC }}\nstate broken {{ lamp on; 20 degC; short at lamp.plus }}\n"
    )
    assert {state.setup.parent for state in study.reached} == {"use"}
    assert [state.name for state in study.telling_states if state.setup.origin == "declared"] == ["use"]
    assert [state.name for state in study.states] == ["broken", "use"]


def test_a_state_that_a_slip_of_the_wiring_shorts_does_not_last() -> None:
    slip = "switch odd 10 A\nwire s1 from p to odd.line\nwire s2 from odd.load to m\n"
    study = _study(f"{HEAD}{LAMP}{SITE}{slip}state use {{ lamp on; 20 degC }}\nstate slip {{ odd closed; 20 degC }}\n")
    assert [state.name for state in study.telling_states if state.setup.origin == "declared"] == ["use"]
    closed = [state for state in study.all_states if "odd" not in state.open_gates]
    assert closed
    assert all("main" in state.open_gates for state in study.telling_states if state in closed)  # the fuse has opened
