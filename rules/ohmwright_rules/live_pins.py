"""Pins that stay live, and within reach of a finger or a ring, on a half that is apart."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.connector import Half

from ohmwright_rules.basis import get
from ohmwright_rules.conductors import basis_of
from ohmwright_rules.halves import cords_of
from ohmwright_rules.liveness import LiveHalf, live_half
from ohmwright_rules.wording import listed

RULE = Rule(
    id="live-pins",
    title="Live pins exposed on a half that is apart",
    family="connectors",
    subject="connector",
    covers=("G1",),
    grades=(
        Grade("unfused", Severity.ERROR, "bare contacts that are apart stay live without any fuse before them"),
        Grade("over-touch-voltage", Severity.ERROR, "bare contacts that are apart stay live at more than 60 V"),
        Grade("live", Severity.WARNING, "bare contacts that are apart stay live, fused and up to 60 V"),
    ),
    references=(
        Reference("NFPA 70 (NEC)", "older text, as adopted by a city", "690.33(B), guarding of live parts", "secondary"),
        common_practice("the live side gets the sockets"),
    ),
)
_SAFE = ("sockets", "shrouded", "touch-safe")
_FAR_BELOW = 1.35  # what is not said cannot lift a battery by more than so much over what is known
_DEAD = "dead when it is apart"


def check(study: Study) -> Iterator[Outcome]:
    """Look at every half of every connector while it is apart."""
    left: Counter[str] = Counter()
    for half in sorted(study.build.halves(), key=lambda part: part.name):
        if not study.circuit.nodes_of(half.name):
            continue
        found = live_half(study, half)
        if found is None:
            left[_DEAD] += 1
        elif isinstance(found, Missing):
            if half.form in _SAFE:
                left[_DEAD] += 1
            else:
                yield found.outcome("unfused", (half.name,))
        else:
            yield from _judge(study, found)
    for condition, count in sorted(left.items()):
        yield DoesNotApply(condition, count)


def _judge(study: Study, found: LiveHalf) -> Iterator[Outcome]:
    half = found.half
    subject = (half.name,)
    capped = half.cap is True and found.switch
    if half.form in _SAFE or capped:
        for grade in RULE.grades:
            yield Passed(grade.name, subject)
        return
    if half.form is None:
        yield Missing("form of its contacts", half.span, "female sockets").outcome("unfused", subject)
        return
    if found.switch and half.cap is None and not half.says_none(Half.cap) and not _ends_in_pins(study, half):
        yield Missing("whether it has a cap", half.span, "cap").outcome("unfused", subject)
        return
    touch = (basis_of(study) or get("us-premises")).touch_voltage
    highest = found.highest
    limit = Amount(touch.value, "voltage")
    unfused = [pin for pin in found.pins if pin.unfused]
    if unfused:
        yield _finding(found, "unfused", None)
    else:
        yield Passed("unfused", subject)
    if highest is None or (found.unknown is not None and highest.value * _FAR_BELOW > touch.value >= highest.value):
        missing = found.unknown or Missing("voltage on it", half.span)
        yield missing.outcome("over-touch-voltage", subject)
    elif is_broken(highest.value, limit.value, "at-most"):
        yield _finding(found, "over-touch-voltage", limit)
        return
    else:
        yield Passed("over-touch-voltage", subject, Amount(highest.value, "voltage"), limit)
    if not unfused:
        yield _finding(found, "live", None)


def _ends_in_pins(study: Study, half: Half) -> bool:
    """Tell whether a half belongs to a cord with bare pins on both ends, which no cap makes right (pins-to-pins)."""
    return any(half in (one, two) and one.form == two.form == "pins" for one, two, _ in cords_of(study).values())


def _finding(found: LiveHalf, grade: str, limit: Amount | None) -> Finding:
    half = found.half
    measured = Amount(found.highest.value, "voltage") if found.highest is not None else None
    over = limit is not None and measured is not None
    if over:
        assert limit is not None and measured is not None
        volts, most = shown_pair(measured, limit)
        at = f" at {volts}, over the {most} that may be touched"
    else:
        at = f" at up to {shown(measured)}" if measured is not None else ""
    pins = [pin for pin in found.pins if pin.unfused] if grade == "unfused" else list(found.pins)
    names = listed(pin.name for pin in pins)
    device = next((pin.devices[-1].part for pin in pins if pin.devices), "")
    guarded = f", behind {device}" if device and grade != "unfused" else ""
    bare = ", without any fuse before it" if grade == "unfused" else ""
    form = "genderless contacts" if half.form == "same both" else "bare pins"
    plural = "s" if len(pins) > 1 else ""
    return Finding(
        grade,
        (half.name,),
        f"{half.name}: apart, its {form} stay live: pin{plural} {names} from {pins[0].source}{at}{guarded}{bare}. A ring or a tool can bridge them.",
        half.span,
        measured if over else None,
        limit if over else None,
        working=found.highest.steps if found.highest is not None else (),
        remedy=_remedy(found, grade),
        related=tuple(
            Related(f"{branch.part}, the fuse before it", branch.span) for pin in pins[:1] for branch in pin.devices[-1:]
        ),
        reference=RULE.references[0] if over else RULE.references[1] if grade == "live" else RULE.references[0],
    )


def _remedy(found: LiveHalf, grade: str) -> str:
    half = found.half
    cap = f"a cap (with {found.switch} opened first)" if found.switch else "a switch before it and a cap"
    fuse = f"Put a fuse before {half.name}, and put" if grade == "unfused" else "Put"
    return f"{fuse} the half with sockets or shrouded pins on this side, or give it {cap}."
