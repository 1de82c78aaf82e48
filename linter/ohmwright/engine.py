"""Running rules over a study: outcomes become judged findings, causes win over consequences, waivers excuse.

Nothing here knows a single rule; what yields to what is data of the packs.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from datetime import date
from typing import TYPE_CHECKING

from ohmwright_grammar.budget import UNLIMITED, Budget, OutOfBudgetError
from ohmwright_grammar.kinds.battery import LEAD_ACID, Battery
from ohmwright_grammar.kinds.capacitors import InputCapacitors
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.model import Build
from ohmwright_grammar.records import record, replace
from ohmwright_grammar.spans import Span

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Severity, StateMeasure
from ohmwright.judging import judged
from ohmwright.results import Judged, Kept, Promise, RunError, Unchecked
from ohmwright.rules import Grade, Pack, PackError, Ready, Rule, Yield
from ohmwright.study import Study
from ohmwright.text_rules import ENGINE_RULES

if TYPE_CHECKING:
    from ohmwright.baselines import Baseline
    from ohmwright.unread import Unread

__all__ = ["Ruled", "Terms", "every_rule", "kinds_in", "load_rules", "run_rules", "without_off"]

_Key = tuple[str, ...]  # of a finding

_ENGINE_IDS = frozenset(rule.id for rule in ENGINE_RULES)


@record
class Ruled:
    """Everything that the rules said of one build."""

    findings: tuple[Judged, ...]
    waived: tuple[Judged, ...]
    yielded: tuple[Judged, ...]
    passes: tuple[Kept, ...]
    not_checked: tuple[Unchecked, ...]
    does_not_apply: tuple[tuple[str, DoesNotApply], ...]  # with the id of the rule
    promises: tuple[Promise, ...]
    errors: tuple[RunError, ...]
    rules_run: int
    left_out: tuple[str, ...] = ()
    baselined: tuple[Judged, ...] = ()
    switched_off: tuple[Judged, ...] = ()
    ended: frozenset[str] = frozenset()  # ids of the rules that ran to their end, those of the engine included


@record
class Terms:
    """On which terms rules run: the day that counts, every rule there is (asked for only where a waiver names one that did not run),
    severities that settings changed, lines whose words already have a finding, what the run may take, grades that settings switch off
    ("rule.grade"), and the baseline."""

    today: date
    known: Callable[[], Mapping[str, Rule]]
    severities: Mapping[str, Severity] | None = None
    told: frozenset[tuple[str, int]] = frozenset()
    budget: Budget = UNLIMITED
    off: frozenset[str] = frozenset()
    baseline: Baseline | None = None

    def judge(self, path: str, rule: Rule, finding: Finding) -> Judged:
        """Give a finding the severity that counts."""
        return judged(path, rule, finding, self.severities)


def load_rules(
    packs: Iterable[Pack], only: Iterable[str] = (), without: Collection[str] = ()
) -> tuple[tuple[Ready, ...], tuple[Yield, ...]]:
    """Return the rules of all packs, or only those named (by id or family), but none of the families `without`; PackError where a pack is broken."""
    wanted = frozenset(only)
    loaded: list[Ready] = []
    yields: list[Yield] = []
    packs_of: dict[str, str] = dict.fromkeys(_ENGINE_IDS, "the linter itself")
    for pack in packs:
        yields.extend(pack.yields)
        for item in pack.ready():
            if item.id in packs_of:
                raise PackError(
                    f"the rule pack {pack.name} is broken: its rule {item.id} has the name of one of {packs_of[item.id]}"
                )
            packs_of[item.id] = f"the pack {pack.name}"
            named = not wanted or item.id in wanted or item.rule.family in wanted
            if named and not (without and item.rule.family in without):
                loaded.append(item)
    return tuple(loaded), tuple(yields)


def every_rule(packs: Iterable[Pack]) -> dict[str, Rule]:
    """Return every rule of the packs and of the engine itself, by its id."""
    return {rule.id: rule for pack in packs for rule, _, _ in pack.load()} | {rule.id: rule for rule in ENGINE_RULES}


class _Heard:
    """What the rules have said of one build so far."""

    def __init__(self, study: Study, severities: Mapping[str, Severity] | None, off: frozenset[str]) -> None:
        self.study = study
        self.path = study.build.path
        self.severities = severities
        self.off = off
        self.findings: list[Judged] = []
        self.passes: list[Kept] = []
        self.unchecked: list[Unchecked] = []
        self.nothing: dict[tuple[str, str], int] = {}
        self.promises: list[Promise] = []

    def hear(self, rule: Rule, outcome: Outcome | Promise) -> None:
        """Keep one outcome; TypeError where it is none, KeyError where it names a grade that the rule does not have."""
        if isinstance(outcome, Passed):  # most of them
            rule.grade(outcome.grade)
            self.passes.append(Kept(rule, outcome))
            return
        if isinstance(outcome, Finding) and self.study.unread is not None:
            outcome = self._unless_unread(rule.grade(outcome.grade), outcome, self.study.unread)
        if isinstance(outcome, Finding):
            self.findings.append(judged(self.path, rule, outcome, self.severities))
        elif isinstance(outcome, NotChecked):
            grade = rule.grade(outcome.grade)
            severity = (
                grade.severity if self.severities is None else self.severities.get(f"{rule.id}.{grade.name}", grade.severity)
            )
            if self.off and f"{rule.id}.{grade.name}" in self.off:
                severity = Severity.NOTE  # told all the same, and counts nowhere
            if "~" in outcome.declare or "^" in outcome.declare:
                from ohmwright.offering import fitted  # only where a line offers a voltage

                owner = outcome.missing.rpartition(" of ")[2]  # whose datum it is, where it is not that of the subject
                about = owner if owner in self.study.build.parts else outcome.subject[0]
                outcome = replace(outcome, declare=fitted(outcome.declare, self.study, about))
            self.unchecked.append(Unchecked(rule, grade, severity, outcome))
        elif isinstance(outcome, DoesNotApply):
            self.leave(rule.id, outcome.condition, outcome.count)
        elif isinstance(outcome, Promise):
            self.promises.append(outcome)
        else:
            raise TypeError(f"{type(outcome).__name__} is no outcome")

    def _unless_unread(self, grade: Grade, finding: Finding, unread: Unread) -> Finding | NotChecked:
        """Return a finding, or where it finds something absent that may stand in a statement which could not be read, that it was not checked."""
        if not grade.absence:
            return finding
        place: Span | None = None
        for name in finding.subject:
            place = place or unread.touches(name)
            if grade.absence == "circuit":
                place = place or unread.touches_circuit(name, self.study.circuit)
        if place is None:
            return finding
        where = f"line {place.line}" if place.path == self.path else f"{place.path} line {place.line}"
        return NotChecked(finding.grade, finding.subject, f"a statement that could not be read ({where})", place, finding.state)

    def leave(self, rule: str, condition: str, count: int) -> None:
        """Count subjects on which a rule has nothing to check."""
        key = (rule, condition)
        self.nothing[key] = self.nothing.get(key, 0) + count


def run_rules(study: Study, rules: tuple[Ready, ...], yields: tuple[Yield, ...], terms: Terms) -> Ruled:
    """Run every rule over the study and judge what they say.

    A rule that raises is an error of the run, named; where the budget runs out, the rules that did not run to their end are named in `left_out`.
    """
    path = study.build.path
    heard = _Heard(study, terms.severities, terms.off)
    errors: list[RunError] = []
    ended: set[str] = set()
    left_out: tuple[str, ...] = ()
    ran = 0
    kinds = kinds_in(study.build)
    for number, item in enumerate(rules):
        if item.needs and item.needs.isdisjoint(kinds):
            heard.leave(item.id, f"no {' or '.join(sorted(item.needs))} in this build", 1)
            ended.add(item.id)
            ran += 1
            continue
        try:
            rule = item.rule
        except PackError as error:
            errors.append(RunError(str(error), item.pack, item.id, path))
            continue
        if study.basis_name and rule.bases and study.basis_name not in rule.bases:
            heard.leave(rule.id, f"not on basis {study.basis_name}", 1)
            ended.add(rule.id)
            continue
        ran += 1
        try:
            terms.budget.check()
            for outcome in item.check(study):
                heard.hear(rule, outcome)
                terms.budget.check()
            ended.add(rule.id)
        except OutOfBudgetError:
            left_out = tuple(other.id for other in rules[number:])
            break
        except MemoryError:
            raise
        except Exception as error:
            errors.append(RunError(f"the rule {rule.id} failed: {_what(error)}", item.pack, rule.id, path))
    merged = _one_per_subject(heard.findings)
    ran_whole = frozenset(ended) | _ENGINE_IDS
    standing = merged
    waived: tuple[Judged, ...] = ()
    about: tuple[Judged, ...] = ()
    if study.build.waivers:
        standing, waived, about = _excused(study, merged, heard, terms, ran_whole)
    switched_off: tuple[Judged, ...] = ()
    if terms.off:
        standing, switched_off = without_off(standing, terms.off)
        about_kept, about_off = without_off(about, terms.off)
        about, switched_off = tuple(about_kept), (*switched_off, *about_off)
    baselined: tuple[Judged, ...] = ()
    if terms.baseline is not None:  # before anything yields: what is known already must not swallow what is new
        split = terms.baseline.split((*standing, *about), terms.judge)
        kept = frozenset(item.key for item in about)
        standing = [item for item in split.standing if item.key not in kept]
        about = (*(item for item in split.standing if item.key in kept), *split.about)
        baselined = split.held
    standing, yielded = _yield(standing, yields, terms.severities or {})
    return Ruled(
        tuple(_in_order((*standing, *about))),
        tuple(_in_order(waived)),
        tuple(_in_order(yielded)),
        tuple(heard.passes),
        tuple(heard.unchecked),
        tuple((rule, DoesNotApply(condition, count)) for (rule, condition), count in sorted(heard.nothing.items())),
        tuple(heard.promises),
        tuple(errors),
        ran,
        left_out,
        tuple(_in_order(baselined)),
        tuple(_in_order(switched_off)),
        ran_whole,
    )


def without_off(findings: Iterable[Judged], off: frozenset[str]) -> tuple[list[Judged], tuple[Judged, ...]]:
    """Return findings without those of grades that are switched off, and those by themselves."""
    kept: list[Judged] = []
    gone: list[Judged] = []
    for item in findings:
        (gone if f"{item.rule.id}.{item.grade.name}" in off else kept).append(item)
    return kept, tuple(gone)


def kinds_in(build: Build) -> frozenset[str]:
    """Return the kinds of everything that a build holds, the more general ones of each included.

    Where there are such, "jumper", "two batteries", "lead-acid battery" (also one that does not say), "input capacitors" and "load with hours a day" are
    among them.
    """
    types = {type(thing) for thing in (*build.parts.values(), *build.things, *build.states)}
    kinds = {kind for found in types for base in found.__mro__ if (kind := getattr(base, "KIND", ""))}
    batteries = [part for part in build.parts.values() if isinstance(part, Battery)]
    if len(batteries) > 1:
        kinds.add("two batteries")
    if any(battery.chemistry is None or battery.chemistry in LEAD_ACID for battery in batteries):
        kinds.add("lead-acid battery")
    if any(isinstance(part, Load) and (part.hours or part.hours_by_month) is not None for part in build.parts.values()):
        kinds.add("load with hours a day")
    if any(half.jumpers for half in build.halves()):
        kinds.add("jumper")
    if any(isinstance(part, InputCapacitors) and part.input_capacitance is not None for part in build.parts.values()):
        kinds.add("input capacitors")
    return frozenset(kinds)


def _excused(
    study: Study, findings: list[Judged], heard: _Heard, terms: Terms, ended: frozenset[str]
) -> tuple[list[Judged], tuple[Judged, ...], tuple[Judged, ...]]:
    """Return the findings that stand beside the waivers of a build, those that are waived, and what is to be said of the waivers."""
    from ohmwright.waiving import Scene, apply_waivers  # read only where there is a waiver

    unchecked = frozenset((item.rule.id, name) for item in heard.unchecked for name in item.outcome.subject)
    scene = Scene(study.build.path, terms.today, terms.known, ended, terms.judge, unchecked, terms.told)
    excused = apply_waivers(study.build.waivers, findings, scene)
    return list(excused.standing), excused.waived, excused.about


def _what(error: Exception) -> str:
    """Return what went wrong in a rule, short: the kind of error, its words, and where it was raised."""
    words = " ".join(str(error).split())
    what = f"{type(error).__name__}: {words[:200]}" if words else type(error).__name__
    trace = error.__traceback__
    while trace is not None and trace.tb_next is not None:
        trace = trace.tb_next
    if trace is None:
        return what
    file = trace.tb_frame.f_code.co_filename.replace("\\", "/").rsplit("/", 1)[-1]
    return f"{what} ({file} line {trace.tb_lineno})"


def _one_per_subject(findings: list[Judged]) -> list[Judged]:
    """Keep one finding per rule, grade and subject: the worst, with the states of all."""
    groups: dict[_Key, list[Judged]] = defaultdict(list)
    for item in findings:
        groups[item.key].append(item)
    kept: list[Judged] = []
    for items in groups.values():
        if len(items) == 1:
            kept.append(items[0])
            continue
        worst = min(items, key=lambda item: (-item.severity, item.finding.margin if item.finding.margin is not None else 0.0))
        states: dict[str, StateMeasure] = {}
        for state in (state for item in items for state in item.finding.states):
            before = states.get(state.state)
            if before is None or (state.margin is not None and before.margin is not None and state.margin < before.margin):
                states[state.state] = state
        kept.append(replace(worst, finding=replace(worst.finding, states=tuple(states.values()))))
    return kept


def _in_order(findings: Iterable[Judged]) -> list[Judged]:
    return sorted(
        findings,
        key=lambda item: (
            item.finding.span.path,
            item.finding.span.line,
            item.finding.span.column,
            -item.severity,
            item.rule.id,
            item.grade.name,
            item.finding.subject,
        ),
    )


def _states_of(item: Judged) -> frozenset[str]:
    named = {state.state for state in item.finding.states if state.state}
    if item.finding.state:
        named.add(item.finding.state)
    return frozenset(named)


def _yield(
    findings: list[Judged], yields: tuple[Yield, ...], severities: Mapping[str, Severity]
) -> tuple[list[Judged], list[Judged]]:
    """Let consequences yield to their causes: on a shared subject and state, never to a weaker finding or one that a setting lowered.

    A cause may itself yield: what yielded to it is then told by the finding that stands at the end.
    """
    by_rule: dict[str, list[Judged]] = defaultdict(list)
    for item in findings:
        by_rule[item.rule.id].append(item)
        by_rule[f"{item.rule.id}.{item.grade.name}"].append(item)
        by_rule["*"].append(item)
    gone: dict[_Key, _Key] = {}
    for rule in yields:
        losers, winners = by_rule.get(rule.loser), by_rule.get(rule.winner)
        if not losers or not winners:
            continue
        named: dict[str, list[Judged]] = defaultdict(list)
        for winner in winners:
            lowered = severities.get(f"{winner.rule.id}.{winner.grade.name}", winner.grade.severity) < winner.grade.severity
            if not lowered:
                for name in dict.fromkeys(winner.finding.subject[rule.beside_chief :]):
                    named[name].append(winner)
        for loser in losers:
            if loser.key not in gone:
                found = next(_causes(loser, loser.finding.subject[rule.beside_chief :], named, gone), None)
                if found is not None:
                    gone[loser.key] = found.key
    because: dict[_Key, list[_Key]] = defaultdict(list)
    for key in gone:
        because[_last(key, gone)].append(key)
    standing = [
        replace(item, because=tuple(sorted(because[item.key]))) if item.key in because else item
        for item in findings
        if item.key not in gone
    ]
    return standing, [item for item in findings if item.key in gone]


def _causes(
    loser: Judged, subject: Iterable[str], named: Mapping[str, list[Judged]], gone: Mapping[_Key, _Key]
) -> Iterator[Judged]:
    theirs = _states_of(loser)
    for name in subject:
        for winner in named.get(name, ()):
            if winner.rule.id == loser.rule.id and winner.grade.name == loser.grade.name:
                continue
            if winner.severity < loser.severity or _last(winner.key, gone) == loser.key:
                continue
            ours = _states_of(winner)
            if not ours or not theirs or ours & theirs:
                yield winner


def _last(key: _Key, gone: Mapping[_Key, _Key]) -> _Key:
    """Follow a finding to the one that stands at the end."""
    while key in gone:
        key = gone[key]
    return key
