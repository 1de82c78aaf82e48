"""Plus where minus belongs: a part that lies the wrong way round, or a pin that does not keep what it promises."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import field

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity, StateMeasure
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount, shown
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.records import draft, record

from ohmwright_rules.nets import Field, Layout, layout_of
from ohmwright_rules.polarity import Port, field_of, ports
from ohmwright_rules.wording import named

RULE = Rule(
    id="reversed-polarity",
    title="Plus where minus belongs",
    family="wiring",
    subject="part",
    covers=("G4",),
    grades=(
        Grade("swapped", Severity.ERROR, "the plus of a part lies on the minus side of what feeds it, or of what it feeds"),
        Grade("broken-promise", Severity.ERROR, "a pin that promises plus lies on minus, or one that promises minus on plus"),
    ),
    references=(Reference("polarity as declared, on the circuit as declared", "", "", "computed"),),
)
_PROMISE = "polarity that its pins promise"
_LEAST = 1e-6  # V


@record
class _Way:
    """Nets and their heights in one setting of everything that opens and closes."""

    layout: Layout
    field: Field
    without: frozenset[str] = frozenset()  # batteries that are out

    def across(self, port: Port) -> float | None:
        """Return the voltage that the sources put across a port [V], None where they put none."""
        volt = None if self.layout.joined(port.plus, port.minus) else self.field.between(port.plus, port.minus)
        return volt if volt is not None and abs(volt) > _LEAST else None


@draft
class _Pins:
    """Pins of mated halves that lie on the wrong side for one cause; `halves` the one nearest to a source first."""

    halves: list[Half]
    plus: list[str] = field(default_factory=list)  # pins that promise plus and lie on minus
    minus: list[str] = field(default_factory=list)
    behind: list[Port] = field(default_factory=list)  # parts that lie the wrong way round for this cause alone


def check(study: Study) -> Iterator[Outcome]:
    """Compare which way round every part and every promising pin lies with the poles of the sources."""
    ways = _ways(study)
    every = ports(study)
    ways = _rightly_led(study, ways, every)
    pins, unsaid, kept = _pins(study, ways)
    known: dict[Port, list[float]] = {}
    wrong: dict[Port, _Way] = {}
    for way in ways:
        study.options.budget.check()
        for port in every:
            volt = way.across(port)
            if volt is not None:
                known.setdefault(port, []).append(volt)
                if volt < 0:
                    wrong.setdefault(port, way)
    left = {"a motor that its switches turn both ways": 0, "no source reaches both of its poles": 0}
    findings: list[tuple[Port, list[Port]]] = []
    for port in list(wrong):
        part = study.part(port.part)
        if isinstance(part, Load) and part.motor and any(volt > 0 for volt in known[port]):
            left["a motor that its switches turn both ways"] += 1
            del wrong[port]
    blamed = _blamed(study, ways, wrong, known)
    for port in sorted(wrong, key=lambda port: (port.part, port.side)):
        cause = _pins_before(port, wrong[port], pins)
        if cause is not None:
            cause.behind.append(port)
        elif port in blamed:
            findings.append((blamed[port][0], blamed[port][1]))
        else:
            findings.append((port, [port]))
    told: set[str] = set()
    for chief, members in findings:
        if chief.part not in told:
            told.add(chief.part)
            yield _finding(study, chief, members)
    for group in pins:
        yield _pin_finding(study, group)
    clean = [port for port in every if port not in wrong]
    for name in sorted({port.part for port in clean if port in known} - told - {port.part for port in wrong}):
        yield Passed("swapped", (name,))
    left["no source reaches both of its poles"] = len(
        {port.part for port in clean if port not in known} - {port.part for port in known}
    )
    for half in kept:
        yield Passed("broken-promise", (half.name,))
    for half in unsaid:
        yield NotChecked("broken-promise", (half.name,), _PROMISE, half.span, declare="pin 1 plus; pin 2 minus")
    for condition, count in left.items():
        if count:
            yield DoesNotApply(condition, count)


def _rightly_led(study: Study, ways: list[_Way], every: tuple[Port, ...]) -> list[_Way]:
    """Return the settings with the voltages that sources put which lie the right way round; a swapped one tells nothing of the others, where it stands alone.

    Swapped is a source that lies the wrong way round to a better one in some setting.
    """
    sources = {(source.plus, source.minus): source.name for source in study.circuit.sources}
    swapped = {
        sources[port.plus, port.minus]
        for way in ways
        for port in every
        if (port.plus, port.minus) in sources and (way.across(port) or 0.0) < 0
    }
    if not swapped:
        return ways
    return [_Way(way.layout, field_of(study, way.layout, way.without | swapped), way.without) for way in ways]


def _ways(study: Study) -> list[_Way]:
    """Return the settings to look at: only that with everything closed where it contradicts itself nowhere."""
    from ohmwright_rules.positions import positions

    layout = layout_of(study)
    whole = _Way(layout, field_of(study, layout))
    if not whole.field.shorted and not whole.field.against:
        return [whole]
    ways = []
    for position in positions(study):
        layout = layout_of(study, position.open_gates)
        ways.append(_Way(layout, field_of(study, layout, position.without), position.without))
    return ways or [whole]


def _blamed(
    study: Study, ways: list[_Way], wrong: dict[Port, _Way], known: dict[Port, list[float]]
) -> dict[Port, tuple[Port, list[Port]]]:
    """Return, of parts that all lie the wrong way round to the only source that tells their polarity, that source: it is the one that is swapped."""
    found: dict[Port, tuple[Port, list[Port]]] = {}
    poles = {(port.plus, port.minus): port for port in ports(study)}
    for way in ways:
        groups: dict[int, list[Port]] = {}
        for port in known:
            groups.setdefault(way.field.group(port.plus), []).append(port)
        for group, members in groups.items():
            leading = way.field.leading.get(group, [])
            if not leading or sum(push.source.kind == leading[0].source.kind for push in leading) > 1:
                continue
            source = leading[0].source
            chief = poles[(source.plus, source.minus)]
            others = [port for port in members if port != chief and not _in_the_sun(study, port)]
            if len({port.part for port in others}) > 1 and all(
                port in wrong and (way.across(port) or 0) < 0 for port in others
            ):
                found.update(dict.fromkeys(others, (chief, others)))
    return found


def _in_the_sun(study: Study, port: Port) -> bool:
    """Tell whether a port is that of an array, or of a controller towards it: its polarity is told there, however it is joined with the rest."""
    return port.side == "PV side" or isinstance(study.part(port.part), Array)


def _worst(study: Study, port: Port) -> tuple[StateMeasure, ...]:
    """Return what the solved states say of a pair of poles that lies the wrong way round, the worst first."""
    found: list[StateMeasure] = []
    for state in study.states:
        volt = state.across(port.plus, port.minus) if state.solved else None
        if volt is not None and volt < -_LEAST:
            found.append(StateMeasure(state.name, Amount(volt, "voltage"), None, None))
    return tuple(sorted(found, key=lambda item: item.measured.value))


def _finding(study: Study, chief: Port, members: list[Port]) -> Finding:
    states = _worst(study, members[0])
    side = f" of its {chief.side}" if chief.side else ""
    seen = f": {shown(states[0].measured)} in state {states[0].state!r}" if states else ""
    subject: tuple[str, ...] = (chief.part,)
    if chief in members:
        text = f"{chief.part}: the plus{side} lies on the minus side, and the minus on the plus side{seen}."
        remedy = _remedy(study, chief)
    else:
        names = sorted({port.part for port in members})
        subject = (chief.part, *names)
        text = f"{chief.part}: the plus of {named(names)} lies on its minus{seen}."
        remedy = f"{_remedy(study, chief)} Or turn all the others round."
    place = f"from {members[0].plus} to {members[0].minus}"
    return Finding(
        "swapped",
        subject,
        text,
        study.span(chief.part),
        state=states[0].state if states else "",
        states=states,
        working=(Step("U", place, states[0].measured.value, "V", "solved circuit"),) if states else (),
        remedy=remedy,
        related=tuple(
            Related(f"{name} ends at {node}", study.span(name))
            for node in (chief.plus, chief.minus)
            for name in _wires_at(study, node)
        ),
    )


def _wires_at(study: Study, node: str) -> list[str]:
    return [branch.name for branch in study.circuit.at_node.get(node, ()) if branch.conductor is not None]


def _remedy(study: Study, port: Port) -> str:
    upper, lower = _wires_at(study, port.plus), _wires_at(study, port.minus)
    if len(upper) == 1 and len(lower) == 1 and upper != lower:
        return f"Swap {upper[0]} and {lower[0]} at {port.part}."
    return f"Swap what is joined to {port.plus} and {port.minus}."


# pins --------------------------------------------------------------------------------------------------------------


def _pins(study: Study, ways: list[_Way]) -> tuple[list[_Pins], list[Half], list[Half]]:
    """Return groups of pins that break their promise, halves whose power pins promise nothing, and halves that keep theirs."""
    known = study.networker.number
    broken: dict[str, tuple[Half, set[str], set[str]]] = {}
    unsaid: list[Half] = []
    kept: list[Half] = []
    for half in sorted(study.build.halves(), key=lambda half: half.name):
        names = [node for node in study.circuit.nodes_of(half.name) if node in known]
        said = {f"{half.name}.{pin.name}": pin.polarity for pin in half.pins or () if pin.polarity in ("plus", "minus")}
        upper = [node for node in names if said.get(node) == "plus"]
        lower = [node for node in names if said.get(node) == "minus"]
        power = False
        for way in ways:
            power = power or _is_power(way.field, names)
            bad = _broken(way, upper, lower)
            if any(bad):
                plus, minus = broken.setdefault(half.name, (half, set(), set()))[1:]
                plus.update(bad[0])
                minus.update(bad[1])
        if power and not said:
            unsaid.append(half)
        elif power and half.name not in broken:
            kept.append(half)
    return _grouped(study, list(broken.values())), unsaid, kept


def _is_power(volts: Field, nodes: list[str]) -> bool:
    """Tell whether a source puts a voltage between two of the nodes."""
    heights: dict[int, float] = {}
    for node in nodes:
        height = volts.height(node)
        if abs(heights.setdefault(volts.group(node), height) - height) > _LEAST:
            return True
    return False


def _broken(way: _Way, upper: list[str], lower: list[str]) -> tuple[list[str], list[str]]:
    """Return the pins that promise plus and lie on minus, and those that promise minus and lie on plus.

    Against the other pins of the half where they have a voltage to each other, else against the poles of the sources.
    """
    volts = way.field
    plus: list[str] = []
    minus: list[str] = []
    for node in upper:
        others = [volts.height(node) - volts.height(other) for other in lower if volts.group(other) == volts.group(node)]
        if any(volt < -_LEAST for volt in others) or (not others and _at_end(volts, node, low=True)):
            plus.append(node)
    for node in lower:
        others = [volts.height(other) - volts.height(node) for other in upper if volts.group(other) == volts.group(node)]
        if any(volt < -_LEAST for volt in others) or (not others and _at_end(volts, node, low=False)):
            minus.append(node)
    return plus, minus


def _at_end(volts: Field, node: str, low: bool) -> bool:
    """Tell whether a node lies at the low (or the high) end of all poles of the sources of its group."""
    poles = [
        volts.height(pole)
        for push in volts.leading.get(volts.group(node), ())
        for pole in (push.source.plus, push.source.minus)
    ]
    if not poles or max(poles) - min(poles) <= _LEAST:
        return False
    return abs(volts.height(node) - (min(poles) if low else max(poles))) <= _LEAST


def _grouped(study: Study, broken: list[tuple[Half, set[str], set[str]]]) -> list[_Pins]:
    """Take halves together that a mating joins: what is swapped before them is swapped once."""
    mates: dict[str, set[str]] = {}
    for mating in study.build.matings:
        mates.setdefault(mating.first, set()).add(mating.second)
        mates.setdefault(mating.second, set()).add(mating.first)
    rest = {half.name: (half, plus, minus) for half, plus, minus in broken}
    found: list[_Pins] = []
    while rest:
        queue = [min(rest)]
        members: list[tuple[Half, set[str], set[str]]] = []
        while queue:
            name = queue.pop()
            if name in rest:
                members.append(rest.pop(name))
                queue.extend(sorted(mates.get(name, ())))
        members.sort(key=lambda item: (not _by_itself(study, *item), item[0].name))
        group = _Pins([half for half, _, _ in members])
        for _, plus, minus in members:
            group.plus += sorted(plus)
            group.minus += sorted(minus)
        found.append(group)
    return found


def _by_itself(study: Study, half: Half, plus: set[str], minus: set[str]) -> bool:
    """Tell whether the pins of a half break their promise while it is apart too, so that the cause lies on its own side."""
    layout = layout_of(study, study.anatomy.matings_of.get(half.name, ()))
    said = {f"{half.name}.{pin.name}": pin.polarity for pin in half.pins or ()}
    known = study.networker.number
    upper = [node for node, polarity in said.items() if polarity == "plus" and node in known]
    lower = [node for node, polarity in said.items() if polarity == "minus" and node in known]
    found = _broken(_Way(layout, field_of(study, layout)), upper, lower)
    return not plus.isdisjoint(found[0]) or not minus.isdisjoint(found[1])


def _pins_before(port: Port, way: _Way, groups: list[_Pins]) -> _Pins | None:
    """Return the pins that explain a part the wrong way round: it is joined to them as they promise, and they lie on the wrong side."""
    upper, lower = way.layout.net(port.plus), way.layout.net(port.minus)
    for group in groups:
        if any(way.layout.net(pin) == upper for pin in group.plus) and any(way.layout.net(pin) == lower for pin in group.minus):
            return group
    return None


def _pin_finding(study: Study, group: _Pins) -> Finding:
    half = group.halves[0]
    own = [pin for pin in (*group.plus, *group.minus) if study.build.nodes.get(pin) == half.name]
    upper = [pin for pin in group.plus if pin in own]
    lower = [pin for pin in group.minus if pin in own]
    words = []
    if upper:
        words.append(f"{named(upper)} promises plus and lies on the minus side")
    if lower:
        words.append(f"{named(lower)} promises minus and lies on the plus side")
    behind = sorted({port.part for port in group.behind})
    more = f"; {', '.join(behind)} behind it is reversed" if behind else ""
    states = _worst(study, Port(half.name, upper[0], lower[0])) if upper and lower else ()
    return Finding(
        "broken-promise",
        (half.name, *(other.name for other in group.halves[1:]), *behind),
        f"{', and '.join(words)}{more}.",
        half.span,
        state=states[0].state if states else "",
        states=states,
        remedy=f"Swap the wires at {named(own)}, or say what the pins carry."
        if len(own) > 1
        else f"Bring {own[0]} to the other side, or say what it carries.",
        related=tuple(Related(f"{name} is reversed by it", study.span(name)) for name in behind),
    )
