"""A switch or relay that is not made to break its direct current, or to close onto the inrush behind it."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator

from ohmwright.circuit.graph import Branch, Source
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Case, Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.kinds.switch import Switching
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright_rules.kept import kept
from ohmwright_rules.net_voltages import Highest, net_voltages
from ohmwright_rules.strings import joined, joined_without
from ohmwright_rules.verdicts import verdict, worst_of_each_state

RULE = Rule(
    id="arcing-switch",
    title="Switch not made for its direct current",
    family="switching",
    subject="switch",
    covers=("H1",),
    grades=(
        Grade("high-voltage", Severity.ERROR, "above 30 V it has only an AC figure, or breaks less than flows through it"),
        Grade("low-voltage", Severity.WARNING, "up to 30 V it has only an AC figure, or breaks less than flows through it"),
        Grade("inrush-high-voltage", Severity.ERROR, "above 30 V it closes onto more than it makes"),
        Grade("inrush", Severity.WARNING, "up to 30 V it closes onto more than it makes"),
    ),
    references=(
        Reference("engineers' answers and a distributor's note", "", "a DC arc has no zero crossing", "secondary"),
        Reference("paper on contact arcs", "2020", "30 V DC for ordinary miniature relays", "read"),
    ),
)
_KINDS = ("switch", "relay", "selector", "disconnect")
_LOW = 30.0  # V: catalogue, H1, and the paper on contact arcs
_MOST_ABOVE = 1.3  # times what is known: equalising and compensation come to less (common practice, no source)
_MILD = ("equalising voltage of ", "temperature compensation of ")


@record
class _Contact:
    """A switching part with its ways through the circuit, and the highest voltage that it can have to break."""

    part: Switching
    ways: tuple[Branch, ...]
    highest: Highest

    @property
    def volt(self) -> float | None:
        """The highest known voltage [V]."""
        return self.highest.line.value if self.highest.line is not None else None

    def grade(self, low: str, high: str) -> str:
        """Return the grade that belongs to the voltage."""
        return high if self.volt is not None and self.volt > _LOW else low


def check(study: Study) -> Iterator[Outcome]:
    """Hold what every switching part has to break and to make against its figures for direct current."""
    ways: dict[str, list[Branch]] = {}
    for branch in study.circuit.branches:
        if branch.kind in _KINDS:
            ways.setdefault(branch.part, []).append(branch)
    idle = 0
    inrushes = _inrushes(study)
    for name in sorted(ways):
        part = study.part(name)
        assert isinstance(part, Switching)
        contact = _Contact(part, tuple(ways[name]), _highest(study, ways[name]))
        outcome = _breaks(study, contact)
        idle += outcome is None
        if outcome is not None:
            yield outcome
        if name in inrushes:
            yield _makes(contact, *inrushes[name])
    if idle:
        yield DoesNotApply("carries no current in any state", idle)


def _highest(study: Study, ways: list[Branch]) -> Highest:
    """Return the highest voltage across a part once it opens: that of its nets, in a return that of the sources that it returns to.

    Arrays whose current does not take the part are left out.
    """
    nets = net_voltages(study)
    nodes = [node for way in ways for node in (way.start, way.end)]
    others = _elsewhere(study, ways)
    best = Highest(None, ())
    for group, returns in (kept(study, _apart), kept(study, _together)):
        if best.line is not None:
            break
        sources = [source for node in nodes for source in returns.get(group[node], ())]
        pluses = [source.plus for source in sources if source.name not in others]
        for node in dict.fromkeys((*nodes, *pluses)):
            found = nets.of(node, others)
            if found.line is None:
                best = best if best.line is not None or best.gaps else found
            elif best.line is None or found.line.value > best.line.value:
                best = found
    return best


def _elsewhere(study: Study, ways: list[Branch]) -> frozenset[str]:
    """Return the arrays that share a net with a part or with what returns through it, everything closed, and whose current cannot take it.

    An array's minus is joined with the returns of the loads in many controllers, its plus with their feeds in those with a common plus; what it feeds there comes
    from the controller, at the battery's voltage. Its own current takes a part where its plus lies on one side without passing its minus, and its minus on
    the other without passing its plus.
    """
    closed = joined(study, frozenset())
    nets = {closed[node] for way in ways for node in (way.start, way.end)}
    nets |= {closed[source.plus] for source in study.circuit.sources if closed[source.minus] in nets}
    arrays = (source for source in study.circuit.sources if source.kind == "array")
    near = [array for array in arrays if not nets.isdisjoint((closed[array.plus], closed[array.minus]))]
    for way in ways:
        if near:
            around = _Around(study, way)
            near = [array for array in near if not around.is_taken_by(array)]
    return frozenset(array.name for array in near)


class _Around:
    """The nets around one way through a switch, which is open, and what current flows through between them."""

    def __init__(self, study: Study, way: Branch) -> None:
        self._group = joined_without(study, {way.name})
        self._ends = self._group[way.start], self._group[way.end]
        self._links: dict[int, list[int]] = {}
        for upper, lower in kept(study, _loads_and_sources):
            self._links.setdefault(self._group[upper], []).append(self._group[lower])
            self._links.setdefault(self._group[lower], []).append(self._group[upper])

    def is_taken_by(self, array: Source) -> bool:
        """Tell whether the current of an array can take the way."""
        plus, minus = self._group[array.plus], self._group[array.minus]
        one, two = self._ends
        return one == two or any(
            _reaches(self._links, here, plus, barred=minus) and _reaches(self._links, there, minus, barred=plus)
            for here, there in ((one, two), (two, one))
        )


def _reaches(links: dict[int, list[int]], start: int, end: int, barred: int) -> bool:
    if start == barred:
        return False
    seen = {start, barred}
    queue = [start]
    for net in queue:
        for far in links.get(net, ()):
            if far not in seen:
                seen.add(far)
                queue.append(far)
    return end in queue


def _loads_and_sources(study: Study) -> tuple[tuple[str, str], ...]:
    """Return the two poles of everything that current flows through on its way round: consumers, sources, inputs for panels."""
    circuit = study.circuit
    found = [(item.plus, item.minus) for item in circuit.consumers]
    found += [(source.plus, source.minus) for source in circuit.sources]
    inputs = [(f"{part.name}.pv_plus", f"{part.name}.pv_minus") for part in study.of(Controller)]
    known = frozenset(circuit.nodes)
    return tuple(poles for poles in (*found, *inputs) if known.issuperset(poles))


def _apart(study: Study) -> tuple[dict[str, int], dict[int, list[Source]]]:
    """Return the nets with every switch and fuse open, and the sources whose minus lies on each."""
    return _returns(study, frozenset(study.circuit.gates()))


def _together(study: Study) -> tuple[dict[str, int], dict[int, list[Source]]]:
    """Return the same with everything closed: for a switch that other switches or fuses part from the source it returns to."""
    return _returns(study, frozenset())


def _returns(study: Study, open_gates: frozenset[str]) -> tuple[dict[str, int], dict[int, list[Source]]]:
    group = joined(study, open_gates)
    returns: dict[int, list[Source]] = {}
    for source in study.circuit.sources:
        returns.setdefault(group[source.minus], []).append(source)
    return group, returns


# breaking ----------------------------------------------------------------------------------------------------------


def _breaks(study: Study, contact: _Contact) -> Outcome | None:
    part = contact.part
    subject = (part.name,)
    cases = [
        Case(case.state.name, Amount(case.current, "current"), Amount(0.0, "current"))
        for way in contact.ways
        for case in study.currents_of(way.name)
        if not case.state.setup.is_surge
    ]
    if not cases:
        return None
    grade = contact.grade("low-voltage", "high-voltage")
    if part.ac_only and not part.breaks:
        worst = max(cases, key=lambda case: case.measured.value)
        return _ac_only(contact, grade, worst)
    if not part.breaks:
        return NotChecked(grade, subject, "DC current that it breaks", part.span, declare="breaks 15 A at ^32 V dc")
    volt = contact.volt
    if volt is None:
        return _unknown(contact, grade)
    enough = [rating for rating in part.breaks if not is_broken(volt, float(rating.at.low), "at-most")]
    if not enough:
        return _too_low(contact, grade, volt)
    rating = max(enough, key=lambda item: float(item.current.low))
    if contact.highest.gaps and not _holds_anyway(contact, max(float(item.at.low) for item in enough)):
        return _unknown(contact, grade)
    limit = Amount(float(rating.current.low), "current", rating.current.unit)
    held = [Case(case.state, case.measured, limit) for case in cases]
    found = verdict(study, worst_of_each_state(held, "at-most"), "at-most", "burn")
    worst = found.worst
    if not found.broken:
        return Passed(grade, subject, worst.measured, worst.limit, state=worst.state)
    flows, breaks = shown_pair(worst.measured, limit)
    at = shown(Amount(volt, "voltage"))
    return Finding(
        grade,
        subject,
        f"{part.name}: {flows} flows through it in state {worst.state!r}, at {at}; it breaks {breaks} there.{_why(volt)}",
        part.place_of(Switching.breaks),
        worst.measured,
        limit,
        state=worst.state,
        states=found.broken,
        working=(
            Step("I", f"state {worst.state!r}", worst.measured.value, "A", "solved circuit"),
            Step(
                "U",
                contact.highest.line.words if contact.highest.line is not None else "",
                volt,
                "V",
                "highest voltage of its net",
            ),
            Step("I_dc", f"at {float(rating.at.low):.4g} V", limit.value, "A", "as declared"),
        ),
        remedy=f"Use a {part.KIND} that breaks {flows} or more at {at} DC.",
        at_most=found.at_most,
    )


def _ac_only(contact: _Contact, grade: str, worst: Case) -> Finding:
    part, volt = contact.part, contact.volt
    at = f" at {shown(Amount(volt, 'voltage'))}" if volt is not None else ""
    flows = shown(worst.measured)
    return Finding(
        grade,
        (part.name,),
        f"{part.name}: it has an AC figure only, and {flows} of direct current{at} flows through it in state {worst.state!r}.{_why(volt or 0.0)}",
        part.place_of(Switching.ac_only),
        worst.measured,
        state=worst.state,
        remedy=f"Use a {part.KIND} with a figure for direct current: {flows} or more{at}.",
    )


def _too_low(contact: _Contact, grade: str, volt: float) -> Finding:
    part = contact.part
    best = max(part.breaks or (), key=lambda rating: float(rating.at.low))
    measured = Amount(volt, "voltage", best.at.unit)
    limit = Amount(float(best.at.low), "voltage", best.at.unit)
    stands, rated = shown_pair(measured, limit)
    words = contact.highest.line.words if contact.highest.line is not None else ""
    return Finding(
        grade,
        (part.name,),
        f"{part.name}: {stands} can stand across it once it opens ({words}); its figure for direct current goes up to {rated}.{_why(volt)}",
        part.place_of(Switching.breaks),
        measured,
        limit,
        working=contact.highest.line.steps if contact.highest.line is not None else (),
        remedy=f"Use a {part.KIND} whose DC figure holds at {stands} or more.",
    )


def _why(volt: float) -> str:
    if volt > _LOW:
        return " A DC arc of that voltage does not go out by itself."
    return " Its contacts pit with every arc, and in the end weld."


def _holds_anyway(contact: _Contact, rated: float) -> bool:
    """Tell whether the voltage of a rating holds however equalising and compensation are set, which is all that was not said."""
    volt = contact.volt or 0.0
    return all(gap.missing.startswith(_MILD) for gap in contact.highest.gaps) and not is_broken(
        _MOST_ABOVE * volt, rated, "at-most"
    )


def _unknown(contact: _Contact, grade: str) -> Outcome:
    gap = next(iter(contact.highest.gaps), None)
    if gap is None:
        return Missing("voltage that it has to break", contact.part.span).outcome(grade, (contact.part.name,))
    return Missing(gap.missing, gap.span, gap.declare).outcome(grade, (contact.part.name,))


# making ------------------------------------------------------------------------------------------------------------


def _inrushes(study: Study) -> dict[str, tuple[float, str, Span]]:
    """Return, by switching part, the largest start current of the loads that it switches itself [A], the load and where it stands."""
    found: dict[str, tuple[float, str, Span]] = {}
    switches = frozenset(branch.gate for branch in study.circuit.branches if branch.kind in _KINDS and branch.gate)
    group = joined(study, switches)
    ways: dict[int, list[tuple[int, str]]] = {}
    for branch in study.circuit.branches:
        if branch.kind in _KINDS:
            for here, there in ((branch.start, branch.end), (branch.end, branch.start)):
                ways.setdefault(group[here], []).append((group[there], branch.part))
    batteries = [source for source in study.circuit.sources if source.kind == "battery"]
    for pole in ("plus", "minus"):
        far = _from_batteries({group[getattr(source, pole)] for source in batteries}, ways)
        for load in sorted(study.of(Load), key=lambda part: part.name):
            net = group.get(f"{load.name}.{pole}")
            if load.start is None or net is None or far.get(net) == 0 or net not in ways:
                continue
            current = _start_current(study, load)
            for other, name in ways[net] if current is not None else ():
                feeds = net not in far or far.get(other, far[net]) < far[net]
                if feeds and current is not None and current > found.get(name, (0.0, "", load.span))[0]:
                    found[name] = (current, load.name, load.place_of(Load.start))
    return found


def _from_batteries(fed: set[int], ways: dict[int, list[tuple[int, str]]]) -> dict[int, int]:
    """Return over how many switches each net lies from a battery: what feeds a net lies nearer, what only hangs on it (a coil's switch) farther."""
    far = dict.fromkeys(fed, 0)
    queue = deque(fed)
    while queue:
        here = queue.popleft()
        for there, _ in ways.get(here, ()):
            if there not in far:
                far[there] = far[here] + 1
                queue.append(there)
    return far


def _start_current(study: Study, load: Load) -> float | None:
    start = load.start
    assert start is not None
    if start.current is not None:
        return float(start.current.high)
    running = max((abs(state.current(load.name)) for state in study.states if not state.setup.is_surge), default=0.0)
    if start.times is not None:
        return float(start.times.high) * running if running > 0 else None
    volt = study.system_voltage or 12.0
    return float(start.power.high) / volt if start.power is not None else None


def _makes(contact: _Contact, current: float, load: str, span: Span) -> Outcome:
    part = contact.part
    grade = contact.grade("inrush", "inrush-high-voltage")
    subject = (part.name,)
    measured = Amount(current, "current")
    volt = contact.volt or 0.0
    breaks = max((float(item.current.low) for item in part.breaks or () if float(item.at.low) >= volt), default=0.0)
    if part.makes is None:
        if not is_broken(current, breaks, "at-most"):  # what breaks a current makes it as well
            return Passed(grade, subject, measured, Amount(breaks, "current"))
        return Missing("inrush that it makes", part.span, f"makes {shown(measured)}").outcome(grade, subject)
    limit = Amount(max(float(part.makes.low), breaks), "current", part.makes.unit)
    if not is_broken(current, limit.value, "at-most"):
        return Passed(grade, subject, measured, limit)
    draws, makes = shown_pair(measured, limit)
    return Finding(
        grade,
        (*subject, load),
        f"{part.name}: {load} draws {draws} when it starts, and this {part.KIND} closes onto {makes} at most; its contacts can weld.",
        part.place_of(Switching.makes),
        measured,
        limit,
        working=(Step("I_start", f"start of {load}", current, "A", "as declared"),),
        remedy=f"Use a {part.KIND} that makes {draws} or more.",
        related=(Related(f"{load}: its start", span),),
    )
