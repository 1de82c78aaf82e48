"""Every datum that a check, a promise, a state or a document reads has its place in the lexicon.

`data/declared_data.csv` lists the data, group by group; its third column names the rows of the lexicon that carry each, or says where
else it comes from.
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path

import pytest
from ohmwright_grammar.things import Thing, data_of

sys.path.insert(0, str(Path(__file__).parent))
from lexicon_samples import kinds

TABLE = Path(__file__).with_name("data") / "declared_data.csv"
ELSEWHERE = ("from the circuit", "from the language", "the terminals", "a terminal of")


BEYOND = frozenset(
    {
        "Cable.core_count", "Cover.insulating", "Enclosure.panels", "Fuse.joints", "FuseBlock.way_current", "FuseBlock.ways", "Half.pin_count", "Hole.panel",
        "Inverter.frequency", "Inverter.outlet", "Label.generated_text", "Label.language", "Meter.reads_shunt", "Part.joints",
        "Part.terminals", "Relay.coil_current", "Relay.coil_resistance", "Selector.makes_first", "Sheet.file", "Site.generated_labels", "Step.instruction",
        "Version.retest_needed",
    }
)  # fmt: skip
OF_THE_STRUCTURE = ("state", "rig", "assembly", "waiver")  # their rows carry the structure of a build, not only declared data


def _rows() -> list[tuple[str, str, str]]:
    with TABLE.open(encoding="utf-8", newline="") as stream:
        return [(row["group"], row["datum"], row["fields"]) for row in csv.DictReader(stream)]


ROWS = _rows()
BY_NAME: dict[str, type[Thing]] = {kind.__name__: kind for kind in kinds()}


def test_the_list_is_whole() -> None:
    assert len(ROWS) == 317
    assert len({(group, datum) for group, datum, _ in ROWS}) == len(ROWS)


def test_names_of_classes_are_unique() -> None:
    assert len(BY_NAME) == len(kinds())


@pytest.mark.parametrize(("group", "datum", "fields"), ROWS, ids=[f"{group}, {datum}" for group, datum, _ in ROWS])
def test_the_datum_has_a_row_in_the_lexicon(group: str, datum: str, fields: str) -> None:
    named = [field.strip(";") for field in fields.split() if field[0].isupper() and "." in field]
    assert named or fields.startswith(ELSEWHERE), f"{group}: {datum} has no place"
    for field in named:
        kind, _, name = field.partition(".")
        assert name in data_of(BY_NAME[kind]), f"{kind} declares no {name}"


def test_what_is_no_row_is_there_otherwise() -> None:
    from ohmwright_grammar.kinds.array import Array
    from ohmwright_grammar.kinds.distribution import Diode

    assert "frame" in Array.TERMINALS
    assert Diode.TERMINALS == ("anode", "cathode")


def test_every_row_of_the_lexicon_is_listed_or_known_to_be_more() -> None:
    """A datum that no check reads is there because builders say it; each such one is named here on purpose."""
    listed = {field.strip(";") for _, _, fields in ROWS for field in fields.split()}
    names_listed: dict[str, set[str]] = {}
    for field in listed:
        kind, _, name = field.partition(".")
        names_listed.setdefault(name, set()).add(kind)
    more = {
        f"{kind.__name__}.{name}"
        for kind in kinds()
        for name, datum in data_of(kind).items()
        if datum.owner is kind and name not in names_listed and kind.__module__.rpartition(".")[2] not in OF_THE_STRUCTURE
    }
    assert more == BEYOND, f"not listed: {sorted(more - BEYOND)}; no longer there: {sorted(BEYOND - more)}"
