"""The loader of published tables: look-ups, bands, interpolation, and what a malformed file says."""

from __future__ import annotations

import marshal
import tomllib
from pathlib import Path

import pytest
from ohmwright import tables
from ohmwright.references import Reference, common_practice, is_remembered, weakest
from ohmwright.tables import READ_BEFORE, entries_of

PASSPORT = """
title = "An invented table"
document = "Document A"
edition = "first"
section = "Table 1"
status = "secondary"
urls = ["https://example.org/a"]
conditions = "none"
interpolation = {interpolation}
cross_check = ""
second_way = ""

[units]
size = "name"
amps = "A"
from_C = "degC"
to_C = "degC"
note = "words"
status = "words"

[statuses]
amps = "computed"
"""
ROWS = """size,amps,from_C,to_C,note,status
1,10,,20,plain,
2,20,21,30,"with, a comma",from-memory
3,,31,40,,
4,40,41,50,last,read
"""


@pytest.fixture
def make(tmp_path: Path):  # type: ignore[no-untyped-def]
    """Write a table with its passport and load it."""

    def build(rows: str = ROWS, passport: str | None = PASSPORT, interpolation: bool = True) -> tables.Table:
        folder = tmp_path / str(len(list(tmp_path.iterdir())))
        folder.mkdir()
        (folder / "invented.csv").write_text(rows, encoding="utf-8")
        if passport is not None:
            text = passport.replace("{interpolation}", str(interpolation).lower())
            (folder / "invented.toml").write_text(text, encoding="utf-8")
        return tables.load(folder, "invented")

    return build


def test_a_cell_knows_its_place_unit_and_status(make) -> None:  # type: ignore[no-untyped-def]
    cell = make().cell("2", "amps")
    assert (cell.value, cell.unit, cell.table, cell.row, cell.column) == (20.0, "A", "invented", "2", "amps")
    assert cell.status == "from-memory"
    assert cell.reference == Reference("Document A", "first", "Table 1", "from-memory")
    assert cell.place == "Document A Table 1, row 2"


def test_status_goes_from_row_to_column_to_passport(make) -> None:  # type: ignore[no-untyped-def]
    table = make()
    assert [table.status(key, "amps") for key in table.keys] == ["computed", "from-memory", "computed", "read"]
    assert table.status("1", "to_C") == "secondary"


def test_a_column_of_its_own_names_the_status_of_one_cell(make) -> None:  # type: ignore[no-untyped-def]
    table = make("size,amps,amps_status,to_C\n1,10,from-memory,5\n", PASSPORT.replace('status = "words"', ""))
    assert table.status("1", "amps") == "from-memory"
    assert table.status("1", "to_C") == "secondary"


def test_blank_and_absent_cells_are_none(make) -> None:  # type: ignore[no-untyped-def]
    table = make()
    assert table.cell("3", "amps") is None
    assert table.cell("9", "amps") is None
    assert table.text("2", "note") == "with, a comma"
    assert [cell.row for cell in table.cells("amps")] == ["1", "2", "4"]
    assert table.where("amps", note="last").value == 40.0
    assert table.where("amps", note="none") is None


@pytest.mark.parametrize(
    ("value", "row"),
    [(-40, "1"), (20, "1"), (20.5, "2"), (21, "2"), (30, "2"), (30.0001, None), (40, None), (50, "4"), (50.1, None)],
)
def test_bands_belong_upwards_and_a_blank_is_none(make, value: float, row: str | None) -> None:  # type: ignore[no-untyped-def]
    cell = make().band(value, "amps", "from_C", "to_C")
    assert (cell.row if cell else None) == row


def test_below_the_first_band_is_none(make) -> None:  # type: ignore[no-untyped-def]
    table = make("size,amps,from_C,to_C\na,1.2,21,30\nb,1.1,31,40\n")
    assert table.band(20.9, "amps", "from_C", "to_C") is None
    assert table.band(21, "amps", "from_C", "to_C").row == "a"


def test_bands_by_their_lower_end_only(make) -> None:  # type: ignore[no-untyped-def]
    table = make("size,amps,from_C\na,1.2,-25\nb,1.1,-10\nc,1.0,0\n")
    found = [table.band(value, "amps", low="from_C") for value in (-30, -25, -24, -10, -5.5, 0, 12)]
    assert [cell.row if cell else None for cell in found] == [None, "a", "a", "b", "b", "c", "c"]


