"""What people typed or files hold is shown as it stands: no markup, no terminal commands."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import small_protocol as small
from support.hostile import as_label
from textual.style import Style

from screen_tui.session.store import SessionStore
from screen_tui.tui import rows_widget
from screen_tui.tui.drawing.rows import Span

HOSTILE = [
    "[/]",
    "[/b]",
    "[b]bold[/b]",
    "[link=http://x]y[/link]",
    "[@click=app.quit]quit[/]",
    "knee [L] 3/10",
    "$primary",
    ":smile:",
    "\\[/]",
    "K{0}%s",
]


@pytest.mark.parametrize("text", HOSTILE)
async def test_text_is_shown_as_typed_on_every_screen(
    open_program, store: SessionStore, text: str
) -> None:
    label = as_label(text)
    trial = {"test": "stance", "side": "left", "value": 6.2, "note": text, "ended": text}
    skip = {"test": "rises", "reason": text}
    session = small.session(
        trial,
        client={"label": label},
        skipped=[skip],
        stopped="",
        intake={"goals": ["walking"], "note": text},
    )
    store.save(session)
    async with open_program((80, 24)) as driver:
        assert label in driver.text()
        await driver.press("1")
        assert label in driver.text()
        await driver.press("g")
        await driver.press("enter")
        assert f"Rising five times: {text}" in await driver.read_on()
        await driver.press("enter")
        assert label in driver.text()
        await driver.press("w", "0")
        await driver.type(text)
        assert f"> {text}" in driver.text()


def shown(text: str) -> str:
    """What a row of that text becomes on the screen."""
    return "".join(piece.text for piece in rows_widget.segments((Span(text),), Style()))


def test_what_could_steer_a_terminal_is_shown_as_a_mark() -> None:
    assert shown("a\x1b]0;title\x07b\u202ec\x9bd") == (
        "a\N{REPLACEMENT CHARACTER}]0;title" + "\N{REPLACEMENT CHARACTER}".join(["", "b", "c", "d"])
    )


@given(st.text(max_size=60))
def test_text_is_never_interpreted(text: str) -> None:
    assert shown(text) == rows_widget.inert(text)
    assert len(shown(text)) == len(text)
    assert not any(ord(sign) < 32 or 0x7F <= ord(sign) < 0xA0 for sign in shown(text))
