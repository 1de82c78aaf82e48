"""Slips of the pen that must never silently become another number: each gets a message with the edit that mends it."""

from __future__ import annotations

from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.spans import Edit
from ohmwright_grammar.syntax import Token, span_of

__all__ = ["SLIPS", "slip"]

SLIPS = frozenset({"DECIMAL_COMMA", "DASHED", "CROSSED", "HASHED", "SIGN", "CURLY", "OPEN_TEXT", "STRAY"})


def slip(token: Token, path: str, subject: str) -> Diagnostic | None:
    """Return what is wrong with a token that is a slip, else None."""
    if token.type not in SLIPS:
        return None
    text = str(token)
    place = span_of(path, token)
    rule = "unreadable-text"
    if token.type == "DECIMAL_COMMA":
        pieces = text.split(",")
        if len(pieces) == 2 and "." not in text:
            grouped = len(pieces[1]) == 3 and pieces[0] not in ("0", "-0", "+0")
            message = f"{text!r} could mean two numbers: decimals stand after a point, and thousands are not parted."
            if grouped:
                return Diagnostic(
                    rule,
                    message,
                    place,
                    f"Write {pieces[0]}{pieces[1]}, or {pieces[0]}.{pieces[1]}.",
                    subject,
                )
            fixed = f"{pieces[0]}.{pieces[1]}"
            return Diagnostic(rule, message, place, f"Write {fixed}.", subject, (Edit(place, fixed),))
        fixed = ", ".join(pieces)
        message = f"In {text!r} it cannot be told what parts the numbers."
        return Diagnostic(
            rule,
            message,
            place,
            f"Put a space after each comma of a list: {fixed}.",
            subject,
            (Edit(place, fixed),),
        )
    if token.type == "DASHED":
        for dash in ("–", "—", "..", "-"):
            low, found, high = text.partition(dash)
            if found:
                fixed = f"{low.strip()} to {high.strip(' .')}"
                message = f"{text!r}: a dash could be a minus sign; a range is said with 'to'."
                return Diagnostic(rule, message, place, f"Write {fixed}.", subject, (Edit(place, fixed),))
    if token.type == "CROSSED":
        fixed = text.replace("×", "x").replace("x", " x ")
        message = f"{text!r} is neither a number nor a word."
        return Diagnostic(
            rule,
            message,
            place,
            f"A size has spaces and one unit at the end: {fixed} mm.",
            subject,
            (Edit(place, fixed),),
        )
    if token.type == "HASHED":
        after = text.lstrip("#")
        if after[:1].isdigit():
            message = f"{text!r}: with a number sign the rest of the line would become a comment."
            return Diagnostic(rule, message, place, f"Write {after} without the sign.", subject, (Edit(place, after),))
        fixed = f"# {after}"
        return Diagnostic(
            rule,
            "A comment's # is followed by a space.",
            place,
            f"Write {fixed}.",
            subject,
            (Edit(place, fixed),),
        )
    if token.type == "SIGN":
        message = f"The sign {text!r} has no meaning here: a property is said in words, with its value after them."
        return Diagnostic(rule, message, place, "Leave the sign out.", subject, (Edit(place, ""),))
    if token.type == "CURLY":
        message = f"{text} is a typographic quotation mark."
        return Diagnostic(rule, message, place, 'Use the straight mark ".', subject, (Edit(place, '"'),))
    if token.type == "OPEN_TEXT":
        return Diagnostic(
            "unclosed-text", "This text has no closing quotation mark on its line.", place, 'Put a " at its end.', subject,
            (Edit(place, text.rstrip() + '"'),),
        )  # fmt: skip
    return Diagnostic(rule, "These are no characters of a text.", place, "Take them away.", subject, (Edit(place, ""),))
