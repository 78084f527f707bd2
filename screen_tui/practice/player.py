"""What there is to see and hear of a simulated patient at one moment of a trial.

Pure: the time comes in. Before 0 the patient gets ready; at 0 the trial starts.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from screen_tui.practice.body import draw_front, draw_side
from screen_tui.practice.canvas import WIDTH
from screen_tui.practice.looks import seen_from_front, seen_from_side
from screen_tui.practice.movements import posture
from screen_tui.practice.timeline import Sight, Timeline

RISES_S, FADES_S = 0.3, 0.8
"""Seconds in which a sign appears, and in which it goes again after its time."""

WORDS_S = 4.0
"""Seconds words of the patient can be read."""


@dataclass(frozen=True, slots=True)
class Frame:
    """A simulated patient at one moment.

    Attributes:
        t: Seconds since the start; below zero before it.
        front: The picture from the front, at most 8 lines of 12 ASCII characters; empty where
            nothing is to be seen from there.
        side: The picture from the side, the same way.
        seen_from_front: What can be seen from the front just now, newest first, in plain words.
        seen_from_side: The same from the side.
        heard: What the patient is saying.
        happens: What happens at the start and at the end; "" in between.
        reading: What a measuring tool shows: (id of the field, number).
        pain: What the patient answers when asked for the pain, once the trial is over; else "".
        over: The trial is over.
    """

    t: float
    front: tuple[str, ...]
    side: tuple[str, ...]
    seen_from_front: tuple[str, ...]
    seen_from_side: tuple[str, ...]
    heard: tuple[str, ...]
    happens: str
    reading: tuple[tuple[str, float], ...]
    pain: str
    over: bool

    @property
    def both(self) -> tuple[str, ...]:
        """Both pictures side by side, 8 lines of at most 24 characters; front view at the left."""
        lines = range(max(len(self.front), len(self.side)))
        front = [*self.front, *[""] * len(lines)]
        side = [*self.side, *[""] * len(lines)]
        return tuple((front[row].ljust(WIDTH) + side[row]).rstrip() for row in lines)


def at(timeline: Timeline, t: float) -> Frame:
    """Give what there is to see and hear.

    Args:
        timeline: The trial.
        t: Seconds since its start; any number, also before ``-lead_in_s`` and after the end.
    """
    active = [(sight, _strength(sight, t)) for sight in timeline.sights]
    active = [(sight, strength) for sight, strength in active if strength > 0]
    body = posture(timeline, t)
    front, side = body.front, body.side
    for sight, strength in active:
        if front is not None and sight.from_front:
            front = seen_from_front(sight.sign, front, strength, t)
        if sight.from_side:
            side = seen_from_side(sight.sign, side, strength, t)
    newest = sorted((sight for sight, _ in active), key=lambda sight: -sight.at_s)
    return Frame(
        t=t,
        front=() if front is None else draw_front(front, mirrored=timeline.side == "right"),
        side=draw_side(side),
        seen_from_front=_once(sight.from_front for sight in newest),
        seen_from_side=_once(sight.from_side for sight in newest),
        heard=tuple(w.says for w in timeline.words if w.at_s <= t < w.at_s + WORDS_S),
        happens=_happens(timeline, t),
        reading=_reading(timeline, t),
        pain=_pain(timeline) if t >= timeline.over_s else "",
        over=t >= timeline.over_s,
    )


def _strength(sight: Sight, t: float) -> float:
    """How strongly a sign shows, from 0 to 1: it comes quickly, stays its time and fades."""
    since = t - sight.at_s
    if since < 0:
        return 0.0
    fading = (since - sight.lasts_s) / FADES_S
    return max(0.0, min(since / RISES_S, 1.0, 1.0 - fading)) if since > 0 else 1e-9


def _once(texts: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(text for text in texts if text))


_STARTS = {
    "stance": ("Gets ready, both feet down.", "The foot leaves the floor."),
    "tandem": ("Gets into place, a hand held.", "The hand is let go."),
    "walk": ("Walks up to the first mark.", "The toes cross the first mark."),
}

_ENDS = {
    "foot-down": "The foot is down.",
    "arms-left-place": "The arms leave their place.",
    "stance-foot-moved": "The standing foot moves.",
    "support-touched": "A hand takes hold.",
    "cap": "Still stands when the time is up.",
    "unable": "Stops: cannot go on.",
    "fatigue": "Stops, tired.",
    "breathless": "Stops, out of breath.",
    "pain": "Stops: it hurts.",
    "unsafe": "Is caught: that was not safe.",
    "asked-to-stop": "Asks to stop.",
}

_COMPLETE = {
    "walk": "The toes cross the last mark.",
    "up-and-go": "Sits again.",
    "floor": "Stands still, upright.",
    "stairs": "Both feet stand at the end of the flight.",
}

_SHOWN_S = 1.5
"""Seconds for which it is told what happened at the start."""


def _happens(timeline: Timeline, t: float) -> str:
    before, starts = _STARTS.get(timeline.movement, ("Ready; waits for the word.", ""))
    if t < 0:
        return before
    if t >= timeline.over_s:
        if timeline.ended:
            return _ENDS.get(timeline.ended, timeline.ended)
        return _COMPLETE.get(timeline.movement, "Done.")
    return starts if t < _SHOWN_S else ""


def _pain(timeline: Timeline) -> str:
    return f"{timeline.pain} of 10" if timeline.pain else "none"


def _reading(timeline: Timeline, t: float) -> tuple[tuple[str, float], ...]:
    """What the tool shows: the first number, and from half of the time on the others too."""
    numbers = tuple(timeline.numbers.items())
    if t < 0:
        return ()
    return numbers if t >= timeline.over_s / 2 else numbers[:1]
