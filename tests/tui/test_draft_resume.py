"""A program that is killed among the questions: the next one offers to go on with the answers."""

from __future__ import annotations

import errno
import os
import signal
from pathlib import Path

import pytest
from support.form_keys import NOT_ASKED

from screen_tui.errors import SaveFailedError
from screen_tui.protocol.knowledge import HistoryQuestion
from screen_tui.session.model import Session
from screen_tui.session.store import SessionStore
from screen_tui.tui.screens.before_testing import BeforeTestingScreen, ReferFirstScreen
from screen_tui.tui.screens.note import NoteScreen
from screen_tui.tui.screens.test import TestScreen

UNTIL_LABEL = ["n", "1", "n", "1", "enter", "1", "enter", "1", "enter", *NOT_ASKED]
"""From Start: left, no worry, full weight, no surgery, pain, walking, no history."""


ANSWERS = [
    {"id": "front", "label": "front", "key": "f"},
    {"id": "inner", "label": "inner side", "key": "i"},
]


def drafts(store: SessionStore) -> list[str]:
    return sorted(path.name for path in store.folder.glob("draft*"))


async def killed_after(open_program, *keys: str) -> object:
    """Press keys and drop the program as it stands; gives its form."""
    async with open_program() as driver:
        await driver.press(*keys)
        return driver.app.screen_stack[-1].form


async def test_after_a_kill_start_offers_the_answers_and_restores_them(
    open_program, store: SessionStore
) -> None:
    left = await killed_after(open_program, *UNTIL_LABEL, *"K-01")
    async with open_program() as driver:
        assert "1  Resume the questions (10 of 12 answered, K-01)" in driver.text()
        await driver.press("1")
        form = driver.app.screen.form
        assert (form.answers, form.accepted, form.at) == (left.answers, left.accepted, left.at)
        assert "K-01▏" in driver.text()
        await driver.press("4", "enter", "6", "7", "enter", "1", "enter")
        assert isinstance(driver.app.screen, TestScreen)
    (summary,) = store.list()
    session = store.load(summary.id)
    assert (session.client.label, session.client.age) == ("K-014", 67)
    assert session.intake.complaints == ("pain",)
    assert drafts(store) == []


async def test_every_single_key_is_on_disk_before_the_next(open_program) -> None:
    keys = [*UNTIL_LABEL, *"K-014", "enter", *"67", "enter", "1", "up", *"70", "up", *"170"]
    async with open_program() as driver:
        await driver.press(keys[0])
        for key in keys[1:]:
            await driver.press(key)
            form = driver.app.screen.form
            (found,) = driver.app.controller.store.drafts(lambda _draft, _document: None)
            assert found.draft is not None
            assert found.draft.answers == form.answers
            assert set(found.draft.accepted) == form.accepted
            assert found.draft.at == form.at


async def test_what_was_cleared_and_the_history_come_back_after_a_kill(
    open_program, knee, store: SessionStore
) -> None:
    question = {"id": "site", "label": "Where it hurts", "answers": ANSWERS}
    history = (HistoryQuestion.model_validate(question),)
    knee = knee.model_copy(update={"history": history})
    keys = ["n", "1", "y", "c", *"surgeon", "enter", *"Monday", "enter", "enter"]
    keys += [*("1", "6", "enter", "2", "enter", "enter", "1", "enter"), "4", "enter", "n", "i"]
    async with open_program(protocol=knee) as driver:
        await driver.press(*keys)
        left = driver.app.screen.form
    async with open_program(protocol=knee) as driver:
        await driver.press("1")
        form = driver.app.screen.form
        assert (form.answers, form.accepted, form.at) == (left.answers, left.accepted, left.at)
        await driver.press(*"K-014", "enter", *"67", "enter", "1", "enter")
        assert isinstance(driver.app.screen, TestScreen)
    (summary,) = store.list()
    intake = store.load(summary.id).intake
    assert (intake.history, intake.pain_now, intake.pain_worst) == ({"site": ("inner",)}, 4, None)
    assert (intake.recent_surgery_weeks, intake.surgery) == (6, "ligament")
    assert (intake.cleared[0].caution, intake.alone_at_home) == ("clot", False)
    assert drafts(store) == []


async def test_a_typed_answer_that_is_not_possible_comes_back_and_says_why_again(
    open_program,
) -> None:
    await killed_after(open_program, *UNTIL_LABEL, *"K-014", "enter", *"300", "tab")
    async with open_program() as driver:
        await driver.press("1")
        assert "300 years, refused" in driver.text()
        await driver.press("up")
        assert "300 years cannot be; type 5 to 110." in driver.words()


