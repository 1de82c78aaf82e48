"""`size`: what is offered was tried on the whole build; what would break something else is not offered, and it is said what.

Ampacities are those of 33 CFR 183.425, Table 5, for insulation of 105 degC: 18 AWG 20 A, 16 AWG 25 A, 14 AWG 35 A.
"""

from __future__ import annotations

from datetime import date

import pytest
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright.sizing.trying import Answer, BuildAnswers, size_build
from ohmwright.sizing.writing import edited
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader
from ohmwright_rules import PACK

OPTIONS = InspectOptions(date(2026, 1, 1))
HEAD = """rig "Bench", revision 1
basis us-small-craft
system 12 V
site { ambient 5 degC to 30 degC }
all wires { copper; 105 degC insulation; in free air }
battery house { LFP, 4 cells, 50 Ah; internal resistance 30 mohm }
"""
LAMP = """fuse main { 15 A blade; breaks 1 kA at 32 V dc; 32 V; line on house.plus }
load lamp { 11 A; works on 10 V to 15 V }
wire feed from main.load to lamp.plus, GAUGE, 0.4 m, red
wire back from lamp.minus to house.minus, 14 AWG, 0.4 m, black
"""


def sized(text: str) -> BuildAnswers:
    answers, why = size_build("a.rig", MemoryFiles({"a.rig": text}), OPTIONS, (PACK,))
    assert answers is not None, why
    return answers


def against(text: str, rule: str, subject: str) -> Answer:
    (answer,) = [
        item for item in sized(text).answers if item.finding.rule.id == rule and item.finding.finding.subject[0] == subject
    ]
    return answer


def findings(text: str) -> set[tuple[str, str]]:
    (build,) = inspect_files(("a.rig",), Loader(MemoryFiles({"a.rig": text})), OPTIONS, (PACK,)).builds
    return {(item.rule.id, item.finding.subject[0]) for item in build.findings}


@pytest.mark.parametrize(("terminals", "size"), [("all terminals { 105 degC }\n", "16 AWG"), ("", "12 AWG")])
def test_smallest_size_that_mends_is_offered_and_mends(terminals: str, size: str) -> None:
    """24 A on 18 AWG, which carries 20 A: 16 AWG carries 25 A; on terminals that are not marked, 60 degC, 14 AWG carries 20 A and 12 AWG 25 A."""
    text = HEAD + terminals + LAMP.replace("GAUGE", "18 AWG").replace("15 A blade", "25 A blade").replace("11 A", "24 A")
    text = text.replace("back from lamp.minus to house.minus, 14 AWG", "back from lamp.minus to house.minus, 12 AWG")
    answer = against(text, "undersized-wire", "feed")
    assert answer.offer is not None
    assert answer.offer.words == f"feed {size}"
    mended = edited(text, answer.edits)
    assert mended == text.replace("18 AWG", size)
    assert ("undersized-wire", "feed") in findings(text)
    assert findings(mended) < findings(text)


def test_size_of_a_default_is_said_by_the_wire_itself() -> None:
    text = (
        HEAD.replace("in free air", "in free air; 18 AWG")
        + "all terminals { 105 degC }\n"
        + LAMP.replace(" GAUGE,", "").replace("11 A", "24 A").replace("15 A", "25 A").replace("14 AWG", "12 AWG")
    )
    answer = against(text, "undersized-wire", "feed")
    mended = edited(text, answer.edits)
    assert "wire feed from main.load to lamp.plus, 0.4 m, red, 16 AWG\n" in mended
    block = text.replace("lamp.plus, 0.4 m, red", "lamp.plus { 0.4 m; red }")
    assert "wire feed from main.load to lamp.plus { 16 AWG; 0.4 m; red }\n" in edited(
        block, against(block, "undersized-wire", "feed").edits
    )


def test_fuse_too_large_for_its_wire_is_made_smaller() -> None:
    """18 AWG behind a 60 A fuse: 150 % of 20 A leaves 30 A on this basis below 50 V."""
    text = HEAD + LAMP.replace("GAUGE", "18 AWG").replace("15 A blade", "60 A blade")
    answer = against(text, "oversized-fuse", "feed")
    assert answer.offer is not None
    assert answer.offer.words == "main 30 A"


def test_wire_that_ends_too_far_from_its_source_is_made_shorter() -> None:
    """33 CFR 183.455(b): 7 inches, 0.1778 m."""
    text = (
        HEAD
        + LAMP.replace("GAUGE", "14 AWG").replace("; line on house.plus", "")
        + "wire tail from house.plus to main.line, 10 AWG, 0.4 m, red\n"
    )
    answer = against(text, "far-fuse", "tail")
    assert answer.offer is not None
    assert answer.offer.words == "tail 0.178 m long" or answer.offer.choices[0].words.startswith("0.177")


