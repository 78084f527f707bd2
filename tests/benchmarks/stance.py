"""The program opened on a hold: a session in which everything before the stance was left out."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from benchmarks.watched import COMMAND, Watched

from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import DEFAULT_BATTERY, load_protocol
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.file import load_session
from screen_tui.session.model import BESIDE_THE_POINT, Client, Intake, Session, Skip
from screen_tui.session.store import SessionStore

STANCE = "single-leg-stance"

_BEGUN = datetime(2026, 3, 2, 9, 15, tzinfo=UTC)


@contextmanager
def own_home() -> Iterator[Path]:
    """A folder for the program's data, thrown away afterwards."""
    with tempfile.TemporaryDirectory(prefix="knee-benchmark-") as folder:
        yield Path(folder)


@contextmanager
def ready_stance() -> Iterator[tuple[Watched, Path]]:
    """The program, with the one-leg stance ready to start, and the file of its session."""
    with own_home() as home:
        path = SessionStore(home / "sessions").save(_session(_protocol())).path
        with Watched(COMMAND, home=home) as terminal:
            terminal.wait_for("New session")
            terminal.type("1")
            terminal.wait_for("READY")
            assert "Single-leg stance" in terminal.text, terminal.text
            yield terminal, path


def sign_labels() -> dict[int, str]:
    """The labels of the stance's signs by their digits."""
    protocol = _protocol()
    signs = [protocol.sign(sign) for sign in protocol.test(STANCE).signs]
    return {sign.digit: sign.label for sign in signs}


def recorded_seconds(path: Path) -> list[float]:
    """The unrounded value of every trial of a session file, in the order they were made."""
    raw = [trial.raw_value for trial in load_session(path).trials]
    assert None not in raw, f"a trial without a time: {raw}"
    return [value for value in raw if value is not None]


def _protocol() -> ScreenProtocol:
    return load_protocol([protocols_folder()], DEFAULT_BATTERY)


def _session(protocol: ScreenProtocol) -> Session:
    order = [item.test for item in protocol.battery.items]
    return Session(
        id="2026-03-02-0915-7f3a",
        protocol=DEFAULT_BATTERY,
        protocol_digest=protocol.digest,
        started=_BEGUN,
        synthetic=True,
        client=Client(label="K-7", age=67, sex="female"),
        intake=Intake(complaints=("pain",), side="left", goals=("walking",)),
        skipped=tuple(
            Skip(test=test, reason=BESIDE_THE_POINT[-1]) for test in order[: order.index(STANCE)]
        ),
    )
