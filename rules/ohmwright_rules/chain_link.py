"""A link of a chain of packs that carries what all packs behind it give."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity, StateMeasure
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step, common_practice
from ohmwright.rules import Case, Grade, Rule, compare
from ohmwright.study import SolvedState, Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright_rules.ampacity import demand
from ohmwright_rules.conductors import basis_of, cable_of, is_cord, rated, said_of_missing, temperature_of_air, unsaid_of
from ohmwright_rules.duty import Loading, loadings
from ohmwright_rules.laying import Unknown
from ohmwright_rules.links import Link, Outage, links_of, outages
from ohmwright_rules.packs import Bank, pack_banks
from ohmwright_rules.rushes import rating_of
from ohmwright_rules.terminals import part_at
from ohmwright_rules.verdicts import times_allowed

RULE = Rule(
    id="chain-link",
    title="Link of a chain carries every pack behind it",
    family="contacts",
    subject="battery",
    covers=("C4",),
    grades=(
        Grade("over-rating", Severity.ERROR, "a link carries more than a contact, a switch or a conductor of it, also while one pack is out"),
        Grade("over-fuse", Severity.ERROR, "a link carries more than the rating of a fuse in it; a note where that is so only while one pack is out"),
    ),
    references=(common_practice("each link carries the sum of the packs beyond it"),),
)  # fmt: skip
_FUSES = ("fuse", "breaker")


@record
class _Flow:
    """What a branch carries in a state [A]: with everything in place, or with a pack out."""

    state: SolvedState
    current: float
    outage: Outage | None


@record
class _Part:
    """A branch of a link with its worst case, every broken state, and what the limit rests on; `unsaid` is a datum that a pass does not stand without."""

    branch: Branch
    worst: Case
    broken: tuple[StateMeasure, ...]
    words: str
    reference: Reference
    steps: tuple[Step, ...] = ()
    unsaid: Missing | None = None

    @property
    def flow(self) -> _Flow:
        flow = self.worst.note
        assert isinstance(flow, _Flow)
        return flow

    @property
    def badness(self) -> float:
        return times_allowed(self.worst.measured.value, self.worst.limit.value)


def check(study: Study) -> Iterator[Outcome]:
    """Hold every link of every chain against what it carries in all states, and in those with one pack out."""
    banks = pack_banks(study)
    chains = [(bank, links) for bank in banks if (links := links_of(study, bank))]
    if len(chains) < len(banks):
        yield DoesNotApply("packs that are no chain", len(banks) - len(chains))
    if not banks:
        yield DoesNotApply("no batteries lie side by side")
    for bank, links in chains:
        yield from _judge(study, bank, links)


def _judge(study: Study, bank: Bank, links: tuple[Link, ...]) -> Iterator[Outcome]:
    solved, complete = outages(study, bank)
    lost = next((outage.state.name for outage in solved if not outage.state.solved), None if complete else "")
    for link in links:
        subject = tuple(battery.name for pack in link.beyond for battery in pack.members)
        found: list[_Part] = []
        missing: list[Missing] = []
        for branch in link.branches:
            flows = _flows(study, branch, solved)
            part = _part(study, branch, flows) if flows else None
            if isinstance(part, Missing):
                missing.append(part)
            elif part is not None:
                found.append(part)
        if not found and not missing:
            yield DoesNotApply("carries no steady current in any state")
            continue
        yield from _carried(
            study, bank, link, subject, [part for part in found if part.branch.kind not in _FUSES], missing, lost
        )
        yield from _fused(study, bank, link, subject, [part for part in found if part.branch.kind in _FUSES])


def _flows(study: Study, branch: Branch, solved: tuple[Outage, ...]) -> list[_Flow]:
    whole = [_Flow(loading.state, total, None) for loading in loadings(study) if (total := loading.total(branch.name)) > 0.0]
    out = [
        _Flow(outage.state, current, outage)
        for outage in solved
        if outage.state.solved and (current := outage.state.design_current(branch.name)) > 0.0
    ]
    return [*whole, *out]


# limits ------------------------------------------------------------------------------------------------------------


def _part(study: Study, branch: Branch, flows: list[_Flow]) -> _Part | Missing | None:
    if branch.conductor is not None:
        return _wire(study, branch, flows)
    rating = rating_of(study, branch)
    if rating is None:
        return None
    if rating.ampere is None:
        assert rating.missing is not None
        return rating.missing
    limit = Amount(rating.ampere, "current")
    worst, broken = compare([Case(flow.state.name, Amount(flow.current, "current"), limit, flow) for flow in flows], "at-most")
    words = "a contact of it carries" if branch.kind == "contact" else "it is rated for"
    return _Part(branch, worst, broken, words, RULE.references[0], (), rating.missing)


def _wire(study: Study, branch: Branch, flows: list[_Flow]) -> _Part | Missing | None:
    """Hold a conductor against its corrected ampacity by the basis; what is inside a bought device is the device's own matter."""
    conductor = branch.conductor
    assert conductor is not None
    if conductor.inside_device:
        return None
    basis = basis_of(study)
    if basis is None:
        return Missing("basis", branch.span, said_of_missing("basis"))
    as_cord = is_cord(conductor, cable_of(study, branch))
    cases: list[Case] = []
    steps: dict[str, tuple[Step, ...]] = {}
    unsaid: Missing | None = None
    reference = RULE.references[0]
    for flow in flows:
        air, _ = temperature_of_air(study, branch, flow.state)
        value = rated(study, basis, branch, air, as_cord=as_cord)
        if isinstance(value, Unknown):
            return Missing(f"{value.missing} of {branch.name}", branch.span, said_of_missing(value.missing))
        silent = unsaid_of(study, branch, flow.state, as_cord=as_cord)
        if silent:
            unsaid = Missing(f"{silent} of {branch.name}", branch.span, said_of_missing(silent))
        continuous = flow.current if flow.state.setup.is_continuous else 0.0
        asked = demand(basis, continuous, flow.current - continuous)
        pairs = [(asked.corrected, value.unwound), (asked.table, value.table_value)]
        measured, limit = max(pairs, key=lambda pair: times_allowed(pair[0], pair[1]))
        cases.append(Case(flow.state.name, Amount(measured, "current"), Amount(limit, "current"), flow))
        steps[flow.state.name] = value.steps
        reference = value.weakest
    worst, broken = compare(cases, "at-most")
    return _Part(branch, worst, broken, "it carries", reference, steps[worst.state], unsaid)


