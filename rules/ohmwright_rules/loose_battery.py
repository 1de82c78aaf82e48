"""A battery that is not held down, or not well enough."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.site import Site
from ohmwright_grammar.records import record, replace
from ohmwright_grammar.spans import Span

RULE = Rule(
    id="loose-battery",
    title="Battery not held down",
    family="storage",
    subject="battery",
    covers=("C11",),
    grades=(
        Grade("not-held", Severity.ERROR, "no hold-down is declared in a box that travels", "itself"),
        Grade(
            "weak", Severity.ERROR, "the hold-down of a box that travels bears less than twice the weight, or less than 400 N"
        ),
        Grade("moves", Severity.ERROR, "the battery of a box that travels moves by more than 25 mm in its hold-down"),
        Grade("fixed", Severity.WARNING, "one of these in a fixed build, or in one that does not say how it is used", "itself"),
    ),
    references=(Reference("33 CFR 183.420", "as on a law mirror, undated", "(a): 1 inch, 90 lbf or twice the weight", "read"),),
)
_MOST_FORCE = 400.0  # N: 90 lbf
_MOST_MOVEMENT = 0.025  # m: 1 inch
_GRAVITY = 9.81  # m/s2
_TIMES = 2.0
_HOW = "how the box is used (portable, vehicle, boat or fixed)"


@record
class _Fault:
    """What is wrong with a hold-down, as its grade in a box that travels tells it."""

    grade: str
    words: str
    remedy: str
    measured: Amount | None = None
    limit: Amount | None = None
    at_least: bool = False
    working: tuple[Step, ...] = ()
    place: Span | None = None


def check(study: Study) -> Iterator[Outcome]:
    """Look at the hold-down of every battery."""
    site = next(study.of(Site), None)
    use = site.use if site is not None else None
    for battery in sorted(study.of(Battery), key=lambda part: part.name):
        for found in _look(battery):
            if isinstance(found, _Fault):
                yield _finding(battery, found, use)
                if use is None:
                    place = site.span if site is not None else study.build.rig.span
                    yield NotChecked(
                        found.grade,
                        (battery.name,),
                        _HOW,
                        place,
                        declare="portable" if site is not None else "site { portable }",
                    )
            else:
                yield replace(found, grade="fixed") if use == "fixed" else found


def _look(battery: Battery) -> Iterator[_Fault | Passed | NotChecked]:
    if not _has_any(battery):
        none = "it says that it has no hold-down" if _says_none(battery) else "no hold-down is declared"
        force = _force_needed(battery)
        bears = f"for {shown(force)} or more" if force is not None else "for twice its weight or more (400 N is always enough)"
        yield _Fault(
            "not-held",
            f"{none}; it can slide, tip, and shear its leads.",
            f"Hold it down {bears}, so that it moves at most 25 mm.",
        )
        return
    yield Passed("not-held", (battery.name,))
    yield _force(battery)
    yield _movement(battery)


def _has_any(battery: Battery) -> bool:
    return bool(battery.held_down) or battery.hold_down_force is not None or battery.hold_down_movement is not None


def _says_none(battery: Battery) -> bool:
    return battery.held_down is False or any(battery.says_none(datum) for datum in (Battery.held_down, Battery.hold_down_force))


def _force_needed(battery: Battery) -> Amount | None:
    if battery.mass is None:
        return None
    return Amount(min(_MOST_FORCE, _TIMES * float(battery.mass.high) * _GRAVITY), "force")


def _force(battery: Battery) -> _Fault | Passed | NotChecked:
    if battery.hold_down_force is None:
        return NotChecked(
            "weak", (battery.name,), "force that its hold-down bears", battery.span, declare="hold-down force 400 N"
        )
    held = Amount(float(battery.hold_down_force.low), "force", battery.hold_down_force.unit)
    enough = Amount(_MOST_FORCE, "force")
    if not is_broken(held.value, enough.value, "at-least"):
        return Passed("weak", (battery.name,), held, enough, "at-least")
    needed = _force_needed(battery)
    if needed is None or battery.mass is None:
        return NotChecked("weak", (battery.name,), "mass", battery.span, declare="weighs 11 kg")
    if not is_broken(held.value, needed.value, "at-least"):
        return Passed("weak", (battery.name,), held, needed, "at-least")
    measured, limit = shown_pair(held, needed)
    weight = shown(Amount(float(battery.mass.high), "mass", battery.mass.unit))
    by = "90 lbf" if needed.value >= _MOST_FORCE else f"twice the weight of {weight}"
    return _Fault(
        "weak",
        f"its hold-down bears {measured}; {limit} is needed, {by}.",
        f"Hold it down for {limit} or more.",
        held,
        needed,
        True,
        (Step("F", f"min({_MOST_FORCE:g}, {_TIMES:g} x {float(battery.mass.high):.4g} kg x {_GRAVITY:g} m/s2)", needed.value, "N", "33 CFR 183.420(a)"),),
        battery.place_of(Battery.hold_down_force),
    )  # fmt: skip


def _movement(battery: Battery) -> _Fault | Passed | NotChecked:
    said = battery.hold_down_movement
    if said is None:
        return NotChecked(
            "moves", (battery.name,), "how far it moves in its hold-down", battery.span, declare="moves at most 10 mm"
        )
    moves, limit = Amount(float(said.high), "length", said.unit), Amount(_MOST_MOVEMENT, "length", said.unit)
    if not is_broken(moves.value, limit.value, "at-most"):
        return Passed("moves", (battery.name,), moves, limit)
    measured, allowed = shown_pair(moves, limit)
    return _Fault(
        "moves",
        f"it moves by {measured} in its hold-down; at most {allowed} is allowed.",
        f"Hold it so that it moves at most {allowed}.",
        moves,
        limit,
        working=(Step("s", "1 inch, rounded down", _MOST_MOVEMENT, "m", "33 CFR 183.420(a)"),),
        place=battery.place_of(Battery.hold_down_movement),
    )


def _finding(battery: Battery, fault: _Fault, use: str | None) -> Finding:
    travels = use in ("portable", "vehicle", "boat")
    where = " Whether the box travels is not said." if use is None else ""
    return Finding(
        fault.grade if travels else "fixed",
        (battery.name,),
        f"{battery.name}: {fault.words}{where}",
        battery.span,
        fault.measured,
        fault.limit,
        "at-least" if fault.at_least else "at-most",
        working=fault.working,
        remedy=fault.remedy,
        related=(Related("its hold-down", fault.place),) if fault.place is not None else (),
    )
