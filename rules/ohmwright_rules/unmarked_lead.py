"""Leads that come off, without marks that tell plus from minus at both ends."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount
from ohmwright_grammar.kinds.cable import Cable, Core
from ohmwright_grammar.kinds.connector import Half

from ohmwright_rules.colour_roles import pole_of, shown_colour
from ohmwright_rules.labelling import stated_at
from ohmwright_rules.terminals import pin_at
from ohmwright_rules.wording import listed

RULE = Rule(
    id="unmarked-lead",
    title="Lead without polarity marks",
    family="labels",
    subject="cable",
    covers=("M6",),
    grades=(
        Grade(
            "no-marks",
            Severity.WARNING,
            "a lead that comes off does not tell plus from minus at both of its ends, by marks or pins and by colour",
            "circuit",
        ),
    ),
    references=(Reference("a boat insurer's study of claims", "2015-2019", "swapped leads", "secondary"),),
)
_GRADE = "no-marks"


def check(study: Study) -> Iterator[Outcome]:
    """Look at both ends of every lead with a plug that carries both poles."""
    bare: list[tuple[Cable, str]] = []
    others = 0
    for cable in sorted(study.of(Cable), key=lambda cable: cable.name):
        cores = _poles(study, cable)
        if len(cores) < 2 or not _comes_off(study, cable):
            others += 1
            continue
        fault = _fault(study, cable, cores)
        if fault:
            bare.append((cable, fault))
        else:
            yield Passed(_GRADE, (cable.name,))
    if others:
        yield DoesNotApply("a cable that stays where it is, or that does not carry both poles", others)
    if bare:
        names = [cable.name for cable, _ in bare]
        yield Finding(
            _GRADE,
            tuple(names),
            f"{listed(names)}: {bare[0][1]}{' (and the like)' if len(bare) > 1 else ''}; at the next repair the two are swapped.",
            bare[0][0].span,
            Amount(float(len(bare)), "count"),
            Amount(0.0, "count"),
            remedy="Mark + and - at both ends and declare: polarity marked at both ends; or give pins their polarity and cores colours of their own.",
            related=tuple(Related(f"{cable.name}: {fault}", cable.span) for cable, fault in bare[1:6]),
        )


def _poles(study: Study, cable: Cable) -> dict[str, list[Core]]:
    """Return the cores of a cable that lie on the plus and on the minus side."""
    names = {f"{cable.name}.{core.name}": core for core in cable.cores or ()}
    found: dict[str, list[Core]] = {}
    for name, core in sorted(names.items()):
        branch = study.circuit.by_name.get(name)
        pole = pole_of(study, branch) if branch is not None else ""
        if pole in ("plus", "minus"):
            found.setdefault(pole, []).append(core)
    return found


def _ends(cable: Cable) -> list[str]:
    return [node for core in cable.cores or () if core.ends is not None for node in (core.ends.start, core.ends.end)]


def _comes_off(study: Study, cable: Cable) -> bool:
    """Tell whether an end of a cable is a plug: a connector half that is not on the panel."""
    halves = (study.part(study.build.nodes.get(node, "")) for node in _ends(cable))
    return any(isinstance(half, Half) and not half.on_panel for half in halves)


def _fault(study: Study, cable: Cable, cores: dict[str, list[Core]]) -> str:
    if cable.polarity_marked or "marks" in stated_at(study, (cable.name,)):
        return ""
    colours = {pole: {shown_colour(core) for core in its} for pole, its in cores.items()}
    shared = sorted((colours["plus"] & colours["minus"]) - {""})
    if shared:
        return f"both poles are {shared[0]}"
    silent = [
        node
        for node in _ends(cable)
        if (pin := pin_at(study, node)) is not None and (pin[1] is None or pin[1].polarity is None)
    ]
    if silent:
        return f"{listed(silent)} {'does' if len(silent) == 1 else 'do'} not say which pole it is"
    if "" in colours["plus"] | colours["minus"]:
        return "its cores have no colours"
    return ""
