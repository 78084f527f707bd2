from pathlib import Path

import pytest

import screen_tui
from screen_tui.errors import NotFoundError
from screen_tui.files.places import demo_folder, protocols_folder, sessions_folder


@pytest.fixture
def package(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Let the package stand in an empty folder."""
    folder = tmp_path / "place" / "screen_tui"
    folder.mkdir(parents=True)
    monkeypatch.setattr(screen_tui, "__file__", str(folder / "__init__.py"))
    return folder


@pytest.mark.parametrize(
    ("find", "inside", "beside"),
    [
        (protocols_folder, "_protocols", "protocols"),
        (demo_folder, "_demo_sessions", "demo_sessions"),
    ],
)
def test_what_is_shipped_is_sought_inside_the_package_then_beside_it(
    package: Path, find, inside: str, beside: str
) -> None:
    with pytest.raises(NotFoundError) as caught:
        find()
    assert str(package / inside) in str(caught.value)
    assert str(package.parent / beside) in str(caught.value)
    (package.parent / beside).mkdir()
    assert find() == package.parent / beside
    (package / inside).mkdir()
    assert find() == package / inside


def test_this_installation_has_both_folders() -> None:
    assert protocols_folder().is_dir()
    assert demo_folder().is_dir()


def test_sessions_go_where_they_are_asked_to_then_home_then_the_systems_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SCREEN_TUI_HOME", str(tmp_path / "stick"))
    assert sessions_folder(tmp_path / "asked") == tmp_path / "asked"
    assert sessions_folder() == tmp_path / "stick" / "sessions"
    monkeypatch.delenv("SCREEN_TUI_HOME")
    monkeypatch.setattr("platformdirs.user_data_path", lambda *_a, **_k: tmp_path / "data")
    assert sessions_folder() == tmp_path / "data" / "sessions"
    assert not (tmp_path / "data").exists()
