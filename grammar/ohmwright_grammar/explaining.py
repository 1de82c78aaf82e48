"""What to say of a statement that no phrase of its kind can read: the furthest place that was understood, and what could stand there.

Read only when something is wrong, so that a build without mistakes never pays for it.
"""

from __future__ import annotations

from typing import Any

from ohmwright_grammar.diagnostics import MOST_NEAR, Diagnostic, names_near
from ohmwright_grammar.matching import Matcher
from ohmwright_grammar.phrases import Miss, Optional, Slot, compile_phrase, leading_words
from ohmwright_grammar.quantities import DIMENSIONS
from ohmwright_grammar.spans import Edit, Span
from ohmwright_grammar.syntax import Token, span_of, span_over
from ohmwright_grammar.things import Datum, Thing, data_of
from ohmwright_grammar.units import dimension_of_unit, units_of

__all__ = ["explain", "limits_of", "near_phrases", "no_number", "unparted"]

_WORST_FIRST = ("senseless-value", "wrong-unit", "unknown-unit", "missing-unit", "unreadable-text")
_MOST_DIMENSIONS = 4
_SELDOM_MEANT = ("money", "mass", "share", "duty", "temperature")  # left out of a list of units that grows long

_NO_NUMBERS = frozenset({"nan", "inf", "-inf", "+inf", "infinity", "-infinity"})

_SPELT = {
    "volt": "V", "volts": "V", "amp": "A", "amps": "A", "ampere": "A", "amperes": "A", "watt": "W", "watts": "W", "ohms": "ohm",
    "degc": "degC", "degf": "degF", "c": "degC", "f": "degF", "metre": "m", "metres": "m", "meter": "m", "meters": "m", "mtr": "m",
    "inch": "in", "inches": "in", "foot": "ft", "feet": "ft", "percent": "%", "sqmm": "mm2", "hours": "h", "hour": "h",
    "hr": "h", "hrs": "h", "mins": "min", "sec": "s", "secs": "s", "vdc": "V", "wp": "W", "kwp": "kW",
}  # fmt: skip


def explain(kind: type[Thing], subject: str, path: str, matcher: Matcher, position: int, told: int = 0) -> Diagnostic:
    """Return what is wrong with the property that begins at `position`; the matcher holds what could have stood further on.

    `told` is the number of mistakes that were told before.
    """
    tokens = matcher.tokens
    what = f"{kind.KIND} {subject}".strip() if subject != kind.KIND else subject
    turned = turned_range(tokens, position)
    if turned is not None:
        return _range_turned_round(kind, what, subject, path, tokens, *turned)
    if matcher.furthest > position or (tokens[position].type in ("NUMBER", "GAUGE") and matcher.misses):
        return _explain_miss(kind, what, subject, path, matcher, position, told)
    end = position
    while end + 1 < len(tokens) and tokens[end + 1].type not in ("COMMA", "NUMBER", "GAUGE", "TEXT", "DATE"):
        end += 1
    run = tokens[position : end + 1]
    words = _short(" ".join(str(token) for token in run))
    place = span_over(path, run[0], run[-1])
    ends = [str(token) for token in run if "." in str(token)]
    if "ends" in data_of(kind) and len(ends) == 2 and str(run[0]) == ends[0]:
        said = f"from {ends[0]} to {ends[1]}"
        return Diagnostic(
            "unreadable-text", f"What {what} joins is said with 'from' and 'to'.", place, f"Write: {said}", subject, (Edit(place, said),)
        )  # fmt: skip
    if str(run[0]).upper() == "AWG" and "gauge" in data_of(kind) and end + 1 < len(tokens):
        said = f"{tokens[end + 1]} AWG"
        place = span_over(path, run[0], tokens[end + 1])
        return Diagnostic(
            "unreadable-text",
            "The number of a gauge stands before AWG.",
            place,
            f"Write {said}.",
            subject,
            (Edit(place, said),),
        )
    return Diagnostic(
        "unknown-property",
        f"Nothing of {what} is said in these words: {words!r}.",
        place,
        near_phrases(kind, words) if told <= MOST_NEAR else "",
        subject,
    )


