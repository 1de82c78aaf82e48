"""Rule heavy-box: the fault catalogue's examples L9 and L10, promises, more persons, the edge, missing data."""

from __future__ import annotations

import pytest

BUILD = """rig "Box", revision 1
site { SITE }
case box { ABS; weighs 5 kg; BOX }
battery house { LFP, 4 cells, 100 Ah; MASS; in box }
REST
"""


def build(mass: str, box: str = "no handles", site: str = "portable", rest: str = "") -> str:
    return BUILD.replace("MASS", mass).replace("BOX", box).replace("SITE", site).replace("REST", rest)


@pytest.mark.parametrize(
    ("mass", "box", "grades"),
    [
        ("weighs 26 kg", "no handles", ["two-handed"]),  # catalogue, L9, Ex: 31 kg -> warning
        ("weighs 16.6 kg", "no handles; carried with 1 hand", ["one-handed"]),  # catalogue, L9, Ex: 21.6 kg one-handed -> note
        ("weighs 18 kg", "no handles", []), ("weighs 18.1 kg", "no handles", ["two-handed"]),
        ("weighs 41 kg", "no handles; carried with 4 hands", []), ("weighs 41.1 kg", "no handles; carried with 4 hands", ["two-handed"]),
        ("weighs 7 kg", "no handles; carried with 1 hand", []), ("weighs 26 kg", "no handles; carried with 1 hand", ["two-handed"]),
    ],
)  # fmt: skip
def test_lifting(said, mass: str, box: str, grades: list[str]) -> None:  # type: ignore[no-untyped-def]
    assert [grade for _, grade, _ in said(build(mass, box), "heavy_box").grades] == grades


def test_catalogue_l10(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, L10, Ex: 22 kg: 3*22*9.81 = 647 N; handle 400 N -> warning."""
    found = said(build("weighs 17 kg", "handles bear 400 N"), "heavy_box").finding("box", "handle")
    assert found.limit is not None
    assert found.limit.value == pytest.approx(647.46)
    assert not said(build("weighs 17 kg", "handles bear 648 N"), "heavy_box").grades
    assert said(build("weighs 17 kg", "handles bear 647 N"), "heavy_box").grades == [("box", "handle", "warning")]


@pytest.mark.parametrize(
    ("text", "missing"),
    [
        (build("3.2 V"), {"mass of house"}), (build("weighs 3 kg", "closed"), {"rated force of its handles"}),
        (build("weighs 10 kg", site="not damp"), {"how the box is used (portable, vehicle, boat or fixed)"}),
        (build("weighs 3 kg", site="not damp"), set()), (build("3.2 V", site="fixed"), set()),
    ],
)  # fmt: skip
def test_missing_data(said, text: str, missing: set[str]) -> None:  # type: ignore[no-untyped-def]
    found = said(text, "heavy_box")
    assert not found.grades
    assert {item.missing for item in found.unchecked} == missing


def test_a_promise_is_judged_instead(said) -> None:  # type: ignore[no-untyped-def]
    assert not said(build("weighs 40 kg", rest="require weigh at most 50 kg"), "heavy_box").grades
