"""A main fuse or breaker that opens when everything behind it runs at once."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.states.implied import resting_setup
from ohmwright.states.setup import AS_DECLARED
from ohmwright.study import SolvedState, Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.kinds.load import AcLoad, Load
from ohmwright_grammar.records import replace

from ohmwright_rules.wording import listed

RULE = Rule(
    id="overloaded-main",
    title="All loads together open the main",
    family="energy",
    subject="fuse",
    covers=("J9",),
    grades=(
        Grade("over-main", Severity.WARNING, "all loads that may run together draw more than 80 % of the main fuse or breaker"),
    ),
    references=(common_practice("80 % of the main, or say what never runs together"),),
)
_GRADE = "over-main"
_LOADING = 0.8  # catalogue, J9 (F4)


def check(study: Study) -> Iterator[Outcome]:
    """Run everything that may run together, and look at the device that carries the whole bank."""
    loads = _together(study)
    if not loads:
        yield DoesNotApply("no load says what it takes")
        return
    if len(loads) < 2:
        yield DoesNotApply("one load only, which nuisance-fuse judges", 1)
        return
    state = _everything(study, loads)
    if not state.solved:
        yield Missing("an operating point with all loads on", study.build.rig.span).outcome(
            _GRADE, tuple(load.name for load in loads)
        )
        return
    main = _main(study, state)
    if main is None:
        yield DoesNotApply("no device carries the whole bank")
        return
    part = study.part(main.part)
    assert isinstance(part, Fuse)
    subject = (part.name,)
    if part.rated_current is None:
        yield Missing(f"rated current of {part.name}", part.span, "30 A").outcome(_GRADE, subject)
        return
    current, steps = _current(study, state, main, loads)
    measured = Amount(current, "current", part.rated_current.unit)
    limit = Amount(_LOADING * float(part.rated_current.low), "current", part.rated_current.unit)
    if not is_broken(current, limit.value, "at-most"):
        yield Passed(_GRADE, subject, measured, limit)
        return
    takes, allowed = shown_pair(measured, limit)
    names = [load.name for load in loads]
    yield Finding(
        _GRADE,
        (part.name, *names),
        f"{part.name}: {listed(names)} together draw {takes} through it, all on at once; 80 % of its {shown(Amount(float(part.rated_current.low), 'current', part.rated_current.unit))} is "
        f"{allowed}, and it opens although each of them is fine.",
        part.span,
        measured,
        limit,
        working=(
            *steps,
            Step("I_max", f"0.8 x {float(part.rated_current.low):.4g} A", limit.value, "A", "common practice, no source"),
        ),
        remedy="Say which never run together (never together a, b) or which share of them does, or use a larger main with thicker wires behind it.",
        related=tuple(Related(f"{load.name} draws a part of it", load.span) for load in loads[:5]),
    )


def _together(study: Study) -> tuple[Load, ...]:
    """Return the loads that may run together: of a group that never does, the one that takes most."""
    fed = {name for inverter in study.anatomy.inverters for name in study.ac_side.loads_of(inverter)}
    known = [
        load
        for load in sorted(study.of(Load), key=lambda load: load.name)
        if (load.power is not None or load.current is not None or load.resistance is not None)
        and (not isinstance(load, AcLoad) or load.name in fed)
    ]
    names = {load.name: load for load in known}
    out: set[str] = set()
    for group in study.anatomy.never_together:
        ours = sorted((name for name in group if name in names), key=lambda name: (-_size(names[name]), name))
        out.update(ours[1:])
    return tuple(load for load in known if load.name not in out)


def _size(load: Load) -> float:
    if load.power is not None:
        return float(load.power.high)
    return float(load.current.high) * 12.0 if load.current is not None else 0.0


def _everything(study: Study, loads: tuple[Load, ...]) -> SolvedState:
    base = resting_setup(study.build, study.anatomy)
    feeding = [name for name in study.anatomy.inverters if set(study.ac_side.loads_of(name)) & {load.name for load in loads}]
    running = {**base.running, **dict.fromkeys((load.name for load in loads), AS_DECLARED)}
    inverters = {**base.inverters, **dict.fromkeys(feeding, AS_DECLARED)}
    return study.solve_setup(replace(base, name="all loads on", running=running, inverters=inverters))


def _main(study: Study, state: SolvedState) -> Branch | None:
    """Return the device that is said to be the main, else the smallest that carries everything that the batteries give."""
    devices = [branch for branch in study.circuit.branches if branch.device]
    said = [branch for branch in devices if isinstance(part := study.part(branch.part), Fuse) and part.is_main]
    if said:
        return min(said, key=lambda branch: branch.name)
    total = sum(max(0.0, state.current(source.name)) for source in study.circuit.sources if source.kind == "battery")
    whole = [branch for branch in devices if total > 0 and abs(state.current(branch.name)) >= total * 0.999]
    return min(whole, key=lambda branch: (_rating(study, branch), branch.name), default=None)


def _rating(study: Study, branch: Branch) -> float:
    part = study.part(branch.part)
    return float(part.rated_current.low) if isinstance(part, Fuse) and part.rated_current is not None else float("inf")


def _current(study: Study, state: SolvedState, main: Branch, loads: tuple[Load, ...]) -> tuple[float, tuple[Step, ...]]:
    """Return what the main carries, less what the declared shares leave out [A], and the working."""
    current = abs(state.current(main.name))
    steps = [Step("I", "all loads that may run together", current, "A", "solved circuit")]
    for load in loads:
        if load.share_together is None:
            continue
        share = float(load.share_together.high)
        own = abs(state.current(load.name))
        if own <= 0 and load.power is not None:
            volt = next(
                (
                    v
                    for source in study.circuit.sources
                    if source.kind == "battery" and (v := state.across(source.plus, source.minus))
                ),
                None,
            )
            own = float(load.power.high) / volt if volt else 0.0
        current -= (1.0 - share) * own
        steps.append(
            Step(f"I_{load.name}", f"{load.name}: {share * 100:.3g} % together", -(1.0 - share) * own, "A", "as declared")
        )
    return current, tuple(steps)
