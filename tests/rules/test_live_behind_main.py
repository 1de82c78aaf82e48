"""Rule live-behind-main: the fault catalogue's example H4, dead states, which switch is the main one, poles, ways around."""

from __future__ import annotations

import pytest

BUILD = """rig "Box", revision 1
battery house { LFP, 4 cells, 100 Ah }
battery pack { LFP, 4 cells, 50 Ah }
connector pack_socket with pack_plug { 2 pins; 75 A }
switch main { 100 A; MAIN }
load lamp 20 W
wires 6 AWG, 0.5 m {
  a from house.plus to main.line
  b from main.load to lamp.plus
  c from lamp.minus to house.minus
  d from pack.plus to pack_plug.1
  e from pack.minus to pack_plug.2
  f from pack_socket.1 to JOIN
  g from pack_socket.2 to house.minus
}
"""


def build(join: str = "main.load", main: str = "main switch") -> str:
    return BUILD.replace("JOIN", join).replace("MAIN", main)


def test_catalogue_h4(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, H4, Ex: pack socket on load side of main: bus 12.8 V with MAIN=OFF -> warning."""
    found = said(build(), "live_behind_main")
    assert found.grades == [("main", "pack-behind", "warning")]
    assert found.finding("main").message == (
        "main: with it off and everything else closed and mated, pack keeps what lies behind it live. Whoever works there takes it for dead."
    )


def test_a_state_called_dead_is_an_error(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, H4: error if the procedure calls that state dead."""
    found = said(build() + "state bench { main open; called dead }\nstate off { main open }\n", "live_behind_main")
    assert [item[1:] for item in found.grades] == [("pack-behind", "warning"), ("called-dead", "error")]
    apart = said(build() + "state bench { main open; pack_plug apart; called dead }\n", "live_behind_main")
    assert [item[1] for item in apart.grades] == ["pack-behind"]
    assert apart.passed("main", "called-dead").state == "bench"


def test_a_dead_state_with_the_switch_closed_is_live(said) -> None:  # type: ignore[no-untyped-def]
    text = build("main.line") + "state bench { main closed; called dead }\n"
    assert [item[1] for item in said(text, "live_behind_main").grades] == ["called-dead"]


def test_pack_on_the_battery_side_passes(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build("main.line"), "live_behind_main").passed("main", "pack-behind")


def test_switch_wired_the_other_way_round(said) -> None:  # type: ignore[no-untyped-def]
    text = build().replace("main.line", "main.x").replace("main.load", "main.line").replace("main.x", "main.load")
    assert said(text, "live_behind_main").finding("main").subject == ("main", "pack")


def test_switch_in_the_return(said) -> None:  # type: ignore[no-untyped-def]
    text = """rig "Box", revision 1
battery house { LFP, 4 cells, 100 Ah }
battery pack { LFP, 4 cells, 50 Ah }
fuse link 60 A
switch main { 100 A; main switch }
load lamp 20 W
wires 6 AWG, 0.5 m {
  a from house.plus to lamp.plus
  b from lamp.minus to main.load
  c from main.line to house.minus
  d from pack.plus to link.line
  e from link.load to house.plus
  f from pack.minus to main.load
}
"""
    assert said(text, "live_behind_main").finding("main").subject == ("main", "pack")
    assert not said(
        text.replace("f from pack.minus to main.load", "f from pack.minus to main.line"), "live_behind_main"
    ).findings


def test_way_around(said) -> None:  # type: ignore[no-untyped-def]
    text = build("main.line") + "wire h from house.plus to lamp.plus, 10 AWG, 1 m\n"
    assert "a way around it" in said(text, "live_behind_main").finding("main").message


def test_which_switch_is_the_main_one(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build(main="within reach"), "live_behind_main").findings, "it is the only switch"
    second = "switch second 5 A\nload b2 5 W\nwire x from main.load to second.line, 14 AWG, 1 m\nwire y from second.load to b2.plus, 14 AWG, 1 m\n"
    found = said(build(main="within reach") + second, "live_behind_main")
    assert [item[2] for item in found.missing] == ["which switch is the main switch"]


@pytest.mark.parametrize("gone", ["battery pack", "switch main"])
def test_does_not_apply(said, gone: str) -> None:  # type: ignore[no-untyped-def]
    text = 'rig "Box", revision 1\nbattery house { LFP, 4 cells, 100 Ah }\n'
    text += (
        "battery pack { LFP, 4 cells, 50 Ah }\n"
        if gone != "battery pack"
        else "switch main 5 A\nwire a from house.plus to main.line, 6 AWG, 1 m\n"
    )
    assert said(text, "live_behind_main").idle
