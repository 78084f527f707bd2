"""How a test is set up: what was noted, what of it goes on to the next trial, and how it is noted.

Nothing is noted by itself. What somebody noted holds for the trial at hand and for all later
ones of the session, in every test that asks for the same thing and can have that value: shoes and
a walking aid stay on a person, a chair stays in the room. The trials are the memory; beside them
is what was said since, which is not in a trial yet.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import get_args

from screen_tui.engine.measures import HANDS_USED
from screen_tui.engine.observe import NO_AID, WALKING_AID
from screen_tui.fields import SetUpId
from screen_tui.protocol.tests import SetUp, TestSpec
from screen_tui.session.model import Trial
from screen_tui.trial.numbers import read_number

Noted = Mapping[SetUpId, float | str]
"""What was noted, and nothing that is only usual."""

Said = Mapping[SetUpId, float | str | None]
"""What was said on the set-up; None where a note was taken back."""

_IDS: tuple[SetUpId, ...] = get_args(SetUpId)
_LONGEST = 6
_NO_MORE = ("unsafe", "breathless", "asked-to-stop")
_TYPED = re.compile(r"[0-9.,]")


def carried(spec: TestSpec, trials: Iterable[Trial], said: Said) -> Noted:
    """Give what is noted for the next trial of a test, in the order of its file.

    All trials of the session count, void ones too; what was said in it is newer than any of them.
    """
    known: dict[SetUpId, float | str | None] = {}
    for trial in trials:
        known |= {name: value for name in _IDS if (value := trial.set_up(name)) is not None}
    known |= said
    return {
        item.id: value
        for item in spec.set_up
        if (value := known.get(item.id)) is not None and _can_be(item, value)
    }


def of_last_visit(
    specs: Iterable[TestSpec], trials: Iterable[Trial]
) -> tuple[tuple[SetUp, ...], Noted]:
    """What the tests of this visit ask for, each thing once, and what was noted of it then."""
    known = {
        name: value for one in trials for name in _IDS if (value := one.set_up(name)) is not None
    }
    items: dict[SetUpId, SetUp] = {}
    for item in (item for spec in specs for item in spec.set_up):
        if item.id in known and _can_be(item, known[item.id]):
            items.setdefault(item.id, item)
    return tuple(items.values()), {name: known[name] for name in items}


def recorded(noted: Noted, signs: Sequence[str]) -> Noted:
    """Give what of it a trial records: no "no aid" beside the sign of an aid, which is newer."""
    if noted.get("aid") == NO_AID and WALKING_AID in signs:
        return {name: value for name, value in noted.items() if name != "aid"}
    return noted


def in_short(noted: Noted) -> str:
    """Say what is noted, such as ``seat 50 cm, stick``; "" when nothing is."""
    return ", ".join(_short(name, value) for name, value in noted.items())


def higher_seat(spec: TestSpec, trial: Trial) -> str:
    """Say that a chair test done with hands is offered from a higher seat; "" otherwise.

    A higher seat shows what is possible without hands; it is held against no line. To somebody
    who was unsafe, short of breath or wished to stop, nothing more is offered.
    """
    seat = any(item.id == "seat_cm" for item in spec.set_up)
    plain = trial.counts and not trial.cue and trial.ended not in _NO_MORE
    if not (seat and spec.timer.rises and plain and HANDS_USED in trial.signs):
        return ""
    return "Hands used: offer it from a higher seat; u notes the seat."


@dataclass(frozen=True, slots=True)
class SetUpForm:
    """The set-up of a test, gone through key by key.

    Attributes:
        before: What was noted when the form was opened; nothing yet of what is noted as last time.
        at: The place of the item the keys go to.
        typed: What was typed there and not taken yet; `problem` says why it cannot be.
        done: It was left; nothing that was typed is open.
    """

    items: tuple[SetUp, ...]
    before: Noted
    noted: Noted
    at: int = 0
    typed: str = ""
    problem: str = ""
    done: bool = False

    @property
    def current(self) -> SetUp:
        return self.items[self.at]

    @property
    def changes(self) -> Said:
        """What was changed since the form was opened; None for a note taken back."""
        return {
            item.id: self.noted.get(item.id)
            for item in self.items
            if self.noted.get(item.id) != self.before.get(item.id)
        }

    def key(self, name: str) -> SetUpForm:
        """Take a key by the name under which it acts; one without a meaning changes nothing."""
        match name:
            case "down" | "tab" | "enter":
                return self._go(+1)
            case "up" | "shift+tab":
                return self._go(-1)
            case "backspace" if self.typed:
                return replace(self, typed=self.typed[:-1], problem="")
            case "b" | "backspace":
                taken = self._taken()
                return taken if taken.problem else replace(taken, done=True)
            case "x":
                return self._with(None)
            case "space" if self.current.choices:
                # The choice after the noted one; after the last, none is noted.
                order = (None, *self.current.choices)
                noted = self.noted.get(self.current.id)
                place = order.index(noted) if noted in order else 0
                return self._with(order[(place + 1) % len(order)])
        if choices := self.current.choices:
            chosen = name.isdecimal() and 1 <= int(name) <= len(choices)
            return self._with(choices[int(name) - 1]) if chosen else self
        if _TYPED.fullmatch(name) and len(self.typed) < _LONGEST:
            return replace(self, typed=self.typed + name, problem="")
        return self

    def go_to(self, place: int) -> SetUpForm:
        """Take what was typed and go to that item; what cannot be holds the place."""
        taken = self._taken()
        return taken if taken.problem else replace(taken, at=place)

    def _go(self, step: int) -> SetUpForm:
        return self.go_to((self.at + step) % len(self.items))

    def _taken(self) -> SetUpForm:
        """The form with the typed number noted, or with the reason why it cannot be."""
        if not self.typed:
            return self
        number, item = read_number(self.typed), self.current
        if number is not None and _can_be(item, number):
            return self._with(number)
        wrong = "is not a number" if number is None else "cannot be"
        return replace(self, problem=f"{item.label}: {self.typed} {wrong}; type {limits(item)}.")

    def _with(self, value: float | str | None) -> SetUpForm:
        """The form with a value noted at the current place, or with none; in the file's order."""
        now = {**self.noted, self.current.id: value}
        noted = {item.id: each for item in self.items if (each := now.get(item.id)) is not None}
        return replace(self, noted=noted, typed="", problem="")


def _can_be(item: SetUp, value: float | str) -> bool:
    if isinstance(value, str):
        return value in item.choices
    if item.minimum is None or item.maximum is None:
        return False
    return item.minimum <= value <= item.maximum


def limits(item: SetUp) -> str:
    """What may be typed, such as ``30 to 75 cm``."""
    return f"{item.minimum:g} to {item.maximum:g} {item.unit}".rstrip()


def value_words(item: SetUp, value: float | str) -> str:
    """A value as it is shown, such as ``43 cm``."""
    return value.replace("-", " ") if isinstance(value, str) else f"{value:g} {item.unit}".rstrip()


def _short(name: SetUpId, value: float | str) -> str:
    if isinstance(value, str):
        return f"no {name}" if value == NO_AID else value.replace("-", " ")
    return f"{name.removesuffix('_cm')} {value:g} cm"
