from pathlib import Path

from screen_tui.session.file import load_session, session_text
from screen_tui.session.model import Client, Session, Skip, Trial
from screen_tui.session.store import SessionStore


def toml_files(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def test_a_file_changed_by_another_is_left_and_ours_goes_on_beside_it(
    store: SessionStore, session: Session
) -> None:
    path = store.save(session).path
    theirs = session_text(session).replace("6.2", "7.7")
    path.write_text(theirs, encoding="utf-8")

    more = session.with_trial(Trial(test="one-leg", side="right", value=3.0))
    saved = store.save(more)
    assert saved.kept_beside == path
    assert saved.path == store.path_of(session.id) == store.folder / f"{session.id}-copy-1.toml"

    final = more.with_trial(Trial(test="one-leg", side="right", value=4.0))
    again = store.save(final)
    assert (again.path, again.kept_beside) == (saved.path, None)

    assert path.read_text(encoding="utf-8") == theirs
    copy_id = f"{session.id}-copy-1"
    assert SessionStore(store.folder).load(copy_id) == final.model_copy(update={"id": copy_id})
    assert toml_files(store.folder) == {path.name, saved.path.name}


def test_two_stores_on_one_session_never_overwrite_each_other(
    store: SessionStore, session: Session
) -> None:
    store.save(session)
    other = SessionStore(store.folder)
    assert other.load(session.id) == session
    ours = session.with_trial(Trial(test="one-leg", side="right", value=1.0))
    theirs = session.with_trial(Trial(test="one-leg", side="right", value=2.0))
    first, second = store.save(ours).path, other.save(theirs).path
    assert load_session(first).trials[-1].value == 1.0
    assert load_session(second).trials[-1].value == 2.0


def test_a_copy_that_is_changed_by_another_gets_a_copy_of_its_own(
    store: SessionStore, session: Session
) -> None:
    path = store.save(session).path
    path.write_text(session_text(session).replace("6.2", "7.7"), encoding="utf-8")
    copy = store.save(session).path
    copy.write_text("not even TOML", encoding="utf-8")
    saved = store.save(session)
    assert (saved.path.stem, saved.kept_beside) == (f"{session.id}-copy-2", copy)
    resumed = SessionStore(store.folder).load(saved.path.stem)
    assert store.save(resumed).path == saved.path


def test_a_new_session_never_takes_the_place_of_an_older_one_with_its_id(
    store: SessionStore, session: Session
) -> None:
    path = store.save(session).path
    stranger = session.model_copy(update={"client": Client(label="K-099", age=40)})
    saved = SessionStore(store.folder).save(stranger)
    assert saved.kept_beside == path
    assert load_session(path) == session
    assert load_session(saved.path).client.label == "K-099"


def test_saving_goes_on_after_the_file_was_deleted(store: SessionStore, session: Session) -> None:
    path = store.save(session).path
    path.unlink()
    assert store.save(session).path == path
    assert load_session(path) == session


def test_loading_the_other_version_goes_on_in_that_file(
    store: SessionStore, session: Session
) -> None:
    path = store.save(session).path
    path.write_text(session_text(session).replace("6.2", "7.7"), encoding="utf-8")
    store.save(session)
    theirs = store.load(session.id)
    assert theirs.trials[0].value == 7.7
    assert store.save(theirs.with_skip(Skip(test="stairs", reason="tired"))).path == path
