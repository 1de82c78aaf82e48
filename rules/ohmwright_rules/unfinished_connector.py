"""A connector of which the mating half, a cap for the open shell or the pin-out is not specified."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Severity
from ohmwright.references import common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.spans import Span

from ohmwright_rules.contacts import is_accessory_socket
from ohmwright_rules.halves import is_mains_pattern, leads_on, mates_of, pin_of, poles_of, wired_pins
from ohmwright_rules.strings import joined
from ohmwright_rules.wording import listed, named

RULE = Rule(
    id="unfinished-connector",
    title="Mate, cap or pin-out of a connector is not specified",
    family="connectors",
    subject="connector",
    covers=("G19",),
    grades=(
        Grade("incomplete", Severity.NOTE, "the mate of a connector, its cap or its pin-out is not said", absence="itself"),
    ),
    references=(common_practice("a connector has a mate, a cap and a pin-out"),),
)
_PATTERN = "is of a mains or accessory pattern, which any plug of that pattern fits"
_SAFE = frozenset({"sockets", "shrouded", "touch-safe"})


def check(study: Study) -> Iterator[Outcome]:
    """Look at what is said of every half; halves from one statement (in copies of an assembly) are told once."""
    left: Counter[str] = Counter()
    statements: dict[tuple[Span, str], list[Half]] = {}
    for half in sorted(study.build.halves(), key=lambda part: part.name):
        statements.setdefault(_statement(half), []).append(half)
    for halves in statements.values():
        whole = [half for half in halves if not (is_mains_pattern(half.family) or is_accessory_socket(half))]
        left[_PATTERN] += len(halves) - len(whole)
        if not whole:
            continue
        lacks: dict[str, list[str]] = {}
        if not any(_has_mate(study, half) for half in whole):
            lacks["mate"] = [half.name for half in whole]
        uncapped = [half.name for half in whole if not _has_cap(study, half)]
        if uncapped:
            lacks["cap"] = uncapped
        unsaid = [half.name for half in whole if not _has_pin_out(study, half)]
        if unsaid:
            lacks["pin-out"] = unsaid
        subject = tuple(half.name for half in whole)
        if not lacks:
            yield Passed("incomplete", subject)
            continue
        words = named(f"no {what}{_of(names, subject)}" for what, names in lacks.items())
        yield Finding(
            "incomplete",
            subject,
            f"{subject[0]}: {words} is specified; nobody else can build it from this.",
            whole[0].span,
            remedy=f"Say {named(_REMEDIES[what] for what in lacks)}.",
        )
    for condition, count in sorted(left.items()):
        if count:
            yield DoesNotApply(condition, count)


_REMEDIES = {
    "mate": "which half it goes with (mates with …)",
    "cap": "whether the half that stays live has a cap (cap, or no cap)",
    "pin-out": "what each pin is for (pin 1 plus; pin 2 minus, or a function in quotes)",
}


def _of(names: list[str], subject: tuple[str, ...]) -> str:
    return "" if len(names) == len(subject) else f" of {listed(names)}"


def _statement(half: Half) -> tuple[Span, str]:
    """Return what copies of one statement share: where they were placed, and the name inside of their assembly."""
    return half.span, half.name.rpartition(".")[2]


def _has_mate(study: Study, half: Half) -> bool:
    return bool(mates_of(study, half.name)) or half.is_documented(Half.mate)


def _has_cap(study: Study, half: Half) -> bool:
    """Tell whether a half says whether it has a cap, or needs none: its contacts are safe, or nothing keeps them live while it is apart."""
    if half.is_documented(Half.cap) or half.form in _SAFE:
        return True
    poles = poles_of(study)
    live = [node for node in study.circuit.nodes_of(half.name) if poles.of(node) == "plus"]
    if not live:
        return True
    group = joined(study, frozenset(study.anatomy.matings_of.get(half.name, ())))
    feeding = {group[source.plus] for source in study.circuit.sources if source.kind in ("battery", "array", "charger")}
    return not any(group[node] in feeding for node in live)


def _has_pin_out(study: Study, half: Half) -> bool:
    """Tell whether every pin through which both halves are joined to something says what it is for; one that leads nowhere is a matter of its own."""
    for name in wired_pins(study, half.name):
        pin = pin_of(half, name)
        said = pin is not None and (pin.function or pin.polarity or pin.pin_name or pin.spare or pin.plugged)
        if not said and leads_on(study, f"{half.name}.{name}"):
            return False
    return True
