"""Checking files without starting the screen: protocols, single tests, sessions, and others."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from pathlib import Path
from typing import Any, Literal

from screen_tui.errors import FileRefusedError, NotFoundError, Problem, ScreenError, first_of
from screen_tui.files.places import protocols_folder
from screen_tui.files.toml import TomlDocument, read_toml
from screen_tui.protocol.checks import crosscheck
from screen_tui.protocol.loader import load_protocol, missing_files, read_layers
from screen_tui.protocol.raw import KNOWLEDGE_FILES, FileKind, ProtocolFile, files_of
from screen_tui.session.draft import draft_in
from screen_tui.session.file import check_against, format_of, session_in
from screen_tui.session.model import FORMAT


@dataclass(frozen=True, slots=True)
class Checked:
    """Something that was checked and found in order.

    ``kind`` names it for a person, such as ``protocol folder``, ``test``, ``session`` or, of an
    earlier format, ``session of format 1``.
    """

    path: Path
    kind: str


@dataclass(frozen=True, slots=True)
class FurtherKind:
    """A kind of file that belongs to a part of the program above this one.

    Attributes:
        name: What to call it.
        file_name: A file of this name is one, whatever stands in it.
        keys: A file with one of these keys is one, when it is of no kind that is known here.
        check: Raises FileRefusedError with what is wrong with it.
    """

    name: str
    file_name: str
    keys: frozenset[str]
    check: Callable[[TomlDocument], object]

    def is_kind_of(self, document: TomlDocument, *, of_no_other: bool) -> bool:
        """Whether a file is one: by its name in any case, by its keys if it is of no other kind."""
        by_keys = of_no_other and bool(self.keys & document.data.keys())
        return document.path.name == self.file_name or by_keys


def checked_as_dict(checked: Sequence[Checked], problems: Sequence[Problem]) -> dict[str, Any]:
    """What was checked and what is wrong, for another program; paths are given as text."""
    return {
        "in_order": [{"path": str(one.path), "kind": one.kind} for one in checked],
        "problems": [
            {"path": str(one.path), "line": one.line, "field": one.field, "reason": one.reason}
            for one in problems
        ],
    }


def check_paths(
    paths: Sequence[Path],
    protocols: Sequence[Path] | None = None,
    further: Sequence[FurtherKind] = (),
) -> tuple[Checked, ...]:
    """Check folders and files, each for what its contents show it to be.

    A protocol folder that is partial is checked on top of the protocols in use. A single file of
    a protocol folder is checked together with its folder, but only its own problems are told. A
    folder of sessions is checked file by file.

    Args:
        paths: What to check.
        protocols: The protocol folders in use, the program's own first; the program's own alone
            when left out.
        further: Kinds of files beside those of protocols, sessions and drafts.

    Returns:
        What was checked, in order.

    Raises:
        NotFoundError: One of the paths does not exist; then nothing is checked.
        FileRefusedError: With all problems of all paths.
    """
    for path in paths:
        # What stands there but may not be looked at is refused below, with the reason.
        with contextlib.suppress(OSError):
            if not path.exists():
                raise NotFoundError(f"There is nothing at {path}.")
    in_use = (protocols_folder(),) if protocols is None else protocols
    checked: list[Checked] = []
    problems: dict[Problem, None] = {}
    for path in paths:
        for item, found in _check(path, in_use, further):
            checked.append(item)
            problems.update(dict.fromkeys(found))
    if problems:
        raise FileRefusedError(tuple(problems))
    return tuple(checked)


def _check(
    path: Path, protocols: Sequence[Path], further: Sequence[FurtherKind]
) -> Iterator[tuple[Checked, Sequence[Problem]]]:
    try:
        if _is_folder(path):
            yield from _check_folder(path, protocols, further)
        else:
            yield _check_file(path, protocols, further)
    except FileRefusedError as refusal:
        yield Checked(path, "unknown"), refusal.problems


def _is_folder(path: Path) -> bool:
    """Whether it is a folder; no where it may not be looked at, which reading it will tell."""
    try:
        return path.is_dir()
    except OSError:
        return False


def _check_folder(
    folder: Path, protocols: Sequence[Path], further: Sequence[FurtherKind]
) -> Iterator[tuple[Checked, Sequence[Problem]]]:
    files = files_of(folder)
    if not files:
        raise _refused(folder, "holds no TOML files; a protocol folder or session files are needed")
    if not _is_protocol_folder(files):
        for file in files:
            yield from _check(file.path, protocols, further)
        return
    below = [] if _is_whole(files) else _other_folders(folder, protocols)
    layers = [*(files_of(other) for other in below), files]
    parts, problems = read_layers(layers)
    problems += missing_files(layers, parts, folder)
    yield Checked(folder, "protocol folder"), first_of(chain(problems, crosscheck(parts)))


def _check_file(
    path: Path, protocols: Sequence[Path], further: Sequence[FurtherKind]
) -> tuple[Checked, Sequence[Problem]]:
    document = read_toml(path)
    kind = _kind_of(document)
    for other in further:
        if other.is_kind_of(document, of_no_other=kind is None):
            other.check(document)
            return Checked(path, other.name), []
    if kind is None:
        raise _refused(path, "is neither a session nor a file of a protocol")
    if kind == "session":
        return Checked(path, _session_kind(document)), _session_problems(document, protocols)
    if kind == "draft":
        draft_in(document)
        return Checked(path, "draft of answers"), []
    file = ProtocolFile(kind, path.absolute())
    home = file.path.parent.parent if file.path.parent.name == "tests" else file.path.parent
    at_home = files_of(home)
    if file not in at_home or not _is_protocol_folder(at_home):
        at_home = (file,)
    below = [] if _is_whole(at_home) else _other_folders(home, protocols)
    parts, problems = read_layers([*(files_of(other) for other in below), at_home])
    own = (
        replace(problem, path=path)
        for problem in chain(problems, crosscheck(parts))
        if problem.path == file.path
    )
    return Checked(path, kind), first_of(own)


def _session_kind(document: TomlDocument) -> str:
    written = format_of(document)
    return "session" if written == FORMAT else f"session of format {written}"


def _session_problems(document: TomlDocument, protocols: Sequence[Path]) -> Sequence[Problem]:
    try:
        session = session_in(document)
        protocol = load_protocol(protocols, session.protocol)
        check_against(session, protocol, document)
    except FileRefusedError as refusal:
        return refusal.problems
    except NotFoundError as missing:
        return [document.problem(("protocol",), f"cannot be loaded: {missing}")]
    return []


def _is_protocol_folder(files: Sequence[ProtocolFile]) -> bool:
    return any(file.kind != "battery" or _is_battery(file.path) for file in files)


def _is_battery(path: Path) -> bool:
    try:
        return _kind_of(read_toml(path)) == "battery"
    except ScreenError:
        return False


def _is_whole(files: Sequence[ProtocolFile]) -> bool:
    return {"battery", "test", *KNOWLEDGE_FILES} <= {file.kind for file in files}


def _other_folders(folder: Path, protocols: Sequence[Path]) -> list[Path]:
    return [other for other in protocols if other.resolve() != folder.resolve()]


_TELLING_KEYS: tuple[tuple[frozenset[str], FileKind | Literal["session", "draft"]], ...] = (
    (frozenset({"answers"}), "draft"),
    (frozenset({"format", "client", "started"}), "session"),
    (frozenset({"timer", "instructions", "plausible"}), "test"),
    (frozenset({"items", "gates"}), "battery"),
    (frozenset({"cautions", "stop_rules", "call_rules"}), "safety"),
    (frozenset({"drivers"}), "drivers"),
    (frozenset({"exercises", "leave_out"}), "exercises"),
    (frozenset({"sources"}), "sources"),
    (frozenset({"signs"}), "signs"),
)


def _kind_of(document: TomlDocument) -> FileKind | Literal["session", "draft"] | None:
    """What a file's contents show it to be; a test has signs too, so the order matters."""
    for keys, kind in _TELLING_KEYS:
        if keys & document.data.keys():
            return kind
    return None


def _refused(path: Path, reason: str) -> FileRefusedError:
    return FileRefusedError((Problem(path, None, "", reason),))
