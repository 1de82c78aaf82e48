"""An electronic disconnect for one direction, in the way of an inverter or of current that comes back."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Case, Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount, shown
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.kinds.switch import Switching

from ohmwright_rules.verdicts import Verdict, verdict
from ohmwright_rules.wording import named

RULE = Rule(
    id="one-way-disconnect",
    title="One-way electronic disconnect before an inverter",
    family="controllers",
    subject="electronic switch or disconnect",
    covers=("B10",),
    grades=(
        Grade("feeds-inverter", Severity.ERROR, "an inverter is fed through a switch that passes current one way only"),
        Grade("reverse-current", Severity.ERROR, "current comes back through a switch that passes it one way only"),
    ),
    references=(Reference("a battery disconnect maker's manual", "", "no inverter, no current back", "secondary"),),
)
_TRACE = 1e-3  # A: less is no current that comes back
_MECHANICAL = "it is not electronic"


def check(study: Study) -> Iterator[Outcome]:
    """Look at what is fed through every electronic switch, and which way current passes it."""
    left: Counter[str] = Counter()
    feeds = _Feeds(study)
    for device in sorted(study.of(Switching), key=lambda part: part.name):
        if not device.one_direction and not device.electronic:
            left[_MECHANICAL] += 1
        elif device.one_direction is False:
            yield Passed("feeds-inverter", (device.name,))
            yield Passed("reverse-current", (device.name,))
        else:
            yield from _judge(study, device, feeds)
    for condition, count in sorted(left.items()):
        yield DoesNotApply(condition, count)


class _Feeds:
    """Tells which inverters hang on the batteries through a branch."""

    def __init__(self, study: Study) -> None:
        self.study = study
        sources = [source for source in study.circuit.sources if source.kind == "battery"]
        self.batteries = {source.plus for source in sources} | {source.minus for source in sources}
        self.inverters = [
            (consumer.part, {consumer.plus, consumer.minus})
            for consumer in study.circuit.consumers
            if isinstance(consumer.part, Inverter)
        ]

    def through(self, branch: Branch) -> list[Inverter]:
        """Return the inverters on one side of a branch whose batteries are on the other."""
        if not self.inverters:
            return []
        circuit = self.study.circuit
        one, two = (circuit.reach(node, lambda other: other.gate != branch.gate) for node in (branch.start, branch.end))
        found = []
        for inverter, poles in self.inverters:
            if (one & self.batteries and two & poles) or (two & self.batteries and one & poles):
                found.append(inverter)
        return found


def _judge(study: Study, device: Switching, feeds: _Feeds) -> Iterator[Outcome]:
    branches = study.circuit.branches_of(device.name)
    inverters = {inverter.name: inverter for branch in branches for inverter in feeds.through(branch)}
    back = _back(study, branches)
    unsaid = device.one_direction is None
    missing = Missing("whether it passes current in one direction only", device.span, "not one direction only")
    subject = (device.name,)
    if not inverters:
        yield Passed("feeds-inverter", subject)
    elif unsaid:
        yield missing.outcome("feeds-inverter", subject)
    else:
        yield _feeding(device, [inverters[name] for name in sorted(inverters)])
    if back is None or not back.broken:
        yield Passed("reverse-current", subject)
    elif unsaid:
        yield missing.outcome("reverse-current", subject)
    else:
        yield _reversed(study, device, back)


def _back(study: Study, branches: tuple[Branch, ...]) -> Verdict | None:
    """Return what comes back through a device [A] in each state in which anything passes it."""
    limit = Amount(0.0, "current")
    cases = []
    for state in study.telling_states:
        if not state.solved:
            continue
        current = max((-state.current(branch.name) for branch in branches), default=0.0)
        cases.append(Case(state.name, Amount(current if current > _TRACE else 0.0, "current"), limit))
    return verdict(study, cases, "at-most", "kill") if cases else None


def _feeding(device: Switching, inverters: list[Inverter]) -> Finding:
    words = named(inverter.name for inverter in inverters)
    return Finding(
        "feeds-inverter",
        (device.name, *(inverter.name for inverter in inverters)),
        f"{device.name}: it passes current one way only and feeds {words}. The rush into an inverter's input capacitors, and what an inverter"
        " gives back, destroy its transistors.",
        device.span,
        remedy=f"Feed {words} from the battery through a fuse of its own, and let {device.name} switch the remote input instead.",
        related=tuple(Related(inverter.name, inverter.span) for inverter in inverters),
    )


def _reversed(study: Study, device: Switching, back: Verdict) -> Finding:
    worst = back.worst
    current = shown(worst.measured)
    givers = _givers(study, worst.state)
    by = f" ({named(givers)} gives it)" if len(givers) == 1 else f" ({named(givers)} give it)" if givers else ""
    return Finding(
        "reverse-current",
        (device.name,),
        f"{device.name}: in state {worst.state!r} {current} come back through it, from load to line{by}; it passes current one way only.",
        device.span,
        worst.measured,
        worst.limit,
        state=worst.state,
        states=back.broken,
        working=(Step("I_back", f"state {worst.state!r}", worst.measured.value, "A", "solved circuit"),),
        remedy=f"Join what charges to the battery's side of {device.name}, or use a switch for both directions.",
        at_most=back.at_most,
    )


def _givers(study: Study, name: str) -> list[str]:
    """Return what charges in a state."""
    state = study.state(name)
    if state is None:
        return []
    return sorted(
        source.name
        for source in study.circuit.sources
        if source.kind in ("charger", "controller")
        and max(state.current(source.name), state.current(f"{source.name}.out")) > _TRACE
    )
