"""A rotating source whose battery can cut itself off, so that its voltage runs up."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.battery import LITHIUM, Battery, Bms
from ohmwright_grammar.kinds.charging import Charger
from ohmwright_grammar.kinds.distribution import Diode
from ohmwright_grammar.spans import Span

from ohmwright_rules.charging import NO_BATTERY, Charged, charged
from ohmwright_rules.strings import strings_in
from ohmwright_rules.wording import listed

RULE = Rule(
    id="load-dump",
    title="Battery can cut itself off from a rotating source",
    family="controllers",
    subject="alternator, wind or water turbine",
    covers=("B7",),
    grades=(
        Grade("battery-cuts", Severity.ERROR, "every battery on a rotating source can cut itself off, and nothing clamps it"),
    ),
    references=(common_practice("load dump of rotating sources"),),
)
_GRADE = "battery-cuts"
_ROTATING = ("alternator", "wind", "hydro")
_OTHER = "no rotating source"

_Strings = tuple[tuple[str, ...], ...]


def check(study: Study) -> Iterator[Outcome]:
    """Look at every rotating source, and what stays joined to it when management systems open."""
    left: Counter[str] = Counter()
    for item in charged(study):
        part = item.part
        if not isinstance(part, Charger):
            left[_OTHER] += 1
        elif part.kind_of_charger is None and item.strings:
            yield Missing("kind of charger", part.span, "from mains").outcome(_GRADE, (part.name,))
        elif part.kind_of_charger not in _ROTATING:
            left[_OTHER] += 1
        elif not item.strings:
            left[NO_BATTERY] += 1
        else:
            yield _judge(study, item, part)
    for condition, count in sorted(left.items()):
        yield DoesNotApply(condition, count)


def _judge(study: Study, item: Charged, part: Charger) -> Outcome:
    if part.dump_load or _clamped(study, item):
        return Passed(_GRADE, (part.name,))
    missing: Missing | None = None
    for state, strings in _joined(study, item):
        answers = {name: _cuts(study, name) for string in strings for name in string}
        if any(all(answers[name] is False for name in string) for string in strings):
            continue  # one battery stays on whatever opens
        silent = [answer for answer in answers.values() if isinstance(answer, Missing)]
        if silent and any(all(answers[name] is not True for name in string) for string in strings):
            missing = missing or silent[0]
            continue
        if part.dump_load is None:
            return Missing(f"whether {part.name} has a dump load or clamp", part.span, "no dump load").outcome(
                _GRADE, (part.name,)
            )
        cutting = sorted(name for name, answer in answers.items() if answer is True)
        return _finding(study, part, state, cutting)
    return missing.outcome(_GRADE, (part.name,)) if missing is not None else Passed(_GRADE, (part.name,))


def _joined(study: Study, item: Charged) -> Iterator[tuple[str, _Strings]]:
    """Yield which batteries are joined to a source: with everything closed, and in each state in which it runs and that no failure led to; each set once."""
    told: set[_Strings] = set()
    for way in item.arrangements:
        if way.strings not in told:
            told.add(way.strings)
            yield "", way.strings
    for state in study.telling_states:
        setup = state.setup
        if item.part.name not in setup.chargers or setup.after_failure or setup.bms_open or setup.blown:
            continue
        strings = strings_in(study, "battery", item.minus, item.plus, state.open_gates)
        if strings and strings not in told:
            told.add(strings)
            yield state.name, strings


def _cuts(study: Study, name: str) -> bool | Missing:
    """Tell whether a battery can stop taking charge by itself."""
    battery = study.part(name)
    assert isinstance(battery, Battery)
    if battery.says_none(Battery.bms):
        return False
    bms = battery.bms
    if bms is not None:
        if bms.cuts is None:
            return Missing(f"side that the BMS of {name} can cut", bms.span, "cuts charge and discharge")
        return bms.cuts != "discharge"
    if battery.chemistry is not None and battery.chemistry not in LITHIUM:
        return False
    return Missing(f"management system of {name}", battery.span, "bms { cuts charge and discharge }")


def _clamped(study: Study, item: Charged) -> bool:
    """Tell whether a diode that is drawn as a clamp lies across the source."""
    clamps = [part for part in study.of(Diode) if part.job == "clamp"]
    if not clamps:
        return False
    plus, minus = (study.circuit.reach(node, lambda branch: branch.kind != "diode") for node in (item.plus, item.minus))
    return any(
        f"{part.name}.{one}" in plus and f"{part.name}.{two}" in minus
        for part in clamps
        for one, two in (("anode", "cathode"), ("cathode", "anode"))
    )


def _finding(study: Study, part: Charger, state: str, cutting: list[str]) -> Finding:
    words = listed(cutting)
    when = f" in state {state!r}" if state else ""
    return Finding(
        _GRADE,
        (part.name, *cutting),
        f"{part.name}: the BMS of {words} can cut off its charge, and no other battery stays on it{when}. When {'it opens' if len(cutting) == 1 else 'they open'}, the"
        f" voltage of {part.name} runs up into everything on the bus.",
        part.span,
        state=state,
        remedy=f"Let {part.name} charge a battery that cannot cut itself off, and {words} from that through a DC-DC charger;"
        f" or put a dump load or clamp across {part.name} and declare: dump load",
        related=tuple(Related(f"the BMS of {name}", _place(study, name)) for name in cutting),
    )


def _place(study: Study, name: str) -> Span:
    battery = study.part(name)
    assert isinstance(battery, Battery)
    return battery.bms.place_of(Bms.cuts) if battery.bms is not None else battery.span
