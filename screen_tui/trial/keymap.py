"""The one table of keys: what can be done at a test, with which key, and what help says of it.

A key is changed by changing its line. Several actions may share a key: `n` answers no while a trial
asks, and goes to the next test otherwise.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum

from screen_tui.files.text import first_control_character


@dataclass(frozen=True, slots=True)
class Binding:
    """One line of the table.

    Attributes:
        keys: Names of the keys, as `action_key` gives them. Of an action with a number each has
            its own: the first key is the first reason or score, or the sign of digit 1.
        printed: The keys as help prints them; what it `does`, it says once for neighbours.
        repeats: It goes on while the key is held.
    """

    keys: tuple[str, ...]
    printed: str
    does: str
    repeats: bool = False


_ANSWER = "answer a question: half-way up at 30 s; whether a value is right"
_BACK = "undoes the last thing"
_STAIRS = "stairs: up or down, and how many steps"
_FIELDS = "from number to number; scroll a long page"


class Action(Enum):
    """What a key does at a test, with its line of the table."""

    # To the trial.
    TIME = Binding(("space",), "Space", "starts and stops a test; counts where it is counted")
    ENTER = Binding(("enter",), "Enter", "saves a trial, accepts, continues")
    TAKE_BACK = Binding(("backspace",), "Backspace", _BACK)
    ERASE = Binding(("backspace",), "Backspace", _BACK, repeats=True)
    TYPE = Binding((*"0123456789-.,",), "0-9 - .", "a number that is measured", repeats=True)
    SIGN = Binding(tuple("123456789"), "1-9", "mark a sign; again counts it")
    WATCHED = Binding(("0",), "0", "watched throughout: what is not marked was not there")
    SIGN_LEG = Binding(("v", "left", "right"), "v ← →", "two legs: which leg the last sign is of")
    PAIN = Binding(("p",), "p", "pain during the trial, then its score")
    PAIN_SCORE = Binding((*"0123456789t+",), "0-9 t", "after it: 0 to 9, or t for 10")
    WHY_ENDED = Binding(("e",), "e", "why the trial ended, then its digit")
    END_REASON = Binding(tuple("1234567890"), "0-9", "after it: the reason; 0 for none")
    STRIKE = Binding(("x",), "x", "makes a trial void, for a reason")
    STRIKE_REASON = Binding(tuple("12345"), "1-5", "after it: the reason")
    YES = Binding(("y",), "y", _ANSWER)
    NO = Binding(("n",), "n", _ANSWER)
    TAP_STEPS = Binding(("t",), "t", "stairs: time each step, or start and stop")
    DIRECTION = Binding(("d",), "d", _STAIRS)
    MORE_STEPS = Binding(("+",), "+", _STAIRS, repeats=True)
    FEWER_STEPS = Binding(("-",), "-", _STAIRS, repeats=True)
    FIELD_BEFORE = Binding(("up", "shift+tab"), "↑", _FIELDS, repeats=True)
    FIELD_AFTER = Binding(("down", "tab"), "↓", _FIELDS, repeats=True)
    # Beside it.
    NOTE = Binding(("m",), "m", "a comment to the trial")
    CORRECT = Binding(("f",), "f", "corrects a value by hand; the first one stays too")
    SET_UP = Binding(("u",), "u", "the set-up: seat, step, walking aid, shoes")
    LAST_VALUES = Binding(("h",), "h", "shows or hides the last values")
    PATIENT_SIDE = Binding(("w",), "w", "practice: the patient from the other side")
    # From here.
    NEXT_TEST = Binding(("n",), "n", "next test")
    TEST_BEFORE = Binding(("b",), "b", "back to the test before")
    OTHER_LEG = Binding(("v", "left", "right"), "v ← →", "the other leg")
    SKIP = Binding(("s",), "s", "skip a test, with a reason")
    CUE = Binding(("c",), "c", "repeat with a cue")
    ALL_TESTS = Binding(("j",), "j", "go to any test")
    TRIALS = Binding(("l",), "l", "lists the trials")
    ANSWERS = Binding(("a",), "a", "the answers before testing, to look at or to change")
    RESULT = Binding(("g",), "g", "go to the answer")
    LEAVE = Binding(("q",), "q", "leave to Start; the session can be resumed")
    # Everywhere.
    HELP = Binding(("?",), "?", "this help; at a test, how it is done")
    ALL_KEYS = Binding(("k",), "k", "all keys, where they do not fit")
    STOP = Binding(("!",), "!", "stop testing, for safety", repeats=True)
    END_PROGRAM = Binding(
        ("ctrl+c", "ctrl+q"),
        "Ctrl-C",
        "end the program, as Ctrl-Q does; asks first about a trial not saved",
        repeats=True,
    )


@dataclass(frozen=True, slots=True)
class Keymap:
    """The table."""

    bindings: Mapping[Action, Binding]

    def actions(self, key: str) -> dict[Action, int]:
        """What a key may do, in the order of the table, with the place of the key in its line."""
        return {
            action: binding.keys.index(key)
            for action, binding in self.bindings.items()
            if key in binding.keys
        }

    def binding(self, action: Action) -> Binding:
        return self.bindings[action]

    def key(self, action: Action) -> str:
        """The first key of an action, as the line of keys prints it."""
        key = self.binding(action).keys[0]
        return _SHORT.get(key, key)

    def keys(self, action: Action, places: Sequence[int]) -> str:
        """The keys of an action at these places, in rising order, such as ``1-3 9``."""
        keys = self.binding(action).keys
        return in_runs(keys[at] for at in places)

    def help(self) -> tuple[tuple[str, str], ...]:
        """(keys, what they do), as help lists them."""
        rows: list[tuple[str, str]] = []
        for one in self.bindings.values():
            if rows and rows[-1][1] == one.does:
                said = rows[-1][0]
                rows[-1] = (said if said == one.printed else f"{said} {one.printed}", one.does)
            else:
                rows.append((one.printed, one.does))
        return tuple(rows)


def in_runs(keys: Iterable[str]) -> str:
    """Keys of one character as they are printed, neighbours as one run: ``1-3 9``."""
    runs: list[str] = []
    for key in keys:
        if runs and ord(key) == ord(runs[-1][-1]) + 1:
            runs[-1] += key
        else:
            runs.append(key)
    return " ".join(run if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in runs)


_SHORT = {"space": "Space", "enter": "Enter", "backspace": "Bksp", "up": "Up", "down": "Down"}

KEYMAP = Keymap({action: action.value for action in Action})

PROMPTED = {
    "pain": Action.PAIN_SCORE,
    "void": Action.STRIKE_REASON,
    "ended": Action.END_REASON,
}
"""What a key does only after another one."""

TIMED = (
    Action.TIME, Action.ENTER, Action.TAKE_BACK, Action.SIGN, Action.WATCHED, Action.PAIN,
    Action.WHY_ENDED, Action.STRIKE, Action.YES, Action.NO, Action.DIRECTION, Action.TAP_STEPS,
)  # fmt: skip
"""What is done to the trial itself, at the time of the press."""


# Names of keys, made the same whatever terminal sent them.

_CHARACTER_OF = {
    "space": " ",
    "plus": "+",
    "minus": "-",
    "full_stop": ".",
    "comma": ",",
    # The number pad.
    "add": "+",
    "subtract": "-",
    "decimal": ".",
    "separator": ",",
}
_OTHER_NAMES = {"return": "enter", "ctrl+m": "enter", "ctrl+h": "backspace", "backtab": "shift+tab"}


def typed_character(key: str, character: str | None) -> str:
    """Give the character a key press types, or "" for one that types nothing a text may hold.

    Some terminals name a key, such as ``full_stop``, without its character, so the name is asked
    first.
    """
    if key in _CHARACTER_OF:
        return _CHARACTER_OF[key]
    typed = key if character is None or len(character) != 1 else character
    possible = len(typed) == 1 and typed.isprintable() and first_control_character(typed) is None
    return typed if possible else ""


def action_key(key: str, character: str | None) -> str:
    """Give the name under which a key acts: ``space``, ``enter``, ``1``, ``+``, ``p``.

    Letters are lower case, so that a caps lock changes nothing.
    """
    name = _OTHER_NAMES.get(key, key)
    if name != key or name in ("space", "enter", "tab", "backspace"):
        return name
    typed = typed_character(key, character)
    return "space" if typed == " " else typed.lower() or name
