"""A conductor that is not stranded copper: aluminium in a terminal for copper only, copper-clad aluminium, a solid wire in something that moves."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.constants.metals import conductivity_share
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference, Step, common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.part import Terminal
from ohmwright_grammar.kinds.site import Site
from ohmwright_grammar.quantities import Gauge

from ohmwright_rules.conductors import said_of_missing
from ohmwright_rules.terminals import place_of_terminal, stud_at

RULE = Rule(
    id="wrong-conductor",
    title="Conductor that is not stranded copper",
    family="conductors",
    subject="conductor",
    covers=("D8",),
    grades=(
        Grade("copper-terminal", Severity.ERROR, "an aluminium conductor ends in a terminal that takes copper only"),
        Grade("copper-clad", Severity.WARNING, "a conductor is of copper-clad aluminium"),
        Grade("solid", Severity.WARNING, "a conductor is solid, and the build is not said to be fixed"),
    ),
    references=(
        Reference("33 CFR 183.425", "as on a law mirror, undated", "(a)", "read"),
        Reference("conductivity of copper-clad aluminium, 0.63 of copper", "", "", "from-memory"),
    ),
)
_METALS = "metals that the terminal takes"
_STRANDING = "stranding"
# These are stranded by what they are; only a single wire or a building cable may be solid.
_STRANDED_KINDS = frozenset({"flexible cord", "boat", "battery", "PV"})
_SLACK = 1e-9


def check(study: Study) -> Iterator[Outcome]:
    """Ask every conductor of what it is made."""
    site = study.one(Site)
    fixed = site is not None and site.use == "fixed"
    inside = 0
    groups: dict[str, list[Branch]] = {}
    for wire in (*study.circuit.wires(), *(branch for branch in study.circuit.ac_branches if branch.conductor is not None)):
        assert wire.conductor is not None
        if wire.conductor.inside_device:
            inside += 1
        else:
            groups.setdefault(f"{wire.part}\0{_alike(wire)}", []).append(wire)
    still = 0
    for _, wires in sorted(groups.items()):
        wires.sort(key=lambda wire: wire.name)
        yield from _metal(study, wires)
        if fixed:
            still += len(wires)
        else:
            yield from _strands(wires)
    if inside:
        yield DoesNotApply("inside a bought device or part of it", inside)
    if still:
        yield DoesNotApply("in a fixed build a conductor may be solid", still)


def _alike(wire: Branch) -> tuple[object, ...]:
    """What is told once of the cores of one cable."""
    conductor = wire.conductor
    assert conductor is not None
    gauge = conductor.gauge
    return conductor.metal, conductor.stranding, gauge.text if isinstance(gauge, Gauge) else ""


def _names(wires: list[Branch]) -> tuple[str, ...]:
    """Return the subject: the cable and its cores, or the one wire."""
    first = wires[0]
    names = [wire.name for wire in wires]
    return tuple(names) if first.part == first.name else tuple(dict.fromkeys((first.part, *names)))


def _metal(study: Study, wires: list[Branch]) -> Iterator[Outcome]:
    conductor = wires[0].conductor
    assert conductor is not None
    subject = _names(wires)
    metal = conductor.metal
    if metal is None:
        grade = "copper-clad" if all(_takes_aluminium(study, wire) for wire in wires) else "copper-terminal"
        yield NotChecked(grade, subject, "metal", wires[0].span, declare=said_of_missing("metal"))
        return
    if metal == "copper-clad":
        yield _copper_clad(wires)
    else:
        yield Passed("copper-clad", subject)
    if metal == "aluminium":
        for wire in wires:
            for node in (wire.start, wire.end):
                yield _aluminium(study, wire, node)
    elif metal != "copper-clad":
        yield Passed("copper-terminal", subject)


def _takes_aluminium(study: Study, wire: Branch) -> bool:
    ends = (stud_at(study, node) for node in (wire.start, wire.end))
    return all(end is not None and end.takes_metal in ("aluminium", "copper and aluminium") for end in ends)


def _aluminium(study: Study, wire: Branch, node: str) -> Outcome:
    """Hold an aluminium conductor against what the terminal at one of its ends takes."""
    terminal = stud_at(study, node)
    takes = terminal.takes_metal if terminal is not None else None
    subject = (wire.name, node)
    place = place_of_terminal(study, node)
    if takes is None:
        return NotChecked("copper-terminal", subject, _METALS, place, declare="terminals { takes copper and aluminium }")
    if takes != "copper":
        return Passed("copper-terminal", subject)
    assert terminal is not None
    said = terminal.place_of(Terminal.takes_metal)
    return Finding(
        "copper-terminal",
        subject,
        f"{wire.name}: aluminium ends in {node}, which takes copper only; aluminium creeps and oxidises there, and the joint heats up.",
        wire.span,
        remedy="Use stranded copper, or terminals marked for aluminium with the compound that they ask for.",
        related=(Related("the terminal takes copper only", said),),
        reference=common_practice("a terminal takes the metals that it is marked for"),
    )


def _copper_clad(wires: list[Branch]) -> Finding:
    from ohmwright_rules.sizing import gauges

    conductor = wires[0].conductor
    assert conductor is not None
    subject = _names(wires)
    share = conductivity_share("copper-clad")
    gauge = conductor.gauge
    counts, own = "", "a wire of copper"
    steps: tuple[Step, ...] = ()
    if isinstance(gauge, Gauge):
        area = float(gauge.area) * share
        fits = [size for size in gauges(gauge.metric) if float(size.area) <= area * (1 + _SLACK)]
        counts = f"; this {gauge.text} counts as {fits[-1].text} copper" if fits else ""
        own = f"copper of {gauge.text}"
        steps = (Step("S", f"{float(gauge.area) * 1e6:.4g} mm2 x {share:.3g}", area * 1e6, "mm2", "conductivity, from memory"),)
    return Finding(
        "copper-clad",
        subject,
        f"{subject[0]}: copper-clad aluminium conducts {share:.2g} times as well as copper{counts}. Its ends creep like aluminium.",
        wires[0].span,
        working=steps,
        remedy=f"Use {own}, stranded; until then everything is worked out with the smaller size.",
        reference=RULE.references[1],
    )


def _strands(wires: list[Branch]) -> Iterator[Outcome]:
    conductor = wires[0].conductor
    assert conductor is not None
    subject = _names(wires)
    if conductor.stranding == "solid":
        yield Finding(
            "solid",
            subject,
            f"{subject[0]}: a solid conductor breaks where it is bent again and again, in a box that is carried or rides along.",
            wires[0].span,
            remedy="Use stranded copper of the same size; if the build never moves, say so of the site (fixed).",
        )
    elif conductor.stranding is None and conductor.cable_kind not in _STRANDED_KINDS:
        yield NotChecked("solid", subject, _STRANDING, wires[0].span, declare="stranded")
    else:
        yield Passed("solid", subject)