def test_fuse_that_opens_too_early_is_not_answered_with_a_larger_fuse() -> None:
    """11 A on a 10 A fuse."""
    sheet = sized(HEAD + LAMP.replace("GAUGE", "14 AWG").replace("15 A blade", "10 A blade"))
    assert "nuisance-fuse" in {item.rule.id for item in sheet.result.findings}
    assert "nuisance-fuse" not in {answer.finding.rule.id for answer in sheet.answers}
    assert sheet.beside


def test_offer_that_would_break_something_else_does_not_stand() -> None:
    """A thicker lead lets more current into a short beyond it than a fuse there can break."""
    text = HEAD.replace("30 mohm", "2 mohm") + (
        "fuse main { 60 A bolt-down; breaks 10 kA at 32 V dc; 32 V; line on house.plus }\n"
        "wire lead from main.load to bar, 16 AWG, 1 m, red\n"
        "bus bar 100 A\n"
        "fuse small { 5 A blade; breaks 1 kA at 32 V dc; 32 V; line on bar }\n"
        "load lamp { 3 A; works on 8 V to 15 V }\n"
        "wire feed from small.load to lamp.plus, 14 AWG, 0.4 m, red\n"
        "wire back from lamp.minus to house.minus, 8 AWG, 0.4 m, black\n"
        "load pump { 35 A; works on 8 V to 15 V }\n"
        "pump.plus on bar\n"
        "wire home from pump.minus to house.minus, 8 AWG, 0.4 m, black\n"
    )
    assert ("weak-breaking", "small") not in findings(text)
    answer = against(text, "undersized-wire", "lead")
    assert answer.offer is None
    assert answer.outcome == "none stands"
    assert any(tried.why == "error weak-breaking on small would come" for tried in answer.tried)


def test_what_is_declared_in_another_file_is_not_written_here() -> None:
    text = (
        HEAD
        + 'parts from "shelf.rig"\n'
        + LAMP.replace("GAUGE", "18 AWG")
        .replace("fuse main { 15 A blade", "fuse main { same as large; 60 A")
        .replace("; breaks 1 kA at 32 V dc; 32 V; line", "; line")
    )
    shelf = "fuse large { blade; breaks 1 kA at 32 V dc; 32 V }\n"
    answers, why = size_build("a.rig", MemoryFiles({"a.rig": text, "shelf.rig": shelf}), OPTIONS, (PACK,))
    assert answers is not None, why
    assert {answer.outcome for answer in answers.answers if answer.finding.rule.id == "oversized-fuse"} == {"offered"}


@pytest.mark.parametrize(
    ("text", "why"), [(HEAD + "lamp { 3 ?? }\n", "cannot be read in full: inspect says what is wrong with it")]
)
def test_what_cannot_be_read_is_not_sized(text: str, why: str) -> None:
    assert size_build("a.rig", MemoryFiles({"a.rig": text}), OPTIONS, (PACK,)) == (None, why)


def test_library_has_nothing_to_size() -> None:
    assert size_build("a.rig", MemoryFiles({"a.rig": "fuse large { 60 A blade }\n"}), OPTIONS, (PACK,)) == (None, "")


STRINGS = """rig "Two strings", revision 1
basis us-premises
system 12 V
site { ambient -5 degC to 30 degC }
all wires { copper; stranded; 90 degC insulation; in free air; 10 AWG; 1 m }
battery house { LFP, 4 cells, 100 Ah; internal resistance 5 mohm }
array east { Voc 22 V; Vmp 18 V; Isc 6.2 A; Imp 5.8 A; largest series fuse 15 A; 1 in parallel }
controller sun { MPPT; 20 A; absorption 14.2 V; common negative }
fuse string { RATING gPV; breaks 30 kA at 1000 V dc; 1000 V; line on east.plus }
wire a from string.load to sun.pv_plus
wire b from sun.pv_minus to east.minus
wire c from sun.batt_plus to house.plus
wire d from sun.batt_minus to house.minus
"""


@pytest.mark.parametrize(("rating", "words"), [("20 A", "string 15 A"), ("8 A", "string 10 A")])
def test_fuse_of_a_string_is_brought_into_its_window(rating: str, words: str) -> None:
    """1.5625 x 6.2 A = 9.7 A at least (NEC 690.8 and 690.9), 15 A at most (the module's label): 15 A the largest, 10 A the smallest standard rating."""
    text = STRINGS.replace("RATING", f"{rating};")
    answer = against(text, "string-fuse", "string")
    assert answer.offer is not None
    assert answer.offer.words == words
    assert "string-fuse" not in {rule for rule, _ in findings(edited(text, answer.edits))}


