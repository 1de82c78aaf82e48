"""Two colour schemes in one build: a pole that shows two colours which no table explains."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.references import common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.site import Site

from ohmwright_rules.colour_roles import exceptions_of, pole_of, shown_colour
from ohmwright_rules.wording import listed

RULE = Rule(
    id="two-schemes",
    title="Two colour schemes in one build",
    family="labels",
    subject="conductor",
    covers=("M2",),
    grades=(
        Grade(
            "second-colour",
            Severity.WARNING,
            "one pole shows two colours, each of which is usual for it in another scheme, and no table explains them",
        ),
        Grade(
            "not-in-scheme",
            Severity.WARNING,
            "a conductor has a colour that the table of the build does not hold, and is no listed exception",
        ),
    ),
    references=(common_practice("one scheme in one box, exceptions listed"),),
)
# Colours that some scheme in use has for a pole: marine and US practice, IEC 60445 (from memory).
_USUAL = {"plus": ("red", "brown"), "minus": ("black", "yellow", "blue", "light blue", "dark blue", "grey")}
_SAME = {"light blue": "blue", "dark blue": "blue"}


def check(study: Study) -> Iterator[Outcome]:
    """Sort the conductors of each pole by their colour."""
    site = study.one(Site)
    table = {item.colour for item in (site.colour_roles or ())} if site is not None else set()
    excepted = exceptions_of(study)
    wires: dict[str, dict[str, list[Branch]]] = {"plus": {}, "minus": {}}
    left = 0
    for wire in sorted(study.circuit.wires(), key=lambda wire: wire.name):
        conductor = wire.conductor
        assert conductor is not None
        pole, colour = pole_of(study, wire), shown_colour(conductor)
        if pole not in wires or not colour or conductor.inside_device or wire.name in excepted or wire.part in excepted:
            left += 1
        else:
            wires[pole].setdefault(_SAME.get(colour, colour), []).append(wire)
    if table:
        yield from _by_table(wires, {_SAME.get(colour, colour) for colour in table})
    else:
        for pole, by_colour in wires.items():
            yield from _by_custom(pole, by_colour)
    if left:
        yield DoesNotApply("without a colour or a pole, in a bought device, or a listed exception", left)


def _by_table(wires: dict[str, dict[str, list[Branch]]], table: set[str]) -> Iterator[Outcome]:
    outside: dict[str, list[Branch]] = {}
    for by_colour in wires.values():
        for colour, its in by_colour.items():
            if colour not in table:
                outside.setdefault(colour, []).extend(its)
    inside = [wire.name for by_colour in wires.values() for colour, its in by_colour.items() if colour in table for wire in its]
    if inside:
        yield Passed("not-in-scheme", tuple(inside))
    for colour, its in sorted(outside.items()):
        names = [wire.name for wire in its]
        yield Finding(
            "not-in-scheme",
            tuple(names),
            f"{listed(names)}: {colour} is not in the colour scheme of this build, so that nobody can look up what it means.",
            its[0].span,
            remedy=f"Give {colour} a meaning in the table, use a colour that has one, or list the exceptions.",
        )


def _by_custom(pole: str, by_colour: dict[str, list[Branch]]) -> Iterator[Outcome]:
    usual = sorted(
        (colour for colour in by_colour if colour in _USUAL[pole]), key=lambda colour: (len(by_colour[colour]), colour)
    )
    if not usual:
        return
    if len(usual) == 1:
        yield Passed("second-colour", tuple(wire.name for wire in by_colour[usual[0]]))
        return
    few, many = usual[0], usual[-1]
    names = [wire.name for wire in by_colour[few]]
    others = [wire.name for wire in by_colour[many]]
    yield Finding(
        "second-colour",
        tuple(names),
        f"{listed(names)}: {few} on the {pole} side, while {listed(others)} {'is' if len(others) == 1 else 'are'} {many} there; two schemes meet, and no table says so.",
        by_colour[few][0].span,
        remedy=f"Use {many} throughout, sleeve them {many} at both ends, or declare both: site {{ colour {few} for {pole}; colour {many} for {pole} }}",
        related=tuple(Related(f"{wire.name} is {many}", wire.span) for wire in by_colour[many][:4]),
    )
