"""The places of keys and values against the standard library's reader: what stands at a place reads as the value that the reader has there."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ohmwright.settings.locating import Place, locate

BLANKS = st.sampled_from(["", " ", "\t", "  "])
COMMENTS = st.sampled_from(["", ' # a comment with [brackets], = and "marks"', "#"])
WORDS = st.text(st.sampled_from("ab#=[]{}.,'é\\\"\t \n"), max_size=8)
BARE = st.text(st.sampled_from("abz09_-"), min_size=1, max_size=5)


def unescaped(raw: str) -> str:
    return str(tomllib.loads(f"x = {raw}")["x"])


def _basic(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n").replace("\t", "\\t") + '"'


@st.composite
def strings(draw: st.DrawFn) -> str:
    """A text in one of the four ways of writing one."""
    text = draw(WORDS)
    way = draw(st.integers(0, 3))
    if way == 1 and "'" not in text and "\n" not in text:
        return f"'{text}'"
    if way == 2:
        return (
            '"""'
            + draw(st.sampled_from(["", "\n", "\\\n  "]))
            + text.replace("\\", "\\\\").replace('"""', '""\\"').rstrip('"')
            + '"""'
        )
    if way == 3 and "'" not in text:
        return f"'''{text}'''"
    return _basic(text)


@st.composite
def keys(draw: st.DrawFn) -> str:
    """One key: bare, or between either sort of marks."""
    name = draw(BARE)
    return draw(st.sampled_from([name, f'"{name}"', f"'{name}'", f'"{name}.\\u00e9 #"', f"'{name}\"='"]))


@st.composite
def values(draw: st.DrawFn, depth: int = 2) -> str:
    """A value of any kind, with layout."""
    simple = st.one_of(
        strings(),
        st.sampled_from(
            ["true", "false", "12", "-1.5e3", "0x1F", "1979-05-27T07:32:00Z", "1979-05-27 07:32:00", "07:32:00", "inf"]
        ),
    )
    if depth == 0:
        return draw(simple)
    way = draw(st.integers(0, 3))
    if way == 1:
        items = draw(st.lists(values(depth=depth - 1), max_size=3))
        line = draw(st.sampled_from(["", "\n", " # in a list ]\n", "\n\n  "]))
        end = draw(st.sampled_from(["", ","])) if items else ""
        return f"[{line}" + f"{draw(BLANKS)},{line}".join(items) + f"{end}{line}]"
    if way == 2:
        names = draw(st.lists(keys(), max_size=3, unique_by=lambda raw: unescaped(raw) if raw[0] in "\"'" else raw))
        pairs = [f"{name}{draw(BLANKS)}={draw(BLANKS)}{draw(values(depth=depth - 1))}" for name in names]
        return "{" + draw(BLANKS) + ", ".join(pairs) + draw(BLANKS) + "}"
    return draw(simple)


@st.composite
def documents(draw: st.DrawFn) -> str:
    """Some lines of TOML; few are in error, and those are passed over by the test."""
    lines: list[str] = []
    for number in range(draw(st.integers(0, 6))):
        way = draw(st.integers(0, 5))
        name = draw(keys())
        if way == 0:
            lines.append(f"[{draw(BLANKS)}t{number}{draw(BLANKS)}.{draw(BLANKS)}{name}]{draw(COMMENTS)}")
        elif way == 1:
            lines.append(f"[[{draw(BLANKS)}rows{draw(BLANKS)}]]{draw(COMMENTS)}")
        elif way == 2:
            lines.append(f"[rows.{name}]")
        elif way == 3:
            lines.append(f"{draw(BLANKS)}d{number}{draw(BLANKS)}.{draw(BLANKS)}{name} = {draw(values())}{draw(COMMENTS)}")
        else:
            lines.append(f"{draw(BLANKS)}{name}{draw(BLANKS)}={draw(BLANKS)}{draw(values())}{draw(COMMENTS)}")
        lines.extend([""] * draw(st.integers(0, 1)))
    return "\n".join(lines) + draw(st.sampled_from(["", "\n"]))


def leaves(value: Any, path: tuple[str | int, ...] = ()) -> list[tuple[tuple[str | int, ...], Any]]:
    found = [(path, value)] if path else []
    if isinstance(value, dict):
        found += [item for key, inside in value.items() for item in leaves(inside, (*path, key))]
    elif isinstance(value, list):
        found += [item for number, inside in enumerate(value) for item in leaves(inside, (*path, number))]
    return found