async def test_a_label_that_could_tell_who_it_is_never_reaches_the_disk(
    open_program, store: SessionStore
) -> None:
    await killed_after(open_program, *UNTIL_LABEL, *"12.03.1958", "enter")
    for path in store.folder.iterdir():
        assert "1958" not in path.read_text(encoding="utf-8")
    async with open_program() as driver:
        assert "Resume the questions (9 of 12 answered)" in driver.text()


async def test_a_yes_nobody_decided_on_is_asked_about_again(open_program) -> None:
    async with open_program() as driver:
        await driver.press("n", "1", "y")
        assert isinstance(driver.app.screen, ReferFirstScreen)
    async with open_program() as driver:
        await driver.press("1")
        assert isinstance(driver.app.screen, ReferFirstScreen)
        await driver.press("enter")
        assert isinstance(driver.app.screen, BeforeTestingScreen)
    async with open_program() as driver:
        await driver.press("1")
        assert isinstance(driver.app.screen, BeforeTestingScreen)
        assert "REFER FIRST" in driver.text()


async def test_a_referral_removes_the_draft_once_it_is_saved(
    open_program, store: SessionStore
) -> None:
    await killed_after(open_program, "n", "1", "y", "enter", *UNTIL_LABEL[3:])
    async with open_program() as driver:
        await driver.press("1", *"K-014", "enter", *"67", "enter", "1", "enter")
        assert isinstance(driver.app.screen, NoteScreen)
    assert drafts(store) == []
    assert len(store.list()) == 1


async def test_forgetting_removes_the_answers_and_leaving_keeps_them(
    open_program, store: SessionStore
) -> None:
    async with open_program() as driver:
        await driver.press("n", "1", "q", "1")
        assert drafts(store) == ["draft.toml"]
        await driver.press("1", "q", "2")
        assert "The answers are forgotten." in driver.words()
        assert "Go on with" not in driver.text()
    assert drafts(store) == []


async def test_taking_everything_back_leaves_no_draft(open_program, store: SessionStore) -> None:
    async with open_program() as driver:
        await driver.press("n", "1", "up", "backspace", "q")
        assert "New session" in driver.text()
    assert drafts(store) == []


async def test_a_new_screen_leaves_the_answers_of_the_other_person_alone(
    open_program, store: SessionStore
) -> None:
    await killed_after(open_program, *UNTIL_LABEL, *"K-1")
    await killed_after(open_program, *UNTIL_LABEL, *"K-2")
    assert drafts(store) == ["draft-2.toml", "draft.toml"]
    async with open_program() as driver:
        assert "1  Resume the questions (10 of 12 answered, K-2)" in driver.text()
        assert "2  Resume the questions (10 of 12 answered, K-1)" in driver.text()
        await driver.press("2", "q")
        assert "K-1q▏" in driver.text()


async def test_saving_a_resumed_session_leaves_answers_alone_that_are_not_its_own(
    open_program, answered, store: SessionStore
) -> None:
    async with open_program() as driver:
        await answered(driver)
        await driver.press("q")
        await driver.press("n", "1", "q", "1")
        await driver.press("2")  # the session, behind the answers
        assert isinstance(driver.app.screen, TestScreen)
        driver.app.controller.save()
    assert drafts(store) == ["draft.toml"]


async def test_a_draft_that_cannot_be_used_is_shown_and_renamed_when_a_new_one_is_begun(
    open_program, store: SessionStore
) -> None:
    store.folder.mkdir()
    broken = store.folder / "draft.toml"
    broken.write_text("format = 1\nat = [", encoding="utf-8")
    async with open_program((80, 24)) as driver:
        assert "cannot be used" in driver.text()
        assert f"{broken}:2" in "".join(driver.text().split())
        await driver.press("n", "q")
        assert drafts(store) == ["draft.toml"]
        await driver.press("n", "1")
        assert "are now in draft.toml.unusable-1" in driver.words()
    renamed = store.folder / "draft.toml.unusable-1"
    assert renamed.read_text(encoding="utf-8") == "format = 1\nat = ["


