"""Sources of different voltage side by side, with nothing between them that limits the current."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.batteries import highest_charge_voltage, nominal_voltage
from ohmwright.circuit.graph import Source
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Sense, Severity, StateMeasure
from ohmwright.references import Reference, Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.solver.operation import Conflict
from ohmwright.study import SolvedState, Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.inverter import Converter
from ohmwright_grammar.records import record

from ohmwright_rules.nets import Field, Layout, Push, layout_of
from ohmwright_rules.verdicts import failures_in
from ohmwright_rules.wording import listed

RULE = Rule(
    id="conflicting-sources",
    title="Sources that pull against each other",
    family="wiring",
    subject="source",
    covers=(),
    grades=(
        Grade("unlimited", Severity.ERROR, "sources of different voltage are joined and nothing declared limits the current"),
        Grade("unlike-outputs", Severity.ERROR, "the output of a converter is joined with a source of another voltage"),
    ),
    references=(
        Reference("Kirchhoff's laws on the circuit as declared", "", "", "computed"),
        common_practice("10 % between outputs side by side"),
    ),
)
_SPREAD = 0.1
_CHARGING = 1.2  # of a battery's nominal voltage: what it sees while it is charged, where nothing is known


@record
class _Beside:
    """What stands beside the output of a converter: its names, the voltages [V] that it bears there, and where they come from."""

    names: tuple[str, ...]
    low: float
    high: float
    words: str


def check(study: Study) -> Iterator[Outcome]:
    """Tell the conflicts that the solver met, and compare the outputs of converters with the sources beside them."""
    yield from _conflicts(study)
    yield from _outputs(study)


# conflicts of the solver -------------------------------------------------------------------------------------------


def _conflicts(study: Study) -> Iterator[Outcome]:
    sources = {source.name for source in study.circuit.sources}
    met: dict[tuple[str, ...], list[tuple[SolvedState, Conflict]]] = {}
    for state, conflict in study.conflicts():
        names = tuple(sorted(sources.intersection(conflict.elements)))
        if len(names) > 1 and not state.setup.short_at:
            met.setdefault(names, []).append((state, conflict))
    batteries = sorted(source.name for source in study.circuit.sources if isinstance(source.part, Battery))
    for name in batteries:
        if not any(name in names for names in met):
            yield Passed("unlimited", (name,))
    if not batteries:
        yield DoesNotApply("no battery")
    for names, states in sorted(met.items()):
        yield _conflict(study, names, states)


def _conflict(study: Study, names: tuple[str, ...], states: list[tuple[SolvedState, Conflict]]) -> Finding:
    fewest = min(failures_in(study, state.name) for state, _ in states)
    usual = [item for item in states if failures_in(study, item[0].name) == fewest]
    state, conflict = max(usual, key=lambda item: item[1].volt)
    who = listed(names)
    left = Amount(conflict.volt, "voltage")
    return Finding(
        "unlimited",
        names,
        f"{who} are joined without any resistance in state {state.name!r}, and {shown(left)} is left over between them: nothing that is "
        "declared limits the current, so that the state has no operating point.",
        study.span(names[0]),
        state=state.name,
        states=tuple(StateMeasure(other.name, Amount(its.volt, "voltage"), None, None) for other, its in states),
        working=(Step("U", f"left over in the loop of {', '.join(conflict.elements)}", conflict.volt, "V", "solved circuit"),),
        remedy=f"Declare the internal resistance of {who} (for instance: internal resistance 5 mohm) and the wires between them; join "
        "them only at the same voltage.",
        related=tuple(Related(f"{name} is joined with it", study.span(name)) for name in names[1:]),
        at_most=Severity.NOTE if fewest > 1 else None,
    )


# outputs of converters ---------------------------------------------------------------------------------------------


def _outputs(study: Study) -> Iterator[Outcome]:
    converters = sorted(
        (source for source in study.circuit.sources if source.kind == "converter"), key=lambda source: source.name
    )
    alone = 0
    told: set[tuple[str, ...]] = set()
    for source in converters:
        part = source.part
        if not isinstance(part, Converter) or not any(True for _ in _beside(study, layout_of(study), source, converters)):
            alone += 1
        elif part.output_voltage is None:
            yield NotChecked("unlike-outputs", (source.name,), "output voltage", part.span, declare="output 12 V")
        elif (silent := _silent(study, source)) is not None:
            yield NotChecked(
                "unlike-outputs", (source.name, silent.name), "nominal voltage", silent.span, declare="LFP, ~4 cells"
            )
        else:
            yield from _output(study, source, float(part.output_voltage.nominal), converters, told)
    if alone:
        yield DoesNotApply("no other source at the output of a converter", alone)


def _output(
    study: Study, source: Source, volt: float, converters: list[Source], told: set[tuple[str, ...]]
) -> Iterator[Outcome]:
    from ohmwright_rules.positions import positions

    held: tuple[Amount, Amount, Sense, str] | None = None
    for position in positions(study):
        for beside in _beside(study, layout_of(study, position.open_gates), source, converters):
            sense: Sense = "at-most" if volt > (beside.low + beside.high) / 2 else "at-least"
            measured = Amount(volt, "voltage")
            limit = Amount(beside.high if sense == "at-most" else beside.low, "voltage")
            if not is_broken(measured.value, limit.value, sense):
                held = (measured, limit, sense, position.name)
                continue
            key = tuple(sorted((source.name, *beside.names)))
            if key not in told:
                told.add(key)
                yield _unlike(study, source, beside, measured, limit, sense, position.name)
    if held is not None and not any(source.name in key for key in told):
        yield Passed("unlike-outputs", (source.name,), *held)


def _beside(study: Study, layout: Layout, source: Source, converters: list[Source]) -> Iterator[_Beside]:
    """Yield what stands between the same two nets as the output of a converter."""
    plus, minus = layout.net(source.plus), layout.net(source.minus)
    if plus == minus:
        return
    for other in converters:
        part = other.part
        if other.name == source.name or not isinstance(part, Converter) or part.output_voltage is None:
            continue
        if (layout.net(other.plus), layout.net(other.minus)) == (plus, minus):
            volt = float(part.output_voltage.nominal)
            yield _Beside((other.name,), volt / (1 + _SPREAD), volt * (1 + _SPREAD), f"which gives {_volts(volt)}")
    batteries = [other for other in study.circuit.sources if isinstance(other.part, Battery)]
    nominal = Field(layout, [Push(other, _nominal(other)) for other in batteries]).between(source.plus, source.minus)
    if nominal is not None and nominal > 0:
        full = Field(layout, [Push(other, _full(other)) for other in batteries]).between(source.plus, source.minus) or nominal
        group = Field(layout, [Push(other, 1.0) for other in batteries])
        names = [other.name for other in batteries if group.group(other.plus) == group.group(source.plus)]
        low = nominal * (1 - _SPREAD)
        words = f"{'which has' if len(names) == 1 else 'which have'} {_volts(nominal)} nominal and bear{'s' * (len(names) == 1)} {_volts(full)}"
        yield _Beside(tuple(sorted(names)), low, full, words)


def _silent(study: Study, source: Source) -> Battery | None:
    """Return a battery beside an output whose nominal voltage is not known."""
    batteries = [other for other in study.circuit.sources if isinstance(other.part, Battery)]
    group = Field(layout_of(study), [Push(other, 1.0) for other in batteries])
    beside = (other.part for other in batteries if group.group(other.plus) == group.group(source.plus))
    return next((part for part in beside if isinstance(part, Battery) and nominal_voltage(part) is None), None)


def _nominal(source: Source) -> float:
    return (nominal_voltage(source.part) if isinstance(source.part, Battery) else None) or 12.0


def _full(source: Source) -> float:
    return (highest_charge_voltage(source.part) if isinstance(source.part, Battery) else None) or _CHARGING * _nominal(source)


def _volts(value: float) -> str:
    return shown(Amount(value, "voltage"))


def _unlike(
    study: Study, source: Source, beside: _Beside, measured: Amount, limit: Amount, sense: Sense, state: str
) -> Finding:
    gives, allowed = shown_pair(measured, limit)
    word = "at most" if sense == "at-most" else "at least"
    return Finding(
        "unlike-outputs",
        (source.name, *beside.names),
        f"{source.name} gives {gives} onto {listed(beside.names)}, {beside.words}, in state {state!r}; {word} {allowed} goes with that.",
        study.span(source.name),
        measured,
        limit,
        sense,
        state=state,
        remedy=f"Keep the output of {source.name} on a net of its own, or use a converter that gives {_volts(beside.low)} to "
        f"{_volts(beside.high)}.",
        related=tuple(Related(f"{name} stands beside it", study.span(name)) for name in beside.names),
        reference=RULE.references[1],
    )
