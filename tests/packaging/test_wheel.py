"""The wheel, installed into a clean environment outside the checkout, brings all it needs."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import venv
from pathlib import Path

import pytest

from screen_tui.guides import TOPICS, guide

ROOT = Path(__file__).parents[2]

pytestmark = pytest.mark.packaging


def run(*command: str | Path, cwd: Path) -> str:
    environment = {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "VIRTUAL_ENV")}
    done = subprocess.run(
        [str(part) for part in command], cwd=cwd, env=environment, capture_output=True, text=True
    )
    assert done.returncode == 0, f"{command}\n{done.stdout}\n{done.stderr}"
    return done.stdout


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A fresh environment with the wheel in it; gives its folder of commands."""
    folder = tmp_path_factory.mktemp("wheel")
    run(sys.executable, "-m", "build", "--wheel", "--outdir", folder, ROOT, cwd=folder)
    (wheel,) = folder.glob("*.whl")
    venv.create(folder / "clean")
    commands = folder / "clean" / "bin"
    pip = (sys.executable, "-m", "pip", "--python", commands / "python")
    run(*pip, "install", "--quiet", wheel, cwd=folder)
    return commands


def test_the_installed_command_finds_its_protocols(installed: Path, tmp_path: Path) -> None:
    listed = json.loads(run(installed / "screen-tui", "protocols", "--json", cwd=tmp_path))
    shipped = {path.stem for path in (ROOT / "protocols" / "tests").glob("*.toml")}
    assert {test["test"] for test in listed["tests"]} == shipped
    assert str(ROOT) not in json.dumps(listed)


def test_the_installed_command_brings_every_guide(installed: Path, tmp_path: Path) -> None:
    for topic in TOPICS:
        assert run(installed / "screen-tui", "help", topic, cwd=tmp_path) == guide(topic)


def test_the_installed_command_assesses_a_demo_session_it_brought(
    installed: Path, tmp_path: Path
) -> None:
    found = run(
        installed / "python",
        "-c",
        "from screen_tui.files.places import demo_folder; print(demo_folder())",
        cwd=tmp_path,
    )
    demos = sorted(Path(found.strip()).glob("*.toml"))
    assert {demo.name for demo in demos} == {
        p.name for p in (ROOT / "demo_sessions").glob("*.toml")
    }
    assert ROOT not in demos[0].parents
    answer = json.loads(run(installed / "screen-tui", "assess", demos[0], "--json", cwd=tmp_path))
    assert answer["outcome"]
