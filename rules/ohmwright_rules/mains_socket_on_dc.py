"""A household or other mains pattern used for direct current."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.connector import Half

from ohmwright_rules.halves import Connector, connectors, has_mains, is_mains_pattern, pin_total, poles_of

RULE = Rule(
    id="mains-socket-on-dc",
    title="Mains pattern used for direct current",
    family="connectors",
    subject="connector",
    covers=("G3",),
    grades=(Grade("pattern", Severity.ERROR, "a connector of a mains pattern carries direct current"),),
    references=(Reference("NFPA 70 (NEC)", "2008", "406.3(F), noninterchangeable receptacles", "secondary"),),
)
_MOST_PINS = 3  # a household pattern has two or three contacts


def check(study: Study) -> Iterator[Outcome]:
    """Look at the pattern of every connector that lies on a plus of a source."""
    left: Counter[str] = Counter()
    for connector in connectors(study):
        mains = any(has_mains(study, half) for half in connector.halves)
        live = not mains and _is_live(study, connector)
        pattern = next((half for half in connector.halves if is_mains_pattern(half.family)), None)
        if mains:
            left["carries mains"] += 1
        elif not live:
            left["lies on no plus of a source"] += 1
        elif pattern is not None:
            others = [half for half in connector.halves if half is not pattern]
            yield Finding(
                "pattern",
                (pattern.name, *(half.name for half in others)),
                f"{pattern.name}: it is a {pattern.family} and carries direct current; a mains appliance or a mains cord fits it.",
                pattern.span,
                remedy="Use a connector that no mains plug fits, on both halves.",
                related=tuple(Related(f"{half.name}, its other half", half.span) for half in others),
            )
        else:
            asked = next((half for half in connector.halves if half.family is None and _may_take_a_plug(half, connector)), None)
            if asked is not None:
                yield NotChecked("pattern", (asked.name,), "family of the connector", asked.span, declare='family "round two"')
            else:
                yield Passed("pattern", connector.names)
    for condition, count in sorted(left.items()):
        yield DoesNotApply(condition, count)


def _is_live(study: Study, connector: Connector) -> bool:
    poles = poles_of(study)
    return any(poles.of(node) == "plus" for half in connector.halves for node in study.circuit.nodes_of(half.name))


def _may_take_a_plug(half: Half, connector: Connector) -> bool:
    """Tell whether a mains plug might go into a half: it has or may have sockets, not too many, and is the one that stays in its place."""
    if half.form in ("pins", "shrouded") or (pin_total(half) or 0) > _MOST_PINS:
        return False
    return bool(half.on_panel) or half.direction in ("outlet", "both") or not any(other.on_panel for other in connector.halves)
