import os
import tomllib
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from screen_tui.errors import FileRefusedError, NotFoundError, Problem
from screen_tui.files.toml import read_toml
from screen_tui.files.toml_write import dump_toml


def refused(path: Path) -> tuple[Problem, ...]:
    with pytest.raises(FileRefusedError) as caught:
        read_toml(path)
    assert caught.value.exit_code == 3
    return caught.value.problems


def test_a_file_is_read_with_its_data_text_and_lines(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_text('[client]\nlabel = "K-014"\n', encoding="utf-8")
    document = read_toml(path)
    assert document.data == {"client": {"label": "K-014"}}
    assert document.line_of(("client", "label")) == 2
    assert document.line_of(("client", "age")) == 1
    assert document.line_of(("intake",)) is None


def test_a_link_to_a_file_is_followed(tmp_path: Path) -> None:
    (tmp_path / "a.toml").write_text("x = 1\n", encoding="utf-8")
    (tmp_path / "link.toml").symlink_to(tmp_path / "a.toml")
    assert read_toml(tmp_path / "link.toml").data == {"x": 1}


@pytest.mark.parametrize("name", ["absent.toml", "broken-link.toml", "a.toml/below.toml"])
def test_what_does_not_exist_is_not_found(tmp_path: Path, name: str) -> None:
    (tmp_path / "a.toml").write_text("x = 1\n", encoding="utf-8")
    (tmp_path / "broken-link.toml").symlink_to(tmp_path / "nowhere")
    with pytest.raises(NotFoundError, match=name):
        read_toml(tmp_path / name)


def test_a_folder_is_refused(tmp_path: Path) -> None:
    assert "is a folder" in refused(tmp_path)[0].reason


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes with names")
def test_a_pipe_is_refused_without_waiting_for_it(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.toml")
    assert "ordinary file" in refused(tmp_path / "pipe.toml")[0].reason


def test_a_file_one_may_not_read_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.toml"
    path.write_text("x = 1\n", encoding="utf-8")

    def forbidden(_path: Path, _mode: str) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", forbidden)
    assert "may not be read" in refused(path)[0].reason


def test_text_that_is_not_utf8_is_refused_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_bytes(b'a = 1\nb = "caf\xe9"\n')
    (problem,) = refused(path)
    assert problem.line == 2
    assert "UTF-8" in problem.reason


def test_a_byte_order_mark_as_some_editors_write_it_is_passed_over(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_bytes(b"\xef\xbb\xbfa = 1\r\n")
    assert read_toml(path).data == {"a": 1}


def test_a_file_far_too_large_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    with path.open("wb") as file:
        file.truncate(50_000_000)
    assert "larger than" in refused(path)[0].reason


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("a = 1\nb 2\n", 2, "name = value"),
        ("a = 1\nb = yes\n", 2, 'without "quotes"'),
        ("a = 1\nb =\n", 2, "value is missing"),
        ("a = 1\n\na = 2\n", 3, "given twice"),
        ("[t]\nx = 1\n[t]\n", 3, "begun twice"),
        ('a = "open\nb = 2\n', 1, "not closed with its quotation mark"),
        ("a = 'open\nb = 2\n", 2, "not closed with its quotation mark"),
        ('a = 1\nb = """open\n', 2, "not closed with its quotation mark"),
        ("a = [1, 2\nb = 3\n", 2, "array is not closed"),
        ("t = { a = 1\n", 1, "inline table is not closed"),
        ("a = 1 b = 2\n", 1, "begin a new line"),
        ("[t\nx = 1\n", 1, "not closed with its bracket"),
        ("a = 2026-02-30\n", 1, "no such date"),
        ('a = "C:\\dir"\n', 1, "backslash"),
        ('a = "\x1b[2J"\n', 1, "control character"),
        ('a = "\\ud800"\n', 1, "names no character"),
        ("# \x07\n", 1, "control character"),
        (f"a = 1\nb = {'9' * 5000}\n", None, "too many digits"),
        ("= 1\n", 1, "name"),
    ],
)
def test_broken_toml_is_refused_with_the_line_and_what_to_do(
    tmp_path: Path, text: str, line: int | None, words: str
) -> None:
    path = tmp_path / "broken.toml"
    path.write_bytes(text.encode())
    (problem,) = refused(path)
    assert (problem.line, problem.field) == (line, "")
    assert words in problem.reason
    assert path.read_bytes() == text.encode()


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 100_000,
        "a = " + "[" * 50 + "]" * 50,
        "a = " + "{b = " * 40_000,
        ".".join(["a"] * 300) + " = 1",
        "[" + ".".join(["a"] * 300) + "]",
    ],
    ids=["arrays without end", "arrays", "tables without end", "dotted key", "header"],
)
def test_deep_nesting_is_refused(tmp_path: Path, text: str) -> None:
    path = tmp_path / "deep.toml"
    path.write_text(text, encoding="utf-8")
    assert "deep" in refused(path)[0].reason


def test_empty_fields_are_left_out_and_elements_keep_their_places() -> None:
    text = dump_toml({"a": None, "b": "", "c": [], "d": ("", "x"), "e": {"f": None}, "g": 0})
    assert tomllib.loads(text) == {"d": ["", "x"], "e": {}, "g": 0}


def test_an_array_of_tables_is_written_as_blocks_however_short() -> None:
    text = dump_toml({"x": 1, "trials": [{"test": "a", "cue": ""}, {"test": "b"}], "t": {"y": 2}})
    assert text == 'x = 1\n\n[t]\ny = 2\n\n[[trials]]\ntest = "a"\n\n[[trials]]\ntest = "b"\n'


def test_nested_arrays_of_tables_survive() -> None:
    data = {"a": [{"b": [{"c": 1}, {"c": 2}]}, {"d": {"e": 3}}], "odd key": [{"f": 1}]}
    assert tomllib.loads(dump_toml(data)) == data


def test_times_are_written_as_rfc_3339_has_them() -> None:
    """RFC 3339 (2002), section 5.6: a T between date and time, an offset of hours and minutes."""
    one_hour = timezone(timedelta(hours=1))
    odd = timezone(timedelta(minutes=53, seconds=28))
    text = dump_toml(
        {"a": datetime(2026, 3, 2, 9, 15, tzinfo=one_hour), "b": datetime(1900, 1, 1, tzinfo=odd)}
    )
    assert text == "a = 2026-03-02T09:15:00+01:00\nb = 1899-12-31T23:06:32+00:00\n"
    assert tomllib.loads(text)["b"] == datetime(1900, 1, 1, tzinfo=odd).astimezone(UTC)
