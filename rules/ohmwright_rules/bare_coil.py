"""A relay coil with nothing across it that takes its switching spike."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.distribution import Diode
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.switch import Relay

from ohmwright_rules.wording import listed

RULE = Rule(
    id="bare-coil",
    title="Coil without suppression",
    family="switching",
    subject="relay",
    covers=("H7",),
    grades=(Grade("unsuppressed", Severity.NOTE, "nothing takes the coil's switching spike", "circuit"),),
    references=(Reference("electronics practice", "", "suppression of coils", "from-memory"),),
)
_GRADE = "unsuppressed"


def check(study: Study) -> Iterator[Outcome]:
    """Ask of every coil what takes its spike: what the relay says, else a diode that the circuit shows across it."""
    unwired = 0
    for relay in sorted(study.of(Relay), key=lambda part: part.name):
        plus, minus = f"{relay.name}.coil_plus", f"{relay.name}.coil_minus"
        if plus not in study.circuit.at_node or minus not in study.circuit.at_node:
            unwired += 1
        elif relay.coil_suppression is not None or _diode_across(study, plus, minus):
            yield Passed(_GRADE, (relay.name,))
        elif relay.says_none(Relay.coil_suppression):
            yield _finding(study, relay, plus, minus)
        else:
            yield Missing("what takes its coil's switching spike", relay.span, "diode across the coil").outcome(
                _GRADE, (relay.name,)
            )
    if unwired:
        yield DoesNotApply("its coil is not wired", unwired)


def _diode_across(study: Study, plus: str, minus: str) -> bool:
    """Tell whether a diode lies across a coil, joined to both of its ends without a switch or a fuse between."""
    one, two = (
        study.circuit.reach(node, lambda branch: not branch.gate and branch.kind not in ("diode", "resistor"))
        for node in (plus, minus)
    )
    return any(
        branch.kind == "diode"
        and ((branch.start in two and branch.end in one) or (branch.start in one and branch.end in two))
        and isinstance(study.part(branch.part), Diode)
        for branch in study.circuit.branches
    )


def _finding(study: Study, relay: Relay, plus: str, minus: str) -> Finding:
    near = study.circuit.reach([plus, minus])
    beside = sorted({study.build.nodes[node] for node in near if node in study.build.nodes} & _electronics(study))
    beside_words = f" {listed(beside)} {'hangs' if len(beside) == 1 else 'hang'} on the same nodes." if beside else ""
    return Finding(
        _GRADE,
        (relay.name,),
        f"{relay.name}: nothing takes the spike of its coil; when it is switched off, that goes to whatever else hangs on its supply.{beside_words}",
        relay.place_of(Relay.coil_suppression),
        remedy="Put a diode across the coil, its cathode at the coil's plus, or a clamp.",
        related=tuple(Related(f"{name}: beside it", study.span(name)) for name in beside[:4]),
    )


def _electronics(study: Study) -> set[str]:
    """Return the controllers, chargers, converters, inverters and meters of a build."""
    kinds = {"controller", "charger", "mains charger", "DC-DC charger", "converter", "inverter", "inverter-charger", "meter"}
    return {part.name for part in study.build.parts.values() if isinstance(part, Part) and part.KIND in kinds}
