"""Rule unfused-strings: the fault catalogue's examples A7, edges, string fuses, what batteries push back, the iec factor, what is missing."""

from __future__ import annotations

import pytest

BUILD = """rig "Strings", revision 1
basis us-premises
battery house { LFP, 4 cells, 100 Ah; internal resistance 5 mohm }
array roof { Voc 22 V; Vmp 18 V; Isc 6.2 A; Imp 5.8 A; largest series fuse MSF; STRINGS in parallel }
controller sun { MPPT; 30 A; absorption 14.2 V; BACK }
fuse sun_fuse { 30 A; line on house.plus }
wires 10 AWG, 2 m {
  in from roof.plus to sun.pv_plus
  home from sun.pv_minus to roof.minus
  charge from sun.batt_plus to sun_fuse.load
  back from house.minus to sun.batt_minus
}
"""
BLOCKS = "blocks reverse current"


def build(strings: int = 3, back: str = BLOCKS, msf: str = "15 A") -> str:
    return BUILD.replace("STRINGS", str(strings)).replace("BACK", back).replace("MSF", msf)


def three(*fused: str) -> str:
    """Three arrays side by side, some with a fuse in their plus lead."""
    text = build(1)
    for name in ("east", "west"):
        text += f"array {name} {{ Voc 22 V; Vmp 18 V; Isc 6.2 A; Imp 5.8 A; largest series fuse 15 A }}\n"
        text += f"wire {name}_minus from {name}.minus to sun.pv_minus\n"
        if name not in fused:
            text += f"wire {name}_plus from {name}.plus to sun.pv_plus\n"
    for name in fused:
        text += f"fuse {name}_fuse {{ 15 A; line on {name}.plus }}\n"
        text += f"wire {name}_plus from {name}_fuse.load to sun.pv_plus\n"
    return text.replace("  in from roof.plus to sun.pv_plus\n", "") if "roof" in fused else text


