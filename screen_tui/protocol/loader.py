"""From folders of TOML files to one checked protocol."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from itertools import chain
from pathlib import Path
from typing import Any

from screen_tui.errors import FileRefusedError, NotFoundError, Problem, first_of
from screen_tui.protocol.checks import crosscheck, impossible_drawings
from screen_tui.protocol.drawings import Drawing
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.raw import NEEDED_FILES, Placed, ProtocolFile, RawProtocol, files_of
from screen_tui.protocol.tests import with_cells

DEFAULT_BATTERY = "chairside-knee"


def load_protocol(folders: Sequence[Path], battery: str = DEFAULT_BATTERY) -> ScreenProtocol:
    """Load a battery and everything it refers to.

    Every file of every folder is read and checked, other batteries too, so that a folder that
    loads is a folder without known mistakes; all but the drawings, which only a sheet needs.

    Args:
        folders: Read in order. A later one, a clinic's own, may be partial: it adds to the
            earlier ones and replaces what has the same id - a test or a battery as a whole
            file, the entries of the other files one by one. Stop and call rules have no id; they
            add up. Its cells.toml changes single cells of the rows of tests.
        battery: The id of the battery, which is its file's name, or one it had formerly.

    Raises:
        NotFoundError: A folder or the battery does not exist.
        FileRefusedError: With all problems of all files.
    """
    layers = [[file for file in files_of(one) if file.kind != "drawings"] for one in folders]
    raw, problems = read_layers(layers)
    names = raw.names_of_batteries()
    if battery not in names:
        looked_in = ", ".join(str(folder) for folder in folders)
        raise NotFoundError(f"There is no protocol named {battery} in {looked_in}.")
    battery = names[battery]
    raw.unread.add("drawings")
    if folders:
        problems += missing_files(layers, raw, folders[0])
    wrong = first_of(chain(problems, crosscheck(raw)))
    if wrong:
        raise FileRefusedError(wrong)
    return _assembled(raw, battery)


def known_batteries(folders: Sequence[Path]) -> Collection[str]:
    """Every id by which a battery of the folders can be named.

    Raises:
        ScreenError: A folder is missing or cannot be read.
    """
    layers = [[file for file in files_of(one) if file.kind == "battery"] for one in folders]
    return read_layers(layers)[0].names_of_batteries()


def load_drawings(folders: Sequence[Path]) -> dict[str, Drawing]:
    """The drawings of exercises by id, for the printed sheet alone: no test waits for them.

    Raises:
        NotFoundError: A folder does not exist.
        FileRefusedError: With all problems of all drawings.
    """
    layers = [[file for file in files_of(one) if file.kind == "drawings"] for one in folders]
    raw, problems = read_layers(layers)
    wrong = first_of(chain(problems, impossible_drawings(raw)))
    if wrong:
        raise FileRefusedError(wrong)
    return {name: placed.value for name, placed in raw.drawings.items()}


def read_layers(layers: Sequence[Sequence[ProtocolFile]]) -> tuple[RawProtocol, list[Problem]]:
    """Read the files of folders, later ones over earlier ones; give what is wrong with each."""
    raw = RawProtocol()
    problems = [problem for layer in layers for file in layer for problem in raw.add(file)]
    return raw, problems


def missing_files(
    layers: Sequence[Sequence[ProtocolFile]], raw: RawProtocol, folder: Path
) -> list[Problem]:
    """What no folder has but a protocol needs, expected in that folder; noted there as not read."""
    present = {file.kind for layer in layers for file in layer}
    absent = [kind for kind in NEEDED_FILES if kind not in present]
    raw.unread.update(absent)
    problems = [
        Problem(folder / f"{kind}.toml", None, "", "is missing; a protocol cannot do without it")
        for kind in absent
    ]
    if "safety" not in raw.unread:
        safety = next(file.path for layer in layers for file in layer if file.kind == "safety")
        for name, table in (("cautions", raw.cautions), ("stop_rules", raw.stop_rules)):
            if not table:
                reason = "is missing or empty; nobody may be tested without"
                problems.append(Problem(safety, None, name, reason))
    return problems


def _assembled(raw: RawProtocol, battery_id: str) -> ScreenProtocol:
    battery = raw.batteries[battery_id].value
    in_battery = [item.test for item in battery.items]
    others = sorted(set(raw.tests) - set(in_battery))
    cells = [placed.value for placed in raw.cells.values()]
    tables = ScreenProtocol.model_fields.keys() - {"battery", "tests", "history"}
    parts: dict[str, dict[str, Placed[Any]]] = {name: getattr(raw, name) for name in tables}
    parts["history"] = dict(raw.questions)
    return ScreenProtocol(
        battery=battery,
        tests=tuple(with_cells(raw.tests[one].value, cells) for one in (*in_battery, *others)),
        **{name: tuple(one.value for one in table.values()) for name, table in parts.items()},
    )
