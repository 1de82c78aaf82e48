"""Rule chain-link: the fault catalogue's examples C4, what is a link, fuses, conductors, outages, missing data."""

from __future__ import annotations

import pytest

HEAD = """rig "Chain", revision 1
basis us-small-craft
site { ambient 0 degC to 30 degC }
all wires { copper; 105 degC insulation; in free air; 2 AWG; 0.01 m }
"""


def chain(
    rating: str, extras: int = 3, more: str = "", ampere: str = "60 A", family: str = "contact resistance 0.001 mohm"
) -> str:
    """A main pack with others plugged on in a row, the load on the main one; the ways next to nothing, so that all share alike."""
    lines = [HEAD + "battery p0 { LFP, 4 cells, 110 Ah; internal resistance 100 mohm }"]
    for n in range(1, extras + 1):
        lines += [
            f"battery p{n} {{ LFP, 4 cells, 100 Ah; internal resistance 100 mohm }}",
            f'connector s{n} with q{n} {{ 2 pins; {rating}; {family}; family "two {n}"; pin 1 plus; pin 2 minus }}',
            f"wire u{n} from p{n - 1}.plus to s{n}.1",
            f"wire d{n} from p{n - 1}.minus to s{n}.2",
            f"q{n}.1 on p{n}.plus",
            f"q{n}.2 on p{n}.minus",
        ]
    lines += [f"load lamp {ampere}", "lamp.plus on p0.plus", "lamp.minus on p0.minus", more]
    return "\n".join(lines)


