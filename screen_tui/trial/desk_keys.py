"""The one line that says what the keys of a trial do at this moment."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screen_tui.timing import Phase

if TYPE_CHECKING:
    from screen_tui.trial.desk import Desk

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
    if desk.entry.fields:
        return _typing(desk, back)
    if not desk.made.clocked:
        strike: Keys = (("x", "strike out"),) if desk.unsaved else ()
        space: Keys = (("Space", "count"),) if desk.made.timer.press(0.0) != desk.made.timer else ()
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
        flight: Keys = (("+/-", "steps"), ("d", "up or down")) if desk.spec.timer.directions else ()
        start = "one more trial" if desk.series_complete else "start"
        # p and e work here too, but are rare before the start: the ways from here need the room.
        return (("Space", start), *flight, *_signs(desk), *back)
    if made.phase is Phase.RUNNING:
        timer = desk.spec.timer
        stop: Keys = (
            (("Space", timer.space_does(made.timer.snapshot(0.0))), ("Enter", "stop early"))
            if timer.stops_early
            else (("Space Enter", "stop"),)
        )
        return (*stop, *_signs(desk), *back, *_PAIN, ("x", "strike out"), *_end(desk))
    strike: Keys = (("x", "strike out"),)
    if desk.stopped_without_reason:
        return (*_end(desk), *back, *_signs(desk), *_PAIN, *strike)
    return (("Enter", "keep"), *back, *_signs(desk), *_PAIN, *strike, *_end(desk))


def _end(desk: Desk) -> Keys:
    return (("e", "next reason" if desk.made.ended else "why ended"),)


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
