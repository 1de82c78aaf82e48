"""A page in Markdown: how much fits on it, and how a text of a build file stands in it: as a text."""

from __future__ import annotations

import re

from ohmwright.reports.words import cut, visible

__all__ = ["Page", "md"]

MOST_BYTES = (
    1_000_000  # a job may show 1 MiB (1,048,576) for each step: "Workflow commands for GitHub Actions", docs.github.com
)
MOST_TEXT = 4000  # letters of one text
_CLOSING_ROOM = 20_000  # bytes kept for what stands at the end


class Page:
    """Lines until the page is full; what comes later is counted."""

    def __init__(self) -> None:
        self.lines: list[str] = []
        self.left = MOST_BYTES - _CLOSING_ROOM
        self.left_out = 0

    def add(self, *lines: str) -> None:
        """Add lines, whether there is room or not."""
        self.lines.extend(lines)
        self.left -= sum(len(line.encode("utf-8", "replace")) + 1 for line in lines)

    def fits(self, *lines: str) -> bool:
        """Add lines that belong together, all or none; tell whether they were."""
        if self.left < sum(len(line.encode("utf-8", "replace")) + 1 for line in lines):
            return False
        self.add(*lines)
        return True


# escaping ----------------------------------------------------------------------------------------------------------

_MARKUP = re.compile(r"[\\`*_#\[\]~$^]|^[-+=]|(?<=^[0-9])[.)]|^[0-9]{2,9}[.)]")
_CALL = re.compile(r"""([#!%&~$^](?=[\w"'+/])|[@:](?=\S))""")  # a mention, an issue, a milestone, a label, an emoji, a protocol
_NAMED = re.compile(r"(?i)(?<![a-z0-9])(gh-|www)(?=[.0-9])")  # an issue, an address
_BREAK = "&#8203;"  # a space of no width: the text reads the same and calls nobody


def md(text: str) -> str:
    """Return a text as it reads in Markdown, whatever it holds: no markup, no HTML, no cell or line of a table, no mention, issue or link.

    A backslash makes a sign plain, and an entity is never markup (CommonMark 0.31, 2.4 and 2.5). What services put on top of it acts on plain text, so
    that a space of no width stands between.

    >>> md("**a** <b> | @you #1")
    '\\\\*\\\\*a\\\\*\\\\* &lt;b&gt; &#124; @&#8203;you \\\\#&#8203;1'
    """
    plain = visible(cut(" ".join(text.split()), MOST_TEXT))
    broken = _NAMED.sub("\\1\u200b", _CALL.sub("\\1\u200b", plain))
    escaped = _MARKUP.sub(lambda found: f"{found[0][:-1]}\\{found[0][-1]}", broken)
    for sign, entity in (("&", "&amp;"), ("<", "&lt;"), (">", "&gt;"), ("|", "&#124;"), ("\u200b", _BREAK)):
        escaped = escaped.replace(sign, entity)
    return escaped
