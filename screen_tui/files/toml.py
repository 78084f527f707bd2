"""TOML files: reading them with places, checking them against a model, writing them."""

from __future__ import annotations

import hashlib
import re
import stat
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path
from typing import Any, TypeVar

import tomli_w
from pydantic import BaseModel, ValidationError

from screen_tui.errors import FileRefusedError, NotFoundError, Problem, first_of
from screen_tui.files.reasons import dotted, in_plain_words, toml_in_plain_words
from screen_tui.files.toml_places import FieldPath, deepest_line, find_places

MOST_BYTES = 4_000_000
DEEPEST = 20
"""How many tables and arrays may lie within each other."""

MOST_VALUES, MOST_IN_SHORT = 150_000, 20_000
"""Names, tables and values of the longest files, which are those of sessions, and of all others.

Each takes time to read, and may be wrong in several ways. 2,000 trials with all that can be noted
come to 60,000, the longest file that comes with the program to 2,200.
"""

MOST_ENTRIES, MOST_NAMES, MOST_PARTS = 2_000, 200, 20_000
"""Entries of one array, names of one table, parts of all names of three or more parts."""

_Model = TypeVar("_Model", bound=BaseModel)


@dataclass(frozen=True)
class TomlDocument:
    """A TOML file as it was read.

    Attributes:
        path: The file.
        text: Its text, without a byte order mark.
        data: Its contents as ``tomllib`` gives them.
        digest: SHA-256 of its bytes, in hexadecimal.
    """

    path: Path
    text: str
    data: dict[str, Any]
    digest: str

    @cached_property
    def _places(self) -> dict[FieldPath, int]:
        return find_places(self.text)

    def line_of(self, field_path: FieldPath) -> int | None:
        """The line, from 1, where a field begins, or else the nearest table around it.

        None when not even the first part of the path stands in the file.
        """
        return deepest_line(self._places, field_path)

    def problem(self, field_path: FieldPath, reason: str) -> Problem:
        """A problem at a field of this file."""
        return Problem(self.path, self.line_of(field_path), dotted(field_path), reason)

    def refuse_where(self, found: Iterable[tuple[FieldPath, str]]) -> None:
        """Refuse the file where anything was found to be wrong.

        Args:
            found: The fields that are wrong, each with the reason.

        Raises:
            FileRefusedError: With the first of them.
        """
        problems = first_of(self.problem(path, reason) for path, reason in found)
        if problems:
            raise FileRefusedError(problems)


def read_toml(path: Path) -> TomlDocument:
    """Read a TOML file.

    Raises:
        NotFoundError: There is nothing at the path.
        FileRefusedError: It is no file, cannot be read, is not UTF-8 text, or is not TOML.
    """
    return parse_toml(_bytes_of(path), path)


def parse_toml(content: bytes, path: Path) -> TomlDocument:
    """Read TOML that did not come from a file.

    Args:
        content: The bytes.
        path: What to call them in messages.

    Raises:
        FileRefusedError: It is not UTF-8 text or is not TOML.
    """
    if len(content) > MOST_BYTES:
        reason = f"is larger than {MOST_BYTES // 1_000_000} MB, so it is not one of ours"
        raise _refused(path, None, reason)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise _refused(path, line, "is not UTF-8 text; save it again as UTF-8") from None
    _refuse_what_takes_long(text, path)
    try:
        data = tomllib.loads(text)
    except RecursionError:
        raise _refused(path, None, _TOO_DEEP) from None
    except (ValueError, OverflowError) as error:
        line_number, reason = toml_in_plain_words(str(error), text)
        raise _refused(path, line_number, reason) from None
    if _depth_exceeds(data, DEEPEST):
        raise _refused(path, None, _TOO_DEEP)
    return TomlDocument(path, text, data, hashlib.sha256(content).hexdigest())


def validate(
    document: TomlDocument, model: type[_Model], most_values: int = MOST_IN_SHORT
) -> _Model:
    """Check a file's contents against a model, strictly: a number in quotes is not a number.

    Args:
        document: The file.
        model: What it should hold.
        most_values: How many names, tables and values it may hold.

    Raises:
        FileRefusedError: With one problem per field that is wrong.
    """
    if _values_in(document.text) > most_values:
        raise _refused(document.path, None, _TOO_MUCH)
    document.refuse_where(_too_long((), document.data))
    try:
        return model.model_validate(_lists_as_tuples(document.data), strict=True)
    except ValidationError as error:
        found = in_plain_words(error, document.data)
    document.refuse_where(found)
    raise AssertionError("what the model refuses has a reason")


