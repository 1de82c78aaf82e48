"""A surge that takes an inverter below its cut-off, although the battery is not empty."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.batteries import resistance_high, rest_voltage_of
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Severity, StateMeasure
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import SolvedState, Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.kinds.switch import Disconnect
from ohmwright_grammar.records import record, replace

from ohmwright_rules.conductors import basis_of, named_basis, said_of_missing
from ohmwright_rules.kept import kept
from ohmwright_rules.silent_battery import silent_voltage
from ohmwright_rules.surges import Surge, is_own_surge, surges_of
from ohmwright_rules.warm_copper import WarmState, warm_state
from ohmwright_rules.wording import named

RULE = Rule(
    id="surge-cut-off",
    title="Surge below the cut-off of the inverter",
    family="voltages",
    subject="inverter",
    covers=("I1",),
    grades=(
        Grade("below-cut-off", Severity.ERROR, "a surge that a promised load needs takes the inverter below its cut-off"),
        Grade("below-cut-off-unrequired", Severity.WARNING, "a surge that no promised load needs takes it below its cut-off"),
        Grade("near-cut-off", Severity.WARNING, "a surge leaves it within 0.2 V, for each 12 V, of its cut-off"),
    ),
    references=(
        Reference("makers' manuals of inverters", "", "alarm at 10.7 V, shut-down at 10.0 to 11.0 V", "secondary"),
        Reference("cut-off of the inverter", "", "as declared", "read"),
    ),
)
_MARGIN = 0.2 / 12.0  # V for each volt of the nominal voltage


@record
class _Met:
    """What a surge leaves at the inverter [V] with the copper warm; None where no operating point is left, at `share` of the load."""

    surge: Surge
    state: SolvedState
    power: float  # W, DC
    volt: float | None
    warm: WarmState | None
    share: float = 1.0
    loads: tuple[str, ...] = ()


def check(study: Study) -> Iterator[Outcome]:
    """Hold the voltage at every inverter in each of its surges against its cut-off."""
    inverters = sorted(study.of(Inverter), key=lambda part: part.name)
    for part in inverters:
        yield from _inverter(study, part)
    if not inverters:
        yield DoesNotApply("no inverter")


def _inverter(study: Study, part: Inverter) -> Iterator[Outcome]:
    subject = (part.name,)
    surges = list(surges_of(study, part))
    if not surges:
        yield NotChecked("below-cut-off", subject, "peak power", part.span, declare="peak 1000 W for 1 s")
        return
    if part.cut_off is None:
        yield NotChecked("below-cut-off", subject, "cut-off voltage", part.span, declare="cut-off ~10.5 V")
        return
    cut_off = float(part.cut_off.high)
    met = [item for surge in surges if (item := _meet(study, part, surge)) is not None]
    if not met:
        yield DoesNotApply("no battery reaches it in any surge")
        return
    missing = _missing(study, part, met)
    broken = [item for item in met if item.volt is None or is_broken(item.volt, cut_off, "at-least")]
    required = [item for item in met if item.surge.required]
    worst = min((item for item in broken if item.surge.required), key=_volt, default=None)
    if worst is not None:
        yield _below(study, part, "below-cut-off", worst, broken, cut_off)
        return
    if not required:
        yield DoesNotApply("no load that is promised needs its surge")
    elif missing is not None:
        yield NotChecked("below-cut-off", subject, missing[0], part.span, required[0].state.name, missing[1])
    else:
        held = min(required, key=_volt)
        assert held.volt is not None
        measured = Amount(held.volt, "voltage", part.cut_off.unit)
        limit = Amount(cut_off, "voltage", part.cut_off.unit)
        yield Passed("below-cut-off", subject, measured, limit, "at-least", held.state.name)
    if broken:
        yield _below(study, part, "below-cut-off-unrequired", min(broken, key=_volt), broken, cut_off)
        return
    yield from _near(study, part, met, cut_off, missing)


def _volt(item: _Met) -> float:
    return item.volt if item.volt is not None else item.share - 1e6


def _meet(study: Study, part: Inverter, surge: Surge) -> _Met | None:
    """Solve a surge; None where nothing feeds the inverter, or another load alone makes the circuit collapse."""
    state = study.solve_setup(surge.setup)
    power = study.ac_side.input_power(part, surge.setup.inverters[part.name], surge.setup)
    if not state.solved:
        if not state.operation.collapse or not is_own_surge(study, surge.setup, part.name):
            return None  # the collapse of another load is told by voltage-collapse
        stalled = kept(study, _stalled) & surge.setup.running.keys()
        if stalled:
            running = {name: level for name, level in surge.setup.running.items() if name not in stalled}
            return _meet(study, part, replace(surge, setup=replace(surge.setup, running=running)))
        fold = study.fold(state)
        return _Met(surge, state, power, None, None, fold.share, fold.elements)
    warm = WarmState(study, state)
    volt = warm.across(f"{part.name}.plus", f"{part.name}.minus")
    if volt is None and _pulled_open(study, state):
        volt = 0.0  # nothing is left of it behind a disconnect that the surge itself opens
    return _Met(surge, state, power, volt, warm) if volt is not None else None


def _stalled(study: Study) -> frozenset[str]:
    """Return the loads at which a steady state collapses already: voltage-collapse tells of them, and no surge of an inverter is to blame."""
    states = [state for state in study.telling_states if state.point.operation.collapse and not state.setup.is_surge]
    return frozenset(
        name
        for state in states
        if not state.setup.after_failure
        for name in study.fold(state).elements[:1]
        if name in state.setup.running
    )


def _pulled_open(study: Study, state: SolvedState) -> tuple[str, ...]:
    """Return the low-voltage disconnects that a state opens by its own voltage."""
    dropped = state.open_gates - state.setup.open_gates
    return tuple(sorted(name for name in dropped if isinstance(study.part(name), Disconnect)))


def _missing(study: Study, part: Inverter, met: list[_Met]) -> tuple[str, str] | None:
    """Return a datum that flatters the voltage because nobody said it, with a line that would say it."""
    if part.efficiency is None:
        return "efficiency", "efficiency 88 %"
    for item in met:
        if item.warm is None:
            continue
        nodes = (f"{part.name}.plus", f"{part.name}.minus")
        wire = item.warm.unknown_on_way(*nodes)
        if wire is not None:
            assert wire.conductor is not None
            missing = "gauge" if wire.conductor.gauge is None else "length"
            return f"{missing} of {wire.name}", said_of_missing(missing)
        for node in nodes:
            battery = study.part(study.build.nodes.get(item.warm.root.get(node, ""), ""))
            if not isinstance(battery, Battery):
                continue
            if resistance_high(battery) is None:
                return f"internal resistance of {battery.name}", "internal resistance 5 mohm"
            if rest_voltage_of(battery, 0.5) is None:
                missing_volt = silent_voltage(battery)
                return missing_volt.what, missing_volt.declare
    return None


def _nominal(study: Study, part: Inverter, cut_off: float) -> float:
    """Return the nominal voltage [V]: the system's, else the inverter's, else the step of 12 V that its cut-off belongs to."""
    if study.system_voltage is not None:
        return study.system_voltage
    if part.nominal_voltage is not None:
        return float(part.nominal_voltage.nominal)
    return 12.0 * max(1, round(cut_off / 10.5))


def _near(study: Study, part: Inverter, met: list[_Met], cut_off: float, missing: tuple[str, str] | None) -> Iterator[Outcome]:
    margin = _MARGIN * _nominal(study, part, cut_off)
    worst = min(met, key=_volt)
    assert worst.volt is not None
    unit = part.cut_off.unit if part.cut_off is not None else ""
    measured, limit = Amount(worst.volt, "voltage", unit), Amount(cut_off + margin, "voltage", unit)
    if not is_broken(worst.volt, limit.value, "at-least"):
        if missing is None:
            yield Passed("near-cut-off", (part.name,), measured, limit, "at-least", worst.state.name)
        else:
            yield NotChecked("near-cut-off", (part.name,), missing[0], part.span, worst.state.name, missing[1])
        return
    here, wanted = shown_pair(measured, limit)
    states = tuple(
        StateMeasure(item.state.name, Amount(item.volt, "voltage", unit), limit, None)
        for item in met
        if item.volt is not None and is_broken(item.volt, limit.value, "at-least")
    )
    yield Finding(
        "near-cut-off",
        (part.name,),
        f"{part.name}: {here} is left at it in a surge ({worst.surge.words}); it cuts off at "
        f"{shown(Amount(cut_off, 'voltage', unit))}, and {wanted} leaves a margin for ageing and dirt.",
        part.span,
        measured,
        limit,
        sense="at-least",
        state=worst.state.name,
        states=states,
        working=_working(worst, part.name),
        remedy=_remedy(study, part, worst, limit.value),
    )


def _below(study: Study, part: Inverter, grade: str, worst: _Met, ours: list[_Met], cut_off: float) -> Finding:
    unit = part.cut_off.unit if part.cut_off is not None else ""
    limit = Amount(cut_off, "voltage", unit)
    states = (
        *(
            StateMeasure(item.state.name, Amount(item.volt or 0.0, "voltage", unit), limit, None)
            for item in ours
            if item.volt is None or is_broken(item.volt, cut_off, "at-least")
        ),
        *_steady(study, part, cut_off, limit),
    )
    margin = _MARGIN * _nominal(study, part, cut_off)
    words = worst.surge.words
    if worst.volt is None:
        power = Amount(worst.power, "power")
        most = Amount(worst.power * worst.share, "power")
        asked, carried = shown_pair(power, most)
        return Finding(
            grade,
            (part.name,),
            f"{part.name}: a surge ({words}) asks for {asked} from the battery; the circuit carries {carried}, "
            f"{shown(Amount(worst.share, 'share'))} of it, and its voltage collapses beyond that.",
            part.span,
            power,
            most,
            state=worst.state.name,
            states=states,
            working=(
                Step("P_dc", "output over efficiency, and the draw with no load", worst.power, "W", "as declared"),
                Step("P_most", "the load followed up from zero to the fold", most.value, "W", "solved circuit"),
            ),
            remedy=f"Keep the surge well below {carried} from the battery, or lower the resistance of the way and of the battery.",
        )
    measured, allowed = shown_pair(Amount(worst.volt, "voltage", unit), limit)
    return Finding(
        grade,
        (part.name,),
        f"{part.name}: {measured} is left at it in a surge ({words}); it cuts off at {allowed}.{_opened(study, worst)}",
        part.span,
        Amount(worst.volt, "voltage", unit),
        limit,
        sense="at-least",
        state=worst.state.name,
        states=states,
        working=_working(worst, part.name),
        remedy=_remedy(study, part, worst, cut_off + margin),
    )


def _steady(study: Study, part: Inverter, cut_off: float, limit: Amount) -> Iterator[StateMeasure]:
    """Yield the steady states in which it is below its cut-off as well: there voltage-collapse or load-voltage tells the cause, and this one yields."""
    plus, minus = f"{part.name}.plus", f"{part.name}.minus"
    for state in study.lasting_states:
        if state.setup.is_surge or state.setup.inverters.get(part.name) is None:
            continue
        if state.point.operation.collapse:
            yield StateMeasure(state.name, Amount(0.0, "voltage", limit.unit), limit, None)
        elif state.solved and state.current(part.name) > 0.0:
            volt = warm_state(study, state).across(plus, minus)
            if volt is not None and is_broken(volt, cut_off, "at-least"):
                yield StateMeasure(state.name, Amount(volt, "voltage", limit.unit), limit, None)


def _opened(study: Study, met: _Met) -> str:
    """Say which low-voltage disconnect the surge itself opens, "" where none."""
    names = _pulled_open(study, met.state)
    return f" The surge pulls {named(names)} open before that." if names else ""


def _working(met: _Met, name: str) -> tuple[Step, ...]:
    warm = met.warm
    assert warm is not None and met.volt is not None
    taken = Step("P_dc", "output over efficiency, and the draw with no load", met.power, "W", "as declared")
    if met.volt == 0.0:
        return (taken, Step("U", "at the inverter, behind an open disconnect", 0.0, "V", "solved circuit"))
    parts = warm.parts(f"{name}.plus", f"{name}.minus")
    post = _post(warm, name)
    return (
        taken,
        Step("U_post", "at the posts of the battery, its resistance counted", post, "V", "solved circuit"),
        *(part.step() for part in parts[:8]),
        Step("U", "at the inverter, with the copper warm", met.volt, "V", "solved circuit"),
    )


def _post(warm: WarmState, name: str) -> float | None:
    plus, minus = warm.root.get(f"{name}.plus"), warm.root.get(f"{name}.minus")
    return warm.across(plus, minus) if plus is not None and minus is not None else None


def _remedy(study: Study, part: Inverter, met: _Met, wanted: float) -> str:
    """Say which wires, or which surge, would leave the voltage wanted [V]: I = P / U at that voltage through the same resistances."""
    from ohmwright_rules.drop_remedies import thicker_or_shorter

    warm = met.warm
    assert warm is not None and met.volt is not None
    current = warm.state.current(part.name)
    post = _post(warm, part.name)
    plus = warm.root.get(f"{part.name}.plus", "")
    battery = study.part(study.build.nodes.get(plus, ""))
    level = met.surge.setup.levels.get(battery.name) if battery is not None else None
    if current <= 0.0 or post is None or not isinstance(battery, Battery) or level is None:
        return "Use thicker or shorter leads, or a battery of lower resistance."
    rest = level.value if level.is_voltage else rest_voltage_of(battery, level.value)
    if rest is None or rest <= wanted:
        return "Use a battery of lower resistance, or more of them side by side; thicker leads alone do not help."
    inside = (rest - post) / current
    way = (post - met.volt) / current
    then = met.power / wanted
    allowed = (rest - wanted) / then - inside
    most = wanted * (rest - wanted) / (inside + way)
    efficiency = float(part.efficiency.low) if part.efficiency is not None else 0.85
    idle = float(part.no_load_draw.high) if part.no_load_draw is not None else 0.0
    surge = shown(Amount(max(0.0, (most - idle) * efficiency), "power"))
    keep = f"keep the surge to {surge} or less"
    if allowed <= 0.0:
        needed = shown(Amount(max(0.0, (rest - wanted) / then - way), "resistance"))
        inner = f"a battery of {needed} or less" if (rest - wanted) / then > way else "a battery of lower resistance"
        return f"Use {inner}, or more of them side by side, or {keep}; thicker leads alone do not help."
    basis = basis_of(study) or named_basis("us-small-craft")
    parts = warm.parts(f"{part.name}.plus", f"{part.name}.minus")
    wires = thicker_or_shorter(basis, parts, way * current, allowed * current)
    if not wires.startswith("Use"):
        return f"Bring the inverter nearer to the battery, or {keep}; no listed size of wire is enough."
    return f"{wires.removesuffix('.')}, or {keep}."
