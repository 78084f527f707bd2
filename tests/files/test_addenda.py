"""What is added to a finished session: the file grows at its end, and nothing in it changes."""

from __future__ import annotations

import errno
import os
import stat
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError
from support.faulty_disk import FaultyDisk

from screen_tui.errors import (
    EntryRefusedError,
    FileRefusedError,
    NotFoundError,
    OpenElsewhereError,
    SaveFailedError,
)
from screen_tui.files.toml import read_toml
from screen_tui.protocol.loader import load_protocol
from screen_tui.session import file as session_file
from screen_tui.session.file import (
    addendum_text,
    append_to_file,
    check_against,
    load_session,
    session_in,
    session_text,
)
from screen_tui.session.model import Addendum, Session, Trial
from screen_tui.session.store import SessionStore

WRITTEN = datetime(2026, 3, 3, 8, 10, tzinfo=UTC)


def addendum(**more: Any) -> Addendum:
    base = {"written": WRITTEN, "reason": "key pressed too late", "trial": 1, "value": 5.8}
    return Addendum.model_validate(base | more)


CORRECTED = addendum()
STRUCK_OUT = addendum(trial=2, value=None, struck_out=True, reason="helped")
WORDS = addendum(trial=None, value=None, text='He said "it was windy" \\ Übung')


# What it may say.


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"struck_out": True}, "not both"),
        ({"trial": None}, "the trial whose value is corrected or that is void is missing"),
        ({"trial": None, "value": None, "struck_out": True}, "is missing"),
        ({"trial": None, "value": None}, "needs a text"),
        ({"value": None}, "needs a text"),
        ({"value": None, "text": "  "}, "needs a text"),
        ({"reason": ""}, "at least 1 character"),
        ({"reason": "a" * 401}, "at most 400"),
        ({"reason": "a\x1b[2J"}, "control character"),
        ({"text": "a\nb"}, "control character"),
        ({"trial": 0}, "greater than or equal to 1"),
        ({"value": 4000}, "less than or equal to 3600"),
        ({"value": float("nan")}, "finite"),
        ({"written": datetime(2026, 3, 3, 8, 10)}, "timezone"),  # noqa: DTZ001
    ],
)
def test_what_cannot_be_shown(more: dict[str, Any], told: str) -> None:
    with pytest.raises(ValidationError, match=told):
        addendum(**more)


def test_it_is_about_a_trial_there_is(session: Session) -> None:
    data = session.model_dump()
    assert Session.model_validate(data | {"addenda": (addendum(trial=3),)})
    with pytest.raises(ValidationError, match="addendum 2 is about trial 4, and the session has 3"):
        Session.model_validate(data | {"addenda": (CORRECTED, addendum(trial=4))})


def test_a_file_that_speaks_of_a_missing_trial_is_refused_with_its_line(
    session: Session, tmp_path: Path
) -> None:
    path = tmp_path / "a.toml"
    text = session_text(session)
    path.write_text(f"{text}\n{addendum_text(addendum(trial=9))}", encoding="utf-8")
    with pytest.raises(FileRefusedError) as caught:
        load_session(path)
    (problem,) = caught.value.problems
    assert (problem.field, problem.line) == ("addenda", len(text.splitlines()) + 2)


# What it does to the trials.


def test_a_corrected_trial_keeps_what_stood_there(session: Session) -> None:
    amended = session.model_copy(update={"addenda": (CORRECTED,)}).as_amended.trials[0]
    assert amended == session.trials[0].model_copy(
        update={"value": 5.8, "corrected_from": 6.2, "correction": "key pressed too late"}
    )


def test_a_second_correction_still_tells_the_first_value(session: Session) -> None:
    more = (CORRECTED, addendum(value=7.0, reason="read again"))
    amended = session.model_copy(update={"addenda": more}).as_amended.trials[0]
    assert (amended.value, amended.corrected_from, amended.correction) == (7.0, 6.2, "read again")


def test_a_trial_corrected_before_the_end_still_tells_its_first_value(session: Session) -> None:
    before = session.trials[0].model_copy(update={"corrected_from": 9.9, "correction": "typing"})
    kept = session.with_trial_amended(0, before)
    amended = kept.model_copy(update={"addenda": (CORRECTED,)}).as_amended.trials[0]
    assert (amended.value, amended.corrected_from) == (5.8, 9.9)


def test_a_struck_out_trial_does_not_count(session: Session) -> None:
    amended = session.model_copy(update={"addenda": (STRUCK_OUT,)}).as_amended
    assert [trial.void for trial in amended.trials] == ["", "helped", ""]
    assert amended.trials[1].value == 9.4


