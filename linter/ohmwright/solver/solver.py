"""The solver: networks in, operating points out."""

from __future__ import annotations

from .case import Case, Plans
from .elements import Network
from .flows import Flows
from .newton import COLLAPSED, SETTLED
from .operation import Island, Operation

__all__ = ["Solver"]


class Solver:
    """Solves networks and keeps, between calls, the elimination orders of the structures that it met."""

    __slots__ = ("_plans",)

    def __init__(self) -> None:
        self._plans = Plans()

    def solve(self, network: Network) -> Operation:
        """The operating point of a network."""
        case = Case(network, self._plans)
        outcome = case.start()
        if outcome == SETTLED:
            outcome = case.run()
        if outcome != SETTLED:
            return Operation(False, outcome, collapse=outcome == COLLAPSED)
        return _answer(case)


def _answer(case: Case) -> Operation:
    system = case.system
    plan = system.plan
    flows = Flows(system)
    potentials: list[float | None] = [*system.high[: plan.size + 1], None]
    voltages = tuple([potentials[g] for g in plan.group])
    return Operation(
        True,
        "",
        voltages,
        flows.currents,
        flows.powers,
        {},
        tuple([Island(nodes, reference, reference is not None) for nodes, reference in plan.islands]),
    )
