"""Whatever stands in the fields of a build, in the settings or in the names of files: each output of the command line keeps its shape, and runs, calls,
hides or steers nothing.

What the writers do with every sign is held in tests/linter/reports; here whole runs are, from the file to what is written, through every field that the
lexicon knows.
"""

from __future__ import annotations

import json
import os
import re
import sys
from importlib.resources import files
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from jsonschema import Draft202012Validator
from ohmwright.reports import WRITERS

sys.path.insert(0, str(Path(__file__).parents[1]))

from hostile.attacking import BUILD, Repository
from hostile.fields import PLACES, build_with, settings_with, toml

PAYLOADS = {
    "HTML": "<script>alert(1)</script><img src=x onerror=alert(1)>",
    "HTML that closes": "</td></tr></table></details><h1>x</h1><!-- ",
    "SVG": "<svg onload=alert(1)><foreignObject><a xlink:href=javascript:alert(1)>x</a></foreignObject></svg>",
    "entities": "&lt;b&gt; &#x3c;script&#x3e; &nbsp; %3Cscript%3E",
    "Markdown": "**x** `y` [a](javascript:alert(1)) ![b](https://evil.example/b.png) | c | ~~d~~",
    "Markdown that calls": "@everyone #1 GH-1 owner/repo#2 !3 https://evil.example www.evil.example me@evil.example :x:",
    "CSV formula": "=cmd|' /C calc'!A1",
    "CSV formula with another sign": "@SUM(1+1)*cmd|x",
    "workflow command": "::error file=a.rig,line=1::forged",
    "workflow command that ends commands": "::stop-commands::x",
    "workflow command of old": "##[group]forged ##vso[task.setvariable variable=x]y",
    "workflow command in code": "%0A::error::forged%0D%0A",
    "XML": "]]></failure><testcase name='forged'/><!ENTITY x SYSTEM 'file:///etc/passwd'> &x;",
    "shell": "$(touch pwned); `touch pwned` && touch pwned | tee pwned > pwned",
    "shell with marks": "'; touch pwned; '",
    "template": "{{ 7*7 }} ${{ github.token }} ${7*7} #{7*7} %s %n {0.__class__}",
    "placeholder": "{0} {1} {{2}} [x](1)",
    "path": "../../../../tmp/pwned",
    "option": "--to=pwned",
    "prototype": "__proto__",
    "constructor": "constructor.prototype",
    "device": "NUL",
    "terminal": "\x1b[31m\x1b]0;pwned\x07\x1b]8;;https://evil.example\x1b\\\x9b2J",
    "terminal that wipes": "x\x08\x08\x7f\x1b[2K\x1b[1A",
    "bidirectional": "a\u202eb\u2066c\u2069d\u061c",
    "hidden": "a\u200bb\u00adc\ufeffd\u2060e\U000e0041f",
    "line ends of another kind": "a\x0bb\x0cc\x85d\u2028e\u2029f",
    "marks over marks": "Z\u0351\u036b\u0343\u036a\u0302\u036b\u033d\u034f\u0334\u0319\u0324\u031e",
    "letters that look alike": "pаypаl",
    "long": "W" * 400,
}  # fmt: skip

FORMATS = {
    "text": "a.txt",
    "json": "a.json",
    "sarif": "a.sarif",
    "github": "a.log",
    "markdown": "a.md",
    "junit": "a.xml",
    "gitlab": "a.gl.json",
}


def test_every_output_is_held_here() -> None:
    assert set(FORMATS) == set(WRITERS)
    assert PLACES > 400


def outputs(repository: Repository, *paths: str) -> dict[str, str]:
    arguments = [word for name, file in FORMATS.items() for word in ("--output", name, "--to", file)]
    answer = repository.run(
        "inspect", *paths, *arguments, "--today", "2026-01-01", "--working", "--assumed", writes=tuple(FORMATS.values())
    )
    assert answer.code in (0, 1, 2)
    assert not (repository.root / "pwned").exists()
    return {name: (repository.root / file).read_text(encoding="utf-8") for name, file in FORMATS.items()}


def keys(value: Any, way: str = "") -> set[str]:
    """Return the ways to every value of a document, by the keys on them."""
    if isinstance(value, dict):
        return {found for key, inside in value.items() for found in keys(inside, f"{way}/{key}")}
    if isinstance(value, list):
        return {found for item in value for found in keys(item, f"{way}/-")} or {f"{way}/-"}
    return {way}


