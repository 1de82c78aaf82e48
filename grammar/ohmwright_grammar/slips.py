"""Slips of the pen that must never silently become another number: each gets a message with the edit that mends it."""

from __future__ import annotations

from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.spans import Edit
from ohmwright_grammar.syntax import Token, span_of

__all__ = ["SLIPS", "mended", "slip"]

SLIPS = frozenset({"DECIMAL_COMMA", "DASHED", "CROSSED", "HASHED", "SIGN", "CURLY", "OPEN_TEXT", "STRAY"})


def mended(token: Token) -> Token | None:
    """Return what a token certainly means: itself where it is no slip, None where that cannot be told (a sign means nothing at all).

    The slip is an error all the same; what it certainly means is read so that one slip is not followed by complaints about what it hid.
    """
    if token.type not in SLIPS:
        return token
    text = str(token)
    if token.type == "DECIMAL_COMMA":
        fixed = _with_point(text)
        return Token.new_borrow_pos("NUMBER", fixed, token) if fixed else None
    if token.type == "HASHED" and text.lstrip("#").isdigit():
        return Token.new_borrow_pos("NUMBER", text.lstrip("#"), token)
    return None


def _with_point(text: str) -> str:
    """Return a figure with its decimal comma as a point, "" where the comma may part thousands or two numbers."""
    whole, comma, decimals = text.partition(",")
    if not comma or "," in decimals or "." in text:
        return ""
    if len(decimals) == 3 and whole not in ("0", "-0", "+0"):
        return ""
    return f"{whole}.{decimals}"


def slip(token: Token, path: str, subject: str, around: tuple[Token, ...] = ()) -> Diagnostic | None:
    """Return what is wrong with a token that is a slip, else None; `around` are the tokens of its statement."""
    if token.type not in SLIPS:
        return None
    text = str(token)
    place = span_of(path, token)
    rule = "unreadable-text"
    if token.type == "DECIMAL_COMMA":
        pieces = text.split(",")
        if len(pieces) == 2 and "." not in text:
            message = f"{text!r} could mean two numbers: decimals stand after a point, and thousands are not parted."
            fixed = _with_point(text)
            if not fixed:
                remedy = f"Write {pieces[0]}{pieces[1]}, or {pieces[0]}.{pieces[1]}."
                return Diagnostic(rule, message, place, remedy, subject)
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
        if token is not next((item for item in around if item.type == "CURLY"), token):
            return None  # the other mark of a pair: told with the first
        marks = [item for item in around if item.type == "CURLY"] or [token]
        message = f"{text} is a typographic quotation mark."
        edits = tuple(Edit(span_of(path, mark), '"') for mark in marks)
        return Diagnostic(rule, message, place, 'Use the straight mark ".', subject, edits)
    if token.type == "OPEN_TEXT":
        certain = not any(sign in text for sign in ",;{}#")
        return Diagnostic(
            "unclosed-text", "This text has no closing quotation mark on its line.", place, 'Put a " at its end.', subject,
            (Edit(place, text.rstrip() + '"'),) if certain else (),
        )  # fmt: skip
    return Diagnostic(rule, "These are no characters of a text.", place, "Take them away.", subject, (Edit(place, ""),))
