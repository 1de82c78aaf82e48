"""Rule clip-terminal: the fault catalogue's example C13, wing nuts, what else says how a terminal holds, missing data."""

from __future__ import annotations

LAMP = "load lamp 5 A\nwire feed from house.plus to lamp.plus, 12 AWG, 1 m\nwire back from lamp.minus to house.minus, 12 AWG, 1 m\n"


def bench(facts: str, more: str = LAMP) -> str:
    """A battery on a bench."""
    return f'rig "Bench", revision 1\nbattery house {{ LFP, 4 cells, 100 Ah; {facts} }}\n{more}'


def test_catalogue_c13(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, C13, Ex: crocodile clips as permanent link -> error."""
    found = said(bench("terminals plus, minus { crocodile clip }"), "clip_terminal")
    assert found.grades == [("house", "spring", "error")]
    assert found.finding("house").subject == ("house", "back", "feed")


def test_wing_nut_is_a_warning(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, C13: wing nuts by pages of surveyors; 33 CFR 183.420(g) names spring tension only."""
    found = said(bench("terminal plus { wing nut }; terminal minus { stud }"), "clip_terminal")
    assert found.grades == [("house", "wing-nut", "warning")]
    assert found.passed("house", "spring")


def test_stud_size_says_that_it_is_a_stud(said) -> None:  # type: ignore[no-untyped-def]
    found = said(bench("terminals plus, minus { M8 stud }"), "clip_terminal")
    assert (found.grades, found.missing) == ([], [])
    assert len(found.passes) == 2


def test_silence_is_not_checked(said) -> None:  # type: ignore[no-untyped-def]
    found = said(bench("terminal plus { bolt }"), "clip_terminal")
    assert found.missing == [("house", "spring", "kind of its terminal minus")]
    assert said(bench("12.8 V"), "clip_terminal").missing == [("house", "spring", "kind of its terminals plus and minus")]


def test_battery_that_nothing_is_joined_to(said) -> None:  # type: ignore[no-untyped-def]
    found = said(bench("terminal plus { wing nut }", ""), "clip_terminal")
    assert found.grades == []
    assert [item.condition for item in found.idle] == ["nothing is joined to it"]
