"""An invented rule pack, so that tests of the engine and the reports do not hang on what the real rules say, and a way to run the command line.

The rules here are made up: their numbers are no limits of anything.
"""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from ohmwright.cli import main
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright.references import Reference, Step
from ohmwright.results import BuildResult, Promise, Result
from ohmwright.rules import Case, Grade, Pack, Ready, Rule, Yield, compare
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.requirement import Requirement
from ohmwright_grammar.resolve import Loader

INVENTED = Reference("Invented handbook", "first edition", "table 1", "read")
REMEMBERED = Reference("Invented leaflet", "", "", "from-memory")

WARM = Rule(
    "warm-wire", "Wire carries more than twenty amperes", "invented", "conductor", ("X1",),
    (
        Grade("over", Severity.ERROR, "a steady current is larger than 20 A"),
        Grade("near", Severity.WARNING, "a steady current is larger than 16 A"),
    ),
    (INVENTED,),
)  # fmt: skip
LONG = Rule(
    "long-wire", "Wire longer than two metres", "invented", "conductor", ("X2",),
    (Grade("over", Severity.ERROR, "the length is larger than 2 m"),), (REMEMBERED,),
)  # fmt: skip
BARE = Rule(
    "unlabelled-battery", "Battery without a note of its resistance", "invented", "battery", ("X3",),
    (Grade("silent", Severity.NOTE, "no internal resistance is declared"),), (INVENTED,), ("us-small-craft", "us-premises"),
)  # fmt: skip


def check_warm(study: Study) -> Iterator[Outcome]:
    """Hold the worst current of each wire against 20 A, and against 16 A."""
    for wire in study.circuit.wires():
        cases = [
            Case(case.state.name, Amount(case.current, "current"), Amount(20.0, "current"))
            for case in study.currents_of(wire.name)
        ]
        if not cases:
            yield DoesNotApply("carries no current in any state")
            continue
        worst, broken = compare(cases, "at-most")
        measured, allowed = shown_pair(worst.measured, worst.limit)
        if broken:
            working = (
                Step("I", "solved circuit", worst.measured.value, "A", "state"),
                Step("I_most", "8 x 2.5", 20.0, "A", "Invented handbook, table 1"),
            )
            sources = [source for source in study.circuit.sources if source.kind == "battery"]
            related = tuple(Related("The battery that feeds it.", source.part.span) for source in sources)
            yield Finding(
                "over", (wire.name,), f"{measured} flows here; {allowed} is the most.", wire.span, worst.measured, worst.limit,
                state=worst.state, states=broken, working=working, remedy=f"Bring the current to {allowed} or less.", related=related,
            )  # fmt: skip
        elif worst.measured.value > 16.0:
            limit = Amount(16.0, "current")
            _, allowed = shown_pair(worst.measured, limit)
            message = f"{shown(worst.measured)} flows here, more than {allowed}."
            yield Finding(
                "near", (wire.name,), message, wire.span, worst.measured, limit, state=worst.state, remedy="Watch it."
            )
        else:
            yield Passed("over", (wire.name,), worst.measured, worst.limit, state=worst.state)


def check_long(study: Study) -> Iterator[Outcome | Promise]:
    """Hold the length of each wire against 2 m."""
    for wire in study.circuit.wires():
        assert wire.conductor is not None
        length = wire.conductor.length
        if length is None:
            yield NotChecked("over", (wire.name,), "length", wire.span, declare="0.3 m long")
            continue
        measured, limit = Amount(length.high, "length", length.unit), Amount(2.0, "length")
        one, two = shown_pair(measured, limit)
        if length.high > 2.0:
            message = f"{one} long; {two} is the most."
            yield Finding("over", (wire.name,), message, wire.span, measured, limit, remedy=f"Shorten it to {two}.")
        else:
            yield Passed("over", (wire.name,), measured, limit)
    for promise in study.of(Requirement):
        if promise.highest_mass is not None:
            mass = Amount(12.0, "mass")
            limit = Amount(promise.highest_mass.high, "mass")
            yield Promise(
                promise.name, "sum of the parts", mass, limit, "met" if mass.value <= limit.value else "broken", promise.span
            )