def tags_of_markdown(text: str) -> set[str]:
    import cmarkgfm
    from cmarkgfm.cmark import Options

    page = cmarkgfm.github_flavored_markdown_to_html(text, Options.CMARK_OPT_UNSAFE | Options.CMARK_OPT_FOOTNOTES)
    return set(re.findall(r"<[^>]*>", page))


def shapes(written: dict[str, str]) -> dict[str, set[Any]]:
    """Return what may not hang on any text: keys, elements, commands, tags."""
    found: dict[str, set[Any]] = {name: keys(json.loads(written[name])) for name in ("json", "sarif", "gitlab")}
    root = ElementTree.fromstring(written["junit"])
    found["junit"] = {(item.tag, tuple(sorted(item.attrib))) for item in root.iter()}
    commands = [re.match(r"::([a-z]+) ((?:[a-zA-Z]+=[^,:]*,?)+)::", line) for line in written["github"].splitlines()]
    assert all(commands), "a line that is no command"
    found["github"] = {(line[1], tuple(part.partition("=")[0] for part in line[2].split(","))) for line in commands if line}
    found["markdown"] = tags_of_markdown(written["markdown"])
    return found


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> dict[str, set[Any]]:
    """The shapes of the same build with harmless words in every field, and with one that is no name."""
    made = Repository(tmp_path_factory.mktemp("plain") / "arena")
    (made.root / ".git").mkdir(parents=True)
    found: dict[str, set[Any]] = {}
    for words in ("word", "plain words", "=word", "wo.rd[1]"):
        made.write("box.rig", build_with(words))
        for name, shape in shapes(outputs(made, "box.rig")).items():
            found.setdefault(name, set()).update(shape)
    return found


@pytest.mark.parametrize("name", PAYLOADS)
def test_every_field(repository: Repository, plain: dict[str, set[Any]], name: str) -> None:
    payload = PAYLOADS[name]
    repository.write("box.rig", build_with(payload))
    written = outputs(repository, "box.rig")
    found = shapes(written)
    for output, shape in found.items():
        assert shape - plain[output] == set(), output
    for output, text in written.items():
        assert all(line.isprintable() for line in text.split("\n")), output
        if output != "github":
            assert not [
                line
                for line in text.split("\n")
                if re.match(r"\s*::[a-z-]+( [^:]*)?::", line) or re.search(r"##\[|##vso", line)
            ], output
    told = json.dumps(json.loads(written["json"]), ensure_ascii=False)
    assert told.count(json.dumps(payload, ensure_ascii=False)[1:-1]) > 20 or name in ("option", "path"), "the text came nowhere"


@pytest.mark.parametrize("name", PAYLOADS)
def test_settings(repository: Repository, name: str) -> None:
    """The reasons of settings, and their own mistakes, whose messages quote what is written."""
    repository.write("box.rig")
    repository.write("ohmwright.toml", settings_with(PAYLOADS[name]))
    written = outputs(repository, "box.rig")
    shapes(written)
    for output, text in written.items():
        assert all(line.isprintable() for line in text.split("\n")), output
    told = json.loads(written["json"])["run"]["settings"]
    assert " ".join(PAYLOADS[name].split()) in [item["because"] for item in told[0]["left_out"]]
    quoted = toml(PAYLOADS[name])
    repository.write(
        "ohmwright.toml", f"{quoted} = {quoted}\nbasis = {quoted}\nbuilds = [{quoted}]\n[output]\nformat = {quoted}\n"
    )
    answer = repository.run("inspect", "box.rig")
    assert answer.code == 2
    assert "ohmwright.toml line 1 column 1" in answer.err


NAMES = [
    "<img src=x onerror=alert(1)>.rig", "::error::x.rig", "##[group]x.rig", "$(touch pwned).rig", "`touch pwned`.rig", ";touch pwned.rig", "|x|.rig", "-rf.rig",
    "--to=pwned.rig", "=1+1.rig", "@everyone.rig", "a\nb.rig", "a\rb.rig", "\n::error::x.rig", "a\x1b[31mb.rig", "a\u202eb.rig", "a\u200bb.rig", "a b.rig", " .rig",
    ".rig", "%2e%2e%2fx.rig", "*.rig", "?.rig", "[a](b).rig", "a\\b.rig", "a'b.rig", 'a"b.rig', "a:b.rig", "a,line=1.rig", "__proto__.rig", "CON.rig", "&amp;.rig",
    "]]>.rig", "\udcff.rig", "a\udc80\udcffb.rig", "~.rig", "#1.rig", "{0}.rig", "x" * 240 + ".rig",
]  # fmt: skip


