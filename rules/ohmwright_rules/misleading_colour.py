"""A conductor whose colour promises something else than it carries."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference, common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.cable import Cable
from ohmwright_grammar.kinds.conductor import Conductor
from ohmwright_grammar.kinds.connector import Jumper
from ohmwright_grammar.kinds.enclosure import Enclosure
from ohmwright_grammar.kinds.site import Site

from ohmwright_rules.colour_roles import GREEN, exceptions_of, pole_of, promised, shown_colour, sleeved_at_both_ends
from ohmwright_rules.terminals import part_at
from ohmwright_rules.wording import listed

RULE = Rule(
    id="misleading-colour",
    title="Colour that promises another conductor",
    family="labels",
    subject="conductor",
    covers=("M1",),
    grades=(
        Grade("green-live", Severity.ERROR, "a green conductor belongs to a circuit or carries current"),
        Grade("white-positive", Severity.WARNING, "a white conductor is on the plus side"),
        Grade("wrong-pole", Severity.WARNING, "a colour lies on the other pole than the scheme, or custom, gives it to"),
        Grade("two-roles", Severity.WARNING, "one colour stands for two things"),
        Grade("cord-not-marked", Severity.WARNING, "a re-used household cord is not sleeved at both ends, or not listed"),
    ),
    references=(
        Reference("NFPA 70 (NEC)", "2023", "200.6, 215.12(C)(2), 250.119", "secondary"),
        Reference("ABYC E-11", "as public pages quote it", "colours of conductors", "secondary"),
        common_practice("the next person reads the colours"),
    ),
)
_EARTHS = ("PE", "case", "frame")  # terminals that a protective conductor or bond ends at
_LEAST = 1e-6  # A: less is rounding


def check(study: Study) -> Iterator[Outcome]:
    """Hold the colour of every conductor against what it carries, and the scheme against itself."""
    yield from _scheme(study)
    used: dict[str, dict[str, list[Branch]]] = {}
    excepted = exceptions_of(study)
    inside = 0
    for wire in sorted(study.circuit.wires(), key=lambda wire: wire.name):
        conductor = wire.conductor
        assert conductor is not None
        if conductor.inside_device:
            inside += 1
            continue
        pole = pole_of(study, wire)
        if conductor.colour is None and not shown_colour(conductor):
            if pole and not isinstance(conductor, Jumper):
                yield NotChecked("green-live", (wire.name,), "colour", wire.span, declare="red")
            continue
        yield _green(study, wire, conductor, pole)
        colour = shown_colour(conductor)
        if pole in ("plus", "minus") and colour not in GREEN and not _is_excepted(wire, excepted):
            yield from _pole(study, wire, colour, pole, used)
    for branch in sorted(study.circuit.ac_branches, key=lambda branch: branch.name):
        if branch.conductor is not None and branch.conductor.colour in GREEN and not branch.conductor.inside_device:
            yield _green_finding(branch, "carries mains or an inverter's output")
    yield from _both_poles(used)
    yield from _cords(study, excepted)
    if inside:
        yield DoesNotApply("inside a bought device or part of it", inside)


def _is_excepted(wire: Branch, excepted: frozenset[str]) -> bool:
    return wire.name in excepted or wire.part in excepted


def _green(study: Study, wire: Branch, conductor: Conductor, pole: str) -> Finding | Passed:
    """Judge whether a green conductor, sleeved or not, is only what green is for."""
    if conductor.colour not in GREEN and shown_colour(conductor) not in GREEN:
        return Passed("green-live", (wire.name,))
    state = next((case.state.name for case in study.currents_of(wire.name) if case.current > _LEAST), "")
    if state:
        return _green_finding(wire, f"carries current in state {state!r}")
    if pole and not _is_bond(study, wire, conductor):
        side = {"plus": "the plus side", "minus": "the minus side"}.get(pole, "a series string")
        return _green_finding(wire, f"lies on {side} of the circuit")
    return Passed("green-live", (wire.name,))


def _is_bond(study: Study, wire: Branch, conductor: Conductor) -> bool:
    """Tell whether a conductor is a bond or an earth, as it says or by what it joins."""
    if conductor.job is not None:
        return conductor.job in ("bond", "earth")
    ends = (wire.start, wire.end)
    return any(isinstance(part_at(study, node), Enclosure) or node.rpartition(".")[2] in _EARTHS for node in ends)


def _green_finding(wire: Branch, what: str) -> Finding:
    conductor = wire.conductor
    assert conductor is not None
    colour = conductor.colour if conductor.colour in GREEN else shown_colour(conductor)
    return Finding(
        "green-live",
        (wire.name,),
        f"{wire.name}: it is {colour} and {what}; {colour} is for bonds and protective earth alone, and whoever sees it takes it for safe.",
        wire.span,
        remedy="Use another colour; a sleeve does not make a green conductor into another one.",
    )


def _pole(
    study: Study, wire: Branch, colour: str, pole: str, used: dict[str, dict[str, list[Branch]]]
) -> Iterator[Finding | Passed]:
    if pole == "plus":
        if colour == "white":
            yield Finding(
                "white-positive",
                (wire.name,),
                f"{wire.name}: it is white and lies on the plus side; white is for a grounded conductor, which the plus is not.",
                wire.span,
                remedy="Use another colour, or sleeve it at both ends.",
            )
        else:
            yield Passed("white-positive", (wire.name,))
    promise, by_scheme = promised(study, colour)
    if not promise:
        if not by_scheme and colour != "white":
            used.setdefault(colour, {}).setdefault(pole, []).append(wire)
        return
    if promise == pole:
        yield Passed("wrong-pole", (wire.name,))
        return
    whose = "in the scheme of this build" if by_scheme else "by custom"
    site = study.one(Site)
    related = (Related("the scheme", site.place_of(Site.colour_roles)),) if by_scheme and site is not None else ()
    yield Finding(
        "wrong-pole",
        (wire.name,),
        f"{wire.name}: it is {colour} and lies on the {pole} side; {colour} is {promise} {whose}.",
        wire.span,
        remedy="Use the colour of its pole, sleeve it at both ends, or list it among the exceptions to the scheme.",
        related=related,
        reference=RULE.references[2 if by_scheme else 1],
    )


def _both_poles(used: dict[str, dict[str, list[Branch]]]) -> Iterator[Finding | Passed]:
    """Find colours without a promise of their own that lie on both poles; told at the fewer conductors."""
    for colour, by_pole in sorted(used.items()):
        first, *more = sorted(by_pole, key=lambda pole: (len(by_pole[pole]), pole))
        names = tuple(wire.name for wire in by_pole[first])
        if not more:
            yield Passed("two-roles", names)
            continue
        others = [wire.name for wire in by_pole[more[0]]]
        yield Finding(
            "two-roles",
            names,
            f"{listed(names)}: {colour} on the {first} side, while {listed(others)} {'is' if len(others) == 1 else 'are'} {colour} on the {more[0]} side.",
            by_pole[first][0].span,
            remedy="Give each pole a colour of its own, or sleeve one of them at both ends.",
            related=tuple(Related(f"{wire.name} is {colour} too", wire.span) for wire in by_pole[more[0]][:4]),
            reference=RULE.references[2],
        )


def _scheme(study: Study) -> Iterator[Finding | Passed]:
    """Find colours to which the scheme gives two meanings."""
    site = study.one(Site)
    if site is None or not site.colour_roles:
        return
    roles: dict[str, list[str]] = {}
    for item in site.colour_roles:
        roles.setdefault(item.colour, []).append(item.role)
    twice = {colour: listed(sorted(set(found))) for colour, found in roles.items() if len(set(found)) > 1}
    for colour, words in sorted(twice.items()):
        yield Finding(
            "two-roles",
            ("site", colour),
            f"site: the colour scheme has {colour} for {words}; whoever follows a {colour} wire cannot know which it is.",
            site.place_of(Site.colour_roles),
            remedy="Give each meaning a colour of its own.",
            reference=RULE.references[2],
        )
    if not twice:
        yield Passed("two-roles", ("site",))


def _cords(study: Study, excepted: frozenset[str]) -> Iterator[Outcome]:
    """Ask every household cord that is put to DC use for sleeves at both ends of its cores, and for its place in the list."""
    mains = {branch.name for branch in study.circuit.ac_branches}
    at_home = 0
    for cable in sorted(study.of(Cable), key=lambda cable: cable.name):
        if not cable.household_cord:
            continue
        cores = [core for core in cable.cores or () if core.ends is not None]
        if any(f"{cable.name}.{core.name}" in mains for core in cores):
            at_home += 1
            continue
        bare = [
            f"{cable.name}.{core.name}"
            for core in cores
            if not sleeved_at_both_ends(core) and core.is_documented(Conductor.sleeves)
        ]
        silent = [f"{cable.name}.{core.name}" for core in cores if not core.is_documented(Conductor.sleeves)]
        wants = [f"{listed(bare)} not sleeved at both ends"] if bare else []
        if cable.name not in excepted:
            wants.append("the cord not listed among the exceptions to the scheme")
        if wants:
            yield Finding(
                "cord-not-marked",
                (cable.name, *bare),
                f"{cable.name}: a household cord that carries direct current, {' and '.join(wants)}; the next person reads its colours as mains.",
                cable.span,
                remedy="Sleeve every core at both ends in the colours of the scheme, and list the cord among its exceptions.",
            )
        elif silent:
            missing = f"sleeves at both ends of {listed(silent)}"
            yield NotChecked("cord-not-marked", (cable.name,), missing, cable.span, declare="sleeve red at both ends")
        else:
            yield Passed("cord-not-marked", (cable.name,))
    if at_home:
        yield DoesNotApply("household cord that carries mains", at_home)
