"""Files with very many mistakes: every one is told and counted, what reads on is read, and the work for each stays small.

The bounds are this project's own; no source.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from ohmwright_grammar import diagnostics, explaining, ways
from ohmwright_grammar.kinds.conductor import Wire

sys.path.insert(0, str(Path(__file__).parent))
from reading import problems_of, resolved

MANY = 1200


def test_every_mistake_is_told_but_only_the_first_thousand_are_explained(monkeypatch: pytest.MonkeyPatch) -> None:
    explained: list[int] = []
    explain = explaining.explain
    monkeypatch.setattr(explaining, "explain", lambda *given: (explained.append(1), explain(*given))[1])
    problems = problems_of("".join(f"fuse f{number} {{ {number + 1} }}\n" for number in range(MANY)))
    assert [problem.span.line for problem in problems] == list(range(1, MANY + 1))
    assert problems[0].rule == "missing-unit"
    assert problems[-1].message == f"These words of fuse f{MANY - 1} cannot be read."
    assert len(explained) == 1001


def test_what_can_be_read_after_very_many_mistakes_is_read() -> None:
    """A micrometre is no usual unit, so that it is read by the slower way."""
    wrong = "".join(f"fuse f{number} {{ 40 }}\n" for number in range(MANY))
    build = resolved(f"bus a 3 A\nbus b 3 A\n{wrong}wire w from a to b {{ 10 AWG; 200000 um }}\n").build
    (run,) = build.runs
    assert isinstance(run.conductor, Wire)
    assert run.conductor.length is not None
    assert run.conductor.length.nominal == pytest.approx(0.2)


def test_after_very_many_mistakes_a_statement_with_usual_units_is_read_once(monkeypatch: pytest.MonkeyPatch) -> None:
    tried: list[str] = []
    read = ways._read_to_end
    monkeypatch.setattr(
        ways, "_read_to_end", lambda kind, matcher, place: (tried.append(kind.KIND), read(kind, matcher, place))[1]
    )
    wrong = "".join(f"fuse f{number} {{ {number} }}\n" for number in range(MANY))
    problems_of(
        f"{wrong}switch s {{ colour 40 A wrong }}\nrelay r {{ colour 40 um wrong }}\nbreaker b {{ colour 40 zz wrong }}\n"
    )
    assert (tried.count("switch"), tried.count("relay"), tried.count("breaker")) == (1, 2, 1)


TEXTS = {
    "wires to nowhere": "wire w{0} from a{0}.plus to b{0}.minus, 10 AWG, 1 m\n",
    "the same as nothing": "fuse f{0} same as g{0}\n",
    "of no assembly": "place p{0} of q{0}\n",
    "loads that are not there": 'state "s{0}" {{ pump{0} on }}\n',
}


@pytest.mark.parametrize("text", TEXTS.values(), ids=TEXTS)
def test_near_names_are_looked_for_as_long_as_that_is_cheap(text: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Else a file of n unknown names would need n x n comparisons."""
    compared: list[int] = []
    near = diagnostics.near
    monkeypatch.setattr(
        diagnostics, "near", lambda wanted, known, most=3: (compared.append(len(known)), near(wanted, known, most))[1]
    )
    problems = problems_of("".join(text.format(number) for number in range(2000)))
    assert len({problem.span.line for problem in problems}) == 2000
    assert sum(compared) < 600_000
    problems = problems_of("load pump 5 W\nstate s { pmp on }\n")
    assert problems[0].remedy == "Names near this one: pump."
