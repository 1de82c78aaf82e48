"""Published worked examples that need a solved circuit or a rule: bank sharing, fault current, idle drain.

Each is written as a build, so that text, model, circuit, solver and rule are all on the way. `WE..` numbers are those of
data/worked_examples_pv_battery.csv, whose rows name source, address and status.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright.solver import Solver
from ohmwright.study import Study, StudyOptions
from ohmwright.studying import make_study
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader, Resolved, resolve
from ohmwright_rules import PACK

Rows = Callable[[str], list[dict[str, str]]]
Report = Callable[..., None]
TODAY = date(2026, 1, 1)
DAY = 86400.0


def _study(text: str) -> Study:
    resolved = resolve("example.rig", Loader(MemoryFiles({"example.rig": text})))
    assert isinstance(resolved, Resolved)
    assert not resolved.problems, [problem.message for problem in resolved.problems]
    return make_study(resolved.build, StudyOptions(today=TODAY, implied=False))


def _bank(batteries: int, ohm: float, link: float, ampere: float, diagonal: bool) -> str:
    """Return a daisy-chained bank; the load hangs on the first battery, or on opposite corners."""
    lines = ['rig "Bank", revision 1', f"load winch {ampere:g} A", 'state "hauling" { winch on }', "winch.plus on b1.plus"]
    lines.append(f"winch.minus on b{batteries if diagonal else 1}.minus")
    for number in range(1, batteries + 1):
        lines.append(f"battery b{number} {{ LFP; 4 cells; internal resistance {ohm * 1e3:g} mohm }}")
        if number > 1:
            for pole in ("plus", "minus"):
                lines.append(f"wire {pole}{number} from b{number - 1}.{pole} to b{number}.{pole}, measured {link * 1e3:g} mohm")
    return "\n".join(lines) + "\n"


def test_daisy_chained_banks_share_as_published(source_rows: Rows, reference_report: Report) -> None:
    """WE30 and data/parallel_batteries.csv: nodal solution; the printed figures of P1 are from memory and agree within 0.2 A."""
    worst = worst_printed = 0.0
    rows = source_rows("parallel_batteries")
    solved: dict[tuple[str, str], Study] = {}
    for row in rows:
        key = (row["case"], row["connection"])
        if key not in solved:
            text = _bank(
                int(row["n"]),
                float(row["rint_ohm"]),
                float(row["rlink_ohm"]),
                float(row["load_A"]),
                "opposite" in row["connection"],
            )
            solved[key] = _study(text)
        (state,) = solved[key].states
        current = state.current(f"b{row['battery']}")
        worst = max(worst, abs(current - float(row["computed_A"])))
        if row["published_A"]:
            worst_printed = max(worst_printed, abs(current - float(row["published_A"])))
    assert worst < 6e-4  # the rows are printed to a milliampere
    assert worst_printed < 0.2
    reference_report(
        "WE30, sharing of daisy-chained banks", len(rows), worst, "amperes; printed figures from memory agree within 0.2 A"
    )


def _rack(strings: int) -> str:
    """Return WE09: strings of four blocks with links, cables and a breaker, joined at a bar."""
    lines = ['rig "Rack", revision 1', "system 48 V", "bus bar 20000 A", "bus back 20000 A", 'state "resting" { 20 degC }']
    for string in range(1, strings + 1):
        for block in range(1, 5):
            lines.append(f"battery s{string}b{block} {{ AGM; 12 V; rest 12 V at 100 %; internal resistance 3.3 mohm }}")
            if block > 1:
                lines.append(
                    f"wire s{string}l{block} from s{string}b{block - 1}.plus to s{string}b{block}.minus, measured 1.5 mohm"
                )
        lines += [
            f"breaker s{string}q {{ 200 A; 1.2 mohm }}",
            f"wire s{string}c from s{string}b4.plus to s{string}q.line, measured 3.5 mohm",
            f"wire s{string}d from back to s{string}b1.minus, measured 3.5 mohm",
            f"s{string}q.load on bar",
        ]
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize(("strings", "ampere"), [(1, 1853.28), (7, 12973.0)])
def test_fault_current_of_a_rack(strings: int, ampere: float, reference_report: Report) -> None:
    """WE09: 48 V over 25.9 mohm a string; seven strings, each with its own breaker (both figures derived from the printed parts)."""
    study = _study(_rack(strings))
    networker = study.networker
    resting = study.state("resting")
    assert resting is not None
    network = networker.network(resting.setup, (), resting.temperatures)
    ((volt, ohm),) = Solver().thevenin(network, [(networker.number["bar"], networker.number["back"])])
    assert volt / ohm == pytest.approx(ampere, rel=5e-5)
    assert volt == pytest.approx(48.0, rel=1e-12)
    reference_report(f"WE09, fault current of {strings} strings", 1, abs(volt / ohm / ampere - 1), "relative")


def _months(text: str) -> float:
    options = InspectOptions(today=TODAY, only=("shelf-life",))
    result = inspect_files(["example.rig"], Loader(MemoryFiles({"example.rig": text})), options, (PACK,))
    (build,) = result.builds
    assert not [item for item in build.findings if item.rule.family == "text"]
    measured = [item.finding.measured for item in build.findings if item.rule.id == "shelf-life"]
    measured += [item.passed.measured for item in build.passes if item.rule.id == "shelf-life"]
    (found,) = measured
    assert found is not None
    return found.value / DAY


@pytest.mark.parametrize(
    ("source", "battery", "drain", "days"),
    [
        # data/storage_drain.csv, numeric check 1: 100 Ah, 80 % usable, 30 mA, no self-discharge
        ("numeric check 1", "LFP; 4 cells; 100 Ah; usable 80 %", "30 mA", 111.111),
        # numeric check 3, with the idle power of WE26c: 50 Ah lead-acid, 50 % usable, 7.5 W at 12 V, 0.625 A
        ("numeric check 3, WE26c", "AGM; 12 V; 50 Ah; usable 50 %", "625 mA", 1.6667),
    ],
)
def test_days_on_the_shelf(source: str, battery: str, drain: str, days: float, reference_report: Report) -> None:
    """The closed form usable charge over the sum of idle currents."""
    text = (
        'rig "Shelf", revision 1\nbasis us-small-craft\nsystem 12 V\n'
        f"battery house {{ {battery}; self-discharge 0 %/month; bms none; no own drain }}\n"
        f"meter monitor {{ own drain {drain}; always on; plus on house.plus; minus on house.minus }}\n"
        "require on the shelf for 1 day\n"
    )
    found = _months(text)
    assert found == pytest.approx(days, rel=1e-4)
    reference_report(f"storage drain, {source}", 1, abs(found / days - 1), "relative")
