"""A test done with a simulated patient: the patient beside the number, then as in any test."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from screen_tui.practice.canvas import HEIGHT, WIDTH
from screen_tui.practice.player import Frame
from screen_tui.trial.view import TrialView
from screen_tui.tui.drawing.before_testing import beside
from screen_tui.tui.drawing.rows import BLANK, Row, Span, paragraph, row, wrapped
from screen_tui.tui.drawing.test import (
    caption_rows,
    explained_rows,
    field_rows,
    mark_rows,
    number_rows,
    side_rows,
)

Place = Literal["front", "side"]
"""From where the patient is looked at, where there is room for one picture."""

BOTH_FROM = 76
"""Columns from which on both pictures stand beside the number."""
_GAP = 2
_BIG_ROWS = 5
_MOST_BLOCK = 11
NOT_SHOWN = "This patient's case tells nothing of this test. Skip it with s."
WAIT_FOR_PAIN = "Let the trial end, then ask for the pain."


@dataclass(frozen=True, slots=True)
class Patient:
    """What can be seen and heard of the patient, as it is drawn.

    Attributes:
        picture: Lines of the picture.
        columns: How wide it is.
        texts: Short descriptions and words, the most important first.
    """

    picture: tuple[str, ...]
    columns: int
    texts: tuple[str, ...]


def patient_of(
    frame: Frame | None, place: Place, width: int, *, labels: dict[str, str], pain: str | None
) -> Patient:
    """What is drawn of a frame, from one place or, where there is room, from both.

    Args:
        frame: The patient now; None where the case tells nothing of the test.
        place: From where they are looked at, where there is room for one picture.
        width: Columns of the whole body.
        labels: The labels of the numbers that are read off, by their ids.
        pain: What the patient answers to being asked for the pain, "" while the trial goes on;
            None while nobody asks.
    """
    if frame is None:
        return Patient((), WIDTH, (NOT_SHOWN,))
    both = width >= BOTH_FROM
    seen = [
        *(frame.seen_from_front if both or place == "front" else ()),
        *(frame.seen_from_side if both or place == "side" else ()),
    ]
    read = [f"{labels.get(name, name)}: {number:g}." for name, number in frame.reading]
    told = "" if pain is None else f'Pain: "{pain}"' if pain else WAIT_FOR_PAIN
    texts = (
        told,
        frame.happens,
        " ".join(f'"{words}"' for words in frame.heard),
        *read,
        *dict.fromkeys(seen),
    )
    # A view from which nothing is to be seen gives way to the other.
    single = (frame.front or frame.side) if place == "front" else (frame.side or frame.front)
    return Patient(
        frame.both if both else single,
        2 * WIDTH if both else WIDTH,
        tuple(text for text in texts if text),
    )


def draw_practice_test(view: TrialView, patient: Patient, width: int, height: int) -> list[Row]:
    """Draw a trial and the patient so that they fit; what explains gives way.

    Args:
        view: The trial at this moment.
        patient: The patient at this moment.
        width: Columns there are.
        height: Rows there are.
    """
    side = side_rows(view, width, tall=False)
    captions = caption_rows(view, width)
    marks = mark_rows(view, width)
    block = height - len(side) - len(captions) - len(marks)
    if block < HEIGHT and len(captions) > 2:
        captions = [captions[0], captions[-1]]
        block = height - len(side) - len(captions) - len(marks)
    explained = explained_rows(view, width, max(block - _MOST_BLOCK, 0))
    # A long notice takes rows from the picture, from its top, and never from signs or number.
    block = max(block - len(explained), _BIG_ROWS)
    left = width - patient.columns - _GAP
    # Where numbers are typed, what the tool shows is looked at, and not what follows from it.
    fields = field_rows(view.fields, left)
    beside_picture = fields or number_rows(view, left, _BIG_ROWS)
    told = whole_texts(patient.texts, left, block - len(beside_picture))
    picture = [row(Span(line, "strong")) for line in patient.picture[-block:]]
    drawn = beside([*beside_picture, *told], picture, left)
    drawn += [BLANK] * (block - len(drawn))
    return [*side, *drawn[:block], *captions, *marks, *explained][:height]


def whole_texts(texts: Sequence[str], width: int, room: int) -> list[Row]:
    """As many of the texts as there is room for, each whole: a text that is cut misleads.

    Each on a line of its own, or all in one paragraph where more of them fit so.
    """
    apart = [paragraph(text, width, indent=2) for text in texts]
    if sum(len(lines) for lines in apart) <= room:
        return [line for lines in apart for line in lines]
    told: list[str] = []
    for text in texts:
        if len(wrapped(" ".join([*told, text]), width)) <= room:
            told.append(text)
    return paragraph(" ".join(told), width) if told else []
