"""Practice cases and practice runs as files: the only part of practice that touches files.

What reads a document or a folder raises FileRefusedError where it is broken, comes from a newer
program or cannot be read, with every place; what writes raises SaveFailedError where the disk
refuses or another file bears the name, and then nothing is lost.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import chain
from pathlib import Path

from screen_tui.errors import FileRefusedError, NotFoundError, SaveFailedError, ScreenError
from screen_tui.files.reasons import Mismatch, shown
from screen_tui.files.toml import (
    MOST_VALUES,
    TomlDocument,
    read_own,
    read_toml,
    toml_files,
    validate,
    versioned,
)
from screen_tui.files.toml_write import dump_toml
from screen_tui.files.write import why_refused, write_whole
from screen_tui.practice.case import CASE_FORMAT, Case
from screen_tui.practice.case_check import mismatches
from screen_tui.practice.drawn import NOBODY
from screen_tui.practice.run import ASSIGNMENT_FORMAT, RUN_FORMAT, Assignment, PracticeRun, ToDraw
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.folder import KnownFolder, free_id

CASE_KEY, ASSIGNMENT_KEY, RUN_KEY = "practice_case", "practice_assignment", "practice_run"
"""The keys by which a case, a list for a class and a run are known; their values are the format."""


def case_in(document: TomlDocument, protocol: ScreenProtocol) -> Case:
    """The case a document holds, checked against the protocol it is to be played with."""
    versioned(document, CASE_KEY, CASE_FORMAT, "the case comes")
    case = validate(document, Case)
    document.refuse_where(chain(_wrong_name(case, document.path), mismatches(case, protocol)))
    return case


def _wrong_name(case: Case, path: Path) -> Iterator[Mismatch]:
    if path.stem != case.id:
        yield ("id",), f"is {shown(case.id)}, but the file is named {path.name}"


def assignment_in(document: TomlDocument) -> Assignment:
    """The list for a class a document holds."""
    versioned(document, ASSIGNMENT_KEY, ASSIGNMENT_FORMAT, "the list comes")
    return validate(document, Assignment)


def practice_in(document: TomlDocument, protocol: ScreenProtocol) -> Case | Assignment:
    """The case or the list a document holds; refused as by `case_in` and `assignment_in`."""
    if ASSIGNMENT_KEY in document.data:
        return assignment_in(document)
    return case_in(document, protocol)


def case_text(case: Case) -> str:
    """A case as TOML; reading it back gives an equal case."""
    return dump_toml(case.model_dump(exclude_defaults=True))


def assignment_text(assignment: Assignment) -> str:
    """An assignment as TOML."""
    return dump_toml(assignment.model_dump())


def take(path: Path, protocol: ScreenProtocol, folder: Path) -> None:
    """Copy a case or a list, as it is, into a folder of cases; the same one again is no change."""
    document = read_toml(path)
    practice_in(document, protocol)
    _put(KnownFolder(folder), folder / path.name, path.read_bytes(), str(path))


def _put(folder: KnownFolder, target: Path, content: bytes, what: str) -> None:
    """Write a file that is not there yet; the same one again changes nothing."""
    try:
        folder.make()
        if os.path.lexists(target):
            if not target.is_symlink() and target.read_bytes() == content:
                return
            raise SaveFailedError(
                f"{target} is there already and was left as it is. {what} was not saved."
            )
        write_whole(target, content)
    except OSError as error:
        cause, advice = why_refused(error)
        raise SaveFailedError(
            f"{what} could not be saved in {target.parent}: {cause}. {advice}."
        ) from error


@dataclass(frozen=True, slots=True)
class FoundPractice:
    """Whom there is to practise with: cases, and patients to be drawn; and what cannot be used."""

    patients: tuple[Case | ToDraw, ...]
    problems: tuple[str, ...]


def load_practice(folders: Iterable[Path], protocol: ScreenProtocol) -> FoundPractice:
    """Read the cases and the lists for a class of several folders; what is assigned comes first."""
    cases: dict[str, Case] = {}
    lists: list[tuple[Path, Assignment]] = []
    problems: list[str] = []
    for folder in folders:
        for path in toml_files(folder, "the folder of practice cases"):
            try:
                found = practice_in(read_toml(path), protocol)
                if isinstance(found, Assignment):
                    lists.append((path, found))
                else:
                    cases[found.id] = found
            except (FileRefusedError, NotFoundError) as problem:
                problems.append(str(problem))
    assigned: list[Case | ToDraw] = []
    for path, listed in lists:
        assigned += [cases[one] for one in listed.cases if one in cases]
        if protocol.drivers:
            assigned += listed.drawn
        elif listed.drawn:
            problems.append(f"{path}: {NOBODY}")
        problems += [f"{path}: there is no case {one}" for one in listed.cases if one not in cases]
    rest = [case for case in cases.values() if case not in assigned]
    return FoundPractice((*dict.fromkeys(assigned), *rest), tuple(problems))


def run_in(document: TomlDocument) -> PracticeRun:
    """The run a document holds."""
    versioned(document, RUN_KEY, RUN_FORMAT, "the run comes")
    if RUN_KEY not in document.data:
        reason = "is missing, so this is not a practice run of this program"
        raise FileRefusedError.at(document.path, reason, field=RUN_KEY)
    first_format = document.data[RUN_KEY] == 1
    if first_format:
        document.data[RUN_KEY] = RUN_FORMAT
        result = document.data.get("result")
        if isinstance(result, dict):
            # What is read off is put in words, so it is scored no longer.
            result.pop("errors_deg", None)
    run = validate(document, PracticeRun, MOST_VALUES)
    if not first_format and not run.unchanged:
        reason = "was changed by hand after the program wrote it; use the file as it was written"
        raise FileRefusedError.at(document.path, reason, field="seal")
    return run


def run_text(run: PracticeRun) -> str:
    """A run as TOML; reading it back gives an equal run."""
    return dump_toml(run.model_dump())


class RunStore:
    """Saves and lists the practice runs of one folder, which need not exist.

    A run is written once, when it is over, and never changed.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._place = KnownFolder(folder)

    def new_id(self, now: datetime, random_hex: Callable[[], str] | None = None) -> str:
        """An id no file of the folder bears; random_hex gives its four hexadecimal digits."""
        return free_id(now, self._file, random_hex)

    def save(self, run: PracticeRun) -> Path:
        """Write a run, whole at every moment, readable by its owner alone.

        Saving the same run again, as after a failure, changes nothing.
        """
        target = self._file(run.id)
        _put(self._place, target, run_text(run).encode(), "The practice run")
        return target

    def found(self) -> tuple[tuple[PracticeRun, ...], tuple[str, ...]]:
        """All runs of the folder, oldest first, and why other files of it cannot be used."""
        runs, problems = [], []
        for path in toml_files(self.folder, "the folder of practice runs"):
            try:
                runs.append(run_in(read_own(path)))
            except ScreenError as problem:
                problems.append(str(problem))
        return tuple(sorted(runs, key=lambda run: (run.begun, run.id))), tuple(problems)

    def _file(self, run_id: str) -> Path:
        return self.folder / f"{run_id}.toml"
