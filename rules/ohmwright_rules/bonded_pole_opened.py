"""A switch or fuse that opens only the bonded pole, so that the live one stays live."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.switch import Switching

from ohmwright_rules.bonding import bonded_nodes, joined_to
from ohmwright_rules.wording import listed

RULE = Rule(
    id="bonded-pole-opened",
    title="Only the bonded pole is switched or fused",
    family="protection",
    subject="part",
    covers=("F13",),
    grades=(Grade("alone", Severity.ERROR, "a switch, relay, fuse or breaker opens the pole that is bonded and leaves the other one closed"),),
    references=(
        Reference("46 CFR 120.380", "as on a law mirror, undated", "(b)", "read"),
        Reference("46 CFR 111.05-37", "as on a law mirror, undated", "(a)", "read"),
    ),
)  # fmt: skip
_GRADE = "alone"
_KINDS = frozenset({"switch", "relay", "selector", "disconnect", "fuse", "breaker"})


def check(study: Study) -> Iterator[Outcome]:
    """Look at everything that opens the side that is bonded."""
    bonded = bonded_nodes(study)
    poles = {
        node for source in study.circuit.sources if source.kind == "battery" for node in (source.plus, source.minus)
    } & bonded
    ways: dict[str, list[Branch]] = {}
    for branch in study.circuit.branches:
        if branch.kind in _KINDS:
            ways.setdefault(branch.part, []).append(branch)
    floating = live = idle = 0
    for name in sorted(ways):
        part = study.part(name)
        assert part is not None
        if not poles:
            floating += 1
        elif not any(branch.start in bonded and branch.end in bonded for branch in ways[name]):
            live += 1
        else:
            cut = _cut(study, name, poles, bonded)
            if not cut:
                idle += 1
            elif _opens_live(part, ways, bonded):
                yield Passed(_GRADE, (name,))
            else:
                yield _finding(study, part, cut, ways[name][0])
    for words, count in (
        ("no pole is bonded", floating),
        ("it opens the live side", live),
        ("opening it parts no load from the bonded pole, or coils only", idle),
    ):
        if count:
            yield DoesNotApply(words, count)


def _cut(study: Study, name: str, poles: set[str], bonded: frozenset[str]) -> list[str]:
    """Return what loses the bonded pole when a part is open: loads, inverters, sources; what only works a coil does not count."""
    near = joined_to(study, poles, without=name)
    circuit = study.circuit
    found = {
        consumer.part.name
        for consumer in circuit.consumers
        if consumer.kind not in ("coil", "drain") and {consumer.plus, consumer.minus} & bonded - near
    }
    found |= {source.name for source in circuit.sources if {source.plus, source.minus} & bonded - near}
    batteries = [source for source in circuit.sources if source.kind == "battery"]
    if (
        not found and len(batteries) == 1
    ):  # the switch may stand right at the battery, so that everything else is parted from it
        source = batteries[0]
        own = joined_to(study, [node for node in (source.plus, source.minus) if node in bonded], without=name)
        found = {
            item.part.name
            for item in circuit.consumers
            if item.kind not in ("coil", "drain") and {item.plus, item.minus} & bonded - own
        }
    return sorted(found)


def _opens_live(part: Part, ways: dict[str, list[Branch]], bonded: frozenset[str]) -> bool:
    """Tell whether a part, or one that moves with it, opens the other side too."""
    together = (part.name, *(part.ganged_with or ())) if isinstance(part, Switching) else (part.name,)
    return any(branch.start not in bonded or branch.end not in bonded for name in together for branch in ways.get(name, ()))


def _finding(study: Study, part: Part, cut: list[str], branch: Branch) -> Finding:
    one = len(cut) == 1
    return Finding(
        _GRADE,
        (part.name,),
        f"{part.name}: this {part.KIND} opens only the side that is bonded to the case; {listed(cut)} {'stays' if one else 'stay'} live on the other side when it is open.",
        part.span,
        remedy=f"Put the {part.KIND} into the other side, or use one that opens both sides together.",
        related=(Related(f"what stays live: {cut[0]}", study.span(cut[0])),),
    )
