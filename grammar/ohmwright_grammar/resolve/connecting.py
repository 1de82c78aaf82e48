"""Which connector halves go together, pin to pin: pairs, halves that name their mates, and the links of rows."""

from __future__ import annotations

from collections.abc import Mapping

from ohmwright_grammar.diagnostics import Diagnostic, names_near
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.model import Mating, PlacedRow
from ohmwright_grammar.resolve.linking import Names
from ohmwright_grammar.resolve.placing import PlacedRowText, Placer
from ohmwright_grammar.spans import Span

__all__ = ["Connections"]


def _crossings(half: Half) -> dict[str, str]:
    """Return which pin of a half meets which other pin of its mate, where that is not the one of the same name."""
    said = {pair.pin: pair.mate for pair in half.pin_pairs or ()}
    said.update({pin.name: pin.mate_pin for pin in half.pins or () if pin.mate_pin is not None})
    return said


class Connections:
    """Joins the halves of one build."""

    def __init__(self, parts: Mapping[str, Part], placer: Placer, names: Names, problems: list[Diagnostic]) -> None:
        self.parts = parts
        self.placer = placer
        self.names = names
        self.problems = problems

    def matings(self) -> tuple[Mating, ...]:
        """Return the pairs that are declared as such, or by halves that name their mates."""
        names = self.names
        found: dict[frozenset[str], Mating] = {}
        for placed in self.placer.placed:
            thing = placed.thing
            if not isinstance(thing, Half) or thing.name not in self.parts:
                continue
            if placed.mate:
                mate: str | None = f"{placed.prefix}{placed.mate}"
                place = placed.span
            else:
                fact = thing.facts.get("mate")
                if fact is None or fact.value is None:
                    continue
                place = fact.source
                mate = names.thing(fact.value, placed.prefix, place, thing.name, "Connectors")
            if mate is None:
                continue
            other = self.parts.get(mate)
            if not placed.mate and isinstance(other, Half) and other.mate and other.name < thing.name:
                continue  # both name each other: the pair goes by the first of their names
            if not isinstance(other, Half):
                self.problems.append(Diagnostic("unknown-name", f"{mate!r} is no connector.", place, "", thing.name))
                continue
            key = frozenset((thing.name, mate))
            if key not in found:
                found[key] = self._mating(thing, other, place)
        return tuple(found.values())

    def _mating(self, first: Half, second: Half, place: Span, row: str = "", link: int = 0) -> Mating:
        """Join pin to pin: like to like unless a half says otherwise."""
        names = self.names
        crossed = _crossings(first)
        crossed_back = {there: here for here, there in _crossings(second).items()}
        known = names.terminals(first) or tuple(sorted(names.used_pins.get(first.name, ())))
        others = names.terminals(second) or tuple(sorted(names.used_pins.get(second.name, ())))
        pins: list[tuple[str, str]] = []
        for pin in dict.fromkeys((*known, *(others if names.terminals(first) is None else ()))):
            there = crossed.get(pin) or crossed_back.get(pin) or pin
            if names.terminals(second) is None or there in others:
                pins.append((pin, there))
                for half, name in ((first, pin), (second, there)):
                    if names.terminals(half) is None:
                        names.used_pins.setdefault(half.name, set()).add(name)
        return Mating(f"{first.name} with {second.name}", first.name, second.name, tuple(pins), place, row, link)

    def rows(self) -> tuple[tuple[PlacedRow, ...], tuple[Mating, ...]]:
        """Return the rows as placed, and the matings of their links."""
        rows: list[PlacedRow] = []
        matings: list[Mating] = []
        for text in self.placer.rows:
            made = self._row(text)
            if made is not None:
                rows.append(made[0])
                matings.extend(made[1])
        return tuple(rows), tuple(matings)

    def _row(self, text: PlacedRowText) -> tuple[PlacedRow, list[Mating]] | None:
        row = text.row
        joined = row.joined or row.up_to_joined
        count = len(text.instances)
        least, most = (joined.least, joined.most) if joined is not None else (0, count)
        if most > count or least > most:
            place = row.place_of(type(row).joined) if row.joined is not None else row.place_of(type(row).up_to_joined)
            self.problems.append(
                Diagnostic(
                    "senseless-value",
                    f"{most} of {row.name!r} cannot be joined: {count} are placed.",
                    place,
                    "Place more, or join fewer.",
                    row.name,
                )
            )
            most = min(most, count)
        links: list[tuple[str, ...]] = []
        matings: list[Mating] = []
        ports = row.ports
        start = (
            self.names.thing(row.start, text.prefix, row.place_of(type(row).start), row.name, "Connectors")
            if row.start
            else None
        )
        if start is not None and ports is not None:
            before = start
            cord = row.cord
            for number, instance in enumerate(text.instances, start=1):
                link: list[str] = []
                steps: list[tuple[str, str]]
                near = f"{instance}.{ports.near}"
                if cord is not None and text.cords:
                    ends = (cord.near or "near", cord.far or "far")
                    cable = text.cords[number - 1]
                    steps = [(before, f"{cable}.{ends[0]}"), (f"{cable}.{ends[1]}", near)]
                else:
                    steps = [(before, near)]
                for one, two in steps:
                    mating = self._link(one, two, text, row.place_of(type(row).ports), number)
                    if mating is None:
                        return None
                    matings.append(mating)
                    link.append(mating.name)
                links.append(tuple(link))
                before = f"{instance}.{ports.far}"
        return PlacedRow(row.name, text.instances, tuple(links), least, most, row), matings

    def _link(self, one: str, two: str, text: PlacedRowText, place: Span, number: int) -> Mating | None:
        halves: list[Half] = []
        for written in (one, two):
            found = self.names.find(written)
            half = self.parts.get(found) if found is not None else None
            if not isinstance(half, Half):
                tail = written.rsplit(".", 1)[-1]
                known = [
                    port.rsplit(".", 1)[-1] for port in self.placer.ports if port.startswith(written.rsplit(".", 1)[0] + ".")
                ]
                self.problems.append(
                    Diagnostic(
                        "unknown-name", f"{tail!r} is no connector or port of what the row {text.row.name!r} is made of.", place,
                        names_near(tail, known, "Ports") or (f"Its ports: {', '.join(sorted(set(known)))}." if known else ""), text.row.name,
                    )
                )  # fmt: skip
                return None
            halves.append(half)
        return self._mating(halves[0], halves[1], place, text.row.name, number)
