"""What each command loads: the screens only where they are opened, the models only where read."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from support.note_case import note_protocol, note_session
from support.protocol_folder import write_protocol, write_session

_REPORT = """
import atexit, sys
def tell():
    heavy = [name for name in ("pydantic", "rich", "textual") if name in sys.modules]
    print("loaded:", *heavy, file=sys.stderr)
atexit.register(tell)
"""

_COMMAND = """
import pathlib
import screen_tui.files.places
screen_tui.files.places.protocols_folder = lambda: pathlib.Path({folder!r})
from screen_tui.cli.main import main
sys.exit(main({arguments!r}))
"""


def python(code: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", _REPORT + code],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )


def loaded(done: subprocess.CompletedProcess[str]) -> set[str]:
    line = next(line for line in done.stderr.splitlines() if line.startswith("loaded:"))
    return set(line.split()[1:])


@pytest.fixture
def places(tmp_path: Path) -> tuple[Path, Path]:
    folder = write_protocol(note_protocol(), tmp_path / "protocols")
    return folder, write_session(note_session(), tmp_path / "session.toml")


@pytest.mark.parametrize(
    "module",
    [
        "engine",
        "engine.assess",
        "report.note",
        "practice.player",
        "practice.run",
        "cli.note",
        "cli.check",
        "cli.main",
    ],
)
def test_importing_what_decides_loads_no_screen(module: str) -> None:
    done = python(f"import screen_tui.{module}")
    assert done.returncode == 0, done.stderr
    assert "textual" not in loaded(done)


@pytest.mark.parametrize(
    "command",
    [
        ["check"],
        ["assess"],
        ["assess", "--json"],
        ["note"],
        ["note", "-o", "-"],
        ["sheet", "--html"],
        ["export", "--fhir"],
        ["note", "--help"],
    ],
)
def test_a_command_on_a_session_loads_no_screen(
    places: tuple[Path, Path], command: list[str]
) -> None:
    folder, session = places
    name, *options = command
    arguments = [name, str(session), *options]
    done = python(_COMMAND.format(folder=str(folder), arguments=arguments))
    assert done.returncode == 0, done.stderr
    assert "textual" not in loaded(done)


def test_judging_a_session_loads_no_other_command() -> None:
    done = python("import screen_tui.cli.assess\nprint(*sys.modules)")
    assert done.returncode == 0, done.stderr
    others = {"trial", "practice", "tui", "report.note", "report.fhir", "session.store"}
    assert not {f"screen_tui.{other}" for other in others} & set(done.stdout.split())


@pytest.mark.parametrize("arguments", [["--version"], ["--help"], []])
def test_what_needs_no_file_answers_without_the_models(
    places: tuple[Path, Path], arguments: list[str]
) -> None:
    folder, _ = places
    done = python(_COMMAND.format(folder=str(folder), arguments=arguments))
    assert done.returncode == (0 if arguments else 2)
    assert not loaded(done)


def test_the_package_runs_as_a_module() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "screen_tui", "--version"],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert done.returncode == 0
    assert done.stdout.startswith("screen-tui ")


@pytest.mark.skipif(os.name != "posix", reason="pipes are closed differently elsewhere")
def test_a_reader_that_leaves_early_is_no_trouble(places: tuple[Path, Path]) -> None:
    folder, session = places
    code = _COMMAND.format(folder=str(folder), arguments=["note", str(session)])
    read, write = os.pipe()
    os.close(read)
    with os.fdopen(write, "wb") as closed:
        done = subprocess.run(
            [sys.executable, "-c", _REPORT + code],
            stdout=closed,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
            timeout=60,
        )
    assert done.returncode == 1
    assert done.stderr.splitlines() == [f"loaded: {' '.join(sorted(loaded(done)))}"]
