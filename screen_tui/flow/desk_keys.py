"""The one line that says what the keys of a trial do at this moment."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screen_tui.protocol.timers import (
    CountInTime,
    Hold,
    Measure,
    Once,
    Quality,
    RepeatHold,
    Steps,
    TimeForCount,
    Timer,
    Walk,
)
from screen_tui.timing import Phase, RepeatHoldTimer

if TYPE_CHECKING:
    from screen_tui.flow.desk import Desk

Keys = tuple[tuple[str, str], ...]

_PAIN: Keys = (("p", "pain"),)


def key_line(desk: Desk) -> Keys:
    """Give (key, what it does now), the most needed first; every key named does something."""
    if desk.kept is not None:
        return ()
    if desk.prompt == "pain":
        return (("0-9", "pain"), ("t", "ten"), ("Bksp", "no pain score"))
    if desk.prompt == "strike":
        return (("1-5", "reason"), ("Bksp", "do not strike out"))
    back: Keys = (("Bksp", "take back"),) if desk.undoable else ()
    if isinstance(desk.spec.timer, Measure):
        return _typing(desk, back)
    if isinstance(desk.spec.timer, Quality):
        strike: Keys = (("x", "strike out"),) if desk.unsaved else ()
        space: Keys = (
            (("Space", "count"),) if desk.made.repetitions < desk.spec.timer.repetitions else ()
        )
        return (*space, *_signs(desk), ("Enter", "keep"), *back, *_PAIN, *strike, *_end(desk))
    return _timed(desk, back)


def _timed(desk: Desk, back: Keys) -> Keys:
    made = desk.made
    if made.counting_in:
        return (*back, *_signs(desk))
    if desk.in_doubt:
        return (("y", "it is right"), ("n", "strike out"), *back, *_signs(desk), *_PAIN)
    if made.asking:
        return (("y", "yes"), ("n", "no"), *back, *_signs(desk), ("x", "strike out"))
    if made.phase is Phase.READY:
        flight: Keys = (
            (("+/-", "steps"), ("d", "up or down")) if isinstance(desk.spec.timer, Steps) else ()
        )
        start = "one more trial" if desk.series_complete else "start"
        # p and e work here too, but are rare before the start: the ways from here need the room.
        return (("Space", start), *flight, *_signs(desk), *back)
    if made.phase is Phase.RUNNING:
        stop: Keys = (
            (("Space Enter", "stop"),)
            if isinstance(desk.spec.timer, Hold)
            else (
                ("Space", _space_while_running(desk.spec.timer, made.timer)),
                ("Enter", "stop early"),
            )
        )
        return (*stop, *_signs(desk), *back, *_PAIN, ("x", "strike out"), *_end(desk))
    strike: Keys = (("x", "strike out"),)
    if desk.stopped_without_reason:
        return (*_end(desk), *back, *_signs(desk), *_PAIN, *strike)
    return (("Enter", "keep"), *back, *_signs(desk), *_PAIN, *strike, *_end(desk))


def _end(desk: Desk) -> Keys:
    return (("e", "next reason" if desk.made.ended else "why ended"),)


def _space_while_running(timer: Timer, running: object) -> str:
    match timer:
        case CountInTime() | TimeForCount():
            return "count"
        case Steps():
            return "step"
        case RepeatHold():
            resting = isinstance(running, RepeatHoldTimer) and running.resting
            return "next hold" if resting else "hold lost"
        case Walk():
            return "arrived"
        case Once():
            return "done"
    return "stop"


def _typing(desk: Desk, back: Keys) -> Keys:
    entry = desk.entry
    move: Keys = (("Up/Down", "move"),) if entry.go(1) != entry or entry.go(-1) != entry else ()
    enter = "keep" if entry.at_the_end else "next"
    what: Keys = (("0-9 -", "type"),) if entry.on_field else _signs(desk)
    strike: Keys = (("x", "strike out"),) if desk.unsaved else ()
    return (*what, ("Enter", enter), *back, *_PAIN, *strike, *move)


def _signs(desk: Desk) -> Keys:
    count = len(desk.labels)
    if not count:
        return ()
    return (("1" if count == 1 else f"1-{count}", "signs"),)
