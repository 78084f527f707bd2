"""The usual visit in a real terminal, in real time: eight minutes, so it is run by hand.

    .venv/bin/python tests/pty/live_visit.py [--quick]

It prints how long it took before testing and in all, and what the session came to. ``--quick``
leaves out the time in which nothing is pressed between trials, to try the script itself.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

KEYS = {"enter": "\r", "space": " "}
COMMAND = Path(sys.executable).with_name("screen-tui")


def main() -> int:
    """Press every key of the visit when its time has come."""
    # A script finds what lies beside it; the helpers are imported as the tests import them.
    sys.path[0] = str(Path(__file__).resolve().parents[1])
    from support.terminal import Terminal
    from support.usual_visit import after_testing, before_testing, whole_visit

    from screen_tui.engine import assess
    from screen_tui.files.places import protocols_folder
    from screen_tui.protocol.loader import load_protocol
    from screen_tui.session.file import load_session

    protocol = load_protocol([protocols_folder()])
    before = len(list(before_testing(len(protocol.cautions))))
    presses = list(whole_visit(protocol))
    with TemporaryDirectory() as home, Terminal(COMMAND, home=Path(home)) as terminal:
        terminal.wait_for("New session")
        began = time.monotonic()
        due = began
        for number, one in enumerate(presses, start=1):
            due += min(one.after_s, 1.0) if "--quick" in sys.argv and not one.own else one.after_s
            terminal.drain(max(0.0, due - time.monotonic()))
            terminal.child.send(KEYS.get(one.key, one.key))
            if number == before:
                _tell(f"{time.monotonic() - began:.1f} s before testing, {before} presses")
            if number == len(presses) - len(list(after_testing())):
                terminal.drain(1.0)
                _tell(terminal.text)
        terminal.wait_for("finished")
        _tell(f"{(time.monotonic() - began) / 60:.1f} min in all, {len(presses)} presses, "
              f"{sum(not one.own for one in presses)} of them beyond the tests")  # fmt: skip
        (path,) = (Path(home) / "sessions").glob("*.toml")
        session = load_session(path)
        _tell(f"{len(session.trials)} trials; {assess(protocol, session).headline}")
    return 0


def _tell(text: str) -> None:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())
