"""The three bases: what their documents print, what is borrowed, where they differ; and a fourth one in a folder."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from ohmwright.cli import main
from ohmwright.tables import TableError, load
from ohmwright_rules import basis as bases
from ohmwright_rules.ampacity import Ampacity, Laying, ampacity
from ohmwright_rules.basis import BASES, Basis, Number, UnknownBasisError, get, load_basis, names
from ohmwright_rules.fusing import FuseLimit, fuse_limit

ALL = names()


def test_there_are_three_and_an_unknown_one_names_them() -> None:
    assert ALL == ("iec", "us-premises", "us-small-craft")
    with pytest.raises(UnknownBasisError, match=r"no basis 'boat'; known are iec, us-premises, us-small-craft"):
        get("boat")


# What the documents print. 33 CFR 183.425, 183.455 (read); ABYC E-11 as quoted, NEC and IEC (secondary).
PRINTED = [
    ("us-small-craft", "continuous", 1.0, "33 CFR 183.425", "read"),
    ("us-small-craft", "fuse_distance", 0.178, "33 CFR 183.455", "read"),  # (b): 7 in
    ("us-small-craft", "fuse_distance_enclosed", 1.016, "33 CFR 183.455", "read"),  # (b): 40 in
    ("us-small-craft", "fuse_distance_battery", 1.829, "ABYC E-11", "secondary"),  # 72 in
    ("us-small-craft", "drop_vital", 0.03, "ABYC E-11", "secondary"),
    ("us-small-craft", "drop_other", 0.10, "ABYC E-11", "secondary"),
    ("us-small-craft", "sheath_exit", 0.762, "33 CFR 183.425", "read"),  # (d): 30 in
    ("us-small-craft", "smallest_single", 1.3087, "33 CFR 183.425", "read"),  # (f): 16 AWG
    ("us-small-craft", "smallest_sheathed", 0.8230, "33 CFR 183.425", "read"),  # (d): 18 AWG
    ("us-premises", "continuous", 1.25, "NFPA 70 (NEC)", "secondary"),
    ("us-premises", "array_current", 1.25, "NFPA 70 (NEC)", "secondary"),
    ("us-premises", "array_conductor", 1.5625, "NFPA 70 (NEC)", "secondary"),
    ("us-premises", "drop_vital", 0.03, "NFPA 70 (NEC)", "secondary"),
    ("us-premises", "drop_other", 0.05, "NFPA 70 (NEC)", "secondary"),
    ("us-premises", "terminal", 60.0, "NFPA 70 (NEC)", "secondary"),
    ("iec", "array_current", 1.25, "IEC 62548-1", "from-memory"),
    ("iec", "string_fuse_least", 1.5, "IEC 62548", "secondary"),
    ("iec", "string_fuse_most", 2.4, "IEC 62548", "secondary"),
]


@pytest.mark.parametrize(("name", "field", "value", "document", "status"), PRINTED)
def test_numbers_are_those_of_their_documents(name: str, field: str, value: float, document: str, status: str) -> None:
    number = getattr(get(name), field)
    assert isinstance(number, Number)
    assert number.value == value
    assert number.in_basis
    assert (number.reference.document, number.reference.status) == (document, status)


@pytest.mark.parametrize("name", ALL)
def test_every_number_has_a_unit_and_a_reference(name: str) -> None:
    basis = get(name)
    numbers = dict(basis.numbers())
    assert len(numbers) >= 24
    for field, number in numbers.items():
        assert number.unit in {"1", "A", "V", "m", "mm2", "degC"}, field
        assert number.reference.document, field
        assert number.in_basis or number.source.endswith("(not in this basis)"), field


def test_distances_are_borrowed_outside_small_craft() -> None:
    for field in ("fuse_distance", "fuse_distance_enclosed", "fuse_distance_battery"):
        assert [getattr(get(name), field).in_basis for name in ALL] == [False, False, True]
        assert len({getattr(get(name), field).value for name in ALL}) == 1


def test_inches_of_the_documents_are_the_metres_of_the_basis() -> None:
    basis = get("us-small-craft")
    for number in (basis.fuse_distance, basis.fuse_distance_enclosed, basis.fuse_distance_battery, basis.sheath_exit):
        inches = float(number.words.removesuffix(" in"))
        assert inches * 0.0254 <= number.value < inches * 0.0254 + 0.0003, number.words


@pytest.mark.parametrize("name", ALL)
def test_ratings_cover_their_temperatures_in_order(name: str) -> None:
    basis = get(name)
    temperatures = {rating.insulation for rating in basis.ratings if not rating.use}
    expected = {"us-small-craft": {60, 75, 80, 90, 105, 125, 200}, "us-premises": {60, 75, 90}, "iec": {60, 70, 90}}
    assert temperatures == expected[name]
    terminals = {rating.insulation for rating in basis.terminals}
    # readings of D2: 60/75/80/90/105, 60/75/90, and PVC 70 or XLPE 90 with 0.866 of PVC for 60.
    assert terminals == {"us-small-craft": {60, 75, 80, 90, 105}, "us-premises": {60, 75, 90}, "iec": {60, 70, 90}}[name]


def _wire(**given: object) -> Laying:
    return Laying("12 AWG", 3.309e-6, **{"ambient": 30.0, "insulation": 90.0, "in_free_air": True, **given})  # type: ignore[arg-type]


def _limit(name: str) -> float:
    rated = ampacity(get(name), _wire())
    assert isinstance(rated, Ampacity)
    limit = fuse_limit(get(name), rated, 14.6, family="gG")
    assert isinstance(limit, FuseLimit)
    return limit.value


def test_one_wire_on_three_bases_and_why_they_differ() -> None:
    """12 AWG, 90 degC, free air, 30 degC: Table 5 says 40 A and allows 150 %; NEC 310.17 says 40 A, yet 240.4(D) 20 A;
    the metric table takes 2.5 mm2 in free air, 36 A, times 0.906 for gG fuses."""
    rated = {name: ampacity(get(name), _wire()) for name in ALL}
    assert {name: rating.value for name, rating in rated.items() if isinstance(rating, Ampacity)} == {
        "iec": 36.0,
        "us-premises": 40.0,
        "us-small-craft": 40.0,
    }
    assert _limit("us-small-craft") == 60.0
    assert _limit("us-premises") == 20.0
    assert _limit("iec") == pytest.approx(1.45 * 36 / 1.6)


def _fourth(folder: Path) -> Basis:
    """Write a fourth basis, with a table of its own beside it, into a folder of bases."""
    text = (BASES / "us-small-craft.toml").read_text(encoding="utf-8")
    text = text.replace('"cfr33_183_table5"', '"invented_ampacity"').replace("value = 0.178", "value = 0.3")
    (folder / "harbour.toml").write_text(text, encoding="utf-8")
    table = (bases.TABLES / "cfr33_183_table5.csv").read_text(encoding="utf-8")
    (folder / "invented_ampacity.csv").write_text(table.replace("12,25,25,35,40,45,50,55", "12,21,22,23,24,26,27,28"))
    shutil.copy(bases.TABLES / "cfr33_183_table5.toml", folder / "invented_ampacity.toml")
    return load_basis(folder / "harbour.toml")


def test_a_fourth_basis_touches_its_folder_only(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    basis = _fourth(tmp_path)
    assert basis.name == "harbour"
    assert basis.fuse_distance.value == 0.3
    rated = ampacity(basis, _wire())
    assert isinstance(rated, Ampacity)
    assert rated.value == 24.0
    monkeypatch.setattr(bases, "BASES", tmp_path)
    assert names() == ("harbour",)
    assert get("harbour") is basis


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('table = "nec_400_5A1"', 'table = "nec_400_5A9"', "nec_400_5A9.csv"),
        ('any = "A_60C"', 'any = "A_61C"', "no column 'A_61C'"),
        ('reference = "cfr_fuse_low"', 'reference = "cfr_fuse_lowest"', "'cfr_fuse_lowest'"),
        ('title = "small craft, United States"', "", "'title'"),
        ('value = 0.178, unit = "m"', 'value = "seven", unit = "m"', "seven"),
        ("uprates = false", "uprates = no", "cannot be read"),
        ("fuse_distance =", "fuse_distanse =", "fuse_distan"),
    ],
)
def test_a_malformed_basis_stops_the_run_and_names_the_file(tmp_path: Path, old: str, new: str, words: str) -> None:
    text = (BASES / "us-small-craft.toml").read_text(encoding="utf-8")
    assert old in text
    (tmp_path / "broken.toml").write_text(text.replace(old, new), encoding="utf-8")
    with pytest.raises(TableError) as caught:
        load_basis(tmp_path / "broken.toml")
    assert words in str(caught.value)


@pytest.mark.parametrize("name", ALL)
def test_the_colours_of_a_basis_stand_in_the_table(name: str) -> None:
    table = load(bases.TABLES, "conductor_colours")
    rows = [key for key in table.keys if table.text(key, "family") == get(name).colours]
    assert len(rows) >= 7
    assert all(table.text(key, "colours") for key in rows)


BENCH = """rig "Bench", revision 1
basis us-small-craft
system 12 V
site { ambient 0 degC to 30 degC }
all wires { copper; stranded; 90 degC insulation; in free air; 12 AWG; measured 16 mohm }
battery house { LFP, 4 cells, 100 Ah; rest 12 V at 0 %, 12 V at 100 %; internal resistance 0.001 mohm }
fuse main { 40 A gG; line on house.plus }
load heater { 30 A; for 8 h/day; works on 9 V to 15 V }
wire out from main.load to heater.plus
wire back from heater.minus to house.minus
"""


def test_one_build_inspected_on_three_bases(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """`--basis` overrides what the build says; the fuse and the drop are judged otherwise, the current holds on all three.

    12 AWG, 90 degC, free air: small craft 40 A (33 CFR Table 5) and a fuse of 1.5 times that; premises 40 A (NEC 310.17), of which 1.25 x 30 A take 37.5 A, and
    at most 20 A before 12 AWG (240.4(D)); iec 36 A of 2.5 mm2, and 1.45 x 36 / 1.6 = 32.6 A of a gG fuse. The drop, 30 A x 32 mohm = 0.96 V, is 8 % of 12 V: within
    the 10 % of ABYC E-11, over the 5 % that the NEC advises and that IEC 60364-5-52 Table G.52.1 prints.
    """
    (tmp_path / "box.rig").write_text(BENCH, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    told: dict[str, dict[str, tuple[str, float]]] = {}
    for name in ("us-small-craft", "us-premises", "iec"):
        main(["inspect", "box.rig", "--basis", name, "--cache", "none", "--output", "json"])
        (build,) = json.loads(capsys.readouterr().out)["builds"]
        assert build["basis"] == name
        verdicts = [("found", item) for item in build["findings"]] + [("holds", item) for item in build["passes"]]
        told[name] = {
            item["rule"]: (verdict, round(item["limit"]["value"], 3))
            for verdict, item in verdicts
            if (item["rule"], item["subject"][0])
            in {("oversized-fuse", "out"), ("undersized-wire", "out"), ("voltage-drop", "heater")}
            and item["grade"] != "below-minimum"
        }
    assert told == {
        "us-small-craft": {
            "undersized-wire": ("holds", 40.0),
            "oversized-fuse": ("holds", 60.0),
            "voltage-drop": ("holds", 0.1),
        },
        "us-premises": {"undersized-wire": ("holds", 40.0), "oversized-fuse": ("found", 20.0), "voltage-drop": ("found", 0.05)},
        "iec": {"undersized-wire": ("holds", 36.0), "oversized-fuse": ("found", 32.625), "voltage-drop": ("found", 0.05)},
    }
