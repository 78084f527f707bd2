"""Folders of protocols and sessions for the tests of what touches files."""

import shutil
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest
from support.fuzzing import GIVEN

from screen_tui.session.model import Client, Intake, Session, Skip, Trial
from screen_tui.session.store import SessionStore

SMALL_PROTOCOL = Path(__file__).parent / "small_protocol"
"""An invented protocol, whole and without mistakes, for tests to break one way at a time."""


class Folder:
    """A folder of text files that can be changed by exact replacement."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def write(self, name: str, text: str) -> Path:
        path = self.path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        return path

    def replace(self, name: str, old: str, new: str) -> Path:
        text = (self.path / name).read_text(encoding="utf-8")
        assert old in text, f"{old!r} is not in {name}"
        return self.write(name, text.replace(old, new))

    def line(self, name: str, text: str) -> int:
        """The only line of a file that holds a text."""
        lines = (self.path / name).read_text(encoding="utf-8").splitlines()
        (found,) = [number for number, line in enumerate(lines, 1) if text in line]
        return found


@pytest.fixture
def make_folder(tmp_path: Path) -> Callable[[str], Folder]:
    def make(name: str) -> Folder:
        (tmp_path / name).mkdir()
        return Folder(tmp_path / name)

    return make


@pytest.fixture
def protocol(make_folder: Callable[[str], Folder]) -> Folder:
    """A copy of the small protocol."""
    folder = make_folder("protocols")
    shutil.copytree(SMALL_PROTOCOL, folder.path, dirs_exist_ok=True)
    return folder


@pytest.fixture
def clinic(make_folder: Callable[[str], Folder]) -> Folder:
    """An empty folder for a clinic's own files."""
    return make_folder("clinic")


@pytest.fixture
def session() -> Session:
    """A finished session of an invented person with the small protocol."""
    return Session(
        id="2026-03-02-0915-7f3a",
        protocol="small",
        protocol_digest="sha256:00",
        started=datetime(2026, 3, 2, 9, 15, tzinfo=UTC),
        finished=datetime(2026, 3, 2, 9, 40, 1, 250000, tzinfo=UTC),
        synthetic=True,
        client=Client(label="K-014", age=67, sex="female", height_cm=164),
        intake=Intake(
            complaints=("pain", "giving-way"),
            side="left",
            goals=("stairs",),
            safety_asked=("clot", "locked-knee"),
        ),
        trials=(
            Trial(test="one-leg", side="left", value=6.2, signs=("pelvis-drops",), pain=3),
            Trial(test="one-leg", side="left", value=9.4, cue="pelvis-level"),
            Trial(test="stairs", direction="up", steps=10, value=8.1, splits=(0.8, 1.6)),
        ),
        skipped=(Skip(test="extension", side="right", reason="not asked for"),),
    )


@pytest.fixture
def store(tmp_path: Path) -> SessionStore:
    """A store whose folder does not exist yet."""
    return SessionStore(tmp_path / "deep" / "sessions")


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Tell how many wrong files were tried."""
    if GIVEN:
        told = ", ".join(f"{number} {what}" for what, number in sorted(GIVEN.items()))
        terminalreporter.write_line(f"wrong files given to the program: {GIVEN.total()} ({told})")
