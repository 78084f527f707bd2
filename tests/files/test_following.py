"""A re-test and what it follows, from visit to visit."""

from __future__ import annotations

from pathlib import Path

from support import small_protocol as small

from screen_tui.session.following import MOST, chain_of, followed
from screen_tui.session.sessionfile import session_text

PROTOCOL = small.protocol(small.test_spec("stance"))


def put(folder: Path, name: str, follows: str = "") -> None:
    made = small.session({"test": "stance", "side": "left", "value": 5.0}, id=name, follows=follows)
    (folder / f"{name}.toml").write_text(session_text(made), encoding="utf-8")


def test_the_chain_goes_back_as_far_as_there_are_files(tmp_path: Path) -> None:
    put(tmp_path, "c", "b")
    put(tmp_path, "b", "a")
    first = followed("c", tmp_path, PROTOCOL)
    assert [one.id for one in chain_of(first, tmp_path, PROTOCOL)] == ["c", "b"]
    put(tmp_path, "a")
    assert [one.id for one in chain_of(first, tmp_path, PROTOCOL)] == ["c", "b", "a"]


def test_what_is_gone_broken_or_does_not_fit_is_done_without(tmp_path: Path) -> None:
    assert followed("", tmp_path, PROTOCOL) is None
    assert followed("gone", tmp_path, PROTOCOL) is None
    (tmp_path / "broken.toml").write_text("format = 2\nid = ", encoding="utf-8")
    assert followed("broken", tmp_path, PROTOCOL) is None
    put(tmp_path, "a")
    other = small.protocol(small.test_spec("rises"))
    assert followed("a", tmp_path, other) is None


def test_files_that_follow_each_other_end(tmp_path: Path) -> None:
    put(tmp_path, "a", "b")
    put(tmp_path, "b", "a")
    first = followed("a", tmp_path, PROTOCOL)
    assert [one.id for one in chain_of(first, tmp_path, PROTOCOL)] == ["a", "b"]
    for number in range(20):
        put(tmp_path, f"v-{number}", f"v-{number + 1}")
    assert len(chain_of(followed("v-0", tmp_path, PROTOCOL), tmp_path, PROTOCOL)) == MOST
