"""Looking names up: which thing, terminal or pin a written name means, seen from where it stands."""

from __future__ import annotations

from collections.abc import Mapping

from ohmwright_grammar.diagnostics import Diagnostic, names_near, worth_searching
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.resolve.terminals import is_one_node, terminal_names
from ohmwright_grammar.spans import Span
from ohmwright_grammar.things import Thing

__all__ = ["Names"]

_MOST_POINTS = 100  # in one name


class Names:
    """All names of a build: things by path, ports of instances, terminals of parts."""

    def __init__(
        self, things: Mapping[str, Thing], extra: frozenset[str], ports: Mapping[str, str], problems: list[Diagnostic]
    ) -> None:
        self.things = things
        self.extra = extra  # names of instances and rows, which are no things of the circuit
        self.ports = ports
        self.problems = problems
        self.unread: frozenset[str] = frozenset()  # names whose statements could not be read, which is said already
        self.shelved: Mapping[str, str] = {}  # names of parts in libraries, each with the words of its kind
        self.used_pins: dict[str, set[str]] = {}
        self._terminals: dict[str, tuple[str, ...] | None] = {}
        self._unknown_so_far = 0

    # terminals ---------------------------------------------------------------------------------------------------

    def terminals(self, part: Part) -> tuple[str, ...] | None:
        """Return the names of a part's terminals, None where any name will do (a connector half that declares no pins)."""
        if part.name not in self._terminals:
            self._terminals[part.name] = terminal_names(part)
        return self._terminals[part.name]

    def _terminal_of(self, part: Part, written: str) -> str | None:
        known = self.terminals(part)
        if known is None or written in known:
            if known is None:
                self.used_pins.setdefault(part.name, set()).add(written)
            return f"{part.name}.{written}"
        alias = part.ALIASES.get(written) or part.ALIASES.get(written.lower())
        if alias is not None and alias in known:
            return f"{part.name}.{alias}"
        lowered = {name.lower(): name for name in known}
        found = lowered.get(written.lower())
        return f"{part.name}.{found}" if found is not None else None

    # names -------------------------------------------------------------------------------------------------------

    def _through_ports(self, name: str) -> str:
        for _ in range(8):
            pieces = name.split(".")
            for length in range(len(pieces), 0, -1):
                head = ".".join(pieces[:length])
                if head in self.ports:
                    name = ".".join([self.ports[head], *pieces[length:]])
                    break
            else:
                return name
        return name

    def find(self, written: str, prefix: str = "") -> str | None:
        """Return the full name of a thing, or of a terminal ("part.terminal"), that `written` means inside `prefix`."""
        if written.count(".") > _MOST_POINTS:
            return None
        scope = prefix
        while True:
            full = self._through_ports(scope + written)
            if full in self.things or full in self.extra:
                return full
            head, point, tail = full.rpartition(".")
            part = self.things.get(head) if point else None
            if isinstance(part, Part):
                terminal = self._terminal_of(part, tail)
                if terminal is not None:
                    return terminal
            if not scope:
                return None
            scope = scope[: scope.rstrip(".").rfind(".") + 1]

    def node(self, written: str, prefix: str, place: Span, subject: str) -> str | None:
        """Return the node that `written` means: a terminal, or a part that is one node; a message where it means none."""
        found = self.find(written, prefix)
        if found is None:
            self._unknown(written, prefix, place, subject)
            return None
        part = self.things.get(found)
        if part is None:
            if found in self.extra:
                self._say(
                    f"{written!r} is no terminal but a placed assembly.", place, "Name one of its ports or parts.", subject
                )
                return None
            return found
        if isinstance(part, Part):
            if is_one_node(part):
                return found
            names = self.terminals(part) or ()
            choices = ", ".join(f"{written}.{name}" for name in names[:8])
            self._say(
                f"It is not said which terminal of {written!r} is meant.",
                place,
                f"Its terminals: {choices}." if choices else "",
                subject,
            )
            return None
        self._say(f"{written!r} is a {part.KIND} and has no terminals.", place, "Name a terminal of a part.", subject)
        return None

    def thing(self, written: str, prefix: str, place: Span, subject: str, what: str = "") -> str | None:
        """Return the full name of the thing or terminal that `written` means; a message where there is none."""
        found = self.find(written, prefix)
        if found is None:
            self._unknown(written, prefix, place, subject, what)
        return found

    def _unknown(self, written: str, prefix: str, place: Span, subject: str, what: str = "") -> None:
        head, point, tail = written.rpartition(".")
        owner = self.find(head, prefix) if point else None
        part = self.things.get(owner) if owner is not None else None
        if isinstance(part, Part):
            names = self.terminals(part) or ()
            if is_one_node(part):
                remedy = f"The {part.KIND} is one node: write {head}."
            else:
                near = names_near(tail, names, "Terminals")
                remedy = near or (f"Its terminals: {', '.join(names[:10])}." if names else "")
            self._say(f"The {part.KIND} {head!r} has no terminal {tail!r}.", place, remedy, subject)
            return
        thing = self.things.get(owner) if owner is not None else None
        if thing is not None:
            self._say(f"{head!r} is a {thing.KIND} and has no terminals.", place, "Name a terminal of a part.", subject)
            return
        if {written, head, f"{prefix}{written}", f"{prefix}{head}"} & self.unread:
            return
        self._unknown_so_far += 1
        if not worth_searching(self._unknown_so_far, len(self.things) + len(self.extra)):
            remedy = ""
        else:
            names = (*self.things, *self.extra)
            known = [name[len(prefix) :] if prefix and name.startswith(prefix) else name for name in names]
            remedy = names_near(head or written, known, what or "Names", self._unknown_so_far)
        wanted = head or written
        kind = self.shelved.get(wanted)
        if kind is not None:
            from ohmwright_grammar.saying import say_name

            name = say_name(wanted)
            remedy = f"A library has it: take it into the build with: {kind} {name} same as {name}"
        what_kind = "part" if point else "thing"
        self._say(
            f"There is no {what_kind} named {_short(wanted)!r}.", place, remedy or "Declare it, or correct the name.", subject
        )

    def _say(self, message: str, place: Span, remedy: str, subject: str) -> None:
        self.problems.append(Diagnostic("unknown-name", message, place, remedy, subject))


def _short(name: str) -> str:
    return name if len(name) <= 80 else f"{name[:60]}…"
