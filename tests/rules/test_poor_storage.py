"""Rule poor-storage: the fault catalogue's example K7 end to end, temperature, charge level and top-up at their edges, what is missing."""

from __future__ import annotations

import pytest

MONTH = 730 * 3600.0
AGM = "AGM, 6 cells, 80 Ah; store at -20 degC to 40 degC"
LFP = "LFP, 4 cells, 100 Ah; store at -10 degC to 40 degC; store at 40 % to 60 %; top up every 12 months"
PLAN = "store for 5 months; store from 100 %; store at 0 degC to 25 degC"


def build(battery: str = AGM, plan: str = PLAN, more: str = "") -> str:
    procedure = f"procedure {{ {plan} }}\n" if plan else ""
    return f'rig "Winter box", revision 1\nbattery house {{ {battery} }}\n{procedure}{more}'


def test_catalogue_k7(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, K7, Ex: AGM, 8 months, none planned -> warning."""
    found = said(build(plan=PLAN.replace("5 months", "8 months")), "poor_storage")
    assert found.grades == [("house", "no-top-up", "warning")]
    finding = found.finding("house")
    assert (finding.measured.value / MONTH, finding.limit.value / MONTH) == (8.0, 6.0)
    assert finding.message == (
        "house: it is left for 8 months without a charge; no top-up is planned. 6 months are the longest (usual for lead-acid)."
    )
    assert len(found.passes) == 3


@pytest.mark.parametrize(
    ("battery", "plan", "months"),
    [
        (AGM, "store for 6 months", None),
        (AGM, "store for 6.01 months", 6.01),
        (AGM, "store for 8 months; top up every 6 months", None),
        (AGM, "store for 8 months; top up every 7 months", 7.0),
        (AGM, "store for 5 months; top up every 7 months", None),  # it comes out before the first one
        (AGM, "top up every 7 months", 7.0),
        (f"{AGM}; top up every 3 months", "store for 4 months", 4.0),
        (f"{AGM}; top up every 12 months", "store for 10 months", None),
        (LFP, "store for 12 months", None),
        (LFP, "store for 13 months", 13.0),
    ],
)
def test_top_up(said, battery: str, plan: str, months: float | None) -> None:  # type: ignore[no-untyped-def]
    found = said(build(battery, plan), "poor_storage")
    if months is None:
        assert found.passed("house", "no-top-up")
    else:
        assert found.finding("house", "no-top-up").measured.value / MONTH == pytest.approx(months)


def test_the_time_on_the_shelf_that_is_required_counts(said) -> None:  # type: ignore[no-untyped-def]
    more = "require on the shelf for 4 months\nrequire on the shelf for 9 months\n"
    assert said(build(plan="", more=more), "poor_storage").finding("house").measured.value == 9 * MONTH
    assert said(build(more=more), "poor_storage").passed("house", "no-top-up").measured.value == 5 * MONTH


@pytest.mark.parametrize(
    ("allowed", "planned", "grades"),
    [
        ("-20 degC to 40 degC", "-20 degC to 40 degC", []),
        ("-20 degC to 40 degC", "-20.1 degC to 40 degC", ["too-cold"]),
        ("-20 degC to 40 degC", "-20 degC to 40.1 degC", ["too-warm"]),
        ("-20 degC to 40 degC", "-21 degC to 41 degC", ["too-cold", "too-warm"]),
        ("at most 40 degC", "-30 degC to 40 degC", []),
        ("at most 40 degC", "-30 degC to 41 degC", ["too-warm"]),
        ("at least -10 degC", "-11 degC to 60 degC", ["too-cold"]),
        ("-20 degC to 40 degC", "at most 41 degC", ["too-warm"]),
        ("-20 degC to 40 degC", "at least -21 degC", ["too-cold"]),
    ],
)
def test_temperatures(said, allowed: str, planned: str, grades: list[str]) -> None:  # type: ignore[no-untyped-def]
    """Readings, Temperature: the lowest against K7's lower limit, the highest against its upper limit."""
    text = build(AGM.replace("-20 degC to 40 degC", allowed), PLAN.replace("0 degC to 25 degC", planned))
    found = said(text, "poor_storage")
    assert [grade for _, grade, _ in found.grades] == grades
    assert {passed.grade for passed in found.passes} == {"too-cold", "too-warm", "wrong-level", "no-top-up"} - set(grades)


@pytest.mark.parametrize(
    ("battery", "level", "measured"),
    [
        (AGM, "100 %", None),
        (AGM, "99 %", 0.99),
        (AGM, "at least 95 %", 0.95),
        (f"{AGM}; store at 80 % to 100 %", "80 %", None),
        (LFP, "40 %", None),
        (LFP, "39 %", 0.39),
        (LFP, "60 %", None),
        (LFP, "61 %", 0.61),
        (LFP, "30 % to 70 %", 0.3),
        (LFP.replace("40 % to 60 %", "50 %"), "60 %", None),
        (LFP.replace("40 % to 60 %", "50 %"), "61 %", 0.61),
        (LFP.replace("40 % to 60 %", "50 %"), "40 %", None),
        (LFP.replace("40 % to 60 %", "50 %"), "39 %", 0.39),
        (LFP.replace("40 % to 60 %", "at most 60 %"), "10 %", None),
        (LFP.replace("40 % to 60 %", "at most 60 %"), "61 %", 0.61),
        (LFP.replace("40 % to 60 %", "at least 60 %"), "59 %", 0.59),
        (LFP.replace("40 % to 60 %", "at least 60 %"), "100 %", None),
    ],
)
def test_charge_level(said, battery: str, level: str, measured: float | None) -> None:  # type: ignore[no-untyped-def]
    found = said(build(battery, PLAN.replace("100 %", level)), "poor_storage")
    if measured is None:
        assert found.passed("house", "wrong-level")
    else:
        assert found.finding("house", "wrong-level").measured.value == pytest.approx(measured)


@pytest.mark.parametrize(("level", "limit"), [("42 %", 0.4), ("58 %", 0.6), ("45 % to 58 %", 0.6), ("41 % to 58 %", 0.4)])
def test_what_holds_is_told_of_the_nearer_end(said, level: str, limit: float) -> None:  # type: ignore[no-untyped-def]
    """Source: the rule's page; both ends of a planned range must hold, and the nearer one says how much is left."""
    held = said(build(LFP, PLAN.replace("100 %", level)), "poor_storage").passed("house", "wrong-level")
    assert held.limit.value == pytest.approx(limit)


def test_words_of_the_charge_level(said) -> None:  # type: ignore[no-untyped-def]
    low = said(build(plan=PLAN.replace("100 %", "60 %")), "poor_storage").finding("house")
    assert low.message == "house: its storage begins at 60 %; lead-acid is stored full. Its plates sulphate."
    assert low.remedy == "Charge it full before it is put away."
    high = said(build(LFP), "poor_storage").finding("house")
    assert (
        high.message == "house: its storage begins at 100 %; its maker wants 40 % to 60 %. It ages early, or is empty too soon."
    )
    assert high.remedy == "Charge it to 60 % or less before it is put away."


def test_a_declared_state_of_storage_says_it_too(said) -> None:  # type: ignore[no-untyped-def]
    more = "state stored { house at 30 %; -15 degC }\n"
    found = said(build(LFP, "store for 5 months", more), "poor_storage")
    assert {finding.grade: finding.measured.value for finding in found.findings} == {"too-cold": -15.0, "wrong-level": 0.3}
    inside = said(build(LFP, "store for 5 months", more.replace("-15 degC", "inside 50 degC; -15 degC")), "poor_storage")
    assert inside.finding("house", "too-warm").measured.value == 50.0
    assert not said(build(LFP, PLAN.replace("100 %", "50 %"), more), "poor_storage").findings  # the procedure goes first


@pytest.mark.parametrize(
    ("battery", "plan", "missing"),
    [
        (AGM, "", [("no-top-up", "storage plan (for how long, at which temperature and charge level)")]),
        ("AGM, 80 Ah", PLAN, [("too-warm", "range of storage temperatures of house")]),
        ("AGM, 80 Ah; store at 20 degC", PLAN, [("too-warm", "range of storage temperatures of house")]),
        (AGM, "store for 5 months; store from 100 %", [("too-warm", "temperature in storage")]),
        (AGM, "store for 5 months; store at 20 degC", [("wrong-level", "charge level at which storage begins")]),
        (AGM, "store from 100 %; store at 20 degC", [("no-top-up", "time in storage, or the interval between charges")]),
        (
            "LFP, 4 cells; store at -10 degC to 40 degC",
            PLAN,
            [
                ("wrong-level", "charge level for storage of house"),
                ("no-top-up", "longest interval between top-up charges of house"),
            ],
        ),
        (
            "12 V; store at -10 degC to 40 degC",
            PLAN,
            [("wrong-level", "chemistry of house"), ("no-top-up", "chemistry of house")],
        ),
    ],
)
def test_missing_data_are_named(said, battery: str, plan: str, missing: list[tuple[str, str]]) -> None:  # type: ignore[no-untyped-def]
    found = said(build(battery, plan), "poor_storage")
    assert not found.findings
    assert sorted(found.missing) == sorted(("house", grade, what) for grade, what in missing)


def test_without_a_battery_it_does_not_apply(said) -> None:  # type: ignore[no-untyped-def]
    assert [item.condition for item in said('rig "Bench", revision 1\n', "poor_storage").idle] == ["there is no battery"]
