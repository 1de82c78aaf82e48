"""A load or a charger that hangs on an inner point of a series string of batteries."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Step, common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount, shown
from ohmwright_grammar.kinds.assembly import Row
from ohmwright_grammar.kinds.battery import LITHIUM, Battery
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.records import record

from ohmwright_rules.nets import Layout
from ohmwright_rules.stacks import inner_points
from ohmwright_rules.wording import listed

RULE = Rule(
    id="tapped-string",
    title="Load or charger across part of a series string",
    family="wiring",
    subject="part",
    covers=("C15",),
    grades=(
        Grade("unwatched", Severity.ERROR, "it hangs on part of a string of lead-acid batteries, or of lithium cells that nothing supervises"),
        Grade("watched", Severity.WARNING, "it hangs on part of a string of lithium batteries that each supervise their cells"),
    ),
    references=(common_practice("no tap without a balancer"),),
)  # fmt: skip
_DAY = 24 * 3600.0


@record
class _Tap:
    """Something with a pole on an inner point of a string, and the batteries that meet there."""

    part: Part
    plus: str
    minus: str
    kind: str
    below: tuple[Battery, ...]
    above: tuple[Battery, ...]
    one_side: tuple[Battery, ...]

    @property
    def batteries(self) -> tuple[Battery, ...]:
        return (*self.below, *self.above)


def check(study: Study) -> Iterator[Outcome]:
    """Look at every inner point of every series string."""
    taps: dict[tuple[str, str, str], _Tap] = {}
    free: dict[tuple[str, ...], bool] = {}
    balanced = own = 0
    for layout, net, below, above in inner_points(study):
        names = tuple(battery.name for battery in (*below, *above))
        found = list(_taps(study, layout, net, below, above))
        free[names] = free.get(names, True) and not found
        if found and _is_balanced(study, (*below, *above)):
            balanced += 1
        elif found and all(_has_own_charger(study, layout, battery) for battery in (*below, *above)):
            own += 1
        else:
            for tap in found:
                taps.setdefault((tap.part.name, tap.plus, tap.minus), tap)
    for tap in sorted(taps.values(), key=lambda item: (item.part.name, item.plus)):
        yield from _judge(tap)
    for names, untouched in free.items():
        if untouched:
            yield Passed("unwatched", names)
    if not free:
        yield DoesNotApply("no batteries lie in series")
    if balanced:
        yield DoesNotApply("a balancer lies across the string", balanced)
    if own:
        yield DoesNotApply("every battery of the string has a charger of its own", own)


def _is_balanced(study: Study, batteries: tuple[Battery, ...]) -> bool:
    if any(battery.balancer for battery in batteries):
        return True
    rows = [row for row in study.build.rows if isinstance(row.thing, Row) and row.thing.balancer]
    return any(battery.name.startswith(f"{instance}.") for row in rows for instance in row.instances for battery in batteries)


def _has_own_charger(study: Study, layout: Layout, battery: Battery) -> bool:
    ends = layout.net(f"{battery.name}.plus"), layout.net(f"{battery.name}.minus")
    return any(
        source.kind in ("charger", "controller") and (layout.net(source.plus), layout.net(source.minus)) == ends
        for source in study.circuit.sources
    )


def _taps(study: Study, layout: Layout, net: int, below: tuple[Battery, ...], above: tuple[Battery, ...]) -> Iterator[_Tap]:
    hanging = [
        *((item.part, item.plus, item.minus, "takes from") for item in study.circuit.consumers),
        *((item.part, item.plus, item.minus, "charges") for item in study.circuit.sources if item.kind != "battery"),
    ]
    for part, plus, minus, kind in hanging:
        ends = layout.net(plus), layout.net(minus)
        if net in ends and ends[0] != ends[1]:
            yield _Tap(part, plus, minus, kind, below, above, below if ends[0] == net else above)


def _judge(tap: _Tap) -> Iterator[Outcome]:
    bare = [battery for battery in tap.batteries if battery.chemistry is not None and battery.chemistry not in LITHIUM]
    bare += [battery for battery in tap.batteries if battery.chemistry in LITHIUM and battery.says_none(Battery.bms)]
    silent = [
        battery
        for battery in tap.batteries
        if battery.chemistry is None or (battery.chemistry in LITHIUM and not battery.is_documented(Battery.bms))
    ]
    yield _finding(tap, "unwatched" if bare else "watched")
    if silent and not bare:
        first = silent[0]
        missing, declare = ("chemistry", "LFP") if first.chemistry is None else ("management system", "bms { cuts both }")
        yield NotChecked("unwatched", (tap.part.name, first.name), f"{missing} of {first.name}", first.span, declare=declare)


def _finding(tap: _Tap, grade: str) -> Finding:
    names = tuple(battery.name for battery in tap.batteries)
    side = listed(battery.name for battery in tap.one_side)
    daily = _daily(tap.part) if tap.kind == "takes from" else None
    much = f", {shown(daily)} a day" if daily is not None else ""
    rest = listed(name for name in names if name not in {battery.name for battery in tap.one_side})
    then = (
        f"every charge of the whole string then overfills {rest} and leaves {side} low"
        if tap.kind == "takes from"
        else f"{side} is overfilled, and {rest} stays low"
    )
    steps = (Step("Q", "current x hours a day", daily.value / 3600.0, "Ah", "as declared"),) if daily is not None else ()
    return Finding(
        grade,
        (tap.part.name, *names),
        f"{tap.part.name}: it {tap.kind} {side} alone{much}, not the whole string ({listed(names)}); {then}.",
        tap.part.span,
        working=steps,
        remedy="Feed it from the whole string through a converter, or put a balancer across the string and declare it."
        if tap.kind == "takes from"
        else "Charge the whole string, or give every battery of it a charger of its own.",
        related=tuple(Related(f"{battery.name} is in the string", battery.span) for battery in tap.batteries[:4]),
    )


def _daily(part: Part) -> Amount | None:
    """Return the charge that a load takes in a day [C], None where that is not said."""
    if not isinstance(part, Load) or part.current is None or part.hours is None:
        return None
    return Amount(float(part.current.high) * float(part.hours.high) * _DAY, "charge")
