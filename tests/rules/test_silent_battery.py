"""A battery without a voltage is asked for it once, in words that do not contradict its chemistry: common practice, no source."""

from __future__ import annotations

from datetime import date

import pytest
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader
from ohmwright_rules import PACK

BOX = """rig "Cart", revision 1
SYSTEM
basis us-small-craft
site { ambient 10 degC to 30 degC }
all wires { copper; stranded; 105 degC insulation; in free air }
battery small { WHAT; 100 Ah; internal resistance 5 mohm }
battery beside { WHAT; 100 Ah; internal resistance 5 mohm }
fuse main { 10 A blade; breaks 1 kA at 32 V dc; line on small.plus }
fuse second { 10 A blade; breaks 1 kA at 32 V dc; line on beside.plus; load on main.load }
small.minus on beside.minus
mains charger depot { 10 A; charges LFP; for 12 V batteries; plus on main.load; minus on small.minus }
inverter mains { 300 W; efficiency 90 %; draws 5 W with no load; plus on main.load; minus on small.minus }
converter step { input 9 V to 60 V; output 5 V; efficiency 90 %; in_plus on main.load; in_minus on small.minus }
load lamp { 2 A; works on 10 V to 15 V }
load phone { 1 A; works on 4.8 V to 5.2 V }
wires 14 AWG, 2 m {
  a from main.load to lamp.plus
  b from lamp.minus to small.minus
  c from step.out_plus to phone.plus
  d from phone.minus to step.out_minus
}
require run lamp, phone for 4 h
"""


@pytest.mark.parametrize(
    ("what", "system", "asked", "declare"),
    [
        ("AGM", "system 12 V", "nominal voltage", "12 V"),
        ("flooded", "system 24 V", "nominal voltage", "24 V"),
        ("LFP", "system 12 V", "nominal voltage", "4 cells"),
        ("weighs 20 kg", "system 12 V", "chemistry and cells", "LFP, 4 cells"),
    ],
)
def test_voltage_of_a_battery_is_asked_for_once(what: str, system: str, asked: str, declare: str) -> None:
    text = BOX.replace("WHAT", what).replace("SYSTEM", system)
    options = InspectOptions(date(2026, 1, 1), reached=True)
    (build,) = inspect_files(["cart.rig"], Loader(MemoryFiles({"cart.rig": text})), options, (PACK,)).builds
    told = {
        (item.outcome.missing, item.outcome.declare)
        for item in build.not_checked
        if item.outcome.missing.endswith((" of small", " of beside"))
        and any(word in item.outcome.missing for word in ("cells", "nominal", "rest"))
    }
    assert told == {(f"{asked} of small", declare), (f"{asked} of beside", declare)}
    assert len({item.rule.id for item in build.not_checked if item.outcome.missing == f"{asked} of small"}) >= 3
