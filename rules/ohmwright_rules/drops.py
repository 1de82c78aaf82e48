"""Where voltage is lost between two pairs of terminals: what supplies, what is supplied, how much is allowed."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Consumer
from ohmwright.study import SolvedState, Study
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.charging import Charger
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.inverter import Converter, Inverter
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.records import record

from ohmwright_rules.basis import Basis, Number
from ohmwright_rules.returning import current_taken
from ohmwright_rules.warm_copper import WarmState

__all__ = ["Run", "Supplied", "run_of", "supplied_things"]


@record
class Run:
    """One state of something that is supplied: the nodes that supply it, its own, and the voltages [V] with the copper warm.

    `supply` names what supplies it. `lost` is the voltage between both pairs of nodes.
    """

    state: SolvedState
    warm: WarmState
    supply: str
    from_plus: str
    from_minus: str
    plus: str
    minus: str
    volt: float
    lost: float


@record
class Supplied:
    """Something whose leads are held against a drop: a load, an inverter, a converter, a charger, an array.

    `sends` tells that current comes out of it. `nominal` is the voltage [V] of which the drop is a share, where the thing itself fixes it (an array's).
    """

    part: Part
    plus: str
    minus: str
    sends: bool
    share: Number
    consumer: Consumer | None = None
    nominal: float | None = None

    @property
    def least(self) -> float | None:
        """The lowest voltage [V] at which it works: of its window, else its own cut-off; None where neither is said."""
        part = self.part
        if self.sends:
            return None
        if isinstance(part, Load) and part.bears is not None:
            return float(part.bears.low)
        if isinstance(part, Load):
            return float(part.own_cut_off.high) if part.own_cut_off is not None else None
        if isinstance(part, Converter | Charger) and part.input_window is not None:
            return float(part.input_window.low)
        if isinstance(part, Inverter | Converter) and part.cut_off is not None:
            return float(part.cut_off.high)
        return None

    def runs(self, state: SolvedState, warm: WarmState) -> bool:
        """Tell whether current passes its leads in a state."""
        if self.consumer is not None:
            return current_taken(state, self.consumer) > 0.0
        name = self.part.name
        if isinstance(self.part, Controller):
            return state.current(f"{name}.out") > 0.0
        return max(state.current(name), state.current(f"{name}.out")) > 0.0


def supplied_things(study: Study, basis: Basis) -> Iterator[Supplied]:
    """Yield everything on the DC side that the basis allows a drop, in name order."""
    found: list[Supplied] = []
    for consumer in study.circuit.consumers:
        part = consumer.part
        if consumer.kind == "load" and isinstance(part, Load):
            share = basis.drop_vital if part.drop_matters else basis.drop_other
        elif consumer.kind == "inverter":
            share = basis.drop_vital
        elif consumer.kind == "converter":
            share = basis.drop_vital if isinstance(part, Charger) else basis.drop_other
        else:
            continue
        found.append(Supplied(part, consumer.plus, consumer.minus, False, share, consumer))
    for source in study.circuit.sources:
        part = source.part
        if source.kind in ("charger", "controller"):
            found.append(Supplied(part, source.plus, source.minus, True, basis.drop_vital))
        elif isinstance(part, Array):
            nominal = float(part.vmp.nominal) * (part.in_series or 1) if part.vmp is not None else None
            found.append(Supplied(part, source.plus, source.minus, True, basis.drop_array, None, nominal))
    return iter(sorted(found, key=lambda item: (item.part.name, item.sends)))


def run_of(study: Study, thing: Supplied, state: SolvedState, warm: WarmState) -> Run | None:
    """Return how a thing is supplied in a state; None where it does not run, or hangs on nothing that could supply it."""
    if not thing.runs(state, warm):
        return None
    plus, minus = warm.root.get(thing.plus), warm.root.get(thing.minus)
    if plus is None or minus is None:
        return None
    owner = study.build.nodes.get(plus, "")
    supply = study.part(owner)
    if isinstance(supply, Converter):
        minus = f"{owner}.out_minus"
    elif isinstance(thing.part, Array):  # of a controller's two input terminals one is joined with the battery
        other = study.build.nodes.get(minus, "")
        if isinstance(study.part(other), Controller) and minus.endswith(".pv_minus"):
            owner, plus = other, f"{other}.pv_plus"
        elif isinstance(supply, Controller):
            minus = f"{owner}.pv_minus"
    if (plus, minus) == (thing.plus, thing.minus):
        return None
    volt = warm.across(thing.plus, thing.minus)
    given = warm.across(plus, minus)
    if volt is None or given is None:
        return None
    lost = volt - given if thing.sends else given - volt
    return Run(state, warm, owner, plus, minus, thing.plus, thing.minus, volt, lost)
