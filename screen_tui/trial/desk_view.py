"""What there is to draw of a trial at one moment."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SignRow:
    """A sign to watch for: the digit that toggles it, its label, and whether it was seen."""

    key: str
    label: str
    on: bool


@dataclass(frozen=True, slots=True)
class FieldRow:
    """A number that is typed: its label, what is typed so far, and whether it has the keys."""

    label: str
    typed: str
    hint: str
    current: bool
    error: str


@dataclass(frozen=True, slots=True)
class ChoiceRow:
    """Something to choose by one key at this moment."""

    key: str
    label: str


@dataclass(frozen=True, slots=True)
class DeskView:
    """A trial as it is drawn. All texts are plain ASCII apart from those of the protocol.

    Attributes:
        state: READY, COUNT-IN, RUNNING, TARGET REACHED, ASKING, ENDED, KEPT, ENTER NUMBERS,
            SIGNS, THEN KEEP or WATCH.
        title: The name of the test.
        whose: ``LEFT leg``, ``RIGHT leg`` or ``both legs``; for stairs ``going UP`` or
            ``going DOWN``.
        big: The main number, always of the same width during a trial; "" where there is none.
        unit: The unit of the main number.
        caption: Lines below the number, such as ``Trial 2 of 3 - best 8.4 s``.
        progress: How far it is, such as ``3 of 5``; "" before the start, or where `big` says it.
        target: What the trial runs to, such as ``up to 45 s``; "" where there is nothing.
        safety: What keeps the person safe, as the protocol says.
        say: What to say to the person, as the protocol says.
        ends_when: What ends it, as the protocol says.
        signs: The signs to watch for.
        signs_current: The digits go to the signs at this moment.
        pain: ``pain 3 of 10``, or "".
        ended: ``ended: foot down``, or "".
        set_up: What is noted on the set-up, such as ``seat 50 cm, stick``; "" when nothing is.
        hint: A short remark, such as ``held key ignored``; "" otherwise.
        question: A question that waits for y/n or for a second Enter; "" otherwise.
        error: Why something was refused; "" otherwise.
        fields: The numbers that are typed.
        choices: What one more key chooses now (a reason, a pain score); empty otherwise.
        keys: (key, what it does now), in the order of importance.
        bell: The target or the end was reached by the very last key or tick: ring once.
        flash: It was reached within the last second: draw the number marked.
    """

    state: str
    title: str
    whose: str
    big: str
    unit: str
    caption: tuple[str, ...]
    progress: str
    target: str
    safety: str
    say: str
    ends_when: tuple[str, ...]
    signs: tuple[SignRow, ...]
    signs_current: bool
    pain: str
    ended: str
    set_up: str
    hint: str
    question: str
    error: str
    fields: tuple[FieldRow, ...]
    choices: tuple[ChoiceRow, ...]
    keys: tuple[tuple[str, str], ...]
    bell: bool
    flash: bool
