"""Rule loose-battery: the fault catalogue's example C11, the edges of force and movement, what silence means, missing data."""

from __future__ import annotations

import pytest

BOX = 'rig "Box", revision 1\nsite { USE }\nbattery house { LFP, 4 cells, 100 Ah; FACTS }\n'


def box(facts: str, use: str = "portable") -> str:
    """A box with one battery."""
    return BOX.replace("USE", use).replace("FACTS", facts)


def test_catalogue_c11(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, C11, Ex: 11 kg -> 2 x 108 = 216 N; strap rated 150 N -> error."""
    found = said(box("weighs 11 kg; strap rated 150 N; moves at most 5 mm"), "loose_battery")
    assert found.grades == [("house", "weak", "error")]
    finding = found.finding("house")
    assert (finding.measured.value, finding.sense) == (150.0, "at-least")
    assert finding.limit.value == pytest.approx(216, abs=0.5)
    assert finding.message == "house: its hold-down bears 150 N; 216 N is needed, twice the weight of 11 kg."


@pytest.mark.parametrize(("mass", "force", "broken"), [("10 kg", "196.2 N", False), ("10 kg", "196.1 N", True), ("40 kg", "400 N", False), ("40 kg", "399 N", True)])  # fmt: skip
def test_force_at_its_edges(said, mass: str, force: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """33 CFR 183.420(a): twice the battery weight or 90 lbf (400 N), whichever is less; at equality it holds."""
    found = said(box(f"weighs {mass}; hold-down force {force}; moves at most 5 mm"), "loose_battery")
    assert found.grades == ([("house", "weak", "error")] if broken else [])


@pytest.mark.parametrize(("movement", "broken"), [("25 mm", False), ("25.1 mm", True), ("24.9 mm", False)])
def test_movement_at_its_edge(said, movement: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """33 CFR 183.420(a): 1 inch, in the catalogue 25 mm."""
    found = said(box(f"hold-down force 400 N; moves at most {movement}"), "loose_battery")
    assert found.grades == ([("house", "moves", "error")] if broken else [])


@pytest.mark.parametrize(("use", "grade"), [("portable", ("not-held", "error")), ("boat", ("not-held", "error")), ("vehicle", ("not-held", "error")), ("fixed", ("fixed", "warning"))])  # fmt: skip
def test_silence_is_the_finding(said, use: str, grade: tuple[str, str]) -> None:  # type: ignore[no-untyped-def]
    """Readings.md, Silence and C11: a hold-down that nobody declares; error where the box travels, else a warning."""
    for facts in ("12.8 V", "not held down"):
        found = said(box(facts, use), "loose_battery")
        assert found.grades == [("house", *grade)]
        assert found.missing == []


def test_use_that_is_not_said_leaves_a_warning_and_an_open_question(said) -> None:  # type: ignore[no-untyped-def]
    found = said(box("12.8 V", "outdoors"), "loose_battery")
    assert found.grades == [("house", "fixed", "warning")]
    assert [(subject, grade) for subject, grade, _ in found.missing] == [("house", "not-held")]
    assert said(box("hold-down force 400 N; moves at most 5 mm", "outdoors"), "loose_battery").missing == []


def test_what_decides_is_asked_for(said) -> None:  # type: ignore[no-untyped-def]
    found = said(box("held down"), "loose_battery")
    assert found.grades == []
    assert [(grade, missing) for _, grade, missing in found.missing] == [
        ("weak", "force that its hold-down bears"), ("moves", "how far it moves in its hold-down"),
    ]  # fmt: skip
    assert said(box("hold-down force 300 N; moves at most 5 mm"), "loose_battery").missing == [("house", "weak", "mass")]
    assert said(box("hold-down force 400 N; moves at most 5 mm"), "loose_battery").missing == []


def test_fixed_build_asks_at_the_level_of_a_warning(said) -> None:  # type: ignore[no-untyped-def]
    found = said(box("held down", "fixed"), "loose_battery")
    assert {(item[1], item[2]) for item in found.missing} == {
        ("fixed", "force that its hold-down bears"), ("fixed", "how far it moves in its hold-down"),
    }  # fmt: skip
    assert {item.grade for item in found.passes} == {"fixed"}