def test_catalogue_c4(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, C4, Ex: main + 3 packs, 60 A load: equal sharing 45 A in link 1 vs 30 A connector -> error; main BMS open: 60 A -> error."""
    found = said(chain("30 A"), "chain_link")
    first = found.finding("s1")
    assert (first.grade, first.limit.value) == ("over-rating", 30.0)
    assert first.measured.value == pytest.approx(60.0, abs=0.05)
    assert first.state == "lamp on, p0 out"
    solved = {state.state: state.measured.value for state in first.states}
    assert solved["lamp on"] == pytest.approx(45.0, abs=0.2)
    assert found.grades[0][2] == "error"
    assert said(chain("61 A"), "chain_link").grades == []


def test_main_pack_out_alone_breaks_it(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, C4: 45 A are borne by 50 A, 60 A with the main pack out are not: an error too, since what burns stands for one failure."""
    found = said(chain("50 A"), "chain_link")
    assert found.grades == [("s1", "over-rating", "error")]
    states = [state.state for state in found.finding("s1").states]
    assert "lamp on, p0 out" in states
    assert all(state.endswith(", p0 out") for state in states)
    assert "while p0 is out; a contact of it carries 50 A." in found.finding("s1").message


@pytest.mark.parametrize(("rating", "links"), [("41 A", {"s1"}), ("39 A", {"s1", "s2"}), ("19 A", {"s1", "s2", "s3"})])
def test_each_link_by_what_lies_beyond(said, rating: str, links: set[str]) -> None:  # type: ignore[no-untyped-def]
    """With p0 out the others give 20 A each: 60, 40 and 20 A in the links, as sums of the packs beyond."""
    assert {item[0] for item in said(chain(rating), "chain_link").grades} == links


def test_packs_on_a_busbar_are_no_chain(said) -> None:  # type: ignore[no-untyped-def]
    text = HEAD + (
        "battery a { LFP, 4 cells, 100 Ah; internal resistance 10 mohm }\nbattery b { same as a }\nbus bar 100 A\nload lamp 60 A\n"
        "wires { w1 from a.plus to bar; w2 from b.plus to bar; w3 from bar to lamp.plus; w4 from lamp.minus to a.minus; w5 from a.minus to b.minus }\n"
    )
    found = said(text, "chain_link")
    assert (found.grades, found.missing, found.passes) == ([], [], [])
    assert [item.condition for item in found.idle] == ["packs that are no chain"]
    one = said(HEAD + "battery a { LFP, 4 cells, 100 Ah }\n", "chain_link")
    assert [item.condition for item in one.idle] == ["no batteries lie side by side"]


def test_conductor_of_a_link(said) -> None:  # type: ignore[no-untyped-def]
    """33 CFR 183.425 Table 5: 14 AWG at 105 degC carries 35 A; 60 A with the main pack out."""
    found = said(
        chain("100 A", more="").replace("wire u1 from p0.plus to s1.1", "wire u1 from p0.plus to s1.1, 14 AWG"), "chain_link"
    )
    assert found.grades == [("u1", "over-rating", "error")]
    assert found.finding("u1").limit.value == pytest.approx(35.0)


def test_fuse_that_opens_after_a_failure_is_a_note(said) -> None:  # type: ignore[no-untyped-def]
    """Readings.md, "States after a failure": what trips or fails is a note there; with everything in place it stays an error."""
    fused = chain("100 A").replace(
        "wire u1 from p0.plus to s1.1", "fuse f { SIZE; resistance 0.001 mohm }\nf.line on p0.plus\nwire u1 from f.load to s1.1"
    )
    after = said(fused.replace("SIZE", "50 A"), "chain_link")
    assert after.grades == [("f", "over-fuse", "note")]
    whole = said(fused.replace("SIZE", "40 A"), "chain_link")
    assert whole.grades == [("f", "over-fuse", "error")]


def test_switch_of_a_link(said) -> None:  # type: ignore[no-untyped-def]
    text = chain("100 A").replace(
        "wire u1 from p0.plus to s1.1", "switch k 50 A\nk.line on p0.plus\nwire u1 from k.load to s1.1"
    )
    text += '\nstate "lit" { k closed; lamp on }\n'
    assert said(text, "chain_link").grades == [("k", "over-rating", "error")]


def test_what_is_asked_for(said) -> None:  # type: ignore[no-untyped-def]
    silent = said(chain("cap", extras=1), "chain_link")
    assert silent.missing == [("p1", "over-rating", "current of a contact of s1")]
    basis = said(chain("100 A", extras=1).replace("basis us-small-craft\n", ""), "chain_link")
    assert basis.missing == [("p1", "over-rating", "basis")]
    gauge = said(chain("100 A", extras=1).replace("2 AWG; ", ""), "chain_link")
    assert gauge.missing[0][1] == "over-rating"
    assert gauge.missing[0][2].startswith("gauge of ")
    idle = said(
        chain("100 A", extras=1).replace("load lamp 60 A\nlamp.plus on p0.plus\nlamp.minus on p0.minus\n", ""), "chain_link"
    )
    assert [item.condition for item in idle.idle] == ["carries no steady current in any state"]


def test_charging_goes_through_the_link_too(said) -> None:  # type: ignore[no-untyped-def]
    """80 A of charge, the main pack out: all of it flows into the other."""
    charger = "mains charger shore { 80 A; absorption 60 V }\nshore.plus on p0.plus\nshore.minus on p0.minus\n"
    found = said(chain("70 A", extras=1, more=charger, ampere="10 A"), "chain_link")
    assert found.grades == [("s1", "over-rating", "error")]
    assert found.finding("s1").measured.value == pytest.approx(80.0, abs=11)


def test_own_lead_of_the_main_pack_is_no_link(said) -> None:  # type: ignore[no-untyped-def]
    """Each pack has its lead to the bar: that of the largest one carries its own current only, though all others lie beyond it."""
    text = HEAD + (
        "battery a { LFP, 4 cells, 300 Ah; internal resistance 10 mohm }\nbattery b { LFP, 4 cells, 100 Ah; internal resistance 10 mohm }\n"
        "battery c { same as b }\nbus bar 100 A\nbus low 100 A\nfuse f { 20 A; line on a.plus }\nload lamp 60 A\n"
        "wires { w1 from f.load to bar; w2 from b.plus to bar; w3 from c.plus to bar; w4 from bar to lamp.plus }\n"
        "wires { m1 from a.minus to low; m2 from b.minus to low; m3 from c.minus to low; m4 from lamp.minus to low }\n"
    )
    found = said(text, "chain_link")
    assert (found.grades, found.passes) == ([], [])
    assert [item.condition for item in found.idle] == ["packs that are no chain"]


def test_load_at_the_far_end_of_the_chain(said) -> None:  # type: ignore[no-untyped-def]
    """The largest pack lies at the one end, the load at the other: what is beyond is seen from the load."""
    moved = (
        chain("50 A")
        .replace("lamp.plus on p0.plus", "lamp.plus on p3.plus")
        .replace("lamp.minus on p0.minus", "lamp.minus on p3.minus")
    )
    finding = said(moved, "chain_link").finding("s3")
    assert finding.measured.value == pytest.approx(60.0, abs=0.05)
    assert "it links 3 packs to the others" in finding.message
    assert finding.state == "lamp on, p3 out"
