"""TOML files: reading them with places, checking them against a model, writing them."""

from __future__ import annotations

import hashlib
import re
import stat
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path
from typing import Any, TypeVar

import tomli_w
from pydantic import BaseModel, ValidationError

from screen_tui.errors import FileRefusedError, NotFoundError, Problem
from screen_tui.reasons import dotted, in_plain_words, toml_in_plain_words
from screen_tui.tomlplaces import FieldPath, deepest_line, find_places

MOST_BYTES = 4_000_000
DEEPEST = 20

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
    long_key = _LONG_KEY.search(text)
    if long_key:
        # The parser needs minutes for a name of some ten thousand parts.
        raise _refused(path, text.count("\n", 0, long_key.start(1)) + 1, _TOO_DEEP)
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


def validate(document: TomlDocument, model: type[_Model]) -> _Model:
    """Check a file's contents against a model, strictly: a number in quotes is not a number.

    Raises:
        FileRefusedError: With one problem per field that is wrong.
    """
    try:
        return model.model_validate(_lists_as_tuples(document.data), strict=True)
    except ValidationError as error:
        found = in_plain_words(error, document.data)
        raise FileRefusedError(
            tuple(document.problem(path, reason) for path, reason in found)
        ) from None


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


_KEY = r"""(?:[A-Za-z0-9_-]+|"[^"\n]*"|'[^'\n]*')"""
_LONG_KEY = re.compile(
    rf"(?:^[ \t]*\[{{0,2}}|[{{,])[ \t]*({_KEY}(?:[ \t]*\.[ \t]*{_KEY}){{{DEEPEST}}})", re.MULTILINE
)
"""A dotted name of more than `DEEPEST` parts, where names stand: no text of ours looks like it."""

_TOO_DEEP = f"holds tables or arrays nested more than {DEEPEST} deep, which no file here needs"


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
