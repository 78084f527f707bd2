"""``check``: files of protocols, sessions, preferences and practice, without the screen."""

from __future__ import annotations

import argparse
import contextlib
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from pathlib import Path

from screen_tui.cli.arguments import a_path, writes_json
from screen_tui.cli.input import preferences, protocol_folders
from screen_tui.cli.output import print_json
from screen_tui.errors import FileRefusedError, NotFoundError, Problem, ScreenError, first_of
from screen_tui.files.places import PREFERENCES_NAME, preferences_file
from screen_tui.files.reasons import FieldPath
from screen_tui.files.text import tell
from screen_tui.files.toml import TomlDocument, link_words, read_toml
from screen_tui.practice.case_check import program_on
from screen_tui.practice.files import (
    ASSIGNMENT_KEY,
    CASE_KEY,
    RUN_KEY,
    assignment_in,
    case_in,
    run_in,
)
from screen_tui.preferences import NAMES, check_preferences, preferred
from screen_tui.protocol.checks import crosscheck, doubts
from screen_tui.protocol.loader import DEFAULT_BATTERY, load_protocol, missing_files, read_layers
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.raw import NEEDED_FILES, TABLES, ProtocolFile, RawProtocol, files_of
from screen_tui.session.draft import draft_in
from screen_tui.session.file import check_against, format_of, session_in
from screen_tui.session.model import FORMAT, Session


