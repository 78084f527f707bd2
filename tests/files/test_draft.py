"""Answers without a session: saved like sessions, never over somebody else's, never deleted."""

from __future__ import annotations

import errno
import os
import stat
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from screen_tui.cli.check import check_paths
from screen_tui.errors import (
    FileRefusedError,
    NotFoundError,
    OpenElsewhereError,
    SaveFailedError,
)
from screen_tui.files import lock
from screen_tui.files.toml import TomlDocument, read_toml
from screen_tui.session.draft import Draft, FoundDraft, check_questions, draft_in
from screen_tui.session.model import Session
from screen_tui.session.store import Saved, SessionStore

QUESTIONS = "sha256:01"


def check(draft: Draft, document: TomlDocument) -> None:
    check_questions(draft, "small", QUESTIONS, document)


def draft(**answers: bool | str | tuple[str, ...]) -> Draft:
    return Draft(
        protocol="small",
        questions=QUESTIONS,
        begun=datetime(2026, 3, 2, 9, 15, tzinfo=UTC),
        at="label",
        accepted=("complaints",),
        answers=answers,
    )


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "deep" / "sessions"


class Window:
    """A window of the program that has one draft in hand at a time."""

    def __init__(self, folder: Path) -> None:
        self.store = SessionStore(folder)
        self.id = ""

    def save(self, draft: Draft) -> Saved:
        self.id = self.id or self.store.begin_draft(check)
        saved = self.store.save_draft(self.id, draft)
        self.id = saved.path.stem
        return saved

    def open(self, draft_id: str) -> Draft:
        draft = self.store.resume_draft(draft_id, check)
        self.id = draft_id
        return draft

    def leave(self) -> None:
        self.store.release(self.id)
        self.id = ""

    def forget(self) -> None:
        self.store.forget_draft(self.id)
        self.id = ""

    def found(self) -> tuple[FoundDraft, ...]:
        return self.store.drafts(check)


@pytest.fixture
def windows(folder: Path) -> Iterator[Callable[[], Window]]:
    opened: list[Window] = []

    def open_window() -> Window:
        opened.append(Window(folder))
        return opened[-1]

    yield open_window
    for window in opened:
        window.store.release_all()


@pytest.fixture
def drafts(windows: Callable[[], Window]) -> Window:
    return windows()


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir() if path.suffix != ".lock")


ANSWERS = {"clot": False, "locked-knee": True, "goals": ("walking", "stairs"), "label": ' K-"0[1'}


def test_what_is_saved_is_found_again_by_another_process(drafts: Window, windows) -> None:
    saved = draft(**ANSWERS)
    drafts.save(saved)
    drafts.leave()
    assert windows().found() == (FoundDraft("draft", saved),)
    assert windows().open("draft") == saved


def test_what_one_window_has_another_sees_as_open_and_cannot_resume(
    drafts: Window, windows, folder: Path
) -> None:
    other = windows()
    drafts.save(draft(label="K-1"))
    assert [one.open_elsewhere for one in drafts.found()] == [False]
    assert [one.open_elsewhere for one in other.found()] == [True]
    with pytest.raises(OpenElsewhereError, match="These answers are open in another window"):
        other.open("draft")
    drafts.leave()
    assert other.open("draft") == draft(label="K-1")
    other.forget()
    assert list(folder.iterdir()) == []


@pytest.mark.skipif(os.name != "posix", reason="modes are a matter of POSIX")
def test_only_the_owner_may_read_the_folder_and_the_draft(drafts: Window, folder: Path) -> None:
    previous = os.umask(0)
    try:
        drafts.save(draft(clot=False))
        drafts.save(draft(clot=True))
    finally:
        os.umask(previous)
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert stat.S_IMODE((folder / "draft.toml").stat().st_mode) == 0o600


def test_the_data_reaches_the_disk_before_the_name(
    drafts: Window, monkeypatch: pytest.MonkeyPatch
) -> None:
    steps: list[str] = []
    really_sync, really_replace = os.fsync, Path.replace

    def sync(descriptor: int) -> None:
        steps.append("folder" if stat.S_ISDIR(os.fstat(descriptor).st_mode) else "file")
        really_sync(descriptor)

    def replace(path: Path, target: Path) -> Path:
        steps.append("replace")
        return really_replace(path, target)

    monkeypatch.setattr(os, "fsync", sync)
    monkeypatch.setattr(Path, "replace", replace)
    drafts.save(draft(clot=False))
    assert steps[:2] == ["file", "replace"]


def test_a_draft_is_no_session(drafts: Window, folder: Path, session: Session) -> None:
    store = SessionStore(folder)
    store.save(session)
    drafts.save(draft(clot=False))
    assert [one.id for one in store.list()] == [session.id]
    assert [one.kind for one in check_paths([folder / "draft.toml"], [])] == ["draft of answers"]


def test_every_save_goes_into_the_one_file(drafts: Window, folder: Path) -> None:
    for length in range(1, 6):
        drafts.save(draft(label="K-014"[:length]))
        assert draft_in(read_toml(folder / "draft.toml")).answers == {"label": "K-014"[:length]}
    assert names(folder) == ["draft.toml"]


def test_forgetting_removes_the_own_draft_only(drafts: Window, windows, folder: Path) -> None:
    windows().save(draft(label="theirs"))
    drafts.save(draft(label="ours"))
    assert names(folder) == ["draft-2.toml", "draft.toml"]
    drafts.forget()
    (left,) = drafts.found()
    assert left.draft == draft(label="theirs")