COMPARE = json.loads((files("ohmwright") / "schemas" / "compare.json").read_text(encoding="utf-8"))
COMPARED = {"text": "c.txt", "json": "c.json", "markdown": "c.md"}


def comparison(repository: Repository, old: str, new: str) -> dict[str, str]:
    """Compare two builds in which every field has its text, with settings that hold the texts as well."""
    repository.write("old/box.rig", build_with(old))
    repository.write("new/box.rig", build_with(new))
    repository.write("new/ohmwright.toml", settings_with(new))
    arguments = [word for name, file in COMPARED.items() for word in ("--output", name, "--to", file)]
    answer = repository.run("compare", "old", "new", *arguments, "--today", "2026-01-01", writes=tuple(COMPARED.values()))
    assert answer.code in (1, 2)
    assert not list(repository.root.rglob("pwned"))
    return {name: (repository.root / file).read_text(encoding="utf-8") for name, file in COMPARED.items()}


@pytest.fixture(scope="module")
def plain_comparison(tmp_path_factory: pytest.TempPathFactory) -> set[str]:
    """The tags of a comparison in which nothing but harmless words is compared, either way."""
    made = Repository(tmp_path_factory.mktemp("compared") / "arena")
    (made.root / ".git").mkdir(parents=True)
    pairs = (("word", "plain words"), ("plain words", "word"), ("word", "wo.rd[1]"), ("=word", "word"))
    return {tag for old, new in pairs for tag in tags_of_markdown(comparison(made, old, new)["markdown"])}


@pytest.mark.parametrize("name", PAYLOADS)
def test_every_field_of_a_comparison(repository: Repository, plain_comparison: set[str], name: str) -> None:
    """Its document holds to the schema, which allows no key that is not named there; its page has the tags that it always has."""
    written = comparison(repository, f"{PAYLOADS[name]} before", PAYLOADS[name])
    document = json.loads(written["json"])
    Draft202012Validator(COMPARE).validate(document)
    assert document["builds"][0]["things"]
    assert tags_of_markdown(written["markdown"]) <= plain_comparison
    for output, text in written.items():
        for line in text.split("\n"):
            assert line.isprintable(), (output, line[:200])
            assert not line.startswith("::")
            assert "##[" not in line
    assert "@everyone" not in written["markdown"]
    assert "https://evil" not in written["markdown"]


@pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="such names cannot be there")
def test_names_of_files(repository: Repository) -> None:
    """All at once, found by walking the folder; each stands in each output, escaped."""
    for name in NAMES:
        (repository.root / os.fsencode(name).decode("utf-8", "surrogateescape")).write_text(BUILD, encoding="utf-8")
    written = outputs(repository, ".")
    shapes(written)
    for output, text in written.items():
        assert all(line.isprintable() for line in text.split("\n")), output
    paths = {build["path"] for build in json.loads(written["json"])["builds"]}
    assert len(paths) == len(NAMES)


@pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="such names cannot be there")
@pytest.mark.parametrize("name", ["a\nb.rig", "\n::error::x.rig", "a\x1b[31mb.rig", "\udcff.rig", "a\u202eb.rig"])
@pytest.mark.parametrize("command", ["inspect", "tidy", "solve", "size"])
def test_names_of_files_that_are_not_there(repository: Repository, command: str, name: str) -> None:
    repository.write("near.rig")
    answer = repository.run(command, name)
    assert answer.code == 2
    assert not [line for line in answer.err.split("\n") if line.startswith("::")]


@pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="such names cannot be there")
def test_names_of_folders(repository: Repository) -> None:
    for name in ("<b>", "::error::x", "a\nb", "\x1b[2J", "$(touch pwned)", "\udcff", "..."):
        repository.write(f"{name}/{name}/box.rig")
    written = outputs(repository, ".")
    shapes(written)
    assert len(json.loads(written["json"])["builds"]) == 6  # what begins with a point is left out


@pytest.mark.parametrize("command", ["tidy", "solve", "size"])
@pytest.mark.parametrize("name", PAYLOADS)
def test_other_commands(repository: Repository, command: str, name: str) -> None:
    repository.write("box.rig", build_with(PAYLOADS[name]))
    answer = repository.run(command, "box.rig", *(("--check",) if command == "tidy" else ()))
    assert not [line for line in (answer.out + answer.err).split("\n") if line.startswith("::") or "##[" in line]
