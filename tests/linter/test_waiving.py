"""Waivers: reason, value, date; expired, unused, outgrown and incomplete ones; none of them excuses more than it says."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
from ohmwright.findings import Finding, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.values import Amount
from ohmwright_grammar.spans import Span

# The bench: feed and back carry 25 A where 20 A is the most.
REASON = 'because "to be mended"'
UNTIL = "until 2027-06-30"


def inspect(kit: Any, *waivers: str, **options: Any) -> Any:
    return kit.one(kit.bench + "".join(f"waive {words}\n" for words in waivers), **options)


def names(build: Any) -> list[tuple[str, str]]:
    return [(item.rule.id, item.finding.subject[0]) for item in build.findings]


def about(build: Any) -> Any:
    (item,) = [item for item in build.findings if item.rule.family == "waivers"]
    return item


def test_waived_up_to_the_measured_value(kit: Any) -> None:
    build = inspect(kit, f"warm-wire on feed up to 25 A {REASON} {UNTIL}")
    assert names(build) == [("warm-wire", "back")]
    (item,) = build.waived
    assert item.finding.subject == ("feed",)
    assert item.waiver is not None
    assert item.waiver.because == "to be mended"


def test_one_waiver_for_several_things_and_one_grade(kit: Any) -> None:
    build = inspect(kit, f"warm-wire.over on feed, back up to 30 A {REASON} {UNTIL}")
    assert names(build) == []
    assert len(build.waived) == 2


def test_waiver_of_another_grade_excuses_nothing(kit: Any) -> None:
    build = inspect(kit, f"warm-wire.near on feed up to 30 A {REASON} {UNTIL}")
    assert ("warm-wire", "feed") in names(build)
    assert about(build).rule.id == "unused-waiver"


def test_value_that_has_outgrown_its_waiver(kit: Any) -> None:
    build = inspect(kit, f"warm-wire on feed up to 24.9 A {REASON} {UNTIL}")
    assert ("warm-wire", "feed") in names(build)
    item = about(build)
    assert (item.rule.id, item.severity) == ("outgrown-waiver", Severity.NOTE)
    assert item.finding.message == "The waiver of warm-wire on feed holds up to 24.9 A; now it is 25 A."
    assert item.finding.span.line == 10


def test_value_in_another_unit_of_the_same_dimension(kit: Any) -> None:
    assert names(inspect(kit, f"warm-wire on feed, back up to 25000 mA {REASON} {UNTIL}")) == []


def test_value_of_another_dimension(kit: Any) -> None:
    build = inspect(kit, f"warm-wire on feed up to 3 m {REASON} {UNTIL}")
    assert ("warm-wire", "feed") in names(build)
    item = about(build)
    assert item.rule.id == "incomplete-waiver"
    assert "holds up to 3 m, but a current is measured" in item.finding.message
    assert item.finding.remedy == "Write: up to 25 A"


def test_value_of_the_wrong_sense(kit: Any) -> None:
    build = inspect(kit, f"warm-wire on feed down to 30 A {REASON} {UNTIL}")
    assert ("warm-wire", "feed") in names(build)
    assert about(build).finding.remedy == "Add the value that is excused: up to 25 A"


def test_waiver_without_its_value(kit: Any) -> None:
    build = inspect(kit, f"warm-wire on feed {REASON} {UNTIL}")
    item = about(build)
    assert (item.rule.id, item.severity) == ("incomplete-waiver", Severity.WARNING)
    assert item.finding.remedy == "Add the value that is excused: up to 25 A"
    assert ("warm-wire", "feed") in names(build)


@pytest.mark.parametrize(
    ("words", "missing"),
    [
        (f"warm-wire on feed up to 30 A {UNTIL}", "does not say a reason,"),
        (f"warm-wire on feed up to 30 A {REASON}", "does not say its last day,"),
        (f"warm-wire up to 30 A {REASON} {UNTIL}", "does not say the thing that it is on,"),
        ("warm-wire on feed", "does not say a reason and its last day,"),
        (f'warm-wire on feed up to 30 A because "" {UNTIL}', "does not say a reason,"),
        (f'warm-wire on feed up to 30 A because " " {UNTIL}', "does not say a reason,"),
    ],
)
def test_incomplete_waiver_excuses_nothing(kit: Any, words: str, missing: str) -> None:
    build = inspect(kit, words)
    item = about(build)
    assert item.rule.id == "incomplete-waiver"
    assert missing in item.finding.message
    assert ("warm-wire", "feed") in names(build)


@pytest.mark.parametrize(("today", "holds"), [(date(2027, 6, 29), True), (date(2027, 6, 30), True), (date(2027, 7, 1), False)])
def test_last_day_counts(kit: Any, today: date, holds: bool) -> None:
    build = inspect(kit, f"warm-wire on feed, back up to 30 A {REASON} {UNTIL}", today=today)
    if holds:
        assert names(build) == []
        return
    item = about(build)
    assert (item.rule.id, item.severity) == ("expired-waiver", Severity.WARNING)
    assert "held until 2027-06-30" in item.finding.message
    assert build.waived == ()


def test_waiver_of_nothing(kit: Any) -> None:
    build = kit.one(kit.bench.replace("25 A", "5 A") + f"waive warm-wire on feed up to 30 A {REASON} {UNTIL}\n")
    item = about(build)
    assert (item.rule.id, item.severity, item.finding.remedy) == ("unused-waiver", Severity.NOTE, "Take the waiver out.")


def test_waiver_of_two_things_of_which_one_is_in_order(kit: Any) -> None:
    text = kit.bench.replace("lamp.plus { 6 AWG; 0.6 m }", "lamp.plus { 6 AWG; 2.6 m }")
    build = kit.one(text + f"waive long-wire on feed, back up to 3 m {REASON} {UNTIL}\n")
    item = about(build)
    assert item.finding.message == "Nothing is found by long-wire on back."
    assert item.finding.remedy == "Take back out of the waiver."
    assert [kept.finding.subject for kept in build.waived] == [("feed",)]


def test_waiver_on_what_could_not_be_checked_is_not_called_unused(kit: Any) -> None:
    text = kit.bench.replace("lamp.plus { 6 AWG; 0.6 m }", "lamp.plus { 6 AWG }")
    build = kit.one(text + f"waive long-wire on feed up to 3 m {REASON} {UNTIL}\n")
    assert [item for item in build.findings if item.rule.family == "waivers"] == []


def test_waiver_of_a_rule_that_failed_is_not_called_unused(kit: Any) -> None:
    def broken(study: object) -> Iterator[Any]:
        raise ValueError
        yield

    pack = kit.pack_of((kit.warm[0], broken), kit.long)
    build = inspect(kit, f"warm-wire on feed up to 30 A {REASON} {UNTIL}", pack=pack)
    assert [item for item in build.findings if item.rule.family == "waivers"] == []


@pytest.mark.parametrize(
    ("words", "message", "remedy"),
    [
        ("worm-wire on feed", "There is no rule 'worm-wire'.", "Rules near this one: warm-wire"),
        ("zzz on feed", "There is no rule 'zzz'.", "Print all of them with: ohmwright basis"),
        ("warm-wire.ovr on feed", "The rule 'warm-wire' has no grade 'ovr'.", "Grades near this one: over."),
        ("warm-wire.zzz on feed", "The rule 'warm-wire' has no grade 'zzz'.", "Its grades: over, near."),
    ],
)
def test_unknown_rule_or_grade(kit: Any, words: str, message: str, remedy: str) -> None:
    build = inspect(kit, f"{words} {REASON} {UNTIL}")
    (item,) = [item for item in build.findings if item.rule.id == "unknown-name"]
    assert item.finding.message == message
    assert remedy in item.finding.remedy
    assert build.partial


def test_unknown_thing_is_told_once(kit: Any) -> None:
    build = inspect(kit, f"warm-wire on feeed up to 30 A {REASON} {UNTIL}")
    (item,) = [item for item in build.findings if item.finding.span.line == 10]
    assert item.rule.id == "unknown-name"
    assert "feed" in item.finding.remedy


def test_yes_or_no_check_needs_no_value(kit: Any) -> None:
    text = kit.bench.replace("; internal resistance 4 mohm", "") + f"waive unlabelled-battery on house {REASON} {UNTIL}\n"
    build = kit.one(text)
    assert [item.rule.id for item in build.waived] == ["unlabelled-battery"]


def test_waiver_down_to_a_value(kit: Any) -> None:
    rule = Rule(
        "low-voltage", "t", "invented", "part", (), (Grade("under", Severity.ERROR, "c"),), (Reference("H", "", "", "read"),)
    )

    def check(study: object) -> Iterator[Finding]:
        measured, limit = Amount(10.5, "voltage"), Amount(11.0, "voltage")
        yield Finding("under", ("lamp",), "m", Span("bench.rig", 5, 1, 5, 10), measured, limit, "at-least")

    pack = kit.pack_of((rule, check))
    assert names(inspect(kit, f"low-voltage on lamp down to 10.5 V {REASON} {UNTIL}", pack=pack)) == []
    build = inspect(kit, f"low-voltage on lamp down to 10.6 V {REASON} {UNTIL}", pack=pack)
    assert about(build).finding.message == "The waiver of low-voltage on lamp holds down to 10.6 V; now it is 10.5 V."
    build = inspect(kit, f"low-voltage on lamp up to 12 V {REASON} {UNTIL}", pack=pack)
    assert about(build).finding.remedy == "Add the value that is excused: down to 10.5 V"


def test_waiver_on_a_thing_beside_the_chief_one_says_which_to_name(kit: Any) -> None:
    rule = Rule(
        "odd-pair", "t", "invented", "part", (), (Grade("odd", Severity.ERROR, "c"),), (Reference("H", "", "", "read"),)
    )

    def check(study: object) -> Iterator[Finding]:
        yield Finding("odd", ("feed", "house"), "m", Span("bench.rig", 7, 1, 7, 10))

    build = inspect(kit, f"odd-pair on house {REASON} {UNTIL}", pack=kit.pack_of((rule, check)))
    assert about(build).finding.remedy == "It is found on feed: name that."


def test_number_of_things_has_no_unit(kit: Any) -> None:
    rule = Rule(
        "too-many", "t", "invented", "part", (), (Grade("many", Severity.ERROR, "c"),), (Reference("H", "", "", "read"),)
    )

    def check(study: object) -> Iterator[Finding]:
        yield Finding("many", ("house",), "m", Span("bench.rig", 4, 1, 4, 10), Amount(3.0, "count"), Amount(2.0, "count"))

    pack = kit.pack_of((rule, check))
    assert names(inspect(kit, f"too-many on house up to 3 {REASON} {UNTIL}", pack=pack)) == []
    build = inspect(kit, f"too-many on house up to 2 {REASON} {UNTIL}", pack=pack)
    assert about(build).finding.message == "The waiver of too-many on house holds up to 2; now it is 3."
    build = inspect(kit, f"warm-wire on feed up to 30 {REASON} {UNTIL}")
    assert about(build).finding.message == "The waiver of warm-wire on feed holds up to 30, but a current is measured."


def test_the_remedy_for_a_ratio_can_be_written(kit: Any) -> None:
    rule = Rule("uneven", "t", "invented", "part", (), (Grade("over", Severity.ERROR, "c"),), (Reference("H", "", "", "read"),))

    def check(study: object) -> Iterator[Finding]:
        yield Finding("over", ("house",), "m", Span("bench.rig", 4, 1, 4, 10), Amount(1.83, "count"), Amount(1.25, "count"))

    pack = kit.pack_of((rule, check))
    remedy = about(inspect(kit, f"uneven on house {REASON} {UNTIL}", pack=pack)).finding.remedy
    assert remedy == "Add the value that is excused: up to 1.83"
    assert names(inspect(kit, f"uneven on house {remedy.partition(': ')[2]} {REASON} {UNTIL}", pack=pack)) == []
    assert names(inspect(kit, f"uneven on house up to 1.8 {REASON} {UNTIL}", pack=pack)) != []


def test_bound_is_said_as_it_was_read(kit: Any) -> None:
    from ohmwright_grammar.files import MemoryFiles
    from ohmwright_grammar.kinds.waiver import Waiver
    from ohmwright_grammar.printing import say_value
    from ohmwright_grammar.resolve import Loader, Resolved, resolve

    for words in ("up to 3", "up to 1.83", "down to 0.629", "up to 0.9 m", "up to 6 AWG", "down to 10.5 V"):
        resolved = resolve(
            "b.rig", Loader(MemoryFiles({"b.rig": kit.bench + f"waive warm-wire on feed {words} {REASON} {UNTIL}\n"}))
        )
        assert isinstance(resolved, Resolved)
        assert resolved.problems == ()
        (waiver,) = resolved.build.waivers
        datum, value = (Waiver.up_to, waiver.up_to) if waiver.up_to is not None else (Waiver.down_to, waiver.down_to)
        assert say_value(datum, value) == words