def add_arguments(command: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    command.add_argument("paths", nargs="+", type=a_path, metavar="PATH", help="a file or folder")
    writes_json(command)


def run(arguments: argparse.Namespace) -> int:
    """Check files and folders, and tell what each is.

    Raises:
        ScreenError: One of them is missing, or cannot be used.
    """
    own = preferences_file()
    asked_about = any(path.absolute() == own.absolute() for path in arguments.paths)
    # A file that is checked is reported once.
    wished = preferred(own) if asked_about else preferences()
    folders = protocol_folders(arguments, wished)
    try:
        checked = check_paths(arguments.paths, folders, wished.now.protocol)
    except FileRefusedError as refusal:
        if arguments.json:
            _print_json((), refusal.problems)
        raise
    if arguments.json:
        _print_json(checked, ())
        return 0
    for item in checked:
        tell(f"{item.path}: {item.kind}, in order")
        for remark in item.remarks:
            tell(f"  {remark}")
    return 0


def _print_json(checked: Sequence[Checked], problems: Sequence[Problem]) -> None:
    print_json(
        {
            "in_order": [
                {"path": str(one.path), "kind": one.kind}
                | ({"remarks": list(one.remarks)} if one.remarks else {})
                for one in checked
            ],
            "problems": [
                {"path": str(one.path), "line": one.line, "field": one.field, "reason": one.reason}
                for one in problems
            ],
        }
    )


@dataclass(frozen=True, slots=True)
class Checked:
    """Something that was checked and found in order.

    ``kind`` names it for a person, such as ``protocol folder``, ``test``, ``session`` or, of an
    earlier format, ``session of format 1``. ``remarks`` says what the program makes of a practice
    case, what of a protocol is likely an oversight, and that a file is a link.
    """

    path: Path
    kind: str
    remarks: tuple[str, ...] = ()


def check_paths(
    paths: Sequence[Path], protocols: Sequence[Path], battery: str = DEFAULT_BATTERY
) -> tuple[Checked, ...]:
    """Check folders and files, each for what its contents show it to be.

    A protocol folder that is partial is checked on top of the protocols in use. A single file of
    a protocol folder is checked together with its folder, but only its own problems are shown. A
    folder of sessions is checked file by file.

    Args:
        battery: The id of the battery that practice cases are played with.

    Raises:
        NotFoundError: One of the paths does not exist; then nothing is checked.
        FileRefusedError: With all problems of all paths.
    """
    for path in paths:
        # What is there but may not be looked at is refused below, with the reason.
        with contextlib.suppress(OSError):
            if not path.exists() and not path.is_symlink():
                raise NotFoundError(f"There is nothing at {path}.")
    checked: list[Checked] = []
    problems: dict[Problem, None] = {}
    checker = _Checker(protocols, battery)
    for path in paths:
        for item, found in checker.check(path):
            checked.append(item)
            problems.update(dict.fromkeys(found))
    if problems:
        raise FileRefusedError(tuple(problems))
    return tuple(checked)


_Found = tuple[Checked, Sequence[Problem]]

_TELLING_KEYS: Mapping[str, Collection[str]] = {
    "draft": {"answers"},
    "session": {"format", "client", "started"},
    "test": {"timer", "instructions", "plausible"},
    "battery": {"items", "gates"},
    **TABLES,
    "practice_case": {CASE_KEY},
    "practice_run": {RUN_KEY},
    "practice_assignment": {ASSIGNMENT_KEY},
    "preferences": NAMES,
}
"""Keys that only one kind of file has; some name others too, so the order matters."""

_ALONE: Mapping[str, tuple[str, Callable[[TomlDocument], object]]] = {
    "practice_run": ("practice run", run_in),
    "practice_assignment": ("practice list", assignment_in),
    "draft": ("draft of answers", draft_in),
}
"""Kinds of files that are checked without any other, each with its name and what reads it."""


class _Checker:
    def __init__(self, protocols: Sequence[Path], battery: str) -> None:
        self._protocols = protocols
        self._battery = battery
        self._loaded: dict[str, ScreenProtocol | ScreenError] = {}

    def check(self, path: Path) -> Iterator[_Found]:
        try:
            if _is_folder(path):
                yield from self._folder(path)
            else:
                item, problems = self._file(read_toml(path))
                if link := link_words(path):
                    item = replace(item, remarks=(link, *item.remarks))
                yield item, problems
        except FileRefusedError as refusal:
            yield Checked(path, "unknown"), refusal.problems

    def _folder(self, folder: Path) -> Iterator[_Found]:
        files = files_of(folder)
        if not files:
            reason = "holds no TOML files; a protocol folder or session files are needed"
            raise FileRefusedError.at(folder, reason)
        if not _is_protocol_folder(files):
            for file in files:
                yield from self.check(file.path)
            return
        layers, parts, problems = self._read(folder, files)
        problems += missing_files(layers, parts, folder)
        own = {file.path for file in files}
        links = (f"{one.path}: {link}" for one in files if (link := link_words(one.path)))
        oversights = map(str, first_of(one for one in doubts(parts) if one.path in own))
        found = first_of(chain(problems, crosscheck(parts)))
        yield Checked(folder, "protocol folder", (*links, *oversights)), found

    def _file(self, document: TomlDocument) -> _Found:
        path, kind = document.path, _kind_of(document)
        if kind is None:
            raise FileRefusedError.at(
                path,
                "is neither a session, a practice case, preferences nor a file of a protocol; "
                "a first line such as format = 3 or practice_case = 1 says which",
            )
        if kind in _ALONE:
            name, read = _ALONE[kind]
            read(document)
            return Checked(path, name), ()
        if kind == "preferences":
            check_preferences(document, self._protocols)
            return Checked(path, kind), ()
        if kind == "practice_case":
            protocol = self._protocol(self._battery)
            in_words, contradictions = program_on(case_in(document, protocol), protocol)
            document.refuse_where(contradictions)
            return Checked(path, "practice case", in_words), ()
        if kind == "session":
            written = format_of(document)
            name = kind if written == FORMAT else f"session of format {written}"
            return Checked(path, name), self._session(document)
        return self._protocol_file(ProtocolFile(kind, path.absolute()), path)

    def _protocol_file(self, file: ProtocolFile, shown_as: Path) -> _Found:
        """One file, read with the folder around it."""
        home = file.path.parent.parent if file.path.parent.name == "tests" else file.path.parent
        at_home = files_of(home)
        if file not in at_home or not _is_protocol_folder(at_home):
            at_home = (file,)
        _, parts, problems = self._read(home, at_home)

        def own(found: Iterable[Problem]) -> Iterator[Problem]:
            return (replace(one, path=shown_as) for one in found if one.path == file.path)

        item = Checked(shown_as, file.kind, tuple(map(str, first_of(own(doubts(parts))))))
        return item, first_of(own(chain(problems, crosscheck(parts))))

    def _session(self, document: TomlDocument) -> Sequence[Problem]:
        try:
            session = session_in(document)
            protocol = self._protocol(session.protocol)
            check_against(session, protocol, document)
            document.refuse_where(_unread_values(session, protocol))
        except FileRefusedError as refusal:
            return refusal.problems
        except NotFoundError as missing:
            return [document.problem(("protocol",), f"cannot be loaded: {missing}")]
        return ()

    def _protocol(self, battery: str) -> ScreenProtocol:
        """The protocol in use of that id, loaded once, or why there is none."""
        if battery not in self._loaded:
            try:
                self._loaded[battery] = load_protocol(self._protocols, battery)
            except ScreenError as error:
                self._loaded[battery] = error
        found = self._loaded[battery]
        if isinstance(found, ScreenError):
            raise found
        return found

    def _read(
        self, folder: Path, files: Sequence[ProtocolFile]
    ) -> tuple[list[Sequence[ProtocolFile]], RawProtocol, list[Problem]]:
        """Read files of a folder; where they are no whole protocol, on top of those in use."""
        layers: list[Sequence[ProtocolFile]] = [files]
        if not {"battery", "test", *NEEDED_FILES} <= {file.kind for file in files}:
            here = folder.resolve()
            layers[:0] = [files_of(other) for other in self._protocols if other.resolve() != here]
        return layers, *read_layers(layers)


def _unread_values(session: Session, protocol: ScreenProtocol) -> Iterator[tuple[FieldPath, str]]:
    """Values of tests that have no number of their own: shown in a note, and judged by nothing."""
    for index, trial in enumerate(session.trials):
        test = protocol.known_test(trial.test)
        if test is not None and trial.value is not None and not test.timer.one_value:
            yield (
                ("trials", index, "value"),
                f"is not read: {test.id} has no value of its own; take it out, and put what it "
                "means into signs, ended or note",
            )


def _is_folder(path: Path) -> bool:
    """Whether it is a folder; no where it may not be looked at, which reading it will tell."""
    try:
        return path.is_dir()
    except OSError:
        return False


def _is_protocol_folder(files: Sequence[ProtocolFile]) -> bool:
    return any(file.kind != "battery" or _is_battery(file.path) for file in files)


def _is_battery(path: Path) -> bool:
    try:
        return _kind_of(read_toml(path)) == "battery"
    except ScreenError:
        return False


def _kind_of(document: TomlDocument) -> str | None:
    """What a file's contents show it to be; a file of preferences is known by its name, too."""
    if document.path.name == PREFERENCES_NAME:
        return "preferences"
    keys = document.data.keys()
    return next((kind for kind, telling in _TELLING_KEYS.items() if keys & set(telling)), None)
