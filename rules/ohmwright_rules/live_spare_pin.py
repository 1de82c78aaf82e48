"""A spare pin that lies on a net, a live pin without a function, a cavity that is left open."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Severity
from ohmwright.references import common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount, shown
from ohmwright_grammar.kinds.connector import Half, Pin

from ohmwright_rules.halves import highest_on, leads_on, pin_of, poles_of, wired_pins
from ohmwright_rules.wording import listed

RULE = Rule(
    id="live-spare-pin",
    title="Spare pin is energised, or its cavity is open",
    family="connectors",
    subject="connector",
    covers=("G8",),
    grades=(
        Grade("spare-on-net", Severity.WARNING, "a pin that is said to be spare is joined to something"),
        Grade("no-function", Severity.WARNING, "a pin that lies on a net leads nowhere and has no function", absence="circuit"),
        Grade("open-cavity", Severity.WARNING, "the cavity of an unused pin is not plugged"),
    ),
    references=(common_practice("spare pins lie on no net, unused cavities are plugged"),),
)
_PLUGGED = "whether its unused cavities are plugged"
_DECLARE = "pin 5 plugged"
_SPARE_WORDS = frozenset({"spare", "reserve", "reserved", "unused", "not used", "free", "nc", "n/c", "not connected"})
_COUNTING = frozenset({"pin", "no", "no.", "number"})  # "spare 2" and "reserve pin B" are spare, "spare pump" is a pump
_ALL_USED = "has no pin that is spare, unused or without a use on its mate"


def check(study: Study) -> Iterator[Outcome]:
    """Look at every pin of every half: what it is joined to, what it is for, whether its cavity is plugged."""
    left: Counter[str] = Counter()
    for half in sorted(study.build.halves(), key=lambda part: part.name):
        used = wired_pins(study, half.name)
        names = list(dict.fromkeys([*(pin.name for pin in half.pins or ()), *sorted(used)]))
        spare: list[str] = []
        idle: list[str] = []
        cavities: list[str] = []
        for name in names:
            pin = pin_of(half, name)
            if name in used:
                if _is_spare(pin):
                    spare.append(name)
                elif not _has_function(pin) and not leads_on(study, f"{half.name}.{name}"):
                    idle.append(name)
            elif not leads_on(study, f"{half.name}.{name}"):
                cavities.append(name)
        unlisted = max((half.pin_count or 0) - len(names), 0) if names else 0
        outcomes = [*_on_net(study, half, spare, idle), *_cavities(half, cavities, unlisted)]
        yield from outcomes
        if not outcomes:
            if used:
                yield Passed("no-function", (half.name,))
            else:
                left[_ALL_USED] += 1
    for condition, count in sorted(left.items()):
        yield DoesNotApply(condition, count)


def _on_net(study: Study, half: Half, spare: list[str], idle: list[str]) -> Iterator[Outcome]:
    poles = poles_of(study)
    for grade, names in (("spare-on-net", spare), ("no-function", idle)):
        if not names:
            continue
        nodes = tuple(f"{half.name}.{name}" for name in names)
        live = [node.rpartition(".")[2] for node in nodes if poles.of(node) == "plus"]
        line, _ = highest_on(study, nodes)
        at = f" at up to {shown(Amount(line.value, 'voltage'))} ({line.words})" if line is not None and live else ""
        state = f"live{at}" if live else "joined to something"
        plural = "s" if len(names) > 1 else ""
        verb = "are" if len(names) > 1 else "is"
        if grade == "spare-on-net":
            what = f"pin{plural} {listed(names)} {verb} spare and {state}"
        else:
            what = f"pin{plural} {listed(names)} {verb} {state}, without a use on the other half and without a function"
        first = pin_of(half, names[0])
        yield Finding(
            grade,
            (half.name, *nodes),
            f"{half.name}: {what}. It is forgotten, and shorts in the shell.",
            first.span if first is not None else half.span,
            remedy="Take the wire out of the spare pin and plug its cavity."
            if grade == "spare-on-net"
            else f"Say what pin {names[0]} is for, or take its wire out and plug the cavity.",
        )


def _cavities(half: Half, names: list[str], unlisted: int) -> Iterator[Outcome]:
    pins = [pin_of(half, name) for name in names]
    open_ones = [pin for pin in pins if pin is not None and (pin.plugged is False or pin.says_none(Pin.plugged))]
    unsaid = [pin for pin in pins if pin is not None and pin not in open_ones and not pin.plugged]
    if open_ones:
        cavities = listed(pin.name for pin in open_ones)
        yield Finding(
            "open-cavity",
            (half.name, *(f"{half.name}.{pin.name}" for pin in open_ones)),
            f"{half.name}: the cavity of pin {cavities} is unused and not plugged; water and strands find their way in.",
            open_ones[0].span,
            remedy="Plug every unused cavity.",
        )
    elif unsaid or unlisted:
        yield NotChecked("open-cavity", (half.name,), _PLUGGED, half.span, declare=_DECLARE)
    elif names:
        yield Passed("open-cavity", (half.name,))


def _is_spare(pin: Pin | None) -> bool:
    if pin is None:
        return False
    words = (pin.function or "").lower().replace("-", " ").split()
    named = " ".join(word for word in words if word not in _COUNTING and not word.isdigit() and len(word) > 1)
    return bool(pin.spare or pin.plugged) or named in _SPARE_WORDS


def _has_function(pin: Pin | None) -> bool:
    return pin is not None and bool(pin.function or pin.polarity or pin.pin_name)
