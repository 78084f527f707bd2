"""Where the tables, keys and array elements of a TOML text begin.

The standard library reads TOML but does not say on which line a value stands. This scanner
walks over a text that ``tomllib`` has already accepted, so it checks nothing: it only keeps
track of lines.
"""

from __future__ import annotations

import re
import tomllib

FieldPath = tuple[str | int, ...]
"""Keys and array indices (from 0) that lead to a value: ``("trials", 2, "value")``."""

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
    """Map every key, table and array element to the line, from 1, on which it begins.

    Args:
        text: TOML that ``tomllib.loads`` accepts; for other text the result means nothing.
    """
    scanner = _Scanner(text.replace("\r\n", "\n"))
    scanner.scan()
    return scanner.places


def deepest_line(places: dict[FieldPath, int], path: FieldPath) -> int | None:
    """The line of the longest beginning of a path that is known; None when none of it is."""
    for length in range(len(path), 0, -1):
        if path[:length] in places:
            return places[path[:length]]
    return None


class _Scanner:
    def __init__(self, text: str) -> None:
        self.places: dict[FieldPath, int] = {}
        self._text = text
        self._at = 0
        self._counted_to = 0
        self._lines_before = 0
        self._tables_in_array: dict[FieldPath, int] = {}

    def scan(self) -> None:
        table: FieldPath = ()
        while self._skip_blank():
            if self._text.startswith("[[", self._at):
                table = self._array_of_tables_header()
            elif self._text[self._at] == "[":
                table = self._table_header()
            else:
                self._key_and_value(table)

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
        """Go past spaces, line breaks and comments; say whether anything follows."""
        self._skip(_BLANK)
        return self._at < len(self._text)

    def _skip(self, pattern: re.Pattern[str]) -> None:
        found = pattern.match(self._text, self._at)
        if found:
            self._at = found.end()

    def _line(self) -> int:
        """The line, from 1, that has been come to."""
        self._lines_before += self._text.count("\n", self._counted_to, self._at)
        self._counted_to = self._at
        return self._lines_before + 1
