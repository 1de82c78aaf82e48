"""An outlet in the wet, or house wiring, without a residual-current device that could see a fault."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.kinds.outlet import OutletData
from ohmwright_grammar.kinds.site import Site
from ohmwright_grammar.spans import Span

from ohmwright_rules.mains_outlets import feeding_inverters, is_floating, outlet_halves
from ohmwright_rules.neutrals import unsaid_bond

RULE = Rule(
    id="unguarded-outlet",
    title="Outlet without a residual-current device",
    family="mains",
    subject="inverter",
    covers=("I6",),
    grades=(
        Grade(
            "no-device",
            Severity.WARNING,
            "an outlet in a damp place or outdoors has no residual-current device and no reason to be exempt",
            "circuit",
        ),
        Grade(
            "floating-wiring",
            Severity.WARNING,
            "house wiring on a floating output has no residual-current device and no reason to be exempt",
            "circuit",
        ),
        Grade("blind", Severity.NOTE, "the output floats, so that a single fault makes nothing open"),
    ),
    references=(
        Reference("29 CFR 1926.404", "as a letter of interpretation gives it", "(b)(1)(ii)", "secondary"),
        Reference("an inverter maker's manual", "", "isolated outlet, no internal residual-current device", "read"),
    ),
)
_LARGEST_EXEMPT = 5000.0  # W: 29 CFR 1926.404(b)(1)(ii)
_PLACE = "whether the outlet is in a damp place or outdoors"


def check(study: Study) -> Iterator[Outcome]:
    """Ask every outlet of an inverter for a device that sees a fault, or for the reason why it needs none."""
    inverters = feeding_inverters(study)
    for part in inverters:
        places = outlet_halves(study, part)
        for half in places:
            yield from _judge(study, part, half)
        if not places:
            yield from _judge(study, part, None)
        yield _blind(part)
    if not inverters:
        yield DoesNotApply("nothing is joined to the output of an inverter")


def _judge(study: Study, part: Inverter, half: Half | None) -> Iterator[Outcome]:
    subject = (half.name, part.name) if half is not None else (part.name,)
    own: list[OutletData] = [item for item in (half, part.outlet if half is None else None, part) if item is not None]
    if part.outlet_is_guarded or any(item.residual_current_device or item.exempt_because for item in own):
        yield Passed("no-device", subject)
        yield Passed("floating-wiring", subject)
        return
    place = half.name if half is not None else "its outlet"
    span = half.span if half is not None else part.outlet.span if part.outlet is not None else part.span
    yield _in_the_wet(study, part, subject, own, place, span)
    floating = is_floating(part) if part.feeds == "house wiring" else False
    if floating:
        yield _finding("floating-wiring", part, subject, f"{place} feeds house wiring from an output that floats", span)
    elif floating is None:
        yield unsaid_bond(part).outcome("floating-wiring", subject)
    else:
        yield Passed("floating-wiring", subject)


def _in_the_wet(
    study: Study, part: Inverter, subject: tuple[str, ...], own: list[OutletData], place: str, span: Span
) -> Outcome:
    wet = next((item.damp_or_outdoor for item in own if item.damp_or_outdoor is not None), None)
    if wet is None:
        wet = _surroundings(study)
    if wet is False:
        return Passed("no-device", subject)
    exempt = _exempt(part)
    if exempt:
        return Passed("no-device", subject)
    if wet is None:
        return NotChecked("no-device", subject, _PLACE, span, declare="not damp or outdoor")
    if exempt is None:
        missing, declare = (
            ("rated power", "300 W")
            if part.rated_power is None
            else ("whether its output is isolated from its frame", "output isolated from the frame")
        )
        return NotChecked("no-device", subject, missing, part.span, declare=declare)
    return _finding("no-device", part, subject, f"{place} is in a damp place or outdoors", span)


def _surroundings(study: Study) -> bool | None:
    """Tell whether what nobody said of an outlet is damp or outdoors; None where the site does not say it either."""
    site = study.one(Site)
    if site is None:
        return None
    if site.damp or site.outdoors:
        return True
    return False if site.damp is False or site.outdoors is False else None


def _exempt(part: Inverter) -> bool | None:
    """Tell whether an inverter is small and its two wires isolated, so that its own outlet needs no device; None where that is not said."""
    if part.feeds == "house wiring" or part.output_isolated is False:
        return False
    if part.output_isolated is None or part.rated_power is None:
        return None
    return float(part.rated_power.high) <= _LARGEST_EXEMPT * (1 + 1e-9)


def _finding(grade: str, part: Inverter, subject: tuple[str, ...], why: str, span: Span) -> Finding:
    return Finding(
        grade,
        subject,
        f"{part.name}: {why}, and no residual-current device guards it; whoever touches a faulty tool there is part of the way back.",
        part.span if subject[0] == part.name else span,
        remedy="Put a residual-current device (RCD, GFCI) before it, with the neutral bonded once so that it can see a fault; or say why it is exempt.",
    )


def _blind(part: Inverter) -> Outcome:
    if not is_floating(part):
        return Passed("blind", (part.name,))
    return Finding(
        "blind",
        (part.name,),
        f"{part.name}: its output floats; a first fault to earth or to a case makes nothing open, and a residual-current device behind it sees none.",
        part.span,
        remedy="Keep it to a few loads with plugs, look at their cords often, and mend the first fault; for wiring use one with a bonded neutral.",
        reference=RULE.references[1],
    )
