"""Run in a process of its own: does what it is told under a hook that sees sockets and programs.

``python audited.py REPORT commands HOME``, ``... screen HOME`` or ``... guilty HOME`` writes a
report as JSON: for each thing done its exit code, the forbidden events that were seen, and the
files that were opened for writing.
"""

from __future__ import annotations

import asyncio
import contextlib
import io
import json
import os
import shutil
import socket
import subprocess
import sys
from pathlib import Path
from typing import Any

FORBIDDEN = (
    "socket.",
    "urllib.",
    "http.",
    "ftplib.",
    "smtplib.",
    "imaplib.",
    "poplib.",
    "nntplib.",
    "telnetlib.",
    "ssl.",
    "webbrowser.",
    "subprocess.",
    "os.exec",
    "os.posix_spawn",
    "os.spawn",
    "os.system",
    "os.startfile",
    "os.fork",
    "pty.",
)

seen: list[str] = []
written: list[str] = []
done: list[dict[str, Any]] = []


def watch(event: str, arguments: tuple[Any, ...]) -> None:
    """See an event of the interpreter."""
    if event == "open":
        path, mode, flags = arguments
        writes = flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT) or set(mode or "") & set("wax+")
        if writes and isinstance(path, str | bytes):
            written.append(os.fsdecode(path))
    if not event.startswith(FORBIDDEN):
        return
    # The loop wakes itself by a pair of sockets that never leave the process and have no name.
    own_pair = event == "socket.__new__" and arguments[1] == getattr(socket, "AF_UNIX", None)
    if not own_pair:
        seen.append(event)


sys.addaudithook(watch)


def tell(what: str, code: int) -> None:
    """Note what was done, and begin anew."""
    done.append({"what": what, "code": code, "seen": [*seen], "written": [*written]})
    seen.clear()
    written.clear()


def run_commands(home: Path) -> None:
    """Every command of the command line, on a demo session."""
    from screen_tui.cli import main as cli
    from screen_tui.files.places import demo_folder

    files = {
        "FILE": home / "demo" / "runner-left-hip.toml",
        "OTHER": home / "other.toml",
        "DIR": home / "demo",
        "OUT": home / "out",
        "HOME": home,
    }
    # A copy: listing a folder may leave an index in it.
    shutil.copytree(demo_folder(), files["DIR"])
    text = files["FILE"].read_text("utf-8")
    files["OTHER"].write_text(text.replace('id = "runner', 'id = "later'), encoding="utf-8")
    written.clear()
    lines = (home / "commands").read_text("utf-8").splitlines()
    for number, line in enumerate(lines):
        words = [str(files.get(word, word)) for word in line.split()]
        words = [f"{word}-{number}" if word == str(files["OUT"]) else word for word in words]
        out = io.TextIOWrapper(io.BytesIO(), encoding="utf-8")
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(io.StringIO()):
            code = cli.main(words)
        tell(line, code)


def run_screen(home: Path) -> None:
    """The program as the command line opens it, from Start to the written note."""
    os.environ["TERM"] = "xterm-256color"
    from screen_tui.cli import main as cli
    from screen_tui.tui.app import ScreenApp
    from support.clock import FakeClock
    from support.form_keys import LEFT_AND_SAFE, SHIPPED_NOT_ASKED
    from support.hands import Driver

    async def drive(app: ScreenApp) -> None:
        app.clock = clock = FakeClock()
        async with app.run_test(size=(80, 24)) as pilot:
            driver = Driver(app, pilot, clock)
            await driver.settle()
            await driver.press("n", *LEFT_AND_SAFE)
            await driver.press("5", "enter", "enter", "1", "enter", "1", "enter")
            await driver.press(*SHIPPED_NOT_ASKED)
            await driver.type("K-7")
            await driver.press("enter", "6", "7", "enter", "1", "enter")
            await driver.press("0", "enter", "1", "enter", "enter")  # the right knee
            await driver.press("2", "enter", "1", "4", "enter", "enter", "m")
            await driver.type("as said")
            await driver.press("enter", "s", "1", "!", "1")
            assert "stopped" in driver.text().lower()
            for _ in range(6):
                if "Knee note" not in driver.text():
                    await driver.press("enter")
            await driver.press("w", "1")
            assert "Written to" in driver.text(), driver.text()
            await driver.press("enter")
            assert "finished and saved" in driver.words(), driver.text()
            await driver.press("q")

    ScreenApp.run = lambda app, *_, **__: asyncio.run(drive(app))  # type: ignore[method-assign]
    cli._in_a_terminal = lambda: True
    tell("screen", cli.main(["--sessions", str(home / "sessions")]))


def run_guilty(home: Path) -> None:
    """What must be seen, so that seeing nothing means something."""
    with contextlib.suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as one:
        one.connect(("127.0.0.1", 9))
    subprocess.run([sys.executable, "-c", ""], check=True)
    (home / "file").write_text("x", encoding="utf-8")
    tell("guilty", 0)


if __name__ == "__main__":
    report, what, home = Path(sys.argv[1]), sys.argv[2], Path(sys.argv[3])
    {"commands": run_commands, "screen": run_screen, "guilty": run_guilty}[what](home)
    report.write_text(json.dumps(done), encoding="utf-8")
