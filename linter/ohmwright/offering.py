"""Lines that offer a value for what is missing, fitted to the voltage of the build.

A rule writes them for a system of 12 V and marks what goes with the voltage: "~14.4 V" and "~4 cells" are multiplied, and "^32 V" is a rating, in place of
which the smallest usual one that is high enough is offered. They are examples of how to say it, never data.
"""

from __future__ import annotations

from ohmwright.circuit.banks import string_sums
from ohmwright.circuit.batteries import nominal_voltage
from ohmwright.study import Study
from ohmwright.values import figures

__all__ = ["fitted"]

_BASE = 12.0  # V, for which the lines are written
_AT_WORK = 13.6  # V, about where a system of 12 V stands between rest and charge
_LEAST = 9.0  # V: below that it is no system voltage but what a converter gives
_CHARGED = 14.6 / 12.0  # of the nominal voltage, at the end of a charge
_RATINGS = (
    32.0,
    58.0,
    80.0,
    125.0,
    250.0,
    500.0,
    1000.0,
)  # V, usual ratings of devices for direct current: common practice, no source


def fitted(line: str, study: Study, subject: str) -> str:
    """Return a line with its marked numbers fitted to the voltage at its subject, else to that of the system."""
    if "~" not in line and "^" not in line:
        return line
    from re import sub

    own = None if line.startswith("system") else _volts_at(study, subject)
    system = study.system_voltage or _bank(study) or _BASE
    nominal = system if own is None else own if own < _LEAST else _BASE * max(1, round(own / _AT_WORK))
    highest = max(own or 0.0, nominal * _CHARGED)
    rating = next((volt for volt in _RATINGS if volt >= highest), _RATINGS[-1])
    line = sub(r"~(\d+(?:\.\d+)?)(?= cells)", lambda found: f"{max(1, round(float(found[1]) * nominal / _BASE))}", line)
    line = sub(r"~(\d+(?:\.\d+)?)", lambda found: figures(float(found[1]) * nominal / _BASE), line)
    return sub(r"\^\d+(?:\.\d+)?", f"{rating:g}", line)


def _volts_at(study: Study, name: str) -> float | None:
    """Return the highest voltage that any state puts on a load, source, device or conductor [V]; None where none does."""
    ends = [(item.plus, item.minus) for item in study.circuit.consumers if item.part.name == name]
    ends += [(item.plus, item.minus) for item in study.circuit.sources if item.part.name == name]
    if ends:
        plus, minus = ends[0]
        found = [abs(volt) for state in study.states if (volt := state.across(plus, minus)) is not None]
        return max(found, default=0.0) or None
    branch = study.circuit.by_name.get(name)
    return study.highest_voltage.get(branch.start) or None if branch is not None else None


def _bank(study: Study) -> float | None:
    """Return the nominal voltage of the highest string of batteries [V], None where no battery tells."""
    volt = max(string_sums(study.circuit, nominal_voltage), default=0.0)
    return _BASE * max(1, round(volt / 12.6)) if volt > 0 else None
