"""The one table of keys: what can be done at a test, with which key, and what help says of it.

A key is changed by changing its line. Several actions may share a key: `n` answers no while a trial
asks, and goes to the next test otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum, auto


class Action(Enum):
    """What a key does at a test."""

    # To the trial.
    TIME = auto()
    ENTER = auto()
    TAKE_BACK = auto()
    SIGN = auto()
    PAIN = auto()
    PAIN_SCORE = auto()
    WHY_ENDED = auto()
    STRIKE = auto()
    STRIKE_REASON = auto()
    YES = auto()
    NO = auto()
    DIRECTION = auto()
    MORE_STEPS = auto()
    FEWER_STEPS = auto()
    FIELD_BEFORE = auto()
    FIELD_AFTER = auto()
    # Beside it.
    NOTE = auto()
    CORRECT = auto()
    SET_UP = auto()
    LAST_VALUES = auto()
    PATIENT_SIDE = auto()
    # From here.
    NEXT_TEST = auto()
    TEST_BEFORE = auto()
    OTHER_LEG = auto()
    SKIP = auto()
    CUE = auto()
    ALL_TESTS = auto()
    TRIALS = auto()
    RESULT = auto()
    LEAVE = auto()
    # Everywhere.
    HELP = auto()
    ALL_KEYS = auto()
    STOP = auto()
    END_PROGRAM = auto()


@dataclass(frozen=True, slots=True)
class Binding:
    """One line of the table.

    Attributes:
        keys: Names of the keys, as `action_key` gives them. Of an action with a number each has
            its own: the first key is the first sign, reason or score.
        printed: The keys as help prints them.
        does: What help says; the same words on neighbouring lines are said once.
        repeats: It goes on while the key is held.
    """

    keys: tuple[str, ...]
    printed: str
    does: str
    repeats: bool = False


@dataclass(frozen=True, slots=True)
class Keymap:
    """The table."""

    bindings: tuple[tuple[Action, Binding], ...]

    def actions(self, key: str) -> dict[Action, int]:
        """What a key may do, in the order of the table, with the place of the key in its line."""
        return {
            action: binding.keys.index(key)
            for action, binding in self.bindings
            if key in binding.keys
        }

    def binding(self, action: Action) -> Binding:
        """The line of an action."""
        return dict(self.bindings)[action]

    def key(self, action: Action) -> str:
        """The first key of an action, as the line of keys prints it."""
        key = self.binding(action).keys[0]
        return _SHORT.get(key, key)

    def keys(self, action: Action, count: int) -> str:
        """The first so many keys of an action, such as ``1-3``."""
        keys = self.binding(action).keys
        return keys[0] if count == 1 else f"{keys[0]}-{keys[count - 1]}"

    def repeats(self, action: Action) -> bool:
        """Whether it goes on while its key is held."""
        return self.binding(action).repeats

    def help(self) -> tuple[tuple[str, str], ...]:
        """(keys, what they do), as help lists them."""
        rows: list[tuple[str, str]] = []
        for _, one in self.bindings:
            if rows and rows[-1][1] == one.does:
                rows[-1] = (f"{rows[-1][0]} {one.printed}", one.does)
            else:
                rows.append((one.printed, one.does))
        return tuple(rows)

    def changed(self, action: Action, keys: tuple[str, ...], printed: str) -> Keymap:
        """The table with other keys for an action."""
        line = replace(self.binding(action), keys=keys, printed=printed)
        return Keymap(tuple((a, line if a is action else one) for a, one in self.bindings))


_SHORT = {"space": "Space", "enter": "Enter", "backspace": "Bksp", "up": "Up", "down": "Down"}
_ANSWER = "answer a question: half-way up at 30 s; whether a value is right"
_STAIRS = "stairs: up or down, and how many steps"
_FIELDS = "from number to number; scroll a long page"

KEYMAP = Keymap(
    (
        (Action.TIME, Binding(("space",), "Space", "starts, counts and stops a test")),
        (Action.ENTER, Binding(("enter",), "Enter", "keeps a trial, accepts, goes on")),
        (Action.TAKE_BACK, Binding(("backspace",), "Backspace", "takes the last thing back")),
        (Action.SIGN, Binding(tuple("123456789"), "1-9", "mark what was seen")),
        (Action.PAIN, Binding(("p",), "p", "pain during the trial, then its score")),
        (Action.PAIN_SCORE, Binding((*"0123456789t+",), "0-9 t", "after it: 0 to 9, or t for 10")),
        (Action.WHY_ENDED, Binding(("e",), "e", "why the trial ended; again for the next reason")),
        (Action.STRIKE, Binding(("x",), "x", "strikes a trial out, for a reason")),
        (Action.STRIKE_REASON, Binding(tuple("12345"), "1-5", "after it: the reason")),
        (Action.YES, Binding(("y",), "y", _ANSWER)),
        (Action.NO, Binding(("n",), "n", _ANSWER)),
        (Action.DIRECTION, Binding(("d",), "d", _STAIRS)),
        (Action.MORE_STEPS, Binding(("+",), "+", _STAIRS, repeats=True)),
        (Action.FEWER_STEPS, Binding(("-",), "-", _STAIRS, repeats=True)),
        (Action.FIELD_BEFORE, Binding(("up", "shift+tab"), "↑", _FIELDS, repeats=True)),
        (Action.FIELD_AFTER, Binding(("down", "tab"), "↓", _FIELDS, repeats=True)),
        (Action.NOTE, Binding(("m",), "m", "a note to the trial")),
        (Action.CORRECT, Binding(("f",), "f", "corrects a value by hand; the first one stays too")),
        (Action.SET_UP, Binding(("u",), "u", "note the set-up: seat, step, walking aid, shoes")),
        (Action.LAST_VALUES, Binding(("h",), "h", "shows or hides what was measured last time")),
        (Action.PATIENT_SIDE, Binding(("w",), "w", "practice: the patient from the other side")),
        (Action.NEXT_TEST, Binding(("n",), "n", "next test")),
        (Action.TEST_BEFORE, Binding(("b",), "b", "back to the test before")),
        (Action.OTHER_LEG, Binding(("v", "left", "right"), "v ← →", "the other leg")),
        (Action.SKIP, Binding(("s",), "s", "skip a test, with a reason")),
        (Action.CUE, Binding(("c",), "c", "repeat with a cue")),
        (Action.ALL_TESTS, Binding(("j",), "j", "go to any test")),
        (Action.TRIALS, Binding(("l",), "l", "lists the kept trials")),
        (Action.RESULT, Binding(("g",), "g", "go to the result")),
        (Action.LEAVE, Binding(("q",), "q", "leave to Start; the screen can be resumed")),
        (Action.HELP, Binding(("?",), "?", "this help; during a test, how it is done")),
        (Action.ALL_KEYS, Binding(("k",), "k", "all keys, where they do not fit")),
        (Action.STOP, Binding(("!",), "!", "stop the whole screen for safety", repeats=True)),
        (
            Action.END_PROGRAM,
            Binding(
                ("ctrl+c", "ctrl+q"),
                "Ctrl-C",
                "end the program, as Ctrl-Q does; asks first about a trial not kept",
                repeats=True,
            ),
        ),
    )
)
"""The keys as they are."""

PROMPTED = frozenset({Action.PAIN_SCORE, Action.STRIKE_REASON})
"""What a key does only after another one."""

TIMED = frozenset(
    {
        Action.TIME,
        Action.ENTER,
        Action.TAKE_BACK,
        Action.SIGN,
        Action.PAIN,
        Action.WHY_ENDED,
        Action.STRIKE,
        Action.YES,
        Action.NO,
        Action.DIRECTION,
    }
)
"""What is done to the trial itself, at the time of the press."""
