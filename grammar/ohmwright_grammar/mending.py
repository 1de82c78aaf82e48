"""Braces that do not balance: the missing one is put where the layout says that it belongs, so that the rest of the file is read all the same.

A block still open at a statement that begins in column 1 lacks its closing brace above that statement; a closing brace without a partner
belongs to the last statement that begins in column 1, which lacks its opening one.
"""

from __future__ import annotations

from ohmwright_grammar.diagnostics import Diagnostic, Related
from ohmwright_grammar.parser_library import Token
from ohmwright_grammar.spans import Edit, Span
from ohmwright_grammar.syntax import span_of

__all__ = ["mend"]

_MOST_WORDS = 3


def mend(tokens: list[Token], path: str, problems: list[Diagnostic]) -> list[Token]:
    """Return the tokens with braces that balance, and note what was put in or left out."""
    work = _Mending(tokens, path)
    work.run()
    problems.extend(sorted(work.problems, key=lambda problem: (problem.span.line, problem.span.column)))
    return work.mended


class _Mending:
    def __init__(self, tokens: list[Token], path: str) -> None:
        self.tokens = tokens
        self.path = path
        self.problems: list[Diagnostic] = []
        self.mended: list[Token] = []
        self.open: list[tuple[Token, list[Token]]] = []  # each brace, with the first words of its statement
        self.head: list[Token] = []
        self.last_head = -1  # where in `mended` the last statement in column 1 begins, if it has no block so far

    def run(self) -> None:
        for index, token in enumerate(self.tokens):
            if token.type == "_SEP":
                self.head = []
            elif token.type == "LBRACE":
                self.open.append((token, self.head or [token]))
                self.head, self.last_head = [], -1
            elif token.type == "RBRACE":
                if not self.open:
                    self._stray(token)
                    continue
                self.open.pop()
                self.head = []
            elif not self.head:
                self.head = [token]
                if token.column == 1:
                    if self.open and self._closes_before(index):
                        while self.open:
                            self._unclosed(*self.open.pop(), follower=token)
                            self.mended.append(Token.new_borrow_pos("RBRACE", "}", token))
                    if not self.open:
                        self.last_head = len(self.mended)
            elif len(self.head) < _MOST_WORDS:
                self.head.append(token)
            self.mended.append(token)
        while self.open:
            self._unclosed(*self.open.pop(), follower=None)
            self.mended.append(Token.new_borrow_pos("RBRACE", "}", self.tokens[-1]))

    def _closes_before(self, index: int) -> bool:
        """Tell whether the statement at `index`, in column 1 with blocks open, shows that a brace is missing above it.

        It does where the braces from here to the end do not close what is open; a file whose blocks are not indented at all closes
        them.
        """
        depth = len(self.open)
        for token in self.tokens[index:]:
            if token.type == "LBRACE":
                depth += 1
            elif token.type == "RBRACE":
                depth -= 1
        return depth > 0

    # a closing brace too many ----------------------------------------------------------------------------------------

    def _stray(self, token: Token) -> None:
        """Put the opening brace where it belongs if a statement without a block can be the owner; else leave the closing one out."""
        owner = self._owner()
        if owner is None:
            place = span_of(self.path, token)
            self.problems.append(
                Diagnostic(
                    "unclosed-block",
                    "This closing brace has no opening brace before it.",
                    place,
                    "Take it away, or put an opening brace after the words that the block belongs to.",
                    edits=(Edit(place, ""),),
                )
            )
            self.mended.append(Token.new_borrow_pos("_SEP", ";", token))
            return
        first, after = owner
        before = self.mended[after - 1]
        words = _words(self.mended[first:after])
        spot = Span(self.path, before.end_line or 1, before.end_column or 1, before.end_line or 1, before.end_column or 1)
        self.problems.append(
            Diagnostic(
                "unclosed-block",
                f"The block of {words!r} is closed, but not opened.",
                span_of(self.path, self.mended[first]).to(span_of(self.path, before)),
                f"Put an opening brace after {' '.join(str(item) for item in self.mended[first:after])!r}.",
                edits=(Edit(spot, " {"),),
                related=(Related("It is closed here.", span_of(self.path, token)),),
            )
        )
        brace = Token("LBRACE", "{", None, before.end_line, before.end_column, before.end_line, before.end_column)
        self.mended[after:after] = [brace]
        self.mended.append(token)
        self.head, self.last_head = [], -1

    def _owner(self) -> tuple[int, int] | None:
        """Return where the statement begins that a stray brace closes, and where its head ends."""
        from ohmwright_grammar.kinds import HEADS, kind_of

        first = self.last_head
        if first < 0:
            return None
        end = first
        while end < len(self.mended) and self.mended[end].type != "_SEP":
            end += 1
        line = self.mended[first:end]
        words = next((words for words in HEADS if [str(token).lower() for token in line[: len(words)]] == list(words)), None)
        if words is None:
            return None
        if any(token.type != "_SEP" and token.line != line[0].line for token in self.mended[end:]):
            return first, end  # the facts stand on lines of their own: the whole first line is the head
        ends = next((place for place, token in enumerate(line[:-2]) if str(token).lower() == "to"), -1)
        if ends > 0 and any(str(token).lower() == "from" for token in line[:ends]):
            return first, first + ends + 2
        named = len(words) + (1 if kind_of(" ".join(words)).NAMED else 0)
        return (first, first + named) if len(line) > named else None

    # a closing brace that is missing ---------------------------------------------------------------------------------

    def _unclosed(self, brace: Token, head: list[Token], follower: Token | None) -> None:
        place = span_of(self.path, head[0]).to(span_of(self.path, brace))
        words = _words(head)
        related: tuple[Related, ...] = ()
        if follower is not None:
            spot = span_of(self.path, follower)
            related = (Related("This statement cannot belong to the block.", spot),)
            edit = Edit(Span(self.path, spot.line, spot.column, spot.line, spot.column), "}\n")
            remedy = f"Put a closing brace before line {spot.line}."
        else:
            last = self.tokens[-1]
            if last.type == "_SEP" and len(self.tokens) > 1:
                last = self.tokens[-2]
            end = span_of(self.path, last)
            edit = Edit(Span(self.path, end.end_line, end.end_column, end.end_line, end.end_column), " }")
            remedy = "Put a closing brace at the end of its facts."
        message = (
            f"The block of {words!r} is not closed." if head[0] is not brace else "The block that opens here is not closed."
        )
        self.problems.append(Diagnostic("unclosed-block", message, place, remedy, edits=(edit,), related=related))


def _words(tokens: list[Token]) -> str:
    """Return the first words of a statement, up to its name."""
    words: list[str] = []
    for token in tokens[:_MOST_WORDS]:
        if token.type == "COMMA":
            break
        words.append(str(token))
        if token.type == "TEXT":
            break
    return " ".join(words[:2] if tokens[0].type == "WORD" and len(words) > 1 else words)
