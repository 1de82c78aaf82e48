"""At which voltages things cut off, in the order in which they should: loads, inverters, and last the battery's own management system."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from ohmwright.circuit.batteries import nominal_voltage
from ohmwright.missing import Missing
from ohmwright.study import Study
from ohmwright_grammar.kinds.battery import LITHIUM, Battery, Bms
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.switch import Disconnect
from ohmwright_grammar.quantities import Quantity, Volt
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright_rules.strings import arrangements
from ohmwright_rules.wording import listed

__all__ = ["Floor", "Threshold", "blocks_of_twelve", "floor_of", "minimum_of", "thresholds"]


@record
class Threshold:
    """Something that cuts off at a voltage of a bank, and the strings of batteries of that bank.

    `volts` is None for an inverter that does not say at which.
    """

    kind: Literal["loads", "inverter"]
    part: Part
    volts: Quantity[Volt] | None
    span: Span
    strings: tuple[tuple[str, ...], ...]

    @property
    def batteries(self) -> frozenset[str]:
        """The batteries of the bank."""
        return frozenset(name for string in self.strings for name in string)


@record
class Floor:
    """The voltage of a string [V] at which the battery itself is at its end, what of it is (its BMS, its lowest voltage), and where that was said.

    `opens` tells that a management system disconnects it there.
    """

    volt: float
    words: str
    opens: bool
    spans: tuple[tuple[str, Span], ...]


def thresholds(study: Study) -> Iterator[Threshold]:
    """Yield everything that cuts off at a voltage: low-voltage disconnects, load outputs in use, inverters; those that are not there drop out."""
    for part in sorted(study.of(Inverter), key=lambda part: part.name):
        strings = _strings(study, f"{part.name}.minus", f"{part.name}.plus")
        if strings and not part.says_none(Inverter.cut_off):
            yield Threshold("inverter", part, part.cut_off, part.place_of(Inverter.cut_off), strings)
    for controller in sorted(study.of(Controller), key=lambda part: part.name):
        nodes = study.circuit.nodes_of(controller.name)
        used = f"{controller.name}.load_plus" in nodes or f"{controller.name}.load_minus" in nodes
        if used and controller.load_cut_off is not None:
            strings = _strings(study, f"{controller.name}.batt_minus", f"{controller.name}.batt_plus")
            if strings:
                place = controller.place_of(Controller.load_cut_off)
                yield Threshold("loads", controller, controller.load_cut_off, place, strings)
    for disconnect in sorted(study.of(Disconnect), key=lambda part: part.name):
        if disconnect.opens_at is not None:
            strings = _on_line(study, disconnect)
            if strings:
                yield Threshold("loads", disconnect, disconnect.opens_at, disconnect.place_of(Disconnect.opens_at), strings)


def _strings(study: Study, minus: str, plus: str) -> tuple[tuple[str, ...], ...]:
    return tuple(dict.fromkeys(string for way in arrangements(study, "battery", minus, plus) for string in way.strings))


def _on_line(study: Study, disconnect: Disconnect) -> tuple[tuple[str, ...], ...]:
    """Return the strings of batteries whose plus side a disconnect lies in: the longest that end at its line."""
    minus = f"{disconnect.name}.minus"
    if minus in study.circuit.nodes_of(disconnect.name):
        return _strings(study, minus, f"{disconnect.name}.line")
    best: tuple[tuple[str, ...], ...] = ()
    for battery in sorted(study.of(Battery), key=lambda part: part.name):
        found = _strings(study, f"{battery.name}.minus", f"{disconnect.name}.line")
        if sum(map(len, found)) > sum(map(len, best)):
            best = found
    return best


def floor_of(study: Study, string: tuple[str, ...]) -> Floor | Missing:
    """Return where a string of batteries is at its end: where a management system opens, else at its lowest voltage."""
    total = 0.0
    opening: list[str] = []
    lowest: list[str] = []
    spans: list[tuple[str, Span]] = []
    for name in string:
        battery = study.part(name)
        assert isinstance(battery, Battery)
        bms = battery.bms
        if bms is None and not battery.says_none(Battery.bms) and (battery.chemistry is None or battery.chemistry in LITHIUM):
            return Missing(f"low cut-off of the BMS of {name}", battery.span, "bms { low cut-off ~11.0 V }")
        if bms is not None and bms.cuts != "charge" and not bms.says_none(Bms.low_cut_off):
            if bms.low_cut_off is None:
                return Missing(f"low cut-off of the BMS of {name}", bms.span, "low cut-off ~11.0 V")
            total += float(bms.low_cut_off.high)
            opening.append(name)
            spans.append((f"the BMS of {name}", bms.place_of(Bms.low_cut_off)))
            continue
        if battery.lowest_voltage is None:
            return Missing(f"lowest voltage of {name}", battery.span, "lowest ~10.8 V")
        total += float(battery.lowest_voltage.high)
        lowest.append(name)
        spans.append((f"the lowest voltage of {name}", battery.place_of(Battery.lowest_voltage)))
    words = [f"the BMS of {listed(opening)} opens"] if opening else []
    words += [f"{listed(lowest)} {'is' if len(lowest) == 1 else 'are'} at the lowest voltage"] if lowest else []
    return Floor(total, " and ".join(words), bool(opening), tuple(spans))


def minimum_of(study: Study, string: tuple[str, ...]) -> Floor | None:
    """Return the lowest voltage of a string, None where one of its batteries does not say it."""
    total = 0.0
    spans: list[tuple[str, Span]] = []
    for name in string:
        battery = study.part(name)
        assert isinstance(battery, Battery)
        if battery.lowest_voltage is None:
            return None
        total += float(battery.lowest_voltage.high)
        spans.append((f"the lowest voltage of {name}", battery.place_of(Battery.lowest_voltage)))
    return Floor(total, f"{listed(string)} {'is' if len(string) == 1 else 'are'} at the lowest voltage", False, tuple(spans))


def blocks_of_twelve(study: Study, string: tuple[str, ...]) -> int | Missing:
    """Return how many times 12 V a system has: by its declared voltage, else by the nominal voltage of a string."""
    volt = study.system_voltage
    if volt is None:
        volt = 0.0
        for name in string:
            battery = study.part(name)
            assert isinstance(battery, Battery)
            nominal = nominal_voltage(battery)
            if nominal is None:
                return Missing("nominal system voltage", study.build.rig.span, "system 12 V")
            volt += nominal
    return max(1, round(volt / 12.0))
