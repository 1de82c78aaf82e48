"""`ohmwright inspect --show-settings`: every setting, the value that counts, and where it was said."""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Iterator

from ohmwright.commands.common import Limits, complain, put, unknown_basis
from ohmwright.commands.terms import Group, groups_of
from ohmwright.reports.words import WIDTH, clean, counted, listed, wrapped
from ohmwright.settings.finding import shown_path
from ohmwright.settings.model import Settings

__all__ = ["show_settings"]

_NAME, _VALUE = 17, 24
_ORDER = (
    "The command line counts before a file of settings, and that before the defaults. The basis and the site of the settings hold only for "
    "builds that say nothing of their own."
)


def show_settings(options: argparse.Namespace, limits: Limits) -> int:
    """Print the settings for each root that is named, or for that of the current folder; return 0, or 2 where some cannot be used."""
    problem = unknown_basis(options.basis)
    if problem:
        complain(problem)
        return 2
    options.write_baseline = True  # a baseline that is not there yet keeps nobody from looking at the settings
    found = groups_of(options, limits, here=True)
    lines: list[str] = []
    for group in found.groups:
        lines.extend(_group(group, options))
        lines.append("")
    if found.groups:
        put("\n".join([*lines, *wrapped(_ORDER)]) + "\n")
    return 2 if found.wrong else 0


def _group(group: Group, options: argparse.Namespace) -> Iterator[str]:
    settings = group.settings
    where = shown_path(group.gathered.root)
    yield from wrapped(f"Builds below {where}: {_source(settings, options)}", 0, 2)
    if settings.also:
        yield from wrapped(f"{settings.also} has settings too; beside {settings.file} they do not count.", 2, 2)
    for name, value, origin in _rows(group, options):
        yield from _row(name, value, origin)


def _source(settings: Settings, options: argparse.Namespace) -> str:
    if options.settings == "none":
        return "no file of settings, as the command line asks"
    if options.settings:
        return f"{settings.file}, as the command line asks"
    return settings.file or "no file of settings"


def _rows(group: Group, options: argparse.Namespace) -> Iterator[tuple[str, str, str]]:
    settings = group.settings

    def from_file(*place: str | int) -> str:
        span = settings.spans.get(place)
        return f"{settings.file} line {span.line}" if span is not None else "default"

    def row(name: str, value: str, given: object, *place: str) -> tuple[str, str, str]:
        return name, value, "command line" if given not in (None, "") else from_file(*(place or (name,)))

    reached = "reached" if group.options.reached else "declared"
    yield row("basis", options.basis or settings.basis or "as each build says", options.basis)
    yield row("bar", group.bar.word, options.bar)
    yield row("require-checked", _flag(group.require_checked), options.require_checked)
    yield row("states", reached, options.states)
    yield row("site", " ".join(settings.site.split()) or "as each build says", None)
    yield row("builds", ", ".join(options.paths or settings.builds) or "those named", options.paths or None)
    yield row("baseline", options.baseline or settings.baseline or "none", options.baseline)
    yield row("cache", options.cache or settings.cache or "the user's own folder", options.cache)
    yield row("output format", _format(options, settings), options.outputs, "output", "format")
    yield row("output working", _flag(_either(options.working, settings.working)), options.working, "output", "working")
    yield row("output assumed", _flag(_either(options.assumed, settings.assumed)), options.assumed, "output", "assumed")
    for number, (item, files) in enumerate(zip(settings.left_out, group.left_out, strict=True)):
        count = counted(len(files), "file") if item.what == "path" else counted(group.rules_left_out[item.name], "rule")
        what = f" ({count})" if options.paths or item.what == "family" else ""
        yield "left-out", f"{item.what} {item.name}{what}: {item.because}", from_file("left-out", number, item.what)
    for number, change in enumerate(settings.grades):
        was = group.would_be[change.grade]
        yield (
            "grades",
            f"{change.grade} from {was} to {change.severity}: {change.because}",
            from_file("grades", number, "grade"),
        )
    for number, accepted in enumerate(settings.accepted):
        yield "accepted", f"{accepted.build}: {accepted.waiver}: {accepted.because}", from_file("accepted", number, "waiver")


def _format(options: argparse.Namespace, settings: Settings) -> str:
    given: Iterable[tuple[str, str]] = options.outputs or ()
    named = [value for what, value in given if what == "output"]
    return listed(named) or settings.format or "text"


def _row(name: str, value: str, origin: str) -> Iterator[str]:
    """Yield a row of three columns; a long value stands on lines of its own."""
    value = clean(value)
    if len(value) <= _VALUE:
        yield f"  {name:<{_NAME}}{value:<{_VALUE}}  {clean(origin)}"
        return
    yield f"  {name:<{_NAME}}{'':<{_VALUE}}  {clean(origin)}"
    yield from wrapped(value, 4, 2) if len(value) > WIDTH - 4 else (f"    {value}",)


def _flag(value: bool) -> str:
    return "true" if value else "false"


def _either(given: bool | None, said: bool | None) -> bool:
    return bool(said) if given is None else given