async def test_answers_to_other_questions_are_not_gone_on_with(
    open_program, knee, store: SessionStore
) -> None:
    await killed_after(open_program, "n", "1")
    before = (store.folder / "draft.toml").read_bytes()
    (caution,) = knee.cautions
    other = caution.model_copy(update={"question": "Calf pain or swelling?"})
    async with open_program((80, 24), knee.model_copy(update={"cautions": (other,)})) as driver:
        assert "the questions have changed" in driver.words()
        assert "Resume the questions" not in driver.words()
    assert (store.folder / "draft.toml").read_bytes() == before


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('side = "left"', 'side = "middle"', "must be one of left, right, both"),
        ("clot = false", 'clot = "no"', "must be true or false"),
        ("clot = false", "clot = false\nmood = true", "is not a question of this protocol"),
        ('"walking"', '"flying"', "must be an array of walking"),
        ('at = "label"', 'at = "mood"', "is not a question of this protocol"),
        ("clot = false", "clot = false\nage = true", "must be text"),
    ],
)
async def test_an_answer_that_cannot_have_been_given_is_refused_with_its_place(
    open_program, store: SessionStore, old: str, new: str, says: str
) -> None:
    await killed_after(open_program, *UNTIL_LABEL)
    path = store.folder / "draft.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")
    async with open_program((120, 40)) as driver:
        assert says in driver.words()
        assert "Go on with" not in driver.text()


async def test_a_refused_save_is_shown_and_does_not_stop_the_form(
    open_program, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(_descriptor: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    async with open_program() as driver:
        with monkeypatch.context() as patch:
            patch.setattr(os, "fsync", refuse)
            await driver.press(*UNTIL_LABEL, *"K-0")
            assert "the disk is full" in driver.words()
            assert "K-0▏" in driver.text()
            await driver.press("up", "q")
            assert "the disk is full" in driver.words()
            assert "the answers stay" not in driver.text()
            await driver.press("b")
        await driver.press("down", "1")
        assert "the disk is full" not in driver.words()
    async with open_program() as driver:
        assert "Resume the questions (10 of 12 answered, K-01)" in driver.text()


async def test_a_session_that_cannot_be_saved_keeps_the_draft_until_it_is(
    open_program, answered, store: SessionStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(_store: SessionStore, _session: Session) -> None:
        raise SaveFailedError("The disk is full.")

    async with open_program() as driver:
        with monkeypatch.context() as patch:
            patch.setattr(SessionStore, "save", refuse)
            await answered(driver)
            assert "NOT SAVED" in driver.text()
            assert drafts(store) == ["draft.toml"]
        await driver.press("1")
        assert isinstance(driver.app.screen, TestScreen)
        assert drafts(store) == []


async def test_the_draft_goes_when_the_session_is_saved_in_another_folder(
    open_program, answered, store: SessionStore, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    elsewhere = tmp_path / "stick"
    real_save = SessionStore.save

    def only_elsewhere(self: SessionStore, session: Session) -> object:
        if self.folder != elsewhere:
            raise SaveFailedError("The disk is full.")
        return real_save(self, session)

    monkeypatch.setattr(SessionStore, "save", only_elsewhere)
    async with open_program() as driver:
        await answered(driver)
        await driver.press("0")
        await driver.type(str(elsewhere))
        await driver.press("enter")
        assert drafts(store) == []
        driver.app.go_start()
        await driver.settle()
        await driver.press("n", "1")
    assert drafts(SessionStore(elsewhere)) == ["draft.toml"]


@pytest.mark.parametrize("way", [signal.SIGTERM, signal.SIGHUP, "ctrl+c"])
async def test_ending_the_program_loses_nothing(open_program, store: SessionStore, way) -> None:
    async with open_program() as driver:
        await driver.press(*UNTIL_LABEL, *"K-01")
        if isinstance(way, signal.Signals):
            os.kill(os.getpid(), way)
            await driver.settle()
        else:
            await driver.pilot.press(way)
            await driver.settle()
    assert driver.app.return_code == 0
    (found,) = store.drafts(lambda _draft, _document: None)
    assert found.draft is not None
    assert found.draft.answers["label"] == "K-01"


async def test_ending_with_answers_that_could_not_be_saved_says_so_in_the_exit_code(
    open_program, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(_store: SessionStore, _draft_id: str, _draft: object) -> None:
        raise SaveFailedError("The answers are not saved.")

    monkeypatch.setattr(SessionStore, "save_draft", refuse)
    async with open_program() as driver:
        await driver.press("n", "1")
        driver.app.action_leave()
        await driver.settle()
    assert driver.app.return_code == 1
