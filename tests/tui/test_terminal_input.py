"""Whatever bytes a terminal sends: nothing raises, and only what was typed is a letter."""

from __future__ import annotations

import itertools
import random

import pytest
from textual import _parser, _time, events
from textual._xterm_parser import XTermParser
from textual.message import Message

from screen_tui.tui.terminal_input import MOST_COLUMNS, MOST_ROWS, InputReader

SEQUENCES = 10_000

PIECES = [
    *(b"\x1b", b"[", b"<", b";", b":", b"?", b"-", b"\n", b"\x00", b"M", b"m", b"u", b"~", b"R"),
    *(b"t", b"O", b"I", b"A", b"$y", b"0", b"1", b"7", b"65533", b"55296", b"1114112", b"99999999"),
    *(b"\x1b[M", b"\x1b[M \xe4\xf6", b"\x1b[<0;", b"\x1b[<0;7;7M", b"\x1b[<35;9;9M"),
    *(
        b"\x1b[48;",
        b"24;80;0;0t",
        b"\x1b[48;24;80;480;800t",
        b"\x1b[200~",
        b"\x1b[201~",
        b"\x1b[?2048;1$y",
        b"\x1b[97;5u",
    ),
    *(b"\xfc", b"\xe4", b"\xc3", b"\xbc", b"\xed\xa0\x80", b"\xff", b"\x9b", "²٣ü".encode()),
]
"""What the sequences of terminals are made of, whole and in parts, and what is no UTF-8."""


def read(*sent: bytes) -> list[Message]:
    reader = InputReader()
    return [message for data in sent for message in reader.feed(data)]


def typed(*sent: bytes) -> str:
    return "".join(m.character or "" for m in read(*sent) if isinstance(m, events.Key))


def test_no_sequence_of_bytes_raises_or_gives_a_letter_nobody_typed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    draw = random.Random("terminal")
    now = itertools.accumulate(iter(lambda: draw.choice((0.0, 0.01, 0.2)), None))
    monkeypatch.setattr(_parser, "get_time", lambda: next(now))
    seen: set[type[Message]] = set()
    for number in range(SEQUENCES):
        if not number % 10:
            # The mark of a paste that is never ended takes all that follows.
            reader = InputReader()
        if number % 2:
            data = b"".join(draw.choices(PIECES, k=draw.randint(1, 20)))
        else:
            data = draw.randbytes(draw.randint(1, 20))
        for message in (*reader.feed(data), *reader.tick()):
            seen.add(type(message))
            if isinstance(message, events.Key | events.Paste):
                text = message.character if isinstance(message, events.Key) else message.text
                assert "\ufffd" not in (text or "")
                (text or "").encode("utf-8")
            if isinstance(message, events.Resize):
                assert 0 < message.size.width <= MOST_COLUMNS
                assert 0 < message.size.height <= MOST_ROWS
    assert {events.Key, events.Paste, events.Resize, events.MouseDown, events.MouseMove} <= seen


@pytest.mark.parametrize(
    "sent",
    [
        b"\xfc",
        b"\xe4",
        b"\xff\xfe",
        b"\xed\xa0\x80",
        "\ufffd".encode(),
        b"\x1b[99999999u",
        b"\x1b[99999999;1;99999999u",
        b"\x1b[55296;;55296u",
        b"\x1b[65533;;65533u",
        b"\x1b[97:65;1u",
        b"\x1b[97;1:3u",
        b"\x1b[48;24;80;0;0t",
        b"\x1b[48;0;0;0;0t",
        b"\x1b[48;99999999;99999999;1;1t",
        b"\x1b[M !!",
        b"\x1b[M \xfc\xfd",
        b"\x1b[M \xc3\xa0",
        b"\x1b[M !\xe4",
    ],
)
def test_what_is_no_text_types_nothing_and_the_next_key_comes_at_once(sent: bytes) -> None:
    assert typed(b"a", sent, b"b", b"c") == "abc"
    assert typed(b"a" + sent + b"bc") == "abc"


def test_letters_come_whole_however_they_are_cut() -> None:
    assert typed("Ünal".encode()) == "Ünal"
    assert typed(*(bytes((byte,)) for byte in "Ünal".encode())) == "Ünal"
    assert typed(b"\xdcnal") == "nal"


def test_a_report_that_is_cut_off_lets_the_next_keys_through() -> None:
    reader = InputReader()
    assert not list(reader.feed(b"\x1b[M"))
    assert [m.character for m in reader.feed(b"123n") if isinstance(m, events.Key)] == ["n"]


@pytest.mark.parametrize(
    ("sent", "cell"),
    [
        ((b"\x1b[<0;5;7M",), (4, 6)),
        # Cells of 10 by 20 pixels.
        ((b"\x1b[48;24;80;480;800t", b"\x1b[<0;41;121M"), (4, 6)),
        # No pixels are known, so these are cells.
        ((b"\x1b[48;24;80;0;0t", b"\x1b[<0;5;7M"), (4, 6)),
        ((b"\x1b[48;24;80;480;800t", b"\x1b[48;24;80;0;0t", b"\x1b[<0;5;7M"), (4, 6)),
        # What makes no sense changes nothing.
        ((b"\x1b[48;24;80;480;800t", b"\x1b[48;0;0;9;9t", b"\x1b[<0;41;121M"), (4, 6)),
        ((b"\x1b[48;24;80;480;800t", b"\x1b[99999999u", b"\x1b[<0;41;121M"), (4, 6)),
    ],
)
def test_a_click_is_where_it_was_made(sent: tuple[bytes, ...], cell: tuple[int, int]) -> None:
    *_, click = read(*sent)
    assert isinstance(click, events.MouseDown)
    assert (click.screen_x, click.screen_y) == cell


def test_what_is_pasted_holds_no_replacement() -> None:
    reader = InputReader()
    pasted = [
        message
        for message in reader.feed(b"\x1b[200~K-\xfc14\x1b[201~")
        if isinstance(message, events.Paste)
    ]
    assert [message.text for message in pasted] == ["K-14"]


@pytest.mark.parametrize("sent", [b" ", b"\x1b[32;;32u", b"\xe4 ", b"\x1b[99999999u "])
def test_a_key_is_stamped_as_its_last_byte_is_read(
    sent: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    moments = [0.0]
    monkeypatch.setattr(_time, "get_time", lambda: moments[-1])
    reader = InputReader()
    stamps = []
    for _ in range(3):
        *before, last = (bytes((byte,)) for byte in sent)
        for byte in before:
            assert not list(reader.feed(byte))
        moments.append(moments[-1] + 1.0)
        (key,) = reader.feed(last)
        stamps.append(key.time)
    assert stamps == [1.0, 2.0, 3.0]


def test_a_mistake_of_the_program_is_not_taken_for_nonsense(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def fail(_parser: XTermParser, _data: str) -> None:
        raise TypeError

    monkeypatch.setattr(XTermParser, "feed", fail)
    with pytest.raises(TypeError):
        read(b"a")
