"""What to ask of a battery whose voltage nobody can tell: the least that would tell it, in the words that are usual for its chemistry."""

from __future__ import annotations

from ohmwright.missing import Missing
from ohmwright_grammar.kinds.battery import LEAD_ACID, Battery

__all__ = ["silent_voltage"]


def silent_voltage(battery: Battery) -> Missing:
    """Return what is missing of a battery without a voltage: its chemistry and cells, or of a known chemistry the nominal voltage alone.

    Lead-acid is sold by its voltage, lithium by its cells; a line that named another chemistry would contradict what the build says.
    """
    if battery.chemistry is None:
        return Missing(f"chemistry and cells of {battery.name}", battery.span, "LFP, ~4 cells")
    lead = battery.chemistry in LEAD_ACID
    return Missing(f"nominal voltage of {battery.name}", battery.span, "~12 V" if lead else "~4 cells")