def test_fuse_that_a_far_end_cannot_open_is_made_smaller() -> None:
    """Twice 12 m of 14 AWG are 199 mohm at 20 degC, 238 mohm at 70 degC, and 30 mohm in the battery: some 10 to 12 V over 0.27 ohm are under 45 A, 3 times 15 A, and over 30 A."""
    text = (HEAD + LAMP.replace("GAUGE", "14 AWG").replace("15 A blade", "25 A blade").replace("11 A", "4 A")).replace(
        "0.4 m", "12 m"
    )
    answer = against(text, "weak-fault", "main")
    assert answer.offer is not None
    assert answer.offer.words == "main 10 A"
    assert ("weak-fault", "main") in findings(text)
    assert ("weak-fault", "main") not in findings(edited(text, answer.edits))


def test_fuse_that_is_too_large_for_the_part_behind_it_is_made_smaller() -> None:
    """A switch of 10 A behind 15 A, with a load of 4 A: 10 A is the largest standard rating that it bears."""
    text = (HEAD + LAMP.replace("GAUGE", "14 AWG").replace("11 A", "4 A")).replace(
        "main.load to lamp.plus", "tap.load to lamp.plus"
    )
    text += "switch tap { 10 A; breaks 10 A at 32 V dc; line on main.load }\n"
    answer = against(text, "weak-part", "tap")
    assert answer.offer is not None
    assert answer.offer.words == "main 10 A"


def test_surge_that_a_wire_does_not_bear_takes_a_larger_wire() -> None:
    """35 A for 50 s are 61 250 A2s over the (87 x 0.823)^2 = 5130 of 18 AWG and the (87 x 1.309)^2 = 12 970 of 16 AWG; 14 AWG carries 35 A for long."""
    text = HEAD + LAMP.replace("GAUGE", "18 AWG").replace("11 A", "8 A").replace(
        "back from lamp.minus to house.minus, 14", "back from lamp.minus to house.minus, 10"
    )
    text += 'state "jammed" { lamp on at 35 A; lasts 50 s; back after 20 min }\n'
    answer = against(text, "short-circuit-heat", "feed")
    assert answer.offer is not None
    assert answer.offer.words == "feed 14 AWG"


CHAIN = """rig "Chain of two", revision 1
basis us-small-craft
site { ambient 0 degC to 30 degC }
all wires { copper; 105 degC insulation; in free air; 6 AWG; 0.4 m }
all terminals { 105 degC }
battery main { LFP, 4 cells, 100 Ah; internal resistance 10 mohm }
battery extra { LFP, 4 cells, 50 Ah; internal resistance 20 mohm }
connector socket with plug { 2 pins; 75 A; family "two"; pin 1 plus; pin 2 minus }
wires { a from main.plus to socket.1, 14 AWG; b from main.minus to socket.2; c from plug.1 to extra.plus; d from plug.2 to extra.minus }
load lamp 60 A
wire feed from main.plus to lamp.plus
wire back from lamp.minus to main.minus
"""
OUTLET = """rig "Cabin", revision 1
basis us-small-craft
site { ambient 0 degC to 30 degC }
battery house { LFP, 4 cells, 100 Ah }
inverter power { 1500 W; 120 V AC }
AC load tool { 300 W }
cable cord {
  18 AWG; flexible cord; 90 degC insulation
  core L from power.L to tool.L
  core N from tool.N to power.N
}
"""
UNEVEN = """rig "Two packs", revision 1
basis us-small-craft
site { ambient 0 degC to 30 degC }
all wires { copper; 105 degC insulation; in free air; 6 AWG }
battery near { LFP, 4 cells, 100 Ah; internal resistance 10 mohm }
battery away { LFP, 4 cells, 100 Ah; internal resistance 10 mohm }
load lamp 40 A
wire n1 from near.plus to lamp.plus, 0.3 m
wire n2 from near.minus to lamp.minus, 0.3 m
wire upper from near.plus to away.plus, 10 AWG, 1.5 m
wire lower from near.minus to away.minus, 10 AWG, 1.5 m
"""


@pytest.mark.parametrize(
    ("text", "rule", "subject", "words"),
    [
        (CHAIN, "chain-link", "a", "a 10 AWG"),  # 60 A: 33 CFR 183.425, Table 5, 105 degC: 12 AWG 45 A, 10 AWG 60 A
        (OUTLET, "weak-outlet-cord", "cord", "cord.L 16 AWG, cord.N 16 AWG"),  # 1500 W / 120 V = 12.5 A: NEC 2023, Table 400.5(A)(1): 18 AWG 10 A, 16 AWG 13 A
        (UNEVEN, "uneven-sharing", "near", "lower"),
    ],
)  # fmt: skip
def test_links_cords_and_leads_of_packs_are_tried_in_larger_sizes(text: str, rule: str, subject: str, words: str) -> None:
    answer = against(text, rule, subject)
    assert answer.offer is not None, answer
    assert words in answer.offer.words
