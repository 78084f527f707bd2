"""What a person prefers, in one TOML file of theirs, and with what the program opens.

The file belongs to the person and is read whole. A change rewrites the line of one value and
nothing else, so that comments and order stay; a file that cannot be read is never written to.
"""

from __future__ import annotations

import contextlib
import textwrap
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal, get_args, get_origin

from pydantic import Field, StringConstraints

from screen_tui.errors import FileRefusedError, NotFoundError, SaveFailedError, ScreenError
from screen_tui.fields import Id, Strict, refuse_control_characters
from screen_tui.files.reasons import no_such
from screen_tui.files.toml import TomlDocument, parse_toml, read_toml, validate, versioned
from screen_tui.files.toml_write import Value, with_key, written_value
from screen_tui.files.write import why_refused, write_whole
from screen_tui.protocol.loader import DEFAULT_BATTERY, known_batteries, load_protocol
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.raw import files_of
from screen_tui.session.model import Label

if TYPE_CHECKING:
    from screen_tui.session.store import SessionStore

FORMAT = 1

Layout = Literal["auto", "narrow"]
ThemeWish = Literal["auto", "dark", "light", "high-contrast", "monochrome"]

Folder = Annotated[str, StringConstraints(min_length=1, max_length=4096), refuse_control_characters]


class Preferences(Strict):
    """What the program goes by where a person has a choice.

    A field's title names it on the page Preferences, where it has one; its description explains it
    there and in a new file.
    """

    format: Literal[1] = Field(default=1, description="The version of this file.")
    bell: bool = Field(
        default=True,
        title="Bell",
        description="Ring the terminal when a count-in is over, at a target and at the end.",
    )
    flash: bool = Field(
        default=True,
        title="Flash",
        description="Mark the number for a second at the same moments.",
    )
    count_in_s: Annotated[int, Field(ge=0, le=10)] = Field(
        default=0,
        title="Count-in",
        description="Whole seconds counted down between the start key and the start, 0 to 10.",
    )
    layout: Layout = Field(
        default="auto",
        title="Layout",
        description='"auto", or "narrow": one column of 72 characters also in a wide window.',
    )
    theme: ThemeWish = Field(
        default="auto",
        title="Theme",
        description='"auto" (what the terminal can show), "dark", "light", "high-contrast" or '
        '"monochrome". NO_COLOR in the environment outranks it.',
    )
    protocol: Id = Field(
        default=DEFAULT_BATTERY,
        title="Protocol",
        description="The id of the test set the program opens with.",
    )
    last_values: bool = Field(
        default=False,
        title="Last values",
        description="In a retest, show the last values beside the timer. Off is better: a "
        "value that is known is aimed at.",
    )
    clipboard: bool = Field(
        default=False,
        title="Clipboard",
        description="On the note, y copies it to the clipboard. Every other program can read "
        "what is there.",
    )
    protocols: Annotated[tuple[Folder, ...], Field(max_length=20)] = Field(
        default=(),
        title="Own folders",
        description="Folders of a clinic's own protocols, read after the program's own and before "
        "--protocols. A relative one is beside the file of preferences.",
    )
    student: Literal[""] | Label = Field(
        default="",
        description="The code of a student, never a name, that practice runs carry. c on the page "
        "Practice sets it.",
    )


NAMES: tuple[str, ...] = tuple(name for name, one in Preferences.model_fields.items() if one.title)
"""The preferences of the page Preferences, in its order."""

_COUNT_INS = (0, 3, 5, 10)


def label(name: str) -> str:
    """What a preference is called on the screen."""
    return Preferences.model_fields[name].title or name


def about(name: str) -> str:
    """What a preference means, in a sentence or two."""
    return Preferences.model_fields[name].description or ""


def next_value(now: Preferences, name: str, batteries: Sequence[str] = ()) -> Value | None:
    """The value after the one a preference has, in a circle; ``batteries`` are those of protocol.

    Returns:
        None where there is nothing else to choose: such a value is written in the file by hand.
    """
    value: Value = getattr(now, name)
    kind = Preferences.model_fields[name].annotation
    values: Sequence[Value] = get_args(kind) if get_origin(kind) is Literal else ()
    if name == "protocol":
        values = batteries
    elif isinstance(value, bool):
        values = (False, True)
    elif isinstance(value, int):
        return next((one for one in _COUNT_INS if one > value), _COUNT_INS[0])
    if value not in values:
        return next(iter(values), None)
    following = values[(values.index(value) + 1) % len(values)]
    return None if following == value else following


@dataclass(frozen=True, slots=True)
class Preferred:
    """The preferences of one run of the program.

    Attributes:
        path: Their file, which need not exist.
        problems: Why the file, or what it names, could not be used at the start, a sentence each.
        batteries: The ids ``protocol`` can have.
    """

    path: Path
    now: Preferences = field(default_factory=Preferences)
    problems: tuple[str, ...] = ()
    batteries: tuple[str, ...] = ()


def preferred(path: Path) -> Preferred:
    """The preferences to begin with; where their file is broken, the usual ones and why."""
    try:
        return Preferred(path, load_preferences(path))
    except FileRefusedError as refusal:
        return Preferred(path, problems=tuple(map(str, refusal.problems)))


def preferences_told(path: Path, tell: Callable[[str], None]) -> Preferred:
    """The preferences to go by; where their file cannot be used, a sentence says so."""
    wished = preferred(path)
    for problem in wished.problems:
        tell(problem)
    if wished.problems:
        tell("screen-tui: so the usual preferences hold; that file is left as it is.")
    return wished


