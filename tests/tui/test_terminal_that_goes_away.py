"""A terminal that is closed, or a program that is told to end, with a trial under way."""

from __future__ import annotations

import os
import signal
import sys
from pathlib import Path

import pexpect
import pytest
from support.protocol_folder import write_protocol
from support.small_protocol import STARTED

from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import Client, Intake, Session, new_session_id
from screen_tui.session.store import SessionStore
from screen_tui.tui.lasting_driver import LastingOutput

PROGRAM = """
import signal, sys
from pathlib import Path
from screen_tui.preferences import Opened
from screen_tui.preferences import Preferred
from screen_tui.protocol.loader import load_protocol
from screen_tui.files.places import preferences_file
from screen_tui.session.store import SessionStore
from screen_tui.tui.run import run_app
if "ignore-hangup" in sys.argv:
    signal.signal(signal.SIGHUP, signal.SIG_IGN)
protocol = load_protocol([Path(sys.argv[1])], "small")
store = SessionStore(Path(sys.argv[2]))
sys.exit(run_app(Opened(protocol, store, Preferred(preferences_file()))))
"""


@pytest.fixture
def running(knee: ScreenProtocol, store: SessionStore, tmp_path: Path):
    """The program in a pseudo-terminal, with a stance under way."""
    folder = write_protocol(knee, tmp_path / "protocols")
    session = Session(
        id=new_session_id(STARTED, "7f3a"),
        protocol="small",
        started=STARTED,
        client=Client(label="K-014", age=67),
        intake=Intake(side="left", goals=("walking",)),
    )
    store.save(session)
    children = []

    def start(*more: str) -> pexpect.spawn:
        child = pexpect.spawn(
            sys.executable,
            ["-c", PROGRAM, str(folder), str(store.folder), *more],
            env={**os.environ, "TERM": "xterm-256color", "TEXTUAL_ANIMATIONS": "none"},
            dimensions=(20, 60),
            encoding="utf-8",
            timeout=20,
        )
        # Presses of one key less than 0.12 s apart would be taken for a key that is held.
        child.delaybeforesend = 0.2
        children.append(child)
        child.expect("New session")
        for key in "1nn ":
            child.send(key)
            child.expect({"1": "TYPE NUMBERS", "n": "Straight|Stance", " ": "RUNNING"}[key])
        child.delaybeforesend = None
        return child

    yield start, session.id
    for child in children:
        if not child.ptyproc.closed:
            child.close(force=True)


def ends(pid: int, seconds: float = 10.0) -> int:
    """Wait for the end of the program and give its exit code."""
    signal.alarm(int(seconds))
    try:
        _, status = os.waitpid(pid, 0)
    finally:
        signal.alarm(0)
    return os.waitstatus_to_exitcode(status)


@pytest.mark.pty
@pytest.mark.parametrize("more", [(), ("ignore-hangup",)])
def test_a_closed_terminal_ends_the_program_and_keeps_the_trial(
    running, store: SessionStore, more: tuple[str, ...]
) -> None:
    start, session_id = running
    child = start(*more)
    child.ptyproc.fileobj.close()
    assert ends(child.pid) == 0
    (trial,) = store.load(session_id).trials
    assert trial.void == "the program was ended"
    child.ptyproc.closed = True


@pytest.mark.pty
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_a_signal_ends_the_program_and_keeps_the_trial(
    running, store: SessionStore, number: signal.Signals
) -> None:
    start, session_id = running
    child = start()
    child.kill(number)
    child.expect(pexpect.EOF)
    child.wait()
    assert child.exitstatus == 0
    (trial,) = store.load(session_id).trials
    assert trial.void == "the program was ended"


class Gone:
    """A terminal whose other end was closed."""

    def write(self, _text: str) -> None:
        raise OSError(5, "Input/output error")

    def flush(self) -> None:
        raise OSError(5, "Input/output error")

    def fileno(self) -> int:
        return 2


def test_what_can_no_longer_be_written_is_dropped() -> None:
    output = LastingOutput(Gone())  # type: ignore[arg-type]
    output.write("x")
    output.flush()
    assert output.fileno() == 2