def test_two_programs_on_the_same_draft_keep_both_answers(
    drafts: Window, windows, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_locks(path: Path) -> None:
        raise OSError(errno.ENOLCK, "no locks available", str(path))

    monkeypatch.setattr(lock, "take_lock", no_locks)
    drafts.save(draft(label="K-1"))
    other = windows()
    other.open("draft")
    other.save(draft(label="K-1", age="6"))
    saved = drafts.save(draft(label="K-14"))
    assert saved.kept_beside is not None
    assert (saved.kept_beside.name, saved.path.name) == ("draft.toml", "draft-2.toml")
    other.save(draft(label="K-1", age="67"))
    drafts.save(draft(label="K-145"))
    assert drafts.found() == (
        FoundDraft("draft", draft(label="K-1", age="67")),
        FoundDraft("draft-2", draft(label="K-145")),
    )


def test_what_another_program_wrote_into_it_is_not_forgotten(drafts: Window, folder: Path) -> None:
    path = drafts.save(draft(label="K-1")).path
    path.write_text("theirs", encoding="utf-8")
    drafts.forget()
    assert names(folder) == ["draft.toml"]
    assert path.read_text(encoding="utf-8") == "theirs"


def test_what_went_on_beside_is_forgotten_there(drafts: Window, folder: Path) -> None:
    path = drafts.save(draft(label="K-1")).path
    path.write_text("theirs", encoding="utf-8")
    drafts.save(draft(label="K-14"))
    drafts.forget()
    assert names(folder) == ["draft.toml"]
    assert path.read_text(encoding="utf-8") == "theirs"


def test_drafts_are_listed_in_the_order_of_their_numbers(windows) -> None:
    for number in range(11):
        windows().save(draft(label=f"K-{number}"))
    assert [one.draft.answers["label"] for one in windows().found() if one.draft] == [
        f"K-{number}" for number in range(11)
    ]


GOOD = """format = 1
protocol = "small"
questions = "sha256:01"
begun = 2026-03-02T09:15:00Z
at = "label"
[answers]
clot = false
"""


@pytest.mark.parametrize(
    ("old", "new", "line", "says"),
    [
        ("format = 1", "format = 2", 1, "newer version"),
        ("clot = false", "clot = ", 7, "value is missing"),
        ("clot = false", "clot = 3", 7, ""),
        ('"sha256:01"', '"sha256:02"', 3, "the questions have changed"),
        ('"small"', '"other"', 2, "the questions have changed"),
        ('"label"', '"label"\nsurprise = 1', 6, "not a known field"),
        (GOOD, "", None, "is missing"),
        (GOOD, "\x00", 1, "a line here needs"),
    ],
)
def test_a_draft_that_cannot_be_used_says_where_and_is_renamed_only_when_its_name_is_needed(
    drafts: Window, folder: Path, old: str, new: str, line: int | None, says: str
) -> None:
    text = GOOD.replace(old, new)
    folder.mkdir(parents=True)
    path = folder / "draft.toml"
    path.write_text(text, encoding="utf-8")
    (found,) = drafts.found()
    assert found.draft is None
    assert found.problem.startswith(f"{path}:{line}: " if line else f"{path}: ")
    assert says in found.problem
    with pytest.raises(FileRefusedError):
        drafts.open("draft")
    assert path.read_text(encoding="utf-8") == text
    assert names(folder) == ["draft.toml"]

    saved = drafts.save(draft(label="new"))
    assert saved.kept_original == folder / "draft.toml.unusable-1"
    assert saved.kept_original.read_text(encoding="utf-8") == text
    assert drafts.save(draft(label="new")).kept_original is None
    assert draft_in(read_toml(path)) == draft(label="new")
    assert SessionStore(folder).list() == ()


def test_a_second_unusable_draft_does_not_replace_the_first(drafts: Window, folder: Path) -> None:
    folder.mkdir(parents=True)
    for text in ("one", "two"):
        (folder / "draft.toml").write_text(text, encoding="utf-8")
        drafts.save(draft(clot=False))
        drafts.leave()
    kept = [(folder / f"draft.toml.unusable-{n}").read_text(encoding="utf-8") for n in (1, 2)]
    assert kept == ["one", "two"]


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EACCES, errno.EIO])
def test_a_refused_save_is_a_sentence_and_leaves_the_last_one(
    drafts: Window, folder: Path, monkeypatch: pytest.MonkeyPatch, code: int
) -> None:
    drafts.save(draft(label="K-1"))

    def refuse(*_arguments: object) -> None:
        raise OSError(code, os.strerror(code))

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", refuse)
        with pytest.raises(
            SaveFailedError, match=r"The answers are not saved in .*each further key"
        ):
            drafts.save(draft(label="K-14"))
    assert draft_in(read_toml(folder / "draft.toml")) == draft(label="K-1")
    assert names(folder) == ["draft.toml"]
    drafts.save(draft(label="K-145"))
    assert draft_in(read_toml(folder / "draft.toml")) == draft(label="K-145")


def test_a_save_refused_after_the_name_was_set_is_not_taken_for_another_program(
    drafts: Window, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    really_sync = os.fsync

    def refuse_folder(descriptor: int) -> None:
        if stat.S_ISDIR(os.fstat(descriptor).st_mode):
            raise OSError(errno.EIO, "no")
        really_sync(descriptor)

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", refuse_folder)
        with pytest.raises(SaveFailedError):
            drafts.save(draft(label="K-1"))
    drafts.save(draft(label="K-14"))
    assert names(folder) == ["draft.toml"]


def test_a_draft_that_is_gone_is_not_found(drafts: Window) -> None:
    assert drafts.found() == ()
    with pytest.raises(NotFoundError):
        drafts.open("draft")