def turned_range(tokens: tuple[Token, ...], position: int) -> tuple[int, int] | None:
    """Return where a range begins and ends that goes from the higher to the lower value, None where there is none; `position` is that of its "to"."""
    if str(tokens[position]).lower() != "to" or position + 1 >= len(tokens) or tokens[position + 1].type != "NUMBER":
        return None
    first = position - 1 if position and tokens[position - 1].type == "NUMBER" else position - 2
    if first < 0 or tokens[first].type != "NUMBER" or _number(tokens[first]) <= _number(tokens[position + 1]):
        return None
    return first, position + 2 if position + 2 < len(tokens) and tokens[position + 2].type == "WORD" else position + 1


def _range_turned_round(
    kind: type[Thing], what: str, subject: str, path: str, tokens: tuple[Token, ...], first: int, end: int
) -> Diagnostic:
    """Return what is wrong with a range that goes from the higher to the lower value."""
    position = next(place for place in range(first, end) if str(tokens[place]).lower() == "to")
    unit = "" if end == position + 1 or first == position - 1 else f" {tokens[position - 1]}"
    last = "" if end == position + 1 else f" {tokens[end]}"
    place = span_over(path, tokens[first], tokens[end])
    message = (
        f"The range {tokens[first]}{unit} to {tokens[position + 1]}{last} of {what} goes from the higher to the lower value."
    )
    fixed = f"{tokens[position + 1]}{unit and last} to {tokens[first]}{unit or last}"
    if kind.MAKES:
        fixed = f"{kind.MAKES} {tokens[position + 1]}{last or unit}"
        return Diagnostic(
            "senseless-value", message, place, f"If that is what it makes of what it takes, write {fixed}.", subject, (Edit(place, fixed),)
        )  # fmt: skip
    return Diagnostic("senseless-value", message, place, f"Write {fixed}.", subject, (Edit(place, fixed),))


def _number(token: Token) -> float:
    return float(str(token).replace("−", "-"))


def no_number(path: str, subject: str, tokens: tuple[Token, ...], position: int) -> tuple[Diagnostic, int] | None:
    """Return what is wrong with a word such as NaN that stands before a unit in place of a number, and where it stands."""
    for index in range(position, len(tokens) - 1):
        token = tokens[index]
        if tokens[index].type == "COMMA":
            return None
        if str(token).lower() in _NO_NUMBERS and dimension_of_unit(str(tokens[index + 1])) is not None:
            message = f"{str(token)!r} is no number that a value can have."
            return Diagnostic("senseless-value", message, span_of(path, token), "Write the number.", subject), index
    return None


def unparted(kind: type[Thing], subject: str, path: str, tokens: tuple[Token, ...], position: int, in_head: bool) -> Diagnostic:
    """Return what is wrong where a figure follows another fact and nothing parts them: a comma beside the name of a thing, a semicolon in its block."""
    sign, word = (",", "comma") if in_head else (";", "semicolon")
    before = span_of(path, tokens[position - 1])
    figure = " ".join(str(token) for token in tokens[position : position + 2] if token.type != "COMMA")
    what = f"{kind.KIND} {subject}".strip() if subject != kind.KIND else subject
    spot = Span(path, before.end_line, before.end_column, before.end_line, before.end_column)
    return Diagnostic(
        "unreadable-text",
        f"In {what} {figure!r} follows {str(tokens[position - 1])!r} with no {word} between them.",
        span_of(path, tokens[position]),
        f"Put a {word} before {figure!r}.",
        subject,
        (Edit(spot, sign),),
    )


def near_phrases(kind: type[Thing], words: str) -> str:
    """Return the phrases of a kind that are spelt nearly like some words, else where they are listed."""
    known: dict[str, str] = {}
    for datum in data_of(kind).values():
        for phrase in (*datum.phrases, *datum.denied):
            leading = leading_words(phrase)
            if leading:
                known.setdefault(leading, phrase)
        for wording in datum.choices or ():
            known.setdefault(wording, wording)
    found = names_near(words, [word for word in known if word != words], "Words")
    first = words.split()[0] if words.split() else ""
    if not found and first:
        starting = sorted(leading for leading in known if leading.split()[0].lower() == first.lower())
        starting = starting or sorted(known[lead] for lead in known if first.lower() in lead.lower().split())[:3]
        if starting:
            found = f"Words near this one: {', '.join(starting[:3])}."
        elif len(first) > 2:
            found = names_near(first, {leading.split()[0] for leading in known}, "Words")
    return found or f"The words for {kind.KIND} are listed in LANGUAGE.md."


