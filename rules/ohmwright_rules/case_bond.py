"""A metal case that no pole is bonded to, or that is bonded twice, or in a place that nobody can look at."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount
from ohmwright_grammar.kinds.enclosure import Enclosure
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright_rules.wording import listed

RULE = Rule(
    id="case-bond",
    title="Metal case not bonded, or bonded twice",
    family="enclosure",
    subject="case",
    covers=("L13",),
    grades=(
        Grade("missing", Severity.WARNING, "a metal case neither has a pole bonded to it nor is said to float", "circuit"),
        Grade("twice", Severity.WARNING, "more than one way joins a metal case with the poles, so that current flows in it"),
        Grade("hidden", Severity.WARNING, "the bond of a metal case cannot be reached, or is not clean"),
    ),
    references=(Reference("NFPA 70 (NEC)", "2008", "552.10(C): accessible, clean", "secondary"),),
)


@record
class _Bond:
    """What joins a case with a pole, and where it stands."""

    name: str
    span: Span


def check(study: Study) -> Iterator[Outcome]:
    """Count the ways between every metal case and the poles of the system."""
    cases = sorted(study.of(Enclosure), key=lambda case: case.name)
    others = 0
    poles = {pole for source in study.circuit.sources for pole in (source.plus, source.minus)}
    for case in cases:
        metal = case.of_metal
        if metal is None:
            yield Missing("material", case.span, "polycarbonate").outcome("missing", (case.name,))
        elif not metal or not poles:
            others += 1
        else:
            yield from _judge(study, case, poles)
    if not cases:
        yield DoesNotApply("no case is declared")
    if others:
        yield DoesNotApply("not of metal, or without a source around it", others)


def _judge(study: Study, case: Enclosure, poles: set[str]) -> Iterator[Outcome]:
    subject = (case.name,)
    bonds = _bonds(study, case, poles)
    floats = case.floats or study.build.rig.floats
    if not bonds:
        if floats:
            yield Passed("missing", subject)
        elif case.floats is False or case.says_none(Enclosure.bonded_at):
            yield Finding(
                "missing",
                subject,
                f"{case.name}: it is of metal, no pole is bonded to it, and it is not meant to float; a first fault makes it live, and nothing opens.",
                case.span,
                remedy=f"Bond the minus to {case.name} in one place, reachable and clean; or let it float, with devices in both poles, and declare: floats",
            )
        else:
            missing = f"whether a pole is bonded to {case.name}, or it floats"
            yield NotChecked("missing", subject, missing, case.span, declare="floats")
        return
    yield Passed("missing", subject)
    names = listed([bond.name for bond in bonds])
    if len(bonds) > 1:
        yield Finding(
            "twice",
            (case.name, *(bond.name for bond in bonds)),
            f"{case.name}: {names} each join it with a pole; a part of every current flows through the case instead of its wire.",
            bonds[0].span,
            Amount(float(len(bonds)), "count"),
            Amount(1.0, "count"),
            remedy="Keep one bond, and take the others away.",
            related=tuple(Related(f"{bond.name} bonds it too", bond.span) for bond in bonds[1:4]),
        )
    else:
        yield Passed("twice", subject, Amount(1.0, "count"), Amount(1.0, "count"))
    if case.bond_accessible is False:
        yield Finding(
            "hidden",
            (case.name, *(bond.name for bond in bonds)),
            f"{case.name}: its bond {names} cannot be reached, or is not clean; nobody sees when it has come loose or rusted through.",
            case.place_of(Enclosure.bond_accessible),
            remedy="Bring the bond to where it can be seen, on bare metal.",
        )
    elif case.bond_accessible is None:
        yield NotChecked(
            "hidden", subject, "whether its bond can be reached and is clean", case.span, declare="bond reachable and clean"
        )
    else:
        yield Passed("hidden", subject)


def _bonds(study: Study, case: Enclosure, poles: set[str]) -> list[_Bond]:
    """Return what joins a case with a pole: conductors and joints at it behind which a pole lies, and bonds that it names and nobody drew."""
    at = study.circuit.at_node.get(case.name, ())
    own = {branch.name for branch in at}
    found: list[_Bond] = []
    reached: set[str] = set()
    for branch in sorted(at, key=lambda branch: branch.name):
        other = branch.other(case.name)
        near = study.circuit.reach(other, lambda item: item.name not in own and _is_way(item))
        if not near.isdisjoint(poles):
            found.append(_Bond(branch.name, branch.span))
            reached |= near
    for node in case.bonded_at or ():
        if node not in reached and not (found and node in {end for branch in at for end in (branch.start, branch.end)}):
            found.append(_Bond(node, case.place_of(Enclosure.bonded_at)))
    return found


def _is_way(branch: Branch) -> bool:
    return branch.kind not in ("diode", "resistor")
