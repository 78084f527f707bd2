"""From the bytes a terminal sends to what they mean.

The framework reads what a terminal of today sends. One that is set to another encoding, an old one
that reports its mouse in bytes, or one with a mistake of its own sends more than that. None of it
ends the program, and none of it becomes a letter that nobody typed.
"""

from __future__ import annotations

from codecs import getincrementaldecoder
from collections.abc import Iterable, Iterator
from typing import Final

from textual._xterm_parser import XTermParser
from textual.events import Key, Paste, Resize
from textual.message import Message

MOST_COLUMNS: Final = 1000
MOST_ROWS: Final = 1000
"""No window is larger; a terminal that says so would have the program fill its memory."""

_MOUSE_IN_BYTES = "\x1b[M"
_BYTES_OF_MOUSE = 3
_REPLACEMENT = "\ufffd"

_MAKES_NO_SENSE = (ValueError, ArithmeticError)
"""What the framework raises over a number in a sequence: one that is no character, or zero."""


class InputFailed(Message):
    """Nothing is read from the terminal any more."""

    def __init__(self, error: Exception) -> None:
        super().__init__()
        self.error = error


class InputDecoder:
    """UTF-8, with a replacement character for what is none.

    A mouse report of the old kind ends in three bytes that are numbers. Each is given as a
    character of its own, or the keys that follow would be taken for the rest of the report.
    """

    def __init__(self) -> None:
        self._utf8 = getincrementaldecoder("utf-8")(errors="replace")
        self._last = ""
        self._numbers_to_come = 0

    def decode(self, data: bytes) -> str:
        return "".join(self._decoded(byte) for byte in data)

    def _decoded(self, byte: int) -> str:
        if self._numbers_to_come:
            self._numbers_to_come -= 1
            return chr(byte) if byte < 0x80 else _REPLACEMENT
        text = self._utf8.decode(bytes((byte,)))
        self._last = (self._last + text)[-len(_MOUSE_IN_BYTES) :]
        if self._last == _MOUSE_IN_BYTES:
            self._last, self._numbers_to_come = "", _BYTES_OF_MOUSE
        return text


class InputReader:
    """Gives the keys, clicks and reports in what a terminal sends; what makes no sense is left out.

    A message is made, and with it stamped, as its last byte is fed.
    """

    def __init__(self) -> None:
        self._decoder = InputDecoder()
        self._parser = XTermParser()

    def feed(self, data: bytes) -> Iterator[Message]:
        for character in self._decoder.decode(data):
            yield from self._read(character)

    def tick(self) -> Iterator[Message]:
        """Give what is complete because nothing followed it, such as Escape."""
        yield from self._heeded(self._parser.tick())

    def _read(self, character: str) -> Iterator[Message]:
        try:
            yield from self._heeded(self._parser.feed(character))
        except _MAKES_NO_SENSE:
            # The sequence ends with this character. A parser that has failed cannot go on.
            failed, self._parser = self._parser, XTermParser()
            _set_size(self._parser, _size_known_to(failed))

    def _heeded(self, messages: Iterable[Message]) -> Iterator[Message]:
        known = _size_known_to(self._parser)
        for message in messages:
            if isinstance(message, Resize):
                if not _is_of_a_window(message):
                    _set_size(self._parser, known)
                    continue
                if not message.pixel_size:
                    # Without the size of a cell in pixels, the mouse can only be read in cells.
                    self._parser.terminal_pixel_size = None
            elif isinstance(message, Paste):
                message.text = "".join(filter(_is_text, message.text))
            elif isinstance(message, Key) and not all(map(_is_text, message.character or "")):
                continue
            yield message


_Size = tuple[tuple[int, int] | None, tuple[int, int] | None, bool]


def _size_known_to(parser: XTermParser) -> _Size:
    return parser.terminal_size, parser.terminal_pixel_size, parser.mouse_pixels


def _set_size(parser: XTermParser, size: _Size) -> None:
    parser.terminal_size, parser.terminal_pixel_size, parser.mouse_pixels = size


def _is_of_a_window(resize: Resize) -> bool:
    columns, rows = resize.size
    return 0 < columns <= MOST_COLUMNS and 0 < rows <= MOST_ROWS


def _is_text(character: str) -> bool:
    """Whether somebody can have typed it: no replacement, and no half of a pair of UTF-16."""
    return character != _REPLACEMENT and not "\ud800" <= character <= "\udfff"
