"""A protocol as a folder of files, for tests that start from the disk."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from screen_tui.files.toml_write import dump_toml
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.file import session_text
from screen_tui.session.model import Session
from support.small_protocol import finding, prior


def completed(protocol: ScreenProtocol) -> ScreenProtocol:
    """With what a folder must have and a protocol in memory need not: rows that say nothing."""
    data = protocol.model_dump()
    silent = {sign["id"] for sign in data["signs"] if sign["no_evidence_because"]}
    for test in data["tests"]:
        missing = set(test["signs"]) - silent - {row["sign"] for row in test["findings"]}
        test["findings"] = [*test["findings"], *(finding(sign, 50) for sign in sorted(missing))]
    known = {one["driver"] for one in data["priors"]}
    missing = {driver["id"] for driver in data["drivers"]} - known
    data["priors"] = [*data["priors"], *(prior(driver, 20) for driver in sorted(missing))]
    return ScreenProtocol.model_validate(data)


def write_protocol(protocol: ScreenProtocol, folder: Path) -> Path:
    """Write each part where the loader looks for it, and give the folder."""
    (folder / "tests").mkdir(parents=True)
    data = completed(protocol).model_dump()
    _write(folder / f"{protocol.battery.id}.toml", data["battery"])
    for test in data["tests"]:
        _write(folder / "tests" / f"{test['id']}.toml", test)
    for name, keys in {
        "signs": ("signs",),
        "safety": (
            "cautions",
            "contradictions",
            "limits",
            "precautions",
            "stop_rules",
            "call_rules",
        ),
        "drivers": ("drivers",),
        "priors": ("priors", "odds"),
        "exercises": ("exercises", "companions", "leave_out"),
        "sources": ("sources",),
    }.items():
        _write(folder / f"{name}.toml", {key: data[key] for key in keys})
    return folder


def write_session(session: Session, path: Path) -> Path:
    """Write a session as the program saves it, and give the file."""
    path.write_text(session_text(session), encoding="utf-8")
    return path


def _write(path: Path, data: dict[str, Any]) -> None:
    path.write_text(dump_toml(data), encoding="utf-8")
