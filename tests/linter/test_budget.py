"""Budgets: what runs out is said with its place, what was done until then is kept, and such a run is never clean."""

from __future__ import annotations

import gc
import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from ohmwright.estimating import states_that_fit
from ohmwright_grammar.budget import Budget, OutOfBudgetError


class Ticking:
    """A clock that goes on by a second each time that somebody looks at it."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        self.now += 1.0
        return self.now


def lasting(seconds: float, megabytes: float = float("inf")) -> Callable[[], Budget]:
    """Return what makes a budget of so many looks at the clock."""
    return lambda: Budget(seconds, megabytes, Ticking())


def over_limit(build: Any) -> Any:
    (item,) = [item for item in build.findings if item.rule.id == "over-limit"]
    return item.finding


def looks_needed(kit: Any, text: str = "") -> int:
    """Return how often a whole inspection of a build looks at the clock."""
    clock = Ticking()
    build = kit.one(text or kit.bench, budget=lambda: Budget(1e9, clock=clock))
    assert not build.partial
    return int(clock.now)


def test_without_a_clock_nothing_runs_out() -> None:
    budget = Budget(0.0)
    assert not budget.is_out()
    budget.check()


def test_clock_of_the_caller_tells_the_time() -> None:
    budget = Budget(2.5, clock=Ticking())
    assert [budget.is_out() for _ in range(4)] == [False, False, True, True]
    with pytest.raises(OutOfBudgetError):
        budget.check()


def test_meter_of_the_caller_tells_the_memory() -> None:
    """It costs more than the clock, and is looked at once in many turns; a tenth is kept for saying so."""
    used = [0.0]
    looks = [0]

    def meter() -> float:
        looks[0] += 1
        return used[0]

    budget = Budget(1e9, 100.0, Ticking(), meter)
    assert not any(budget.is_out() for _ in range(1000))
    assert 1 <= looks[0] < 10
    used[0] = 89.0
    assert not any(budget.is_out() for _ in range(1000))
    used[0] = 91.0
    assert any(budget.is_out() for _ in range(1000))
    assert budget.spent == "100 MB"
    with pytest.raises(OutOfBudgetError):
        budget.check()


def test_build_that_fills_the_memory_while_it_is_read(kit: Any) -> None:
    text = kit.bench + "".join(f"load l{number} 1 A\n" for number in range(1000))
    build = kit.one(text, budget=lambda: Budget(1e9, 100.0, Ticking(), lambda: 95.0))
    assert "The budget of 100 MB ran out while the file was being read" in over_limit(build).message
    assert over_limit(build).span.line > 1


def test_every_budget_either_does_or_is_said_to_have_run_out(kit: Any) -> None:
    """Whatever the moment, the build is partial and the message stands in it; with enough time nothing is said."""
    needed = looks_needed(kit)
    assert needed > 20
    for seconds in range(1, needed + 2):
        build = kit.one(kit.bench, budget=lasting(seconds + 0.5))
        enough = seconds + 0.5 > needed - 1
        assert build.partial is not enough, seconds
        if not enough:
            finding = over_limit(build)
            assert f"The budget of {seconds + 0.5:g} s ran out" in finding.message
            assert finding.span.path == "bench.rig"
            assert "--budget" in finding.remedy


def test_out_while_reading_stands_at_the_statement(kit: Any) -> None:
    finding = over_limit(kit.one(kit.bench, budget=lasting(4.5)))
    assert "while the file was being read" in finding.message
    assert finding.span.line > 1


def test_out_while_solving_keeps_what_was_solved(kit: Any) -> None:
    text = kit.bench + "".join(f'state "s{number}" {{ lamp on; house at {number} % }}\n' for number in range(40))
    for seconds in range(1, looks_needed(kit, text), 2):
        build = kit.one(text, budget=lasting(seconds))
        finding = over_limit(build)
        if "states were solved" in finding.message and build.states:
            assert len(build.states) < 41
            assert build.not_reached >= 41 - len(build.states)
            assert build.findings == tuple(item for item in build.findings if item.rule.family == "text")
            return
    pytest.fail("no budget ran out while states were being solved")


def test_out_inside_of_a_rule_keeps_what_was_said_and_names_the_rest(kit: Any) -> None:
    rule, _ = kit.warm
    clock = Ticking()

    def endless(study: Any) -> Iterator[Any]:
        from ohmwright.findings import Passed

        while True:
            yield Passed("over", ("feed",))

    pack = kit.pack_of(kit.bare, (rule, endless), kit.long)
    build = kit.one(kit.bench, pack=pack, budget=lambda: Budget(500.0, clock=clock))
    finding = over_limit(build)
    assert "warm-wire and 1 more were not run to the end" in finding.message
    assert {item.rule.id for item in build.passes} == {"unlabelled-battery", "warm-wire"}


def test_one_build_that_runs_out_leaves_the_others_alone(kit: Any) -> None:
    budgets = iter([lasting(3.5)(), lasting(1e9)()])
    first, second = kit.inspect({"a.rig": kit.bench, "b.rig": kit.bench}, budget=lambda: next(budgets)).builds
    assert (first.partial, second.partial) == (True, False)


def test_states_that_do_not_fit_are_left_out_and_counted(kit: Any) -> None:
    text = kit.bench + "".join(f'state "s{number}" {{ lamp on; house at {number} % }}\n' for number in range(40))
    build = kit.one(text, budget=lambda: Budget(megabytes=0.6))
    assert 0 < len(build.states) < 41
    assert len(build.states) + build.not_reached >= 41
    assert "the budget of 0.6 MB holds" in over_limit(build).message


def test_build_that_does_not_fit_at_all(kit: Any) -> None:
    build = kit.one(kit.bench, budget=lambda: Budget(megabytes=0.01))
    assert build.states == ()
    assert "would take some" in over_limit(build).message


def test_memory_that_the_system_refuses(kit: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*arguments: Any) -> Any:
        raise MemoryError

    monkeypatch.setattr("ohmwright.inspecting.make_study", refuse)
    assert "The budget of 9 MB ran out" in over_limit(kit.one(kit.bench, budget=lambda: Budget(megabytes=9.0))).message


def test_more_things_than_the_limit(kit: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("ohmwright.studying.MOST_OBJECTS", 4)
    build = kit.one(kit.bench)
    assert "holds 5 parts, conductors, pins and states; at most 4" in over_limit(build).message
    assert build.partial


@pytest.mark.parametrize(
    ("objects", "branches", "megabytes", "states"), [(1000, 1000, 100.0, 117), (1000, 1000, 12.0, 0), (0, 0, 1.0, 1333)]
)
def test_estimate(objects: int, branches: int, megabytes: float, states: int) -> None:
    assert states_that_fit(objects, branches, megabytes) == states


# on the command line ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("budget", ["0.000001,1000", "15,0.001"])
def test_command_that_runs_out(command: Any, kit: Any, sample_installed: Any, budget: str) -> None:
    Path("box.rig").write_text(kit.bench, encoding="utf-8")
    ran = command("inspect", "box.rig", "--budget", budget, "--output", "json")
    assert ran.code == 2
    (build,) = json.loads(ran.out)["builds"]
    assert build["partial"]
    assert "over-limit" in [finding["rule"] for finding in build["findings"]]


def test_limits_of_the_system_are_given_back(command: Any, kit: Any, sample_installed: Any) -> None:
    resource = pytest.importorskip("resource")
    Path("box.rig").write_text(kit.bench, encoding="utf-8")
    before = resource.getrlimit(resource.RLIMIT_AS)
    command("inspect", "box.rig", "--budget", "15,500")
    assert resource.getrlimit(resource.RLIMIT_AS) == before


def test_solving_that_runs_out(command: Any, kit: Any, sample_installed: Any) -> None:
    Path("box.rig").write_text(kit.bench, encoding="utf-8")
    ran = command("solve", "box.rig", "--budget", "0.000001,1000")
    assert ran.code == 2
    assert "budget of 1e-06 s ran out" in ran.err


def test_chain_that_cannot_be_followed(kit: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def deep(*arguments: Any) -> Any:
        raise RecursionError

    monkeypatch.setattr("ohmwright.inspecting.resolve", deep)
    finding = over_limit(kit.one(kit.bench))
    assert "more things inside each other, or in one chain, than can be followed" in finding.message
    assert finding.span.path == "bench.rig"


@pytest.mark.parametrize(("left", "cleared"), [((0.1, 0.9, 0.99), []), ((0.1, 0.9, 1.1), [2]), ((1.1, 0.1, 1.2), [0, 2])])
def test_what_earlier_builds_left_is_cleared_once_it_is_much(
    monkeypatch: pytest.MonkeyPatch, left: tuple[float, ...], cleared: list[int]
) -> None:
    """Millions of objects that were made since the last clearing, before each of three builds."""
    from ohmwright.commands import common

    now = [0]
    collected: list[int] = []
    monkeypatch.setattr(common, "_CLEARED_AFTER", 1_000_000)
    monkeypatch.setattr(gc, "get_count", lambda: (int(left[now[0]] * 1_000_000), 0, 0))
    monkeypatch.setattr(gc, "collect", lambda: collected.append(now[0]) or 0)
    monkeypatch.setattr(gc, "freeze", lambda: None)
    monkeypatch.setattr(common.Limits, "_hold_memory", lambda self: None)
    limits = common.Limits(15.0, 1000.0)
    for number in range(3):
        now[0] = number
        limits()
    limits.release()
    assert collected == cleared


def test_objects_that_were_made_are_counted_while_nobody_collects() -> None:
    was = gc.isenabled()
    gc.disable()
    try:
        before = gc.get_count()[0]
        made = [[number] for number in range(5000)]
        assert gc.get_count()[0] - before > 4000  # some lie ready from earlier ones
        del made
        assert gc.get_count()[0] - before < 1000
    finally:
        if was:
            gc.enable()