def test_catalogue_a7(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, A7, Ex: 3 strings, Isc 6.2 A, I_msf 15 A: 2 x 1.25 x 6.2 = 15.5 A > 15 -> error; 2 strings: 7.75 A -> pass."""
    found = said(build(3), "unfused_strings")
    assert found.grades == [("sun", "over-series-fuse", "error")]
    finding = found.finding("sun")
    assert (finding.measured.value, finding.limit.value) == (pytest.approx(15.5), 15.0)
    assert finding.message == (
        "roof: a fault in one string is fed with 15.5 A (the other strings bring 1.25 times 12.4 A); "
        "its modules allow a series fuse of 15 A at most, and no fuse is in its lead."
    )
    assert finding.remedy == (
        "Put a fuse of 15 A or less in the lead of every string (draw each string of roof as an array of its own)."
    )
    assert said(build(2), "unfused_strings").passed("sun").measured.value == pytest.approx(7.75)


@pytest.mark.parametrize(("msf", "broken"), [("15.49 A", True), ("15.5 A", False), ("15.51 A", False)])
def test_edge(said, msf: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    assert bool(said(build(3, msf=msf), "unfused_strings").findings) is broken


def test_on_iec_the_factor_is_from_memory(said) -> None:  # type: ignore[no-untyped-def]
    """Readings, A7: 1.25 on every basis; on iec a warning between 1.0 and 1.25."""
    assert said(build(3), "unfused_strings", basis="iec").grades == [("sun", "over-series-fuse", "warning")]
    assert said(build(3, msf="12 A"), "unfused_strings", basis="iec").grades == [("sun", "over-series-fuse", "error")]


def test_arrays_of_their_own_count_alike(said) -> None:  # type: ignore[no-untyped-def]
    found = said(three(), "unfused_strings")
    assert found.finding("sun").measured.value == pytest.approx(15.5)
    assert found.finding("sun").subject == ("sun", "east", "roof", "west")


@pytest.mark.parametrize(
    ("fused", "broken"), [((), True), (("east",), True), (("east", "west"), True), (("roof", "east", "west"), False)]
)
def test_every_string_needs_its_fuse(said, fused: tuple[str, ...], broken: bool) -> None:  # type: ignore[no-untyped-def]
    found = said(three(*fused), "unfused_strings")
    assert bool(found.findings) is broken
    assert bool(found.passes) is not broken
    if broken:
        assert found.finding("sun").message.split(":")[0] not in fused


def test_how_large_a_string_fuse_is_belongs_to_string_fuse(said) -> None:  # type: ignore[no-untyped-def]
    text = three("roof", "east", "west").replace("{ 15 A; line on", "{ 40 A; line on")
    assert said(text, "unfused_strings").passed("sun").measured is None


def test_one_fuse_for_all_is_no_string_fuse(said) -> None:  # type: ignore[no-untyped-def]
    text = build(3).replace("in from roof.plus to", "in from cut.load to") + "fuse cut { 30 A; line on roof.plus }\n"
    assert said(text, "unfused_strings").findings


def test_modules_in_series_do_not_feed_each_other(said) -> None:  # type: ignore[no-untyped-def]
    text = build(1).replace("home from sun.pv_minus to roof.minus", "home from sun.pv_minus to low.minus")
    text += "array low { Voc 22 V; Isc 6.2 A; largest series fuse 5 A }\nwire link from low.plus to roof.minus\n"
    found = said(text, "unfused_strings")
    assert [item.condition for item in found.idle] == ["one string alone, into which nothing can push back"]


def test_the_battery_pushes_back_through_a_controller_that_lets_it(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, A7: I_back = the battery-side fuse; readings: for one string only where it is said not to block."""
    one = said(build(1, "backfeed into the array"), "unfused_strings")
    assert one.finding("sun").measured.value == 30.0
    assert "the battery can push through sun 30 A" in one.finding("sun").message
    two = said(build(2, "backfeed into the array", "38 A"), "unfused_strings")
    assert two.passed("sun").measured.value == pytest.approx(30 + 7.75)
    bare = build(1, "backfeed into the array").replace(
        "charge from sun.batt_plus to sun_fuse.load", "charge from sun.batt_plus to house.plus"
    )
    finding = said(bare, "unfused_strings").finding("sun")
    assert finding.measured is None
    assert "is fed with any current (the battery can push through sun without any fuse)" in finding.message


def test_the_fuses_of_two_batteries_add(said) -> None:  # type: ignore[no-untyped-def]
    text = build(1, "backfeed into the array", "40 A") + (
        "battery more { LFP, 4 cells, 100 Ah }\nfuse more_fuse { 20 A; line on more.plus }\n"
        "wire p from more_fuse.load to sun_fuse.load\nwire q from more.minus to house.minus\n"
    )
    assert said(text, "unfused_strings").finding("sun").measured.value == pytest.approx(50.0)


def test_a_diode_keeps_the_battery_out_but_is_no_string_fuse(said) -> None:  # type: ignore[no-untyped-def]
    def with_diode(text: str) -> str:
        return text.replace(
            "in from roof.plus to sun.pv_plus", "in from roof.plus to gate.anode\n  on from gate.cathode to sun.pv_plus"
        ) + ("diode gate { blocking }\n")

    assert not said(with_diode(build(1, "backfeed into the array")), "unfused_strings").findings
    assert said(with_diode(build(3, "backfeed into the array")), "unfused_strings").finding(
        "sun"
    ).measured.value == pytest.approx(15.5)


def test_panels_straight_on_a_battery(said) -> None:  # type: ignore[no-untyped-def]
    """The fuse at the battery is that of the one string; around two strings that are drawn as one it is none, and lets 30 A pass into either."""

    def straight(strings: int, at: str) -> str:
        text = build(strings).replace("in from roof.plus to sun.pv_plus", f"in from roof.plus to {at}")
        return text.replace("home from sun.pv_minus to roof.minus", "home from house.minus to roof.minus")

    assert said(straight(1, "sun_fuse.load"), "unfused_strings").passed("house").measured is None
    two = said(straight(2, "sun_fuse.load"), "unfused_strings").finding("house")
    assert two.measured.value == pytest.approx(7.75 + 30)
    assert two.message.startswith(
        "roof: a fault in one string is fed with 37.8 A (the other strings bring 1.25 times 6.2 A and house can push 30 A)"
    )
    bare = said(straight(1, "house.plus"), "unfused_strings").finding("house")
    assert bare.measured is None
    assert "is fed with any current (house can push without any fuse)" in bare.message


def test_a_silent_controller(said) -> None:  # type: ignore[no-untyped-def]
    """Readings, A7: not checked for two strings and more; for one string only where it is said not to block."""
    two = said(build(2, "own drain 1 mA"), "unfused_strings")
    assert two.missing == [("sun", "over-series-fuse", "whether sun lets current back into the array")]
    assert two.unchecked[0].declare == "no current back into the array"
    one = said(build(1, "own drain 1 mA"), "unfused_strings")
    assert not one.missing
    assert not one.findings
    enough = said(build(2, "own drain 1 mA", "40 A"), "unfused_strings")  # it holds even if it lets 30 A back
    assert enough.passed("sun").measured.value == pytest.approx(7.75)
    broken = said(build(4, "own drain 1 mA"), "unfused_strings")
    assert broken.finding("sun").measured.value == pytest.approx(3 * 7.75)


@pytest.mark.parametrize(
    ("old", "missing"),
    [
        ("Isc 6.2 A; ", "short-circuit current of roof"),
        ("largest series fuse 15 A; ", "largest series fuse of roof"),
    ],
)
def test_missing_data_are_named(said, old: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(2).replace(old, ""), "unfused_strings")
    assert not found.findings
    assert not found.passes
    assert found.missing == [("sun", "over-series-fuse", missing)]
    assert found.unchecked[0].declare


def test_an_unrated_fuse_on_the_batterys_side_is_named(said) -> None:  # type: ignore[no-untyped-def]
    text = build(1, "backfeed into the array").replace("fuse sun_fuse { 30 A; line", "fuse sun_fuse { line")
    assert said(text, "unfused_strings").missing == [("sun", "over-series-fuse", "rated current of sun_fuse")]
