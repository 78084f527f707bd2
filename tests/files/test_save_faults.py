"""Whatever step of a save fails: one whole version on disk, all of it in memory, no litter."""

from __future__ import annotations

import errno
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.faulty_disk import REFUSALS, STEPS, FaultyDisk, Killed
from support.thorough import examples

from screen_tui.errors import SaveFailedError
from screen_tui.session.file import load_session, session_text
from screen_tui.session.folder import remove_stale_files
from screen_tui.session.model import Session, Trial
from screen_tui.session.store import SessionStore


@pytest.fixture
def disk(monkeypatch: pytest.MonkeyPatch) -> FaultyDisk:
    return FaultyDisk(monkeypatch)


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def longer(session: Session, value: float = 3.0) -> Session:
    return session.with_trial(Trial(test="one-leg", side="right", value=value))


@pytest.mark.parametrize("code", REFUSALS)
@pytest.mark.parametrize("step", STEPS)
def test_a_failing_step_leaves_one_whole_version_and_says_what_to_do(
    store: SessionStore, session: Session, disk: FaultyDisk, step: str, code: int
) -> None:
    path = store.save(session).path
    more = longer(session)
    disk.fail(step, code)
    with pytest.raises(SaveFailedError) as caught:
        store.save(more)
    assert str(caught.value) == (
        f"The session could not be saved in {store.folder}: {REFUSALS[code]} "
        "Nothing is lost as long as the program stays open."
    )
    assert names(store.folder) == {path.name}
    assert load_session(path) == (more if step == "sync folder" else session)
    disk.heal()
    saved = store.save(longer(more, 4.0))
    assert (saved.path, saved.kept_beside) == (path, None)
    assert load_session(path) == longer(more, 4.0)
    assert names(store.folder) == {path.name}


@pytest.mark.parametrize("code", REFUSALS)
@pytest.mark.parametrize("step", ["make folder", *STEPS])
def test_the_very_first_save_may_fail_at_any_step(
    store: SessionStore, session: Session, disk: FaultyDisk, step: str, code: int
) -> None:
    disk.fail(step, code)
    with pytest.raises(SaveFailedError):
        store.save(session)
    disk.heal()
    saved = store.save(session)
    assert (saved.path.stem, saved.kept_beside) == (session.id, None)
    assert load_session(saved.path) == session
    assert names(store.folder) == {saved.path.name}


def test_where_cleaning_up_fails_too_the_first_failure_is_shown(
    store: SessionStore, session: Session, disk: FaultyDisk, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = store.save(session).path

    def read_only(_path: Path) -> None:
        raise OSError(errno.EROFS, "Read-only file system")

    disk.fail("write", errno.EIO)
    with monkeypatch.context() as patch:
        patch.setattr(Path, "unlink", read_only)
        with pytest.raises(SaveFailedError, match="the disk reports a fault"):
            store.save(longer(session))
    assert load_session(path) == session
    disk.heal()
    assert load_session(store.save(longer(session)).path) == longer(session)


@pytest.mark.parametrize("step", STEPS)
def test_a_failure_while_going_on_beside_leaves_no_second_copy(
    store: SessionStore, session: Session, disk: FaultyDisk, step: str
) -> None:
    path = store.save(session).path
    theirs = session_text(session).replace("6.2", "7.7")
    path.write_text(theirs, encoding="utf-8")
    disk.fail(step, errno.ENOSPC)
    with pytest.raises(SaveFailedError):
        store.save(longer(session))
    disk.heal()
    saved = store.save(longer(session))
    assert (saved.path.stem, saved.kept_beside) == (f"{session.id}-copy-1", path)
    assert path.read_text(encoding="utf-8") == theirs
    assert names(store.folder) == {path.name, saved.path.name}


FAULTS = st.one_of(
    st.none(),
    st.tuples(st.sampled_from(STEPS), st.sampled_from([*REFUSALS, "killed"])),
)


@settings(max_examples=examples(150))
@given(st.lists(FAULTS, max_size=12), st.booleans())
def test_the_file_is_always_one_of_the_versions_that_were_saved(
    faults: list[tuple[str, object] | None], begins_as_format_1: bool
) -> None:
    version = Session.model_validate(
        {
            "id": "a",
            "protocol": "small",
            "started": "2026-03-02T09:15:00+01:00",
            "client": {"label": "K-014", "age": 67},
        }
    )
    with tempfile.TemporaryDirectory() as place, FaultyDisk.inserted() as disk:
        folder = Path(place)
        path = folder / "a.toml"
        store = SessionStore(folder)
        given_to_save = []
        original = session_text(version).replace("format = 3", "format = 1").encode()
        if begins_as_format_1:
            path.write_bytes(original)
            given_to_save.append(store.load("a"))
        for number, fault in enumerate((*faults, None)):
            version = longer(version, float(number))
            given_to_save.append(version)
            if fault is not None and fault[1] == "killed":
                disk.kill(fault[0])
            elif fault is not None:
                disk.fail(fault[0], int(str(fault[1])))
            try:
                store.save(version)
            except SaveFailedError:
                assert fault is not None
            except Killed:
                disk.heal()
                store = SessionStore(folder)
                version = store.load("a") if path.exists() else version
            else:
                assert fault is None
                assert load_session(path) == version
            disk.heal()
            if path.exists():
                assert load_session(path) in given_to_save
            left = [one for one in folder.iterdir() if not one.name.endswith(".tmp")]
            if begins_as_format_1:
                assert original in [one.read_bytes() for one in left]
                left = [one for one in left if one.suffix != ".kept"]
            assert left in ([], [path])
        killed = sum(fault is not None and fault[1] == "killed" for fault in faults)
        assert len(list(folder.glob(".*.tmp"))) <= killed
        remove_stale_files(folder)
        assert load_session(path) == version
