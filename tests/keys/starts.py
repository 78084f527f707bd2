"""Where a session begins: the folder it finds, and the keys that lead to deep pages."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from random import Random

from keys.console import Console
from kill.hand import COMMAND
from kill.script import OPENING
from support.short_screen import answer_questions

from screen_tui.files.places import demo_folder
from screen_tui.session.file import load_session, session_text
from screen_tui.session.model import Session, Trial

_DOWN = "\x1b[B"
A_LOOK_S = 0.2
"""No hand is quicker: a key pressed while the page is being painted chooses nothing."""


def visited(home: Path) -> None:
    """Finished sessions of several people, one of them with three visits."""
    for path in (*demo_folder().glob("*.toml"), *(demo_folder() / "visits").glob("*.toml")):
        _save(home, _as_real(load_session(path)))


def unfinished(home: Path) -> None:
    """A session that was interrupted in the middle of a trial."""
    session = _as_real(load_session(demo_folder() / "frail-81-balance-or-stamina.toml"))
    under_way = Trial(test="single-leg-stance", side="left")
    _save(home, session.model_copy(update={"finished": None, "under_way": under_way}))


def _as_real(session: Session) -> Session:
    label = session.client.label.replace("DEMO", "K")
    client = session.client.model_copy(update={"label": label})
    return session.model_copy(update={"synthetic": False, "client": client})


def _save(home: Path, session: Session) -> None:
    folder = home / "sessions"
    folder.mkdir(mode=0o700, exist_ok=True)
    (folder / f"{session.id}.toml").write_text(session_text(session), encoding="utf-8")


def _at_once(console: Console, rng: Random) -> None:
    del rng
    console.wait_until(lambda: console.has_the_screen or console.over, "the program")


def _start(console: Console, rng: Random) -> None:
    del rng
    console.wait_for("new session")
    console.wait_until(lambda: OPENING not in console.text.partition("\n")[0], "Start")
    console.drain(A_LOOK_S)


def _answered(console: Console, rng: Random) -> None:
    _start(console, rng)
    answer_questions(console, load=rng.choice("15"))


def _demo(console: Console, rng: Random) -> None:
    _start(console, rng)
    console.press(*[_DOWN] * rng.randint(1, 12), "enter")
    console.wait_for("Answer")


def _resumed(console: Console, rng: Random) -> None:
    _start(console, rng)
    console.press("1")
    console.wait_for("READY")


def _note(console: Console, rng: Random) -> None:
    _resumed(console, rng)
    console.press("g")
    console.wait_for("Answer")
    console.press("enter")
    console.wait_for("Plan 3/3")
    console.press("enter")
    console.wait_for("patient's sheet")


def _visits(console: Console, rng: Random) -> None:
    _start(console, rng)
    console.press("v")
    console.wait_for("/  search")
    console.press(*[_DOWN] * rng.choice((0, 0, 1, 5)), "enter")
    console.wait_for("retest now")


def _practice(console: Console, rng: Random) -> None:
    _start(console, rng)
    console.press("p")
    console.wait_for("progress")
    console.press(*[_DOWN] * rng.randint(0, 13), "enter")
    console.wait_for("begin")
    console.press("enter")
    console.wait_for("The patient says")


def _preferences(console: Console, rng: Random) -> None:
    _start(console, rng)
    console.press("o")
    console.wait_for("Preferences")


@dataclass(frozen=True)
class Start:
    """A place to begin at.

    Attributes:
        lead: Presses the keys that lead there.
        prepare: Fills the folder; None where an empty one, or one that was left, will do.
        demo: Whether the program is opened on invented sessions.
    """

    lead: Callable[[Console, Random], None]
    prepare: Callable[[Path], None] | None = None
    demo: bool = False

    def command(self, home: Path) -> tuple[str, ...]:
        """The program with its arguments."""
        sessions = ("--demo", "--sessions", str(home / "sessions")) if self.demo else ()
        return (str(COMMAND), *sessions)


STARTS = {
    "at once": Start(_at_once),
    "Start": Start(_start),
    "answered": Start(_answered),
    "demo": Start(_demo, demo=True),
    "resumed": Start(_resumed, unfinished),
    "note": Start(_note, unfinished),
    "visits": Start(_visits, visited),
    "practice": Start(_practice),
    "preferences": Start(_preferences),
}
