"""An inverter whose neutral is bonded to earth twice, or not at all where a fault must be seen."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright_rules.mains_ports import mains_ports, mains_reach
from ohmwright_rules.neutrals import bonds_at, unsaid_bond
from ohmwright_rules.wording import named

RULE = Rule(
    id="neutral-bonds",
    title="Neutral bonded twice, or not at all",
    family="mains",
    subject="inverter",
    covers=("I5",),
    grades=(
        Grade("two-bonds", Severity.ERROR, "the energised neutral is bonded to earth more than once"),
        Grade(
            "no-bond", Severity.WARNING, "no bond at all, with house wiring or a residual-current device behind it", "circuit"
        ),
    ),
    references=(
        Reference("NFPA 70 (NEC)", "not stated", "250.34(C), as discussed by others", "secondary"),
        Reference("NFPA 70 (NEC)", "not stated", "250.30", "from-memory"),
        Reference("installer training notes", "", "one bond in each state", "secondary"),
    ),
)


@record
class _Way:
    """One AC state: how it is called, the bonds that are known in it, and what could add one and was not said."""

    name: str
    bonds: tuple[tuple[str, Span], ...]
    unsaid: Missing | None = None


def check(study: Study) -> Iterator[Outcome]:
    """Count the bonds of the energised neutral of every inverter, alone, with shore supply through it, and with both."""
    inverters = sorted(study.of(Inverter), key=lambda part: part.name)
    if not inverters:
        yield DoesNotApply("no inverter")
    for part in inverters:
        ways = list(_ways(study, part))
        yield _two(part, ways)
        yield _none(study, part, ways)


def _ways(study: Study, part: Inverter) -> Iterator[_Way]:
    name = part.name
    inside = ("inside it", part.place_of(Inverter.neutral_bond))
    bond = part.neutral_bond
    if bond is None and (part.ac_system == "floating" or part.says_none(Inverter.neutral_bond)):
        bond = "never"
    outside = tuple(_bonds_at(study, f"{name}.N"))
    silent = unsaid_bond(part) if bond is None else None
    alone = ((inside,) if bond in ("always", "only when alone") else ()) + outside
    yield _Way("alone, without shore supply", alone, silent)
    if not any(port.part is part for port in mains_ports(study)):
        return
    shore = tuple(_bonds_at(study, f"{name}.shore_N"))
    further = tuple(item for item in shore if item not in outside)
    said = part.shore_neutral_bonded
    source = (("at the source of the shore supply", part.place_of(Inverter.shore_neutral_bonded)),) if said else ()
    unsaid = silent
    if said is None:
        unsaid = Missing("whether the neutral of the shore supply is bonded at its source", part.span, "shore neutral bonded")
    through = ((inside,) if bond == "always" else ()) + outside + further + source
    yield _Way("with shore supply through it", through, unsaid)
    if part.transfer_breaks_first:
        return
    if part.transfer_breaks_first is None:
        unsaid = Missing("whether its transfer breaks before it makes", part.span, "transfer breaks before it makes")
        if bond != "only when alone":
            unsaid = None  # both at once adds no bond to those that count in either state
        yield _Way("while both are joined", (), unsaid)
        return
    yield _Way("while both are joined, for its transfer does not break first", (*alone, *further, *source), silent)


def _bonds_at(study: Study, neutral: str) -> Iterator[tuple[str, Span]]:
    for bond in bonds_at(study, neutral):
        yield bond.name, bond.span


def _two(part: Inverter, ways: list[_Way]) -> Outcome:
    subject = (part.name,)
    worst = max(ways, key=lambda way: len(way.bonds))
    limit = Amount(1.0, "count")
    if len(worst.bonds) > 1:
        places = [words for words, _ in worst.bonds]
        return Finding(
            "two-bonds",
            subject,
            f"{part.name}: its neutral is bonded to earth {len(places)} times {worst.name}: {named(places)}. Part of the return current then runs in earth"
            " wires and cases.",
            part.span,
            Amount(float(len(places)), "count"),
            limit,
            state=worst.name,
            working=tuple(Step(f"bond {k}", words, None, "", "as declared") for k, words in enumerate(places, start=1)),
            remedy="Keep one bond in each state: take away the others, or use an inverter that bonds only when alone.",
            related=tuple(Related(words, span) for words, span in worst.bonds if span != part.span),
        )
    for way in ways:
        may_add = len(way.bonds) if way.unsaid is not None else 0
        if way.unsaid is not None and (may_add > 0 or way.name == "while both are joined"):
            return way.unsaid.outcome("two-bonds", subject, way.name)
    return Passed("two-bonds", subject, Amount(float(len(worst.bonds)), "count"), limit, state=worst.name)


def _none(study: Study, part: Inverter, ways: list[_Way]) -> Outcome:
    subject = (part.name,)
    why = _needs_a_bond(study, part)
    for way in ways:
        if way.bonds or way.name.startswith("while both"):
            continue
        if way.unsaid is not None:
            if why:
                return way.unsaid.outcome("no-bond", subject, way.name)
            continue
        if not why:
            continue
        return Finding(
            "no-bond",
            subject,
            f"{part.name}: its neutral is bonded to earth nowhere {way.name}, and {why}. A fault to earth then finds no way back: nothing trips, and a"
            " residual-current device sees no difference.",
            part.span,
            Amount(0.0, "count"),
            Amount(1.0, "count"),
            "at-least",
            state=way.name,
            remedy=f"Use an inverter that bonds its neutral, or bond it in one place{_instead(why)}.",
        )
    return Passed("no-bond", subject)


def _instead(why: str) -> str:
    return "; on a floating output a residual-current device guards nothing" if "residual-current" in why else ""


def _needs_a_bond(study: Study, part: Inverter) -> str:
    """Tell in words what behind an inverter needs a way back for faults, "" where nothing does."""
    if part.feeds == "house wiring":
        return "it feeds house wiring"
    if part.outlet_is_guarded:
        return "a residual-current device guards its outlet"
    near = mains_reach(study, f"{part.name}.L")
    halves = {study.build.nodes.get(node, "") for node in near}
    for name in sorted(halves):
        half = study.part(name)
        if isinstance(half, Half) and half.residual_current_device:
            return f"a residual-current device guards {name}"
    if part.ac_system == "earthed neutral":
        return "its AC system is said to have an earthed neutral"
    return ""
