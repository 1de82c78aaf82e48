"""Operating points of every example build in all its states against a general circuit simulator.

Source: ngspice (Debian package `ngspice`), run here on netlists of the whole circuit of each state: nothing left out and nothing put in series, as our own solver does before
it solves. Start values (`.nodeset`) pick the branch that goes back to zero load; a tracker at the peak of its array takes the current that we found. Differences are relative to
the largest voltage of each state.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from example_netlists import DARK, Sheet, builds, sheet_of
from ohmwright.study import SolvedState
from simulators import SIMULATORS, run_ngspice, thermal_voltage

TOLERANCE = 1e-8  # what ngspice makes of long decimals: a few units of the ninth digit


@pytest.mark.parametrize("which", ["declared and implied", "reached"])
def test_every_state_of_every_example(
    which: str, tmp_path: Path, reference_report: Callable[..., None], reference_skip: Callable[[str], None]
) -> None:
    if not SIMULATORS["ngspice"][1]():
        reference_skip("ngspice")
    thermal = thermal_voltage(run_ngspice, tmp_path)
    sheets: list[tuple[str, SolvedState, Sheet]] = []
    without: Counter[str] = Counter()
    count = same = 0
    for path, study in builds(which == "reached"):
        count += 1
        points = {id(state.point) for state in study.states} if which == "reached" else set()
        for state in study.reached if which == "reached" else study.states:
            if which == "reached":
                if id(state.point) in points:
                    same += 1
                    continue
                points.add(id(state.point))
            sheet = sheet_of(state, thermal)
            if isinstance(sheet, str):
                without[sheet] += 1
            else:
                sheets.append((path, state, sheet))
    answers = run_ngspice([sheet.text for *_, sheet in sheets], tmp_path)
    worst, where, compared = 0.0, "", 0
    for (path, state, sheet), values in zip(sheets, answers, strict=True):
        if values is None or max(map(abs, values.values())) > 1e6:
            without["ngspice found no operating point"] += 1
            continue
        compared += 1
        off = difference(state, sheet, values)
        if off > worst:
            worst, where = off, f"{path}, {state.name!r}"
    left = "; ".join(f"{number} {why}" for why, number in sorted(without.items()))
    note = f"of {count} builds, worst {where}; without: {left or 'none'}"
    note += f"; {same} more with the operating point of another" if same else ""
    reference_report(f"ngspice: example builds, {which} states", compared, worst, note)
    assert compared >= 0.99 * (compared + sum(without.values()) - without[DARK])
    assert worst <= TOLERANCE


def difference(state: SolvedState, sheet: Sheet, values: dict[str, float]) -> float:
    """The largest difference of a voltage, relative to the largest of the state."""
    volts = state.operation.voltages
    largest = max((abs(volt) for volt in volts if volt is not None), default=0.0) or 1.0
    pairs = ((volt, place) for volt, place in zip(volts, sheet.place, strict=True) if volt is not None)
    return max((abs(volt - (values[f"n{place}"] if place else 0.0)) / largest for volt, place in pairs), default=0.0)