def limits_of(datum: Datum[Any], lowest: float | None, highest: float | None) -> str:
    """Return in words what a value has to be: "above 0 and at most 100 %"."""
    limits: list[str] = []
    if datum.above is not None and (lowest is None or datum.above >= lowest):
        limits.append(f"above {_as_said(datum.above, datum)}")
    elif lowest is not None:
        limits.append(f"at least {_as_said(lowest, datum)}")
    if highest is not None:
        limits.append(f"at most {_as_said(highest, datum)}")
    return f"It has to be {' and '.join(limits)}." if limits else "Check the number and its unit."


def _as_said(limit: float, datum: Datum[Any]) -> str:
    dimension = datum.dimension
    if dimension is None or limit == 0:
        return _figure(limit)
    if dimension.name == "share":
        return f"{_figure(limit * 100)} %"
    if dimension.name == "duty":
        return f"{_figure(limit * 24)} h/day"
    return f"{_figure(limit)} {dimension.unit.replace('**', '').replace('*', ' ')}"


def _figure(value: float) -> str:
    text = f"{value:g}"
    mantissa, sign, exponent = text.partition("e")
    return f"{mantissa}e{int(exponent)}" if sign else text


# a value that is not what is due ---------------------------------------------------------------------------------------


def _explain_miss(
    kind: type[Thing], what: str, subject: str, path: str, matcher: Matcher, position: int, told: int
) -> Diagnostic:
    tokens, reached = matcher.tokens, matcher.furthest
    misses = sorted(matcher.misses, key=lambda miss: _WORST_FIRST.index(miss.rule))
    worst = misses[0]
    same = [miss for miss in misses if miss.rule == worst.rule]
    at = tokens[reached] if reached < len(tokens) else None
    if worst.rule == "missing-unit":
        figure = tokens[reached - 1]
        return Diagnostic(
            "missing-unit", f"The number {figure} of {what} has no unit.", span_of(path, figure), _fitting(kind, same, matcher, position), subject
        )  # fmt: skip
    if worst.rule in ("wrong-unit", "unknown-unit"):
        assert at is not None
        return _explain_unit(kind, what, subject, path, worst.rule, at, same, matcher, position)
    expected = _either(list(dict.fromkeys(miss.expected for miss in same)))
    if worst.rule == "senseless-value":
        number = at if at is not None and at.type in ("NUMBER", "GAUGE", "DATE") else tokens[reached - 1]
        message = f"The value {number} of {what} is outside what can be."
        return Diagnostic("senseless-value", message, span_of(path, number), f"Give {expected}.", subject)
    words = _short(" ".join(str(token) for token in tokens[position:reached]))
    if at is None:
        place = _just_after(span_of(path, tokens[-1]))
        message = f"In {what} something is missing after {words!r}."
        return Diagnostic("unreadable-text", message, place, f"Expected {expected}.", subject)
    after = f" after {words!r}" if words else ""
    meant = names_near(str(at), [word[1:-1] for miss in same if (word := miss.expected).startswith("'")], "Words", told)
    edits = _in_quotes(path, tokens, reached) if all("quotation marks" in miss.expected for miss in same) else ()
    return Diagnostic(
        "unreadable-text",
        f"In {what}{after}: {str(at)!r} cannot stand here.",
        span_of(path, at),
        f"A text stands between quotation marks: {edits[0].text}." if edits else meant or f"Expected {expected}.",
        subject,
        edits,
    )


