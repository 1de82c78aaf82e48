"""The rules of all packs, as a list or a page for each: for a terminal, as Markdown, and as the document that `schemas/basis.json` describes."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from ohmwright_grammar.records import record

from ohmwright.references import Reference
from ohmwright.reports.words import Ink, clean, counted, labelled, wrapped
from ohmwright.rules import Rule
from ohmwright.text_rules import OWN_FAMILIES

__all__ = ["Page", "write_json", "write_list", "write_list_markdown", "write_page", "write_page_markdown"]

Codes = Sequence[tuple[str, str]]

_STATUS = {
    "read": "read at the source",
    "secondary": "read at a secondary source",
    "from-memory": "from memory, not verified: at most a warning by default",
    "common-practice": "what practitioners agree on",
    "computed": "computed from its inputs",
}


@record
class Page:
    """One rule with the text of its page ("" where it has none); `numbers` are those on which its bases disagree."""

    rule: Rule
    pack: str
    version: str
    text: str
    numbers: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = ()


# a list ------------------------------------------------------------------------------------------------------------


def write_list(pages: Iterable[Page], not_covered: Codes, colour: bool = False) -> str:
    """Return all rules by family, each with the severities of its grades and what it rests on."""
    ink = Ink(colour)
    lines: list[str] = []
    count = 0
    for family, rows in groupby(pages, key=lambda page: page.rule.family):
        lines.append(ink.bold(family))
        for page in rows:
            count += 1
            rule = page.rule
            lines.extend(wrapped(f"{rule.id} ({_severities(rule)}): {rule.title}", 2, 2))
            if rule.family not in OWN_FAMILIES:
                lines.extend(wrapped(_sources(rule), 6, 2))
        lines.append("")
    lines.extend(wrapped(f"{counted(count, 'rule')}. Print the page of one with: ohmwright basis RULE"))
    if not_covered:
        codes = ", ".join(code for code, _ in not_covered)
        lines.append("")
        lines.extend(wrapped(f"Not covered by any rule ({counted(len(not_covered), 'code')} of the fault catalogue): {codes}."))
    return "\n".join(lines).rstrip() + "\n"


def _severities(rule: Rule) -> str:
    return ", ".join(
        dict.fromkeys(severity.word for severity in sorted((grade.severity for grade in rule.grades), reverse=True))
    )


def _sources(rule: Rule) -> str:
    return "; ".join(
        f"{reference}{' (from memory)' if reference.status == 'from-memory' else ''}" for reference in rule.references
    )


def write_list_markdown(pages: Iterable[Page], not_covered: Codes) -> str:
    """Return all rules as a table for each family."""
    lines = ["# Rules", ""]
    for family, rows in groupby(pages, key=lambda page: page.rule.family):
        lines += [
            f"## {_cell(family)}",
            "",
            "| rule | what it finds | severity | covers | rests on |",
            "| --- | --- | --- | --- | --- |",
        ]
        for page in rows:
            rule = page.rule
            cells = (f"`{rule.id}`", rule.title, _severities(rule), " ".join(rule.covers), _sources(rule))
            lines.append("| " + " | ".join(_cell(cell) for cell in cells) + " |")
        lines.append("")
    if not_covered:
        lines += ["## Not covered by any rule", "", "| code | reason |", "| --- | --- |"]
        lines += [f"| {_cell(code)} | {_cell(reason)} |" for code, reason in not_covered]
    return "\n".join(lines).rstrip() + "\n"


def _cell(text: str) -> str:
    return clean(" ".join(text.split())).replace("|", "\\|").replace("<", "&lt;")


# a page ------------------------------------------------------------------------------------------------------------


def write_page(page: Page, colour: bool = False) -> str:
    """Return the page of one rule, for a terminal."""
    ink = Ink(colour)
    rule = page.rule
    lines = [ink.bold(line) for line in wrapped(f"{rule.id}: {rule.title}", 0, 2)]
    facts = [f"family {rule.family}", f"judges each {rule.subject}"]
    if rule.covers:
        facts.append(f"covers {', '.join(rule.covers)} of the fault catalogue")
    facts.append(f"from {page.pack} {page.version}")
    lines.extend(wrapped("; ".join(facts)))
    lines += ["", ink.bold("Grades")]
    for grade in rule.grades:
        lines.extend(wrapped(f"{grade.name} ({grade.severity.word}): {grade.condition}", 2, 2))
    if page.text:
        lines.append("")
        lines.extend(_markdown(page.text, ink))
        while lines[-1] == "":
            lines.pop()
    lines += ["", ink.bold("Rests on")]
    for reference in rule.references:
        lines.extend(wrapped(f"{reference} ({_STATUS[reference.status]})", 2, 2))
    lines += ["", ink.bold("Bases")]
    lines.extend(wrapped(", ".join(rule.bases), 2, 2))
    for name, values in page.numbers:
        lines.append(f"  where they disagree: {name.replace('_', ' ')}")
        for basis, value in values:
            lines.extend(labelled(basis, value, 6, 18))
    return "\n".join(lines).rstrip() + "\n"


_FENCE = re.compile(r"^```\s*(.*)$")


def _markdown(text: str, ink: Ink) -> Iterator[str]:
    """Turn the Markdown of a page into lines: paragraphs are wrapped, blocks of code are set in, the first heading is left out."""
    paragraph: list[str] = []
    inside = False
    for line in [*text.splitlines(), ""]:
        fence = _FENCE.match(line)
        if inside:
            if fence:
                inside = False
                yield ""
            else:
                yield f"    {clean(line)}".rstrip()
            continue
        if line.strip() and not fence and not line.startswith("#") and not _begins_item(line):
            paragraph.append(line)
            continue
        if paragraph:
            yield from _paragraph(paragraph, ink)
            paragraph = []
        if fence:
            inside = True
            yield ink.bold(_title_of_block(fence[1]))
        elif line.startswith("##"):
            yield ink.bold(clean(line.lstrip("#").strip()))
        elif _begins_item(line):
            paragraph = [line]


def _begins_item(line: str) -> bool:
    return line.lstrip().startswith(("- ", "* ", "|"))


def _paragraph(lines: list[str], ink: Ink) -> Iterator[str]:
    text = _plain(" ".join(lines))
    if lines[0].startswith("|"):
        yield clean(lines[0])
        return
    if _begins_item(lines[0]):
        yield from wrapped(f"- {text.lstrip()[2:]}", 0, 2)
        return
    label = re.match(r"^\*\*(.+?)\*\*\s*", " ".join(lines))
    written = list(wrapped(text))
    if label and written and written[0].startswith(label[1]):
        written[0] = f"{ink.bold(label[1])}{written[0][len(label[1]) :]}"
    yield from written
    yield ""


def _plain(text: str) -> str:
    text = re.sub(r"\*\*(.+?)\*\*", r"\1", text)
    text = re.sub(r"`([^`]+)`", r"\1", text)
    return re.sub(r"\[([^\]]+)\]\(([^)]+)\)", r"\1 (\2)", text)


def _title_of_block(info: str) -> str:
    words = info.split()
    if words[:1] == ["rig"] and len(words) > 1:
        what = {"passes": "A build that passes", "fails": "A build that fails"}.get(words[1], "A build")
        return f"{what} (with --states reached)" if "reached" in words else what
    return "For instance"


def write_page_markdown(page: Page) -> str:
    """Return the page of one rule as Markdown: its own text, its grades, and what it rests on."""
    rule = page.rule
    lines = [page.text.rstrip() if page.text else f"# {rule.title}", ""]
    lines += [f"**Rule.** `{rule.id}`, family {rule.family}, covers {', '.join(rule.covers) or 'no code'}.", ""]
    lines += ["| grade | severity | when |", "| --- | --- | --- |"]
    lines += [f"| {_cell(grade.name)} | {grade.severity.word} | {_cell(grade.condition)} |" for grade in rule.grades]
    lines += ["", "| rests on | status |", "| --- | --- |"]
    lines += [f"| {_cell(str(reference))} | {_STATUS[reference.status]} |" for reference in rule.references]
    if page.numbers:
        names = [basis for basis, _ in page.numbers[0][1]]
        lines += ["", "| where the bases disagree | " + " | ".join(names) + " |", "| --- " * (len(names) + 1) + "|"]
        lines += [
            f"| {name.replace('_', ' ')} | " + " | ".join(_cell(value) for _, value in values) + " |"
            for name, values in page.numbers
        ]
    return "\n".join(lines).rstrip() + "\n"


# for programs ------------------------------------------------------------------------------------------------------


def write_json(version: str, pages: Iterable[Page], not_covered: Codes) -> str:
    """Return the document of the rules."""
    from ohmwright.reports.json_report import SCHEMA, laid_out

    document = {
        "ohmwright": version,
        "schema": SCHEMA,
        "rules": [_rule(page) for page in pages],
        "not_covered": [{"code": code, "reason": reason} for code, reason in not_covered],
    }
    return laid_out(document)


def _rule(page: Page) -> dict[str, object]:
    from ohmwright.reports.json_report import reference_in_json

    rule = page.rule
    references: tuple[Reference, ...] = rule.references
    return {
        "rule": rule.id,
        "title": rule.title,
        "family": rule.family,
        "subject": rule.subject,
        "covers": list(rule.covers),
        "pack": page.pack,
        "grades": [
            {"grade": grade.name, "severity": grade.severity.word, "condition": grade.condition} for grade in rule.grades
        ],
        "references": [reference_in_json(reference) for reference in references],
        "bases": list(rule.bases),
    }
