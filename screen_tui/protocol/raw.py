"""What the files of a protocol hold, each part with its place."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import chain
from pathlib import Path
from typing import Any, Generic, TypeVar

from pydantic import BaseModel, create_model

from screen_tui.errors import FileRefusedError, NotFoundError, Problem
from screen_tui.fields import Strict
from screen_tui.files.reasons import FieldPath, shown
from screen_tui.files.toml import TomlDocument, read_toml, toml_files, validate
from screen_tui.protocol import knowledge
from screen_tui.protocol.drawings import Drawing
from screen_tui.protocol.evidence import CellOverride, Prior, PriorOdds
from screen_tui.protocol.model import Battery
from screen_tui.protocol.tests import TestSpec

TABLES: dict[str, dict[str, type[BaseModel]]] = {
    "signs": {"signs": knowledge.Sign},
    "safety": {
        "cautions": knowledge.Caution,
        "contradictions": knowledge.ContradictionRule,
        "limits": knowledge.LimitRule,
        "precautions": knowledge.PrecautionRule,
        "stop_rules": knowledge.StopRule,
        "call_rules": knowledge.CallRule,
    },
    "history": {"questions": knowledge.HistoryQuestion},
    "drivers": {"drivers": knowledge.Driver, "outside": knowledge.Outside},
    "priors": {"priors": Prior, "odds": PriorOdds},
    "cells": {"cells": CellOverride},
    "exercises": {
        "exercises": knowledge.Exercise,
        "companions": knowledge.Companion,
        "leave_out": knowledge.LeaveOut,
    },
    "drawings": {"drawings": Drawing},
    "sources": {"sources": knowledge.Source},
}
"""The tables of each file, named as the fields of `RawProtocol`, with what their entries are."""

_NEEDED_TABLES = frozenset({"signs", "drivers", "priors", "sources"})
"""Tables without which their file makes no sense."""


def _file_model(kind: str) -> type[BaseModel]:
    fields: dict[str, Any] = {
        name: (tuple[part, ...], ... if name in _NEEDED_TABLES else ())  # type: ignore[valid-type]
        for name, part in TABLES[kind].items()
    }
    return create_model(kind, __base__=Strict, **fields)


_FILES = {kind: _file_model(kind) for kind in TABLES}
NEEDED_FILES = tuple(kind for kind in TABLES if kind not in ("history", "cells", "drawings"))
"""Those without which there is no protocol; one without a history asks none."""

_ModelT = TypeVar("_ModelT", bound=BaseModel)


@dataclass(frozen=True, slots=True)
class ProtocolFile:
    """A file of a protocol folder, and what it should hold: a battery, a test, or its own name."""

    kind: str
    path: Path


@dataclass(frozen=True, slots=True)
class Placed(Generic[_ModelT]):
    """A part, with the file and the field path where it is."""

    value: _ModelT
    document: TomlDocument
    path: FieldPath = ()

    def problem(self, field_path: FieldPath, reason: str) -> Problem:
        return self.document.problem((*self.path, *field_path), reason)


@dataclass(slots=True)
class RawProtocol:
    """Everything read so far; what is read later replaces what has the same id.

    Attributes:
        unread: Kinds of files of which one could not be used, so that a reference to something
            unknown of that kind may only be a consequence.
        unread_ids: Ids of the tests and batteries whose file could not be used.
    """

    batteries: dict[str, Placed[Battery]] = field(default_factory=dict)
    tests: dict[str, Placed[TestSpec]] = field(default_factory=dict)
    signs: dict[str, Placed[knowledge.Sign]] = field(default_factory=dict)
    cautions: dict[str, Placed[knowledge.Caution]] = field(default_factory=dict)
    contradictions: dict[str, Placed[knowledge.ContradictionRule]] = field(default_factory=dict)
    limits: dict[str, Placed[knowledge.LimitRule]] = field(default_factory=dict)
    precautions: dict[str, Placed[knowledge.PrecautionRule]] = field(default_factory=dict)
    stop_rules: dict[str, Placed[knowledge.StopRule]] = field(default_factory=dict)
    call_rules: dict[str, Placed[knowledge.CallRule]] = field(default_factory=dict)
    questions: dict[str, Placed[knowledge.HistoryQuestion]] = field(default_factory=dict)
    drivers: dict[str, Placed[knowledge.Driver]] = field(default_factory=dict)
    outside: dict[str, Placed[knowledge.Outside]] = field(default_factory=dict)
    priors: dict[str, Placed[Prior]] = field(default_factory=dict)
    odds: dict[str, Placed[PriorOdds]] = field(default_factory=dict)
    cells: dict[str, Placed[CellOverride]] = field(default_factory=dict)
    exercises: dict[str, Placed[knowledge.Exercise]] = field(default_factory=dict)
    companions: dict[str, Placed[knowledge.Companion]] = field(default_factory=dict)
    leave_out: dict[str, Placed[knowledge.LeaveOut]] = field(default_factory=dict)
    drawings: dict[str, Placed[Drawing]] = field(default_factory=dict)
    sources: dict[str, Placed[knowledge.Source]] = field(default_factory=dict)
    unread: set[str] = field(default_factory=set)
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
        if file.kind == "battery":
            battery = validate(document, Battery)
            self.batteries[battery.id] = Placed(battery, document)
            return self._check_name(document, battery.id)
        if file.kind == "test":
            test = validate(document, TestSpec)
            self.tests[test.id] = Placed(test, document)
            return self._check_name(document, test.id)
        return [
            problem
            for name, entries in validate(document, _FILES[file.kind])
            for problem in _add_entries(getattr(self, name), entries, document, name)
        ]

    def names_of_batteries(self) -> dict[str, str]:
        """The id of the battery by each id that names it: its own, and those it had formerly.

        One whose file could not be used is named by its file.
        """
        formerly = {
            was: one.value.id for one in self.batteries.values() for was in one.value.formerly
        }
        return formerly | {name: name for name in (*self.unread_ids, *self.batteries)}

    def every(self) -> Iterator[Placed[Any]]:
        """All parts, file by file."""
        tests_and_battery = chain(self.batteries.values(), self.tests.values())
        tables = (name for tables in TABLES.values() for name in tables)
        return chain(tests_and_battery, *(getattr(self, name).values() for name in tables))

    def _check_name(self, document: TomlDocument, part_id: str) -> list[Problem]:
        name = document.path.stem
        if name == part_id:
            return []
        self.unread_ids.add(name)
        reason = f"is {shown(part_id)}, but the file is named {name}.toml"
        return [document.problem(("id",), reason)]


def files_of(folder: Path) -> tuple[ProtocolFile, ...]:
    """The protocol files of a folder, by their names; hidden files are not looked at.

    Raises:
        NotFoundError: There is no such folder.
        FileRefusedError: It cannot be read.
    """
    if not _is_folder(folder):
        raise NotFoundError(f"There is no folder {folder}.")
    paths = toml_files(folder, "the folder")
    top = [ProtocolFile(path.stem if path.stem in TABLES else "battery", path) for path in paths]
    tests = folder / "tests"
    below = toml_files(tests, "the folder") if _is_folder(tests) else []
    return (*top, *(ProtocolFile("test", path) for path in below))


def _is_folder(path: Path) -> bool:
    try:
        return path.is_dir()
    except OSError as error:
        raise FileRefusedError.at(path, f"the folder cannot be read: {error.strerror}") from None


def _add_entries(
    table: dict[str, Placed[Any]], entries: Sequence[Any], document: TomlDocument, name: str
) -> list[Problem]:
    """Rules to stop or call have no id; they add up by their text."""
    problems = []
    seen: set[str] = set()
    for index, entry in enumerate(entries):
        if isinstance(entry, knowledge.StopRule | knowledge.CallRule):
            table[entry.text] = Placed(entry, document, (name, index))
        elif entry.id in seen:
            reason = f"{shown(entry.id)} is given twice in this file"
            at = ("id",) if "id" in type(entry).model_fields else ()
            problems.append(document.problem((name, index, *at), reason))
        else:
            seen.add(entry.id)
            table[entry.id] = Placed(entry, document, (name, index))
    return problems
