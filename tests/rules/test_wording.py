"""Lists of names in sentences: commas, one "and", and a count where there are many (common practice of the trade's reports, no source)."""

from __future__ import annotations

import doctest
from collections.abc import Callable
from importlib import import_module
from typing import Any

import pytest
from ohmwright_rules.drains import summed_beyond
from ohmwright_rules.wording import listed


@pytest.mark.parametrize("name", ["wording", "drains", "verdicts"])
def test_examples_in_the_code(name: str) -> None:
    found = doctest.testmod(import_module(f"ohmwright_rules.{name}"))
    assert found.attempted > 0
    assert found.failed == 0


@pytest.mark.parametrize(
    ("count", "words"),
    [
        (0, ""),
        (1, "p1"),
        (2, "p1 and p2"),
        (4, "p1, p2, p3 and p4"),
        (5, "p1, p2, p3 and 2 more"),
        (12, "p1, p2, p3 and 9 more"),
    ],
)
def test_names_in_a_row(count: int, words: str) -> None:
    assert listed(f"p{number}" for number in range(1, count + 1)) == words


def test_many_drains_are_summed() -> None:
    drains = [(f"meter{number}", number * 1e-3) for number in range(1, 8)]
    assert summed_beyond(drains) == "meter7 7 mA, meter6 6 mA, meter5 5 mA, meter4 4 mA, 3 more 6 mA"
    assert summed_beyond(drains, 28e-3).endswith("3 more 6 mA (21 %)")


def packs(count: int) -> str:
    lines = [
        'rig "Packs", revision 1',
        "basis us-small-craft",
        "bus hall 100 A",
        "bus back 100 A",
        "all wires { 10 AWG; copper; 75 degC insulation; in free air; 1 m }",
    ]
    for number in range(1, count + 1):
        lines += [
            f"battery pack{number} {{ LFP, 4 cells, 100 Ah; internal resistance 5 mohm; bms {{ own drain 9 mA }} }}",
            f"wire up{number} from pack{number}.plus to hall",
            f"wire down{number} from back to pack{number}.minus",
        ]
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize(
    ("count", "words"),
    [
        # 4 cells x 3.4 V (rest voltage of a full LFP cell) over 5 mohm: 2.72 kA
        (2, "pack1: it joins pack2 over up1 and up2 without a fuse of its own; pack2 drives up to 2.72 kA into a short in pack1 or its lead."),
        (3, "pack1: it joins pack2 and pack3 at hall over up1 without a fuse of its own; together they drive up to 5.44 kA into a short in pack1 or its lead."),
        (6, "pack1: it joins 5 other packs at hall over up1 without a fuse of its own; together they drive up to 13.6 kA into a short in pack1 or its lead."),
    ],
)  # fmt: skip
def test_pack_without_a_fuse(said: Callable[..., Any], count: int, words: str) -> None:
    assert said(packs(count), "unfused_pack").finding("pack1").message == words


def test_bank_of_many(said: Callable[..., Any]) -> None:
    (finding,) = said(packs(6), "parasites").findings
    assert finding.message.startswith("pack1, pack2, pack3 and 3 more: stored as in state ")
    assert ", 2 more " in finding.message
