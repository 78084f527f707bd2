"""Practice as it is drawn: what the patient says, a test with them, a trial played again."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, NamedTuple

from screen_tui.practice.figure import WIDTH
from screen_tui.practice.player import Frame, Timeline, at
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import Trial
from screen_tui.trial.intake import QuestionRow
from screen_tui.trial.view import Before, TrialView
from screen_tui.tui.drawing.before_testing import Draw, beside, draw_questions
from screen_tui.tui.drawing.rows import BLANK, Row, Span, bulleted, paragraph, row, rule, wrapped
from screen_tui.tui.drawing.test import (
    field_rows,
    leg_row,
    number_rows,
    question_rows,
    sign_rows,
    status_rows,
)

PATIENT_SAYS = "The patient says"


def draw_interview(
    questions: Sequence[QuestionRow],
    heard: Sequence[str],
    width: int,
    height: int,
    cursor: int | None,
    tests: Draw,
) -> list[Row]:
    """The questions and, below them, what was heard to the one in hand.

    Where both have no room, the lines of the questions give way to what was heard.
    """
    words = [rule(width, PATIENT_SAYS), *bulleted(heard, width)] if heard else []
    if len(words) > height // 2:
        words = [words[0], *bulleted([" - ".join(heard)], width)]
    room = height - len(words)
    shown = draw_questions(questions, width, room, cursor, tests)
    return [*shown, *([BLANK] * (room - len(shown))), *words]


Place = Literal["front", "side"]
"""From where the patient is looked at, where there is room for one picture."""

BOTH_FROM = 76
"""Columns from which on both pictures stand beside the number."""
_GAP = 2
_BIG_ROWS = 5
_MOST_BLOCK = 11
_TEXT_ROWS = 4
"""Rows beside a question that are left to what the patient says."""
NOT_SHOWN = "This patient's case tells nothing of this test. Skip it with s."
WAIT_FOR_PAIN = "Let the trial end, then ask for the pain."


class Seen(NamedTuple):
    """What can be seen and heard of the patient: a picture, and texts, the most important first."""

    picture: tuple[str, ...]
    texts: tuple[str, ...]


def seen_of(
    frame: Frame | None,
    place: Place,
    width: int,
    *,
    labels: dict[str, str],
    pain: str | None,
    in_words: bool = True,
    ended: bool = True,
) -> Seen:
    """What is drawn of a frame, from one place or, where a body of that width has room, from both.

    Args:
        frame: The patient now; None where the case tells nothing of the test.
        place: From where they are looked at, where there is room for one picture.
        labels: The labels of the numbers that are read off, by their ids.
        pain: What the patient answers to being asked for the pain, "" while the trial goes on;
            None while nobody asks.
        in_words: Put what can be seen in words as well.
        ended: The student's trial has ended: then it is said why the patient's did.
    """
    if frame is None:
        return Seen((), (NOT_SHOWN,))
    both, front = width >= BOTH_FROM, place == "front"
    texts = (
        "" if pain is None else f'Pain: "{pain}"' if pain else WAIT_FOR_PAIN,
        frame.happens if in_words or ended or frame.t < 0 else "",
        " ".join(f'"{words}"' for words in frame.heard),
        *(f"{labels.get(name, name)}: {number:g}." for name, number in frame.reading),
        *(frame.seen_from_front if in_words and (both or front) else ()),
        *(frame.seen_from_side if in_words and (both or not front) else ()),
    )
    # A view from which nothing is to be seen gives way to the other.
    single = (frame.front or frame.side) if front else (frame.side or frame.front)
    return Seen(frame.both if both else single, tuple(dict.fromkeys(filter(None, texts))))


def draw_practice_test(view: TrialView, patient: Seen, width: int, height: int) -> list[Row]:
    """Draw a trial and the patient so that they fit; what explains gives way."""
    status = status_rows(view, width, 2)
    signs = sign_rows(view, width)
    block = height - 1 - len(status) - len(signs)
    room = max(block - _MOST_BLOCK, 0)
    explained = whole_texts(_explained(view.before), width, room) if view.before else []
    # A long notice takes rows from the picture, from its top, and never from signs or number.
    block = max(block - len(explained), _BIG_ROWS)
    left = width - (2 * WIDTH if width >= BOTH_FROM else WIDTH) - _GAP
    # Where numbers are typed, what the tool shows is looked at, and not what follows from it.
    fields = field_rows(view.fields, left)
    asked = question_rows(view, left, block - _TEXT_ROWS)
    beside_picture = asked or fields or number_rows(view, left, _BIG_ROWS)
    words = whole_texts(patient.texts, left, block - len(beside_picture))
    picture = [row(Span(line, "strong")) for line in patient.picture[-block:]]
    drawn = beside([*beside_picture, *words], picture, left)
    drawn += [BLANK] * (block - len(drawn))
    return [leg_row(view, width), *drawn[:block], *status, *signs, *explained][:height]


def _explained(before: Before) -> list[str]:
    """What is read before the start, what matters most first."""
    labelled_texts = (
        ("Cue", before.cue),
        ("Say", before.say),
        *(("Caution", text) for text in before.cautions),
        ("Safety", before.safety),
        ("Ends when", "; ".join(reason.rstrip(".") for reason in before.ends_when)),
        ("Set up", " ".join(before.setup)),
    )
    return [*before.results, *(f"{label}: {text}" for label, text in labelled_texts if text)]


def whole_texts(texts: Sequence[str], width: int, room: int) -> list[Row]:
    """As many of the texts as there is room for, each whole: a text that is cut misleads.

    Each on a line of its own, or all in one paragraph where more of them fit so.
    """
    apart = [paragraph(text, width, indent=2) for text in texts]
    if sum(len(lines) for lines in apart) <= room:
        return [line for lines in apart for line in lines]
    fitting: list[str] = []
    for text in texts:
        if len(wrapped(" ".join([*fitting, text]), width)) <= room:
            fitting.append(text)
    return paragraph(" ".join(fitting), width) if fitting else []


def draw_replay(
    protocol: ScreenProtocol, trial: Trial, timeline: Timeline, t: float, width: int
) -> list[Row]:
    """The figure at a moment, and every sign with its times and whether it was marked."""
    frame = at(timeline, t)
    drawn = [row(Span(line, "strong")) for line in frame.both]
    over = timeline.over_s
    drawn += paragraph(f"{min(max(t, 0.0), over):.1f} of {over:.1f} s", width, "second")
    labels = {sign.id: sign.label for sign in protocol.signs}
    for sign in timeline.first_seen:
        times = [sight for sight in timeline.sights if sight.sign == sign]
        now = any(one.at_s <= t < one.at_s + one.lasts_s for one in times)
        seconds = ", ".join(f"{one.at_s:.1f}" for one in times)
        marked = "you marked it" if sign in trial.signs else "you did not mark it"
        head = row(Span(" > " if now else "   ", "first"))
        name = labels.get(sign, sign).upper() if now else labels.get(sign, sign)
        text = f"{name}, from {seconds} s; {marked}"
        drawn += paragraph(text, width, "verdict" if now else "plain", first=head)
    false = [labels.get(one, one) for one in trial.signs if one not in timeline.first_seen]
    if false:
        drawn += [BLANK, *paragraph(f"Marked, but not there: {', '.join(false)}.", width)]
    return drawn
