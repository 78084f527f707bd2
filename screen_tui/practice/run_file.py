"""The folder of practice runs: with `case_file` the only part of practice that touches files."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from screen_tui.errors import FileRefusedError, Problem, SaveFailedError, ScreenError
from screen_tui.files.integrity import read_own
from screen_tui.files.reasons import shown
from screen_tui.files.toml import MOST_VALUES, TomlDocument, dump_toml, validate
from screen_tui.files.write import why_refused, write_whole
from screen_tui.practice.run import RUN_FORMAT, PracticeRun
from screen_tui.session.known_folder import KnownFolder, free_id

KEY = "practice_run"
"""The key by which a file is known to be a practice run; its value is the format."""


@dataclass(frozen=True, slots=True)
class FoundRun:
    """A run of the folder; without a run, ``problem`` says why the file cannot be used."""

    path: Path
    run: PracticeRun | None
    problem: str = ""


def run_in(document: TomlDocument) -> PracticeRun:
    """The run a document holds.

    Raises:
        FileRefusedError: It is no run, is broken, or was written by a newer program.
    """
    written = document.data.get(KEY)
    if isinstance(written, int) and not isinstance(written, bool) and written > RUN_FORMAT:
        reason = (
            f"is {shown(written)}, and this program reads up to {RUN_FORMAT}: the run comes from "
            "a newer version. Update this program; the file has not been changed"
        )
        raise FileRefusedError((document.problem((KEY,), reason),))
    if KEY not in document.data:
        reason = "is missing, so this is not a practice run of this program"
        raise FileRefusedError((Problem(document.path, None, KEY, reason),))
    return validate(document, PracticeRun, MOST_VALUES)


def run_text(run: PracticeRun) -> str:
    """A run as TOML; reading it back gives an equal run."""
    return dump_toml(run.model_dump())


class RunStore:
    """Saves and lists the practice runs of one folder, which lies apart from the sessions.

    A run is written once, when it is over, and never changed.

    Args:
        folder: The folder; it need not exist.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._place = KnownFolder(folder)

    def new_id(self, now: datetime, random_hex: Callable[[], str] | None = None) -> str:
        """An id no file of the folder bears.

        Args:
            now: When the run is begun.
            random_hex: Gives four hexadecimal digits; random ones when left out.
        """
        return free_id(now, self._file, random_hex)

    def save(self, run: PracticeRun) -> Path:
        """Write a run, whole at every moment, readable by its owner alone.

        Saving the same run again, as after a failure, changes nothing.

        Raises:
            SaveFailedError: The disk refused, or another file bears the name; nothing was lost.
        """
        target, content = self._file(run.id), run_text(run).encode()
        try:
            self._place.make()
            if os.path.lexists(target):
                if not target.is_symlink() and target.read_bytes() == content:
                    return target
                raise SaveFailedError(
                    f"{target} is there already and was left as it is; this run was not saved."
                )
            write_whole(target, content)
        except OSError as error:
            cause, advice = why_refused(error)
            raise SaveFailedError(
                f"The practice run could not be saved in {self.folder}: {cause}. {advice}."
            ) from error
        return target

    def list(self) -> tuple[FoundRun, ...]:
        """All runs of the folder, oldest first; files that cannot be used come last.

        Raises:
            FileRefusedError: The folder cannot be read.
        """
        try:
            paths = sorted(
                path
                for path in self.folder.iterdir()
                if path.suffix == ".toml" and not path.name.startswith(".")
            )
        except FileNotFoundError:
            return ()
        except OSError as error:
            reason = f"the folder of practice runs cannot be read: {error.strerror}"
            raise FileRefusedError((Problem(self.folder, None, "", reason),)) from None
        found = [_found(path) for path in paths]
        usable = [(one.run.begun, one.run.id, one) for one in found if one.run is not None]
        in_order = [one for _, _, one in sorted(usable, key=lambda each: each[:2])]
        return (*in_order, *(one for one in found if one.run is None))

    def _file(self, run_id: str) -> Path:
        return self.folder / f"{run_id}.toml"


def _found(path: Path) -> FoundRun:
    try:
        return FoundRun(path, run_in(read_own(path)))
    except ScreenError as problem:
        return FoundRun(path, None, str(problem))
