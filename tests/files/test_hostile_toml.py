"""TOML made to hurt: refused in a moment, with the line, whatever it holds."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from screen_tui.errors import FileRefusedError
from screen_tui.files.reasons import dotted
from screen_tui.files.toml import DEEPEST, parse_toml

MANY = 300_000


@pytest.mark.parametrize(
    "name",
    [
        ".".join("a" * MANY) + " = 1",
        ".".join(['"a"'] * MANY) + " = 1",
        "x = {b = 1, " + " . ".join("a" * MANY) + " = 1}",
        "[" + ".".join("a" * MANY) + "]",
        "[[ " + ".".join("a" * MANY) + "]]",
    ],
    ids=["bare", "quoted", "inline", "table", "array of tables"],
)
def test_a_name_of_endless_parts_is_refused_at_once(name: str) -> None:
    # Without the look beforehand, the standard library takes a time with the square of the parts:
    # minutes for these.
    before = time.perf_counter()
    with pytest.raises(FileRefusedError) as caught:
        parse_toml(f"format = 1\n{name}\n".encode(), Path("a.toml"))
    assert time.perf_counter() - before < 10
    (problem,) = caught.value.problems
    assert problem.line == 2
    assert "deep" in problem.reason


@pytest.mark.parametrize("lead", ["", "text = 'x'\n", "# "])
def test_names_and_texts_with_some_dots_are_read(lead: str) -> None:
    name = ".".join("a" * (DEEPEST - 1))
    text = "Mr. B. ... " * 20
    document = parse_toml(f'{lead}{name} = 1\nsaid = "{text}"\n'.encode(), Path("a.toml"))
    assert document.data["said"] == text


def test_a_long_unknown_name_is_cut_in_the_message() -> None:
    assert len(dotted(("k" * 5000,))) < 60
    assert dotted(("client", "age")) == "client.age"
