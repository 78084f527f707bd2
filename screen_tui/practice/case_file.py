"""Reading practice cases from files: with `run_file` the only part of practice that does so."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain
from pathlib import Path

from screen_tui.errors import FileRefusedError, NotFoundError, Problem
from screen_tui.files.reasons import shown
from screen_tui.files.toml import TomlDocument, read_toml, validate
from screen_tui.practice.case import CASE_FORMAT, Case
from screen_tui.practice.casecheck import misfits
from screen_tui.practice.showncheck import Misfit
from screen_tui.protocol.whole import Protocol

KEY = "practice_case"
"""The key by which a file is known to be a practice case; its value is the format."""


@dataclass(frozen=True, slots=True)
class FoundCase:
    """A case of a folder; without a case, ``problem`` says why the file cannot be used."""

    path: Path
    case: Case | None
    problem: str = ""


def case_in(document: TomlDocument, protocol: Protocol) -> Case:
    """The case a document holds, checked against the protocol it is to be played with.

    Raises:
        FileRefusedError: It is no case, is broken, comes from a newer program, or does not fit
            the protocol or itself; with every place.
    """
    written = document.data.get(KEY)
    if isinstance(written, int) and not isinstance(written, bool) and written > CASE_FORMAT:
        reason = (
            f"is {shown(written)}, and this program reads up to {CASE_FORMAT}: the case comes from "
            "a newer version. Update this program; the file has not been changed"
        )
        raise FileRefusedError((document.problem((KEY,), reason),))
    case = validate(document, Case)
    document.refuse_where(chain(_wrong_name(case, document.path), misfits(case, protocol)))
    return case


def _wrong_name(case: Case, path: Path) -> Iterator[Misfit]:
    if path.stem != case.id:
        yield ("id",), f"is {shown(case.id)}, but the file is named {path.name}"


def load_case(path: Path, protocol: Protocol) -> Case:
    """Read a case file. It is not changed.

    Raises:
        NotFoundError: There is nothing at the path.
        FileRefusedError: As for `case_in`.
    """
    return case_in(read_toml(path), protocol)


def load_cases(folder: Path, protocol: Protocol) -> tuple[FoundCase, ...]:
    """Read every case of a folder, by name; files that cannot be used say why.

    Raises:
        FileRefusedError: The folder cannot be read. One that is missing holds no cases.
    """
    try:
        paths = sorted(
            path
            for path in folder.iterdir()
            if path.suffix == ".toml" and not path.name.startswith(".")
        )
    except FileNotFoundError:
        return ()
    except OSError as error:
        reason = f"the folder of practice cases cannot be read: {error.strerror}"
        raise FileRefusedError((Problem(folder, None, "", reason),)) from None
    return tuple(_found(path, protocol) for path in paths)


def _found(path: Path, protocol: Protocol) -> FoundCase:
    try:
        return FoundCase(path, load_case(path, protocol))
    except (FileRefusedError, NotFoundError) as problem:
        return FoundCase(path, None, str(problem))
