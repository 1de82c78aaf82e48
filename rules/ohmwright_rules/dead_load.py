"""A load, inverter or converter that a state says is on, while nothing feeds it there."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity, StateMeasure
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import SolvedState, Study
from ohmwright.values import Amount
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.inverter import Converter, Inverter
from ohmwright_grammar.kinds.load import AcLoad, Load
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.records import record

from ohmwright_rules.mains_ways import MainsWays
from ohmwright_rules.wording import named

RULE = Rule(
    id="dead-load",
    title="On in a state that does not feed it",
    family="wiring",
    subject="load",
    covers=(),
    grades=(
        Grade("unfed", Severity.WARNING, "a declared state says that it is on, and no source that is on feeds it there", absence="circuit"),
    ),
    references=(Reference("Kirchhoff's laws on the circuit as declared", "", "", "computed"),),
)  # fmt: skip
_GRADE = "unfed"
_ALIVE = 1e-3  # V: less than that is the rounding of the solver
_OUTSIDE = "goes on outside, through a connector that has no mate here"


@record
class _Dead:
    """One state in which a thing is on without a feed, and the branches that stand open on its way to a source."""

    state: SolvedState
    open: tuple[Branch, ...]
    behind: str = ""  # of an AC load: the inverter that has no feed itself, or is off


def check(study: Study) -> Iterator[Outcome]:
    """Ask of everything that a declared state names as on whether something feeds it there."""
    left: dict[str, int] = {}
    told: dict[str, list[_Dead]] = {}
    fed: set[str] = set()
    outside: set[str] = set()
    lasting = frozenset(study.lasting_states)
    for state in study.states:
        setup = state.setup
        if setup.origin != "declared" or not state.solved:
            continue
        if setup.blown or setup.failed or setup.bms_open or state not in lasting:
            left["a state in which something has failed"] = left.get("a state in which something has failed", 0) + 1
            continue
        mains = MainsWays(study, state.open_gates)
        for name in _said_on(study, state.name):
            study.options.budget.check()
            part = study.build.parts[name]
            found = _mains(study, state, mains, part) if isinstance(part, AcLoad) else _direct(study, state, part)
            if isinstance(found, _Dead):
                told.setdefault(name, []).append(found)
            else:
                (fed if found else outside).add(name)
    for name in sorted({*told, *fed}):
        yield _finding(study, study.build.parts[name], told[name]) if name in told else Passed(_GRADE, (name,))
    silent = [
        name
        for name, part in study.build.parts.items()
        if isinstance(part, Load | Inverter | Converter) and name not in {*told, *fed, *outside}
    ]
    left["no declared state says that it is on"] = len(silent)
    left[_OUTSIDE] = len(outside - set(told) - fed)
    for condition, count in left.items():
        if count:
            yield DoesNotApply(condition, count)


def _said_on(study: Study, state: str) -> tuple[str, ...]:
    """Return what a declared state names as on, the last word on each counting; what is meant by "everything else" is not named."""
    said: dict[str, bool] = {}
    for declared in study.build.states:
        if declared.name == state:
            for setting in declared.settings or ():
                if setting.how in ("on", "off", "closed", "open"):
                    said.update(dict.fromkeys(setting.things, setting.how in ("on", "closed")))
    return tuple(sorted(name for name, on in said.items() if on and isinstance(study.part(name), Load | Inverter | Converter)))


def _poles(part: Part) -> tuple[str, str]:
    side = "in_" if isinstance(part, Converter) else ""
    return f"{part.name}.{side}plus", f"{part.name}.{side}minus"


def _direct(study: Study, state: SolvedState, part: Part) -> _Dead | bool:
    """Tell whether a thing on direct current is fed; False where it may be from outside of the build."""
    plus, minus = _poles(part)
    volt = state.across(plus, minus)
    if volt is not None and abs(volt) > _ALIVE:
        return True
    near = study.circuit.reach([plus, minus], open_gates=state.open_gates)
    halves = (study.part(study.build.nodes.get(node, "")) for node in near)
    if any(isinstance(half, Half) and half.name not in study.anatomy.matings_of for half in halves):
        return False
    return _Dead(state, _stands_open(study, state, plus, minus))


def _stands_open(study: Study, state: SolvedState, plus: str, minus: str) -> tuple[Branch, ...]:
    """Return what is open in a state on the ways from a thing to the poles of a source with everything closed, each gate once."""
    circuit = study.circuit
    poles = ({source.plus for source in circuit.sources}, {source.minus for source in circuit.sources})
    found: dict[str, Branch] = {}
    for start, ends in zip((plus, minus), poles, strict=True):
        for branch in circuit.path(start, ends) or ():
            if branch.gate and branch.gate in state.open_gates:
                found.setdefault(branch.gate, branch)
    return tuple(found.values())


def _mains(study: Study, state: SolvedState, ways: MainsWays, part: AcLoad) -> _Dead | bool:
    """Tell whether an AC load hangs on an inverter that is on and fed itself, or on a connector without a mate."""
    inverters = sorted(study.of(Inverter), key=lambda inverter: inverter.name)
    running = [inverter for inverter in inverters if state.setup.inverters.get(inverter.name) is not None]
    alive = [inverter for inverter in running if isinstance(_direct(study, state, inverter), bool)]

    def joined(to: list[Inverter]) -> bool:
        return all(ways.reaches(f"{part.name}.{pole}", {f"{one.name}.{pole}" for one in to}) for pole in ("L", "N"))

    if joined(alive):
        return True
    behind = next((one.name for one in inverters if joined([one])), "")
    closed = tuple(
        branch
        for branch in study.circuit.ac_branches
        if branch.gate
        and branch.gate in state.open_gates
        and part.name in (study.build.nodes.get(branch.start), study.build.nodes.get(branch.end))
    )
    return _Dead(state, closed, behind)


def _finding(study: Study, part: Part, dead: list[_Dead]) -> Finding:
    first = dead[0]
    state = first.state
    why, remedy = _why(study, part, first)
    off = f"say in that state that {part.name} is off"
    return Finding(
        _GRADE,
        (part.name,),
        f"{part.name}: state {state.name!r} says that it is on, but nothing feeds it there{why}.",
        state.setup.span or part.span,
        state=state.name,
        states=tuple(StateMeasure(item.state.name, Amount(0.0, "voltage"), None, None) for item in dead),
        remedy=f"{remedy}, or {off}." if remedy else f"{off[0].upper()}{off[1:]}, or join it to a source that is on.",
        related=tuple(Related(f"{branch.part or branch.name} is open in that state", branch.span) for branch in first.open[:8]),
    )


def _why(study: Study, part: Part, dead: _Dead) -> tuple[str, str]:
    """Return why nothing feeds it, and what would, each without the rest of its sentence."""
    if dead.behind:
        is_on = dead.state.setup.inverters.get(dead.behind) is not None
        words = "has no feed itself" if is_on else "is off"
        return f": {dead.behind}, on which it hangs, {words}", f"Feed {dead.behind}" if is_on else f"Switch {dead.behind} on"
    if not dead.open:
        return "", ""
    return f": {named(f'{_gate(branch)} {_stands(branch)}' for branch in dead.open)}", _mended(dead.open)


def _gate(branch: Branch) -> str:
    return branch.part if branch.kind == "selector" else branch.gate


def _stands(branch: Branch) -> str:
    if branch.kind == "selector":
        return f"is not {branch.gate.removeprefix(branch.part).strip()}"
    return "is apart" if branch.kind == "contact" else "is open"


def _mended(branches: tuple[Branch, ...]) -> str:
    """Return what closes the way, in one sentence without its end."""
    verbs = {"contact": "mate", "selector": "put"}
    ways: dict[str, list[str]] = {}
    for branch in branches:
        ways.setdefault(verbs.get(branch.kind, "close"), []).append(branch.gate)
    text = named(f"{verb} {named(names)}" for verb, names in ways.items())
    return f"{text[0].upper()}{text[1:]} there"
