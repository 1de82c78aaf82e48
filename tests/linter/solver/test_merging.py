"""What the current of a branch without resistance is made of (Kirchhoff's current law on one side of it)."""

from __future__ import annotations

from ohmwright.solver.merging import crossings, grow


def test_what_stays_on_one_side_is_no_part_of_the_current_across() -> None:
    """0 =(a, b)= 1 -resistor- 2 -resistor- 3, the input of a pair beyond: all that passes the joint leaves 1 through the first resistor."""
    forest = grow(([0], [1]), [0], [], [0])
    resistors = ([1, 2, 0], [2, 3, 4])
    found = crossings(forest, 0, [resistors], [(2, 3, -1, -1)], [(2, 3, 4, 0)], 0)
    assert found == [(0, 0, 1)]
