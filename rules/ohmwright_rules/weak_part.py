"""A fuse that is larger than an outlet, switch, relay, busbar, fuse block, shunt or diode behind it carries."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

from ohmwright.circuit.graph import Branch
from ohmwright.findings import Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.protection.poles import Poles
from ohmwright.references import Step, common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.records import replace

from ohmwright_rules.array_leads import behind_common_plus
from ohmwright_rules.conductors import basis_of
from ohmwright_rules.fusing import rating_at_most
from ohmwright_rules.guarding import rating_of
from ohmwright_rules.live_sides import power_sides
from ohmwright_rules.standing import Left
from ohmwright_rules.through import Through
from ohmwright_rules.upstream import Upstream
from ohmwright_rules.weak_places import Spot, spots_of
from ohmwright_rules.wording import named

RULE = Rule(
    id="weak-part",
    title="Fuse larger than a part behind it",
    family="protection",
    subject="part",
    covers=("F19",),
    grades=(
        Grade("user-load", Severity.ERROR, "the devices before a part pass more than it carries, and a user can add a load behind it"),
        Grade("fixed-load", Severity.WARNING, "the devices before a part pass more than it carries, and only fixed loads lie behind it"),
    ),
    references=(common_practice("no part stands behind a fuse that is larger than itself"),),
)  # fmt: skip
_INFINITE = float("inf")
_NONE = "a source stands behind it without a device (far-fuse tells of that)"
_DEAD = "no current can come through it"
_LARGE = "on the return side, and the build is too large to look at each part there"


def check(study: Study) -> Iterator[Outcome]:
    """Hold what the devices before every part pass against what it carries for long."""
    left = Left()
    spots = spots_of(study)
    sides = _Sides(study, frozenset(name for spot in spots for name in spot.branches))
    together: dict[str, list[Finding]] = {}
    for spot in spots:
        study.options.budget.check()
        least, most = sides.before(spot)
        low = _most_through(least, spot)
        high = low if most is least else _most_through(most, spot)
        if low is None or high is None or high.ampere <= 0:
            left.add(_DEAD)
        elif low.ampere == _INFINITE:
            left.add(_NONE)
        elif high.loose and spot.limit is not None and _is_over(high.ampere, spot.limit.value):
            left.add(_LARGE)
        else:
            for outcome in _judge(study, spot, low, high, least):
                if spot.group and isinstance(outcome, Finding):
                    together.setdefault(spot.group, []).append(outcome)
                else:
                    yield outcome
    for _, findings in sorted(together.items()):
        yield _worst_contact(findings)
    yield from left.outcomes()


class _Sides:
    """What stands before the parts, with everything undeclared at nothing and without bound; a controller with a common plus gives nothing into the leads of its own arrays."""

    def __init__(self, study: Study, watched: frozenset[str]) -> None:
        self._study = study
        self._watched = watched
        self._behind = behind_common_plus(study)
        self._known: dict[frozenset[str], tuple[tuple[Upstream, ...], tuple[Upstream, ...]]] = {}

    def before(self, spot: Spot) -> tuple[tuple[Upstream, ...], tuple[Upstream, ...]]:
        """Return the settings with everything undeclared at nothing, and without bound; the same object where all is declared."""
        names = spot.branches or tuple(branch.name for branch in self._study.circuit.at_node.get(spot.node, ()))
        without = frozenset[str]().union(*(self._behind.get(name, ()) for name in names))
        found = self._known.get(without)
        if found is None:
            least = self._settings(0.0, without)
            told = all(not upstream.silent for upstream in least)
            found = self._known[without] = least, least if told else self._settings(_INFINITE, without)
        return found

    @cached_property
    def _poles(self) -> tuple[Poles, ...]:
        return power_sides(self._study, lambda branch: branch.name in self._watched)

    def _settings(self, unknown: float, without: frozenset[str]) -> tuple[Upstream, ...]:
        return tuple(Upstream(self._study, poles, unknown, without) for poles in self._poles)


def _worst_contact(findings: list[Finding]) -> Finding:
    """Return the one finding of a connector: that of its worst contact, with the pins of all."""
    worst = min(findings, key=lambda finding: finding.margin or 0.0)
    pins = dict.fromkeys(name for finding in (worst, *findings) for name in finding.subject)
    return replace(worst, subject=tuple(pins))


def _most_through(settings: tuple[Upstream, ...], spot: Spot) -> Through | None:
    found: list[Through] = []
    for setting in settings:
        for name in spot.branches[:1]:
            branch = setting.study.circuit.by_name[name]
            live = branch.start in setting.ways.cluster and setting.poles.live[setting.ways.cluster[branch.start]]
            through = setting.through_branch(branch) if live else setting.returns.through_branch(branch)
            if through is not None:
                found.append(through)
        if not spot.branches:
            cluster = setting.ways.cluster.get(spot.node)
            if cluster is None:
                continue
            if setting.poles.live[cluster]:
                found.append(setting.into_node(spot.node) if spot.ends else setting.through_node(spot.node))
            else:
                through = setting.returns.through_node(spot.node)
                if through is not None and not spot.ends:
                    found.append(through)
    return max(found, key=lambda item: item.ampere, default=None)


def _judge(study: Study, spot: Spot, low: Through, high: Through, settings: tuple[Upstream, ...]) -> Iterator[Outcome]:
    subject = spot.subject
    if spot.limit is not None and not _is_over(high.ampere, spot.limit.value):
        yield Passed("user-load", subject, Amount(high.ampere, "current", spot.limit.unit), spot.limit)
        return
    grade = "user-load" if _user_can_add(study, settings, spot, low) else "fixed-load"
    if spot.limit is None:
        yield Missing(spot.missing, spot.span, spot.declare).outcome(grade, subject)
    elif _is_over(low.ampere, spot.limit.value):
        yield _finding(study, spot, spot.limit, low, grade)
    else:
        of = next(iter(settings)).silent
        yield Missing(f"rated current of {of}", study.span(of), "30 A").outcome(grade, subject)


def _is_over(flow: float, limit: float) -> bool:
    """Tell whether a flow, which may be infinite, is over a limit; at equality it is not."""
    return flow > limit * (1 + 1e-9)


def _user_can_add(study: Study, settings: tuple[Upstream, ...], spot: Spot, through: Through) -> bool:
    """Tell whether an outlet or a connector on the panel ends a circuit behind a part, with no device before it that is small enough for the part."""
    if spot.takes:
        return True
    limit = spot.limit.value if spot.limit is not None else 0.0
    halves = sorted(settings[0].open_halves) if settings else []
    for setting in settings if halves else ():
        ways = setting.ways
        live = bool(through.node)
        start = through.beyond if live else (spot.node or study.circuit.by_name[spot.branches[0]].start)
        if start not in ways.cluster:
            continue
        barred = {ways.edge_of[name] for name in spot.branches if name in ways.edge_of}
        for edge, branch in enumerate(ways.branches):
            if isinstance(branch, Branch) and branch.device and (rating_of(study, branch) or _INFINITE) <= limit * (1 + 1e-9):
                barred.add(edge)
        seen = ways.reach([ways.cluster[start]], lambda edge, barred=barred: edge in barred)  # type: ignore[misc]
        for half in halves:
            if any(node in ways.cluster and seen[ways.cluster[node]] for node in study.circuit.nodes_of(half)):
                return True
    return False


def _finding(study: Study, spot: Spot, limit: Amount, through: Through, grade: str) -> Finding:
    measured = Amount(through.ampere, "current", limit.unit)
    passed, carries = shown_pair(measured, limit)
    devices = [(name, ampere) for name, ampere in through.pieces]
    feeds = named(f"{name} ({shown(Amount(ampere, 'current', limit.unit))})" for name, ampere in devices[:6])
    more = f" and {len(devices) - 6} more" if len(devices) > 6 else ""
    one = len(devices) == 1
    basis = basis_of(study)
    size = rating_at_most(basis, limit.value) if basis is not None else None
    ways = []
    if size is not None and through.node:
        if not one:
            ways.append(f"put a fuse of {size:g} A or less right before it")
        elif isinstance(study.part(devices[0][0]), Fuse):
            ways.append(f"make {devices[0][0]} {size:g} A or less")
    ways.append(f"use {spot.article} that carries {passed} or more")
    if not through.node:
        ways.append("let some of the circuits return elsewhere")
    text = ", or ".join(ways)
    behind = "whoever plugs in more finds out" if grade == "user-load" else "a fault behind it can draw that for long"
    return Finding(
        grade,
        spot.subject,
        f"{spot.name}: {feeds}{more} {'before it' if through.node else 'of the circuits that return here'} {'passes' if one else 'pass'} {passed}; {spot.words} {'carry' if len(spot.branches) > 1 else 'carries'} {carries}, and {behind}.",
        spot.span,
        measured,
        limit,
        working=(
            Step("I_rated", f"{spot.name} carries for long", limit.value, "A", spot.source),
            Step("I_before", " + ".join(f"{ampere:.4g}" for _, ampere in devices) or "0", through.ampere, "A", "devices before it, as far as sources can supply"),
        ),
        remedy=f"{text[0].upper()}{text[1:]}.",
        related=tuple(Related(f"before it: {name}", study.span(name)) for name, _ in devices[:6]),
        reference=RULE.references[0],
    )  # fmt: skip