def test_a_hold_that_is_no_longer_full_did_not_end_at_its_full_time() -> None:
    full = Trial(test="one-leg", side="left", value=45.0, ended="cap")
    assert addendum(value=30.0).applied_to(full).ended == ""
    assert addendum(value=45.0).applied_to(full).ended == "cap"
    short = full.model_copy(update={"ended": "foot-down"})
    assert addendum(value=30.0).applied_to(short).ended == "foot-down"


def test_words_change_no_trial_and_without_addenda_nothing_is_copied(session: Session) -> None:
    assert session.as_amended is session
    said = session.model_copy(update={"addenda": (WORDS, addendum(value=None, text="windy"))})
    assert said.as_amended == said
    assert [one.changes_a_trial for one in said.addenda] == [False, False]


any_addendum = st.builds(
    lambda trial, value, reason: Addendum(
        written=WRITTEN, reason=reason, trial=trial, value=value, struck_out=value is None
    ),
    st.integers(1, 2),
    st.sampled_from([None, 30.0, 45.0, 5.8]),
    st.sampled_from(["a", "b"]),
)


@given(st.lists(any_addendum, max_size=6))
def test_amending_twice_changes_nothing_more(addenda: list[Addendum]) -> None:
    full = Trial(test="one-leg", side="left", value=45.0, ended="cap")
    made = Session.model_validate(
        {
            "id": "a",
            "protocol": "small",
            "started": WRITTEN,
            "client": {"label": "K-001", "age": 65},
            "trials": (full, full.model_copy(update={"corrected_from": 1.0, "correction": "x"})),
            "addenda": tuple(addenda),
        }
    )
    amended = made.as_amended
    assert amended.as_amended == amended
    assert amended.addenda == made.addenda
    assert made.trials[0] == full


# The file.


@pytest.mark.parametrize("ends", ["", "\n", "\n\n", "\r\n", "\n# a remark", "\n[[skipped]]\n"])
def test_what_stood_in_the_file_stays_to_the_byte(
    session: Session, tmp_path: Path, ends: str
) -> None:
    path = tmp_path / "any name.toml"
    tail = ends + ('test = "stairs"\nreason = "no"' if "skipped" in ends else "")
    path.write_bytes(b"\xef\xbb\xbf" + session_text(session).rstrip("\n").encode() + tail.encode())
    kept = load_session(path)
    for count, one in enumerate((CORRECTED, STRUCK_OUT, WORDS), start=1):
        before = path.read_bytes()
        made = append_to_file(path, one)
        after = path.read_bytes()
        assert after.startswith(before)
        assert after != before
        assert made == load_session(path)
        assert len(made.addenda) == count
        assert made.addenda[-1] == one
    assert load_session(path).model_copy(update={"addenda": ()}) == kept
    assert [item.name for item in tmp_path.iterdir()] == [path.name]


def test_only_what_is_given_is_written() -> None:
    assert addendum_text(STRUCK_OUT) == (
        "[[addenda]]\n"
        "written = 2026-03-03T08:10:00+00:00\n"
        'reason = "helped"\n'
        "trial = 2\n"
        "struck_out = true\n"
    )


def test_a_session_of_an_earlier_format_grows_in_that_format(
    session: Session, tmp_path: Path
) -> None:
    path = tmp_path / "a.toml"
    path.write_text(session_text(session).replace("format = 3", "format = 1"), encoding="utf-8")
    append_to_file(path, CORRECTED)
    assert path.read_text(encoding="utf-8").startswith("format = 1\n")
    assert load_session(path).addenda == (CORRECTED,)


def test_a_session_with_addenda_is_written_and_read_again(
    session: Session, store: SessionStore
) -> None:
    whole = session.model_copy(update={"addenda": (CORRECTED, STRUCK_OUT, WORDS)})
    assert load_session(store.save(whole).path) == whole


