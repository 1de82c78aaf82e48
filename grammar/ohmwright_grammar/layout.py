"""The canonical layout of a text: the same tokens and the same comments, each where it was, with even spacing, indentation and line breaks.

- Two blanks for each block; a brace stands at the end of its line; at most one empty line, none at the edges of a block.
- Outside of blocks every statement has a line of its own. Inside, facts that were written on one line stay together on one.
- A block that was written on one line stays on one. Whatever is longer than `WIDTH` is broken: between facts, into lines of at most
  `BROKEN_WIDTH`, and where a single fact is too long, after its commas.
"""

from __future__ import annotations

import re
from bisect import bisect_right

from ohmwright_grammar.records import record
from ohmwright_grammar.syntax import Block, Statement, Token

__all__ = ["BROKEN_WIDTH", "WIDTH", "comments_of", "laid_out"]

WIDTH = 100
BROKEN_WIDTH = 80  # shorter, so that a broken block reads easily, and so that breaking again changes nothing
_INDENT = "  "
_COMMENT = re.compile(r"#[^\n]*")


@record
class _Comment:
    offset: int
    text: str


def _start(token: Token) -> int:
    assert token.start_pos is not None and token.end_pos is not None
    return token.end_pos - 1 if token.type == "LBRACE" else token.start_pos


def _end(token: Token) -> int:
    assert token.start_pos is not None and token.end_pos is not None
    return token.start_pos + 1 if token.type == "COMMA" else token.end_pos


def _all_tokens(statements: tuple[Statement, ...]) -> list[Token]:
    found: list[Token] = []
    for statement in statements:
        found.extend(statement.tokens)
        if statement.block is not None:
            found.append(statement.block.opening)
            found.extend(_all_tokens(statement.block.statements))
            found.append(statement.block.closing)
    return found


def comments_of(text: str, statements: tuple[Statement, ...]) -> tuple[_Comment, ...]:
    """Return every comment of a text in order: whatever stands between tokens after a number sign."""
    found: list[_Comment] = []
    place = 0
    for token in _all_tokens(statements):
        _comments_between(text, place, _start(token), found)
        place = _end(token)
    _comments_between(text, place, len(text), found)
    return tuple(found)


def _comments_between(text: str, start: int, end: int, found: list[_Comment]) -> None:
    if "#" in text[start:end]:
        found.extend(_Comment(match.start(), match.group().rstrip()) for match in _COMMENT.finditer(text, start, end))


def laid_out(text: str, statements: tuple[Statement, ...], glued: bool = False) -> str:
    """Return the text (with LF line ends, read into `statements` without a problem) in canonical layout.

    With `glued` what is written in one stays so ("7b", a word that is kept as written); else there is a blank between number and unit.
    """
    lines = _Layout(text, statements, glued).block(statements, 0, len(text), 0)
    return "\n".join(lines) + "\n" if lines else ""


_OnLine = list[tuple[Statement, str]]


