"""Adaptations: the published build has to be the one named, and its waivers do not carry over."""

from __future__ import annotations

import hashlib
from typing import Any

import pytest
from ohmwright.findings import Severity

BASE_LINES = 'waive warm-wire on feed up to 26 A because "short lead" until 2027-06-30\n'


@pytest.fixture
def base(kit: Any) -> str:
    return str(kit.bench + BASE_LINES)


def adapted(kit: Any, base: str, adapts: str, more: str = "", **others: str) -> Any:
    files = {"published/base.rig": base, "mine.rig": f'rig "Mine", revision 1\n{adapts}\n{more}', **others}
    (build,) = [build for build in kit.inspect(files, paths=("mine.rig",)).builds if build.path == "mine.rig"]
    return build


def about(build: Any) -> list[Any]:
    return [item for item in build.findings if item.rule.id == "changed-base"]


def hash_of(*texts: str) -> str:
    digest = hashlib.sha256()
    for text in texts:
        digest.update(text.replace("\r\n", "\n").encode("utf-8"))
    return digest.hexdigest()


def test_named_with_its_revision_and_hash(kit: Any, base: str) -> None:
    build = adapted(kit, base, f'adapts "published/base.rig" revision 1 hash "{hash_of(base)}"')
    assert about(build) == []


def test_hash_is_of_the_text_with_lf_line_ends(kit: Any, base: str) -> None:
    crlf = base.replace("\n", "\r\n")
    assert about(adapted(kit, crlf, f'adapts "published/base.rig" revision 1 hash "{hash_of(base)}"')) == []
    assert about(adapted(kit, "\ufeff" + base, f'adapts "published/base.rig" revision 1 hash "{hash_of(base).upper()}"')) == []


def test_hash_covers_the_libraries_of_the_base(kit: Any, base: str) -> None:
    shelf = "fuse small { 15 A blade }\n"
    reading = base.replace("basis", 'parts from "shelf.rig"\nbasis')
    files = {"published/shelf.rig": shelf}
    right = f'adapts "published/base.rig" revision 1 hash "{hash_of(reading, shelf)}"'
    assert about(adapted(kit, reading, right, **files)) == []
    (item,) = about(adapted(kit, reading, right, **{"published/shelf.rig": shelf + "\n"}))
    assert item.grade.name == "other-hash"


def test_without_a_hash(kit: Any, base: str) -> None:
    (item,) = about(adapted(kit, base, 'adapts "published/base.rig"'))
    assert (item.grade.name, item.severity) == ("no-hash", Severity.WARNING)
    right = f'adapts "published/base.rig" revision 1 hash "{hash_of(base)}"'
    assert item.finding.remedy == f"Write: {right}"
    (edit,) = item.finding.edits
    assert (edit.text, edit.span.line, edit.span.column) == (right, 2, 1)
    assert about(adapted(kit, base, edit.text)) == []


def test_another_hash(kit: Any, base: str) -> None:
    (item,) = about(adapted(kit, base, f'adapts "published/base.rig" revision 1 hash "{"0" * 64}"'))
    assert (item.grade.name, item.severity) == ("other-hash", Severity.ERROR)
    assert item.finding.span.path == "mine.rig"
    assert item.finding.span.line == 2
    assert f'adapts "published/base.rig" revision 1 hash "{hash_of(base)}"' in item.finding.remedy
    assert item.finding.edits == (), "what has changed wants looking at first"


def test_another_revision(kit: Any, base: str) -> None:
    (item,) = about(adapted(kit, base, f'adapts "published/base.rig" revision 7 hash "{hash_of(base)}"'))
    assert (item.grade.name, item.severity) == ("other-revision", Severity.WARNING)
    assert "has revision 1; revision 7 is the one named" in item.finding.message


def test_base_that_is_not_there(kit: Any) -> None:
    files = {"mine.rig": 'rig "Mine"\nadapts "gone.rig"\n'}
    (build,) = kit.inspect(files).builds
    assert [item.rule.id for item in build.findings if item.rule.family == "text"] == ["file-not-read"]
    assert build.partial


def test_waiver_of_the_base_does_not_carry_over(kit: Any, base: str) -> None:
    build = adapted(kit, base, f'adapts "published/base.rig" revision 1 hash "{hash_of(base)}"')
    assert build.waived == ()
    assert ("warm-wire", "feed") in [(item.rule.id, item.finding.subject[0]) for item in build.findings]
    (item,) = [item for item in build.findings if item.rule.id == "waiver-to-confirm"]
    assert item.severity is Severity.NOTE
    assert (
        item.finding.message
        == "The published build waives warm-wire on feed up to 26 A; that does not carry over to this build."
    )
    assert item.finding.remedy.endswith('waive warm-wire on feed up to 26 A because "short lead" until 2027-06-30')
    assert [(related.span.path, related.span.line) for related in item.finding.related] == [("published/base.rig", 10)]


def test_waiver_that_is_confirmed(kit: Any, base: str) -> None:
    build = adapted(kit, base, f'adapts "published/base.rig" revision 1 hash "{hash_of(base)}"', BASE_LINES)
    assert [item.finding.subject for item in build.waived] == [("feed",)]
    assert [item for item in build.findings if item.rule.id == "waiver-to-confirm"] == []


def test_finding_on_what_the_base_declares_stands_in_the_adaptation(kit: Any, base: str) -> None:
    """design.md section 3: the primary place is the statement in the inspected file that placed the thing; its definition is a related place."""
    build = adapted(kit, base, 'adapts "published/base.rig"', "change back { 6 AWG; 1 m }\n")
    by_name = {item.finding.subject[0]: item.finding for item in build.findings if item.rule.id == "warm-wire"}
    assert (by_name["feed"].span.path, by_name["feed"].span.line) == ("mine.rig", 2)
    assert (by_name["feed"].related[0].span.path, by_name["feed"].related[0].span.line) == ("published/base.rig", 7)
    assert (by_name["back"].span.path, by_name["back"].span.line) == ("mine.rig", 3)


def test_changed_property_that_the_base_no_longer_has(kit: Any, base: str) -> None:
    build = adapted(kit, base, 'adapts "published/base.rig"', "change lmap 9 A\n")
    (item,) = [item for item in build.findings if item.rule.id == "lost-property"]
    assert item.finding.span.line == 3
    assert "lamp" in item.finding.remedy
    assert build.partial


def test_build_that_stands_alone_says_nothing_of_a_base(kit: Any) -> None:
    assert [item for item in kit.one(kit.bench).findings if item.rule.family == "adaptations"] == []
