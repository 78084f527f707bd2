"""Nothing entered is lost: failed saves, signals, crashes."""

from __future__ import annotations

import os
import signal
from pathlib import Path

import pytest
from support import small_protocol as small

from screen_tui.errors import SaveFailedError
from screen_tui.files.places import sessions_folder
from screen_tui.session import store as session_store
from screen_tui.session.model import Client, Intake, Session
from screen_tui.session.store import SessionStore
from screen_tui.tui import lifecycle

SECRET = "K-SECRET"
REFUSED = "The session could not be saved: the disk is full."


async def at_stance(driver) -> None:
    driver.app.controller.begin(
        Client(label=SECRET, age=67), Intake(side="left", goals=("walking",))
    )
    driver.app.go_test()
    await driver.settle()
    await driver.press("n", "n")


async def crash_of(opening) -> None:
    def fail() -> None:
        raise ValueError("broken")

    async with opening as driver:
        driver.app.call_later(fail)
        await driver.settle()


@pytest.fixture
def full_disk(monkeypatch: pytest.MonkeyPatch) -> pytest.MonkeyPatch:
    """A disk that can be full; undo makes room on it."""
    return monkeypatch


def fill(disk: pytest.MonkeyPatch) -> None:
    def refuse(_store: SessionStore, _session: Session) -> None:
        raise SaveFailedError(REFUSED)

    disk.setattr(SessionStore, "save", refuse)


async def test_a_refused_save_is_shown_held_in_memory_and_tried_again(
    open_program, store: SessionStore, full_disk: pytest.MonkeyPatch
) -> None:
    async with open_program() as driver:
        await at_stance(driver)
        fill(full_disk)
        await driver.press("space", "space", "enter")
        assert "NOT SAVED" in driver.text()
        assert REFUSED in driver.words()
        await driver.press("1")
        assert "NOT SAVED" in driver.text()
        await driver.press("b")
        assert REFUSED in driver.words()
        assert len(driver.app.controller.session.trials) == 1
        full_disk.undo()
        await driver.press("space", "space", "enter")
        assert REFUSED not in driver.words()
        assert len(store.load(driver.app.controller.session.id).trials) == 2


@pytest.mark.parametrize(
    ("number", "code"), [(signal.SIGTERM, 0), (signal.SIGHUP, 0), (signal.SIGINT, 130)]
)
async def test_a_signal_keeps_the_trial_under_way_and_leaves(
    open_program, store: SessionStore, number: signal.Signals, code: int
) -> None:
    async with open_program() as driver:
        await at_stance(driver)
        await driver.press("space")
        session_id = driver.app.controller.session.id
        os.kill(os.getpid(), number)
        await driver.settle()
    assert driver.app.return_code == code
    (trial,) = store.load(session_id).trials
    assert trial.void == "the program was ended"


async def test_a_crash_shows_no_patient_text_and_says_where_its_report_is(
    open_program, store: SessionStore, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail() -> None:
        secret = f"{SECRET} fell on 3 March"
        raise ValueError(secret)

    opened = []

    async def crash() -> None:
        async with open_program() as driver:
            opened.append(driver)
            await at_stance(driver)
            driver.app.call_later(fail)
            await driver.settle()

    with pytest.raises(ValueError, match="fell on"):
        await crash()
    (driver,) = opened
    sentence = driver.app.crash_sentence
    (report,) = store.folder.rglob("crash-*.txt")
    assert report.parent == store.folder  # which was named; what is around it may be anybody's
    assert str(report) in sentence
    assert "had been saved" in sentence
    written = report.read_text(encoding="utf-8")
    assert "ValueError" in written
    assert "in fail" in written
    shown = capsys.readouterr()
    for text in (written, sentence, shown.out, shown.err):
        assert SECRET not in text
    assert report.stat().st_mode & 0o777 == 0o600
    assert store.load(driver.app.controller.session.id).client.label == SECRET


@pytest.mark.parametrize("demo", [False, True], ids=["usual", "demo"])
async def test_the_report_of_a_crash_is_beside_the_usual_folder_also_of_a_demonstration(
    open_program, store: SessionStore, tmp_path: Path, demo: bool
) -> None:
    usual = sessions_folder()
    if not demo:
        store = SessionStore(usual)
    with pytest.raises(ValueError, match="broken"):
        await crash_of(open_program(store=store, demo_folder=tmp_path if demo else None))
    (report,) = usual.parent.glob("crash-*.txt")
    assert report.is_file()
    assert not list(tmp_path.rglob("crash-*.txt"))


async def test_a_crash_of_saving_itself_is_reported_and_said_too(
    open_program, store: SessionStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(_session: Session) -> str:
        secret = f"{SECRET} cannot be written"
        raise TypeError(secret)

    opened = []

    async def crash() -> None:
        async with open_program() as driver:
            opened.append(driver)
            await at_stance(driver)
            monkeypatch.setattr(session_store, "session_text", fail)
            await driver.press("space", "space", "enter")

    with pytest.raises(TypeError):
        await crash()
    (driver,) = opened
    (report,) = store.folder.glob("crash-*.txt")
    assert "TypeError" in report.read_text(encoding="utf-8")
    assert str(report) in driver.app.crash_sentence
    assert "had NOT been saved" in driver.app.crash_sentence
    assert SECRET not in driver.app.crash_sentence + report.read_text(encoding="utf-8")


@pytest.mark.parametrize(("code", "expected"), [(0, 0), (None, 1), (1, 1), (3, 3)])
def test_only_a_plain_zero_is_success(code: int | None, expected: int) -> None:
    assert lifecycle.exit_code(code) == expected


def test_a_terminal_that_goes_away_is_noticed_and_one_that_never_was_is_not() -> None:
    answers = iter([True, True, False])
    watch = lifecycle.TerminalWatch(lambda: next(answers))
    assert not watch.orphaned()
    assert watch.orphaned()
    assert not lifecycle.TerminalWatch(lambda: False).orphaned()


async def test_a_file_changed_by_another_program_is_left_alone_and_shown(
    open_program, store: SessionStore
) -> None:
    async with open_program() as driver:
        await at_stance(driver)
        path = store.path_of(driver.app.controller.session.id)
        theirs = small.session(id=driver.app.controller.session.id)
        SessionStore(store.folder).load(theirs.id)
        path.write_text(path.read_text(encoding="utf-8") + "\n# theirs\n", encoding="utf-8")
        await driver.press("space", "space", "enter")
        assert "was changed by another program" in driver.words()
        assert path.read_text(encoding="utf-8").endswith("# theirs\n")
