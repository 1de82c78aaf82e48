"""`solve`: what flows, drops and is lost in every state; the sums are held to laws that anybody can check with a pencil."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest


@pytest.fixture
def solved(command: Any, kit: Any) -> Any:
    """Solve a text and return the document, and the exit code."""

    def solve(text: str, *arguments: str) -> tuple[dict[str, Any], int]:
        Path("box.rig").write_text(text, encoding="utf-8")
        ran = command("solve", "box.rig", "--output", "json", *arguments)
        return json.loads(ran.out), ran.code

    return solve


def state(document: dict[str, Any], name: str) -> dict[str, Any]:
    return next(item for item in document["builds"][0]["states"] if item["name"] == name)


def test_energy_is_kept(solved: Any, kit: Any) -> None:
    """What the battery gives is what the lamp takes and the wires lose (a law, no source needed)."""
    document, code = solved(kit.bench)
    assert code == 0
    on = state(document, "lamp on")
    assert (on["origin"], on["converged"], on["reason"], on["temperature"]) == ("declared", True, None, 30.0)
    lost = sum(row["loss"] for row in on["conductors"].values())
    assert on["parts"]["house"]["power"] == pytest.approx(on["parts"]["lamp"]["power"] + lost, rel=1e-9)
    assert on["parts"]["lamp"]["current"] == pytest.approx(25.0)
    assert on["parts"]["house"]["current"] == pytest.approx(25.0)


def test_drop_of_a_wire_is_the_difference_of_its_ends(solved: Any, kit: Any) -> None:
    on = state(solved(kit.bench)[0], "lamp on")
    feed = on["conductors"]["feed"]
    assert feed["current"] > 0, "positive from its from to its to"
    assert feed["drop"] == pytest.approx(on["voltages"]["house.plus"] - on["voltages"]["lamp.plus"], rel=1e-9)
    assert feed["loss"] == pytest.approx(feed["drop"] * feed["current"], rel=1e-9)
    turned = kit.bench.replace("from house.plus to lamp.plus", "from lamp.plus to house.plus")
    assert state(solved(turned)[0], "lamp on")["conductors"]["feed"]["current"] == pytest.approx(-25.0)


def test_resistance_of_six_gauge_copper(solved: Any, kit: Any) -> None:
    """readings.md, Solver: 0.017241 ohm mm2/m at 20 degC, 0.00393/K, the diameter by the law of the gauge; 0.6 m of 6 AWG at 30 degC."""
    import math

    area = math.pi / 4 * (0.127 * 92 ** ((36 - 6) / 39)) ** 2
    ohm = 0.017241 * 0.6 / area * (1 + 0.00393 * 10)
    assert state(solved(kit.bench)[0], "lamp on")["conductors"]["feed"]["drop"] == pytest.approx(25.0 * ohm, rel=1e-9)


def test_one_state(solved: Any, kit: Any) -> None:
    document, code = solved(kit.bench, "--state", "stored")
    assert code == 0
    assert [item["name"] for item in document["builds"][0]["states"]] == ["stored"]


def test_what_nothing_feeds_is_null(solved: Any, kit: Any) -> None:
    text = (
        kit.bench
        + "switch cut\nload fan 1 A\nwire x from house.plus to cut.line { 14 AWG; 1 m; copper }\nwire y from cut.load to fan.plus { 14 AWG; 1 m; copper }\n"
    )
    on = state(solved(text)[0], "lamp on")
    assert on["voltages"]["cut.load"] is None
    assert on["voltages"]["cut.line"] is not None
    assert on["conductors"]["y"] == {"current": 0.0, "drop": 0.0, "loss": 0.0}


def test_state_that_the_circuit_cannot_carry(solved: Any, kit: Any) -> None:
    """The most that 13 V behind 4 mohm can give is U2/4R, some 10 kW: 20 kW has no operating point."""
    document, code = solved(kit.bench.replace("load lamp 25 A", "load lamp 20 kW"))
    on = state(document, "lamp on")
    assert code == 0, "a collapse is no failure of the run"
    assert on["converged"] is False
    assert on["reason"]
    assert set(on["voltages"].values()) == {None}
    assert on["conductors"]["feed"] == {"current": None, "drop": None, "loss": None}
    assert on["parts"]["lamp"] == {"current": None, "power": None}


def test_sources_that_nothing_limits(solved: Any, command: Any) -> None:
    """Design, section 7: 2 is for a run that failed; unlike batteries in parallel without any resistance are a fault of the build."""
    text = (
        'rig "Two", revision 1\nbattery a { LFP, 4 cells }\nbattery b { LFP, 5 cells }\nbus p\nbus m\na.plus on p\nb.plus on p\na.minus on m\n'
        "b.minus on m\nload lamp 1 A\nwire w from p to lamp.plus { 14 AWG; 1 m }\nwire v from lamp.minus to m { 14 AWG; 1 m }\n"
    )
    document, code = solved(text)
    assert code == 0
    on = state(document, "lamp on")
    assert on["converged"] is False
    assert on["reason"].startswith(
        "Sources of different voltage, or one and a short circuit, are joined without any resistance: "
    )
    assert {"a", "b"} <= set(on["reason"].rstrip(".").replace(":", ",").split(", "))
    ran = command("solve", "box.rig")
    assert ran.code == 0
    assert "Not solved: Sources of different voltage" in " ".join(ran.out.split())


def test_table_is_readable_at_80_columns(command: Any, kit: Any) -> None:
    long = "a_name_so_long_that_it_does_not_fit_into_its_column_at_all"
    Path("box.rig").write_text(
        kit.bench.replace("feed", long).replace("house", "house_of_the_western_pump_and_more"), encoding="utf-8"
    )
    ran = command("solve", "box.rig")
    assert ran.code == 0
    lines = ran.out.splitlines()
    assert all(len(line) <= 80 for line in lines)
    assert 'State "lamp on" (declared), 30 degC outside' in lines
    assert f"  {long}" in lines
    row = lines[lines.index(f"  {long}") + 1].split()
    assert row[0] == "25"
    assert any("lamp (load)" in line and "plus 13." in line for line in lines)


def test_states_and_files_that_are_not_there(command: Any, kit: Any) -> None:
    Path("box.rig").write_text(kit.bench, encoding="utf-8")
    ran = command("solve", "box.rig", "--state", "lamp onn")
    assert (ran.code, ran.out) == (2, "")
    assert "there is no state 'lamp onn'. States near this one: lamp on." in ran.err
    assert command("solve", "bix.rig").code == 2
    assert command("solve").code == 2
    assert command("solve", "box.rig", "--basis", "zzz").code == 2


def test_mistakes_are_said_and_the_rest_is_solved(command: Any, kit: Any) -> None:
    Path("box.rig").write_text(kit.bench + "load fan 5 amps\n", encoding="utf-8")
    ran = command("solve", "box.rig")
    assert ran.code == 2
    assert "box.rig line 10: 'amps' is no unit" in ran.err
    assert "lamp (load)" in ran.out


def test_library_has_nothing_to_solve(command: Any) -> None:
    Path("shelf.rig").write_text("fuse small { 15 A blade }\n", encoding="utf-8")
    assert command("solve", "shelf.rig").code == 2


def test_zones_that_have_a_temperature_of_their_own_are_told(command: Any, kit: Any) -> None:
    Path("box.rig").write_text(kit.bench + "zone bay { 10 degC to 45 degC }\n", encoding="utf-8")
    assert "30 degC outside; bay 45 degC" in command("solve", "box.rig").out


def test_contact_belongs_to_both_halves(solved: Any, kit: Any) -> None:
    """0.8 mohm at each of two pins, 25 A: 1 W in all, half of it in each half (I2R, a law)."""
    text = kit.bench.replace("from house.plus to lamp.plus", "from house.plus to box_socket.1").replace(
        "from lamp.minus to house.minus", "from box_socket.2 to house.minus"
    )
    more = "connector box_socket with lamp_plug { 30 A; contact resistance 0.8 mohm; pins 1, 2 }\n"
    more += "wire x from lamp_plug.1 to lamp.plus { 6 AWG; 1 m }\nwire y from lamp.minus to lamp_plug.2 { 6 AWG; 1 m }\n"
    document, code = solved(text + more)
    assert code == 0
    parts = state(document, "lamp on")["parts"]
    assert parts["box_socket"]["power"] == pytest.approx(0.5)
    assert parts["lamp_plug"]["power"] == pytest.approx(0.5)
    assert abs(parts["box_socket"]["current"]) == pytest.approx(25.0)
