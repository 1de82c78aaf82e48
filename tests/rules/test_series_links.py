"""F1 within a series string: its links are left to the device at the live end of the string (33 CFR 183.455(b): 40 in; decided in the page)."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest


def string(link: str = "0.25 m", fuse: str = "100 A", end: str = "line on high.plus", more: str = "") -> str:
    return f"""rig "Two blocks", revision 1
basis us-small-craft
site {{ ambient 0 degC to 30 degC }}
all wires {{ copper; 105 degC insulation; 2 AWG; 2 m long }}
battery low {{ AGM, 6 cells, 100 Ah; internal resistance 4 mohm }}
battery high {{ AGM, 6 cells, 100 Ah; internal resistance 4 mohm }}
fuse main {{ {fuse} bolt-down; breaks 5 kA at 58 V dc; {end} }}
load winch 60 A
wire link from low.plus to high.minus {{ {link} }}
wire feed from main.load to winch.plus
wire back from winch.minus to low.minus
{more}"""


@pytest.mark.parametrize(
    ("link", "grades"),
    [
        ("in free air; 0.1 m", []),
        ("in free air; 0.25 m", []),
        ("in free air; 1.016 m", []),  # 40 in as the basis writes it: exactly at the limit
        ("in free air; 1.017 m", [("link", "series-link", "warning")]),
        ("in split loom; 3 m", [("link", "series-link", "warning")]),
        ("in conduit; 3 m", []),
        ("enclosed all the way; with 0 others; 3 m", []),
    ],
)
def test_a_link_is_left_to_the_fuse_of_its_string(said: Callable[..., Any], link: str, grades: list[Any]) -> None:
    found = said(string(link), "far_fuse")
    assert found.grades == grades
    assert "missing" in {item.grade for item in found.passes if item.subject == ("link",)}


def test_the_warning_says_what_the_fuse_does_not_see(said: Callable[..., Any]) -> None:
    finding = said(string("in free air; 2.5 m"), "far_fuse").finding("link")
    assert (finding.measured.value, finding.limit.value) == (2.5, 1.016)
    assert finding.message == (
        "link: as a link between low and high it ends 2.5 m from low.plus and is not enclosed all the way; the string has its device at the end (main),"
        " but a short from the link to the return is fed by low alone and does not pass it. Up to 1.02 m (40 in) is borne."
    )
    assert finding.remedy.startswith(
        "Enclose it all the way, shorten it to 1.02 m or less, or put a fuse within 0.178 m (7 in) of low.plus: "
    )


def test_without_a_fuse_at_the_end_it_is_missing(said: Callable[..., Any]) -> None:
    text = string(end="spare").replace("main.load to winch", "high.plus to winch").replace("; spare", "")
    assert ("link", "missing", "error") in said(text, "far_fuse").grades
    beyond = (
        string(end="line on low.minus")
        .replace("main.load to winch", "high.plus to winch")
        .replace("to low.minus", "to main.load")
    )
    assert ("link", "missing", "error") in said(
        beyond, "far_fuse"
    ).grades  # a fuse in the return does not see what leaks from the link


def test_a_fuse_that_is_too_large_for_the_link_does_not_count(said: Callable[..., Any]) -> None:
    """14 AWG at 105 degC carries 35 A (33 CFR 183.425 Table 5), 1.5 times that is 52.5 A."""
    text = string("in free air; 14 AWG; 0.25 m")
    finding = said(text, "far_fuse").finding("link")
    assert finding.grade == "missing"
    assert finding.message.startswith(
        "link: as a link between low and high it is left to the device at the end of their string, and main is too large for it"
    )
    assert (
        finding.remedy
        == "Put a device at the end of the string that is small enough for it (50 A or less), or use a thicker link."
    )
    assert said(text.replace("100 A bolt-down", "50 A bolt-down"), "far_fuse").grades == []
    assert said(text.replace("100 A bolt-down", "50 A bolt-down").replace("0.25 m", "0.1 m"), "far_fuse").grades == []
    assert said(text.replace("0.25 m", "0.1 m"), "far_fuse").finding("link").grade == "missing"


def test_what_nobody_said_is_asked_for(said: Callable[..., Any]) -> None:
    unsaid = string("with 0 others; 2 m")
    assert said(unsaid, "far_fuse").missing == [("link", "series-link", "whether link is enclosed all the way")]
    assert said(string("with 0 others; 0.9 m"), "far_fuse").missing == []
    text = string("in free air").replace("; 2 m long", "").replace("winch.plus\n", "winch.plus { 2 m }\n")
    assert said(text, "far_fuse").missing == [("link", "series-link", "length of link")]
    assert said(string("in free air; 0.25 m").replace("100 A bolt-down", "bolt-down"), "far_fuse").missing == [
        ("link", "missing", "rated current of main")
    ]


def test_a_long_string_and_strings_side_by_side(said: Callable[..., Any]) -> None:
    """Every link up to the top counts; with the top of one string bare only that string's links are missing theirs."""
    blocks = "".join(
        f"battery {name} {{ AGM, 6 cells, 100 Ah; internal resistance 4 mohm }}\n"
        for name in ("a1", "a2", "a3", "b1", "b2", "b3")
    )
    text = f"""rig "Bank", revision 1
basis us-small-craft
site {{ ambient 0 degC to 30 degC }}
all wires {{ copper; 105 degC insulation; 2 AWG; in free air; 0.5 m long }}
{blocks}fuse fa {{ 100 A bolt-down; line on a3.plus }}
fuse fb {{ 100 A bolt-down; line on b3.plus }}
bus top 200 A
load winch 60 A
wires {{
  l1 from a1.plus to a2.minus
  l2 from a2.plus to a3.minus
  m1 from b1.plus to b2.minus
  m2 from b2.plus to b3.minus
  t1 from fa.load to top
  t2 from fb.load to top
  n from a1.minus to b1.minus
  feed from top to winch.plus
  back from winch.minus to a1.minus
}}
"""
    assert said(text, "far_fuse").grades == []
    bare = text.replace("; line on b3.plus", "").replace("t2 from fb.load", "t2 from b3.plus")
    assert {name for name, _, _ in said(bare, "far_fuse").grades} >= {"t2"}


