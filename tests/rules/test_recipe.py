"""The recipe "a rule" of DEVELOPERS.md, followed for an invented rule in a pack of its own: found, run, explained, and failing loudly like ours."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from textwrap import dedent

import pytest
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright.results import Result
from ohmwright.rules import Pack, PackError
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.records import replace
from ohmwright_grammar.resolve import Loader

RULE = dedent(
    '''
    """A load that nobody named for what it is: an invented rule."""

    from collections.abc import Iterator

    from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Severity
    from ohmwright.references import common_practice
    from ohmwright.rules import Grade, Rule
    from ohmwright.study import Study
    from ohmwright_grammar.kinds.load import Load

    RULE = Rule(
        id="nameless-load", title="Load without a telling name", family="house", subject="load", covers=(),
        grades=(Grade("too-short", Severity.NOTE, "the name of a load has one letter"),), references=(common_practice(),),
    )


    def check(study: Study) -> Iterator[Outcome]:
        loads = sorted(study.of(Load), key=lambda load: load.name)
        if not loads:
            yield DoesNotApply("no loads")
        for load in loads:
            if len(load.name) == 1:
                yield Finding("too-short", (load.name,), f"{load.name}: call it what it is.", load.span, remedy="Use a word.")
            else:
                yield Passed("too-short", (load.name,))
    '''
)
BUILD = 'rig "Hut", revision 1\nbasis us-small-craft\nbattery house { LFP, 4 cells, 100 Ah }\nload l 1 A\nload lamp 1 A\n'


@pytest.fixture
def pack(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Pack]:
    """Return a pack of one invented rule, importable for the time of a test."""
    folder = tmp_path / "house_rules"
    folder.mkdir()
    (folder / "__init__.py").write_text("")
    (folder / "nameless_load.py").write_text(RULE)
    monkeypatch.syspath_prepend(str(tmp_path))
    yield Pack("house", "1.0", ("house_rules.nameless_load",), bases=("us-small-craft",))
    for name in [name for name in sys.modules if name.startswith("house_rules")]:
        del sys.modules[name]


def _inspect(pack: Pack) -> Result:
    return inspect_files(["hut.rig"], Loader(MemoryFiles({"hut.rig": BUILD})), InspectOptions(today=date(2026, 1, 1)), (pack,))


def test_invented_rule_is_run_and_counted(pack: Pack) -> None:
    result = _inspect(pack)
    (build,) = result.builds
    assert result.packs == (("house", "1.0"),)
    assert [(item.rule.id, item.finding.subject, item.finding.span.line) for item in build.findings] == [
        ("nameless-load", ("l",), 4)
    ]
    assert [kept.passed.subject for kept in build.passes] == [("lamp",)]
    assert not result.errors


def test_a_rule_that_names_no_bases_applies_on_one_that_its_pack_brings_along(pack: Pack) -> None:
    texts = MemoryFiles({"hut.rig": BUILD.replace("us-small-craft", "harbour")})
    packs = (replace(pack, bases=("harbour",)),)
    (build,) = inspect_files(["hut.rig"], Loader(texts), InspectOptions(today=date(2026, 1, 1)), packs).builds
    assert not build.partial
    assert [item.rule.id for item in build.findings] == ["nameless-load"]


def test_rule_that_raises_is_an_error_of_the_run(pack: Pack, tmp_path: Path) -> None:
    path = tmp_path / "house_rules" / "nameless_load.py"
    path.write_text(path.read_text().replace("if not loads:", "if loads[7]:"))
    result = _inspect(pack)
    assert [(error.rule, error.pack) for error in result.errors] == [("nameless-load", "house")]
    assert "IndexError" in result.errors[0].message


def test_missing_table_or_module_stops_the_run(pack: Pack) -> None:
    with pytest.raises(PackError, match="house"):
        _inspect(Pack("house", "1.0", ("house_rules.not_there",), bases=("us-small-craft",)))


def test_module_without_a_rule_stops_the_run(pack: Pack, tmp_path: Path) -> None:
    (tmp_path / "house_rules" / "empty.py").write_text("RULE = 3\ncheck = None\n")
    with pytest.raises(PackError, match=r"house_rules\.empty"):
        _inspect(Pack("house", "1.0", ("house_rules.empty",), bases=("us-small-craft",)))
