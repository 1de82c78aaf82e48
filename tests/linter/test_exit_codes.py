"""Exit codes and the options of `inspect`: 0 nothing at or above the bar, 1 something is, 2 something could not be used; 2 wins over 1."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from ohmwright.commands.inspect import exit_code
from ohmwright.findings import Severity
from ohmwright.results import BuildResult, Result, RunError


@pytest.fixture
def bench(kit: Any, command: Any, sample_installed: Any) -> Any:
    """The bench build in the current folder, with the invented pack in place of the installed ones."""
    Path("box.rig").write_text(kit.bench, encoding="utf-8")
    return kit


def quiet(kit: Any) -> str:
    return str(kit.bench.replace("25 A", "5 A"))


def test_nothing_found(command: Any, bench: Any) -> None:
    Path("box.rig").write_text(quiet(bench), encoding="utf-8")
    for bar in ("error", "warning", "note"):
        assert command("inspect", "box.rig", "--bar", bar).code == 0


def test_error_is_found(command: Any, bench: Any) -> None:
    assert command("inspect", "box.rig").code == 1


@pytest.mark.parametrize(("bar", "code"), [("error", 0), ("warning", 1), ("note", 1)])
def test_warning_counts_from_its_bar_on(command: Any, bench: Any, bar: str, code: int) -> None:
    Path("box.rig").write_text(bench.bench.replace("25 A", "18 A"), encoding="utf-8")
    assert command("inspect", "box.rig", "--bar", bar).code == code


@pytest.mark.parametrize(("bar", "code"), [("error", 0), ("warning", 0), ("note", 1)])
def test_note_counts_from_its_bar_on(command: Any, bench: Any, bar: str, code: int) -> None:
    Path("box.rig").write_text(quiet(bench).replace("; internal resistance 4 mohm", ""), encoding="utf-8")
    assert command("inspect", "box.rig", "--bar", bar).code == code


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        ((), 0),
        (("--bar", "warning"), 1),
        (("--bar", "note"), 1),
        (("--require-checked",), 1),
        (("--require-checked", "--bar", "note"), 1),
    ],
)
def test_what_could_not_be_checked_counts_as_a_warning_or_an_error(
    command: Any, bench: Any, arguments: tuple[str, ...], code: int
) -> None:
    Path("box.rig").write_text(quiet(bench).replace("; 0.6 m", ""), encoding="utf-8")
    assert command("inspect", "box.rig", *arguments).code == code


def test_waived_and_yielded_findings_do_not_count(command: Any, bench: Any) -> None:
    waivers = 'waive warm-wire on feed, back up to 25 A because "to be mended" until 2027-06-30\n'
    Path("box.rig").write_text(bench.bench + waivers, encoding="utf-8")
    assert command("inspect", "box.rig", "--today", "2027-06-30").code == 0
    assert command("inspect", "box.rig", "--today", "2027-07-01").code == 1


def test_two_wins_over_one(command: Any, bench: Any) -> None:
    ran = command("inspect", "box.rig", "missing.rig")
    assert ran.code == 2
    assert "warm-wire" in ran.out


def test_unreadable_statement_wins_over_findings(command: Any, bench: Any) -> None:
    Path("box.rig").write_text(bench.bench + "nonsense here\n", encoding="utf-8")
    ran = command("inspect", "box.rig")
    assert ran.code == 2
    assert "warm-wire" in ran.out
    assert "nonsense" in ran.out


def test_error_of_the_run_wins() -> None:
    build = BuildResult("box.rig", False, "", "", "", False)
    assert exit_code(Result("1", "2026-01-01", (), (build,)), Severity.ERROR, False) == 0
    assert exit_code(Result("1", "2026-01-01", (), (build,), (RunError("failed"),)), Severity.ERROR, False) == 2
    assert exit_code(Result("1", "2026-01-01", (), ()), Severity.ERROR, False) == 2


# options ------------------------------------------------------------------------------------------------------------


def test_several_outputs(command: Any, bench: Any) -> None:
    ran = command("inspect", "box.rig", "--output", "json", "--to", "result.json", "--output", "text", "--to", "sheet.txt")
    assert (ran.code, ran.out) == (1, "")
    assert json.loads(Path("result.json").read_text(encoding="utf-8"))["builds"][0]["path"] == "box.rig"
    assert "warm-wire" in Path("sheet.txt").read_text(encoding="utf-8")


def test_one_output_to_a_file_and_one_to_the_screen(command: Any, bench: Any) -> None:
    ran = command("inspect", "box.rig", "--output", "json", "--to", "result.json", "--output", "text")
    assert ran.code == 1
    assert ran.out.startswith("box.rig: Bench")
    assert Path("result.json").exists()


def test_two_outputs_to_the_screen(command: Any, bench: Any) -> None:
    ran = command("inspect", "box.rig", "--output", "json", "--output", "text")
    assert (ran.code, ran.out) == (2, "")
    assert "--to" in ran.err


def test_more_files_than_outputs(command: Any, bench: Any) -> None:
    assert command("inspect", "box.rig", "--to", "one", "--to", "two").code == 2


def test_file_that_cannot_be_written(command: Any, bench: Any) -> None:
    Path("box.rig").write_text(quiet(bench), encoding="utf-8")
    ran = command("inspect", "box.rig", "--to", "no/such/folder.txt")
    assert ran.code == 2
    assert "cannot be written" in ran.err


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--basis", "us-smal-craft"), "there is no basis 'us-smal-craft'. Bases near this one: us-small-craft."),
        (("--only", "worm-wire"), "there is no rule 'worm-wire'. Rules near this one: warm-wire"),
        (("--only", "zzz"), "Print all of them with: ohmwright basis"),
        (("--today", "yesterday"), "'yesterday' is no date: write year-month-day"),
        (("--budget", "soon"), "'soon' is no budget"),
        (("--budget=-1,100",), "is no budget that can be kept"),
        (("--budget", "nan,100"), "is no budget that can be kept"),
        (("--bar", "fatal"), "invalid choice"),
        (("--output", "xml"), "invalid choice"),
    ],
)
def test_option_that_cannot_be_used(command: Any, bench: Any, arguments: tuple[str, ...], words: str) -> None:
    ran = command("inspect", "box.rig", *arguments)
    assert (ran.code, ran.out) == (2, "")
    assert words in ran.err
    assert "Traceback" not in ran.err


def test_unknown_state(command: Any, bench: Any) -> None:
    ran = command("inspect", "box.rig", "--state", "lamp onn")
    assert ran.code == 2
    assert "there is no state 'lamp onn'. States near this one: lamp on." in " ".join(ran.out.split())
    assert "Not inspected." in ran.out  # and nothing is told of what was looked at all the same
    assert "0 checks made, 0 could not be made" in ran.out
    assert "Requirements" not in ran.out


def test_promise_that_no_asked_rule_answers(command: Any, bench: Any) -> None:
    Path("box.rig").write_text(f"{bench.bench}\nrequire run lamp for 4 h\n")
    ran = command("inspect", "box.rig", "--only", "long-wire")
    assert "not checked (not all rules ran, and none of those that did answers this): run lamp for 4 h" in " ".join(
        ran.out.split()
    )


def test_one_state(command: Any, bench: Any) -> None:
    ran = command("inspect", "box.rig", "--state", "stored", "--output", "json")
    (build,) = json.loads(ran.out)["builds"]
    assert ran.code == 0
    assert [state["name"] for state in build["states"]] == ["stored"]


def test_only_one_rule(command: Any, bench: Any) -> None:
    ran = command("inspect", "box.rig", "--only", "long-wire", "--output", "json")
    (build,) = json.loads(ran.out)["builds"]
    assert ran.code == 0
    assert {item["rule"] for item in build["passes"]} == {"long-wire"}


def test_waivers_of_rules_that_do_not_run_are_left_alone(command: Any, bench: Any) -> None:
    waivers = 'waive warm-wire on feed, back up to 25 A because "to be mended" until 2027-06-30\n'
    Path("box.rig").write_text(bench.bench + waivers, encoding="utf-8")
    ran = command("inspect", "box.rig", "--only", "long-wire", "--output", "json", "--today", "2026-01-01")
    (build,) = json.loads(ran.out)["builds"]
    assert (ran.code, build["findings"]) == (0, [])


def test_another_basis(command: Any, bench: Any) -> None:
    ran = command("inspect", "box.rig", "--basis", "iec", "--output", "json")
    (build,) = json.loads(ran.out)["builds"]
    assert build["basis"] == "iec"
    assert [item["condition"] for item in build["does_not_apply"]] == ["not on basis iec"]


def test_working_and_assumed(command: Any, bench: Any) -> None:
    assert "Working" not in command("inspect", "box.rig").out
    assert "Working" in command("inspect", "box.rig", "--working").out
    assert "Implied, defaulted or assumed" in command("inspect", "box.rig", "--assumed").out


def test_today_makes_a_run_repeatable(command: Any, bench: Any) -> None:
    arguments = ("inspect", "box.rig", "--output", "json", "--today", "2026-02-03")
    first = command(*arguments)
    assert json.loads(first.out)["run"]["today"] == "2026-02-03"
    assert command(*arguments).out == first.out


def test_colour_only_where_it_is_wanted(command: Any, bench: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdout.isatty", lambda: True)
    monkeypatch.setenv("TERM", "xterm")
    assert "\x1b[" not in command("inspect", "box.rig").out  # the fixture sets NO_COLOR
    monkeypatch.delenv("NO_COLOR")
    assert "\x1b[" in command("inspect", "box.rig").out
    assert "\x1b[" not in command("inspect", "box.rig", "--output", "json").out
    monkeypatch.setenv("TERM", "dumb")
    assert "\x1b[" not in command("inspect", "box.rig").out


# the run itself -----------------------------------------------------------------------------------------------------


def test_rule_that_raises_is_named_and_never_a_clean_run(command: Any, bench: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    rule, _ = bench.warm

    def broken(study: object) -> Any:
        raise ZeroDivisionError("division by zero")
        yield

    pack = bench.pack_of((rule, broken), bench.long)
    for place in ("ohmwright.rules", "ohmwright.inspecting"):
        monkeypatch.setattr(f"{place}.installed_packs", lambda: (pack,))
    ran = command("inspect", "box.rig")
    assert ran.code == 2
    assert "The run itself failed: the rule warm-wire failed: ZeroDivisionError: division by zero" in " ".join(ran.out.split())
    assert "Traceback" not in ran.out + ran.err
    ran = command("inspect", "box.rig", "--output", "json")
    document = json.loads(ran.out)
    (error,) = document["run"]["errors"]
    assert (error["pack"], error["rule"], error["build"]) == ("sample", "warm-wire", "box.rig")
    assert document["builds"][0]["passes"], "the other rules were not run"


@pytest.mark.parametrize("value", ["no.such.module:PACK", "ohmwright.values:JSON_UNITS", "ohmwright.values:NOTHING"])
def test_broken_rule_pack(command: Any, kit: Any, monkeypatch: pytest.MonkeyPatch, value: str) -> None:
    Path("box.rig").write_text(kit.bench, encoding="utf-8")
    monkeypatch.setattr("ohmwright.rules.entry_points", lambda group: [("odd", value)])
    for arguments in (("inspect", "box.rig"), ("basis",)):
        ran = command(*arguments)
        assert (ran.code, ran.out) == (2, "")
        assert "the rule pack odd is broken" in ran.err


def test_no_rule_pack(command: Any, kit: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    Path("box.rig").write_text(kit.bench, encoding="utf-8")
    monkeypatch.setattr("ohmwright.rules.entry_points", lambda group: [])
    ran = command("inspect", "box.rig")
    assert ran.code == 2
    assert "no rule pack is installed" in ran.err


def test_rule_pack_with_a_module_that_has_no_rule(command: Any, bench: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    from ohmwright.rules import Pack

    pack = Pack("odd", "1", ("ohmwright.values",))
    for place in ("ohmwright.rules", "ohmwright.inspecting"):
        monkeypatch.setattr(f"{place}.installed_packs", lambda: (pack,))
    ran = command("inspect", "box.rig")
    assert ran.code == 2
    assert "the rule pack odd is broken: ohmwright.values" in ran.err


def test_two_packs_with_a_rule_of_one_name(command: Any, bench: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    packs = (bench.sample, bench.pack_of(bench.warm))
    for place in ("ohmwright.rules", "ohmwright.inspecting"):
        monkeypatch.setattr(f"{place}.installed_packs", lambda: packs)
    ran = command("inspect", "box.rig")
    assert ran.code == 2
    assert "its rule warm-wire has the name of one of the pack sample" in ran.err


def test_mistake_of_the_program_is_one_line(command: Any, bench: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*arguments: object) -> None:
        raise KeyError("what")

    monkeypatch.setattr("ohmwright.commands.terms.gather", fail)
    ran = command("inspect", "box.rig")
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.startswith("ohmwright: the program itself failed, at test_exit_codes.py line ")
    assert len(ran.err.splitlines()) == 1


def test_output_that_nobody_reads_any_more(command: Any, bench: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def closed(text: str) -> None:
        raise BrokenPipeError

    monkeypatch.setattr("ohmwright.commands.inspect.put", closed)
    monkeypatch.setattr("sys.stderr.close", lambda: None)
    assert command("inspect", "box.rig").code == 2


def test_interrupted(command: Any, bench: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupt(*arguments: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("ohmwright.commands.terms.gather", interrupt)
    ran = command("inspect", "box.rig")
    assert (ran.code, ran.err) == (2, "stopped\n")


def test_process_ends_with_the_exit_code_and_with_everything_written(tmp_path: Path, kit: Any) -> None:
    """The process ends without taking the study apart, so that what stands in a buffer must have been written before."""
    (tmp_path / "box.rig").write_text(kit.bench, encoding="utf-8")
    command = [sys.executable, "-m", "ohmwright.cli", "inspect", "box.rig", "--output", "json", "--today", "2026-01-01"]
    ran = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
    written = json.loads(ran.stdout)
    found = [item["severity"] for item in written["builds"][0]["findings"]]
    assert (ran.returncode, ran.stderr) == (1 if "error" in found else 0, "")
    assert len(ran.stdout) > 8192, "more than one buffer"


def test_process_ends_with_2_where_nobody_reads_what_it_writes(tmp_path: Path, kit: Any) -> None:
    (tmp_path / "box.rig").write_text(kit.bench, encoding="utf-8")
    command = [sys.executable, "-m", "ohmwright.cli", "inspect", "box.rig", "--output", "json"]
    reading, writing = os.pipe()
    os.close(reading)
    with os.fdopen(writing, "wb") as closed:
        ran = subprocess.run(command, cwd=tmp_path, stdout=closed, stderr=subprocess.PIPE, text=True, check=False)
    assert (ran.returncode, ran.stderr) == (2, "")
