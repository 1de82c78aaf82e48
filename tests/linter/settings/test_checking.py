"""Each key of the settings: right, of the wrong kind, with a wrong value; unknown keys with the nearest ones; own code against the shipped schema."""

from __future__ import annotations

import json
from importlib.resources import files
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from ohmwright.settings.checking import KEYS, check, path_fault
from ohmwright.settings.model import Settings
from ohmwright.settings.reading import MOST_BYTES, read

SCHEMA = json.loads((files("ohmwright") / "schemas" / "settings.json").read_text(encoding="utf-8"))
VALIDATOR = Draft202012Validator(SCHEMA)

LEFT_OUT = '[[left-out]]\npath = "drafts"\nbecause = "sketches"\n'
GRADES = '[[grades]]\ngrade = "a.b"\nseverity = "note"\nbecause = "so"\n'


def faults(text: str) -> list[tuple[int, int, str]]:
    return [
        (fault.span.line, fault.span.column, f"{fault.message} {fault.remedy}") for fault in read(text, "ohmwright.toml").faults
    ]


def settings_of(text: str) -> Settings:
    found = read(text, "ohmwright.toml")
    assert found.faults == ()
    assert found.settings is not None
    return found.settings


def test_every_key_is_read() -> None:
    found = settings_of(
        'basis = "iec"\nbar = "warning"\nrequire-checked = true\nstates = "reached"\nsite = "ambient 5 degC"\nbuilds = ["a", "b/c.rig"]\n'
        f'baseline = "known.json"\n{LEFT_OUT}[[left-out]]\nfamily = "labels"\nbecause = "printed\\n elsewhere"\n{GRADES}'
        '[output]\nformat = "json"\nworking = true\nassumed = false\n'
    )
    assert (found.basis, found.bar, found.require_checked, found.states, found.site) == (
        "iec",
        "warning",
        True,
        "reached",
        "ambient 5 degC",
    )
    assert (found.builds, found.baseline, found.format, found.working, found.assumed) == (
        ("a", "b/c.rig"),
        "known.json",
        "json",
        True,
        False,
    )
    assert [(item.what, item.name, item.because, item.span.line) for item in found.left_out] == [
        ("path", "drafts", "sketches", 9), ("family", "labels", "printed elsewhere", 12),
    ]  # fmt: skip
    assert [(item.grade, item.severity, item.because, item.span.line) for item in found.grades] == [("a.b", "note", "so", 15)]
    assert (found.spans[("output", "format")].line, found.spans[("output", "format")].column) == (19, 10)


def test_nothing_said_is_not_false() -> None:
    found = settings_of("")
    assert (found.require_checked, found.working, found.assumed, found.bar, found.builds) == (None, None, None, "", ())


