"""A protocol small enough to follow by hand; its figures are made up for the arithmetic."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from screen_tui.engine.conditions import Seen
from screen_tui.engine.grade import ResultKey
from screen_tui.engine.results import Result
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import Session

STARTED = datetime(2026, 3, 2, 9, 15, tzinfo=UTC)

_INSTRUCTIONS = {
    "setup": ["Chair against the wall."],
    "say": "Go.",
    "ends_when": ["The foot touches down."],
    "safety": "Stand close.",
    "source": "judgement",
}


def rule(driver: str, speaks: str, strength: str, shows: str, **when: Any) -> dict[str, Any]:
    about_strength = when.pop("about_strength", False)
    return {
        "driver": driver,
        "speaks": speaks,
        "strength": strength,
        "shows": shows,
        "when": when,
        "reason": f"{shows} {speaks} {driver}",
        "source": "judgement",
        "about_strength": about_strength,
    }


def line(measure: str, meets: str, value: float, **more: Any) -> dict[str, Any]:
    band = {"from_age": more.pop("from_age", 60), "to_age": more.pop("to_age", 69)}
    return {
        "id": more.pop("id", "line"),
        "measure": measure,
        "role": more.pop("role", "judge"),
        "meets": meets,
        "limits": more.pop("limits", [{**band, "value": value}]),
        "meaning": "below the line",
        "population": "invented",
        "source": "judgement",
        **more,
    }


def measure(taken_from: str = "value", **more: Any) -> dict[str, Any]:
    base = {
        "id": "value",
        "label": "value",
        "unit": "s",
        "decimals": 1,
        "better": "higher",
        "taken_from": taken_from,
        "over_trials": "best",
    }
    return base | more


def test_spec(test_id: str, **more: Any) -> TestSpec:
    base: dict[str, Any] = {
        "id": test_id,
        "name": test_id,
        "short_name": test_id[:20],
        "asks": "What it asks.",
        "sides": "each",
        "load": "one-leg",
        "minutes": 2.0,
        "trials": 1,
        "timer": {"kind": "hold", "cap_s": 45.0},
        "plausible": {"minimum": 0, "maximum": 45},
        "instructions": _INSTRUCTIONS,
        "signs": ["pelvis-drops", "arch-collapses", "unsteady"],
        "measures": [measure()],
    }
    return TestSpec.model_validate(base | more)


test_spec.__test__ = False  # type: ignore[attr-defined]


def protocol(*tests: TestSpec, **more: Any) -> ScreenProtocol:
    """A protocol of these tests with three drivers: two of a leg, one of the person."""
    sided = {"hip-control": True, "foot-ankle-control": True, "movement-strategy": False}
    base: dict[str, Any] = {
        "battery": {
            "id": "small",
            "name": "Small battery",
            "items": [{"test": test.id} for test in tests],
            "gates": more.pop("gates", []),
        },
        "tests": [test.model_dump() for test in tests],
        "signs": [],
        "cautions": [
            {
                "id": "clot",
                "name": "Possible clot",
                "urgency": "today",
                "question": "Calf pain and swelling?",
                "means": "A clot must be ruled out.",
                "next_step": "Refer the same day, by local policy.",
                "source": "judgement",
            }
        ],
        "stop_rules": [],
        "drivers": [
            {
                "id": driver,
                "name": driver.replace("-", " "),
                "meaning": "what it means",
                "sided": is_sided,
                "counts_against": "what counts against",
                "source": "judgement",
            }
            for driver, is_sided in sided.items()
        ],
        "exercises": more.pop("exercises", []),
        "leave_out": more.pop("leave_out", []),
        "sources": [
            {"id": "judgement", "provenance": "clinical judgement", "title": "Invented for tests"}
        ],
    }
    return ScreenProtocol.model_validate(base | more)


def exercise(exercise_id: str, driver: str, **more: Any) -> dict[str, Any]:
    words = ("position", "dose", "cue", "feel", "stop", "progress_when", "progress_to")
    return {
        "id": exercise_id,
        "name": exercise_id,
        "driver": driver,
        "load": "both-legs",
        "order": 1,
        "source": "judgement",
        **{word: word for word in words},
        **more,
    }


def session(*trials: dict[str, Any], **more: Any) -> Session:
    client = {"label": "K-001", "age": 65, "sex": "female"} | more.pop("client", {})
    base: dict[str, Any] = {
        "id": "2026-03-02-0915-7f3a",
        "protocol": "small",
        "started": STARTED,
        "client": client,
        "trials": list(trials),
    }
    return Session.model_validate(base | more)


def grade(protocol: ScreenProtocol, session: Session) -> Mapping[ResultKey, Result]:
    """Every result of a session."""
    return Seen.of(protocol, session).results
