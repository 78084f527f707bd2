"""TOML files: reading them with places, and checking them against a model."""

from __future__ import annotations

import contextlib
import hashlib
import re
import stat
import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from screen_tui.errors import FileRefusedError, NotFoundError, Problem, first_of
from screen_tui.files.reasons import FieldPath, dotted, in_plain_words, shown, toml_in_plain_words

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

_IS_LINK = (
    "is a link to another place, and what is saved here would never reach that place; put a copy "
    "of the file itself here instead"
)


_Model = TypeVar("_Model", bound=BaseModel)


@dataclass(frozen=True)
class TomlDocument:
    """A TOML file as it was read.

    Its text is without a byte order mark; the digest is the SHA-256 of its bytes.
    """

    path: Path
    text: str
    data: dict[str, Any]
    digest: str

    @cached_property
    def _places(self) -> dict[FieldPath, int]:
        return find_places(self.text)

    def line_of(self, field_path: FieldPath) -> int | None:
        """The line, from 1, of a field or else of the nearest table around it, if there is one."""
        return deepest_line(self._places, field_path)

    def problem(self, field_path: FieldPath, reason: str) -> Problem:
        return Problem(self.path, self.line_of(field_path), dotted(field_path), reason)

    def refuse_where(self, found: Iterable[tuple[FieldPath, str]]) -> None:
        """Refuse the file where fields were found to be wrong, each for the reason given.

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


def read_own(path: Path) -> TomlDocument:
    """Read a file that is written again later; a link is refused, since writing follows none.

    Raises:
        NotFoundError: There is nothing at the path.
        FileRefusedError: It is a link, no file, cannot be read, or is not TOML.
    """
    # What may not be looked at is refused below, with the reason.
    with contextlib.suppress(OSError):
        if path.is_symlink():
            raise FileRefusedError.at(path, _IS_LINK)
    return read_toml(path)


def parse_toml(content: bytes, path: Path) -> TomlDocument:
    """Read TOML that did not come from a file; messages call it by the path.

    Raises:
        FileRefusedError: It is not UTF-8 text or is not TOML.
    """
    if len(content) > MOST_BYTES:
        reason = f"is larger than {MOST_BYTES // 1_000_000} MB, so it is not one of ours"
        raise FileRefusedError.at(path, reason)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise FileRefusedError.at(
            path, "is not UTF-8 text; save it again as UTF-8", line=line
        ) from None
    _refuse_what_takes_long(text, path)
    try:
        data = tomllib.loads(text)
    except RecursionError:
        raise FileRefusedError.at(path, _TOO_DEEP) from None
    except (ValueError, OverflowError) as error:
        line_number, reason = toml_in_plain_words(str(error), text)
        raise FileRefusedError.at(path, reason, line=line_number) from None
    if _depth_exceeds(data, DEEPEST):
        raise FileRefusedError.at(path, _TOO_DEEP)
    return TomlDocument(path, text, data, hashlib.sha256(content).hexdigest())


def versioned(document: TomlDocument, key: str, newest: int, what: str = "the file comes") -> None:
    """Refuse a file whose version, a whole number under a key, is newer than this program's.

    Raises:
        FileRefusedError: It is.
    """
    written = document.data.get(key)
    if isinstance(written, int) and not isinstance(written, bool) and written > newest:
        reason = (
            f"is {shown(written)}, and this program reads up to {newest}: {what} from a newer "
            "version. Update this program; the file has not been changed"
        )
        raise FileRefusedError((document.problem((key,), reason),))


def validate(
    document: TomlDocument, model: type[_Model], most_values: int = MOST_IN_SHORT
) -> _Model:
    """Check a file's contents against a model, strictly: a number in quotes is not a number.

    ``most_values`` is how many names, tables and values it may hold.

    Raises:
        FileRefusedError: With one problem per field that is wrong.
    """
    if _values_in(document.text) > most_values:
        raise FileRefusedError.at(document.path, _TOO_MUCH)
    document.refuse_where(_too_long((), document.data))
    try:
        return model.model_validate(_lists_as_tuples(document.data), strict=True)
    except ValidationError as error:
        found = in_plain_words(error, document.data)
    document.refuse_where(found)
    raise AssertionError("what the model refuses has a reason")


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
            line = lines.count("\n", 0, name.start(1))
            raise FileRefusedError.at(path, _TOO_DEEP, line=line)
        parts += own
    if parts > MOST_PARTS or _values_in(text) > MOST_VALUES:
        raise FileRefusedError.at(path, _TOO_MUCH)
    digits = _LONG_NUMBER.search(text)
    if digits:
        line = text.count("\n", 0, digits.start()) + 1
        raise FileRefusedError.at(path, "holds a number of far too many digits", line=line)


def _values_in(text: str) -> int:
    """How many names, tables and values a text may hold at most, by the signs that part them."""
    return sum(text.count(sign) for sign in "=,[")


def _too_long(path: FieldPath, value: Any) -> Iterator[tuple[FieldPath, str]]:
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


def toml_files(folder: Path, what: str) -> list[Path]:
    """The TOML files of a folder by name, without hidden ones; none where there is no folder.

    Raises:
        FileRefusedError: The folder, called ``what``, cannot be read.
    """
    try:
        found = sorted(folder.iterdir())
    except FileNotFoundError:
        return []
    except OSError as error:
        raise FileRefusedError.at(folder, f"{what} cannot be read: {error.strerror}") from None
    return [path for path in found if path.suffix == ".toml" and not path.name.startswith(".")]


def link_words(path: Path) -> str:
    """Say that a file is a link, and to what; "" where it is none, or may not be looked at."""
    with contextlib.suppress(OSError):
        if path.is_symlink():
            return f"is a link to {path.readlink()}"
    return ""


def _bytes_of(path: Path) -> bytes:
    try:
        status = path.stat()
        if stat.S_ISDIR(status.st_mode):
            raise FileRefusedError.at(path, "is a folder; a file is needed here")
        # A pipe or a device would make the program wait for ever.
        if not stat.S_ISREG(status.st_mode):
            raise FileRefusedError.at(path, "is not an ordinary file")
        with path.open("rb") as file:
            return file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        link = link_words(path)
        missing = f"{path} {link}, where nothing is." if link else f"There is no file {path}."
        raise NotFoundError(missing) from None
    except NotADirectoryError:
        raise NotFoundError(f"There is no file {path}: part of the path is a file.") from None
    except PermissionError:
        raise FileRefusedError.at(path, "may not be read by you; ask for its permissions") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise FileRefusedError.at(path, f"cannot be read: {reason}") from None


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


# The text is sound, so nothing is ever tried a second way, for which memory would be set aside.
_BLANK = re.compile(r"(?:[ \t\n]++|#[^\n]*+)*+")
_SPACES = re.compile(r"[ \t]*+")
_STRING = re.compile(
    r'"""(?:[^"\\]++|\\.|"{1,2}(?!"))*+"{3,5}'
    r"|'''(?:[^']++|'{1,2}(?!'))*+'{3,5}"
    r'|"(?:[^"\\]++|\\.)*+"'
    r"|'[^']*+'",
    re.DOTALL,
)
_BARE_KEY = re.compile(r"[^ \t\n.=\]#]+")
_OTHER_SCALAR = re.compile(r"[^,\]}#\n]+")


def find_places(text: str) -> dict[FieldPath, int]:
    """Map what ``tomllib`` accepts to the line, from 1, of every key, table and array element."""
    return _Scanner(text.replace("\r\n", "\n")).scan()


def deepest_line(places: dict[FieldPath, int], path: FieldPath) -> int | None:
    """The line of the longest beginning of a path that is known; None when none of it is."""
    for length in range(len(path), 0, -1):
        if path[:length] in places:
            return places[path[:length]]
    return None


class _Scanner:
    """Keeps track of lines, which the standard library does not tell; it checks nothing."""

    def __init__(self, text: str) -> None:
        self.places: dict[FieldPath, int] = {}
        self._text = text
        self._at = 0
        self._counted_to = 0
        self._lines_before = 0
        self._tables_in_array: dict[FieldPath, int] = {}

    def scan(self) -> dict[FieldPath, int]:
        table: FieldPath = ()
        while self._skip_blank():
            if self._text.startswith("[[", self._at):
                table = self._array_of_tables_header()
            elif self._text[self._at] == "[":
                table = self._table_header()
            else:
                self._key_and_value(table)
        return self.places

    def _table_header(self) -> FieldPath:
        line = self._line()
        self._at += 1
        path = self._table_named(self._key(), line)
        self._at += 1
        # A parent may have been known only from the header of its child: its own is better.
        self.places[path] = line
        return path

    def _array_of_tables_header(self) -> FieldPath:
        line = self._line()
        self._at += 2
        *parents, last = self._key()
        array = (*self._table_named(parents, line), last)
        self._at += 2
        index = self._tables_in_array.get(array, 0)
        self._tables_in_array[array] = index + 1
        self.places.setdefault(array, line)
        self.places[(*array, index)] = line
        return (*array, index)

    def _table_named(self, keys: list[str], line: int) -> FieldPath:
        """The path a header means: inside an array of tables, its latest element."""
        path: FieldPath = ()
        for key in keys:
            path = (*path, key)
            self.places.setdefault(path, line)
            if path in self._tables_in_array:
                path = (*path, self._tables_in_array[path] - 1)
        return path

    def _key_and_value(self, table: FieldPath) -> None:
        line = self._line()
        path = table
        for key in self._key():
            path = (*path, key)
            self.places.setdefault(path, line)
        self._at += 1
        self._skip(_SPACES)
        self._value(path)

    def _key(self) -> list[str]:
        """The parts of a dotted key; stops at what follows it."""
        parts = []
        while True:
            self._skip(_SPACES)
            string = _STRING.match(self._text, self._at)
            if string:
                parts.append(tomllib.loads(f"key = {string.group()}")["key"])
                self._at = string.end()
            else:
                start = self._at
                self._skip(_BARE_KEY)
                parts.append(self._text[start : self._at])
            self._skip(_SPACES)
            if self._text[self._at] != ".":
                return parts
            self._at += 1

    def _value(self, path: FieldPath) -> None:
        opening = self._text[self._at]
        if opening == "[":
            self._array(path)
        elif opening == "{":
            self._inline_table(path)
        elif opening in "\"'":
            self._skip(_STRING)
        else:
            self._skip(_OTHER_SCALAR)

    def _array(self, path: FieldPath) -> None:
        self._at += 1
        index = 0
        while self._skip_blank() and self._text[self._at] != "]":
            self.places[(*path, index)] = self._line()
            self._value((*path, index))
            self._skip_comma()
            index += 1
        self._at += 1

    def _inline_table(self, path: FieldPath) -> None:
        self._at += 1
        while self._skip_blank() and self._text[self._at] != "}":
            self._key_and_value(path)
            self._skip_comma()
        self._at += 1

    def _skip_comma(self) -> None:
        if self._skip_blank() and self._text[self._at] == ",":
            self._at += 1

    def _skip_blank(self) -> bool:
        """Go past what means nothing; say whether anything follows."""
        self._skip(_BLANK)
        return self._at < len(self._text)

    def _skip(self, pattern: re.Pattern[str]) -> None:
        found = pattern.match(self._text, self._at)
        if found:
            self._at = found.end()

    def _line(self) -> int:
        self._lines_before += self._text.count("\n", self._counted_to, self._at)
        self._counted_to = self._at
        return self._lines_before + 1
