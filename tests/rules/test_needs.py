"""A rule that names the kinds of things without which it has nothing to say really has nothing to say of builds without them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import ohmwright_rules
import pytest
from ohmwright.engine import kinds_in
from ohmwright.findings import DoesNotApply
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright.rules import Pack
from ohmwright.study import Study, StudyOptions
from ohmwright.studying import make_study
from ohmwright_grammar.files import FolderFiles, MemoryFiles
from ohmwright_grammar.kinds import KINDS
from ohmwright_grammar.resolve import Loader, Resolved, resolve
from ohmwright_rules import MODULES, NEEDS, PACK

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
PAGES = Path(ohmwright_rules.__file__).parent
BUILD = """rig "Lamp on a bank", revision 1
basis us-small-craft
battery house { LFP, 4 cells, 100 Ah }
load lamp 20 W
wire a from house.plus to lamp.plus, 12 AWG, 1 m
wire b from lamp.minus to house.minus, 12 AWG, 1 m
"""


def studies() -> Iterator[Study]:
    """Every build of the examples and of the pages, solved."""
    for path in sorted(EXAMPLES.rglob("*.rig")):
        yield from study_of(path.relative_to(EXAMPLES).as_posix(), Loader(FolderFiles(EXAMPLES)))
    for page in sorted(PAGES.glob("*.md")):
        for text in re.findall(r"```rig[^\n]*\n(.*?)```", page.read_text(encoding="utf-8"), re.DOTALL):
            yield from study_of("page.rig", Loader(MemoryFiles({"page.rig": text})))


def study_of(path: str, loader: Loader) -> Iterator[Study]:
    found = resolve(path, loader)
    if isinstance(found, Resolved) and not found.build.is_library:
        yield make_study(found.build, StudyOptions(today=date(2026, 1, 1)))


@pytest.fixture(scope="module")
def solved() -> list[Study]:
    return list(studies())


def test_every_need_names_a_rule_and_kinds_that_there_are() -> None:
    assert set(NEEDS) <= set(MODULES)
    assert {kind for kinds in NEEDS.values() for kind in kinds} <= {
        *KINDS,
        "charger",
        "jumper",
        "two batteries",
        "lead-acid battery",
        "load with hours a day",
        "input capacitors",
    }, "charger is what all kinds of charger are"


@pytest.mark.parametrize("name", sorted(NEEDS))
def test_rule_says_nothing_of_builds_without_what_it_needs(name: str, solved: list[Study]) -> None:
    (item,) = [found for found in PACK.ready() if found.path == f"ohmwright_rules.{name}"]
    without = [study for study in solved if item.needs.isdisjoint(kinds_in(study.build))]
    assert without
    for study in without:
        said = [outcome for outcome in item.check(study) if not isinstance(outcome, DoesNotApply)]
        assert said == [], study.build.path


def test_an_inverter_charger_alone_needs_every_rule_about_charging() -> None:
    """It is no controller and no charger by its kind, but it charges."""
    text = """rig "Cabin", revision 1
battery house { AGM, 6 cells, 100 Ah; lowest 10.5 V }
inverter-charger mill { 1000 W; 40 A; for 24 V batteries; charges LFP; absorption 15.5 V; equalise 16 V }
wire a from house.plus to mill.plus, 2 AWG, 1 m
wire b from mill.minus to house.minus, 2 AWG, 1 m
"""
    (build,) = inspect_files(("a.rig",), Loader(MemoryFiles({"a.rig": text})), InspectOptions(date(2026, 1, 1)), (PACK,)).builds
    heard = {item.rule.id for item in (*build.findings, *build.not_checked)}
    assert {"wrong-controller", "charge-set-point", "endless-charge", "missing-sensor"} <= heard


def test_rule_that_is_not_needed_does_not_apply_and_is_not_read() -> None:
    pack = Pack("sample", "1", ("no_such_module.coiled_cord",), needs={"no_such_module.coiled_cord": ("cable",)})
    result = inspect_files(("a.rig",), Loader(MemoryFiles({"a.rig": BUILD})), InspectOptions(date(2026, 1, 1)), (pack,))
    assert result.errors == ()
    assert result.builds[0].does_not_apply == (("coiled-cord", DoesNotApply("no cable in this build", 1)),)


def test_rule_that_is_needed_and_missing_is_an_error_of_the_run() -> None:
    pack = Pack("sample", "1", ("no_such_module.dim_lamp",), needs={"no_such_module.dim_lamp": ("load",)})
    result = inspect_files(("a.rig",), Loader(MemoryFiles({"a.rig": BUILD})), InspectOptions(date(2026, 1, 1)), (pack,))
    assert [error.rule for error in result.errors] == ["dim-lamp"]
