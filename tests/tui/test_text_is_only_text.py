"""Text of people and files is only text: shown as typed, and refused where it could steer."""

from __future__ import annotations

import ast
import io
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ValidationError
from rich.console import Console
from support import small_protocol as small
from support.hostile import (
    STEERING,
    as_label,
    filled,
    hostile_session,
    text_places,
    told_protocol,
    told_session,
)
from textual.style import Style

import screen_tui.tui
from screen_tui.errors import SaveFailedError
from screen_tui.fields import Line, _refuse
from screen_tui.files.text import first_control_character
from screen_tui.preferences import Preferences
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import Session
from screen_tui.session.store import SessionStore
from screen_tui.tui import widgets
from screen_tui.tui.drawing.rows import Span


@pytest.mark.parametrize("text", STEERING, ids=ascii)
def test_what_steers_a_terminal_is_refused_in_every_text(text: str) -> None:
    """Each text of a protocol and a session, found by trying, refuses it at load."""
    for model, data in (
        (ScreenProtocol, told_protocol().model_dump()),
        (Session, hostile_session(told_session(), "x").model_dump()),
    ):
        places = text_places(model, data)
        assert len(places) > 10
        for path, _ in places:
            with pytest.raises(ValidationError, match="control character"):
                model.model_validate(filled(data, [(path, 20)], f"a{text}b"))
    with pytest.raises(ValidationError, match="control character"):
        Preferences(protocols=(f"/a{text}b",))


def open_texts(schema: object, where: str = "") -> Iterator[str]:
    """The fields of a model, by its compiled schema, that would take any character at all."""
    if isinstance(schema, list | tuple):
        for one in schema:
            yield from open_texts(one, where)
    if not isinstance(schema, dict):
        return
    kind = schema.get("type")
    if kind == "function-after" and schema["function"]["function"] is _refuse:
        return
    if kind == "str" and "pattern" not in schema:
        yield where
    for key, value in schema.items():
        if key == "fields" and isinstance(value, dict):
            for name, field in value.items():
                yield from open_texts(field, f"{where}.{name}")
        elif key not in ("metadata", "serialization", "config"):
            yield from open_texts(value, where)


@pytest.mark.parametrize("model", [ScreenProtocol, Session, Preferences])
def test_no_field_of_a_file_takes_any_character(model: type[BaseModel]) -> None:
    model.model_rebuild(force=True)  # it is built no earlier than it is first used
    assert isinstance(model.__pydantic_core_schema__, dict)
    assert list(open_texts(model.__pydantic_core_schema__)) == []


def test_a_field_that_takes_any_character_would_be_found() -> None:
    class Careless(BaseModel):
        inner: tuple[dict[Line, str], ...]

    assert list(open_texts(Careless.__pydantic_core_schema__)) == [".inner"]


def test_ten_thousand_characters_are_refused_in_every_text() -> None:
    for model, data in (
        (ScreenProtocol, told_protocol().model_dump()),
        (Session, told_session().model_dump()),
    ):
        for path, _ in text_places(model, data):
            with pytest.raises(ValidationError, match="at most"):
                model.model_validate(filled(data, [(path, 10_000)], "x" * 10_000))


@pytest.mark.parametrize("text", STEERING, ids=ascii)
def test_what_steers_a_terminal_is_a_mark_wherever_else_it_comes_from(text: str) -> None:
    pieces = widgets.segments((Span(f"a{text}b"),), Style())
    shown = "".join(piece.text for piece in pieces)
    assert first_control_character(shown) is None
    marked = (widgets.REPLACEMENT if first_control_character(c) else c for c in text)
    assert shown == f"a{''.join(marked)}b"


def test_there_is_one_door_from_text_to_the_screen() -> None:
    """Nothing but the rows widget builds what the framework shows; a field is never shown."""
    doors = {"widgets.py"}
    for file in sorted(Path(screen_tui.tui.__file__).parent.rglob("*.py")):
        tree = ast.parse(file.read_text("utf-8"))
        for node in ast.walk(tree):
            module = getattr(node, "module", None) or ""
            names = {alias.name for alias in getattr(node, "names", ())}
            if isinstance(node, ast.ImportFrom) and file.name not in doors:
                assert not module.startswith(("textual.widget", "textual.content", "rich.markup"))
                assert not names & {"Content", "Segment", "Strip"}
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
                assert node.func.attr not in {"notify", "from_markup"}, file
                # What is copied is encoded on its way, so that it cannot steer the terminal.
                assert node.func.attr != "copy_to_clipboard" or file.name == "note.py", file
            if isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Store):
                assert node.attr not in {"border_title", "border_subtitle", "tooltip", "sub_title"}


async def test_a_sentence_left_on_the_terminal_cannot_steer_it(
    open_program, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[object] = []
    async with open_program() as driver:
        controller = driver.app.controller
        controller.failure = SaveFailedError("It lies in /stick/\x1b[2J[/]:smile:.", "Save again.")
        with monkeypatch.context() as patch:
            patch.setattr(controller, "save", lambda: False)
            patch.setattr(driver.app, "exit", lambda **more: told.append(more["message"]))
            driver.app.action_leave()
        controller.failure = None
    console = Console(file=io.StringIO(), markup=False, force_terminal=True, color_system=None)
    console.print(*told)
    assert " ".join(console.file.getvalue().split()) == (
        "It lies in /stick/?[2J[/]:smile:. The program has ended, and all that was entered "
        "after the last save is lost."
    )


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
        await driver.press("g", "d")
        assert f"rises: {text}" in await driver.read_on()
        await driver.press("enter", "enter")
        assert label in driver.text()
        await driver.press("w", "0")
        await driver.type(text)
        assert f"> {text}" in driver.text()


def shown(text: str) -> str:
    """What a row of that text becomes on the screen."""
    return "".join(piece.text for piece in widgets.segments((Span(text),), Style()))


@given(st.text(max_size=60))
def test_text_is_never_interpreted(text: str) -> None:
    assert shown(text) == widgets.inert(text)
    assert len(shown(text)) == len(text)
    assert not any(ord(sign) < 32 or 0x7F <= ord(sign) < 0xA0 for sign in shown(text))