@pytest.mark.parametrize(
    ("text", "line", "column", "words"),
    [
        ("basis = 3", 1, 9, "'basis' takes a text between quotation marks; this is a number."),
        ('basis = " "', 1, 9, "'basis' is empty."),
        ("bar = true", 1, 7, "'bar' takes a text between quotation marks; this is true or false. Values: error, warning, note."),
        ('bar = "warnign"', 1, 7, "'bar' cannot be 'warnign'. Values near this one: warning."),
        ('bar = "fatal"', 1, 7, "'bar' cannot be 'fatal'. Values: error, warning, note."),
        ('require-checked = "true"', 1, 19, "'require-checked' takes true or false, without quotation marks; this is a text. Write: require-checked = true"),
        ("require-checked = 1", 1, 19, "this is a number."),
        ('states = "all"', 1, 10, "'states' cannot be 'all'. Values: declared, reached."),
        ("site = []", 1, 8, "'site' takes a text between quotation marks; this is a list."),
        ('builds = "cabin"', 1, 10, "'builds' takes a list of paths, such as"),
        ("builds = []", 1, 10, "'builds' names nothing."),
        ('builds = ["a",\n  3]', 2, 3, "Entry 2 of 'builds' takes a path between quotation marks; this is a number."),
        ('builds = ["../a"]', 1, 11, "'../a' leads out of the folder."),
        ('builds = ["/a"]', 1, 11, "'/a' is no path from a folder."),
        ('builds = ["C:/a"]', 1, 11, "'C:/a' is no path from a folder."),
        ("builds = ['a\\b']", 1, 11, "is written with a backslash."),
        ("baseline = 1979-05-27", 1, 12, "'baseline' takes a path between quotation marks; this is a date or a time."),
        ('baseline = "a/../../b"', 1, 12, "leads out of the folder."),
        ('left-out = "drafts"', 1, 12, "'left-out' is a row of entries; this is a text. Write: [[left-out]], then path"),
        ('[left-out]\npath = "drafts"', 1, 1, "'left-out' is a row of entries; this is a table."),
        ('[[left-out]]\npath = "drafts"', 1, 1, "Entry 1 of 'left-out' does not say 'because'. Add: because = "),
        ('[[left-out]]\npath = "drafts"\nbecause = ""', 3, 11, "'because' of entry 1 of 'left-out' is empty."),
        ('[[left-out]]\nbecause = "x"', 1, 1, "Entry 1 of 'left-out' says neither 'path' nor 'family'."),
        ('[[left-out]]\npath = "a"\nfamily = "b"\nbecause = "x"', 1, 1, "says both 'path' and 'family'. Each entry has either 'path' or 'family'."),
        ('[[left-out]]\npath = "a"\nbecuase = "x"\nbecause = "y"', 3, 1, "There is no key 'becuase' in entry 1 of 'left-out'. Keys near this one: because."),
        ('[[grades]]\ngrade = "a.b"\nseverity = "note"', 1, 1, "Entry 1 of 'grades' does not say 'because'."),
        ('[[grades]]\ngrade = "a.b"\nseverity = "of"\nbecause = "x"', 3, 12, "cannot be 'of'. Values near this one: off."),
        ('[[grades]]\nseverity = "off"\nbecause = "x"', 1, 1, "Entry 1 of 'grades' does not say 'grade'."),
        ('output = "json"', 1, 10, "'output' takes a table of its own; this is a text."),
        ("[output]\nformat = 1", 2, 10, "'format' of 'output' takes a text between quotation marks; this is a number."),
        ("[output]\nworking = 0", 2, 11, "'working' of 'output' takes true or false"),
        ("[output]\nasumed = true", 2, 1, "There is no key 'asumed' in 'output'. Keys near this one: assumed."),
        ('[output]\nbar = "note"', 2, 1, "There is no key 'bar' in 'output'. 'bar' stands before the first table."),
        ('basys = "iec"', 1, 1, "There is no setting 'basys'. Settings near this one: basis."),
        ('zzz = "iec"', 1, 1, "There is no setting 'zzz'. Settings: basis, bar, require-checked, states, site, builds, baseline, cache, left-out, grades, accepted, output."),
        ('severity = "note"', 1, 1, "There is no setting 'severity'. It belongs into 'grades'."),
        ('\n\n  "bä.r" = 1', 3, 3, "There is no setting 'bä.r'."),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_at_its_place(text: str, line: int, column: int, words: str) -> None:
    ((found_line, found_column, message),) = faults(text)
    assert (found_line, found_column) == (line, column)
    assert words in message


def test_everything_wrong_is_told_in_one_run_in_the_order_of_the_file() -> None:
    told = faults('[output]\nformat = 1\n[[grades]]\n[extra]\n[[left-out]]\npath = "/"\nbecause = "x"\n')
    assert [line for line, _, _ in told] == [2, 3, 3, 3, 4, 6]


def test_hundreds_of_mistakes_are_counted() -> None:
    told = faults("\n".join(f"wrong{number} = 1" for number in range(300)))
    assert len(told) == 51
    assert "250 more settings are wrong." in told[-1][2]


@pytest.mark.parametrize(
    ("text", "line", "column", "words"),
    [
        ("bar", 1, 4, "This is no TOML: expected '=' after a key in a key/value pair."),
        ('bar = "note"\nbar = "error"', 2, 14, "This is no TOML: a key is given twice."),
        ("bar = note", 1, 7, "This is no TOML: invalid value."),
        ("x = " + "9" * 5000, 1, 5005, "a number is too long to be read."),
        ("x = " + "[" * 5000, 1, 1, "More brackets stand inside each other here than can be read."),
        ("\nx = " + "{a=" * 5000, 2, 1, "More brackets stand inside each other here than can be read."),
        ("\n" + "a." * 5000 + "b = 1", 2, 1, "More than 100 points stand in one key or value here."),
        ("x = '''\nnever ends", 2, 11, "This is no TOML"),
        ("#" * (MOST_BYTES + 1), 1, 1, "at most 0.2 MB of settings are read."),
    ],
)
def test_what_is_no_toml(text: str, line: int, column: int, words: str) -> None:
    ((found_line, found_column, message),) = faults(text)
    assert words in message
    assert (found_line, found_column) == (line, column)


def test_a_comment_may_have_as_many_points_as_it_likes() -> None:
    assert settings_of("# " + "." * 300 + '\nbar = "note"\n').bar == "note"


def test_hundreds_of_points_would_take_the_standard_reader_very_long() -> None:
    """The limit on points is there for a reason: the reader keeps every leading part of a key."""
    import tomllib
    from time import process_time

    def taken(points: int) -> float:
        start = process_time()
        tomllib.loads("a." * points + "b = 1")
        return process_time() - start

    assert min(taken(4000) for _ in range(3)) > 50 * min(taken(100) for _ in range(20))


# the schema ---------------------------------------------------------------------------------------------------------


def test_schema_is_one() -> None:
    Draft202012Validator.check_schema(SCHEMA)


def test_schema_has_the_same_keys() -> None:
    assert list(SCHEMA["properties"]) == list(KEYS)
    for name, key in KEYS.items():
        said = SCHEMA["properties"][name]
        inside = said["items"] if key.kind == "entries" else said
        assert list(inside.get("properties", ())) == list(key.keys), name
        assert tuple(said.get("enum", ())) == key.choices, name
        assert tuple(inside.get("required", ())) == key.needed, name


SCALARS = st.one_of(
    st.booleans(), st.integers(-5, 5), st.just(1.5), st.sampled_from(["", " ", "x", "note", "off", "error", "warning", "declared", "a/b", "../x", "/x", "~", "C:x", "a\\b", "a..b", "a/.."])
)  # fmt: skip
INNER = ["path", "family", "build", "waiver", "because", "grade", "severity", "format", "working", "assumed", "other"]
TABLES = st.dictionaries(st.sampled_from(INNER), SCALARS, max_size=4)
VALUES = st.one_of(SCALARS, st.lists(SCALARS, max_size=3), TABLES, st.lists(TABLES, max_size=3))
RIGHT: dict[str, st.SearchStrategy[Any]] = {
    "left-out": st.lists(st.fixed_dictionaries({"because": st.just("x")}, optional={"path": st.just("a"), "family": st.just("b")}), max_size=2),
    "grades": st.lists(st.fixed_dictionaries({"because": st.just("x"), "grade": st.just("a.b"), "severity": st.sampled_from(["off", "note"])}), max_size=2),
    "accepted": st.lists(st.fixed_dictionaries({"because": st.just("x"), "build": st.just("a"), "waiver": st.just("x")}), max_size=2),
    "builds": st.lists(st.sampled_from(["a", "b/c"]), max_size=2),
    "output": st.fixed_dictionaries({}, optional={"format": st.just("x"), "working": st.booleans()}),
    "require-checked": st.booleans(),
    "basis": st.just("iec"),
    "bar": st.sampled_from(["note", "error"]),
    "states": st.sampled_from(["declared", "reached"]),
    "site": st.just("x"),
    "baseline": st.just("a/b"),
}  # fmt: skip


@st.composite
def documents(draw: st.DrawFn) -> dict[str, Any]:
    names = draw(st.lists(st.sampled_from([*KEYS, "other"]), max_size=4, unique=True))
    mostly_right = draw(st.booleans())
    return {
        name: draw(RIGHT[name] if mostly_right and name in RIGHT else st.one_of(VALUES, RIGHT.get(name, SCALARS)))
        for name in names
    }


@settings(max_examples=1500, deadline=None)
@given(documents())
def test_own_code_and_schema_refuse_the_same(document: dict[str, Any]) -> None:
    assert bool(list(check(document))) == (not VALIDATOR.is_valid(document))


@settings(max_examples=300, deadline=None)
@given(st.text(st.sampled_from("a./\\~:C* é"), min_size=1, max_size=6))
def test_paths_are_refused_by_both(path: str) -> None:
    document = {"baseline": path}
    assert bool(list(check(document))) == (not VALIDATOR.is_valid(document))


def test_path_with_a_character_that_cannot_be_seen() -> None:
    assert path_fault("a\u202eb") == "holds a character that cannot be printed"


def test_both_sides_of_the_law_are_met() -> None:
    """Own code and schema agree on documents that are right as well as on wrong ones."""
    seen = {True: 0, False: 0}

    @settings(max_examples=400, deadline=None, database=None)
    @given(documents())
    def look(document: dict[str, Any]) -> None:
        seen[VALIDATOR.is_valid(document)] += 1

    look()
    assert min(seen.values()) > 30
