"""AC and DC in one connector, or in one duct with insulation that does not bear the AC."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference, Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown_pair
from ohmwright_grammar.kinds.inverter import Inverter

from ohmwright_rules.halves import connectors, poles_of, wired_pins
from ohmwright_rules.wording import listed

RULE = Rule(
    id="mixed-circuits",
    title="AC and DC in one connector or duct",
    family="mains",
    subject="connector or duct",
    covers=("I8",),
    grades=(
        Grade("shared-connector", Severity.ERROR, "one connector carries AC and DC"),
        Grade("shared-duct", Severity.WARNING, "a conductor shares a duct or sheath with AC, and its insulation is for less"),
    ),
    references=(
        common_practice("one slip puts mains on the DC side"),
        Reference("NFPA 70 (NEC)", "", "300.3(C)", "from-memory"),
    ),
)
_MAINS = 250.0  # V: the highest of usual mains, where no inverter says what it gives


def check(study: Study) -> Iterator[Outcome]:
    """Look into every connector and every duct for conductors of both."""
    promised = any(pin.polarity in ("L", "N") for half in study.build.halves() for pin in half.pins or ())
    if not study.circuit.ac_branches and not promised:
        yield DoesNotApply("nothing of the build carries mains or an inverter's output")
        return
    yield from _connectors(study)
    yield from _ducts(study)


def _connectors(study: Study) -> Iterator[Outcome]:
    poles = poles_of(study)
    for connector in connectors(study):
        mains: list[str] = []
        direct: list[str] = []
        for half in connector.halves:
            pins = {pin.name: pin for pin in half.pins or ()}
            for name in sorted(pins.keys() | wired_pins(study, half.name)):
                node = f"{half.name}.{name}"
                polarity = pins[name].polarity if name in pins else None
                if node in study.circuit.ac_nodes or polarity in ("L", "N"):
                    mains.append(node)
                elif polarity in ("plus", "minus") or (polarity != "PE" and poles.of(node)):
                    direct.append(node)
        if not mains and not direct:
            continue
        if not mains or not direct:
            yield Passed("shared-connector", connector.names)
            continue
        yield Finding(
            "shared-connector",
            connector.names,
            f"{connector.name}: {listed(mains)} {'carries' if len(mains) == 1 else 'carry'} AC and {listed(direct)} DC; one bent pin or wrong wire puts mains "
            "on everything that is taken for safe.",
            connector.span,
            remedy="Use a connector of its own for each, of families that do not fit each other.",
            related=tuple(Related(f"its mate, {half.name}", half.span) for half in connector.halves[1:]),
        )


def _ducts(study: Study) -> Iterator[Outcome]:
    mains: dict[str, list[Branch]] = {}
    direct: dict[str, list[Branch]] = {}
    for found, branches in ((mains, study.circuit.ac_branches), (direct, study.circuit.branches)):
        for branch in branches:
            if branch.conductor is not None:
                for name in _spaces(branch):
                    found.setdefault(name, []).append(branch)
    shared = sorted(mains.keys() & direct.keys())
    for name in shared:
        yield _judge(study, name, mains[name], direct[name])
    if not shared:
        yield DoesNotApply("no duct and no cable holds both AC and DC")


def _spaces(branch: Branch) -> Iterator[str]:
    """Yield the duct that a conductor lies in, and the cable that it is a core of."""
    assert branch.conductor is not None
    if branch.conductor.duct is not None:
        yield branch.conductor.duct
    if branch.part != branch.name:
        yield branch.part


def _judge(study: Study, name: str, mains: list[Branch], direct: list[Branch]) -> Outcome:
    said = [float(part.ac_voltage.high) for part in study.of(Inverter) if part.ac_voltage is not None]
    volt = max(said, default=_MAINS)
    everything = sorted((*mains, *direct), key=lambda branch: branch.name)
    known = [
        (branch, float(branch.conductor.insulation_voltage.low))
        for branch in everything
        if branch.conductor and branch.conductor.insulation_voltage
    ]
    subject = (name, *(branch.name for branch in everything))
    limit = Amount(volt, "voltage")
    weakest = min(known, key=lambda item: item[1], default=None)
    if weakest is not None and is_broken(weakest[1], volt, "at-least"):
        measured = Amount(weakest[1], "voltage")
        bears, wanted = shown_pair(measured, limit)
        return Finding(
            "shared-duct",
            subject,
            f"{name}: {listed([branch.name for branch in mains])} with AC and {listed([branch.name for branch in direct])} with DC lie in it; the insulation of "
            f"{weakest[0].name} is for {bears}, and the AC is {wanted}.",
            weakest[0].span,
            measured,
            limit,
            "at-least",
            working=(
                Step("U", "highest AC voltage in the duct", volt, "V", "as declared" if said else "usual mains, assumed"),
            ),
            remedy=f"Give AC a duct of its own, or use conductors for {wanted} or more throughout.",
            related=tuple(Related(f"{branch.name} carries AC", branch.span) for branch in mains[:4]),
            reference=RULE.references[1],
        )
    silent = next((branch for branch in everything if branch.conductor and branch.conductor.insulation_voltage is None), None)
    if silent is not None:
        return NotChecked(
            "shared-duct", subject, f"insulation voltage of {silent.name}", silent.span, declare="600 V insulation"
        )
    return Passed("shared-duct", subject, Amount(weakest[1], "voltage") if weakest is not None else None, limit, "at-least")
