"""A re-test and what it follows, from visit to visit."""

from __future__ import annotations

from pathlib import Path

import pytest
from support import small_protocol as small

from screen_tui.errors import FileRefusedError, NotFoundError
from screen_tui.session.file import session_text
from screen_tui.session.folder import (
    FURTHEST_BACK,
    prior_visits,
    read_prior_visit,
    visits_back_from,
)
from screen_tui.session.model import Session

PROTOCOL = small.protocol(small.test_spec("stance"))


def put(folder: Path, name: str, follows: str = "", label: str = "K-7") -> Session:
    trial = {"test": "stance", "side": "left", "value": 5.0}
    client = {"label": label, "age": 67, "sex": "female"}
    made = small.session(trial, id=name, follows=follows, client=client)
    (folder / f"{name}.toml").write_text(session_text(made), encoding="utf-8")
    return made


def ids(first: Session, folder: Path) -> list[str]:
    return [one.id for one in visits_back_from(first, folder, PROTOCOL)]


def test_the_chain_goes_back_as_far_as_there_are_files(tmp_path: Path) -> None:
    last = put(tmp_path, "c", "b")
    put(tmp_path, "b", "a")
    assert ids(last, tmp_path) == ["c", "b"]
    put(tmp_path, "a")
    assert ids(last, tmp_path) == ["c", "b", "a"]


def test_what_is_gone_broken_or_does_not_fit_is_done_without(tmp_path: Path) -> None:
    assert prior_visits(put(tmp_path, "first"), tmp_path, PROTOCOL).visits == ()
    last = put(tmp_path, "last", "gone")
    assert prior_visits(last, tmp_path, PROTOCOL).visits == ()
    (tmp_path / "gone.toml").write_text("format = 3\nid = ", encoding="utf-8")
    assert prior_visits(last, tmp_path, PROTOCOL).visits == ()
    put(tmp_path, "gone")
    other = small.protocol(small.test_spec("rises"))
    assert prior_visits(last, tmp_path, other).visits == ()
    assert prior_visits(last, tmp_path, PROTOCOL).visits != ()


def test_why_it_is_done_without_can_be_shown(tmp_path: Path) -> None:
    client = put(tmp_path, "last").client
    with pytest.raises(NotFoundError, match="There is no file"):
        read_prior_visit("gone", client, tmp_path, PROTOCOL)
    (tmp_path / "broken.toml").write_text("format = 3\nid = ", encoding="utf-8")
    with pytest.raises(FileRefusedError):
        read_prior_visit("broken", client, tmp_path, PROTOCOL)


def test_nobody_follows_somebody_else(tmp_path: Path) -> None:
    last = put(tmp_path, "c", "b", label="k-7 ")
    put(tmp_path, "b", "a", label="K-7")
    put(tmp_path, "a", label="K-9")
    assert ids(last, tmp_path) == ["c", "b"]
    with pytest.raises(NotFoundError, match="of another patient"):
        read_prior_visit("a", last.client, tmp_path, PROTOCOL)
    assert read_prior_visit("a", None, tmp_path, PROTOCOL).id == "a"


def test_files_that_follow_each_other_end(tmp_path: Path) -> None:
    first = put(tmp_path, "a", "b")
    put(tmp_path, "b", "a")
    assert ids(first, tmp_path) == ["a", "b"]
    made = [put(tmp_path, f"v-{number}", f"v-{number + 1}") for number in range(20)]
    assert len(ids(made[0], tmp_path)) == FURTHEST_BACK


def test_earlier_visits_say_which_they_lack_and_why(tmp_path: Path) -> None:
    made = [put(tmp_path, f"v-{number}", f"v-{number + 1}") for number in range(FURTHEST_BACK + 2)]
    found = prior_visits(made[0], tmp_path, PROTOCOL)
    assert len(found.visits) == FURTHEST_BACK
    assert found.lacks == f"v-{FURTHEST_BACK + 1}. No more than 12 visits back are looked at."
    last = prior_visits(made[-1], tmp_path, PROTOCOL)
    assert last.visits == ()
    assert last.lacks.startswith(f"v-{FURTHEST_BACK + 2}. There is no file")


def test_earlier_visits_back_to_the_first_lack_nothing(tmp_path: Path) -> None:
    made = [put(tmp_path, f"v-{number}", f"v-{number + 1}") for number in range(FURTHEST_BACK)]
    put(tmp_path, f"v-{FURTHEST_BACK}")
    found = prior_visits(made[0], tmp_path, PROTOCOL)
    assert (len(found.visits), found.lacks) == (FURTHEST_BACK, "")