def test_a_tap_in_the_middle_is_judged_for_itself(said: Callable[..., Any]) -> None:
    tap = "load radio 2 A\nfuse small { 5 A blade }\nwire tap from high.minus to small.line { in free air; LENGTH }\n"
    tap += "wire on from small.load to radio.plus\nwire under from radio.minus to low.minus\n"
    near = string("in free air; 0.05 m", more=tap.replace("LENGTH", "0.1 m"))
    assert said(near, "far_fuse").grades == []
    far = string("in free air; 0.25 m", more=tap.replace("LENGTH", "0.1 m"))
    assert said(far, "far_fuse").grades == [("tap", "bare", "error")]


def test_a_string_with_its_live_pole_at_the_minus(said: Callable[..., Any]) -> None:
    """The plus side is bonded, so that the fuse stands at the other end and the link counts from the upper block."""
    text = string("in free air; 0.25 m", end="line on low.minus").replace("main.load to winch.plus", "main.load to winch.minus")
    text = (
        text.replace("from winch.minus to low.minus", "from winch.plus to high.plus")
        + "case box { metal; bonded at high.plus }\n"
    )
    assert said(text, "far_fuse").grades == []
    far = said(text.replace("in free air; 0.25 m", "in free air; 2.5 m"), "far_fuse").finding("link")
    assert "is fed by high alone" in far.message


def test_a_very_long_string_is_no_trouble(said: Callable[..., Any]) -> None:
    count = 48
    lines = ['rig "Long", revision 1', "basis us-small-craft", "site { ambient 0 degC to 30 degC }"]
    lines.append("all wires { copper; 105 degC insulation; 2 AWG; in free air; 0.25 m long }")
    lines += [f"battery b{n} {{ AGM, 6 cells, 100 Ah; internal resistance 4 mohm }}" for n in range(count)]
    lines += [f"wire l{n} from b{n}.plus to b{n + 1}.minus" for n in range(count - 1)]
    lines += [
        f"fuse main {{ 100 A bolt-down; line on b{count - 1}.plus }}",
        "load winch 6 A",
        "wire f from main.load to winch.plus",
    ]
    lines += ["wire r from winch.minus to b0.minus", ""]
    assert said("\n".join(lines), "far_fuse").grades == []
