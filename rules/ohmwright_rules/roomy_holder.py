"""A holder that accepts a larger fuse than the wires behind it allow, without a label that says which one belongs there."""

from __future__ import annotations

from collections.abc import Iterator
from re import search

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown_pair
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.kinds.label import Label

from ohmwright_rules.conductors import gauge_of, said_of_missing
from ohmwright_rules.faults import faults_of
from ohmwright_rules.fusing import FuseLimit
from ohmwright_rules.guarding import Guarding, guarding
from ohmwright_rules.holders import Held, fuses_of, held_of, unheld
from ohmwright_rules.labelling import are_generated
from ohmwright_rules.laying import Unknown

RULE = Rule(
    id="roomy-holder",
    title="Holder accepts a larger fuse",
    family="protection",
    subject="fuse",
    covers=("F18",),
    grades=(Grade("unlabelled", Severity.NOTE, "a holder takes a fuse that is too large for the wires behind it, and no label there states a current"),),
    references=(common_practice("what is at hand gets fitted"),),
)  # fmt: skip
_GRADE = "unlabelled"


def check(study: Study) -> Iterator[Outcome]:
    """Hold the largest fuse that every holder takes against what the wires behind it allow."""
    guard = guarding(study)
    labelled = _labelled(study)
    allowed = _allowed(study, guard) if guard is not None else {}
    silent = 0
    for fuse in fuses_of(study):
        subject = (fuse.name,)
        held = held_of(study, fuse)
        if fuse.name in labelled or (held is not None and held.part in labelled):
            yield Passed(_GRADE, subject)
        elif guard is None:
            yield NotChecked(_GRADE, subject, "basis", fuse.span, declare=said_of_missing("basis"))
        elif held is None:
            yield unheld(fuse).outcome(_GRADE, subject)
        elif held.takes is None:
            yield Missing(f"largest fuse that {held.name} takes", held.span, "largest fuse 30 A").outcome(_GRADE, subject)
        elif fuse.name not in allowed:
            silent += 1
        else:
            yield _judge(fuse, held, held.takes, *allowed[fuse.name])
    if silent:
        yield DoesNotApply("nothing behind it has a limit that could be told", silent)


def _labelled(study: Study) -> set[str]:
    """Return the names of what has a label that states a current."""
    found: set[str] = {fuse.name for fuse in fuses_of(study)} if are_generated(study) else set()
    for label in study.of(Label):
        if label.states_current or label.generated_text or search(r"\d\s*A\b", label.text or ""):
            found.update(label.at or ())
    return found


def _allowed(study: Study, guard: Guarding) -> dict[str, tuple[float, Branch]]:
    """Return the smallest limit of the wires behind each fuse before the next device [A], and the wire."""
    found: dict[str, tuple[float, Branch]] = {}
    for setting in faults_of(study).settings:
        ways = setting.ends.ways
        for walk in setting.ends.walks:
            for edge in walk.edges():
                device, wire = walk.device_before(edge), ways.wire(edge)
                facts = guard.facts(wire)
                if device is None or facts.kind is None or isinstance(facts.laying, Unknown):
                    continue
                limit = guard.limit(facts.kind, guard.voltage(wire, facts.laying), device)
                known = found.get(device.part)
                if isinstance(limit, FuseLimit) and (known is None or limit.value < known[0]):
                    found[device.part] = (limit.value, wire)
    return found


def _judge(fuse: Fuse, held: Held, takes: Amount, limit: float, wire: Branch) -> Outcome:
    allowed = Amount(limit, "current", takes.unit)
    if not is_broken(takes.value, limit, "at-most"):
        return Passed(_GRADE, (fuse.name,), takes, allowed)
    large, small = shown_pair(takes, allowed)
    return Finding(
        _GRADE,
        (fuse.name,),
        f"{fuse.name}: {held.name} takes a fuse of up to {large}; the {gauge_of(wire)} of {wire.name} may lie behind {small} at most, and no label there says so.",
        fuse.span,
        takes,
        allowed,
        working=(Step("I_fuse", f"limit of {wire.name}", limit, "A", "as oversized-fuse has it"),),
        remedy="Put a label at the holder that states the current, or use a holder that takes no larger fuse.",
        related=(Related(f"the conductor {wire.name}", wire.span),),
    )
