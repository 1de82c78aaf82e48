"""A box that is carried and weighs more than one person lifts, or than its handles bear."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.enclosure import Enclosure
from ohmwright_grammar.kinds.requirement import Requirement
from ohmwright_grammar.kinds.site import Site
from ohmwright_grammar.spans import Span

from ohmwright_rules.promised_limits import carried_mass, lifting_limit

RULE = Rule(
    id="heavy-box",
    title="Box too heavy for its carrier or its handles",
    family="enclosure",
    subject="case",
    covers=("L9", "L10"),
    grades=(
        Grade("two-handed", Severity.WARNING, "what is carried as one weighs more than one person lifts with both hands"),
        Grade("one-handed", Severity.NOTE, "what is carried with one hand weighs more than one hand lifts"),
        Grade("handle", Severity.WARNING, "the handles bear less than three times the weight"),
    ),
    references=(
        Reference("NIOSH lifting equation", "as public pages give it", "load constant", "secondary"),
        common_practice("half of it in one hand"),
        Reference("three times the weight", "", "", "from-memory"),
    ),
)
_TIMES = 3.0  # catalogue, L10
_GRAVITY = 9.81  # m/s2


def check(study: Study) -> Iterator[Outcome]:
    """Sum what is carried as one, and hold it against a person and against the handles."""
    site = study.one(Site)
    use = site.use if site is not None else None
    if use is not None and use != "portable":
        yield DoesNotApply("it is not carried")
        return
    case, mass, missing, steps = carried_mass(study)
    subject = (case.name,) if case is not None else ("rig",)
    span = case.span if case is not None else study.build.rig.span
    if use is None:
        least, _, _ = lifting_limit("one-handed")
        if is_broken(mass, least, "at-most"):
            where = site.span if site is not None else study.build.rig.span
            yield NotChecked(
                "two-handed", subject, "how the box is used (portable, vehicle, boat or fixed)", where, declare="portable"
            )
        else:
            yield DoesNotApply("nobody says that it is carried")
        return
    if any(item.one_person_lifts or item.highest_mass is not None for item in study.of(Requirement)):
        yield DoesNotApply("what it may weigh is promised (broken-promise)")
    else:
        grades = [("two-handed", "two-handed, NIOSH load constant")]
        people = max(1, case.hands // 2) if case is not None and case.hands is not None else 1
        if case is not None and case.hands == 1:
            grades.append(("one-handed", "one-handed"))
        found = [_lift(subject, grade, row, mass, missing, steps, span, people) for grade, row in grades]
        broken = next((item for item in found if isinstance(item, Finding)), None)
        yield from ([broken] if broken is not None else found)
    if case is None:
        yield DoesNotApply("no case is declared, so that there are no handles")
    elif case.says_none(Enclosure.handle_force):
        yield DoesNotApply("it has no handles")
    elif case.handle_force is None:
        yield Missing("rated force of its handles", span, "handles bear 600 N").outcome("handle", subject)
    else:
        yield _handle(case, mass, missing, steps)


def _lift(
    subject: tuple[str, ...],
    grade: str,
    row: str,
    mass: float,
    missing: Missing | None,
    steps: tuple[Step, ...],
    span: Span,
    people: int,
) -> Outcome:
    base, reference, words = lifting_limit(row)
    if people > 1:
        base, words = base * people, f"{people} persons"
    measured, limit = Amount(mass, "mass", "kg"), Amount(base, "mass", "kg")
    if is_broken(mass, base, "at-most"):
        has, allowed = shown_pair(measured, limit)
        more = f" ({missing.what} is not counted)" if missing is not None else ""
        hand = "one hand lifts" if grade == "one-handed" else f"{people} persons lift" if people > 1 else "one person lifts"
        return Finding(
            grade,
            subject,
            f"{subject[0]}: what is carried as one weighs {has}{more}; {allowed} is what {hand}.",
            span,
            measured,
            limit,
            working=(*steps, Step("m_limit", words, base, "kg", str(reference))),
            remedy="Make it two pieces, carry it by two, or use lighter parts.",
            reference=reference,
        )
    if missing is not None:
        return missing.outcome(grade, subject)
    return Passed(grade, subject, measured, limit)


def _handle(case: Enclosure, mass: float, missing: Missing | None, steps: tuple[Step, ...]) -> Outcome:
    assert case.handle_force is not None
    bears = float(case.handle_force.low)
    needed = _TIMES * mass * _GRAVITY
    measured = Amount(bears, "force", case.handle_force.unit)
    limit = Amount(needed, "force", "N")
    subject = (case.name,)
    if is_broken(bears, needed, "at-least"):
        has, wanted = shown_pair(measured, limit)
        return Finding(
            "handle",
            subject,
            f"{case.name}: its handles bear {has}; three times the weight of {shown(Amount(mass, 'mass', 'kg'))} is {wanted}, and a jerk takes that.",
            case.place_of(Enclosure.handle_force),
            measured,
            limit,
            "at-least",
            working=(*steps, Step("F", f"{_TIMES:g} x {mass:.4g} kg x {_GRAVITY} m/s2", needed, "N", "from memory")),
            remedy=f"Use handles for {wanted} or more, bolted through with washers.",
            reference=RULE.references[2],
        )
    if missing is not None:
        return missing.outcome("handle", subject)
    return Passed("handle", subject, measured, limit, "at-least")
