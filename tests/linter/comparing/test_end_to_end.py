"""A repository of builds with the built-in rules, from a clean build to a change that is stopped, mended, waived and accepted."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

CABIN = Path(__file__).parents[3] / "examples" / "cabin"
TODAY = ("--today", "2026-11-01")


@pytest.fixture
def texts() -> dict[str, str]:
    """The cabin of the examples, with settings."""
    found = {name: (CABIN / name).read_text(encoding="utf-8") for name in ("cabin.rig", "stock.rig")}
    return {**found, "ohmwright.toml": 'basis = "us-premises"\n'}


def swapped(text: str, *pairs: tuple[str, str]) -> str:
    for old, new in pairs:
        assert text.count(old) == 1, (old, text.count(old))
        text = text.replace(old, new)
    return text


BROKEN = (
    (
        "pump_breaker { same as panel_breaker except { in in_cabinet; 20 A",
        "pump_breaker { same as panel_breaker except { in in_cabinet; 60 A",
    ),
    ("cold_1 from cold_breaker.load to cold.plus, 6 m", "cold_1 from cold_breaker.load to cold.plus, 90 m"),
    (
        "fuse west_fuse { same as fast_block except { in closet; 110 A",
        "fuse west_fuse { same as fast_block except { in closet; 300 A",
    ),
)


def findings(ran: Any) -> set[tuple[str, str, str]]:
    return {
        (f"{change['new']['rule']}.{change['new']['grade']}", change["new"]["subject"][0], change["new"]["severity"])
        for build in json.loads(ran.out)["builds"]
        for change in build["findings"]
        if change["change"] == "new"
    }


def errors(ran: Any) -> list[dict[str, Any]]:
    return [item for build in json.loads(ran.out)["builds"] for item in build["findings"] if item["severity"] == "error"]


def waiver_of(item: dict[str, Any]) -> str:
    """Return the statement that waives a finding up to the value that was measured, where there is one."""
    word = "up to" if item["sense"] == "at-most" else "down to"
    value = f" {word} {item['measured']['value']:g} {item['measured']['unit']}" if item["measured"] is not None else ""
    return (
        f'waive {item["rule"]}.{item["grade"]} on {item["subject"][0]}{value} because "a trial of one season" until 2027-05-01'
    )


def test_from_a_clean_build_to_an_accepted_waiver(texts: dict[str, str], commit: Any, git: Any, command: Any) -> None:
    commit(texts)
    assert command("inspect", ".", *TODAY).code == 0
    commit({"cabin.rig": swapped(texts["cabin.rig"], *BROKEN)}, "pr")
    inspected = command("inspect", ".", *TODAY)
    assert inspected.code == 1
    ran = command("compare", "main..pr", *TODAY)
    assert ran.code == 1
    words = " ".join(ran.out.split())
    assert "pump_breaker (breaker): 20 A to 60 A" in words
    assert "cold_1 (wire): 6 m to 90 m" in words
    assert "cold: " in words
    assert "Nothing changes how builds are judged." in words
    found = findings(command("compare", "main..pr", *TODAY, "--output", "json"))
    assert {rule.partition(".")[0] for rule, _, _ in found} >= {"oversized-fuse", "voltage-drop", "far-fuse"}

    # two are mended, the third is waived with a date
    one_left = swapped(texts["cabin.rig"], BROKEN[0])
    commit({"cabin.rig": one_left}, "pr")
    waivers = [waiver_of(item) for item in errors(command("inspect", ".", *TODAY, "--output", "json"))]
    assert waivers
    waived = "\n".join([one_left, *waivers]) + "\n"
    commit({"cabin.rig": waived}, "pr")
    assert command("inspect", ".", *TODAY).code == 0
    assert command("compare", "main..pr", *TODAY).code == 0
    stopped = command("compare", "main..pr", *TODAY, "--bar-judgement")
    assert stopped.code == 1
    assert "New waiver, cabin.rig line" in stopped.out

    # the branch that the change goes to accepts it, by the lines that the report offers
    judged = json.loads(command("compare", "main..pr", *TODAY, "--output", "json").out)["judgement"]
    assert len(judged) == len(waivers)
    lines = "\n".join((texts["ohmwright.toml"], *(item["remedy"] for item in judged))).replace("…", "seen on site")
    git("switch", "-q", "main")
    commit({"ohmwright.toml": lines + "\n"})
    accepted = command("compare", "main..pr", *TODAY, "--bar-judgement")
    assert accepted.code == 0
    assert "Accepted seen on site" in " ".join(accepted.out.split())


def test_margins_are_told_in_words_of_the_trade(texts: dict[str, str], commit: Any, command: Any) -> None:
    """Thinner leads pass as well: 20 A are all of what NFPA 70, 240.4(D), allows before 12 AWG, and two thirds of the 30 A before 10 AWG."""
    commit(texts)
    thin = swapped(texts["cabin.rig"], ("wires 10 AWG, in conduit, with 1 other {", "wires 12 AWG, in conduit, with 1 other {"))
    commit({"cabin.rig": thin}, "pr")
    words = " ".join(command("compare", "main..pr", *TODAY).out.split())
    assert "pump_1, pump_2 (wire): 10 AWG to 12 AWG; now at 100 % of the largest fuse for its wire (20 A), was 67 %" in words
    assert re.search(r"now at [0-9]+ % of its ampacity \([0-9.]+ A\), was [0-9]+ %", words), words


@pytest.mark.parametrize(("old", "new", "words"), [("200", "100", "now broken"), ("100", "200", "now met")])
def test_a_requirement_that_flips(texts: dict[str, str], commit: Any, command: Any, old: str, new: str, words: str) -> None:
    """Half of the battery runs the same loads for half of the time: the same promise, answered the other way."""

    def charge(number: str) -> str:
        return swapped(texts["stock.rig"], ("12 V, 200 Ah over 20 h", f"12 V, {number} Ah over 20 h"))

    commit({**texts, "stock.rig": charge(old)})
    commit({"stock.rig": charge(new)}, "pr")
    said = " ".join(command("compare", "main..pr", *TODAY).out.split())
    was = "met" if words == "now broken" else "broken"
    assert f"run lights, cold, fan, net for 24 h: {words} (" in said
    assert f"), was {was} (" in said


def test_a_change_that_weakens_what_judges_it_is_stopped_and_says_so(texts: dict[str, str], commit: Any, command: Any) -> None:
    waiver = 'waive voltage-drop on cold up to 6 % because "the box takes it" until 2027-01-01\n'
    cold = swapped(
        texts["cabin.rig"],
        ("cold_1 from cold_breaker.load to cold.plus, 6 m", "cold_1 from cold_breaker.load to cold.plus, 26 m"),
    )
    commit({**texts, "cabin.rig": cold + waiver, "ohmwright.toml": 'bar = "warning"\n'})
    commit(
        {
            "ohmwright.toml": 'bar = "error"\n[[grades]]\ngrade = "oversized-fuse.too-large"\nseverity = "note"\nbecause = "later"\n',
            "cabin.rig": cold + waiver.replace("6 %", "20 %"),
            "stock.rig": texts["stock.rig"].replace("discharge at most 150 A", "discharge at most 400 A", 1),
        },
        "pr",
    )
    assert command("compare", "main..pr", *TODAY).code == 0
    ran = command("compare", "main..pr", *TODAY, "--bar-judgement")
    assert ran.code == 1
    words = " ".join(ran.out.split())
    for said in (
        "Wider waiver, cabin.rig line", "Now voltage-drop on cold up to 20 % until 2027-01-01", "Was voltage-drop on cold up to 6 % until 2027-01-01",
        "Looser setting, ohmwright.toml line 1 What bar Now error Was warning",
        "Looser severity of a grade, ohmwright.toml line 3 What oversized-fuse.too-large Now note, because later Was error",
        "Changed parts library, stock.rig line", "What block12 (battery): continuous discharge current Now discharge at most 400 A Was discharge at most 150 A",
        "4 things that would change the judgement.",
    ):  # fmt: skip
        assert said in words, said
