"""Rule nuisance-fuse: the fault catalogue's examples F4, F5 and I2 end to end, duty, curves, devices side by side, remedies."""

from __future__ import annotations

import pytest

BUILD = """rig "Lamp branch", revision 1
basis us-small-craft
site { ambient 0 degC to TOP degC }
battery house { LFP, 4 cells, 100 Ah; internal resistance 4 mohm }
fuse branch { FUSE }
load lamp LOAD
all wires { 105 degC insulation; in free air }
wire feed from house.plus to branch.line { 8 AWG; 0.1 m }
wire tail from branch.load to lamp.plus { GAUGE; 1 m }
wire back from lamp.minus to house.minus { 8 AWG; 1 m }
"""


def build(load: str, top: str = "25", fuse: str = "30 A; blade", gauge: str = "10 AWG") -> str:
    return BUILD.replace("LOAD", load).replace("TOP", top).replace("FUSE", fuse).replace("GAUGE", gauge)


def test_catalogue_f4(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, F4, Ex: 25/30 = 83 % -> warning."""
    found = said(build("25 A"), "nuisance_fuse")
    assert found.grades == [("branch", "over-loading", "warning")]
    finding = found.finding("branch")
    assert (finding.measured.value, finding.limit.value) == (pytest.approx(25.0), pytest.approx(24.0))
    assert finding.message == (
        "branch: 25 A flows in state 'lamp on' through this fuse of 30 A; 80 % of that, 24 A, may flow for long."
    )
    assert finding.remedy == "Bring the current to 24 A or less, or fit 35 A: its wires allow that, tail (10 AWG) up to 90 A."
    assert found.rule.covers == ("F4", "F5", "I2")


def test_wires_count_in_the_hottest_air_whatever_the_first_state_is(said) -> None:  # type: ignore[no-untyped-def]
    """NFPA 70, Table 310.17: 6 AWG at 90 degC in free air 105 A; Table 310.15(B)(1)(1): 0.91 at 40 degC; 95.6 A, so 100 A is the next standard rating."""
    text = build("25 A", top="40", gauge="6 AWG").replace("us-small-craft", "us-premises").replace("105 degC", "90 degC")
    frost = 'state "a frost" { lamp on; -15 degC }\n'
    for more in ("", frost):
        assert said(text + more, "nuisance_fuse").finding("branch").remedy.endswith("tail (6 AWG) up to 100 A.")


def test_only_wires_behind_the_fuse_limit_it(said) -> None:  # type: ignore[no-untyped-def]
    text = build("25 A").replace("to branch.line { 8 AWG; 0.1 m }", "to branch.line { 16 AWG; 0.1 m }")
    assert said(text, "nuisance_fuse").finding("branch").remedy.endswith("tail (10 AWG) up to 90 A.")


@pytest.mark.parametrize(("load", "broken"), [("23.9 A", False), ("24 A", False), ("24.1 A", True)])
def test_edges(said, load: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    found = said(build(load), "nuisance_fuse")
    assert bool(found.findings) is broken
    assert bool(found.passes) is not broken


def test_catalogue_f5(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, F5, Ex: 30 A, 60 degC: 30 x 0.825 x 0.8 = 19.8 A; load 22 A -> warning, and no larger fuse past F2."""
    finding = said(build("22 A", "60", gauge="16 AWG"), "nuisance_fuse").finding("branch")
    assert finding.limit.value == pytest.approx(19.8)
    assert "80 % of that in air of 60 degC (0.825), 19.8 A, may flow for long" in finding.message
    # 16 AWG at 105 degC carries 25 x sqrt(45/75) = 19.4 A in 60 degC; 1.5 times that is 29 A: 25 A is the most.
    assert finding.remedy == (
        "Bring the current to 19.8 A or less, or fit 35 A with 14 AWG or larger for tail: with tail (16 AWG) as it is, "
        "25 A is the most that may stand here."
    )
    assert finding.related[0].span.line == 9
    cold = said(build("24 A", "5"), "nuisance_fuse").passed("branch")
    assert cold.limit.value == pytest.approx(24.0)  # never more than the rating


def test_catalogue_i2(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, I2, Ex: 500/(0.88 x 10.5) = 54.1 A vs 44.4 A at 12.8 V; 60 A fuse x 0.8 = 48 A: warning at 54.1 A."""
    text = build("1 A", fuse="60 A; bolt-down", gauge="6 AWG").replace(
        "load lamp 1 A", "inverter lamp { 500 W; efficiency 88 %; idle 0 W; cut-off 10.5 V }"
    )
    finding = said(text, "nuisance_fuse").finding("branch")
    assert finding.measured.value == pytest.approx(500 / (0.88 * 10.5))
    assert finding.limit.value == pytest.approx(48.0)
    assert "54.1 A flows in state 'lamp full' once the voltage has fallen to the cut-off (44.4 A before)" in finding.message


@pytest.mark.parametrize(
    ("load", "measured", "broken"),
    [("30 A, 2 h/day", 24.0, False), ("30.1 A, 2 h/day", 24.08, True), ("25 A, 3 h/day", 25.0, True)],
)
def test_short_duty_may_use_the_rating(said, load: str, measured: float, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """NEC 215.3: what is not continuous counts 100 % of the rating, 80 % of it here."""
    found = said(build(load), "nuisance_fuse")
    outcome = found.findings[0] if broken else found.passed("branch")
    assert outcome.measured.value == pytest.approx(measured)
    if broken and "2 h" in load:
        assert "30.1 A flows in state 'lamp on' (none of it is continuous, the rest counts 80 %: 24.1 A)" in outcome.message
        assert outcome.remedy.startswith("Bring the current to 30 A or less")


def test_a_lasting_and_a_short_load_together(said) -> None:  # type: ignore[no-untyped-def]
    """16 A for hours and 0.8 x 10 A: 24 A."""
    text = build("16 A") + (
        "load pump 10 A, 0.5 h/day\nwire p from lamp.plus to pump.plus { 10 AWG; 1 m }\n"
        "wire q from pump.minus to lamp.minus { 10 AWG; 1 m }\n"
    )
    assert said(text, "nuisance_fuse").passed("branch").measured.value == pytest.approx(24.0)
    finding = said(text.replace("lamp 16 A", "lamp 17 A"), "nuisance_fuse").finding("branch")
    assert "27 A flows in state 'all loads on' (17 A of it is continuous, the rest counts 80 %: 25 A)" in finding.message


def test_a_curve_and_a_magnet(said) -> None:  # type: ignore[no-untyped-def]
    curve = said(build("20 A", "60", "30 A; blade; carries 90 % at 60 degC"), "nuisance_fuse").passed("branch")
    assert curve.limit.value == pytest.approx(30 * 0.8 * 0.9)
    text = build("24 A", "60").replace("fuse branch { 30 A; blade }", "breaker branch { 30 A; magnetic }")
    assert said(text, "nuisance_fuse").passed("branch").limit.value == pytest.approx(24.0)
    thermal = text.replace("30 A; magnetic", "30 A; thermal")
    assert "through this breaker of 30 A" in said(thermal, "nuisance_fuse").finding("branch").message


def test_devices_side_by_side_add(said) -> None:  # type: ignore[no-untyped-def]
    """Readings, F4: parallel post fuses add: 2 x 30 A x 0.8 = 48 A."""
    text = build("48 A", gauge="6 AWG") + (
        "fuse second { 30 A; blade }\nwire feed_two from house.plus to second.line { 8 AWG; 0.2 m }\n"
        "wire tail_two from second.load to lamp.plus { 8 AWG; 2 m }\n"
    )
    passed = said(text, "nuisance_fuse").passed("branch")
    assert passed.subject == ("branch", "second")
    assert passed.limit.value == pytest.approx(48.0)
    over = said(text.replace("48 A", "49 A"), "nuisance_fuse").finding("branch")
    assert "through 2 fuses of 60 A together" in over.message


def test_two_fuses_in_a_row_are_judged_each(said) -> None:  # type: ignore[no-untyped-def]
    text = build("25 A").replace("to branch.line { 8 AWG; 0.1 m }", "to first.line { 8 AWG; 0.1 m }") + (
        "fuse first { 60 A; blade }\nwire on from first.load to branch.line { 8 AWG; 0.1 m }\n"
    )
    found = said(text, "nuisance_fuse")
    assert [item[0] for item in found.grades] == ["branch"]
    assert found.passed("first").limit.value == pytest.approx(48.0)


def test_states_behind_a_failure_do_not_count(said) -> None:  # type: ignore[no-untyped-def]
    """Readings, F4: not in states reached by a blown fuse; two packs share 30 A, one alone would carry all of it."""
    text = """rig "Two packs", revision 1
basis us-small-craft
site { ambient 0 degC to 25 degC }
load heater 30 A
bus plus
bus minus
all wires { 105 degC insulation; in free air; 8 AWG; 0.5 m }
wire out from plus to heater.plus
wire home from heater.minus to minus
"""
    for name in ("one", "two"):
        text += f"battery {name} {{ LFP, 4 cells, 100 Ah; internal resistance 4 mohm }}\nfuse f{name} 30 A\n"
        text += f"wire a{name} from {name}.plus to f{name}.line\nwire b{name} from f{name}.load to plus\nwire c{name} from {name}.minus to minus\n"
    text += 'state "heating" { heater on }\n'
    found = said(text, "nuisance_fuse", reached=True)
    assert not found.findings
    assert {item.subject[0] for item in found.passes} == {"fone", "ftwo"}
    declared = said(text + 'state "one blown" { heater on; fone blown }\n', "nuisance_fuse")
    assert [item[0] for item in declared.grades] == ["ftwo"]


def test_what_is_missing(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build("25 A", fuse="blade"), "nuisance_fuse").missing == [("branch", "over-loading", "rated current of branch")]
    no_air = build("20 A").replace("site { ambient 0 degC to 25 degC }\n", "")
    assert said(no_air, "nuisance_fuse").missing == [("branch", "over-loading", "temperature of the air")]
    assert said(no_air.replace("20 A", "25 A"), "nuisance_fuse").grades
    wire = said(build("25 A").replace("{ 10 AWG; 1 m }", "{ 1 m }"), "nuisance_fuse").finding("branch")
    assert wire.remedy == "Bring the current to 24 A or less, or fit 35 A with wires that it still protects."
    idle = build("25 A") + "fuse spare 5 A\nwire s from house.plus to spare.line { 16 AWG; 0.1 m }\n"
    assert [item.condition for item in said(idle, "nuisance_fuse").idle] == ["carries no steady current in any state"]
