"""Changing one value in a TOML text by hand's rules: only its line changes, comments stay."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence

import tomli_w

from screen_tui.files.toml_places import find_places

Value = bool | int | str | tuple[str, ...]
"""What one key can hold here."""

_HEAD = re.compile(r"""[ \t]*(?:[A-Za-z0-9_-]+|"[^"\n]*"|'[^'\n]*')[ \t]*=[ \t]*""")


def with_key(text: str, name: str, value: Value) -> str:
    """The text with the value of one key of its top table changed.

    What stands before the value and after it on its line stays, a comment too; an array over
    several lines becomes one line. A key that is missing is added at the end, which is its place
    only where the text has no tables: the caller reads the result before trusting it.

    Args:
        text: TOML that ``tomllib`` accepts.
        name: A key of letters, digits, ``_`` and ``-``.
        value: What it is to hold.
    """
    written = written_value(value)
    line = find_places(text).get((name,))
    if line is None:
        line_end = "\r\n" if "\r\n" in text else "\n"
        between = "" if text.endswith("\n") or not text else line_end
        return f"{text}{between}{name} = {written}{line_end}"
    # Not splitlines, for which more characters end a line than for TOML.
    lines = text.split("\n")
    first, after = line - 1, _end_of_statement(lines, line - 1)
    statement = "\n".join(lines[first:after])
    head = _HEAD.match(statement)
    kept = head.group() if head else f"{name} = "
    return "\n".join([*lines[:first], f"{kept}{written}{_tail(statement)}", *lines[after:]])


def written_value(value: Value) -> str:
    """A value as TOML, on one line."""
    if isinstance(value, tuple):
        return f"[{', '.join(written_value(one) for one in value)}]"
    return tomli_w.dumps({"value": value}).removeprefix("value = ").rstrip("\n")


def _end_of_statement(lines: Sequence[str], first: int) -> int:
    """The index of the line after the one on which what begins on a line ends."""
    # What is cut off within an array or a text is no TOML, so the shortest that is, is all of it.
    for after in range(first + 1, len(lines)):
        if _is_toml("\n".join(lines[first:after])):
            return after
    return len(lines)


def _tail(statement: str) -> str:
    """What follows the value on its line: blanks, a comment, a carriage return."""
    whole = statement
    for mark in re.finditer("#", statement):
        if _is_toml(statement[: mark.start()]):
            whole = statement[: mark.start()]
            break
    return statement[len(whole.rstrip(" \t\r")) :]


def _is_toml(text: str) -> bool:
    try:
        tomllib.loads(text + "\n")
    except ValueError:
        return False
    return True