def test_interpolation_only_where_the_passport_allows_it(make) -> None:  # type: ignore[no-untyped-def]
    assert make().at(25, "to_C", "amps").value == pytest.approx(15.0)
    assert make(interpolation=False).at(25, "to_C", "amps") is None
    assert make(interpolation=False).at(30, "to_C", "amps").value == 20.0


def test_outside_the_table_is_none_even_with_interpolation(make) -> None:  # type: ignore[no-untyped-def]
    table = make()
    assert table.at(19.9, "to_C", "amps") is None
    assert table.at(50.1, "to_C", "amps") is None
    assert table.at(40, "to_C", "amps").value == pytest.approx(30.0), "between the rows around a blank"


def test_the_passport_is_read_only_when_asked_for(make) -> None:  # type: ignore[no-untyped-def]
    table = make(passport=None)
    assert table.cell("1", "amps").value == 10.0
    with pytest.raises(tables.TableError, match=r"invented\.toml"):
        table.passport  # noqa: B018


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ("", "no rows"),
        ("size,amps\n", "no rows"),
        ("size,amps\n1,10\n2\n", "line 3 has 1 fields"),
        ("size,size\n1,10\n", "two have the same"),
        ("size,\n1,10\n", "no name"),
        ("size,amps\n,10\n", "a row has no size"),
        ("size,amps\n1,10\n1,20\n", "two rows have the same"),
        ("size,amps\n1,10\n2,8O\n", "mixes words and figures: '8O'"),
        ("size,amps\n1,10\n2,nan\n", "mixes words and figures"),
        ("size,amps\n1,10\n2,1e999\n", "mixes words and figures"),
        ('size,amps\n1,"10\n', "cannot be read"),
    ],
)
def test_a_malformed_table_stops_the_run_and_names_the_file(make, rows: str, words: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(tables.TableError) as caught:
        make(rows)
    assert str(caught.value).startswith("invented.csv: ")
    assert words in str(caught.value)


def test_a_missing_table_and_bytes_that_are_no_text(tmp_path: Path) -> None:
    with pytest.raises(tables.TableError, match=r"absent\.csv"):
        tables.load(tmp_path, "absent")
    (tmp_path / "odd.csv").write_bytes(b"size,amps\n\xff,1\n")
    with pytest.raises(tables.TableError, match=r"odd\.csv"):
        tables.load(tmp_path, "odd")


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('section = "Table 1"', "", "no entry 'section'"),
        ('status = "secondary"', 'status = "hearsay"', "'hearsay' is no status"),
        ("interpolation = {interpolation}", "interpolation = perhaps", "cannot be read"),
        ('amps = "computed"', 'amps = "guessed"', "'guessed' is no status"),
    ],
)
def test_a_malformed_passport_names_the_file(make, old: str, new: str, words: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(tables.TableError) as caught:
        make(passport=PASSPORT.replace(old, new)).passport  # noqa: B018
    assert str(caught.value).startswith("invented.toml: ")
    assert words in str(caught.value)


def test_asking_for_an_unknown_column_is_an_error_of_the_caller(make) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(tables.TableError, match="no column 'volts'"):
        make().cell("1", "volts")
    with pytest.raises(tables.TableError, match="words, not figures"):
        make().cell("1", "note")


def test_references_print_and_rank() -> None:
    memory = Reference("ISO 0000", "2012", "annex", "from-memory")
    read = Reference("33 CFR 183.425", "", "Table 5", "read")
    assert str(read) == "33 CFR 183.425, Table 5"
    assert weakest([read, common_practice(), memory]) is memory
    assert weakest([]) is None
    assert is_remembered(memory)
    assert not is_remembered(common_practice("two makers"))


@pytest.mark.parametrize(
    "folder", ["linter/ohmwright/constants", "rules/ohmwright_rules/tables", "rules/ohmwright_rules/bases"]
)
def test_entries_read_beforehand_are_those_of_the_files(folder: str) -> None:
    place = Path(__file__).resolve().parents[2] / folder
    ready = marshal.loads((place / READ_BEFORE).read_bytes())
    read = {path.name: tomllib.loads(path.read_text(encoding="utf-8")) for path in place.glob("*.toml")}
    assert ready == read, "run: python tools/make_tables.py"


@pytest.mark.parametrize("broken", [b"", b"junk", b"\x00\xff"])
def test_entries_that_cannot_be_used_are_read_from_the_file(tmp_path: Path, broken: bytes) -> None:
    (tmp_path / READ_BEFORE).write_bytes(broken)
    (tmp_path / "one.toml").write_text('title = "one"\n', encoding="utf-8")
    assert entries_of(tmp_path / "one.toml") == {"title": "one"}
