"""Sessions that cannot be written wait, also while another folder is tried for them."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest
from support import small_protocol as small
from support.clock import FakeClock

from screen_tui.errors import SaveFailedError
from screen_tui.session.model import Client, Intake, Session
from screen_tui.session.store import SessionStore
from screen_tui.tui.controller import SessionController

BEGUN = datetime(2026, 3, 2, 9, 15, tzinfo=UTC)
Refuse = Callable[[Path, str], bool]


@pytest.fixture
def refusing(monkeypatch: pytest.MonkeyPatch) -> Callable[[Refuse], None]:
    """Have saves fail where that says so, by folder and label."""
    real = SessionStore.save

    def use(refuse: Refuse) -> None:
        def save(self: SessionStore, session: Session) -> object:
            if refuse(self.folder, session.client.label):
                raise SaveFailedError("The disk is full.")
            return real(self, session)

        monkeypatch.setattr(SessionStore, "save", save)

    return use


def keeper_in(folder: Path) -> SessionController:
    protocol = small.protocol(small.test_spec("stance"))
    return SessionController(protocol, SessionStore(folder), FakeClock(wall=BEGUN))


def begin(controller: SessionController, label: str) -> str:
    controller.begin(Client(label=label, age=67), Intake(side="left", goals=("walking",)))
    return controller.session.id


@pytest.fixture
def left_unsaved(tmp_path: Path, refusing) -> tuple[SessionController, str, str]:
    """A controller with one session that waits and another in hand; nothing goes to its folder."""
    controller = keeper_in(tmp_path / "first")
    refusing(lambda folder, _: folder == tmp_path / "first")
    one = begin(controller, "K-1")
    controller.let_go()
    return controller, one, begin(controller, "K-2")


@pytest.mark.parametrize("failing", ["K-1", "K-2"], ids=["the-waiting-one", "the-one-in-hand"])
def test_what_moved_in_part_is_where_it_was(
    tmp_path: Path, refusing, left_unsaved, failing: str
) -> None:
    controller, one, two = left_unsaved
    first = tmp_path / "first"
    refusing(lambda folder, label: folder == first or label == failing)
    assert not controller.save_in(tmp_path / "other")
    assert controller.store.folder == first
    assert [session.id for session in controller.unsaved] == [one]
    assert controller.trouble
    controller.let_go()
    assert {session.id for session in controller.unsaved} == {one, two}
    refusing(lambda *_: False)
    assert controller.save()
    assert {path.stem for path in first.glob("*.toml")} == {one, two}


def test_all_that_waits_goes_along_to_the_other_folder(tmp_path: Path, left_unsaved) -> None:
    controller, one, two = left_unsaved
    other = tmp_path / "other"
    assert controller.save_in(other)
    assert controller.unsaved == ()
    assert {path.stem for path in other.glob("*.toml")} == {one, two}


def test_answers_are_forgotten_once_their_own_session_is_saved(
    monkeypatch: pytest.MonkeyPatch, refusing, left_unsaved
) -> None:
    controller, one, _ = left_unsaved
    forgotten: list[bool] = []
    monkeypatch.setattr(controller.draft, "session_saved", lambda: forgotten.append(True))
    assert not controller.save()
    assert forgotten == []
    refusing(lambda _, label: label == "K-1")
    assert not controller.save()
    assert forgotten == [True]
    assert [session.id for session in controller.unsaved] == [one]


def test_a_retest_that_waits_still_knows_its_earlier_visit(tmp_path: Path, refusing) -> None:
    controller = keeper_in(tmp_path)
    begin(controller, "K-1")
    earlier = controller.session
    controller.let_go()
    refusing(lambda *_: True)
    controller.begin(earlier.client, earlier.intake, earlier)
    waiting = controller.session.id
    controller.let_go()
    controller.resume(waiting)
    assert controller.earlier == earlier
