"""The figures of solved states, as tables for a terminal and as the document that `schemas/solve.json` describes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ohmwright_grammar.records import record

from ohmwright.reports.words import WIDTH, Ink, clean, wrapped
from ohmwright.solving import PartRow, StateFigures
from ohmwright.values import figures

__all__ = ["BuildFigures", "write_json", "write_text"]

_NAME, _COLUMN = 40, 13
_PART, _NARROW = 26, 10


@record
class BuildFigures:
    """The solved states of one build."""

    path: str
    title: str
    revision: str
    states: tuple[StateFigures, ...]
    not_reached: int = 0


def write_text(builds: Iterable[BuildFigures], colour: bool = False) -> str:
    """Return the tables of every state."""
    ink = Ink(colour)
    return "\n".join(line for build in builds for line in _build(build, ink)).rstrip() + "\n"


def _build(build: BuildFigures, ink: Ink) -> Iterator[str]:
    revision = f", revision {build.revision}" if build.revision else ""
    yield from (ink.bold(line) for line in wrapped(f"{build.path}: {build.title}{revision}", 0, 2))
    yield from wrapped(
        "A conductor's current and drop count from its from to its to; a part gives what flows out of its plus, takes what flows in, and loses "
        "what it passes on. Voltages are against the minus of the bank, in an island that floats against that of its own source."
    )
    for state in build.states:
        yield ""
        yield from _state(state, ink)
    if build.not_reached:
        yield ""
        yield f"{build.not_reached:,} more states were left out."
    yield ""


def _state(state: StateFigures, ink: Ink) -> Iterator[str]:
    zones = "".join(f"; {name} {_plain(value)} degC" for name, value in state.zones)
    head = f'State "{state.name}" ({state.origin}), {_plain(state.temperature)} degC outside{zones}'
    yield from (ink.bold(line) for line in wrapped(head, 0, 2))
    if not state.converged:
        yield from wrapped(f"Not solved: {state.reason}", 2, 2)
        return
    if state.conductors:
        yield f"  {'Conductor':<{_NAME - 2}}{'A':>{_COLUMN}}{'V drop':>{_COLUMN}}{'W lost':>{_COLUMN}}"
    for row in state.conductors:
        cells = "".join(f"{_plain(value):>{_COLUMN}}" for value in (row.current, row.drop, row.loss))
        yield from _row(clean(row.name), _NAME, cells)
    if state.parts:
        yield f"  {'Part':<{_PART - 2}}{'A':>{_NARROW}}{'W':>{_NARROW}}  Voltages"
    for part in state.parts:
        yield from _part(part)


def _part(part: PartRow) -> Iterator[str]:
    cells = f"{_plain(part.current):>{_NARROW}}{_plain(part.power):>{_NARROW}}  "
    left = _PART + 2 * _NARROW + 2
    volts = [
        f"{name} {_plain(value, 4)} V".strip() if value is not None else f"{name} dead".strip()
        for name, value in part.terminals
    ]
    words = ", ".join(volts) + (f"; {part.mode}" if part.mode else "")
    lines = list(wrapped(words, left)) or [""]
    yield from _row(f"{clean(part.name)} ({part.kind})", _PART, cells + lines[0].strip())
    yield from lines[1:]


def _row(name: str, width: int, cells: str) -> Iterator[str]:
    """Yield a name and the cells of its row, on the next line where the name is too long."""
    if len(name) > width - 3:
        yield f"  {name[: WIDTH - 2]}"
        name = ""
    yield f"  {name:<{width - 2}}{cells}".rstrip()


def _plain(value: float | None, digits: int = 3) -> str:
    if value is None:
        return "-"
    return figures(value, digits) if abs(value) >= 1e-9 else "0"


def write_json(version: str, builds: Iterable[BuildFigures]) -> str:
    """Return the document of all states; what was not solved is null."""
    from ohmwright.reports.json_report import SCHEMA, laid_out, number_or_null

    document = {
        "ohmwright": version,
        "schema": SCHEMA,
        "builds": [
            {
                "path": build.path,
                "states": [
                    {
                        "name": state.name,
                        "origin": state.origin,
                        "converged": state.converged,
                        "reason": state.reason or None,
                        "temperature": number_or_null(state.temperature),
                        "voltages": {node: number_or_null(value) for node, value in state.voltages.items()},
                        "conductors": {
                            row.name: {
                                "current": number_or_null(row.current),
                                "drop": number_or_null(row.drop),
                                "loss": number_or_null(row.loss),
                            }
                            for row in state.conductors
                        },
                        "parts": {
                            row.name: {"current": number_or_null(row.current), "power": number_or_null(row.power)}
                            for row in state.parts
                        },
                    }
                    for state in build.states
                ],
            }
            for build in builds
        ],
    }
    return laid_out(document)
