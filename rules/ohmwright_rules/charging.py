"""What charges which batteries: controllers, chargers and inverter-chargers, with the banks that can be joined to their outputs."""

from __future__ import annotations

from ohmwright.study import Study
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.charging import Charging
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.records import record

from ohmwright_rules.kept import kept
from ohmwright_rules.strings import Arrangement, arrangements

__all__ = ["NO_BATTERY", "Charged", "String", "charged"]

NO_BATTERY = "no battery can be joined to its output"


@record
class String:
    """Batteries in series between the poles of a charger's output; most are one battery."""

    batteries: tuple[Battery, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """The batteries, from minus to plus."""
        return tuple(battery.name for battery in self.batteries)

    @property
    def words(self) -> str:
        """The batteries in words."""
        return " + ".join(self.names)


@record
class Charged:
    """Something that charges, the nodes of its output, and every string of batteries that can be joined to it."""

    part: Charging
    plus: str
    minus: str
    strings: tuple[String, ...]
    arrangements: tuple[Arrangement, ...]


def charged(study: Study) -> tuple[Charged, ...]:
    """Return everything that charges, in name order."""
    return kept(study, _charged)


def _charged(study: Study) -> tuple[Charged, ...]:
    batteries = {battery.name: battery for battery in study.of(Battery)}
    found = []
    for part in sorted(study.of(Charging), key=lambda part: part.name):
        plus, minus = ("batt_plus", "batt_minus") if isinstance(part, Controller) else ("plus", "minus")
        ways = arrangements(study, "battery", f"{part.name}.{minus}", f"{part.name}.{plus}")
        strings = dict.fromkeys(string for way in ways for string in way.strings)
        found.append(
            Charged(
                part, f"{part.name}.{plus}", f"{part.name}.{minus}",
                tuple(String(tuple(batteries[name] for name in string)) for string in strings), ways,
            )
        )  # fmt: skip
    return tuple(found)
