"""A bond or earth that is too thin for the current of a live wire that touches the case."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step, weakest
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, figures, shown, shown_pair
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.records import record

from ohmwright_rules.case_faults import Carrier, CaseFault, case_faults, fault_cases
from ohmwright_rules.conductors import gauge_of
from ohmwright_rules.fault_heat import Heat, exposures_of, heat_of
from ohmwright_rules.faults import faults_of
from ohmwright_rules.guarding import device_word, rating_of
from ohmwright_rules.opening import curve_missing
from ohmwright_rules.withstand import Withstand, awg_at_least, withstand_of

RULE = Rule(
    id="thin-fault-return",
    title="Short to the case returns through a thin wire",
    family="protection",
    subject="conductor",
    covers=("D17",),
    grades=(
        Grade("under-half", Severity.ERROR, "a conductor on the way back from the case has less than half of the area that the heat of a short to it needs"),
        Grade("thin", Severity.WARNING, "a conductor on the way back from the case has less area than the heat of a short to it needs"),
    ),
    references=(Reference("IEC 60364-4-43", "form of the equation as a secondary source prints it", "434.5.2", "secondary"),),
)  # fmt: skip
_FLOATING = "no pole of the bank is joined to a case"


@record
class _Case:
    """What one device lets through to one conductor on the way back [A2s]."""

    fault: CaseFault
    carrier: Carrier
    heat: Heat
    bears: Withstand

    @property
    def value(self) -> float:
        return self.heat.value * self.carrier.share**2

    @property
    def needed(self) -> float:
        """The area that bears it [mm2]."""
        return self.value**0.5 / self.bears.k if self.bears.k > 0 else float("inf")


def check(study: Study) -> Iterator[Outcome]:
    """Hold every conductor on the way back from a case of metal against the heat of a short to that case."""
    cases, left = fault_cases(study)
    covered = {exposed.wire.name for exposed in exposures_of(study)} if cases else set()
    found: dict[str, list[_Case]] = {}
    unsaid: dict[tuple[str, ...], Missing] = {}
    slow: set[str] = set()
    silent: dict[str, float] = {}  # devices without a curve, and the largest rating of those with one
    known = 0.0
    for setting in faults_of(study).every if cases else ():
        for case in cases:
            study.options.budget.check()
            for fault in case_faults(study, setting, case):
                carriers = [item for item in fault.carriers if item.wire.name not in covered]
                part = study.part(fault.device.part)
                assert isinstance(part, Fuse)
                rating = rating_of(study, fault.device) or 0.0
                heat = heat_of(part, rating or None, fault.least, fault.most) if carriers else "none"
                if heat == "unknown":
                    silent[part.name] = rating
                elif carriers:
                    known = max(known, rating)
                for carrier in carriers:
                    name = carrier.wire.name
                    bears = withstand_of(study, carrier.wire)
                    if isinstance(bears, Missing):
                        unsaid[(name,)] = bears
                    elif carrier.wire.assumed:
                        unsaid[(name,)] = Missing(f"gauge or length of {name}", carrier.wire.span, "6 AWG, 0.5 m long")
                    elif isinstance(heat, Heat):
                        found.setdefault(name, []).append(_Case(fault, carrier, heat, bears))
                    elif heat == "slow":
                        slow.add(name)
    largest = max(silent, key=lambda name: (silent[name], name), default="")
    if largest and (silent[largest] > known or silent[largest] == 0.0):
        device = study.part(largest)
        assert isinstance(device, Fuse)
        unsaid[(largest,)] = curve_missing(device)
    for subject in sorted(unsaid):
        yield unsaid[subject].outcome("under-half", subject)
    for name in sorted(found):
        worst = max(found[name], key=lambda item: item.value)
        if is_broken(worst.value, worst.bears.value, "at-most"):
            yield _finding(study, worst)
        else:
            yield Passed("under-half", (name,), _heat(worst.value), _heat(worst.bears.value))
    lost = len(slow - found.keys())
    if lost:
        left["no short to the case opens a device within 5 s (weak-fault tells of weak ones)"] = lost
    for reason in sorted(left):
        yield DoesNotApply(reason, left[reason])


def _heat(value: float) -> Amount:
    return Amount(value, "let_through", "A2s")


def _finding(study: Study, worst: _Case) -> Finding:
    wire, device, bears = worst.carrier.wire, worst.fault.device, worst.bears
    part = study.part(device.part)
    assert isinstance(part, Fuse)
    measured, limit = _heat(worst.value), _heat(bears.value)
    passed, allowed = shown_pair(measured, limit)
    share = worst.carrier.share
    grade = "under-half" if is_broken(bears.area, worst.needed / 2, "at-least") else "thin"
    through = "all of it" if share > 0.99 else f"{figures(share * 100)} % of the current"
    size = f"{worst.needed:.3g} mm2"
    if gauge_of(wire).endswith("AWG"):
        size = f"{awg_at_least(worst.needed)} ({size})"
    heat = worst.heat
    when = (
        f" at {shown(Amount(heat.ampere, 'current'))}, {shown(Amount(heat.second, 'time'))}" if heat.second is not None else ""
    )
    steps = [heat.step, bears.step]
    if share <= 0.99:
        steps.insert(
            1, Step("share", f"of the current from {worst.fault.case.name} in {wire.name}", share, "1", "solved circuit")
        )
    return Finding(
        grade,
        (wire.name, device.name),
        f"{wire.name}: a live wire behind {device.name} that touches {worst.fault.case.name} sends {through} back through it, {passed} before {device.name} opens{when}; "
        f"this {gauge_of(wire)} bears {allowed}.",
        wire.span,
        measured,
        limit,
        working=tuple(steps),
        remedy=f"Use {size} or more for {wire.name}, or a faster {device_word(part)}.",
        related=(
            Related(f"the {device_word(part)} {device.name}", part.span),
            Related(f"the case {worst.fault.case.name}", worst.fault.case.span),
        ),
        reference=weakest((heat.reference, bears.reference, RULE.references[0])),
    )
