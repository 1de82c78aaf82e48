"""An array that reaches more voltage than may be touched, at contacts that can be touched or in an arrangement that its owner may plug."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown_pair
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.site import Site
from ohmwright_grammar.records import record

from ohmwright_rules.array_leads import array_leads, strings_of
from ohmwright_rules.basis import get
from ohmwright_rules.conductors import basis_of
from ohmwright_rules.strings import Arrangement
from ohmwright_rules.sunside import Cold, cold_of
from ohmwright_rules.wording import listed

RULE = Rule(
    id="array-touch-voltage",
    title="Array voltage above what may be touched",
    family="controllers",
    subject="array",
    covers=("A14",),
    grades=(
        Grade(
            "over-limit",
            Severity.WARNING,
            "a declared arrangement reaches more than may be touched, and nothing keeps hands off",
        ),
    ),
    references=(
        Reference("IEC 61140 as a glossary quotes it", "", "touchable limit of 60 V DC", "secondary"),
        Reference("IEC 61140", "", "30 V DC where it is wet, from memory", "from-memory"),
    ),
)
_GRADE = "over-limit"
_WET = 30.0  # V: catalogue, A14
_SAFE = ("sockets", "shrouded", "touch-safe")


@record
class _Reached:
    """The highest voltage of any arrangement of a string [V], at which temperature [degC], how it is plugged then, and the working.

    `each` is the cold voltage of one module, where one array makes up the string.
    """

    volt: float
    temperature: float
    words: str
    each: float | None
    steps: tuple[Step, ...]


def check(study: Study) -> Iterator[Outcome]:
    """Hold the cold voltage of every declared arrangement of each string of arrays against what may be touched."""
    for string in _groups(study):
        yield _judge(study, string)


def _groups(study: Study) -> list[tuple[str, ...]]:
    """Return every string as drawn, and every array that is in none."""
    strings = dict.fromkeys(string for _, string in strings_of(study))
    drawn = {name for string in strings for name in string}
    alone = ((array.name,) for array in study.of(Array) if array.name not in drawn)
    return sorted((*strings, *alone))


def _judge(study: Study, string: tuple[str, ...]) -> Outcome:
    arrays = [array for name in string if isinstance(array := study.part(name), Array)]
    halves = _halves(study, string)
    bare = [half for half in halves if half.form is not None and half.form not in _SAFE]
    unsaid = next((half for half in halves if half.form is None), None)
    replug = any(array.owner_may_replug is True for array in arrays)
    silent = next((array for array in arrays if array.owner_may_replug is None), None)
    if not bare and unsaid is None and not replug and silent is None:
        return Passed(_GRADE, string)  # nothing that carries it can be touched, and nobody re-plugs it
    reached = _reached(study, string)
    if isinstance(reached, Missing):
        return reached.outcome(_GRADE, string)
    touch = (basis_of(study) or get("us-premises")).touch_voltage
    site = next(study.of(Site), None)
    damp = site.damp if site is not None else None
    limit = Amount(_WET if damp else touch.value, "voltage", "V")
    measured = Amount(reached.volt, "voltage", "V")
    over = is_broken(measured.value, limit.value, "at-most")
    if not over and (damp is not None or not is_broken(measured.value, _WET, "at-most")):
        return Passed(_GRADE, string, measured, limit)
    if not bare and not replug:  # what keeps hands off settles it at any voltage
        if unsaid is not None:
            return Missing(f"form of the contacts of {unsaid.name}", unsaid.span, "touch-safe").outcome(_GRADE, string)
        assert silent is not None
        what = f"whether the owner of {silent.name} may re-plug it"
        return Missing(what, silent.span, "not re-pluggable").outcome(_GRADE, string)
    if not over:
        span = site.span if site is not None else study.build.rig.span
        declare = "not damp" if site is not None else "site { not damp }"
        return Missing("whether its surroundings are damp or wet", span, declare).outcome(_GRADE, string)
    return _finding(study, string, arrays, bare, reached, measured, limit, bool(damp))


def _reached(study: Study, string: tuple[str, ...]) -> _Reached | Missing:
    drawn = cold_of(study, (Arrangement((string,)),))
    if isinstance(drawn, Missing):
        return drawn
    array = study.part(string[0])
    assert isinstance(array, Array)
    each = drawn.volt / (array.in_series or 1) if len(string) == 1 else None
    best = _Reached(drawn.volt, drawn.temperature, "", each, drawn.steps)
    for name in string:
        found = _plugged_otherwise(study, name)
        if found is not None and found.volt > best.volt:
            best = found
    return best


def _plugged_otherwise(study: Study, name: str) -> _Reached | None:
    """Return what an array reaches in the longest of its other arrangements, None where it has none."""
    array = study.part(name)
    assert isinstance(array, Array)
    others = array.other_arrangements or ()
    longest = max(others, key=lambda other: other.series, default=None)
    cold = cold_of(study, (Arrangement(((name,),)),))
    if longest is None or not isinstance(cold, Cold):
        return None
    each = cold.volt / (array.in_series or 1)
    volt = each * longest.series
    step = Step("V_plugged", f"{longest.series} x {each:.4g}", volt, "V", "other arrangement, as declared")
    words = f"{name} plugged as {longest.series} in series"
    return _Reached(volt, cold.temperature, words, each, (*cold.steps, step))


def _halves(study: Study, string: tuple[str, ...]) -> list[Half]:
    """Return the halves that stay joined to the string when they are apart: on its own side of each connector in its leads, and where its leads end."""
    circuit = study.circuit
    poles = {f"{name}.{pole}" for name in string for pole in ("plus", "minus")}
    found: dict[str, Half] = {}

    def keep(node: str) -> None:
        part = study.part(study.build.nodes.get(node, ""))
        if isinstance(part, Half):
            found[part.name] = part

    for lead in array_leads(study).values():
        if lead.branch.kind == "contact" and any(name in string for name in lead.arrays):
            for node in (lead.branch.start, lead.branch.end):
                if poles & circuit.reach(node, lambda branch, apart=lead.branch: branch.name != apart.name):  # type: ignore[misc]
                    keep(node)
    pluses = {node for node in poles if node.endswith(".plus") and node in circuit.at_node}
    own = circuit.reach(pluses, lambda branch: branch.conductor is not None or branch.kind == "joint")
    for node in sorted(own):
        part = study.part(study.build.nodes.get(node, ""))
        if isinstance(part, Half) and not study.anatomy.matings_of.get(part.name):
            keep(node)
    return [found[name] for name in sorted(found)]


def _finding(
    study: Study,
    string: tuple[str, ...],
    arrays: list[Array],
    bare: list[Half],
    reached: _Reached,
    measured: Amount,
    limit: Amount,
    damp: bool,
) -> Finding:
    volts, most = shown_pair(measured, limit)
    name = " + ".join(string)
    plugged = f", {reached.words}," if reached.words else ""
    where = " where it is wet" if damp else ""
    why = []
    if bare:
        why.append(f"{listed(half.name for half in bare)} can be touched when apart")
    replug = [array for array in arrays if array.owner_may_replug]
    if replug:
        why.append("its owner may re-plug it")
    fewer = ""
    if reached.each is not None and (count := int(limit.value * (1 + 1e-9) // reached.each)) > 0:
        fewer = f", or plug at most {count} module{'s' if count > 1 else ''} in series"
    contacts = f"touch-safe contacts for {listed(half.name for half in bare)}" if bare else "touch-safe contacts at every joint"
    fixed = " that cannot be re-plugged," if replug else ""
    return Finding(
        _GRADE,
        string,
        f"{name}: with nothing drawn it reaches{plugged} {volts} at {reached.temperature:g} degC; {most} is the most that may be touched{where}, and {' and '.join(why)}.",
        study.span(string[0]),
        measured,
        limit,
        working=reached.steps,
        remedy=f"Use {contacts}{fixed} and a label with {volts}{fewer}.",
        related=tuple(Related(f"{half.name}: its contacts", half.place_of(Half.form)) for half in bare[:8]),
        reference=RULE.references[1] if damp else None,
    )
