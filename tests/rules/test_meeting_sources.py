"""Rule meeting-sources: the fault catalogue's example I7, selectors, inlets, transfer switches, missing data."""

from __future__ import annotations

TWO = """rig "Two", revision 1
battery house { LFP, 4 cells, 50 Ah }
inverters { one { 300 W; 120 V AC }; two { 300 W; 120 V AC } }
REST
"""
CORD = """connector a { household socket; pin 1 L; pin 2 N; outlet }
connector b { household socket; pin 1 L; pin 2 N; outlet }
connector c { household socket; pin 1 L; pin 2 N; male; mates with a }
connector d { household socket; pin 1 L; pin 2 N; male; mates with b }
wires 14 AWG {
  w1 from one.L to a.1
  w2 from one.N to a.2
  w3 from two.L to b.1
  w4 from two.N to b.2
}
cable cord { 14 AWG; core x from c.1 to d.1; core y from c.2 to d.2 }"""


def test_catalogue_i7(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, I7, Ex: outlet-to-outlet cord -> error."""
    told = said(TWO.replace("REST", CORD), "meeting_sources")
    assert told.grades == [("one", "joined", "error")]
    assert "through" in told.finding("one").message


def test_a_selector_keeps_them_apart_unless_it_makes_first(said) -> None:  # type: ignore[no-untyped-def]
    rest = """selector chooser { 16 A; position "one" joins a; position "two" joins b; HOW }
AC load till { 60 W }
wire a from one.L to chooser.a, 14 AWG
wire b from two.L to chooser.b, 14 AWG
wire c from chooser.common to till.L, 14 AWG"""
    assert not said(TWO.replace("REST", rest.replace("HOW", "2 poles")), "meeting_sources").grades
    told = said(TWO.replace("REST", rest.replace("HOW", "makes before it breaks")), "meeting_sources")
    assert told.grades == [("chooser", "transfer", "error")]


def test_switches_meet_unless_barred(said) -> None:  # type: ignore[no-untyped-def]
    rest = """switches { s1 { 16 A; BAR }; s2 16 A }
AC load till { 60 W }
wires 14 AWG {
  w1 from one.L to s1.line
  w2 from two.L to s2.line
  w3 from s1.load to till.L
  w4 from s2.load to till.L
}"""
    assert said(TWO.replace("REST", rest.replace("BAR", "1 pole")), "meeting_sources").grades == [("one", "joined", "error")]
    assert not said(TWO.replace("REST", rest.replace("BAR", "barred with s2")), "meeting_sources").grades


def test_mains_at_an_inlet(said) -> None:  # type: ignore[no-untyped-def]
    rest = "connector wall { pin 1 L; pin 2 N; inlet }\nwire a from one.L to wall.1, 14 AWG\n"
    assert said(TWO.replace("REST", rest), "meeting_sources").grades == [("one", "joined", "error")]


def test_transfer_inside(said) -> None:  # type: ignore[no-untyped-def]
    text = 'rig "Boat", revision 1\nbattery house { LFP, 4 cells, 50 Ah }\ninverter-charger power { 1500 W; 230 V AC; HOW }\n'
    assert said(text.replace("HOW", "not transfer breaks before it makes"), "meeting_sources").grades == [
        ("power", "transfer", "error")
    ]
    assert said(text.replace("HOW", "transfer breaks before it makes"), "meeting_sources").passed("power", "transfer")
    silent = said(text.replace("HOW", "50 Hz"), "meeting_sources")
    assert [item.missing for item in silent.unchecked] == ["whether its transfer breaks before it makes"]