def load_preferences(path: Path) -> Preferences:
    """Read the file of preferences; where there is none, the usual ones hold.

    Raises:
        FileRefusedError: It is broken, or was written for a newer program.
    """
    try:
        return preferences_in(read_toml(path))
    except NotFoundError:
        return Preferences()


def preferences_in(document: TomlDocument) -> Preferences:
    """The preferences a document holds; it is refused as by :func:`load_preferences`."""
    versioned(document, "format", FORMAT)
    return validate(document, Preferences)


def check_preferences(document: TomlDocument, in_use: Sequence[Path]) -> None:
    """Refuse a file of preferences that is broken, or names folders or a protocol there are not.

    ``in_use`` are folders of protocols beside those the file names.
    """
    wished = preferences_in(document)
    folders = protocol_folders(wished, document.path)
    document.refuse_where(
        (("protocols", place), f"there is no folder {folder}")
        for place, folder in enumerate(folders)
        if not _is_folder(folder)
    )
    if "protocol" in document.data:
        known = known_batteries([*in_use, *folders])
        if wished.protocol not in known:
            reason = no_such(wished.protocol, "protocol in the folders in use", known)
            document.refuse_where([(("protocol",), reason)])


def protocol_folders(preferences: Preferences, path: Path) -> tuple[Path, ...]:
    """The folders of a clinic's own protocols; a relative one lies beside the file at ``path``."""
    return tuple(path.parent / _at_home(Path(folder)) for folder in preferences.protocols)


def folders_in_use(ours: Path, wished: Preferred, asked: Sequence[Path]) -> list[Path]:
    """Our own folder first, so that a clinic's may replace what it has; those asked for last."""
    return [ours, *protocol_folders(wished.now, wished.path), *asked]


def save_value(path: Path, name: str, value: Value) -> None:
    """Change one value in the file of preferences, which is made where it is missing.

    Raises:
        FileRefusedError: The file as it is cannot be used; it has not been changed.
        SaveFailedError: The disk refused, or the line could not be found; nothing has changed.
    """
    text, before = "", Preferences()
    try:
        document = read_toml(path)
        text, before = document.text, preferences_in(document)
    except NotFoundError:
        pass
    content = with_value(text, name, value).encode()
    if not _reads_as(content, path, before.model_copy(update={name: value})):
        raise SaveFailedError(
            f"The line of {name} in {path} could not be rewritten; change it there by hand."
        )
    try:
        # Where the file is a link, what it leads to is replaced, and the link stays.
        target = path.resolve()
        target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        write_whole(target, content)
    except OSError as error:
        cause, _ = why_refused(error)
        raise SaveFailedError(f"{path} could not be written: {cause}.") from error


def with_value(text: str, name: str, value: Value) -> str:
    """A file of preferences with one value changed as by `with_key`; a new one without a text."""
    return with_key(text if text.strip() else new_file(), name, value)


def new_file() -> str:
    """A file of preferences with the usual values, each explained."""
    parts = ["# Preferences of screen-tui: change them here, or with o on its first page.\n"]
    usual = Preferences()
    for name in Preferences.model_fields:
        explained = textwrap.fill(
            about(name), 88, initial_indent="# ", subsequent_indent="# ", break_on_hyphens=False
        )
        parts.append(f"{explained}\n{name} = {written_value(getattr(usual, name))}\n")
    return "\n".join(parts)


def _reads_as(content: bytes, path: Path, wanted: Preferences) -> bool:
    try:
        return preferences_in(parse_toml(content, path)) == wanted
    except FileRefusedError:
        return False


def _at_home(folder: Path) -> Path:
    try:
        return folder.expanduser()
    except RuntimeError:
        # It names the home of somebody who is not known here; it is named as missing.
        return folder


def _is_folder(folder: Path) -> bool:
    try:
        return folder.is_dir()
    except OSError:
        return False


@dataclass(frozen=True, slots=True)
class Opened:
    """What the program works with once it is open; some invented sessions may be there, too."""

    protocol: ScreenProtocol
    store: SessionStore
    preferred: Preferred
    demo_folder: Path | None = None


def protocol_to_open(
    ours: Path, wished: Preferred, asked: Sequence[Path]
) -> tuple[ScreenProtocol, Preferred]:
    """The protocol to open with; preferences that cannot be followed hinder nobody.

    Returns:
        The protocol, and the preferences with the ids of the batteries there are. Where what they
        name cannot be used, the protocol is the usual one and a further problem says why.

    Raises:
        ScreenError: The protocols cannot be used without the preferences either.
    """
    try:
        return _opened(ours, wished, asked)
    except ScreenError as error:
        with contextlib.suppress(ScreenError):
            protocol, _ = _opened(ours, Preferred(wished.path), asked)
            why = error.problems if isinstance(error, FileRefusedError) else (error,)
            problems = (
                f"{wished.path}: the protocols named there cannot be used, so the program opens "
                "with its own.",
                *map(str, why),
            )
            return protocol, replace(wished, problems=(*wished.problems, *problems))
        raise


def _opened(
    ours: Path, wished: Preferred, asked: Sequence[Path]
) -> tuple[ScreenProtocol, Preferred]:
    folders = folders_in_use(ours, wished, asked)
    protocol = load_protocol(folders, wished.now.protocol)
    files = [file for folder in folders for file in files_of(folder)]
    batteries = {file.path.stem for file in files if file.kind == "battery"}
    return protocol, replace(wished, batteries=tuple(sorted(batteries)))
