"""Paths in the settings: what they mean, by hand and against a second way of matching."""

from __future__ import annotations

import re
from time import perf_counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ohmwright.settings.patterns import covers


@pytest.mark.parametrize(
    ("pattern", "path", "meant"),
    [
        ("drafts", "drafts/box.rig", True),
        ("drafts", "drafts", True),
        ("drafts", "draftsman/box.rig", False),
        ("drafts", "old/drafts/box.rig", False),
        ("**/drafts", "old/very/drafts/box.rig", True),
        ("**/drafts", "drafts/box.rig", True),
        ("old/**/box.rig", "old/box.rig", True),
        ("old/**/box.rig", "old/a/b/box.rig", True),
        ("old/**/box.rig", "old/a/b/box2.rig", False),
        ("*.rig", "box.rig", True),
        ("*.rig", "a/box.rig", False),
        ("box?.rig", "box1.rig", True),
        ("box?.rig", "box12.rig", False),
        ("a*b*c", "aXbXbc", True),
        ("a*b*c", "aXbXb", False),
        ("Drafts", "drafts/box.rig", False),
        ("a/b", "a/b/c/d.rig", True),
        (".", "anything/box.rig", True),
        ("**", "anything/box.rig", True),
        ("box[1].rig", "box[1].rig", True),
    ],
)
def test_meaning(pattern: str, path: str, meant: bool) -> None:
    assert covers(pattern, path) is meant


def second_way(pattern: str, path: str) -> bool:
    """The same by a regular expression."""
    pieces = [piece for piece in pattern.split("/") if piece not in ("", ".")]
    if not pieces:
        return True
    made = ""
    for piece in pieces:
        if piece == "**":
            made += "(?:[^/]+/)*"
            continue
        name = "".join("[^/]*" if sign == "*" else "[^/]" if sign == "?" else re.escape(sign) for sign in piece)
        made += f"{name}/"
    return re.match(made, f"{path}/") is not None


PIECES = st.text(st.sampled_from("ab*?"), min_size=1, max_size=4).filter(lambda piece: "**" not in piece)


@settings(max_examples=600, deadline=None)
@given(
    st.lists(st.one_of(PIECES, st.just("**")), min_size=1, max_size=4),
    st.lists(st.text(st.sampled_from("ab"), min_size=1, max_size=4), min_size=1, max_size=4),
)
def test_second_way(pattern: list[str], path: list[str]) -> None:
    assert covers("/".join(pattern), "/".join(path)) is second_way("/".join(pattern), "/".join(path))


def test_no_pattern_takes_long() -> None:
    start = perf_counter()
    assert not covers("*a" * 500 + "b", "a" * 1000)
    assert not covers("/".join(["**", "a"] * 200) + "/b", "/".join(["a"] * 400))
    assert perf_counter() - start < 2.0
