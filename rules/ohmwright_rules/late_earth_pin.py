"""A connector on mains, or above 60 V, whose earth contact does not meet first and part last."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown

from ohmwright_rules.basis import get
from ohmwright_rules.conductors import basis_of
from ohmwright_rules.halves import Connector, connectors, has_mains, highest_on, is_mains_pattern, pin_of
from ohmwright_rules.kept import kept
from ohmwright_rules.wording import listed

RULE = Rule(
    id="late-earth-pin",
    title="Earth contact does not meet first and part last",
    family="connectors",
    subject="connector",
    covers=("G10",),
    grades=(
        Grade(
            "not-first",
            Severity.WARNING,
            "the earth contact of a connector on mains, or above 60 V, is no longer than the others",
        ),
    ),
    references=(Reference("NFPA 70 (NEC)", "older text, as adopted by a city", "690.33(D), grounding member", "secondary"),),
)
_MISSING = "whether its earth pin mates first"
_DECLARE = "pin 3 PE { mates first }"
_NO_EARTH = "has no earth contact"
_LOW = "carries no mains, and at most 60 V"


def check(study: Study) -> Iterator[Outcome]:
    """Compare the earth contact of every connector on mains or above 60 V with its other contacts."""
    low = without = 0
    touch = (basis_of(study) or get("us-premises")).touch_voltage.value
    for connector in connectors(study):
        mains = any(has_mains(study, half) for half in connector.halves)
        pairs = [pair for pair in connector.pairs if any(_is_used(study, node) for node in pair)]
        earth = [pair for pair in pairs if any(_is_earth(study, connector, node, mains) for node in pair)]
        if not earth:
            if mains:
                without += 1
            else:
                low += 1
            continue
        rest = [pair for pair in pairs if pair not in earth]
        volts = ""
        if not mains:
            line, gap = highest_on(study, tuple(node for pair in rest for node in pair))
            if line is None or not is_broken(line.value, touch, "at-most"):
                if line is None and gap is not None:
                    yield NotChecked("not-first", connector.names, gap.missing, gap.span, declare=gap.declare)
                else:
                    low += 1
                continue
            volts = shown(Amount(line.value, "voltage"))
        yield from _judge(study, connector, earth, rest, volts)
    if low:
        yield DoesNotApply(_LOW, low)
    if without:
        yield DoesNotApply(_NO_EARTH, without)


def _judge(
    study: Study, connector: Connector, earth: list[tuple[str, ...]], rest: list[tuple[str, ...]], volts: str
) -> Iterator[Outcome]:
    from ohmwright_rules.pin_lengths import length_of

    subject = (*connector.names, *(node for pair in earth for node in pair))
    if any(is_mains_pattern(half.family) for half in connector.halves):
        yield Passed("not-first", subject)  # the earth contact leads in every household and industrial pattern
        return
    own = [length_of(study, pair) for pair in earth]
    verdicts = [_is_longer(study, length, rest) for length in own]
    if all(verdicts):
        yield Passed("not-first", subject)
        return
    if False not in verdicts:
        yield NotChecked("not-first", subject, _MISSING, connector.span, declare=_DECLARE)
        return
    pins = listed(pair[0].rpartition(".")[2] for pair in earth)
    carries = volts or "mains"
    yield Finding(
        "not-first",
        subject,
        f"{connector.name}: it carries {carries}, and its earth contact (pin {pins}) meets no earlier than the live ones; while it is plugged in or out "
        "the case may be live.",
        connector.span,
        remedy="Use a connector whose earth contact is longer: it mates first and parts last.",
    )


def _is_longer(study: Study, earth: str, rest: list[tuple[str, ...]]) -> bool | None:
    """Tell whether an earth contact is longer than all others, None where that was not said."""
    from ohmwright_rules.pin_lengths import length_of

    lengths = [length_of(study, pair) for pair in rest]
    if earth == "long":
        return "long" not in lengths
    if rest and all(length == "short" for length in lengths):
        return earth != "short"
    return None if not earth and "long" not in lengths else False


def _is_used(study: Study, node: str) -> bool:
    return node in study.circuit.at_node or node in study.circuit.ac_nodes or node in study.build.nodes


def _is_earth(study: Study, connector: Connector, node: str, mains: bool) -> bool:
    """Tell whether a pin is an earth contact: by its polarity, or on a mains connector by its net."""
    half = next((half for half in connector.halves if node.startswith(f"{half.name}.")), None)
    pin = pin_of(half, node.rpartition(".")[2]) if half is not None else None
    if pin is not None and pin.polarity is not None:
        return pin.polarity == "PE"
    return mains and node in kept(study, _earthed)


def _earthed(study: Study) -> frozenset[str]:
    """Return what is joined by wires and contacts with a protective earth terminal or a case."""
    starts = [node for node in study.circuit.nodes if node.endswith((".PE", "_PE")) or node in study.circuit.case_nodes]
    return frozenset(study.circuit.reach(starts, lambda branch: branch.kind in ("wire", "contact", "joint")))
