"""Everything the program refuses, as sentences for the person at the chairside.

ScreenError                 exit code 1
├── NotFoundError           exit code 4   nothing is at that path or name
├── FileRefusedError        exit code 3   one or more Problems, each with its place
├── EntryRefusedError       exit code 2   a typed value that cannot be; the field says so
├── OpenElsewhereError      exit code 1   another window of the program has the session
└── SaveFailedError         exit code 1   the disk said no; the data is still in memory
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

FAILED, USAGE, INTERRUPTED = 1, 2, 130
"""Exit codes of what is no `ScreenError`: a failure, a line that makes no sense, and Ctrl-C."""


MOST_SHOWN = 100
"""Mistakes shown at once of one file or folder: nobody reads more, and they could be 100,000."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong in one file: where it is and what to do about it.

    Attributes:
        line: The line it is on, counted from 1; None when the whole file is meant.
        field: The dotted field, such as ``trials[2].value``; empty when none is meant.
    """

    path: Path
    line: int | None
    field: str
    reason: str

    def __str__(self) -> str:
        """Give ``file:line: field: what``."""
        place = str(self.path) if self.line is None else f"{self.path}:{self.line}"
        return ": ".join(part for part in (place, self.field, self.reason) if part)


def first_of(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """The problems to show: the first `MOST_SHOWN`, and that there are more where there are.

    No more of them are made than are shown.
    """
    first = tuple(islice(problems, MOST_SHOWN + 1))
    if len(first) <= MOST_SHOWN:
        return first
    more = "has more mistakes than these; put these right first"
    return (*first[:-1], Problem(first[-1].path, None, "", more))


class ScreenError(Exception):
    """Anything the program says no to, with a sentence fit to show."""

    exit_code = 1


class NotFoundError(ScreenError):
    """Nothing is at the path or under the name that was asked for."""

    exit_code = 4


class EntryRefusedError(ScreenError):
    """A typed value that cannot be right; nothing has been changed."""

    exit_code = 2


class FileRefusedError(ScreenError):
    """A file that cannot be used; it is left untouched."""

    exit_code = 3

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        self.problems = problems
        super().__init__("\n".join(str(problem) for problem in problems))

    @classmethod
    def at(
        cls, path: Path, reason: str, *, line: int | None = None, field: str = ""
    ) -> FileRefusedError:
        return cls((Problem(path, line, field, reason),))


class OpenElsewhereError(ScreenError):
    """Another window of the program has the session; it can be gone on with there."""


class SaveFailedError(ScreenError):
    """The disk refused a write; what was entered is still in memory.

    Attributes:
        why: What was not saved, and why: what is still true once the program has ended.
    """

    def __init__(self, why: str, advice: str = "") -> None:
        self.why = why
        super().__init__(f"{why} {advice}".rstrip())
