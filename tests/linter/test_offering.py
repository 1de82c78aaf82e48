"""What the report offers to declare is fitted to the voltage at its subject: no 12 V on a box for 48 V (common practice, no source)."""

from __future__ import annotations

from datetime import date

import pytest
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright.offering import fitted
from ohmwright.study import Study, StudyOptions
from ohmwright.studying import make_study
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader, Resolved, resolve
from ohmwright_rules import PACK

BOX = """rig "Cart", revision 1
SYSTEM
basis us-small-craft
site { ambient 0 degC to 30 degC }
battery house { LFP, CELLS cells, 100 Ah; internal resistance 15 mohm }
fuse main { 100 A; line on house.plus }
mains charger depot { 20 A }
converter step { output 5 V; efficiency 90 % }
load motor 2 A
load phone 1 A
wires 6 AWG, 1 m, copper, 75 degC insulation, in free air {
  a from main.load to motor.plus
  b from motor.minus to house.minus
  c from main.load to depot.plus
  d from depot.minus to house.minus
  e from main.load to step.in_plus
  f from step.in_minus to house.minus
  g from step.out_plus to phone.plus
  h from phone.minus to step.out_minus
}
"""


def box(cells: int, system: str = "") -> str:
    return BOX.replace("CELLS", str(cells)).replace("SYSTEM", system)


def study(text: str) -> Study:
    resolved = resolve("box.rig", Loader(MemoryFiles({"box.rig": text})))
    assert isinstance(resolved, Resolved)
    assert not resolved.problems
    return make_study(resolved.build, StudyOptions())


@pytest.mark.parametrize(
    ("cells", "line", "subject", "offered"),
    [
        (4, "works on ~10.5 V to ~15 V", "motor", "works on 10.5 V to 15 V"),
        (8, "works on ~10.5 V to ~15 V", "motor", "works on 21 V to 30 V"),
        (16, "works on ~10.5 V to ~15 V", "motor", "works on 42 V to 60 V"),
        (16, "works on ~10.5 V to ~15 V", "phone", "works on 4.38 V to 6.25 V"),
        (4, "^32 V dc", "main", "32 V dc"),
        (8, "^32 V dc", "main", "32 V dc"),
        (12, "breaks 5 kA at ^32 V dc", "main", "breaks 5 kA at 58 V dc"),
        (16, "breaks 5 kA at ^32 V dc", "main", "breaks 5 kA at 80 V dc"),
        (16, "absorption ~14.2 V", "depot", "absorption 56.8 V"),
        (16, "LFP, ~4 cells", "nobody", "LFP, 16 cells"),
        (16, "system ~12 V", "phone", "system 48 V"),
        (16, "230 V AC", "phone", "230 V AC"),
    ],
)
def test_offers_go_with_the_voltage(cells: int, line: str, subject: str, offered: str) -> None:
    assert fitted(line, study(box(cells)), subject) == offered


def test_declared_system_voltage_comes_before_the_bank() -> None:
    assert fitted("LFP, ~4 cells", study(box(4, "system 24 V")), "nobody") == "LFP, 8 cells"
    assert fitted("system ~12 V", study('rig "Nothing", revision 1\n'), "nobody") == "system 12 V"


@pytest.mark.parametrize("cells", [4, 16])
def test_no_mark_is_left_in_a_report(cells: int) -> None:
    options = InspectOptions(date(2026, 1, 1))
    (build,) = inspect_files(["box.rig"], Loader(MemoryFiles({"box.rig": box(cells)})), options, (PACK,)).builds
    lines = {item.outcome.declare for item in build.not_checked}
    assert not [line for line in lines if "~" in line or "^" in line]
    assert ("works on 42 V to 60 V" in lines) is (cells == 16)
    assert ("32 V dc" in lines) is (cells == 4)
