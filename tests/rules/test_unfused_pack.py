"""C7: every pack in parallel has a fuse of its own, at the pack."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

HEAD = """rig "Packs", revision 1
basis us-small-craft
site { ambient 0 degC to 30 degC }
all wires { copper; 105 degC insulation; in free air; 10 AWG; 1 m }
bus hall 400 A
bus floor 400 A
load pump 20 A
fuse main { 60 A; line on hall }
wire feed from main.load to pump.plus
wire back from pump.minus to floor
"""


def packs(*fused: bool, length: str = "1 m") -> str:
    """Packs of 2.1 kA side by side on a busbar, each with a fuse at its post or without one."""
    text = HEAD
    for number, own in enumerate(fused, start=1):
        text += f"battery p{number} {{ LFP, 4 cells; short-circuit current 2.1 kA }}\np{number}.minus on floor\n"
        if own:
            text += f"fuse f{number} {{ 50 A; line on p{number}.plus }}\nwire lead{number} from f{number}.load to hall {{ {length} }}\n"
        else:
            text += f"wire lead{number} from p{number}.plus to hall {{ {length} }}\n"
    return text


def test_catalogue_example(said: Callable[..., Any]) -> None:
    # Catalogue, C7, Ex: 4 packs 2.1 kA each; branch fault 6.3 kA through an unfused 10 AWG lead -> error
    found = said(packs(True, True, True, False), "unfused_pack")
    assert found.grades == [("p4", "no-fuse", "error")]
    finding = found.finding("p4")
    assert finding.subject == ("p4", "lead4")
    assert "without a fuse of its own; together they drive up to 6.3 kA into a short in " in finding.message
    assert "which interrupts 6.3 kA or more, within 0.178 m (7 in) of p4.plus" in finding.remedy
    assert "90 A or less" in finding.remedy  # 10 AWG at 105 degC: 60 A x 1.5
    assert {passed.subject[0] for passed in found.passes} == {"p1", "p2", "p3"}


def test_packs_joined_without_any_device(said: Callable[..., Any]) -> None:
    assert [grade[0] for grade in said(packs(False, False), "unfused_pack").grades] == ["p1", "p2"]


def test_short_leads_on_one_bar_need_fuses_too(said: Callable[..., Any]) -> None:
    assert len(said(packs(False, False, length="100 mm"), "unfused_pack").grades) == 2


def test_own_fuse_at_the_far_end_of_the_link_is_left_to_one_ended_link(said: Callable[..., Any]) -> None:
    text = (
        packs(True)
        + "battery p2 { LFP, 4 cells; short-circuit current 2.1 kA }\np2.minus on floor\nfuse f2 { 50 A; line on hall }\nwire cord from f2.load to p2.plus\n"
    )
    found = said(text, "unfused_pack")
    assert found.grades == []
    assert {passed.subject[0] for passed in found.passes} == {"p1", "p2"}


def test_small_taps_on_the_post_do_not_matter(said: Callable[..., Any]) -> None:
    text = (
        packs(True, True)
        + "fuse tiny { 1 A; line on p1.plus }\nmeter gauge 5 mA\nwire sense from tiny.load to gauge.plus\nwire under from gauge.minus to floor\n"
    )
    assert said(text, "unfused_pack").grades == []


def test_one_battery_a_string_and_a_selector_have_nothing_in_parallel(said: Callable[..., Any]) -> None:
    idle = [("no battery lies in parallel with it", 1)]
    assert [(item.condition, item.count) for item in said(packs(False), "unfused_pack").idle] == idle
    string = (
        HEAD
        + "battery low { LFP, 4 cells }\nbattery high { LFP, 4 cells }\nlow.minus on floor\nwire link from low.plus to high.minus { 0.1 m }\nwire top from high.plus to hall { 0.1 m }\n"
    )
    assert [item.count for item in said(string, "unfused_pack").idle] == [2]
    apart = (
        HEAD
        + "battery a { LFP, 4 cells }\nbattery b { LFP, 4 cells }\na.minus on floor\nb.minus on floor\nselector knob { position 1 joins one; position 2 joins two }\nwire la from a.plus to knob.one\nwire lb from b.plus to knob.two\nwire on from knob.common to hall\n"
    )
    assert said(apart, "unfused_pack").grades == []
    both = apart.replace("position 2 joins two", "position 2 joins two; position both joins one, two")
    assert len(said(both, "unfused_pack").grades) == 2


def test_length_that_nobody_said_decides_only_where_a_device_follows(said: Callable[..., Any]) -> None:
    text = (
        packs(True, False)
        .replace("; 1 m }", " }")
        .replace("{ 1 m }", "{ }")
        .replace("feed from main.load to pump.plus", "feed from main.load to pump.plus { 1 m }")
    )
    assert [item[0] for item in said(text, "unfused_pack").missing] == ["p2"]


def test_chain_of_packs_with_fuses_at_their_posts_passes(said: Callable[..., Any]) -> None:
    text = packs(True) + "".join(
        f"battery q{n} {{ LFP, 4 cells; short-circuit current 2.1 kA }}\nq{n}.minus on floor\nfuse g{n} {{ 50 A; line on q{n}.plus }}\nbus b{n} 100 A\nwire up{n} from g{n}.load to b{n}\n"
        f"wire link{n} from {'hall' if n == 1 else f'b{n - 1}'} to b{n}\n"
        for n in range(1, 4)
    )
    assert said(text, "unfused_pack").grades == []


def test_fuse_on_the_bar_within_the_distance_serves_the_pack(said: Callable[..., Any]) -> None:
    text = (
        HEAD
        + "battery p1 { LFP, 4 cells; short-circuit current 2.1 kA }\np1.minus on floor\nwire lead from p1.plus to hall { 150 mm }\n"
    )
    text += "battery p2 { LFP, 4 cells; short-circuit current 2.1 kA }\np2.minus on floor\nfuse f2 { 50 A; line on hall }\nwire cord from f2.load to f3.load\nfuse f3 { 50 A; line on p2.plus }\n"
    assert said(text, "unfused_pack").grades == []
