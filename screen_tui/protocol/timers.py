"""How a test is timed or taken: one model per kind, told apart by ``kind``."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from screen_tui.protocol.base import Line, Strict

Seconds = Annotated[float, Field(gt=0, le=600)]


class Hold(Strict):
    """Time to failure, capped."""

    kind: Literal["hold"]
    cap_s: Seconds


class CountInTime(Strict):
    """Repetitions in a window.

    ``half_question`` is asked when the time is up; a yes counts one more repetition.
    ``min_split_s`` is the fastest repetition a person can do; faster presses are ignored.
    """

    kind: Literal["count-in-time"]
    window_s: Seconds
    min_split_s: Seconds
    half_question: Line | None = None


class TimeForCount(Strict):
    """Time for a number of repetitions; ``end_point`` says what stops the clock."""

    kind: Literal["time-for-count"]
    count: Annotated[int, Field(ge=1, le=50)]
    min_split_s: Seconds
    end_point: Literal["sit", "stand"]


class Steps(Strict):
    """Time over a flight of stairs, up and down apart, with a split at each step."""

    kind: Literal["steps"]
    steps: Annotated[int, Field(ge=1, le=60)]
    min_split_s: Seconds


class Walk(Strict):
    """Time over a distance, which gives speed; ``start`` says how the clock is started."""

    kind: Literal["walk"]
    distance_m: Annotated[float, Field(gt=0, le=100)]
    start: Literal["moving", "standing"]


class Once(Strict):
    """Time of one movement."""

    kind: Literal["once"]


class RepeatHold(Strict):
    """A number of holds of a fixed length, each good or not."""

    kind: Literal["repeat-hold"]
    holds: Annotated[int, Field(ge=1, le=20)]
    hold_s: Seconds


class Quality(Strict):
    """A few repetitions that are watched, not timed: only signs are kept."""

    kind: Literal["quality"]
    repetitions: Annotated[int, Field(ge=1, le=20)]


class NumberField(Strict):
    """One number read off the patient, such as an angle."""

    id: Literal["passive_deg", "active_deg", "value"]
    label: Line
    minimum: float
    maximum: float
    hint: Line


class Measure(Strict):
    """Numbers typed in, none of them timed."""

    kind: Literal["measure"]
    fields: Annotated[tuple[NumberField, ...], Field(min_length=1, max_length=3)]


Timer = Annotated[
    Hold | CountInTime | TimeForCount | Steps | Walk | Once | RepeatHold | Quality | Measure,
    Field(discriminator="kind"),
]
