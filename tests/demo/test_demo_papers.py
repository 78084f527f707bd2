"""The note and the sheet of each invented person, as they were read and agreed line by line.

Where a change of them is meant, read what it makes of each and write them anew:

    .venv/bin/python tests/demo/test_demo_papers.py
"""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

import pytest

from screen_tui.cli.main import main
from screen_tui.files.places import demo_folder

AGREED = Path(__file__).parent / "papers"
SESSIONS = {
    path.stem: path
    for folder in (demo_folder(), demo_folder() / "visits")
    for path in sorted(folder.glob("*.toml"))
}


def papers_of(name: str, folder: Path) -> str:
    """The note and the sheet that the commands write, the earlier visits beside the session."""
    for path in SESSIONS.values():
        shutil.copy(path, folder)
    written = []
    for command in ("note", "sheet"):
        paper = folder / f"{command}.txt"
        assert main([command, str(folder / f"{name}.toml"), "-o", str(paper)]) == 0
        written.append(paper.read_text(encoding="utf-8"))
    return f"{'=' * 64}\n".join(written)


@pytest.mark.parametrize("name", SESSIONS)
def test_note_and_sheet_read_as_agreed(name: str, tmp_path: Path) -> None:
    assert papers_of(name, tmp_path) == (AGREED / f"{name}.txt").read_text(encoding="utf-8")


def test_nobody_is_left_out() -> None:
    assert {path.stem for path in AGREED.glob("*.txt")} == set(SESSIONS)


if __name__ == "__main__":
    AGREED.mkdir(exist_ok=True)
    for name in SESSIONS:
        with tempfile.TemporaryDirectory() as folder:
            text = papers_of(name, Path(folder))
        (AGREED / f"{name}.txt").write_text(text, encoding="utf-8")