def check_bare(study: Study) -> Iterator[Outcome]:
    """Ask each battery for its internal resistance."""
    for battery in study.of(Battery):
        if battery.internal_resistance is None:
            message = f"{battery.name} does not say its internal resistance."
            yield Finding("silent", (battery.name,), message, battery.span, remedy="Add: internal resistance 4 mohm")
        else:
            yield Passed("silent", (battery.name,))


Check = Callable[[Study], Iterator[Any]]


@dataclass(frozen=True)
class SamplePack(Pack):
    """A pack whose rules are functions at hand, not modules."""

    rules: tuple[tuple[Rule, Check], ...] = ()

    def ready(self) -> Iterator[Ready]:
        """Yield the rules."""
        for rule, check in self.rules:
            module = ModuleType(rule.id)
            vars(module).update(RULE=rule, check=check)
            yield Ready.of(self.name, module)


def pack_of(*rules: tuple[Rule, Check], yields: tuple[Yield, ...] = ()) -> SamplePack:
    """Return a pack of the given rules."""
    return SamplePack("sample", "1", (), yields, ("us-small-craft", "us-premises", "iec"), rules=rules)


SAMPLE = pack_of((WARM, check_warm), (LONG, check_long), (BARE, check_bare))

BENCH = """\
rig "Bench", revision 1
basis us-small-craft
site { ambient 5 degC to 30 degC }
battery house { LFP, 4 cells, 100 Ah; internal resistance 4 mohm }
load lamp 25 A
all wires { copper; 105 degC insulation; in free air }
wire feed from house.plus to lamp.plus { 6 AWG; 0.6 m }
wire back from lamp.minus to house.minus { 6 AWG; 0.6 m }
state "lamp on" { lamp on; house at 60 % }
"""


@dataclass(frozen=True)
class Kit:
    """What a test of the linter needs."""

    bench: str = BENCH
    sample: SamplePack = SAMPLE
    warm: tuple[Rule, Check] = (WARM, check_warm)
    long: tuple[Rule, Check] = (LONG, check_long)
    bare: tuple[Rule, Check] = (BARE, check_bare)

    @staticmethod
    def pack_of(*rules: tuple[Rule, Check], yields: tuple[Yield, ...] = ()) -> SamplePack:
        """Return a pack of the given rules."""
        return pack_of(*rules, yields=yields)

    @staticmethod
    def inspect(
        files: str | Mapping[str, str],
        *,
        paths: tuple[str, ...] = (),
        pack: Pack = SAMPLE,
        today: date = date(2026, 1, 1),
        **options: Any,
    ) -> Result:
        """Inspect texts held in memory; all of those named `*.rig` unless `paths` says which."""
        texts = {"bench.rig": files} if isinstance(files, str) else dict(files)
        wanted = paths or tuple(sorted(texts))
        return inspect_files(wanted, Loader(MemoryFiles(texts)), InspectOptions(today=today, **options), (pack,))

    def one(self, text: str, **options: Any) -> BuildResult:
        """Inspect one build and return what was said of it."""
        (build,) = self.inspect(text, **options).builds
        return build


@pytest.fixture
def kit() -> Kit:
    """The invented pack with a bench build, and ways to inspect it."""
    return Kit()


@pytest.fixture
def sample_installed(monkeypatch: pytest.MonkeyPatch) -> SamplePack:
    """Put the invented pack in the place of those that are installed."""
    for place in ("ohmwright.rules", "ohmwright.inspecting"):
        monkeypatch.setattr(f"{place}.installed_packs", lambda: (SAMPLE,))
    return SAMPLE


@dataclass(frozen=True)
class Ran:
    """What a command printed, and its exit code."""

    code: int
    out: str
    err: str


@pytest.fixture
def command(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Iterator[Callable[..., Ran]]:
    """Run the command line inside of an empty folder; nothing that it raises but the exit of the option parser is caught."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("NO_COLOR", "1")

    def run(*arguments: str) -> Ran:
        capsys.readouterr()
        try:
            code = main(arguments)
        except SystemExit as stop:
            code = int(stop.code or 0)
        printed = capsys.readouterr()
        return Ran(code, printed.out, printed.err)

    yield run
    gc.enable()
