"""How long a stored bank lasts: the charge that may be used of it over everything that empties it.

Shared by the rules of shelf life: months = (level at the start - level at the end) x C / (sum of drains x 730 h + self-discharge x C).
"""

from __future__ import annotations

from ohmwright.missing import Missing
from ohmwright.references import Reference, Step, common_practice, weakest
from ohmwright.study import SolvedState, Study
from ohmwright.tables import load
from ohmwright.values import Amount, shown
from ohmwright_grammar.kinds.procedure import Procedure
from ohmwright_grammar.records import record

from ohmwright_rules.basis import TABLES
from ohmwright_rules.drains import Bank, self_discharge_of, summed_beyond
from ohmwright_rules.storing import Stored

__all__ = ["ENDLESS", "USUAL_TIME", "Lasting", "lasting", "milliampere", "shares"]

USUAL_TIME = 3 * 730.0 * 3600.0  # s: three months of 730 h (catalogue, K1: warning by default under 3)
ENDLESS = 100 * 12 * 730.0 * 3600.0  # s: what loses nothing is said to last a hundred years
_DEPTH = load(TABLES, "battery_depth")
_SUM = common_practice("charge that may be used over all drains and self-discharge")


@record
class Lasting:
    """How long a bank lasts [s], what may be used of it [C], what is lost [A], and the working."""

    bank: Bank
    time: float
    usable: float
    self_discharge: float
    steps: tuple[Step, ...]
    reference: Reference

    @property
    def lost(self) -> float:
        """Everything that empties the bank [A]."""
        return self.bank.total + self.self_discharge


def lasting(study: Study, bank: Bank, state: Stored) -> Lasting | Missing:
    if bank.capacity is None:
        battery = next(battery for battery in bank.batteries if battery.capacity is None)
        return Missing(f"capacity of {battery.name}", battery.span, "100 Ah")
    levels = _levels(study, bank, state.state)
    if isinstance(levels, Missing):
        return levels
    start, end, words, reference = levels
    lost = self_discharge_of(bank)
    if isinstance(lost, Missing):
        return lost
    self_discharge, said, its = lost
    usable = max(0.0, start - end) * bank.capacity
    current = bank.total + self_discharge
    time = min(usable / current, ENDLESS) if current > 0 else ENDLESS
    capacity = bank.capacity / 3600.0
    steps = [
        state.step,
        Step("C_usable", f"({start * 100:g} % - {end * 100:g} %) x {capacity:.4g} Ah", usable / 3600.0, "Ah", words),
        *(
            Step(f"I_{number}", f"{drain.name}: {drain.what}", drain.current, "A", f"as declared, in state {state.name!r}")
            for number, drain in enumerate(bank.drains, start=1)
        ),
        Step("I_self", said, self_discharge, "A", str(its)),
        Step("I_lost", f"drains {bank.total:.4g} + self-discharge {self_discharge:.4g}", current, "A", "all that empties it"),
        Step("t", f"{usable / 3600.0:.4g} Ah / {current:.4g} A / 730 h", time / (730.0 * 3600.0), "months", "months of 730 h"),
    ]
    firm = weakest([item for item in (reference, its, _SUM) if item is not None])
    assert firm is not None
    return Lasting(bank, time, usable, self_discharge, tuple(steps), firm)


def _levels(study: Study, bank: Bank, state: SolvedState) -> tuple[float, float, str, Reference | None] | Missing:
    """Return the charge levels at the start and the end of storage, in words from where, and what a usual depth rests on."""
    plan = next(study.of(Procedure), None)
    start = float(plan.storage_start_level.low) if plan is not None and plan.storage_start_level is not None else None
    end = float(plan.storage_least_level.high) if plan is not None and plan.storage_least_level is not None else None
    words = "storage plan" if start is not None or end is not None else ""
    if start is None:
        levels = state.setup.levels if state.setup.origin == "declared" else {}
        said = {
            battery.name: level.value
            for battery in bank.batteries
            if (level := levels.get(battery.name)) is not None and not level.is_voltage
        }
        own = {
            battery.name: float(battery.storage_level.low) for battery in bank.batteries if battery.storage_level is not None
        }
        start = min((own | said).values(), default=None)
        if start is not None:
            words = f"level in state {state.name!r}" if start in said.values() else "storage level of the battery"
    reference: Reference | None = None
    if end is None:
        depth = _depth(bank)
        if isinstance(depth, Missing):
            return depth
        end, usual, reference = 1.0 - depth[0], depth[1], depth[2]
        words = f"{words}, {usual}" if words else f"from full, {usual}"
    return start if start is not None else 1.0, end, words, reference


def _depth(bank: Bank) -> tuple[float, str, Reference | None] | Missing:
    """Return the smallest usable depth of a bank's batteries: declared, else usual for the chemistry."""
    found: list[tuple[float, str, Reference | None]] = []
    for battery in bank.batteries:
        if battery.usable_depth is not None:
            found.append((float(battery.usable_depth.low), "usable depth as declared", None))
            continue
        row = {"LFP": "LFP, usual in practice"}.get(battery.chemistry or "", battery.chemistry or "")
        cell = _DEPTH.cell(row, "usable_percent")
        if cell is None:
            return Missing(f"usable depth of {battery.name}", battery.span, "usable 80 %")
        found.append((cell.value / 100.0, f"usual depth of {battery.chemistry}, {cell.value:g} %", cell.reference))
    return min(found, key=lambda item: item[0])


def shares(found: Lasting) -> str:
    """List every drain by name, with what it takes and its share of the loss, the largest first."""
    entries = [(drain.name, drain.current) for drain in found.bank.drains]
    if found.self_discharge > 0:
        entries.append(("self-discharge", found.self_discharge))
    return f"{milliampere(found.lost)} empty it: {summed_beyond(entries, found.lost)}"


def milliampere(current: float) -> str:
    return shown(Amount(current, "current", "mA"))