def hold(text: str, document: dict[str, Any]) -> int:
    """Hold every place against the reader; return how many values were compared."""
    places = locate(text, unescaped)
    compared = 0
    for path, value in leaves(document):
        place = places[path]
        start, end = place.value
        written = text[start:end]
        if isinstance(value, dict | list) and (
            written[:1] == "[" and place.key == place.value and not isinstance(path[-1], int)
        ):
            continue  # the header of a table
        if isinstance(value, dict) and (written[:1] != "{" or tomllib.loads(f"x = {written}")["x"] != value):
            continue  # a table made by a header or by points in keys
        assert repr(tomllib.loads(f"x = {written}")["x"]) == repr(value), path
        key = text[place.key[0] : place.key[1]]
        if isinstance(path[-1], str):
            assert (unescaped(key) if key[:1] in "\"'" else key) == path[-1]
        compared += 1
    assert {path for path, _ in leaves(document)} == set(places)
    return compared


@settings(max_examples=400, deadline=None)
@given(documents())
def test_places_agree_with_the_standard_reader(text: str) -> None:
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    hold(text, document)


# The examples of the TOML specification, version 1.0.0 (toml.io, read): comments, keys, strings, arrays, tables, inline tables, arrays of tables.
SPECIFICATION = '''\
# This is a full-line comment
key = "value"  # This is a comment at the end of a line
another = "# This is not a comment"
bare-key = "value"
1234 = "value"
"127.0.0.1" = "value"
'quoted "value"' = "value"
physical.color = "orange"
site."google.com" = true
3.14159 = "pi"
str1 = """
Roses are red
Violets are blue"""
str4 = """Here are two quotation marks: "". Simple enough."""
str6 = """Here are fifteen quotation marks: ""\\"""\\"""\\"""\\"""\\"."""
str7 = """"This," she said, "is just a pointless statement.""""
winpath  = 'C:\\Users\\nodejs\\templates'
quot15 = \'\'\'Here are fifteen quotation marks: """""""""""""""\'\'\'
str = \'\'\'\'That,' she said, 'is still pointless.\'\'\'\'
integers = [ 1, 2, 3 ]
nested_mixed_array = [ [ 1, 2 ], ["a", "b", "c"] ]
integers3 = [
  1,
  2, # this is ok
]
name = { first = "Tom", last = "Preston-Werner" }
animal = { type.name = "pug" }

[dog."tater.man"]
type.name = "pug"

[ j . "k" . 'l' ]  # same as [j."k".'l']

[[products]]
name = "Hammer"
sku = 738594937

[[products]]  # empty table within the array

[[products]]
name = "Nail"

[[fruits]]
name = "apple"

[fruits.physical]  # subtable
color = "red"

[[fruits.varieties]]  # nested array of tables
name = "red delicious"

[[fruits.varieties]]
name = "granny smith"

[[fruits]]
name = "banana"

[[fruits.varieties]]
name = "plantain"
'''


def test_examples_of_the_specification() -> None:
    assert hold(SPECIFICATION, tomllib.loads(SPECIFICATION)) > 45


def test_generated_documents_are_mostly_read_and_hold_every_kind() -> None:
    """The law above would say little if the generator made only wrong or empty documents."""
    seen = {"read": 0, "compared": 0}

    @settings(max_examples=150, deadline=None, database=None)
    @given(documents())
    def look(text: str) -> None:
        try:
            document = tomllib.loads(text)
        except tomllib.TOMLDecodeError:
            return
        seen["read"] += 1
        seen["compared"] += hold(text, document)

    look()
    assert seen["read"] > 60
    assert seen["compared"] > 100


@pytest.mark.parametrize(
    ("text", "path", "place"),
    [
        ("bar = 1", ("bar",), Place((0, 3), (6, 7))),
        ("\n a.b = 'x' # y", ("a", "b"), Place((4, 5), (8, 11))),
        ("[[left-out]]\npath = 'x'", ("left-out", 0, "path"), Place((13, 17), (20, 23))),
        ("[[left-out]]\npath = 'x'", ("left-out", 0), Place((0, 12), (0, 12))),
    ],
)
def test_place(text: str, path: tuple[str | int, ...], place: Place) -> None:
    assert locate(text, unescaped)[path] == place
