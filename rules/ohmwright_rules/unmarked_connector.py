"""Connectors on the panel without a label that says what they give or take."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.references import common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount
from ohmwright_grammar.kinds.connector import Half

from ohmwright_rules.halves import has_mains, poles_of
from ohmwright_rules.kept import kept
from ohmwright_rules.labelling import stated_at
from ohmwright_rules.mistakable_plug import check as mistaken_plugs
from ohmwright_rules.wording import listed

RULE = Rule(
    id="unmarked-connector",
    title="Connector on the panel without a label",
    family="labels",
    subject="connector",
    covers=("M4",),
    grades=(
        Grade(
            "no-label",
            Severity.WARNING,
            "no label at a connector on the panel states voltage, current, polarity and direction",
            "circuit",
        ),
    ),
    references=(common_practice("the next user guesses voltage and direction"),),
)
_GRADE = "no-label"
_WANTED = ("voltage", "current", "polarity", "direction")


def check(study: Study) -> Iterator[Outcome]:
    """Read the labels at every connector on the panel that carries power."""
    poles = poles_of(study)
    bare: list[tuple[Half, tuple[str, ...]]] = []
    others = 0
    for half in sorted(study.build.halves(), key=lambda half: half.name):
        if not half.on_panel:
            continue
        nodes = study.circuit.nodes_of(half.name)
        if has_mains(study, half) or not any(poles.of(node) == "plus" for node in nodes):
            others += 1
            continue
        stated = stated_at(study, (half.name,))
        missing = tuple(word for word in _WANTED if word not in stated)
        if missing:
            bare.append((half, missing))
        else:
            yield Passed(_GRADE, (half.name,))
    if others:
        yield DoesNotApply("on the panel, but without DC power (an outlet of mains is unmarked-outlet's)", others)
    mistaken = kept(study, _mistaken) if bare else frozenset()
    for among in (True, False):
        some = [item for item in bare if (item[0].name in mistaken) is among]
        if some:
            yield _finding(some)


def _mistaken(study: Study) -> frozenset[str]:
    """Return the halves of which mistakable-plug tells, labels and all: what the others lack must not go under with them."""
    return frozenset(name for item in mistaken_plugs(study) if isinstance(item, Finding) for name in item.subject)


def _finding(bare: list[tuple[Half, tuple[str, ...]]]) -> Finding:
    names = [half.name for half, _ in bare]
    lacks = [word for word in _WANTED if any(word in missing for _, missing in bare)]
    return Finding(
        _GRADE,
        tuple(names),
        f"{listed(names)}: no label there states {listed(lacks)}; whoever plugs in guesses.",
        bare[0][0].span,
        Amount(float(len(bare)), "count"),
        Amount(0.0, "count"),
        remedy="Put a label at each, such as '12 V DC, 10 A, centre +, outlet'; or, where all carry those of the generated sheet: site { labels as generated }",
        related=tuple(Related(f"{half.name} lacks {listed(missing)}", half.span) for half, missing in bare[1:6]),
    )