# outcomes ----------------------------------------------------------------------------------------------------------


def _carried(
    study: Study,
    bank: Bank,
    link: Link,
    subject: tuple[str, ...],
    parts: list[_Part],
    missing: list[Missing],
    lost: str | None,
) -> Iterator[Outcome]:
    grade = "over-rating"
    worst = max(parts, key=lambda part: part.badness, default=None)
    broken = [part for part in parts if part.broken]
    if worst is not None and broken:
        yield _finding(study, bank, link, grade, worst, broken)
        return
    missing = [*missing, *(part.unsaid for part in parts if part.unsaid is not None)]
    if missing:
        yield missing[0].outcome(grade, subject)
    elif lost is not None:
        yield NotChecked(grade, subject, "reached states", study.span(subject[0]), lost)
    elif worst is not None:
        yield Passed(grade, subject, worst.worst.measured, worst.worst.limit, state=worst.worst.state)


def _fused(study: Study, bank: Bank, link: Link, subject: tuple[str, ...], parts: list[_Part]) -> Iterator[Outcome]:
    grade = "over-fuse"
    worst = max(parts, key=lambda part: part.badness, default=None)
    broken = [part for part in parts if part.broken]
    if worst is None:
        return
    if not broken:
        yield Passed(grade, subject, worst.worst.measured, worst.worst.limit, state=worst.worst.state)
        return
    names = {state.name for state in study.all_states}
    whole = any(state.state in names for part in broken for state in part.broken)
    yield _finding(study, bank, link, grade, worst, broken, None if whole else Severity.NOTE)


def _finding(
    study: Study, bank: Bank, link: Link, grade: str, part: _Part, broken: list[_Part], at_most: Severity | None = None
) -> Finding:
    worst, flow, branch = part.worst, part.flow, part.branch
    measured, allowed = shown_pair(worst.measured, worst.limit)
    name, span = _named(study, branch)
    loading = Loading(study, flow.state, 1.0)
    when = (
        loading.when(branch.name)
        if flow.outage is None
        else f"in state {flow.outage.before.name!r} while {flow.outage.out.name} is out"
    )
    states: dict[str, StateMeasure] = {state.state: state for item in (part, *broken) for state in reversed(item.broken)}
    others = [item for item in broken if item is not part]
    more = (
        f" {len(others)} more part{'s' if len(others) > 1 else ''} of the link {'are' if len(others) > 1 else 'is'} overloaded too."
        if others
        else ""
    )
    opens = " It opens, and the packs behind it are lost." if branch.kind in _FUSES else ""
    chief = tuple(battery.name for pack in link.beyond for battery in pack.members)
    return Finding(
        grade,
        tuple(dict.fromkeys((name, *(item for other in broken for item in _names(study, other.branch)), *chief))),
        f"{name}: it links {link.words} to the others, and {measured} flows through it {when}; {part.words} {allowed}.{opens}{more}",
        span,
        worst.measured,
        worst.limit,
        state=worst.state,
        states=tuple(states.values()),
        working=(
            *part.steps,
            *_sums(link, flow),
            Step("I", f"state {flow.state.name!r}", flow.current, "A", "solved circuit"),
        ),
        remedy=_remedy(grade, broken),
        related=tuple(
            Related(f"{_named(study, other.branch)[0]} is part of the link", other.branch.span) for other in others[:6]
        ),
        reference=part.reference,
        at_most=at_most,
    )


def _remedy(grade: str, broken: list[_Part]) -> str:
    most = shown(Amount(max(part.worst.measured.value for part in broken), "current"))
    if grade == "over-fuse":
        return f"Use a fuse of {most} or more if the link bears it, or lead each pack to a busbar by itself."
    return (
        f"Use contacts, switches and conductors for {most} or more all along the link, or lead each pack to a busbar by itself."
    )


def _sums(link: Link, flow: _Flow) -> tuple[Step, ...]:
    steps = []
    for pack in link.beyond[:12]:
        steps.append(
            Step(
                f"I({pack.name})", f"state {flow.state.name!r}", flow.state.current(pack.members[0].name), "A", "solved circuit"
            )
        )
    return tuple(steps)


def _names(study: Study, branch: Branch) -> tuple[str, ...]:
    if branch.kind == "contact":
        half = part_at(study, branch.start)
        return (*((half.name,) if half is not None else ()), branch.start, branch.end)
    return (branch.name,)


def _named(study: Study, branch: Branch) -> tuple[str, Span]:
    if branch.kind == "contact":
        half = part_at(study, branch.start)
        assert isinstance(half, Half)
        return half.name, half.span
    return branch.part if branch.conductor is None else branch.name, branch.span
