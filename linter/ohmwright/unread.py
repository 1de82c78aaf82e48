"""What could not be read of a build: a rule that finds something absent cannot say so where the text that may hold it was not understood."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.spans import Span

from ohmwright.circuit.graph import Circuit

__all__ = ["Unread"]

_LONGEST = 400  # lines of one statement that are looked through
_MANY = 1000  # of more mistakes than that only the line itself is looked through
_NEAR = "near this one:"  # after this stand the names that a misspelt one may have meant


class Unread:
    """The names that stand in statements which could not be read, each with the place of the mistake."""

    def __init__(self, problems: Iterable[Diagnostic], lines_of: Callable[[str], list[str]]) -> None:
        self._places: dict[str, Span] = {}
        seen: set[tuple[str, int, int]] = set()
        for number, problem in enumerate(problems):
            near = problem.remedy.partition(_NEAR)[2]
            lines = (problem.span.path, problem.span.line, problem.span.end_line)
            text = ""
            if lines not in seen:  # the words of a line are looked at once, however many mistakes stand in it
                seen.add(lines)
                text = _statement(problem.span, lines_of(problem.span.path), _LONGEST if number < _MANY else 1)
            for word in _words(f"{text} {near} {problem.subject}"):
                self._places.setdefault(word, problem.span)
        self._names: dict[str, Span | None] = {}
        self._nets: _Nets | None = None

    def __bool__(self) -> bool:
        return bool(self._places)

    def touches(self, name: str) -> Span | None:
        """Return the place of a mistake in a statement that names a thing, None where none does.

        Of a placed thing or a terminal ("pack[2].feed", "house.plus") any part of the name counts: in an assembly it is said without what stands before.
        """
        if name not in self._names:
            self._names[name] = next(
                (found for piece in name.split(".") if (found := self._piece(piece.partition("[")[0])) is not None), None
            )
        return self._names[name]

    def _piece(self, piece: str) -> Span | None:
        words = piece.split()
        places = [self._places[word] for word in words if word in self._places]
        return places[0] if words and len(places) == len(words) else None

    def touches_circuit(self, name: str, circuit: Circuit) -> Span | None:
        """Return the place of a mistake in a statement that may hold what closes the circuit of a part, None where none may.

        Such a statement names the part, or something that is joined to each of its terminals that nothing else feeds or draws from.
        """
        own = self.touches(name)
        if own is not None:
            return own
        if self._nets is None:
            self._nets = _Nets(circuit, self)
        return self._nets.touched(name)


class _Nets:
    """What is joined with what, whatever is closed, and which of these nets an unread statement names."""

    def __init__(self, circuit: Circuit, unread: Unread) -> None:
        self.circuit = circuit
        self.net = _net_numbers(circuit)
        self.sources = {item.part.name for item in circuit.sources}
        self.of_source: dict[int, set[str]] = {}
        self.of_any: dict[int, set[str]] = {}
        ends = [(item.part.name, item.plus, item.minus) for item in circuit.sources]
        ends += [(item.part.name, item.plus, item.minus) for item in circuit.consumers]
        for name, *poles in ends:
            for node in poles:
                self.of_any.setdefault(self.net.get(node, -1), set()).add(name)
                if name in self.sources:
                    self.of_source.setdefault(self.net.get(node, -1), set()).add(name)
        self.places: dict[int, Span] = {}
        for node, number in self.net.items():
            found = unread.touches(node.rpartition(".")[0] or node)
            if found is not None:
                self.places.setdefault(number, found)

    def touched(self, name: str) -> Span | None:
        """Return the place of a statement that names every dead net of a part, or any of its nets where none is dead."""
        nets = sorted({self.net[node] for node in self.circuit.nodes_of(name) if node in self.net})
        live = self.of_any if name in self.sources else self.of_source
        dead = [number for number in nets if not live.get(number, set()) - {name}]
        places = [self.places.get(number) for number in (dead or nets)]
        known = [place for place in places if place is not None]
        return known[0] if known and (len(known) == len(places) or not dead) else None


def _net_numbers(circuit: Circuit) -> dict[str, int]:
    """Return a number for each node, the same for all that branches join."""
    numbers: dict[str, int] = {}
    near: dict[str, list[str]] = {}
    for branch in (*circuit.branches, *circuit.ac_branches):
        near.setdefault(branch.start, []).append(branch.end)
        near.setdefault(branch.end, []).append(branch.start)
    for number, first in enumerate(circuit.nodes):
        if first in numbers:
            continue
        numbers[first] = number
        queue = [first]
        for node in queue:
            for other in near.get(node, ()):
                if other not in numbers:
                    numbers[other] = number
                    queue.append(other)
    return numbers


def _statement(span: Span, of_file: list[str], longest: int) -> str:
    """Return the text of the statement in which a mistake stands, from the line of the mistake to the end of the block that it opens."""
    lines = of_file[span.line - 1 : span.line - 1 + longest]
    depth = 0
    taken: list[str] = []
    for number, line in enumerate(lines, start=span.line):
        plain = line.partition("#")[0]
        taken.append(plain)
        depth += plain.count("{") - plain.count("}")
        if depth <= 0 and number >= span.end_line:
            break
    return " ".join(taken)


def _words(text: str) -> list[str]:
    """Return the words of a text; of a terminal ("house.plus") only what it belongs to."""
    import re

    found: list[str] = []
    for token in re.findall(r"[\w\-.\[\]]+", text):
        pieces = token.strip(".").split(".")
        for piece in pieces[:-1] if len(pieces) > 1 else pieces:
            found.extend(re.findall(r"[\w-]+", piece.partition("[")[0]))
    return found
