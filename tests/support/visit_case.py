"""An invented person over three visits: a hip that gets better, and what stands in the way."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from typing import Any

from screen_tui.protocol.model import Protocol
from screen_tui.session.model import Session
from support.note_case import note_protocol, note_session
from support.small_protocol import exercise

CET = timezone(timedelta(hours=1))
WRITTEN = datetime(2026, 6, 1, 12, 0, tzinfo=CET)

CRITERION = {
    "test": "stance",
    "measure": "value",
    "at_least": 10.0,
    "max_pain": 5,
    "signs_none": ["pelvis-drops"],
}


def visit_protocol() -> Protocol:
    """That of the note, with two exercises for the hip, one of which the stance can tell of."""
    data = note_protocol().model_dump()
    data["exercises"] = [
        exercise("side-lift", "hip-control", name="Side lift", load="unloaded", order=10),
        exercise(
            "level-stance",
            "hip-control",
            name="Stance with the pelvis level",
            load="one-leg",
            order=20,
            progress_when="Five holds of ten seconds, level.",
            progress_to="Thirty seconds.",
            progress_if=[CRITERION],
        ),
    ]
    return Protocol.model_validate(data)


def visit(number: int, *trials: dict[str, Any], **more: Any) -> Session:
    """The first, second or further visit, five weeks apart."""
    started = datetime(2026, 3, 2, 9, 15, tzinfo=CET) + timedelta(days=35 * (number - 1))
    base: dict[str, Any] = {
        "id": f"2026-visit-{number}",
        "started": started,
        "finished": started + timedelta(minutes=20),
        "intake": {"side": "left", "goals": ["stairs"]},
        "trials": list(trials),
        "skipped": [],
    }
    return note_session(**(base | more))


def stance(value: float | None, *signs: str, side: str = "left", **more: Any) -> dict[str, Any]:
    return {"test": "stance", "side": side, "value": value, "signs": list(signs), **more}


def rises(value: float, *signs: str, **more: Any) -> dict[str, Any]:
    return {"test": "rises", "value": value, "signs": list(signs), **more}


def three_visits() -> tuple[Session, Session, Session]:
    """The hold doubles and the pelvis no longer drops; the rises are with hands at first."""
    first = visit(
        1,
        stance(6.2, "pelvis-drops", ended="foot-down", pain=3),
        stance(45.0, side="right", ended="cap"),
        rises(14.8, "hands-used"),
    )
    second = visit(
        2,
        stance(9.0, "pelvis-drops", ended="foot-down", pain=2),
        rises(15.0),
        skipped=[{"test": "stance", "side": "right", "reason": "short of time"}],
        finished=None,
    )
    third = visit(
        3,
        stance(14.0, ended="foot-down", pain=1),
        stance(13.0, ended="foot-down"),
        stance(45.0, side="right", ended="cap"),
        rises(13.0),
        {"test": "floor-rise", "value": 4.0},
    )
    return first, second, third
