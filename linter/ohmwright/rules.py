"""The public rule API: what a rule declares, what a rule pack is, how packs are found.

A rule is a module with a `RULE` and a function `check(study) -> Iterator[Outcome]`; a pack names its modules. Packs are found through the entry-point group
`ohmwright.rules`; the built-in one comes that way too. A build repository cannot switch one on.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import field
from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING, Literal

from ohmwright_grammar.records import record

from ohmwright.entry_points import entry_points
from ohmwright.findings import Outcome, Sense, Severity, StateMeasure, margin_of
from ohmwright.references import Reference
from ohmwright.values import Amount

if TYPE_CHECKING:
    from ohmwright.results import Judged, Promise, Told
    from ohmwright.sizing.offers import Offer
    from ohmwright.study import Study

__all__ = ["Case", "Grade", "Pack", "PackError", "Ready", "Rule", "Yield", "compare", "installed_packs", "is_broken"]

GROUP = "ohmwright.rules"
_ROUNDING = 1e-9  # comparisons at equality pass
_INFINITE = float("inf")


@record
class Grade:
    """One way to break a rule, with its own severity; `condition` says in a few words when it is broken.

    `absence` tells that it finds something missing, in what is said of the subject itself or in the circuit that it belongs to: where a statement that may
    hold it could not be read, the grade is not checked.
    """

    name: str
    severity: Severity
    condition: str
    absence: Literal["", "itself", "circuit"] = ""


@record
class Rule:
    """What a rule declares: its id names the problem, `covers` lists the codes of the fault catalogue.

    `bases` names the bases on which it applies, where those are not all that the installed packs know.
    """

    id: str
    title: str
    family: str
    subject: str
    covers: tuple[str, ...]
    grades: tuple[Grade, ...]
    references: tuple[Reference, ...]
    bases: tuple[str, ...] = ()

    def grade(self, name: str) -> Grade:
        """Return a grade by name; KeyError where the rule has none of that name."""
        for grade in self.grades:
            if grade.name == name:
                return grade
        raise KeyError(f"{self.id} has no grade {name!r}")


@record
class Yield:
    """A finding of `loser` (a rule, or rule.grade) yields to one of `winner` ("*" for any other rule) on a shared subject and state.

    With `beside_chief` the chief subject of both does not count, only the names beside it: two findings on different pins of one connector are two.
    """

    winner: str
    loser: str
    beside_chief: bool = False


class Ready:
    """A rule of a pack, imported when somebody asks for what it declares or does.

    `id` is that of its module, with hyphens; `needs` are the kinds of things, one of which a build must hold for the rule to have anything to say of it
    (none: it always may).
    """

    __slots__ = ("_module", "id", "needs", "pack", "path")

    def __init__(self, pack: str, path: str, needs: Sequence[str] = ()) -> None:
        self.pack = pack
        self.path = path
        self.id = path.rpartition(".")[2].replace("_", "-")
        self.needs = frozenset(needs)
        self._module: ModuleType | None = None

    @classmethod
    def of(cls, pack: str, module: ModuleType) -> Ready:
        """Return a rule whose module is at hand."""
        found = cls(pack, module.__name__)
        found._module, found.id = module, module.RULE.id
        return found

    @property
    def module(self) -> ModuleType:
        """The module of the rule; PackError where it is missing or malformed."""
        if self._module is None:
            try:
                module = import_module(self.path)
                rule, check = module.RULE, module.check
            except Exception as error:
                raise PackError(f"the rule pack {self.pack} is broken: {self.path}: {error}") from error
            if not isinstance(rule, Rule) or not callable(check):
                raise PackError(f"the rule pack {self.pack} is broken: {self.path} has no RULE and check of the right kind")
            if self.needs and rule.id != self.id:
                raise PackError(f"the rule pack {self.pack} is broken: {self.path} holds the rule {rule.id}, not {self.id}")
            self._module = module
            self.id = rule.id
        return self._module

    @property
    def rule(self) -> Rule:
        """What the rule declares."""
        return self.module.RULE  # type: ignore[no-any-return]

    @property
    def check(self) -> Callable[[Study], Iterator[Outcome]]:
        """What the rule does."""
        return self.module.check  # type: ignore[no-any-return]


@record
class Pack:
    """A rule pack: the modules of its rules (dotted names), and which findings yield to which.

    `needs` names, by module, the kinds of things without any of which the rule has nothing to say of a build: such a rule is then not even imported.
    `numbers` returns, of a rule, what each basis says of each single number that the rule reads, in words with unit and source: its page prints side
    by side those on which the bases disagree. `offers` returns, the smallest change first, other sizes that may mend a finding: each is tried before
    anybody is told.
    """

    name: str
    version: str
    modules: tuple[str, ...]
    yields: tuple[Yield, ...] = ()
    bases: tuple[str, ...] = ()
    not_covered: tuple[tuple[str, str], ...] = ()  # codes of the catalogue, each with the reason
    numbers: Callable[[str], Mapping[str, Mapping[str, str]]] | None = None
    needs: Mapping[str, Sequence[str]] = field(default_factory=dict)
    answers: Callable[[Study, Told], Iterator[Promise]] | None = None
    offers: Callable[[Study, Judged], Iterator[Offer]] | None = None
    limits: Callable[[str], str] | None = None

    def ready(self) -> Iterator[Ready]:
        """Return every rule, importing those at once that may have something to say of any build; PackError where one is missing or malformed."""
        for path in self.modules:
            found = Ready(self.name, path, self.needs.get(path, ()))
            if not found.needs:
                found.module  # noqa: B018 (imported now, so that a broken pack is told before anything runs)
            yield found

    def load(self) -> Iterator[tuple[Rule, Callable[[Study], Iterator[Outcome]], ModuleType]]:
        """Import every rule; PackError where one is missing or malformed."""
        for found in self.ready():
            yield found.rule, found.check, found.module


class PackError(Exception):
    """A rule pack that cannot be used; the message names it."""


def installed_packs() -> tuple[Pack, ...]:
    """Return every installed rule pack, in name order; PackError where one cannot be loaded or none is there."""
    packs: list[Pack] = []
    for name, value in entry_points(GROUP):
        module, _, attribute = value.partition(":")
        try:
            pack = getattr(import_module(module), attribute)
        except Exception as error:
            raise PackError(f"the rule pack {name} is broken: {error}") from error
        if not isinstance(pack, Pack):
            raise PackError(f"the rule pack {name} is broken: {value} is no Pack")
        packs.append(pack)
    if not packs:
        raise PackError("no rule pack is installed, so that nothing can be checked")
    return tuple(packs)


def is_broken(measured: float, limit: float, sense: Sense) -> bool:
    """Tell whether a limit is broken; at equality it holds, within a rounding of 1e-9."""
    slack = _ROUNDING * max(abs(measured), abs(limit))
    if slack == _INFINITE:  # one of them is without bound
        slack = 0.0
    return measured > limit + slack if sense == "at-most" else measured < limit - slack


@record
class Case:
    """What one state says of a subject: a measured value and its limit, and whatever a rule wants to keep beside them."""

    state: str
    measured: Amount
    limit: Amount
    note: object = field(default=None, compare=False)


def compare(cases: Sequence[Case], sense: Sense) -> tuple[Case, tuple[StateMeasure, ...]]:
    """Return the worst case, and what every broken state says (in the order given).

    The worst has the smallest margin; between those that are equal within a rounding of 1e-9 the first. `cases` must not be empty.
    """
    if len(cases) == 1:
        badness = [_badness(cases[0], sense)]
        worst = cases[0]
    else:
        badness = [_badness(case, sense) for case in cases]
        least = min(badness)
        close = least + _ROUNDING * max(1.0, abs(least)) if abs(least) < _INFINITE else least
        worst = next(case for case, value in zip(cases, badness, strict=True) if value <= close)
    broken = tuple(
        StateMeasure(case.state, case.measured, case.limit, margin_of(case.measured, case.limit, sense))
        for case, value in zip(cases, badness, strict=True)
        if value < 0.0 and is_broken(case.measured.value, case.limit.value, sense)
    )
    return worst, broken


def _badness(case: Case, sense: Sense) -> float:
    """Return the share of the limit that is left, negative when broken; of a temperature and of a limit of zero what is left itself."""
    limit = case.limit
    left = limit.value - case.measured.value if sense == "at-most" else case.measured.value - limit.value
    return left if limit.value == 0.0 or limit.dimension == "temperature" else left / abs(limit.value)
