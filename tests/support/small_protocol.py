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


DIGITS = {
    "pelvis-drops": 1,
    "trunk-leans": 2,
    "arch-collapses": 4,
    "hands-used": 5,
    "unsteady": 6,
    "walking-aid": 7,
    "drops-to-seat": 8,
}
"""The keys of the signs; one that is not named here has 9."""

HIP, FOOT, STYLE = "hip-control", "foot-ankle-control", "movement-strategy"
"""The drivers of a small protocol: two of a leg, one of the person."""


def in_100(none: float, **alone: Any) -> dict[str, Any]:
    """The cells of a row: with none of the drivers, and with ``hip``, ``foot`` or ``style``."""
    short = {"hip": HIP, "foot": FOOT, "style": STYLE}
    return {"none": none} | {short[name]: cell for name, cell in alone.items()}


def finding(sign: str | None = None, none: float = 5, **more: Any) -> dict[str, Any]:
    """A row about a sign, or with ``when`` about a condition; it shows a thing of its own."""
    cells = {name: more.pop(name) for name in ("hip", "foot", "style") if name in more}
    about = {"sign": sign} if sign else {"words": more.pop("words", "as described")}
    return {
        **about,
        "trait": more.pop("trait", sign or "described"),
        "in_100": in_100(none, **cells),
        "source": "judgement",
        **more,
    }


def level(words: str, value: float | None = None, none: float = 5, **more: Any) -> dict[str, Any]:
    """A level of a number: beyond this value, for people of any age."""
    cells = {name: more.pop(name) for name in ("hip", "foot", "style") if name in more}
    limits = [] if value is None else [{"from_age": 0, "to_age": 120, "value": value}]
    return {
        "words": words,
        "limits": limits,
        "in_100": in_100(none, **cells),
        "source": "judgement",
        **more,
    }


def graded(*levels: dict[str, Any], **more: Any) -> dict[str, Any]:
    """The levels of a number, mildest first."""
    return {"measure": "value", "trait": "number", "levels": levels, **more}


def cue_row(cue: str, what: str, none: float = 20, **more: Any) -> dict[str, Any]:
    """What a cue does: an effect by its name, or the sign that goes."""
    cells = {name: more.pop(name) for name in ("hip", "foot", "style") if name in more}
    effects = ("pain-eased", "faster", "longer", "within-cut-off")
    about = {"effect": what} if what in effects else {"gone": what}
    return {
        "cue": cue, **about, "in_100": in_100(none, **cells), "source": "judgement", **more
    }  # fmt: skip


def prior(driver: str, complaint_side: float, other_side: float | None = None) -> dict[str, Any]:
    return {
        "driver": driver,
        "complaint_side": complaint_side,
        "other_side": complaint_side if other_side is None else other_side,
        "source": "judgement",
    }


def cue(cue_id: str = "level") -> dict[str, Any]:
    return {"id": cue_id, "say": "Do it so."}


def line(measure: str, meets: str, value: float, **more: Any) -> dict[str, Any]:
    band = {"from_age": more.pop("from_age", 60), "to_age": more.pop("to_age", 69)}
    return {
        "id": more.pop("id", "line"),
        "kind": more.pop("kind", "percentile"),
        "measure": measure,
        "role": more.pop("role", "judge"),
        "meets": meets,
        "limits": more.pop("limits", [{**band, "value": value}]),
        "meaning": "below the line",
        "population": "invented",
        "source": "judgement",
        **more,
    }


def error(between: str = "trials", **more: Any) -> dict[str, Any]:
    """A standard error of 2 for the ages of the lines here."""
    base = {"measure": "value", "kind": "SEM", "value": 2.0, "between": between}
    band = {"from_age": 60, "to_age": 69, "population": "invented", "source": "judgement"}
    return base | band | more


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
    """A protocol of these tests with three drivers: two of a leg, one of the person.

    Before testing each has a chance of 20 of 100. Signs of the tests are there by their ids.
    """
    sided = {HIP: True, FOOT: True, STYLE: False}
    signs = sorted({sign for test in tests for sign in test.signs})
    base: dict[str, Any] = {
        "battery": {
            "id": "small",
            "name": "Small battery",
            "items": [{"test": test.id} for test in tests],
            "gates": more.pop("gates", []),
        },
        "tests": [test.model_dump() for test in tests],
        "signs": [
            {
                "id": sign,
                "label": sign.replace("-", " ").capitalize(),
                "digit": DIGITS.get(sign, 9),
                "seen_as": "It is seen.",
            }
            for sign in signs
        ],
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
        "priors": [prior(driver, 20) for driver in sided],
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
