"""Rule joining-while-charging: the fault catalogue's example C14, edges, rule and device, interlocks, what does not apply, missing data."""

from __future__ import annotations

import pytest

BOX = """rig "Two packs", revision 1
system 12 V
battery house { LFP, 4 cells, 120 Ah; internal resistance 10 mohm; charge at most 60 A; bms { low cut-off 11.2 V } }
battery extra { LFP, 4 cells, 100 Ah; internal resistance 10 mohm; LIMIT; bms { low cut-off 11.2 V } }
mains charger shore { CHARGER; absorption 14.2 V }
switch link { LINK }
bus middle 150 A
wires {
  a from house.plus to middle, measured 1 mohm
  b from link.load to extra.plus, measured 1 mohm
  c from shore.plus to middle, 4 AWG, 1 m
  d from shore.minus to house.minus, 4 AWG, 1 m
}
link.line on middle
extra.minus on house.minus
"""
RULE = "procedure { join packs within 0.2 V }\n"


def box(limit: str = "charge at most 50 A", link: str = "300 A", charger: str = "64 A", more: str = RULE) -> str:
    """Two packs of 10 mohm, 1 mohm of lead each; the charger gives each of them one half."""
    return BOX.replace("LIMIT", limit).replace("LINK", link).replace("CHARGER", charger) + more


def test_catalogue_c14(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, C14, Ex: 32 + 9 = 41 A vs 50 A -> pass; vs 20 A -> warning."""
    assert said(box(), "joining_while_charging").grades == []
    found = said(box("charge at most 20 A"), "joining_while_charging")
    assert found.grades == [("extra", "over-charge", "warning")]
    finding = found.finding("extra")
    assert finding.measured.value == pytest.approx(41.1, abs=0.05)
    assert [step.value for step in finding.working][:2] == [pytest.approx(9.09, abs=0.01), pytest.approx(32.0)]


@pytest.mark.parametrize(("limit", "broken"), [("42 A", False), ("41.9 A", True), ("42.1 A", False)])
def test_charge_limit_at_its_edge(said, limit: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """0.22 V over 22 mohm: 10 A, and 32 A; at equality it holds."""
    found = said(box(f"charge at most {limit}", more=RULE.replace("0.2 V", "0.22 V")), "joining_while_charging")
    assert bool(found.grades) == broken


def test_over_a_rating_is_an_error(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, C14: error if over a fuse/contact rating."""
    found = said(box(link="40 A"), "joining_while_charging")
    assert found.grades == [("extra", "over-rating", "error")]
    assert found.finding("extra").subject == ("extra", "link", "house", "shore")


def test_without_rule_full_meets_empty(said) -> None:  # type: ignore[no-untyped-def]
    """Readings.md, joining rule: full against the low cut-off where nothing is posted: 2.4 V / 22 mohm and 32 A."""
    found = said(box("charge at most 200 A", more=""), "joining_while_charging")
    assert found.grades == [("house", "over-charge", "warning")]
    assert found.finding("house").measured.value == pytest.approx(2.4 / 0.022 + 32)


def test_limit_of_a_device_takes_the_place_of_the_rule(said) -> None:  # type: ignore[no-untyped-def]
    """Readings.md, C14."""
    limited = said(
        box("charge at most 36 A", "300 A; joins through a current limit; joining current at most 5 A"),
        "joining_while_charging",
    )
    assert limited.finding("extra").measured.value == pytest.approx(37.0)
    checked = said(box("charge at most 31 A", "300 A; joins through a voltage-checked contactor"), "joining_while_charging")
    assert checked.finding("extra").measured.value == pytest.approx(32.0)
    silent = said(box(link="300 A; joins through a precharge resistor"), "joining_while_charging")
    assert silent.missing == [("house", "over-rating", "joining current of the precharge")]


def test_array_bounds_its_controller(said) -> None:  # type: ignore[no-untyped-def]
    """1.25 x 100 W over 11.2 V: 11.2 A, not the rated 64 A; half of it goes into each pack."""
    sun = box("charge at most 14 A").replace("mains charger shore { 64 A; absorption 14.2 V }", "controller shore { MPPT; 64 A; absorption 14.2 V }\narray roof { 100 W; Voc 22 V; Vmp 20 V; Isc 5.5 A; Imp 5 A }\nroof.plus on shore.pv_plus\nroof.minus on shore.pv_minus").replace("shore.plus", "shore.batt_plus").replace("shore.minus", "shore.batt_minus")  # fmt: skip
    finding = said(sun, "joining_while_charging").finding("extra")
    assert finding.measured.value == pytest.approx(0.2 / 0.022 + 1.25 * 100 / 11.2 / 2)


def test_what_does_not_apply(said) -> None:  # type: ignore[no-untyped-def]
    def idle(text: str) -> list[str]:
        found = said(text, "joining_while_charging")
        assert (found.grades, found.missing, found.passes) == ([], [], [])
        return [item.condition for item in found.idle]

    assert idle(box(link="30 A; not joined while charging")) == ["packs are not joined while chargers run"]
    fused = box(more="").replace("switch link { 300 A }", "fuse link { 30 A }")
    assert idle(fused) == ["packs that nothing but a fuse parts"]
    dark = "\n".join(line for line in box().splitlines() if "shore" not in line) + "\n"
    assert idle(dark) == ["nothing charges the packs"]
    assert idle('rig "One", revision 1\nbattery a { LFP, 4 cells, 100 Ah }\n') == ["no packs lie side by side"]


def test_interlock_that_stops_the_charger(said) -> None:  # type: ignore[no-untyped-def]
    plug = (
        box("charge at most 20 A")
        .replace(
            "switch link { 300 A }",
            'connector socket with plug { 4 pins; 100 A; family "four"; pin 1 plus; pin 2 minus; pin 3 "guard" }',
        )
        .replace("link.load to", "plug.1 to")
        .replace(
            "link.line on middle\nextra.minus on house.minus",
            "socket.1 on middle\nplug.2 on extra.minus\nsocket.2 on house.minus",
        )
    )
    assert said(plug, "joining_while_charging").grades == [("extra", "over-charge", "warning")]
    loop = "interlock guard { loop socket.3, plug.3; stops shore }\n"
    found = said(plug + loop, "joining_while_charging")
    assert (found.grades, [item.condition for item in found.idle]) == (
        [],
        ["an interlock stops the chargers before packs are joined"],
    )


def test_what_is_asked_for(said) -> None:  # type: ignore[no-untyped-def]
    assert said(box(charger="charges LFP"), "joining_while_charging").missing == [
        ("house", "over-rating", "highest current out of shore")
    ]
    assert said(box("12.8 V"), "joining_while_charging").missing == [("house", "over-charge", "charge current limit of extra")]
    bound = box().replace("120 Ah; internal resistance 10 mohm", "120 Ah; internal resistance at most 10 mohm")
    assert said(bound, "joining_while_charging").missing == [("house", "over-rating", "measured internal resistance of house")]
    assert said(box(link="electronic"), "joining_while_charging").missing == [("house", "over-rating", "rated current of link")]
