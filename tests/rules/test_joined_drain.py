"""Rule joined-drain: the fault catalogue's example K8 end to end, packs stored apart and joined, what is missing."""

from __future__ import annotations

import pytest

MONTH = 730 * 3600.0
PLUG = """connector SOCKET with PLUG {
  2 pins
  pin 1 plus; pin 2 minus
}
"""


def build(packs: int = 3, monitor: str = "12 mA", bms: str = "12 mA", apart: bool = True, more: str = "") -> str:
    """A main battery with a controller's drain on it, and packs on plugs; each 100 Ah with a BMS of its own."""
    lines = ['rig "Winter box", revision 1']
    kept = f"LFP, 4 cells, 100 Ah; self-discharge 3 %/month; bms {{ own drain {bms} }}"
    lines.append(f"battery house {{ {kept} }}")
    lines.append(f"meter monitor {monitor}")
    wires = ["  a from house.plus to monitor.plus", "  b from monitor.minus to house.minus"]
    for number in range(1, packs + 1):
        lines.append(f"battery pack{number} {{ {kept} }}")
        lines.append(PLUG.replace("SOCKET", f"socket{number}").replace("PLUG", f"plug{number}"))
        wires.append(f"  c{number} from house.plus to socket{number}.1")
        wires.append(f"  d{number} from house.minus to socket{number}.2")
        wires.append(f"  e{number} from plug{number}.1 to pack{number}.plus")
        wires.append(f"  f{number} from plug{number}.2 to pack{number}.minus")
    lines += ["wires measured 1 uohm {", *wires, "}", "procedure { store from 80 %; store down to 20 % }"]
    plugs = ", ".join(f"plug{number}" for number in range(1, packs + 1))
    if packs:
        lines.append(f"state stored {{ {plugs} {'apart' if apart else 'mated'} }}")
    return "\n".join([*lines, more]) + "\n"


def test_catalogue_k8(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, K8, Ex: 4 packs each 12 mA BMS + 12 mA controller on main: joined 60 mA·730 = 43.8+12 = 55.8 Ah/month over 240 Ah -> 4.3 months."""
    found = said(build(more="require on the shelf for 5 months"), "joined_drain")
    assert found.grades == [("house", "joined", "warning")]
    finding = found.finding("house")
    assert finding.measured.value / MONTH == pytest.approx(240 / 55.8)
    assert finding.limit.value == 5 * MONTH
    assert finding.subject == ("house", "pack1", "pack2", "pack3")
    assert finding.state == "stored, all packs joined"
    # a pack alone: 60 Ah / (12 mA x 730 h + 3 Ah) = 5.1 months, as in the example of K1
    assert finding.message.startswith(
        "house, pack1, pack2 and pack3: stored joined it lasts 4.3 months, not 5.1 months as stored; 5 months are required."
        " 76.4 mA empty it: self-discharge 16.4 mA (22 %), BMS of house 12 mA (16 %)"
    )


@pytest.mark.parametrize(("months", "broken"), [("4.301 months", False), ("4.302 months", True)])
def test_edge(said, months: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """240 / 55.8 = 4.30108 months."""
    assert bool(said(build(more=f"require on the shelf for {months}"), "joined_drain").findings) is broken


def test_without_a_promise_three_months_are_the_least(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build(), "joined_drain").passed("house").limit.value == 3 * MONTH
    assert (
        said(build(bms="25 mA"), "joined_drain")
        .finding("house")
        .message.endswith("BMS of pack3 25 mA (19 %), 2 more 28.4 mA (22 %).")
    )


def test_of_several_promises_the_longest_counts(said) -> None:  # type: ignore[no-untyped-def]
    more = "require on the shelf for 4 months\nrequire on the shelf for 5 months"
    assert said(build(more=more), "joined_drain").finding("house").limit.value == 5 * MONTH


def test_packs_that_are_stored_joined_are_held_apart(said) -> None:  # type: ignore[no-untyped-def]
    """The monitor alone on the main battery empties it sooner than the joined bank."""
    text = build(monitor="60 mA", bms="1 mA", apart=False, more="require on the shelf for 5 months")
    found = said(text, "joined_drain")
    assert found.grades == [("house", "apart", "warning")]
    finding = found.finding("house")
    assert finding.measured.value / MONTH == pytest.approx(60 / (0.061 * 730 + 3))
    assert "house: stored apart from the others it lasts 1.26 months, not 4.09 months as stored" in finding.message
    assert {passed.subject for passed in found.passes} == {("pack1",), ("pack2",), ("pack3",)}


def test_missing_data_are_named(said) -> None:  # type: ignore[no-untyped-def]
    text = build().replace(
        "pack2 { LFP, 4 cells, 100 Ah; self-discharge 3 %/month; bms { own drain 12 mA } }", "pack2 { LFP, 4 cells, 100 Ah }"
    )
    found = said(text, "joined_drain")
    assert found.missing == [("house", "joined", "own drain of the BMS of pack2")]
    text = build().replace("pack3 { LFP, 4 cells, 100 Ah;", "pack3 { LFP, 4 cells;")
    assert said(text, "joined_drain").missing == [("house", "joined", "capacity of pack3")]


def test_what_has_no_packs_does_not_apply(said) -> None:  # type: ignore[no-untyped-def]
    for text in (build(packs=0), build(packs=0) + "battery spare { LFP, 4 cells }\nconnector p with q { 2 pins }\n"):
        found = said(text, "joined_drain")
        assert not found.findings
        assert [(item.condition, item.count) for item in found.idle] == [("no packs are joined by plugs", 1)]


def test_a_row_joins_as_many_as_it_may(said) -> None:  # type: ignore[no-untyped-def]
    text = """rig "Box", revision 1
battery house { LFP, 4 cells, 100 Ah; bms { own drain 1 mA } }
connector socket { 2 pins; pin 1 plus; pin 2 minus }
wires 10 AWG, 1 m {
  a from house.plus to socket.1
  b from house.minus to socket.2
}
assembly pack {
  battery cells { LFP, 4 cells, 10 Ah; bms { own drain 10 mA } }
  connector inlet { 2 pins; pin 1 plus; pin 2 minus }
  connector outlet { 2 pins; pin 1 plus; pin 2 minus }
  wires 10 AWG, 1 m {
    c from cells.plus to inlet.1
    d from cells.minus to inlet.2
    e from inlet.1 to outlet.1
    f from inlet.2 to outlet.2
  }
  port inlet at inlet
  port outlet at outlet
}
row packs of 4 pack { starts at socket; joins inlet to outlet; 0 to MOST joined }
state stored { packs 0 joined }
"""
    (told,) = said(text.replace("MOST", "2"), "joined_drain").passes
    assert told.subject == ("house", "packs[1].cells", "packs[2].cells")
