"""What the files of a protocol hold, each part with its place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Generic, Literal, TypeVar

from pydantic import BaseModel

from screen_tui.errors import FileRefusedError, NotFoundError, Problem
from screen_tui.files.reasons import shown
from screen_tui.files.toml import TomlDocument, read_toml, validate
from screen_tui.files.toml_places import FieldPath
from screen_tui.protocol.knowledge import (
    CallRule,
    Caution,
    Driver,
    DriversFile,
    Exercise,
    ExercisesFile,
    LeaveOut,
    SafetyFile,
    Sign,
    SignsFile,
    Source,
    SourcesFile,
    StopRule,
)
from screen_tui.protocol.model import Battery
from screen_tui.protocol.tests import TestSpec

FileKind = Literal["battery", "test", "signs", "safety", "drivers", "exercises", "sources"]
KNOWLEDGE_FILES: tuple[FileKind, ...] = ("signs", "safety", "drivers", "exercises", "sources")

_ModelT = TypeVar("_ModelT", bound=BaseModel)


_EntryT = TypeVar("_EntryT", Sign, Caution, Driver, Exercise, LeaveOut, Source)


@dataclass(frozen=True, slots=True)
class ProtocolFile:
    """A file of a protocol folder, and what it should hold."""

    kind: FileKind
    path: Path


@dataclass(frozen=True, slots=True)
class Placed(Generic[_ModelT]):
    """A part, with the file and the field path where it stands."""

    value: _ModelT
    document: TomlDocument
    path: FieldPath = ()

    def problem(self, field_path: FieldPath, reason: str) -> Problem:
        """A problem at a field of this part."""
        return self.document.problem((*self.path, *field_path), reason)


@dataclass(slots=True)
class Parts:
    """Everything read so far; what is read later replaces what has the same id.

    Attributes:
        unread: Kinds of files of which one could not be used, so that a reference to something
            unknown of that kind may only be a consequence.
        unread_ids: Ids of the tests and batteries whose file could not be used.
    """

    batteries: dict[str, Placed[Battery]] = field(default_factory=dict)
    tests: dict[str, Placed[TestSpec]] = field(default_factory=dict)
    signs: dict[str, Placed[Sign]] = field(default_factory=dict)
    cautions: dict[str, Placed[Caution]] = field(default_factory=dict)
    stop_rules: dict[str, Placed[StopRule]] = field(default_factory=dict)
    call_rules: dict[str, Placed[CallRule]] = field(default_factory=dict)
    drivers: dict[str, Placed[Driver]] = field(default_factory=dict)
    exercises: dict[str, Placed[Exercise]] = field(default_factory=dict)
    leave_out: dict[str, Placed[LeaveOut]] = field(default_factory=dict)
    sources: dict[str, Placed[Source]] = field(default_factory=dict)
    unread: set[FileKind] = field(default_factory=set)
    unread_ids: set[str] = field(default_factory=set)

    def add(self, file: ProtocolFile) -> list[Problem]:
        """Read one file into the parts, and give what is wrong with it on its own."""
        try:
            return self._add(file, read_toml(file.path))
        except FileRefusedError as refusal:
            if file.kind in ("test", "battery"):
                self.unread_ids.add(file.path.stem)
            else:
                self.unread.add(file.kind)
            return list(refusal.problems)

    def _add(self, file: ProtocolFile, document: TomlDocument) -> list[Problem]:
        match file.kind:
            case "battery":
                battery = validate(document, Battery)
                self.batteries[battery.id] = Placed(battery, document)
                return self._check_name(document, battery.id)
            case "test":
                test = validate(document, TestSpec)
                self.tests[test.id] = Placed(test, document)
                return self._check_name(document, test.id)
            case "signs":
                signs = validate(document, SignsFile)
                return _add_entries(self.signs, signs.signs, document, "signs")
            case "drivers":
                drivers = validate(document, DriversFile)
                return _add_entries(self.drivers, drivers.drivers, document, "drivers")
            case "sources":
                sources = validate(document, SourcesFile)
                return _add_entries(self.sources, sources.sources, document, "sources")
            case "safety":
                safety = validate(document, SafetyFile)
                for index, rule in enumerate(safety.stop_rules):
                    self.stop_rules[rule.text] = Placed(rule, document, ("stop_rules", index))
                for index, call in enumerate(safety.call_rules):
                    self.call_rules[call.text] = Placed(call, document, ("call_rules", index))
                return _add_entries(self.cautions, safety.cautions, document, "cautions")
            case "exercises":
                exercises = validate(document, ExercisesFile)
                return [
                    *_add_entries(self.exercises, exercises.exercises, document, "exercises"),
                    *_add_entries(self.leave_out, exercises.leave_out, document, "leave_out"),
                ]

    def _check_name(self, document: TomlDocument, part_id: str) -> list[Problem]:
        name = document.path.stem
        if name == part_id:
            return []
        self.unread_ids.add(name)
        return [
            document.problem(("id",), f"is {shown(part_id)}, but the file is named {name}.toml")
        ]


def files_of(folder: Path) -> tuple[ProtocolFile, ...]:
    """The protocol files of a folder, by their names; hidden files are not looked at.

    Raises:
        NotFoundError: There is no such folder.
        FileRefusedError: It cannot be read.
    """
    if not _is_folder(folder):
        raise NotFoundError(f"There is no folder {folder}.")
    known: dict[str, FileKind] = {kind: kind for kind in KNOWLEDGE_FILES}
    top = [ProtocolFile(known.get(path.stem, "battery"), path) for path in _toml_in(folder)]
    tests = folder / "tests"
    below = [ProtocolFile("test", path) for path in _toml_in(tests)] if _is_folder(tests) else []
    return (*top, *below)


def _is_folder(path: Path) -> bool:
    try:
        return path.is_dir()
    except OSError as error:
        raise _unreadable(path, error) from None


def _toml_in(folder: Path) -> list[Path]:
    try:
        paths = sorted(folder.iterdir())
    except OSError as error:
        raise _unreadable(folder, error) from None
    return [path for path in paths if path.suffix == ".toml" and not path.name.startswith(".")]


def _unreadable(folder: Path, error: OSError) -> FileRefusedError:
    reason = f"the folder cannot be read: {error.strerror}"
    return FileRefusedError((Problem(folder, None, "", reason),))


def _add_entries(
    table: dict[str, Placed[_EntryT]],
    entries: Sequence[_EntryT],
    document: TomlDocument,
    name: str,
) -> list[Problem]:
    problems = []
    seen: set[str] = set()
    for index, entry in enumerate(entries):
        if entry.id in seen:
            reason = f"{shown(entry.id)} is given twice in this file"
            problems.append(document.problem((name, index, "id"), reason))
            continue
        seen.add(entry.id)
        table[entry.id] = Placed(entry, document, (name, index))
    return problems
