"""Strings of modules side by side that can push more into a faulty one than its modules bear, with no fuse in its lead."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.records import record

from ohmwright_rules.array_leads import String
from ohmwright_rules.basis import Number, get
from ohmwright_rules.conductors import basis_of
from ohmwright_rules.direct_arrays import Pushed, Target, can_reach, pushed_by_batteries, targets
from ohmwright_rules.string_leads import own_devices
from ohmwright_rules.wording import listed

RULE = Rule(
    id="unfused-strings",
    title="Strings side by side without string fuses",
    family="protection",
    subject="controller",
    covers=("A7",),
    grades=(
        Grade(
            "over-series-fuse",
            Severity.ERROR,
            "what is pushed back into a faulty string is above its modules' largest series fuse",
        ),
    ),
    references=(
        Reference("NFPA 70 (NEC)", "2017 and later", "690.9(A) and its exception", "secondary"),
        Reference("IEC 62548-1", "2023", "reverse current of a string, with the factor from memory", "from-memory"),
    ),
)
_GRADE = "over-series-fuse"
_INFINITE = float("inf")
_NO_BACK = Pushed(0.0, 0.0)
_ALONE = "one string alone, into which nothing can push back"


@record
class _Back:
    """What can be pushed back into one string [A]: by those beside it, by batteries, and what its modules bear."""

    target: Target
    string: String
    array: Array
    beside: float  # without the factor of bright sun
    back: float
    back_words: str
    limit: Amount

    def total(self, factor: float) -> float:
        return factor * self.beside + self.back

    def too_much(self, factor: float) -> bool:
        total = self.total(factor)
        return total == _INFINITE or is_broken(total, self.limit.value, "at-most")


def check(study: Study) -> Iterator[Outcome]:
    """Hold what can be pushed back into each string against the largest series fuse of its modules, once for each controller."""
    number = (basis_of(study) or get("us-premises")).string_current
    groups: dict[tuple[str, ...], list[Target]] = {}
    for target in targets(study):
        groups.setdefault(target.names, []).append(target)
    left: Counter[str] = Counter()
    for names, group in groups.items():
        arrays = sorted({name for target in group for name in target.arrangement.names})
        outcome = _judge(study, number, (*names, *arrays), group)
        if isinstance(outcome, str):
            left[outcome] += 1
        else:
            yield outcome
    for condition, count in sorted(left.items()):
        yield DoesNotApply(condition, count)


def _judge(study: Study, number: Number, subject: tuple[str, ...], group: list[Target]) -> Outcome | str:
    found: list[_Back] = []
    missing: Missing | None = None
    fused = 0
    for target in group:
        for string in target.arrangement.strings:
            item = _pushed_back(study, number, target, string)
            if isinstance(item, Missing):
                missing = missing or item
            elif isinstance(item, _Back):
                found.append(item)
            elif item:
                fused += 1
    worst = max(found, key=lambda item: item.total(number.value) / item.limit.value, default=None)
    if worst is not None and worst.too_much(number.value):
        return _finding(study, number, subject, worst)
    if missing is not None:
        return missing.outcome(_GRADE, subject)
    if worst is not None:
        return Passed(_GRADE, subject, Amount(worst.total(number.value), "current", worst.limit.unit), worst.limit)
    return Passed(_GRADE, subject) if fused else _ALONE


def _pushed_back(study: Study, number: Number, target: Target, string: String) -> _Back | Missing | bool:
    """Return what can be pushed into a string; True where its own fuse keeps it out, False where nothing can push at all."""
    arrays = _arrays(study, string)
    inside = max(array.most_in_parallel for array in arrays)
    others = [other for other in target.arrangement.strings if other != string]
    back, words, silent = _back(study, target, string, several=bool(others) or inside > 1)
    if inside == 1 and not others and silent is None and back.most <= 0.0:
        return False
    devices = own_devices(study).get(string, ())
    if inside == 1 and devices:
        return True
    held = min((rating for name in devices if (rating := _rating(study, name)) is not None), default=_INFINITE)
    unsaid = (
        Missing(f"rated current of {devices[0]}", study.span(devices[0]), "15 A") if devices and held == _INFINITE else None
    )
    beside = 0.0
    counted: set[String] = set()
    for other in others:
        rest = tuple(name for name in other if name not in string)
        if rest not in counted:
            counted.add(rest)
            current = _largest(study, rest)
            unsaid = current if isinstance(current, Missing) else unsaid
            beside += 0.0 if isinstance(current, Missing) else current
    own = 0.0
    for array in arrays:
        if array.most_in_parallel > 1:
            if array.isc is None:
                unsaid = Missing(f"short-circuit current of {array.name}", array.span, "Isc 6 A")
            else:
                own = max(own, float(array.isc.high) * (array.most_in_parallel - 1))
    weakest = min(
        arrays, key=lambda array: float(array.largest_series_fuse.low) if array.largest_series_fuse is not None else -1.0
    )
    if weakest.largest_series_fuse is None:
        return Missing(f"largest series fuse of {weakest.name}", weakest.span, "largest series fuse 15 A")
    limit = Amount(float(weakest.largest_series_fuse.low), "current", weakest.largest_series_fuse.unit)

    def case(pushed: float) -> _Back:
        if number.value * beside + pushed > held:  # its own device, around strings that are drawn as one, holds the rest
            return _Back(target, string, weakest, own, held, f"{listed(devices)} lets pass", limit)
        return _Back(target, string, weakest, own + beside, pushed, words, limit)

    least, most = case(0.0 if silent is not None else back.least), case(back.most)
    if least.too_much(number.value):
        return least
    if unsaid is not None:
        return unsaid
    if not most.too_much(number.value):
        return least if silent is not None else most
    if silent is not None:
        return silent
    part = study.part(back.unknown)
    assert part is not None  # least and most differ by a device without a rating only
    return Missing(f"rated current of {part.name}", part.span, "30 A")


def _arrays(study: Study, string: String) -> list[Array]:
    return [array for name in string if isinstance(array := study.part(name), Array)]


def _largest(study: Study, string: String) -> float | Missing:
    largest = 0.0
    for array in _arrays(study, string):
        if array.isc is None:
            return Missing(f"short-circuit current of {array.name}", array.span, "Isc 6 A")
        largest = max(largest, float(array.isc.high) * array.most_in_parallel)
    return largest


def _rating(study: Study, name: str) -> float | None:
    part = study.part(name)
    return float(part.rated_current.high) if isinstance(part, Fuse) and part.rated_current is not None else None


def _back(study: Study, target: Target, string: String, several: bool) -> tuple[Pushed, str, Missing | None]:
    """Return what batteries can push back into a string, in words who, and what is missing where a controller does not say whether it blocks."""
    gates = target.arrangement.open_gates
    controller = target.controller
    first, last = f"{string[0]}.minus", f"{string[-1]}.plus"
    if not can_reach(study, target.plus, (last,), gates) or not can_reach(study, target.minus, (first,), gates, backwards=True):
        return _NO_BACK, "", None  # a blocking diode
    if controller is None:
        return pushed_by_batteries(study, last, gates), f"{listed(target.names)} can push", None
    blocks = controller.lets_current_back is False or controller.says_none(Controller.lets_current_back)
    silent = controller.lets_current_back is None and not blocks
    if blocks or (silent and not several):
        return _NO_BACK, "", None
    pushed = pushed_by_batteries(study, f"{controller.name}.batt_plus", gates)
    missing = None
    if silent:
        what = f"whether {controller.name} lets current back into the array"
        missing = Missing(what, controller.span, "no current back into the array")
    return pushed, f"the battery can push through {controller.name}", missing


def _finding(study: Study, number: Number, subject: tuple[str, ...], worst: _Back) -> Finding:
    total = worst.total(number.value)
    endless = total == _INFINITE
    measured = None if endless else Amount(total, "current", worst.limit.unit)
    bears = shown(worst.limit)
    name = " + ".join(worst.string)
    parts = []
    if worst.beside > 0.0:
        plain = shown(Amount(worst.beside, "current", worst.limit.unit))
        parts.append(f"the other strings bring {number.value:g} times {plain}")
    if worst.back > 0.0:
        amperes = "without any fuse" if endless else shown(Amount(worst.back, "current", worst.limit.unit))
        parts.append(f"{worst.back_words} {amperes}")
    pushed = "any current" if measured is None else shown_pair(measured, worst.limit)[0]
    steps = []
    if worst.beside > 0.0:
        value = number.value * worst.beside
        steps.append(Step("I_strings", f"{number.value:g} x {worst.beside:.4g}", value, "A", number.source))
    if worst.back > 0.0 and not endless:
        steps.append(Step("I_back", worst.back_words, worst.back, "A", "rating of the device on the way, as declared"))
    if measured is not None:
        steps.append(Step("I_reverse", "sum", total, "A", "into one faulty string"))
    as_it_is = worst.too_much(1.0)
    place = worst.array.place_of(Array.largest_series_fuse)
    return Finding(
        _GRADE,
        subject,
        f"{name}: a fault in one string is fed with {pushed} ({' and '.join(parts)}); its modules allow a series fuse of {bears} at most, "
        "and no fuse is in its lead.",
        worst.array.span,
        measured,
        worst.limit if measured is not None else None,
        working=tuple(steps),
        remedy=f"Put a fuse of {bears} or less in the lead of every string{_drawn(study, worst)}.",
        related=(
            Related(f"{worst.array.name}: its largest series fuse", place),
            *(Related(f"{part} is on the same leads", study.span(part)) for part in worst.target.names),
        ),
        reference=RULE.references[0] if as_it_is else number.reference,
    )


def _drawn(study: Study, worst: _Back) -> str:
    """Say how a fuse in each string is drawn, where several strings are one array."""
    inside = [array.name for array in _arrays(study, worst.string) if array.most_in_parallel > 1]
    return f" (draw each string of {listed(inside)} as an array of its own)" if inside else ""
