"""Writing TOML: a whole file, or one value of a file of a person's, whose comments stay."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

import tomli_w

from screen_tui.files.toml import find_places

Value = bool | int | str | tuple[str, ...]
"""What one key can hold here."""

_HEAD = re.compile(r"""[ \t]*(?:[A-Za-z0-9_-]+|"[^"\n]*"|'[^'\n]*')[ \t]*=[ \t]*""")


def with_key(text: str, name: str, value: Value) -> str:
    """The text with the value of one key of its top table changed.

    What is before the value and after it on its line stays, a comment too; an array over
    several lines becomes one line. A key that is missing is added at the end, which is its place
    only where the text has no tables: the caller reads the result before trusting it.
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
    start = head.group() if head else f"{name} = "
    return "\n".join([*lines[:first], f"{start}{written}{_tail(statement)}", *lines[after:]])


def written_value(value: Value) -> str:
    """A value as TOML, on one line."""
    if isinstance(value, tuple):
        return f"[{', '.join(written_value(one) for one in value)}]"
    return tomli_w.dumps({"value": value}).removeprefix("value = ").rstrip("\n")


def _end_of_statement(lines: Sequence[str], first: int) -> int:
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


def dump_toml(data: Mapping[str, Any]) -> str:
    """Write contents as TOML, without keys whose value is None, or empty text, array or table.

    Arrays of tables at the top are written as ``[[name]]`` blocks, one line per key, so that two
    versions of a file differ only in the lines that changed. A plain table within such a block
    follows it under ``[name.table]``, where it holds anything.
    """
    filled = _without_empty(data)
    blocks = {key: value for key, value in filled.items() if _is_array_of_tables(value)}
    rest = {key: value for key, value in filled.items() if key not in blocks}
    parts = [tomli_w.dumps(rest)] if rest else []
    for key, tables in blocks.items():
        header = tomli_w.dumps({key: {}}).strip()
        for table in tables:
            # The header of an array's element has brackets of its own; those within it have not.
            own = {name: value for name, value in table.items() if not isinstance(value, dict)}
            within = {k: value for k, value in table.items() if isinstance(value, dict) and value}
            written = f"[{header}]\n{tomli_w.dumps(own)}"
            if within:
                nested = tomli_w.dumps({key: within}).removeprefix(f"{header}\n").lstrip("\n")
                written += f"\n{nested}"
            parts.append(written)
    return "\n".join(parts)


def _without_empty(table: Mapping[str, Any]) -> dict[str, Any]:
    return {
        key: _writable(value)
        for key, value in table.items()
        if value is not None and not (isinstance(value, str | list | tuple | Mapping) and not value)
    }


def _writable(value: Any) -> Any:
    if isinstance(value, Mapping):
        return _without_empty(value)
    if isinstance(value, list | tuple):
        return [_writable(item) for item in value]
    if isinstance(value, datetime):
        return _Moment.like(value)
    return value


class _Moment(datetime):
    """A date and time that is written as RFC 3339 has it, with a ``T`` and whole minutes."""

    @classmethod
    def like(cls, moment: datetime) -> _Moment:
        offset = moment.utcoffset()
        if offset is not None and offset.total_seconds() % 60:
            moment = moment.astimezone(UTC)
        return cls.fromisoformat(moment.isoformat())

    def __str__(self) -> str:
        return self.isoformat()


def _is_array_of_tables(value: Any) -> bool:
    """Whether each element is a table that holds plain values and plain tables at most."""
    return (
        isinstance(value, list)
        and bool(value)
        and all(isinstance(table, dict) for table in value)
        and not any(
            _holds_table(list(item.values())) if isinstance(item, dict) else _holds_table(item)
            for table in value
            for item in table.values()
        )
    )


def _holds_table(value: Any) -> bool:
    if isinstance(value, list):
        return any(_holds_table(item) for item in value)
    return isinstance(value, dict)