class _Layout:
    """Lays out one text."""

    def __init__(self, text: str, statements: tuple[Statement, ...], glued: bool) -> None:
        self.text = text
        self.glued = glued
        self.comments = comments_of(text, statements)
        self.offsets = [comment.offset for comment in self.comments]
        self.line_starts = [0, *(match.end() for match in re.finditer("\n", text))]

    def _line(self, offset: int) -> int:
        return bisect_right(self.line_starts, offset)

    def _between(self, start: int, end: int) -> tuple[_Comment, ...]:
        return self.comments[bisect_right(self.offsets, start - 1) : bisect_right(self.offsets, end - 1)]

    # blocks ------------------------------------------------------------------------------------------------------

    def block(self, statements: tuple[Statement, ...], start: int, end: int, depth: int) -> list[str]:
        """Return the lines of the statements and comments between two places."""
        lines: list[str] = []
        before = 0  # the line of the source on which the last item ended
        on_line: _OnLine = []  # statements that stay together on the line that is being made
        place = start
        for statement in statements:
            first, last = self._extent(statement)
            self._flush_if_parted(on_line, before, first, lines, depth)
            before = self._own_comments(place, first, before, lines, on_line, depth)
            inline = self._inline(statement)
            together = depth > 0 and bool(on_line) and inline is not None and before == self._line(first)
            if not together:
                self._flush(on_line, lines, depth)
                if before and self._line(first) - before > 1:
                    lines.append("")
            if inline is not None and depth > 0:
                on_line.append((statement, inline))
            else:
                lines.extend(self._statement(statement, inline, depth))
            place, before = last, self._line(last - 1)
        self._flush_if_parted(on_line, before, end, lines, depth, closing=True)
        self._own_comments(place, end, before, lines, on_line, depth)
        self._flush(on_line, lines, depth)
        return lines

    def _flush_if_parted(
        self, on_line: _OnLine, before: int, offset: int, lines: list[str], depth: int, closing: bool = False
    ) -> None:
        if on_line and (closing or self._line(offset) != before):
            self._flush(on_line, lines, depth)

    def _flush(self, on_line: _OnLine, lines: list[str], depth: int) -> None:
        """Write the statements that stay together: on one line where they fit, else on one each."""
        if not on_line:
            return
        indent = _INDENT * depth
        joined = "; ".join(inline for _, inline in on_line)
        if len(indent) + len(joined) <= WIDTH:
            lines.append(indent + joined)
        else:
            lines.extend(self._broken(on_line, depth))
        on_line.clear()

    def _broken(self, together: _OnLine, depth: int) -> list[str]:
        """Return statements that do not fit on one line on as many as they need."""
        indent = _INDENT * depth
        lines: list[str] = []
        line = ""
        for statement, inline in together:
            if line and len(indent) + len(line) + 2 + len(inline) <= BROKEN_WIDTH:
                line = f"{line}; {inline}"
                continue
            if line:
                lines.append(indent + line)
            line = ""
            if len(indent) + len(inline) <= BROKEN_WIDTH:
                line = inline
            else:
                lines.extend(self._statement(statement, inline, depth))
        return [*lines, indent + line] if line else lines

    def _own_comments(self, start: int, end: int, before: int, lines: list[str], on_line: _OnLine, depth: int) -> int:
        """Write the comments between two items: the first at the end of the line before it where it stood there, others alone."""
        for comment in self._between(start, end):
            self._flush(on_line, lines, depth)
            line = self._line(comment.offset)
            if lines and line == before:
                lines[-1] = f"{lines[-1]}  {comment.text}"
            else:
                if before and line - before > 1:
                    lines.append("")
                lines.append(f"{_INDENT * depth}{comment.text}")
            before = line
        return before

    # statements --------------------------------------------------------------------------------------------------

    @staticmethod
    def _extent(statement: Statement) -> tuple[int, int]:
        block = statement.block
        first = _start(statement.tokens[0]) if statement.tokens else _start(block.opening)  # type: ignore[union-attr]
        return first, _end(block.closing) if block is not None else _end(statement.tokens[-1])

    def _inline(self, statement: Statement) -> str | None:
        """Return the statement on one line, None where a comment or a block on several lines stands in it."""
        block = statement.block
        last = _start(block.opening) if block is not None else _end(statement.tokens[-1])
        if statement.tokens and self._between(_start(statement.tokens[0]), last):
            return None
        words = self._words(statement.tokens)
        if block is None:
            return words
        if self._line(_start(block.opening)) != self._line(_start(block.closing)):
            return None
        inside = [self._inline(inner) for inner in block.statements]
        if any(text is None for text in inside):
            return None
        return f"{words} {{ {'; '.join(str(text) for text in inside)} }}" if inside else f"{words} {{ }}"

    def _statement(self, statement: Statement, inline: str | None, depth: int) -> list[str]:
        indent = _INDENT * depth
        if inline is not None and len(indent) + len(inline) <= WIDTH:
            return [indent + inline]
        block = statement.block
        if block is None:
            return self._head(statement.tokens, indent)
        lines = self._head(statement.tokens, indent)
        lines[-1] += " {"
        opening = _start(block.opening)
        place = opening + 1
        head_end = _end(statement.tokens[-1]) if statement.tokens else opening
        ahead = [*self._between(head_end, opening)]
        line = self._line(opening)
        following = self._extent(block.statements[0])[0] if block.statements else _start(block.closing)
        for comment in self._between(place, following):
            if self._line(comment.offset) == line:
                ahead.append(comment)
                place = comment.offset + len(comment.text)
        if ahead:
            lines[-1] += f"  {ahead[0].text}"
        lines.extend(f"{indent}{_INDENT}{comment.text}" for comment in ahead[1:])
        lines.extend(self._inside(block, place, depth))
        lines.append(f"{indent}}}")
        return lines

    def _inside(self, block: Block, place: int, depth: int) -> list[str]:
        """Return the lines of a block; one that stood on a single line and is too long gets a line for each statement."""
        if self._line(_start(block.opening)) == self._line(_start(block.closing)):
            inlines = [(inner, self._inline(inner)) for inner in block.statements]
            return self._broken([(inner, inline) for inner, inline in inlines if inline is not None], depth + 1)
        return self.block(block.statements, place, _start(block.closing), depth + 1)

    def _head(self, tokens: tuple[Token, ...], indent: str) -> list[str]:
        """Return the words of a statement on one line, or broken after commas where they are too long or a comment stands there."""
        pieces: list[tuple[str, list[str]]] = []  # words up to a comma, and the comments after it
        begin = 0
        for index, token in enumerate(tokens):
            if token.type != "COMMA":
                continue
            ends = _start(tokens[index + 1]) if index + 1 < len(tokens) else _end(token)
            comments = self._between(_end(token), ends)
            pieces.append((self._words(tokens[begin : index + 1]), [comment.text for comment in comments]))
            begin = index + 1
        if begin < len(tokens):
            pieces.append((self._words(tokens[begin:]), []))
        return _fill(pieces, indent)

    def _words(self, tokens: tuple[Token, ...]) -> str:
        text = ""
        end = -1
        for token in tokens:
            if token.type == "COMMA":
                text += ","
            else:
                text += str(token) if not text or (self.glued and token.start_pos == end) else f" {token}"
            end = _end(token)
        return text


def _fill(pieces: list[tuple[str, list[str]]], indent: str) -> list[str]:
    """Put pieces on lines: on one where they fit, else broken after commas, with further lines indented by four blanks."""
    further = indent + _INDENT * 2
    lines: list[str] = []
    line = ""
    for words, comments in pieces:
        start = indent if not lines else further
        if line and len(start) + len(line) + 1 + len(words) > WIDTH:
            lines.append(start + line)
            start, line = further, ""
        line = f"{line} {words}" if line else words
        if comments:
            lines.append(f"{start}{line}  {comments[0]}")
            lines.extend(further + comment for comment in comments[1:])
            line = ""
    if line or not lines:
        lines.append((indent if not lines else further) + line)
    return lines
