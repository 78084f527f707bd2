import re
import tomllib
from datetime import UTC, date, datetime, time

import tomli_w
from hypothesis import given
from hypothesis import strategies as st

from screen_tui.files.reasons import FieldPath
from screen_tui.files.toml import deepest_line, find_places

EVERYTHING = '''\
# a comment with [a.table] = "in it"
title = "a # is no comment, and ] } , = are no marks"   # but this is
literal = 'C:\\path\\'
1234 = "a bare key of digits"
"quoted.key" = 1
'lit key' = 2
"tab\\u0041" = 3
a.b . "c d".e = 4

text = """
[not.a.table]
key = "nor a key"
quotes "" inside, and \\""" escaped
"""""
raw = \'\'\'
x = 1 ''
\'\'\'\'
more_text = \'\'\'[x]\'\'\'
array = [
  1,  # one
  [ 2.5,
    [ "three", ] ],

  { x = 1, y.z = [ "four", """fi
ve""" ], "w" = {} }, 2026-03-02 09:15:00+01:00,
]
empty = []

[ plain . "quoted part" ]
in_plain = true
[[trials]]
test = "one"
splits = [
    1.0,
    2.0,
]
[trials.timer]
kind = "hold"
[[trials.marks]]
at = 1
[[trials.marks]]
at = 2

[[trials]]
test = "two"
[[trials.marks]]
at = 3
[later.child]
x = 1
[later]
y = 2
'''


def line_holding(text: str, piece: str) -> int:
    (found,) = [number for number, line in enumerate(text.splitlines(), 1) if piece in line]
    return found


def test_every_kind_of_key_and_value_is_found_on_its_line() -> None:
    tomllib.loads(EVERYTHING)
    places = find_places(EVERYTHING)
    expected: dict[FieldPath, str] = {
        ("title",): "title =",
        ("literal",): "literal =",
        ("1234",): "1234 =",
        ("quoted.key",): '"quoted.key"',
        ("lit key",): "'lit key'",
        ("tabA",): '"tab',
        ("a", "b", "c d", "e"): '"c d".e',
        ("a", "b"): '"c d".e',
        ("text",): 'text = """',
        ("raw",): "raw = ",
        ("more_text",): "more_text",
        ("array",): "array = [",
        ("array", 0): "1,  # one",
        ("array", 1): "[ 2.5,",
        ("array", 1, 0): "[ 2.5,",
        ("array", 1, 1): '[ "three", ] ],',
        ("array", 1, 1, 0): '[ "three", ] ],',
        ("array", 2): "{ x = 1,",
        ("array", 2, "y", "z", 0): "{ x = 1,",
        ("array", 2, "y", "z", 1): "{ x = 1,",
        ("array", 2, "w"): 've""" ]',
        ("array", 3): "2026-03-02 09:15",
        ("empty",): "empty = []",
        ("plain",): "[ plain .",
        ("plain", "quoted part"): "[ plain .",
        ("plain", "quoted part", "in_plain"): "in_plain",
        ("trials", 0, "test"): 'test = "one"',
        ("trials", 0, "splits", 1): "    2.0,",
        ("trials", 0, "timer"): "[trials.timer]",
        ("trials", 0, "timer", "kind"): 'kind = "hold"',
        ("trials", 0, "marks", 0, "at"): "at = 1",
        ("trials", 0, "marks", 1, "at"): "at = 2",
        ("trials", 1, "test"): 'test = "two"',
        ("trials", 1, "marks", 0, "at"): "at = 3",
        ("later", "child"): "[later.child]",
        ("later",): "[later]",
        ("later", "y"): "y = 2",
    }
    for path, piece in expected.items():
        assert places[path] == line_holding(EVERYTHING, piece), path


def test_every_value_the_parser_sees_has_a_place() -> None:
    places = find_places(EVERYTHING)
    assert set(places) == set(paths_in(tomllib.loads(EVERYTHING)))


def test_windows_line_ends_count_once() -> None:
    text = 'a = 1\r\nb = """\r\nx\r\n"""\r\nc = 3\r\n'
    assert find_places(text) == {("a",): 1, ("b",): 2, ("c",): 5}


def test_a_missing_key_leads_to_the_table_it_should_stand_in() -> None:
    places = find_places("[[trials]]\nx = 1\n[[trials]]\nx = 2\n")
    assert deepest_line(places, ("trials", 1, "value", "deeper")) == 3
    assert deepest_line(places, ("trials", 1, "x")) == 4
    assert deepest_line(places, ("nothing", 0)) is None
    assert deepest_line(places, ()) is None


KEYS = st.text(st.characters(exclude_categories=["Cs"]), max_size=8)
SCALARS = (
    st.booleans()
    | st.integers(-(2**63), 2**63 - 1)
    | st.floats(allow_nan=False)
    | st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
    | st.dates(date(1900, 1, 1))
    | st.times().map(lambda t: time(t.hour, t.minute, t.second))
    | st.datetimes(datetime(1900, 1, 1), timezones=st.just(UTC))  # noqa: DTZ001
)
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(KEYS, inner, max_size=4),
    max_leaves=15,
)
DOCUMENTS = st.dictionaries(KEYS, VALUES, max_size=5)


def paths_in(value: object, path: FieldPath = ()) -> list[FieldPath]:
    found = [path] if path else []
    if isinstance(value, dict):
        for key, item in value.items():
            found += paths_in(item, (*path, key))
    elif isinstance(value, list):
        for index, item in enumerate(value):
            found += paths_in(item, (*path, index))
    return found


def written(key: str) -> str:
    """A key as tomli_w writes it."""
    line = tomli_w.dumps({key: 1})
    return line[: line.rindex(" = ")]


@given(DOCUMENTS, st.booleans())
def test_places_agree_with_documents_of_an_independent_writer(
    document: dict[str, object], multiline: bool
) -> None:
    text = tomli_w.dumps(document, multiline_strings=multiline)
    places = find_places(text)
    assert set(places) == set(paths_in(tomllib.loads(text)))
    lines = text.replace("\r\n", "\n").split("\n")
    for path, line in places.items():
        key = path[-1]
        if isinstance(key, str):
            assert written(key) in lines[line - 1]


@given(DOCUMENTS)
def test_a_value_alone_on_its_line_is_the_value_of_its_path(document: dict[str, object]) -> None:
    text = tomli_w.dumps(document)
    data = tomllib.loads(text)
    lines = text.split("\n")
    for path, line in find_places(text).items():
        match = re.fullmatch(r"\s*(.+),", lines[line - 1])
        if not isinstance(path[-1], int) or not match:
            continue
        value: object = data
        for part in path:
            value = value[part]  # type: ignore[index]
        if isinstance(value, dict | list):
            continue
        inline = tomllib.loads(f"v = {match.group(1)}")["v"]
        if not isinstance(inline, dict | list):
            assert inline == value


def test_a_thousand_tables_keep_their_own_lines() -> None:
    places = find_places("".join(f"[[trials]]\nvalue = {n}\n" for n in range(1000)))
    assert len(places) == 1 + 2 * 1000
    assert places[("trials", 999, "value")] == 2000
