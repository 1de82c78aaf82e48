"""What the batteries of a bank add up to: the sums below are worked beside each case."""

from __future__ import annotations

import pytest
from ohmwright.circuit.banks import string_sums
from ohmwright.circuit.batteries import lowest_voltage
from ohmwright.circuit.making import make_circuit
from ohmwright.study import StudyOptions
from ohmwright.studying import make_study
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.model import Build
from ohmwright_grammar.resolve import Loader, Resolved, resolve

HEAD = 'rig "Bank", revision 1\nall wires { copper; 10 AWG; 0.2 m }\n'


def build_of(text: str) -> Build:
    resolved = resolve("build.rig", Loader(MemoryFiles({"build.rig": HEAD + text})))
    assert isinstance(resolved, Resolved)
    assert [problem.message for problem in resolved.problems] == []
    return resolved.build


def sums(text: str) -> list[float]:
    return sorted(string_sums(make_circuit(build_of(text)), lowest_voltage))


def test_one_battery() -> None:
    assert sums("battery one { AGM, 6 cells; lowest 10.8 V }") == [10.8]


def test_batteries_side_by_side_do_not_add() -> None:
    text = """
        batteries { one { AGM, 6 cells; lowest 10.8 V }; two { AGM, 6 cells; lowest 11 V } }
        wire a from one.plus to two.plus
        wire b from one.minus to two.minus
    """
    assert sums(text) == [10.8, 11.0]


def test_batteries_in_series_add_through_fuse_and_switch() -> None:
    text = """
        batteries { low { AGM, 6 cells; lowest 10.8 V }; high { AGM, 6 cells; lowest 11 V } }
        fuse mid { 30 A; line on low.plus }
        switch open 30 A
        wire a from mid.load to open.line
        wire b from open.load to high.minus
    """
    assert sums(text) == [pytest.approx(21.8)]


def test_two_strings() -> None:
    text = """
        batteries {
          a { AGM, 6 cells; lowest 10.8 V }; b { AGM, 6 cells; lowest 10.8 V }
          c { AGM, 6 cells; lowest 10.5 V }; d { AGM, 6 cells; lowest 10.5 V }
        }
        wires { w from a.plus to b.minus; x from c.plus to d.minus; y from b.plus to d.plus; z from a.minus to c.minus }
    """
    assert sums(text) == [pytest.approx(21.0), pytest.approx(21.6)]


def test_battery_without_the_value_leaves_its_string_out() -> None:
    text = """
        batteries { low { AGM, 6 cells; lowest 10.8 V }; high { 12 V } }
        wire a from low.plus to high.minus
    """
    assert sums(text) == []


def test_a_circle_of_batteries_ends() -> None:
    text = """
        batteries { low { AGM, 6 cells; lowest 10.8 V }; high { AGM, 6 cells; lowest 10.8 V } }
        wires { a from low.plus to high.minus; b from high.plus to low.minus }
    """
    assert sums(text) == [pytest.approx(21.6), pytest.approx(21.6)]


def test_a_load_on_a_string_takes_its_largest_current_at_the_lowest_voltage_of_the_string() -> None:
    build = build_of(
        """
        batteries { low { AGM, 6 cells, 100 Ah; internal resistance 4 mohm; lowest 10.8 V }
          high { AGM, 6 cells, 100 Ah; internal resistance 4 mohm; lowest 10.8 V } }
        load pump 240 W
        wires { a from low.plus to high.minus; feed from high.plus to pump.plus; back from pump.minus to low.minus }
        state running { pump on }
        """
    )
    state = make_study(build, StudyOptions()).state("running")
    assert state is not None
    assert state.design_current("feed") == pytest.approx(240 / 21.6)  # 11.1 A, not 240 W / 10.8 V
