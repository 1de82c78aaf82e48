"""Rule parallel-wires: the fault catalogue's example D13, which conductors lie in parallel, devices and sizes, missing data."""

from __future__ import annotations

import pytest

BUILD = """rig "Twin", revision 1
basis us-small-craft
site { ambient 0 degC to 30 degC }
battery house { LFP, 4 cells, 60 Ah }
load heater AMPERES
all wires { copper; 75 degC insulation; in free air }
wire one from house.plus to heater.plus { ONE }
wire two from house.plus to heater.plus { TWO }
wire back from heater.minus to house.minus { 2/0 AWG; 1 m }
state on { heater on }
"""


def build(one: str = "10 AWG; 1 m", two: str = "12 AWG; 1 m", amperes: str = "50 A") -> str:
    return BUILD.replace("ONE", one).replace("TWO", two).replace("AMPERES", amperes)


def test_catalogue_d13(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, D13, Ex: 10 + 12 AWG at 50 A: 3.277/5.211 -> 30.7/19.3 A; 12 AWG 25 A ok, loss of one -> 50 A on other -> warning."""
    found = said(build(), "parallel_wires")
    assert found.grades == [("one", "alone", "warning"), ("one", "unlike", "warning")]
    unlike = found.finding("one", "unlike")
    assert [step.value for step in unlike.working] == [pytest.approx(30.7, abs=0.05), pytest.approx(19.3, abs=0.05)]
    assert unlike.message == (
        "one (10 AWG, 1 m) and two (12 AWG, 1 m) lie in parallel and are not alike; of 50 A in state 'on' they take 30.7 A and 19.3 A."
    )
    alone = found.finding("one", "alone")
    assert (alone.measured.value, alone.limit.value) == (pytest.approx(50), 25)
    assert alone.subject == ("one", "two")


@pytest.mark.parametrize(
    ("one", "two", "amperes", "grades"),
    [
        ("10 AWG; 1 m", "10 AWG; 1 m", "50 A", ["alone"]), ("10 AWG; 1 m", "10 AWG; 1 m", "40 A", []),
        ("10 AWG; 1 m", "10 AWG; 1.1 m", "40 A", ["unlike"]), ("10 AWG; 1 m", "10 AWG; 1 m; tinned copper", "40 A", []),
        ("10 AWG; 1 m", "10 AWG; 1 m; aluminium", "20 A", ["unlike"]), ("1/0 AWG; 1 m", "1/0 AWG; 1 m", "400 A", []),
        ("1 AWG; 1 m", "1 AWG; 1 m", "400 A", ["alone"]), ("10 AWG; 1 m; sense", "10 AWG; 1 m", "50 A", None),
        ("10 AWG; 1 m; inside a bought device", "10 AWG; 1 m", "50 A", None),
    ],
)  # fmt: skip
def test_alike_and_alone(said, one: str, two: str, amperes: str, grades: list[str] | None) -> None:  # type: ignore[no-untyped-def]
    """10 AWG of 75 degC carries 40 A (33 CFR 183.425 Table 5)."""
    found = said(build(one, two, amperes), "parallel_wires")
    assert [item[1] for item in found.grades] == (grades or [])
    assert bool(found.idle) is (grades is None)


ROWS = """rig "Rows", revision 1
basis us-small-craft
site { ambient 0 degC to 30 degC }
battery house { LFP, 4 cells, 60 Ah }
load heater 50 A
bus plate 100 A
all wires { copper; 75 degC insulation; in free air; 10 AWG; 1 m }
EXTRA
wire back from heater.minus to house.minus { 2/0 AWG }
"""


@pytest.mark.parametrize(
    ("extra", "subjects"),
    [
        ("fuse f 40 A\nfuse g 40 A\nwire a from house.plus to f.line\nwire b from f.load to heater.plus\nwire c from house.plus to g.line\nwire d from g.load to heater.plus", []),
        ("fuse f 40 A\nwire a from house.plus to f.line\nwire b from f.load to heater.plus\nwire c from house.plus to heater.plus { 2 m }", [("b", "a", "c")]),
        ("fuse f { 60 A; line on house.plus }\nwire a from f.load to plate\nwire b from f.load to plate\nwire c from plate to heater.plus { 2/0 AWG }", [("a", "b")]),
        ("wire a from house.plus to plate { 2/0 AWG }\nwire b from plate to heater.plus { 2/0 AWG }", []),
        ("switch s 60 A\nwire a from house.plus to s.line { 2/0 AWG }\nwire b from s.load to heater.plus\nwire c from s.load to heater.plus", [("b", "c")]),
        (
            "connector out with plug { 2 pins; out { on the panel } }\nwire a from house.plus to out.1\nwire b from house.plus to out.2\n"
            "wire c from plug.1 to heater.plus\nwire d from plug.2 to heater.plus",
            [("c", "a", "d", "b")],
        ),
    ],
)  # fmt: skip
def test_rows(said, extra: str, subjects: list[tuple[str, ...]]) -> None:  # type: ignore[no-untyped-def]
    found = said(ROWS.replace("EXTRA", extra), "parallel_wires")
    assert [item.subject for item in found.findings] == subjects


def test_what_is_missing(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build("10 AWG"), "parallel_wires").missing == [("one", "unlike", "length of one")]
    assert said(build("1 m"), "parallel_wires").missing == [("one", "unlike", "gauge of one")]
    text = build("10 AWG; 1 m", "10 AWG; 1 m").replace("basis us-small-craft\n", "")
    assert said(text, "parallel_wires").missing == [("one", "alone", "basis")]


def test_rating_that_cannot_be_told(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        build("10 AWG; 1 m", "10 AWG; 1 m")
        .replace(" 75 degC insulation;", "")
        .replace("ambient 0 degC to 30 degC", "ambient 0 degC to 40 degC")
    )
    assert said(text, "parallel_wires").missing == [("one", "alone", "insulation temperature of one")]


def test_terminals_that_sit_on_each_other_are_one_point(said) -> None:  # type: ignore[no-untyped-def]
    extra = "fuse f { 60 A; line on house.plus }\nfuse g { 60 A; line on f.load }\nwire a from f.load to heater.plus\nwire b from g.line to heater.plus"
    assert [item.subject for item in said(ROWS.replace("EXTRA", extra), "parallel_wires").findings] == [("a", "b")]


def test_two_sockets_of_one_plug_do_not_lie_in_parallel(said) -> None:  # type: ignore[no-untyped-def]
    # a plug is in one socket at a time; two plugs of their own carry the current together
    extra = (
        "connector near with tail { pins 1, 2; near { on the panel } }\nconnector away { pins 1, 2; on the panel; MATE }\nOTHER"
        "wire a from house.plus to near.1\nwire b from house.plus to away.1\nwire c from tail.1 to heater.plus"
    )
    text = ROWS.replace("EXTRA", extra.replace("MATE", "mates with tail").replace("OTHER", ""))
    assert said(text, "parallel_wires").findings == []
    own = "connector twin { pins 1, 2; mates with away }\nwire d from twin.1 to heater.plus\n"
    text = ROWS.replace("EXTRA", extra.replace("MATE", "mates with twin").replace("OTHER", own))
    assert [set(item.subject) for item in said(text, "parallel_wires").findings] == [{"a", "b", "c", "d"}]


def test_rows_that_exclude_each_other_still_lie_beside_a_third(said) -> None:  # type: ignore[no-untyped-def]
    extra = (
        "connector near with tail { pins 1, 2; near { on the panel } }\nconnector away { pins 1, 2; on the panel; mates with tail }\n"
        "wire a from house.plus to near.1\nwire b from house.plus to away.1\nwire c from house.plus to tail.1\nwire d from tail.1 to heater.plus"
    )
    assert sorted(item.subject for item in said(ROWS.replace("EXTRA", extra), "parallel_wires").findings) == [
        ("a", "c"),
        ("b", "c"),
    ]
