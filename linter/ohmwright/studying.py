"""Making the study of a build: its circuit solved in every state that counts, within the budget of the run."""

from __future__ import annotations

from collections.abc import Sequence

from ohmwright_grammar.budget import OutOfBudgetError
from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.model import Build

from ohmwright.circuit.making import make_circuit
from ohmwright.estimating import MOST_OBJECTS, megabytes_for, objects_of, states_that_fit
from ohmwright.states.declared import declared_setups
from ohmwright.states.implied import implied_setups
from ohmwright.states.setup import Setup
from ohmwright.study import SolvedState, Study, StudyOptions

__all__ = ["make_study"]


def make_study(build: Build, options: StudyOptions) -> Study:
    """Make the circuit of a build and solve it in every state that counts."""
    circuit = make_circuit(build)
    study = Study(build, circuit, options)
    if build.is_library:
        return study
    setups = declared_setups(build, study.anatomy, study.problems)
    if options.implied:
        implied, left_out = implied_setups(build, study.anatomy, setups)
        setups = [*setups, *implied]
        study.not_reached += left_out
    study.state_names = tuple(setup.name for setup in setups)
    if options.only_state:
        setups = [setup for setup in setups if setup.name == options.only_state]
    fitting = _fitting(study, setups)
    if study.cut_short:
        return study
    solved: list[SolvedState] = []
    try:
        for setup in setups[:fitting]:
            solved.append(study.solve_setup(setup))
        study.states = tuple(solved)
        if study.summed_zones:
            from ohmwright.thermal.settling import settle  # only a build with a closed case asks

            settle(study)
        if options.reached:
            from ohmwright.states.walk import reached_states  # only where they are asked for

            reached, left_out = reached_states(study, min(options.most_states, fitting - len(solved)))
            study.reached = reached
            study.not_reached += left_out
    except OutOfBudgetError:
        _cut_short(study, tuple(solved), setups)
    return study


def _fitting(study: Study, setups: Sequence[Setup]) -> int:
    """Return how many states can be kept, by the number of things and the memory of the budget; say what does not fit."""
    objects, branches, most = objects_of(study.build), len(study.circuit.branches), study.options.budget.megabytes
    fitting = states_that_fit(objects, branches, most)
    message = ""
    if objects > MOST_OBJECTS:
        message = f"The build holds {objects:,} parts, conductors, pins and states; at most {MOST_OBJECTS:,} are inspected."
        study.cut_short = True
    elif fitting == 0:
        needed = megabytes_for(objects, branches, 1)
        message = f"The build would take some {needed:,.0f} MB; its budget is {most:g} MB, so that it was not inspected."
        study.cut_short = True
    elif fitting < len(setups):
        needed = megabytes_for(objects, branches, len(setups))
        message = f"All {len(setups)} states would take some {needed:,.0f} MB; the budget of {most:g} MB holds {fitting}, the others were left out."
        study.not_reached += len(setups) - fitting
    if message:
        remedy = "Give it more with --budget SECONDS,MEGABYTES, look at one state with --state, or split the build."
        study.problems.append(Diagnostic("over-limit", message, study.build.rig.span, remedy))
    return fitting


def _cut_short(study: Study, solved: tuple[SolvedState, ...], setups: Sequence[Setup]) -> None:
    """Keep the states that were solved before the budget ran out, and say that the others are missing."""
    study.states = solved
    study.cut_short = True
    left = len(setups) - len(solved)
    study.not_reached += left
    what = f"{len(solved)} of {len(setups)} states were solved" if left else "the reached states were solved"
    when = "when" if left else "before"
    span = setups[len(solved)].span if left else None
    study.problems.append(
        Diagnostic(
            "over-limit",
            f"The budget of {study.options.budget.spent} ran out {when} {what}; no rule was run.",
            span or study.build.rig.span,
            "Give it more with --budget SECONDS,MEGABYTES, look at one state with --state, or split the build.",
        )
    )
