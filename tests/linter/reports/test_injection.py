"""Whatever stands in a build file, in its settings or in the name of a file: each output keeps its shape, and runs, calls or hides nothing.

The shape of a report is that of the same report with harmless words: elements, keys, commands, headings, cells. Each format is read back by a reader of
others: XML by libxml2 (lxml), Markdown by GitHub's own converter (cmarkgfm), JSON by the standard library.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from html import unescape
from pathlib import Path
from typing import Any

import cmarkgfm
import pytest
from cmarkgfm.cmark import Options
from hypothesis import example, given, settings
from hypothesis import strategies as st
from lxml import etree
from ohmwright.reports import gitlab, json_report, junit, markdown, markdown_page, sarif, text, workflow_commands
from ohmwright.reports.words import clean, visible
from ohmwright.results import Result

NASTY = [
    "<script>alert(1)</script>", "<img src=x onerror=alert(1)>", "<!--", "-->", "]]>", "<![CDATA[", "</failure>", "&lt;", "&#x3c;", '"', "'", "`", "``", "```",
    "|", "\\|", "\\", "**", "__", "~~", "[a](https://evil.example)", "![a](x)", "[[a]]", "](x", "[^1]", "<https://evil.example>", "https://evil.example/x",
    "www.evil.example", "me@evil.example", "@everyone", "#1", "GH-1", "owner/repo#12", "!12", "%12", "~label", "$1", "&1", "^alert", ":smile:", ":+1:", "$x$",
    "# x", "- x", "+ x", "1. x", "12) x", "> x", "=== ", "---", "    x", "\n", "\r\n", "\n\n", "\n# x", "\n/close", "::error::x", "\n::stop-commands::x", "##[group]x",
    "::add-mask::x", "##vso[x]", "###", ":::", "%0A", "%25", ",title=x", "::", "{0}", "{", "}", "\x00", "\x07", "\x1b[31m", "\x1b]8;;x\x07", "\x85", "\u2028",
    "\u202e", "\u2066", "\u200b", "\ufeff", "\ufffe", "\ud800", "🔋", "ä", "=1+1", "../../x", "__proto__", "\t", " ", "a b",
]  # fmt: skip
TEXTS = st.lists(st.one_of(st.sampled_from(NASTY), st.text(max_size=4), st.just("a")), min_size=1, max_size=6).map("".join)


Make = Callable[..., Result]
PLAIN = "word"  # what the shape of a report is held against


def everywhere(check: Callable[..., None]) -> Any:
    """Run a check on generated texts and on each nasty one by itself and twice in a row."""
    for words in NASTY:
        check = example(words=words)(check)
        check = example(words=f"a{words}b{words}")(check)
    return settings(max_examples=150, deadline=None)(given(words=TEXTS)(check))


def shape(value: Any) -> Any:
    """Return the keys and kinds of a document, without its texts and numbers."""
    if isinstance(value, dict):
        return {key: shape(inside) for key, inside in value.items()}
    if isinstance(value, list):
        return [shape(item) for item in value]
    return type(value).__name__


def texts_in(value: Any, leave_out: tuple[str, ...] = ()) -> list[str]:
    if isinstance(value, dict):
        return [words for key, inside in value.items() if key not in leave_out for words in texts_in(inside, leave_out)]
    if isinstance(value, list):
        return [words for item in value for words in texts_in(item, leave_out)]
    return [value] if isinstance(value, str) else []


# lines that a service takes for commands -----------------------------------------------------------------------------

WRITERS = {"text": text, "json": json_report, "sarif": sarif, "markdown": markdown, "junit": junit, "gitlab": gitlab}


@everywhere
def test_no_output_but_one_holds_a_command(words: str, result_of: Make, commands: Any) -> None:
    """Each may be printed into the log of a job, whose service looks for commands in it."""
    result = result_of(words, path=f"{words}.rig")
    for name, writer in WRITERS.items():
        assert commands(writer.write(result)) == [], name  # type: ignore[attr-defined]


def test_reader_of_commands_finds_them(commands: Any) -> None:
    log = "a\n  ::error file=a%2Cb,line=1::x%0Ay\n::nothing::x\nb ##[group]c\n"
    assert commands(log) == [("error", {"file": "a,b", "line": "1"}, "x\ny"), ("group", {}, "c")]


@everywhere
def test_terminal(words: str, result_of: Make) -> None:
    printed = text.write(result_of(words, path=f"{words}.rig"), text.TextOptions(working=True, assumed=True))
    assert all(line.isprintable() for line in printed.split("\n"))
    assert clean(words).isprintable()


@everywhere
def test_commands_are_those_that_were_meant(words: str, result_of: Make, commands: Any) -> None:
    if not words.strip():
        return  # blanks are as good as nothing, for which there is no line
    written = workflow_commands.write(result_of(words, path=f"{words}.rig"))
    plain = workflow_commands.write(result_of(PLAIN))
    assert written.count("\n") == plain.count("\n")
    found = commands(written)
    assert [(name, list(said)) for name, said, _ in found] == [(name, list(said)) for name, said, _ in commands(plain)]
    assert len(found) == written.count("\n")
    assert {said["file"] for _, said, _ in found if "file" in said} == {visible(f"{words}.rig")}
    assert all(line.isprintable() for _, _, message in found for line in message.split("\n"))


# documents -----------------------------------------------------------------------------------------------------------


@everywhere
def test_sarif(words: str, result_of: Make) -> None:
    if not words.strip():
        return  # blanks are as good as nothing, for which there is no line
    document = json.loads(sarif.write(result_of(words, path=f"{words}.rig")))
    assert shape(document) == shape(json.loads(sarif.write(result_of(PLAIN))))
    for said in texts_in(
        document, ("insertedContent", "help")
    ):  # a text to put in is put in as it is; help is Markdown of a rule
        assert said.isprintable()
    for message in messages_in(document):
        assert "](" not in message
        assert not re.search(r"(?<!\{)(\{\{)*\{[0-9]+\}(?!\})", message)


def messages_in(value: Any) -> list[str]:
    if isinstance(value, dict):
        own = [value["message"]["text"]] if "message" in value else []
        return own + [words for inside in value.values() for words in messages_in(inside)]
    return [words for item in value for words in messages_in(item)] if isinstance(value, list) else []


@everywhere
def test_gitlab(words: str, result_of: Make) -> None:
    if not words.strip():
        return  # blanks are as good as nothing, for which there is no line
    issues = json.loads(gitlab.write(result_of(words, path=f"{words}.rig")))
    assert shape(issues) == shape(json.loads(gitlab.write(result_of(PLAIN))))
    assert all(said.isprintable() for issue in issues for said in (issue["description"], issue["check_name"]))
    assert len({issue["fingerprint"] for issue in issues}) == len(issues)


@everywhere
def test_junit(words: str, result_of: Make) -> None:
    if not words.strip():
        return  # blanks are as good as nothing, for which there is no line
    root = etree.fromstring(junit.write(result_of(words, path=f"{words}.rig")).encode("ascii", "xmlcharrefreplace"))
    plain = etree.fromstring(junit.write(result_of(PLAIN)).encode())
    assert [(item.tag, list(item.attrib)) for item in root.iter()] == [(item.tag, list(item.attrib)) for item in plain.iter()]
    assert root.find("testsuite").get("name") == visible(f"{words}.rig")
    for item in root.iter():
        for said in (item.text or "", *item.attrib.values()):
            assert all(line.isprintable() for line in said.split("\n"))


# Markdown ------------------------------------------------------------------------------------------------------------

OPTIONS = Options.CMARK_OPT_UNSAFE | Options.CMARK_OPT_FOOTNOTES  # HTML is let through here: none may be there


def html(summary: str) -> str:
    """Convert as GitHub does (tables, autolinks, strikethrough, task lists), before its own cleaning."""
    return str(cmarkgfm.github_flavored_markdown_to_html(summary, OPTIONS))


def tags(page: str) -> list[str]:
    return re.findall(r"<[^>]*>", page)


@everywhere
def test_markdown(words: str, result_of: Make) -> None:
    if not words.strip():
        return  # blanks are as good as nothing, for which there is no line
    result = result_of(words, path=f"{words}.rig")
    page, plain = html(markdown.write(result)), html(markdown.write(result_of(PLAIN)))
    assert tags(page) == tags(plain)
    assert "<a" not in page
    cells = [unescape(re.sub(r"<[^>]*>", "", cell)).replace("\u200b", "") for cell in re.findall(r"<td.*?>(.*?)</td>", page)]
    assert cells[:2] == [visible(" ".join(f"{words}.rig".split())), visible(" ".join(words.split()))]
    read = unescape(re.sub(r"<[^>]*>", " ", page)).replace("\u200b", "")
    said = visible(" ".join(words.split()))
    assert " ".join(said.split()) in " ".join(read.split())


# What services make of plain text after the conversion, as their manuals tell it (from memory): mentions, issues, merge requests, labels, emoji, addresses.
SERVICES = re.compile(r"""(?<!\w)[@#!%~$&^][\w"]|:[a-z0-9_+-]+:|\bGH-\d|://|\bwww\.|\w@\w""", re.IGNORECASE)


@everywhere
def test_markdown_calls_nobody(words: str, result_of: Make) -> None:
    page = unescape(re.sub(r"<[^>]*>", " ", html(markdown.write(result_of(words)))))
    assert SERVICES.findall(page) == []


def test_what_services_look_for_is_looked_for() -> None:
    for words in ("@everyone", "#1", "GH-1", "!12", "%12", "~label", ":smile:", "https://x", "www.x", "me@x"):
        assert SERVICES.search(f"a {words} b"), words


@pytest.mark.parametrize("words", ["- x", "# x", "1. x", "12) x", "> x", "+ x", "---", "| a |", "```", "=== "])
def test_text_at_the_beginning_of_a_line_is_a_text(words: str) -> None:
    assert tags(html(markdown_page.md(words))) == ["<p>", "</p>"]
    assert tags(html(words)) != ["<p>", "</p>"] or words in ("| a |", "=== ")  # these need a line before them


# the whole way -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "words", [words for words in NASTY if "\n" not in words and "\x00" not in words and "\ud800" not in words]
)
def test_build_with_such_names_and_titles(words: str, command: Any, kit: Any, sample_installed: Any, commands: Any) -> None:
    """Read from a file, in every output of one run; what the language refuses is told, and told as safely."""
    name = words.replace('"', "").replace("\r", "")
    text = (
        kit.bench.replace("Bench", name or "x").replace("wire feed", f'wire "{name} feed"').replace('"lamp on"', f'"{name} on"')
    )
    folder = Path(words.replace("/", "").strip() or "x")
    folder.mkdir()
    (folder / "my bo\u00e4t.rig").write_text(f"{text}# {words}\n", encoding="utf-8", newline="")
    asked = [words for format in WRITERS for words in ("--output", format, "--to", f"told.{format}")]
    ran = command("inspect", f"./{folder}", *asked, "--output", "github")
    assert ran.code in (1, 2)
    for format in WRITERS:
        assert commands(Path(f"told.{format}").read_text(encoding="utf-8")) == [], format
    assert len(commands(ran.out)) == ran.out.count("\n") > 1
    assert commands(ran.err) == []
    for format in ("json", "sarif", "gitlab"):
        json.loads(Path(f"told.{format}").read_text(encoding="utf-8"))
    etree.parse("told.junit")
    assert "<script" not in html(Path("told.markdown").read_text(encoding="utf-8"))