def _explain_unit(
    kind: type[Thing],
    what: str,
    subject: str,
    path: str,
    rule: str,
    at: Token,
    same: list[Miss],
    matcher: Matcher,
    position: int,
) -> Diagnostic:
    found = str(at)
    place = span_of(path, at)
    other = ""
    if rule == "wrong-unit":
        other = (dimension_of_unit(found) or "").replace("_", " ")
        due = [DIMENSIONS[name].words if name in DIMENSIONS else "a size" for name in _meant(kind, same, matcher, position)]
        message = f"{found!r} is a unit of {other}; for {what} {_either(due)} is due here."
    else:
        message = f"{found!r} is no unit that is known here."
    if kind.KIND == "state" and other == "temperature":
        remedy = "In a state the air outside has a temperature (31 degC) and all that is inside (inside 45 degC); that of one zone stands with the zone."
    elif found == "C" and kind.KIND == "battery" and "current" in {miss.dimension for miss in same}:
        return Diagnostic(rule, message, place, "Write a current in A: 1 C of a battery of 100 Ah is 100 A.", subject)
    else:
        after = matcher.tokens[matcher.furthest + 1 : matcher.furthest + 2]
        edits = _unit_edit(found, same, place) if str(*after) not in ("hour", "hours") else ()
        if found.lower() in ("gauge", "ga") and "gauge" in data_of(kind):
            edits = (Edit(place, "AWG"),)
        remedy = (
            f"Write {matcher.tokens[matcher.furthest - 1]} {edits[0].text}."
            if edits
            else _fitting(kind, same, matcher, position)
        )
        return Diagnostic(rule, message, place, remedy, subject, edits)
    return Diagnostic(rule, message, place, remedy, subject)


def _meant(kind: type[Thing], misses: list[Miss], matcher: Matcher, position: int) -> list[str]:
    """Return the few dimensions that were most likely meant: of a value without words those that the kind reads so."""
    names = list(dict.fromkeys(miss.dimension for miss in misses if miss.dimension))
    if matcher.tokens[position].type in ("NUMBER", "GAUGE"):
        alone = {
            shape
            for datum in data_of(kind).values()
            for phrase in datum.phrases
            if isinstance(first := compile_phrase(phrase)[0], Slot)
            and all(isinstance(node, Optional) for node in compile_phrase(phrase)[1:])
            for shape in first.shapes
        }
        names = [name for name in names if name in alone] or names
    if len(names) > _MOST_DIMENSIONS:
        names = [name for name in names if name not in _SELDOM_MEANT] or names
    return names[:_MOST_DIMENSIONS]


def _fitting(kind: type[Thing], misses: list[Miss], matcher: Matcher, position: int) -> str:
    """Return the units that fit: all usual ones of one dimension, the first two of each of several."""
    names = _meant(kind, misses, matcher, position)
    by_name = {miss.dimension: miss.expected for miss in misses}
    if len(names) <= 1:
        return f"Units that fit: {by_name[names[0]] if names else misses[0].expected}."
    each = [
        f"{units_of(DIMENSIONS[name], 2)} for {DIMENSIONS[name].words}" if name in DIMENSIONS else f"{by_name[name]} for a size"
        for name in names
    ]
    return f"Units that fit: {'; '.join(each)}."


def _unit_edit(found: str, misses: list[Miss], place: Span) -> tuple[Edit, ...]:
    """Return a certain edit where the word is a unit but for its case, its plural or its being spelt out."""
    fits: set[str] = set()
    for miss in misses:
        if miss.dimension in DIMENSIONS:
            symbols = DIMENSIONS[miss.dimension].symbols
            fits |= {symbol for symbol in symbols if symbol.lower() == found.lower() or _SPELT.get(found.lower()) == symbol}
    return (Edit(place, fits.pop()),) if len(fits) == 1 else ()


def _in_quotes(path: str, tokens: tuple[Token, ...], start: int) -> tuple[Edit, ...]:
    """Return the edit that puts words between quotation marks, where it is certain which words those are."""
    end = start
    while end < len(tokens) and tokens[end].type != "COMMA":
        if tokens[end].type != "WORD":
            return ()
        end += 1
    words = " ".join(str(token) for token in tokens[start:end])
    return (Edit(span_over(path, tokens[start], tokens[end - 1]), f'"{words}"'),)


def _either(options: list[str]) -> str:
    return options[0] if len(options) == 1 else f"{', '.join(options[:-1])} or {options[-1]}"


def _just_after(place: Span) -> Span:
    return Span(place.path, place.end_line, place.end_column, place.end_line, place.end_column)


def _short(words: str) -> str:
    return words if len(words) <= 60 else f"{words[:57].rstrip()} …"
