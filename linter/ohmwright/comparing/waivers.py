"""Waivers that are new or wider than before, and those that the settings of the old side accept."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from ohmwright_grammar.kinds.waiver import Waiver
from ohmwright_grammar.model import Build
from ohmwright_grammar.printing import say_value

from ohmwright.comparing.model import Judgement
from ohmwright.comparing.normal import normal, renaming
from ohmwright.settings.accepting import AcceptedWaiver
from ohmwright.waiving import bound_of

__all__ = ["compared_waivers", "covers", "statement"]


def compared_waivers(
    path: str,
    old: Build | None,
    new: Build | None,
    names: Mapping[str, str],
    accepted: Sequence[AcceptedWaiver],
    today: date,
    below: str = "",
) -> Iterator[Judgement]:
    """Yield each thing on which a waiver is new or wider, or is waived no more or narrower; an expired waiver excuses nothing, before and after.

    `accepted` are the waivers that settings accept for this build, `below` is the path by which those settings would name it.
    """
    before = [*_single(old, names, today)]
    after = [*_single(new, {}, today)]
    for waiver, name in after:
        if any(covers(was, waiver, on, name) for was, on in before):
            continue
        kin = [was for was, on in before if on == name and _same_rule(was, waiver)]
        reason = next((item.because for item in accepted if _accepts(item, waiver, name)), "")
        remedy = "" if reason else _how_to_accept(below or path, waiver, name)
        was = statement(kin[0], name) if kin else ""
        about = f"{waiver.name} on {name}"
        yield Judgement("waiver", "looser", path, about, was, statement(waiver, name), waiver.span, reason, remedy)
    for waiver, name in before:
        if not any(covers(now, waiver, on, name) for now, on in after):
            kin = [now for now, on in after if on == name and _same_rule(now, waiver)]
            if any(not covers(waiver, now, name, name) for now in kin):
                continue  # it is told as a wider one
            now = statement(kin[0], name) if kin else ""
            yield Judgement("waiver", "tighter", path, f"{waiver.name} on {name}", statement(waiver, name), now, waiver.span)


def _accepts(item: AcceptedWaiver, waiver: Waiver, name: str) -> bool:
    return any(covers(item.waiver, waiver, on, name) for on in item.waiver.on or ())


def _single(build: Build | None, names: Mapping[str, str], today: date) -> Iterator[tuple[Waiver, str]]:
    """Yield each waiver that excuses something with each thing that it is on."""
    renamed = renaming(names)
    for waiver in build.waivers if build is not None else ():
        if waiver.because and waiver.because.strip() and waiver.until is not None and waiver.until >= today:
            for name in waiver.on or ():
                yield waiver, str(renamed(name))


def _same_rule(one: Waiver, two: Waiver) -> bool:
    return one.name.partition(".")[0] == two.name.partition(".")[0]


def covers(wide: Waiver, narrow: Waiver, wide_on: str, narrow_on: str) -> bool:
    """Tell whether a waiver excuses all that another one does: the same thing, its rule or all of its grades, as far, and as long."""
    if wide_on != narrow_on or wide.until is None or narrow.until is None or wide.until < narrow.until:
        return False
    if wide.name != narrow.name and wide.name != narrow.name.partition(".")[0]:
        return False
    return all(_reaches(wide, narrow, end) for end in ("up_to", "down_to"))


def _reaches(wide: Waiver, narrow: Waiver, end: str) -> bool:
    """Tell whether one end of a waiver reaches as far as that of another; without a value it reaches what has none."""
    one, two = getattr(wide, end), getattr(narrow, end)
    if two is None:
        return True
    if one is None:
        return False
    if normal(one) == normal(two):
        return True
    far, near = bound_of(one), bound_of(two)
    if far.dimension != near.dimension:
        return False
    slack = 1e-9 * max(abs(far.value), abs(near.value))
    return near.value <= far.value + slack if end == "up_to" else near.value >= far.value - slack


def statement(waiver: Waiver, name: str = "") -> str:
    """Return what a waiver excuses, without its reason, as a builder would write it."""
    words = [waiver.name, say_value(Waiver.on, (name,) if name else waiver.on)]
    for datum in (Waiver.up_to, Waiver.down_to, Waiver.until):
        value = getattr(waiver, datum.name)
        if value is not None:
            words.append(say_value(datum, value))
    return " ".join(words)


def _how_to_accept(path: str, waiver: Waiver, name: str) -> str:
    """Return the lines that accept a waiver, to be put into the settings of the branch that the change goes to."""
    words = statement(waiver, name)
    return f'[[accepted]]\nbuild = {_toml(path)}\nwaiver = {_toml(words)}\nbecause = "…"'


def _toml(text: str) -> str:
    """Write a text as TOML has it.

    >>> _toml('on "a b"'), _toml("it's \\"so\\"")
    ('\\'on "a b"\\'', '"it\\'s \\\\"so\\\\""')
    """
    if '"' in text and "'" not in text and text.isprintable():
        return f"'{text}'"
    escaped = "".join(f"\\{sign}" if sign in '\\"' else sign if sign.isprintable() else f"\\U{ord(sign):08x}" for sign in text)
    return f'"{escaped}"'