@pytest.mark.skipif(os.name != "posix", reason="modes are a matter of POSIX")
def test_only_its_owner_may_read_what_was_added(session: Session, tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_text(session_text(session), encoding="utf-8")
    path.chmod(0o644)
    append_to_file(path, CORRECTED)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_an_unfinished_session_is_edited_and_not_added_to(session: Session, tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_text(session_text(session.model_copy(update={"finished": None})), encoding="utf-8")
    before = path.read_bytes()
    with pytest.raises(EntryRefusedError, match="not finished"):
        append_to_file(path, CORRECTED)
    assert path.read_bytes() == before


@pytest.mark.parametrize("addenda", ["addenda = []\n", 'addenda = [{reason = "x"}]\n'])
def test_a_file_that_cannot_grow_at_its_end_is_refused_whole(
    session: Session, tmp_path: Path, addenda: str
) -> None:
    path = tmp_path / "a.toml"
    path.write_text(
        session_text(session).replace("format = 3\n", f"format = 3\n{addenda}"), encoding="utf-8"
    )
    before = path.read_bytes()
    with pytest.raises(FileRefusedError):
        append_to_file(path, CORRECTED)
    assert path.read_bytes() == before


def test_a_trial_that_is_not_there_is_refused(session: Session, tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_text(session_text(session), encoding="utf-8")
    with pytest.raises(EntryRefusedError, match="There is no trial 4: the session has 3"):
        append_to_file(path, addendum(trial=4))


def test_a_link_and_what_is_not_there_are_refused(session: Session, tmp_path: Path) -> None:
    path, link = tmp_path / "a.toml", tmp_path / "b.toml"
    path.write_text(session_text(session), encoding="utf-8")
    link.symlink_to(path)
    with pytest.raises(FileRefusedError, match="is a link"):
        append_to_file(link, CORRECTED)
    with pytest.raises(NotFoundError):
        append_to_file(tmp_path / "gone.toml", CORRECTED)


@pytest.mark.parametrize("step", ["create", "write", "sync", "replace"])
def test_a_disk_that_refuses_leaves_the_file_as_it_was(
    session: Session, store: SessionStore, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    path = store.save(session).path
    before = path.read_bytes()
    FaultyDisk(monkeypatch).fail(step, errno.ENOSPC)
    with pytest.raises(SaveFailedError, match="the disk is full"):
        append_to_file(path, CORRECTED)
    assert path.read_bytes() == before


def test_a_file_that_changes_in_the_same_instant_is_left_alone(
    session: Session, store: SessionStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = store.save(session).path
    really_parse = session_file.parse_toml

    def parse_late(content: bytes, where: Path) -> Any:
        where.write_bytes(where.read_bytes() + b"# theirs\n")
        return really_parse(content, where)

    monkeypatch.setattr(session_file, "parse_toml", parse_late)
    with pytest.raises(SaveFailedError, match="was changed meanwhile"):
        append_to_file(path, CORRECTED)
    assert path.read_bytes().endswith(b"# theirs\n")


# The folder of sessions.


def test_the_store_adds_and_goes_on_from_there(session: Session, store: SessionStore) -> None:
    path = store.save(session).path
    before = path.read_bytes()
    assert store.append(session.id, CORRECTED).addenda == (CORRECTED,)
    assert path.read_bytes().startswith(before)
    assert store.append(session.id, WORDS).addenda == (CORRECTED, WORDS)
    assert store.load(session.id).addenda == (CORRECTED, WORDS)
    assert SessionStore(store.folder).append(session.id, STRUCK_OUT).addenda[2] == STRUCK_OUT


def test_the_store_refuses_a_file_that_changed_since_it_was_loaded(
    session: Session, store: SessionStore
) -> None:
    path = store.save(session).path
    other = SessionStore(store.folder)
    other.load(session.id)
    path.write_bytes(path.read_bytes() + b"# theirs\n")
    before = path.read_bytes()
    with pytest.raises(SaveFailedError, match="was changed meanwhile"):
        other.append(session.id, CORRECTED)
    assert path.read_bytes() == before
    other.load(session.id)
    assert other.append(session.id, CORRECTED).addenda == (CORRECTED,)


def test_a_session_that_is_open_is_not_added_to_from_elsewhere(
    session: Session, store: SessionStore
) -> None:
    path = store.save(session).path
    store.hold(session.id)
    before = path.read_bytes()
    with pytest.raises(OpenElsewhereError):
        SessionStore(store.folder).append(session.id, CORRECTED)
    with pytest.raises(OpenElsewhereError):
        append_to_file(path, CORRECTED)
    assert path.read_bytes() == before
    # Whoever has it may, and still has it afterwards.
    store.append(session.id, CORRECTED)
    assert not SessionStore(store.folder).hold(session.id)
    store.release_all()
    assert append_to_file(path, WORDS).addenda == (CORRECTED, WORDS)


@pytest.mark.parametrize(("test", "told"), [("one-leg", False), ("extension", True)])
def test_a_value_is_corrected_only_where_a_test_has_one(
    session: Session, store: SessionStore, protocol: Any, test: str, told: bool
) -> None:
    trial = Trial(test=test, side="left", signs=())
    whole = session.model_copy(update={"trials": (trial,), "skipped": (), "addenda": (CORRECTED,)})
    document = read_toml(store.save(whole).path)
    small = load_protocol([protocol.path], "small")
    if not told:
        check_against(session_in(document), small, document)
        return
    with pytest.raises(FileRefusedError) as caught:
        check_against(session_in(document), small, document)
    assert [problem.field for problem in caught.value.problems] == ["addenda[0].value"]