def dump_toml(data: Mapping[str, Any]) -> str:
    """Write contents as TOML, without keys whose value is None, or empty text, array or table.

    Arrays of tables at the top are written as ``[[name]]`` blocks, one line per key, so that two
    versions of a file differ only in the lines that changed. A plain table within such a block
    follows it under ``[name.table]``, where it holds anything.
    """
    kept = _without_empty(data)
    blocks = {key: value for key, value in kept.items() if _is_array_of_tables(value)}
    rest = {key: value for key, value in kept.items() if key not in blocks}
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


_KEY = r"""(?:[A-Za-z0-9_-]++|"[^"\n]*+"|'[^'\n]*+')"""
_DOT = r"[ \t]*+\.[ \t]*+"
_LONG_NAME = re.compile(rf"[\n{{,][ \t]*+\[{{0,2}}+[ \t]*+({_KEY}(?:{_DOT}{_KEY}){{2,}}+)")
"""A dotted name of three parts or more, where names stand; no number looks like it."""

_LONG_NUMBER = re.compile(r"(?<![0-9A-Fa-f_])[0-9A-Fa-f_]{10001}")
"""More digits than a number can have, such as one in base 16."""

_TOO_DEEP = f"holds tables or arrays nested more than {DEEPEST} deep, which no file here needs"
_TOO_MUCH = "holds far more names and values than any file here, so it is not one of ours"


def _refuse_what_takes_long(text: str, path: Path) -> None:
    """Refuse what the parser would take long for, or much memory.

    A digit of a number takes 100 bytes, a value some microseconds, a name of a table several for
    each of its parts; a name of some ten thousand parts takes minutes.
    """
    parts = 0
    lines = "\n" + text
    for name in _LONG_NAME.finditer(lines):
        own = sum(1 for _ in re.finditer(_KEY, name.group(1)))
        if own > DEEPEST:
            raise _refused(path, lines.count("\n", 0, name.start(1)), _TOO_DEEP)
        parts += own
    if parts > MOST_PARTS or _values_in(text) > MOST_VALUES:
        raise _refused(path, None, _TOO_MUCH)
    digits = _LONG_NUMBER.search(text)
    if digits:
        line = text.count("\n", 0, digits.start()) + 1
        raise _refused(path, line, "holds a number of far too many digits")


def _values_in(text: str) -> int:
    """How many names, tables and values a text may hold at most, by the signs that part them."""
    return sum(text.count(sign) for sign in "=,[")


def _too_long(path: FieldPath, value: Any) -> Iterator[tuple[FieldPath, str]]:
    """The tables and arrays that hold more than any file here needs."""
    if isinstance(value, dict):
        if len(value) > MOST_NAMES:
            yield path, f"has {len(value):,} names, and no table here has more than {MOST_NAMES}"
        for name, item in value.items():
            if isinstance(item, dict | list):
                yield from _too_long((*path, name), item)
    elif isinstance(value, list):
        if len(value) > MOST_ENTRIES:
            yield path, f"has {len(value):,} entries, and none here has more than {MOST_ENTRIES:,}"
        for index, item in enumerate(value):
            if isinstance(item, dict | list):
                yield from _too_long((*path, index), item)


def _refused(path: Path, line: int | None, reason: str) -> FileRefusedError:
    return FileRefusedError((Problem(path, line, "", reason),))


def _bytes_of(path: Path) -> bytes:
    try:
        status = path.stat()
        if stat.S_ISDIR(status.st_mode):
            raise _refused(path, None, "is a folder; a file is needed here")
        # A pipe or a device would make the program wait for ever.
        if not stat.S_ISREG(status.st_mode):
            raise _refused(path, None, "is not an ordinary file")
        with path.open("rb") as file:
            return file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise NotFoundError(f"There is no file {path}.") from None
    except NotADirectoryError:
        raise NotFoundError(f"There is no file {path}: part of the path is a file.") from None
    except PermissionError:
        raise _refused(path, None, "may not be read by you; ask for its permissions") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise _refused(path, None, f"cannot be read: {reason}") from None


def _depth_exceeds(data: dict[str, Any], limit: int) -> bool:
    level: list[Any] = [data]
    for _ in range(limit + 1):
        level = [
            child
            for value in level
            for child in (value.values() if isinstance(value, dict) else value)
            if isinstance(child, dict | list)
        ]
        if not level:
            return False
    return True


def _lists_as_tuples(value: Any) -> Any:
    """Arrays as the models hold them; strict checking takes no list for a tuple."""
    if isinstance(value, dict):
        return {key: _lists_as_tuples(item) for key, item in value.items()}
    if isinstance(value, list):
        return tuple(_lists_as_tuples(item) for item in value)
    return value


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
