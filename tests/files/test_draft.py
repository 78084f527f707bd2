"""Answers without a session: saved like sessions, never over somebody else's, never deleted."""

from __future__ import annotations

import errno
import os
import stat
from datetime import UTC, datetime
from pathlib import Path

import pytest

from screen_tui.cli.check import check_paths
from screen_tui.errors import FileRefusedError, NotFoundError, SaveFailedError
from screen_tui.files.toml import TomlDocument, read_toml
from screen_tui.session.draft import Draft, DraftStore, check_questions, draft_in
from screen_tui.session.model import Session
from screen_tui.session.store import SessionStore

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


@pytest.fixture
def drafts(folder: Path) -> DraftStore:
    return DraftStore(folder, check)


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


ANSWERS = {"clot": False, "locked-knee": True, "goals": ("walking", "stairs"), "label": ' K-"0[1'}


def test_what_is_saved_is_found_again_by_another_process(drafts: DraftStore, folder: Path) -> None:
    saved = draft(**ANSWERS)
    drafts.save(saved)
    (found,) = DraftStore(folder, check).found()
    assert found.path == folder / "draft.toml"
    assert found.draft == saved
    assert found.problem == ""
    assert DraftStore(folder, check).open(found.path) == saved


@pytest.mark.skipif(os.name != "posix", reason="modes are a matter of POSIX")
def test_only_the_owner_may_read_the_folder_and_the_draft(drafts: DraftStore, folder: Path) -> None:
    previous = os.umask(0)
    try:
        drafts.save(draft(clot=False))
        drafts.save(draft(clot=True))
    finally:
        os.umask(previous)
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert stat.S_IMODE((folder / "draft.toml").stat().st_mode) == 0o600


def test_the_data_reaches_the_disk_before_the_name(
    drafts: DraftStore, monkeypatch: pytest.MonkeyPatch
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


def test_a_draft_is_no_session(drafts: DraftStore, folder: Path, session: Session) -> None:
    store = SessionStore(folder)
    store.save(session)
    drafts.save(draft(clot=False))
    assert [one.id for one in store.list()] == [session.id]
    assert [one.kind for one in check_paths([folder / "draft.toml"], [])] == ["draft of answers"]


def test_every_save_goes_into_the_one_file(drafts: DraftStore, folder: Path) -> None:
    for length in range(1, 6):
        drafts.save(draft(label="K-014"[:length]))
        assert draft_in(read_toml(folder / "draft.toml")).answers == {"label": "K-014"[:length]}
    assert names(folder) == ["draft.toml"]


def test_forgetting_removes_the_own_draft_only(drafts: DraftStore, folder: Path) -> None:
    other = DraftStore(folder, check)
    other.save(draft(label="theirs"))
    drafts.save(draft(label="ours"))
    assert names(folder) == ["draft-2.toml", "draft.toml"]
    drafts.forget()
    drafts.forget()
    (left,) = drafts.found()
    assert left.draft == draft(label="theirs")


def test_two_programs_on_the_same_draft_keep_both_answers(drafts: DraftStore, folder: Path) -> None:
    drafts.save(draft(label="K-1"))
    other = DraftStore(folder, check)
    other.open(folder / "draft.toml")
    other.save(draft(label="K-1", age="6"))
    drafts.save(draft(label="K-14"))
    other.save(draft(label="K-1", age="67"))
    drafts.save(draft(label="K-145"))
    found = {one.path.name: one.draft for one in drafts.found()}
    assert found == {
        "draft.toml": draft(label="K-1", age="67"),
        "draft-2.toml": draft(label="K-145"),
    }


def test_what_another_program_wrote_into_it_is_not_forgotten(
    drafts: DraftStore, folder: Path
) -> None:
    drafts.save(draft(label="K-1"))
    other = DraftStore(folder, check)
    other.open(folder / "draft.toml")
    other.save(draft(label="K-1", age="67"))
    drafts.forget()
    assert names(folder) == ["draft.toml"]


def test_drafts_are_listed_in_the_order_of_their_numbers(folder: Path) -> None:
    for number in range(11):
        DraftStore(folder, check).save(draft(label=f"K-{number}"))
    found = DraftStore(folder, check).found()
    assert [one.draft.answers["label"] for one in found if one.draft] == [
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
    drafts: DraftStore, folder: Path, old: str, new: str, line: int | None, says: str
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
        drafts.open(path)
    assert path.read_text(encoding="utf-8") == text
    assert drafts.set_aside is None

    drafts.save(draft(label="new"))
    assert drafts.set_aside == folder / "draft.toml.unusable-1"
    assert drafts.set_aside.read_text(encoding="utf-8") == text
    assert draft_in(read_toml(path)) == draft(label="new")
    assert SessionStore(folder).list() == ()


def test_a_second_unusable_draft_does_not_replace_the_first(folder: Path) -> None:
    folder.mkdir(parents=True)
    for text in ("one", "two"):
        (folder / "draft.toml").write_text(text, encoding="utf-8")
        DraftStore(folder, check).save(draft(clot=False))
    kept = [(folder / f"draft.toml.unusable-{n}").read_text(encoding="utf-8") for n in (1, 2)]
    assert kept == ["one", "two"]


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EACCES, errno.EIO])
def test_a_refused_save_is_a_sentence_and_leaves_the_last_one(
    drafts: DraftStore, folder: Path, monkeypatch: pytest.MonkeyPatch, code: int
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
    drafts: DraftStore, folder: Path, monkeypatch: pytest.MonkeyPatch
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


def test_a_draft_that_is_gone_is_not_found(drafts: DraftStore, folder: Path) -> None:
    assert drafts.found() == ()
    with pytest.raises(NotFoundError):
        drafts.open(folder / "draft.toml")
