"""A battery that bleeds into a dark array each night, with neither controller nor diode to keep the current from it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.site import Site
from ohmwright_grammar.records import record

from ohmwright_rules.direct_arrays import Target, can_reach, targets
from ohmwright_rules.strings import strings_in
from ohmwright_rules.verdicts import times_allowed
from ohmwright_rules.wording import listed

RULE = Rule(
    id="night-leakage",
    title="Battery bleeds into the array at night",
    family="controllers",
    subject="battery",
    covers=("A13",),
    grades=(Grade("over-share", Severity.WARNING, "what leaks in one night is more than 1 % of the capacity"),),
    references=(common_practice("1 % of the capacity in a night"),),
)
_GRADE = "over-share"
_SHARE = 0.01  # of the capacity in a night: catalogue, A13
_HOUR = 3600.0


@record
class _Leak:
    """Strings of arrays that a bank can push current back into in the dark."""

    target: Target
    strings: tuple[tuple[str, ...], ...]
    banks: tuple[tuple[str, ...], ...]

    @property
    def batteries(self) -> tuple[str, ...]:
        return tuple(sorted({name for bank in self.banks for name in bank}))

    @property
    def arrays(self) -> tuple[str, ...]:
        return tuple(sorted({name for string in self.strings for name in string}))


def check(study: Study) -> Iterator[Outcome]:
    """Hold what leaks back into the arrays in one night against the capacity of the batteries behind them."""
    left: Counter[str] = Counter()
    found: dict[tuple[str, ...], dict[str, dict[tuple[str, ...], _Leak]]] = {}
    for target in targets(study):
        leak = _leak(study, target)
        if isinstance(leak, str):
            left[leak] += 1
        else:
            ways = found.setdefault(leak.batteries, {})
            ways.setdefault(target.controller.name if target.controller is not None else target.plus, {}).setdefault(
                leak.arrays, leak
            )
    for ways in found.values():
        yield _judge(study, ways.values())
    for condition, count in sorted(left.items()):
        yield DoesNotApply(condition, count)


def _leak(study: Study, target: Target) -> _Leak | str:
    controller = target.controller
    gates = target.arrangement.open_gates
    banks = target.banks
    if controller is not None:
        if not controller.lets_current_back:
            return "behind a controller that is not said to let current back"
        banks = strings_in(study, "battery", f"{controller.name}.batt_minus", f"{controller.name}.batt_plus", gates)
        if not banks:
            return "no battery can be joined to its controller"
    open_strings = tuple(
        string
        for string in target.arrangement.strings
        if can_reach(study, target.plus, (f"{string[-1]}.plus",), gates)
        and can_reach(study, target.minus, (f"{string[0]}.minus",), gates, backwards=True)
        and _comes_out(study, target, banks, string, gates)
    )
    return _Leak(target, open_strings, banks) if open_strings else "behind a diode"


def _comes_out(
    study: Study, target: Target, banks: tuple[tuple[str, ...], ...], string: tuple[str, ...], gates: frozenset[str]
) -> bool:
    """Tell whether current can come from the battery to the array (to the controller's output, where there is one) past the diodes."""
    controller = target.controller
    plus, minus = f"{string[-1]}.plus", f"{string[0]}.minus"
    if controller is not None:
        plus, minus = f"{controller.name}.batt_plus", f"{controller.name}.batt_minus"
    return any(
        can_reach(study, f"{bank[-1]}.plus", (plus,), gates) and can_reach(study, minus, (f"{bank[0]}.minus",), gates)
        for bank in banks
    )


def _judge(study: Study, ways: Iterable[dict[tuple[str, ...], _Leak]]) -> Outcome:
    """Add up the ways into arrays that one bank has; of the positions of selectors each counts with the one that leaks most."""
    leaks: list[_Leak] = []
    current = 0.0
    steps: list[Step] = []
    for way in ways:
        worst: tuple[float, list[Step], _Leak] | None = None
        for leak in way.values():
            leaking = _current(study, leak)
            if isinstance(leaking, Missing):
                return leaking.outcome(_GRADE, _subject([*leaks, leak]))
            if worst is None or leaking[0] > worst[0]:
                worst = (*leaking, leak)
        assert worst is not None
        current += worst[0]
        steps += worst[1]
        leaks.append(worst[2])
    subject = _subject(leaks)
    site = next(study.of(Site), None)
    if site is None or site.night is None:
        span = site.span if site is not None else study.build.rig.span
        declare = "night 14 h" if site is not None else "site { night 14 h }"
        return Missing("length of the night", span, declare).outcome(_GRADE, subject)
    capacity = _capacity(study, leaks[0])
    if isinstance(capacity, Missing):
        return capacity.outcome(_GRADE, subject)
    night = float(site.night.high)
    measured, limit = Amount(current * night, "charge"), Amount(_SHARE * capacity, "charge")
    if not is_broken(measured.value, limit.value, "at-most"):
        return Passed(_GRADE, subject, measured, limit)
    lost, bears = shown_pair(measured, limit)
    into = sorted({name for leak in leaks for name in leak.arrays})
    batteries, arrays = listed(leaks[0].batteries), listed(into)
    share = shown(Amount(times_allowed(measured.value, capacity), "share"))
    hours = shown(Amount(night, "time", "h"))
    controllers = [leak.target.controller.name for leak in leaks if leak.target.controller is not None]
    through = f" through {listed(controllers)}" if controllers else ""
    mend = "a controller that blocks current back" if controllers else "a charge controller"
    steps.append(Step("Q", f"{current:.4g} A x {night / _HOUR:.4g} h", measured.value / _HOUR, "Ah", "in one night"))
    steps.append(Step("Q_most", f"{_SHARE:g} x {capacity / _HOUR:.4g} Ah", limit.value / _HOUR, "Ah", "common practice"))
    return Finding(
        _GRADE,
        subject,
        f"{batteries}: {lost} leak into {arrays}{through} in a night of {hours}, {share} of the capacity; 1 % is {bears}.",
        study.span(leaks[0].batteries[0]),
        measured,
        limit,
        working=tuple(steps),
        remedy=f"Put {mend}, or a blocking diode, between {arrays} and {batteries}.",
        related=tuple(Related(f"{name}: its leakage", study.span(name)) for name in into[:8]),
    )


def _subject(leaks: list[_Leak]) -> tuple[str, ...]:
    """Return the batteries, the controllers that let the current through, the arrays."""
    through = (leak.target.controller.name for leak in leaks if leak.target.controller is not None)
    return (*leaks[0].batteries, *through, *sorted({name for leak in leaks for name in leak.arrays}))


def _current(study: Study, leak: _Leak) -> tuple[float, list[Step]] | Missing:
    """Return what leaks into the strings of one way [A], with its working."""
    current = 0.0
    steps: list[Step] = []
    for string in leak.strings:
        worst: float | None = None
        for name in string:
            array = study.part(name)
            assert isinstance(array, Array)
            if array.dark_leakage is None:
                return Missing(f"leakage of {name} in the dark", array.span, "dark leakage 5 mA")
            own = float(array.dark_leakage.high) * array.most_in_parallel
            worst = own if worst is None else min(worst, own)  # of modules in series the one that leaks least holds the others
        assert worst is not None
        current += worst
        steps.append(Step("I_leak", " + ".join(string), worst, "A", "as declared"))
    return current, steps


def _capacity(study: Study, leak: _Leak) -> float | Missing:
    """Return the capacity of the banks [C]: of a string its smallest, of strings side by side their sum."""
    total = 0.0
    for bank in leak.banks:
        own: list[float] = []
        for name in bank:
            battery = study.part(name)
            assert isinstance(battery, Battery)
            if battery.capacity is None:
                return Missing(f"capacity of {name}", battery.span, "100 Ah")
            own.append(float(battery.capacity.charge.low))
        total += min(own)
    return total
