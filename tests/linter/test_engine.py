"""What the engine makes of outcomes: severities, one finding for a subject, causes before consequences, rules that misbehave."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from ohmwright.engine import load_rules
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Passed, Severity, StateMeasure
from ohmwright.judging import key_of
from ohmwright.references import Reference
from ohmwright.rules import Grade, PackError, Rule, Yield, compare, is_broken
from ohmwright.values import Amount
from ohmwright_grammar.spans import Span

SPAN = Span("bench.rig", 7, 1, 7, 10)
READ = Reference("Handbook", "", "", "read")
MEMORY = Reference("Leaflet", "", "", "from-memory")


def rule(name: str, severity: Severity = Severity.ERROR, reference: Reference = READ) -> Rule:
    return Rule(
        name,
        f"Title of {name}",
        "invented",
        "wire",
        (),
        (Grade("one", severity, "c"), Grade("two", Severity.NOTE, "c")),
        (reference,),
    )


def saying(*outcomes: Any) -> Any:
    def check(study: object) -> Iterator[Any]:
        yield from outcomes

    return check


def found(*subject: str, grade: str = "one", **facts: Any) -> Finding:
    return Finding(grade, subject or ("feed",), "message", SPAN, **facts)


def run(kit: Any, *rules: Any, yields: tuple[Yield, ...] = (), **options: Any) -> Any:
    return kit.inspect(kit.bench, pack=kit.pack_of(*rules, yields=yields), **options)


# severities ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("declared", "reference", "settled"),
    [
        (Severity.ERROR, READ, Severity.ERROR), (Severity.ERROR, MEMORY, Severity.WARNING), (Severity.WARNING, MEMORY, Severity.WARNING),
        (Severity.NOTE, MEMORY, Severity.NOTE), (Severity.WARNING, READ, Severity.WARNING),
    ],
)  # fmt: skip
def test_remembered_limit_is_at_most_a_warning(kit: Any, declared: Severity, reference: Reference, settled: Severity) -> None:
    (item,) = run(kit, (rule("odd-wire", declared, reference), saying(found()))).builds[0].findings
    assert item.severity is settled


def test_reference_of_the_finding_counts_before_that_of_the_rule(kit: Any) -> None:
    rules = (
        (rule("odd-wire", reference=READ), saying(found(reference=MEMORY))),
        (rule("even-wire", reference=MEMORY), saying(found(reference=READ))),
    )
    by_rule = {item.rule.id: item for item in run(kit, *rules).builds[0].findings}
    assert by_rule["odd-wire"].severity is Severity.WARNING
    assert by_rule["even-wire"].severity is Severity.ERROR
    assert by_rule["even-wire"].reference is READ


def test_setting_changes_a_severity(kit: Any) -> None:
    (item,) = run(kit, (rule("odd-wire"), saying(found())), severities={"odd-wire.one": Severity.NOTE}).builds[0].findings
    assert item.severity is Severity.NOTE


def test_setting_changes_the_severity_of_what_could_not_be_checked(kit: Any) -> None:
    outcome = NotChecked("one", ("feed",), "length", SPAN)
    (item,) = run(kit, (rule("odd-wire"), saying(outcome)), severities={"odd-wire.one": Severity.NOTE}).builds[0].not_checked
    assert item.severity is Severity.NOTE


# one finding for rule, grade and subject ----------------------------------------------------------------------------


def measured(state: str, value: float) -> Finding:
    one, limit = Amount(value, "current"), Amount(20.0, "current")
    states = (StateMeasure(state, one, limit, (20.0 - value) / 20.0),)
    return found(measured=one, limit=limit, state=state, states=states)


def test_one_finding_at_the_worst_state_with_all_states(kit: Any) -> None:
    (item,) = (
        run(kit, (rule("odd-wire"), saying(measured("a", 22.0), measured("b", 30.0), measured("c", 25.0)))).builds[0].findings
    )
    assert item.finding.state == "b"
    assert [state.state for state in item.finding.states] == ["a", "b", "c"]
    assert item.finding.margin == pytest.approx(-0.5)


def test_state_that_is_told_twice_keeps_its_worse_value(kit: Any) -> None:
    (item,) = run(kit, (rule("odd-wire"), saying(measured("a", 30.0), measured("a", 22.0)))).builds[0].findings
    (state,) = item.finding.states
    assert state.measured.value == 30.0


def test_other_grades_and_subjects_are_other_findings(kit: Any) -> None:
    outcomes = saying(found("feed"), found("feed", grade="two"), found("back"), found("feed", "house"))
    items = run(kit, (rule("odd-wire"), outcomes)).builds[0].findings
    assert len({item.fingerprint for item in items}) == 4


def test_fingerprint_knows_neither_state_nor_line_nor_order() -> None:
    assert key_of("a.rig", "r", "g", ("x", "y")) == key_of("a.rig", "r", "g", ("y", "x", "y"))
    assert key_of("a.rig", "r", "g", ("x",)) != key_of("b.rig", "r", "g", ("x",))
    assert key_of("a.rig", "r", "g", ("x", "y")) != key_of("a.rig", "r", "g", ("xy",))


# yields -------------------------------------------------------------------------------------------------------------


def standing(build: Any) -> list[str]:
    return sorted(item.rule.id for item in build.findings)


def test_consequence_yields_to_its_cause(kit: Any) -> None:
    rules = ((rule("cause"), saying(found())), (rule("effect"), saying(found())))
    build = run(kit, *rules, yields=(Yield("cause", "effect"),)).builds[0]
    assert standing(build) == ["cause"]
    assert [item.rule.id for item in build.yielded] == ["effect"]
    assert build.findings[0].because == (build.yielded[0].key,)


@pytest.mark.parametrize("words", [("effect", "effect"), ("effect.one", "effect"), ("*", "effect")])
def test_yield_by_rule_by_grade_and_to_any_rule(kit: Any, words: tuple[str, str]) -> None:
    rules = ((rule("cause"), saying(found())), (rule("effect"), saying(found())))
    winner = "*" if words[0] == "*" else "cause"
    build = run(kit, *rules, yields=(Yield(winner, words[0] if words[0] != "*" else "effect"),)).builds[0]
    assert standing(build) == ["cause"]


@pytest.mark.parametrize(
    ("cause", "effect", "why"),
    [
        (found("feed"), found("back"), "no subject is shared"),
        (found(state="a"), found(state="b"), "no state is shared"),
        (found(grade="two"), found(grade="one"), "the cause is weaker"),
    ],
)
def test_finding_that_does_not_yield(kit: Any, cause: Finding, effect: Finding, why: str) -> None:
    rules = ((rule("cause"), saying(cause)), (rule("effect"), saying(effect)))
    build = run(kit, *rules, yields=(Yield("cause", "effect"),)).builds[0]
    assert standing(build) == ["cause", "effect"], why


def test_nothing_yields_to_a_waived_finding(kit: Any) -> None:
    rules = ((rule("cause"), saying(found())), (rule("effect"), saying(found())))
    text = kit.bench + 'waive cause on feed because "known" until 2027-01-01\n'
    build = kit.inspect(text, pack=kit.pack_of(*rules, yields=(Yield("cause", "effect"),))).builds[0]
    assert standing(build) == ["effect"]
    assert [item.rule.id for item in build.waived] == ["cause"]


def test_nothing_yields_to_a_finding_that_a_setting_lowered(kit: Any) -> None:
    rules = ((rule("cause"), saying(found())), (rule("effect", Severity.WARNING), saying(found())))
    build = run(kit, *rules, yields=(Yield("cause", "effect"),), severities={"cause.one": Severity.WARNING}).builds[0]
    assert standing(build) == ["cause", "effect"]


def test_chain_of_causes_ends_at_the_one_that_stands(kit: Any) -> None:
    names = ("first", "second", "third")
    rules = tuple((rule(name), saying(found())) for name in names)
    for yields in ((Yield("first", "second"), Yield("second", "third")), (Yield("second", "third"), Yield("first", "second"))):
        build = run(kit, *rules, yields=yields).builds[0]
        assert standing(build) == ["first"]
        assert build.findings[0].because == tuple(sorted(item.key for item in build.yielded))
        assert len(build.yielded) == 2


def test_two_that_yield_to_each_other_do_not_both_vanish(kit: Any) -> None:
    rules = ((rule("one"), saying(found())), (rule("two"), saying(found())))
    build = run(kit, *rules, yields=(Yield("one", "two"), Yield("two", "one"))).builds[0]
    assert standing(build) == ["one"]


# rules that misbehave ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("outcome", "words"),
    [
        (object(), "TypeError: object is no outcome"), (found(grade="three"), "odd-wire has no grade 'three'"),
        (Passed("three", ("feed",)), "has no grade 'three'"), (NotChecked("three", ("feed",), "length", SPAN), "has no grade 'three'"),
    ],
)  # fmt: skip
def test_outcome_that_is_none(kit: Any, outcome: Any, words: str) -> None:
    result = run(kit, (rule("odd-wire"), saying(Passed("one", ("feed",)), outcome)), (rule("even-wire"), saying(found())))
    (error,) = result.errors
    assert (error.rule, error.build, error.pack) == ("odd-wire", "bench.rig", "sample")
    assert words in error.message
    assert standing(result.builds[0]) == ["even-wire"]
    assert len(result.builds[0].passes) == 1, "what was said before is kept"


def test_rule_on_another_basis_does_not_apply(kit: Any) -> None:
    result = kit.inspect(kit.bench.replace("us-small-craft", "iec"))
    assert [(rule, outcome.condition) for rule, outcome in result.builds[0].does_not_apply] == [
        ("unlabelled-battery", "not on basis iec")
    ]


def test_conditions_are_added_up(kit: Any) -> None:
    outcomes = saying(DoesNotApply("a"), DoesNotApply("b", 3), DoesNotApply("a", 2))
    rows = run(kit, (rule("odd-wire"), outcomes)).builds[0].does_not_apply
    assert [(outcome.condition, outcome.count) for _, outcome in rows] == [("a", 3), ("b", 3)]


def test_rules_of_one_name_in_two_packs(kit: Any) -> None:
    with pytest.raises(PackError, match="its rule warm-wire has the name of one of the pack sample"):
        load_rules((kit.sample, kit.pack_of(kit.warm)))
    with pytest.raises(PackError, match="of the linter itself"):
        load_rules((kit.pack_of((rule("missing-unit"), saying())),))


def test_only_named_rules_or_families_are_loaded(kit: Any) -> None:
    assert [item.rule.id for item in load_rules((kit.sample,), ("long-wire",))[0]] == ["long-wire"]
    assert len(load_rules((kit.sample,), ("invented",))[0]) == 3


def test_order_of_findings_does_not_hang_on_the_order_of_rules(kit: Any) -> None:
    rules = (
        (rule("b-wire"), saying(found("feed"), found("back"))), (rule("a-wire"), saying(found("lamp", grade="two"), found("feed"))),
    )  # fmt: skip
    one = [item.fingerprint for item in run(kit, *rules).builds[0].findings]
    two = [item.fingerprint for item in run(kit, *reversed(rules)).builds[0].findings]
    assert one == two


# comparisons --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "sense", "broken"),
    [
        (20.0, "at-most", False), (20.0 * (1 + 1e-10), "at-most", False), (20.0 * (1 + 1e-8), "at-most", True),
        (20.0, "at-least", False), (20.0 * (1 - 1e-10), "at-least", False), (20.0 * (1 - 1e-8), "at-least", True),
    ],
)  # fmt: skip
def test_equality_holds_within_a_rounding_of_1e_9(value: float, sense: Any, broken: bool) -> None:
    assert is_broken(value, 20.0, sense) is broken


def test_worst_case_is_that_with_the_smallest_margin() -> None:
    from ohmwright.rules import Case

    limit = Amount(20.0, "current")
    cases = [
        Case("a", Amount(10.0, "current"), limit),
        Case("b", Amount(25.0, "current"), limit),
        Case("c", Amount(22.0, "current"), limit),
    ]
    worst, broken = compare(cases, "at-most")
    assert worst.state == "b"
    assert [state.state for state in broken] == ["b", "c"]


@pytest.mark.parametrize(
    ("measured", "limit", "sense", "broken"),
    [
        (float("inf"), 30.0, "at-most", True),
        (float("inf"), 30.0, "at-least", False),
        (30.0, float("inf"), "at-most", False),
        (30.0, 30.0, "at-most", False),
    ],
)
def test_what_has_no_bound_breaks_every_limit_that_has_one(measured: float, limit: float, sense: Any, broken: bool) -> None:
    assert is_broken(measured, limit, sense) is broken
