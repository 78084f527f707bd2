"""A folder whose names may be read, and nothing behind them: told, file by file."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from screen_tui.errors import FileRefusedError
from screen_tui.files.places import protocols_folder
from screen_tui.files.toml import read_own
from screen_tui.preferences import preferred, protocol_to_open
from screen_tui.protocol.raw import files_of
from screen_tui.session.model import Session
from screen_tui.session.store import SessionStore

MAY_NOT = "may not be read by you"


@pytest.fixture
def shut(monkeypatch: pytest.MonkeyPatch) -> Callable[[Path], None]:
    """Take the right to look behind the names of a folder, as chmod 400 does for most people."""

    def without_right(folder: Path) -> None:
        for name in ("stat", "lstat"):
            really = getattr(os, name)

            def refuse(path: Any, *args: Any, _really: Any = really, **more: Any) -> Any:
                if not isinstance(path, int) and folder in Path(os.fsdecode(path)).parents:
                    raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(path))
                return _really(path, *args, **more)

            monkeypatch.setattr(os, name, refuse)

    return without_right


def test_sessions_that_may_not_be_looked_at_are_listed_with_the_reason(
    store: SessionStore, session: Session, shut: Callable[[Path], None]
) -> None:
    path = store.save(session).path
    shut(store.folder)
    (listed,) = store.list()
    assert (listed.path, listed.started) == (path, None)
    assert MAY_NOT in listed.problem
    with pytest.raises(FileRefusedError, match=MAY_NOT):
        read_own(path)


def test_answers_that_may_not_be_looked_at_are_shown(
    tmp_path: Path, shut: Callable[[Path], None]
) -> None:
    (tmp_path / "draft.toml").touch()
    shut(tmp_path)
    (found,) = SessionStore(tmp_path).drafts(lambda _draft, _document: None)
    assert found.draft is None
    assert MAY_NOT in found.problem


def test_a_folder_of_protocols_that_may_not_be_looked_into_stops_nobody_from_working(
    tmp_path: Path, shut: Callable[[Path], None]
) -> None:
    clinic = tmp_path / "clinic"
    (clinic / "tests").mkdir(parents=True)
    preferences = tmp_path / "preferences.toml"
    preferences.write_text(f'protocols = ["{clinic}"]\n', encoding="utf-8")
    shut(clinic)
    with pytest.raises(FileRefusedError, match="the folder cannot be read"):
        files_of(clinic)
    protocol, wished = protocol_to_open(protocols_folder(), preferred(preferences), ())
    assert protocol.battery.id == "chairside-knee"
    assert any("the folder cannot be read" in problem for problem in wished.problems)
