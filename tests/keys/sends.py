"""What is sent: mostly keys the screen offers, and beside them all that a terminal may send."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from random import Random
from typing import Literal, get_args

Kind = Literal[
    "keys",
    "paste",
    "mouse",
    "resize",
    "focus",
    "stop",
    "kitty keys",
    "reports",
    "broken sequences",
    "odd bytes",
]
OTHERS = tuple(kind for kind in get_args(Kind) if kind != "keys")
"""All that need not be sent."""
Size = tuple[int, int]

SIZES: tuple[Size, ...] = ((80, 24), (60, 20), (120, 40))
TOO_SMALL: Size = (30, 6)
BEGIN_OF_PASTE, END_OF_PASTE = b"\x1b[200~", b"\x1b[201~"

_KEY_LINES = 3
"""The lines at the foot of the screen that may say what the keys do."""
_NAMED = {
    "Enter": b"\r",
    "Space": b" ",
    "Bksp": b"\x7f",
    "Backspace": b"\x7f",
    "Tab": b"\t",
    "↑": b"\x1b[A",
    "↓": b"\x1b[B",
    "←": b"\x1b[D",
    "→": b"\x1b[C",
}
_PRINTED = [bytes([code]) for code in range(0x21, 0x7F) if code != ord("/")]
"""Without the slash, which is pressed only where it is offered: with it, a note could be written
outside the folders of the session."""
_MOVING = [b"\x1b[A", b"\x1b[B", b"\x1b[C", b"\x1b[D", b"\t", b"\x1b[Z", b"\r", b"\x7f", b" "]
_SELDOM = [
    # Ctrl with a letter, without those that stop or end a program that has left its screen.
    *(bytes([code]) for code in range(0x20) if code not in (0x1A, 0x1C)),
    *(b"\x1b" + bytes([code]) for code in b"abnqx1!"),
    *(f"\x1b[{number}~".encode() for number in (1, 2, 3, 4, 5, 6, 11, 15, 24)),
    *(b"\x1bO" + bytes([code]) for code in b"PQRSHF"),
    *(f"\x1b[1;{modifier}{arrow}".encode() for modifier in (2, 5, 8) for arrow in "ABCD"),
    "é".encode(),
    "漢".encode(),
    "🙂".encode(),
]
_PASTED = "abcdefghijklmnopqrstuvwxyz0123456789 .,-:;'()[]{}<>!?%&*+=#é漢"
_STEERING = "\x00\x01\x07\x08\t\n\r\x0b\x1b\x7f\x85\u200b\u202e\u0301"
_LONG_PASTE = 10_000

_PAUSES_S = (0.0, 0.0, 0.01, 0.02, 0.04, 0.06, 0.1, 0.2)


@dataclass(frozen=True)
class Send:
    """One thing that is done to the program.

    Attributes:
        kind: What it is.
        data: The bytes that are written at once.
        size: The window is made so large.
        signal: The program gets this one; SIGSTOP is followed by SIGCONT.
        pause_s: How long it is left alone afterwards; after SIGSTOP, how long it is stopped.
    """

    kind: Kind
    data: bytes = b""
    size: Size | None = None
    signal: Literal["", "SIGWINCH", "SIGSTOP"] = ""
    pause_s: float = 0.0

    def __str__(self) -> str:
        whole = repr(self.data)
        what = f"{whole[:150]}... ({len(self.data)} bytes)" if len(whole) > 160 else whole
        if self.size or self.signal:
            what = f"window {self.size[0]}x{self.size[1]}" if self.size else self.signal
        return f"{what}, {self.pause_s * 1000:.0f} ms"


def next_send(rng: Random, kinds: frozenset[Kind], screen: str, size: Size) -> Send:
    """Choose what is sent next.

    Args:
        rng: Decides; of a generator that was seeded alike the same is asked whatever is shown.
        kinds: What may be sent.
        screen: What the screen shows.
        size: Columns and rows of the window.
    """
    others = sorted(kinds - {"keys"})
    kind: Kind = rng.choice(others) if others and rng.random() < _OTHER_THAN_KEYS else "keys"
    pause_s = rng.choice(_PAUSES_S)
    if kind == "keys":
        return Send(kind, _burst(rng, offered(screen)), pause_s=pause_s)
    if kind == "resize":
        if rng.random() < 0.3:
            return Send(kind, signal="SIGWINCH", pause_s=pause_s)
        return Send(kind, size=rng.choice((*SIZES, *SIZES, TOO_SMALL)), pause_s=pause_s)
    if kind == "stop":
        return Send(kind, signal="SIGSTOP", pause_s=rng.uniform(0.05, 0.6))
    return Send(kind, _OF_KIND[kind](rng, size), pause_s=pause_s)


_OTHER_THAN_KEYS = 0.25


def offered(screen: str) -> list[bytes]:
    """The keys that the last lines of the screen offer."""
    found: list[bytes] = []
    for line in screen.rstrip().split("\n")[-_KEY_LINES:]:
        for hint in re.split(r" {3,}", line.strip()):
            keys, parted, does = hint.partition("  ")
            # What ends the program is pressed no more often than any other key.
            found += _keys_of(keys) if parted and does != "quit" else []
    return found


def _keys_of(printed: str) -> list[bytes]:
    """The keys a hint names, as they are sent."""
    if among := re.fullmatch(r"(\d)-(\d)", printed):
        first, last = (int(digit) for digit in among.groups())
        return [str(digit).encode() for digit in range(first, last + 1)]
    names = re.findall(r"[A-Za-z]+|\S", printed)
    keys = [_NAMED.get(name, name.encode()) for name in names if len(name) == 1 or name in _NAMED]
    return keys if len(keys) == len(names) else []


def _burst(rng: Random, keys_offered: list[bytes]) -> bytes:
    burst = [_key(rng, keys_offered) for _ in range(rng.choice((1, 1, 2, 3)))]
    return b"".join(burst)


def _key(rng: Random, keys_offered: list[bytes]) -> bytes:
    # The same numbers are drawn whatever is offered, so that the rest stays the same too.
    chance, place = rng.random(), rng.random()
    if chance < 0.6 and keys_offered:
        among = keys_offered
    elif chance < 0.75:
        among = _MOVING
    elif chance < 0.95:
        among = _PRINTED
    else:
        among = _SELDOM
    return among[int(place * len(among))]


def _paste(rng: Random, size: Size) -> bytes:
    del size
    length = _LONG_PASTE if rng.random() < 0.2 else rng.randint(0, 40)
    letters = _PASTED + (_STEERING if rng.random() < 0.4 else "")
    text = "".join(rng.choices(letters, k=length)).encode()
    return BEGIN_OF_PASTE + text + END_OF_PASTE if rng.random() < 0.6 else text


def _mouse(rng: Random, size: Size) -> bytes:
    column, row = _place(rng, size)
    button = rng.choice((0, 0, 0, 0, 1, 2, 3, 16, 32, 35, 64, 65, 66, 67, 128, 255))
    if rng.random() < 0.2:
        cells = (32 + min(max(cell, 0), 223) for cell in (button, column, row))
        return b"\x1b[M" + bytes(cells)
    pressed = f"\x1b[<{button};{column};{row}M"
    return (pressed + (pressed[:-1] + "m" if rng.random() < 0.8 else "")).encode()


def _place(rng: Random, size: Size) -> Size:
    columns, rows = size
    where = rng.random()
    if where < 0.15:
        outside = (-5, 0, 1, columns + 1, 9999)
        return rng.choice(outside), rng.choice((-5, 0, 1, rows + 1, 9999))
    if where < 0.45:
        return rng.randint(1, columns), rows - rng.randint(0, 2)
    return rng.randint(1, columns), rng.randint(1, rows)


def _focus(rng: Random, size: Size) -> bytes:
    del size
    return rng.choice((b"\x1b[I", b"\x1b[O"))


def _kitty(rng: Random, size: Size) -> bytes:
    del size
    odd = (0, 27, 127, 0xD800, 0xFFFF, 0x10FFFF, 0x110000, 10**12)
    usual = (*b"\r\t n1y!?qbk", 57348, 57376, 57399, 57414, 57441)
    code = rng.choice(usual if rng.random() < 0.7 else odd)
    modifier = rng.choice(("", "", "", ";1", ";2", ";5", ";8", ";0", ";1:1", ";1:3", ";256"))
    text = rng.choice(("", "", "", ";110", ";97:98", f";{rng.choice(odd)}")) if modifier else ""
    return f"\x1b[{code}{modifier}{text}{rng.choice('uuuuu~ABHP')}".encode()


def _report(rng: Random, size: Size) -> bytes:
    columns, rows = size if rng.random() < 0.7 else rng.choice(((0, 0), (1, 1), (300, 99)))
    pixels = (rows * 20, columns * 10) if rng.random() < 0.7 else (0, 0)
    resized = f"\x1b[48;{rows};{columns};{pixels[0]};{pixels[1]}t"
    modes = (f"\x1b[?{mode};{rng.randint(0, 4)}$y" for mode in (2026, 2048))
    return rng.choice((resized, resized, *modes, "\x1b[?1;2c", "\x1b[12;40R", "\x1b[0n")).encode()


def _broken(rng: Random, size: Size) -> bytes:
    del size
    if rng.random() < 0.5:
        return rng.choice(_CUT_OFF)
    parameters = "".join(rng.choices("0123456789;:<?", k=rng.choice((0, 1, 3, 6, 12, 40))))
    return f"\x1b[{parameters}{rng.choice('@ABCFHJMPRZmtuy~')}".encode()


_CUT_OFF = (
    *(b"\x1b", b"\x1b\x1b", b"\x1b[", b"\x1bO", b"\x1b[<", b"\x1b[<0;5", b"\x1b[1;", b"\x1b[M!"),
    *(b"\x1b[?2048;", b"\x1b[48;9", b"\x1b]0;x\x07", b"\x1bPq\x1b\\", BEGIN_OF_PASTE, END_OF_PASTE),
)


def _odd_bytes(rng: Random, size: Size) -> bytes:
    del size
    known = (b"\x00", b"\xff", b"\xe9", b"\xc3", b"\xf0\x9f\x99", b"\xed\xa0\x80", b"\xc2\x9b")
    if rng.random() < 0.6:
        return rng.choice(known)
    return bytes(rng.choices(range(0x80, 0x100), k=rng.randint(1, 4)))


_OF_KIND: dict[Kind, Callable[[Random, Size], bytes]] = {
    "paste": _paste,
    "mouse": _mouse,
    "focus": _focus,
    "kitty keys": _kitty,
    "reports": _report,
    "broken sequences": _broken,
    "odd bytes": _odd_bytes,
}
