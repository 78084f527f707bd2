"""What must hold of a session once the program has ended."""

from __future__ import annotations

import os
import re
import subprocess
from dataclasses import dataclass, field
from pathlib import Path

from keys.console import Console
from keys.sends import Send
from kill.hand import COMMAND

_STYLE = re.compile(r"\x1b\[[\d;]*m")
_TRACEBACK = "Traceback"
_FRAME = re.compile(r"([\w.]+\.py)(?:\", line |:)(\d+),? in")
_ERROR = re.compile(r"^(\w+(?:Error|Exception|Interrupt))\b", re.MULTILINE)


@dataclass
class Outcome:
    """What a session came to.

    Attributes:
        faults: What was wrong, the most telling first; the same fault has the same words.
        sends: All that was sent.
        pages: Heads of the screens that were seen.
        screen: The last one.
        report: The report of a crash.
        left_early: Whether one of the keys sent had ended the program.
        leaving_s: How long it took to end when it was asked to.
    """

    faults: list[str] = field(default_factory=list)
    sends: list[Send] = field(default_factory=list)
    pages: set[str] = field(default_factory=set)
    screen: str = ""
    report: str = ""
    left_early: bool = False
    leaving_s: float = 0.0


def judge(outcome: Outcome, console: Console, home: Path) -> None:
    """Add what is wrong after the program has ended."""
    reports = sorted(home.rglob("crash-*.txt"))
    outcome.report = "\n".join(path.read_text("utf-8") for path in reports)
    faults = [f"crash: {_where(outcome.report)}"] if outcome.report else []
    for text in (_STYLE.sub("", console.after.decode(errors="replace")), console.text):
        if not faults and _TRACEBACK in text:
            faults.append(f"traceback: {_where_shown(text)}")
    if outcome.faults:
        # It was killed, since it would not end.
        faults += outcome.faults
    else:
        faults += [f"ended with {ended}"] if (ended := console.ending()) != "0" else []
        faults += [f"left behind: {', '.join(left)}"] if (left := console.left_behind()) else []
    outcome.faults = faults + _unreadable(home)


def _where(report: str) -> str:
    """The kind of the first error of a report, its place, and the last one of our own before it."""
    kind, *lines = report.splitlines()
    places = []
    for line in lines:
        if not line.startswith("  "):
            break
        places.append(line.strip())
    own = [place for place in places if "/screen_tui/" in place]
    told = dict.fromkeys("/".join(place.split("/")[-2:]) for place in (places[-1], *own[-1:]))
    return f"{kind.removeprefix('builtins.')} at {', from '.join(told)}"


def _where_shown(text: str) -> str:
    """The same of a traceback in the terminal, which may be drawn in a frame and cut into lines."""
    _, _, traceback = text.partition(_TRACEBACK)
    frames = _FRAME.findall(re.sub(r"[\s│]*\r?\n[\s│]*", "", traceback))
    error = _ERROR.search(traceback)
    place = ":".join(frames[-1]) if frames else "an unknown place"
    return f"{error.group(1) if error else 'an error'} at {place}"


def _unreadable(home: Path) -> list[str]:
    """What the program's own check says of the files that were left."""
    set_aside = [f"set aside: {path.name}" for path in home.rglob("*.unusable-*")]
    files = sorted(home.rglob("*.toml"))
    if not files:
        return set_aside
    checked = subprocess.run(
        [COMMAND, "check", *files],
        capture_output=True,
        text=True,
        env={**os.environ, "SCREEN_TUI_HOME": str(home)},
    )
    if checked.returncode == 0:
        return set_aside
    said = checked.stderr.replace(f"{home}/", "").strip() or f"check gave {checked.returncode}"
    return set_aside + [f"unreadable: {line}" for line in said.splitlines()]
