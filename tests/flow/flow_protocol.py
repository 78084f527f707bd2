"""Small protocols and tests of every kind, made by hand for the tests of the flow."""

from __future__ import annotations

from typing import Any

from screen_tui.protocol.knowledge import Sign
from screen_tui.protocol.model import Battery, ScreenProtocol
from screen_tui.protocol.tests import TestSpec

SIGNS = tuple(
    Sign(id=sign, label=sign.replace("-", " "), digit=digit, seen_as=sign)
    for sign, digit in (
        ("pelvis-drops", 1),
        ("trunk-leans", 2),
        ("hands-used", 5),
        ("handrail", 5),
        ("walking-aid", 7),
    )
)
TIMERS: dict[str, dict[str, Any]] = {
    "hold": {"kind": "hold", "cap_s": 45},
    "count-in-time": {
        "kind": "count-in-time",
        "window_s": 30,
        "min_split_s": 0.5,
        "half_question": "More than half-way up when the time was over?",
    },
    "time-for-count": {
        "kind": "time-for-count",
        "count": 5,
        "min_split_s": 0.5,
        "end_point": "sit",
    },
    "steps": {"kind": "steps", "steps": 4, "min_split_s": 0.15},
    "walk": {"kind": "walk", "distance_m": 4, "start": "moving"},
    "once": {"kind": "once"},
    "repeat-hold": {"kind": "repeat-hold", "holds": 3, "hold_s": 10},
    "quality": {"kind": "quality", "repetitions": 5},
    "choice": {"kind": "choice", "label": "Grade", "grades": ["none", "trace", "1+"]},
    "measure": {
        "kind": "measure",
        "fields": [
            {
                "id": "passive_deg",
                "label": "Passive",
                "minimum": -20,
                "maximum": 60,
                "hint": "0 is straight",
            },
            {
                "id": "active_deg",
                "label": "Active",
                "minimum": -20,
                "maximum": 90,
                "hint": "0 is straight",
            },
        ],
    },
}


def make_spec(kind: str, **changes: Any) -> TestSpec:
    """A test of a kind, with two signs and as little else as there can be."""
    unit, better = ("stands", "higher") if kind == "count-in-time" else ("s", "higher")
    timed = {
        "id": "value",
        "label": "Value",
        "unit": unit,
        "decimals": 0 if kind in ("count-in-time", "repeat-hold") else 1,
        "better": better if kind in ("hold", "count-in-time", "repeat-hold") else "lower",
        "taken_from": "value",
        "over_trials": "best",
    }
    about: dict[str, Any] = {
        "id": f"test-{kind}",
        "name": f"Test {kind}",
        "short_name": kind,
        "asks": "how it goes",
        "sides": "each" if kind in ("hold", "measure", "quality", "choice") else "both",
        "load": "both-legs",
        "minutes": 2,
        "trials": 3 if kind == "hold" else 1,
        "timer": TIMERS[kind],
        "plausible": {"minimum": 0, "maximum": 120},
        "instructions": {
            "setup": ["stand here"],
            "say": "go",
            "ends_when": ["it is over"],
            "safety": "stand by",
            "source": "practice",
        },
        "signs": ["pelvis-drops", "hands-used"],
        "measures": [] if kind in ("walk", "quality", "measure", "steps") else [timed],
    }
    return TestSpec.model_validate({**about, **changes})


def make_protocol(
    specs: tuple[TestSpec, ...] = (),
    goals: dict[str, list[str]] | None = None,
    gates: tuple[dict[str, Any], ...] = (),
    when_asked: tuple[str, ...] = (),
) -> ScreenProtocol:
    """A protocol with these tests in this order, and two safety questions."""
    specs = specs or (make_spec("hold"),)
    items = [
        {
            "test": spec.id,
            "goals": (goals or {}).get(spec.id, []),
            "when_asked": spec.id in when_asked,
        }
        for spec in specs
    ]
    caution = {
        "urgency": "today",
        "means": "look first",
        "next_step": "refer",
        "source": "practice",
    }
    return ScreenProtocol.model_validate(
        {
            "battery": Battery.model_validate(
                {"id": "small", "name": "Small", "items": items, "gates": list(gates)}
            ),
            "tests": specs,
            "signs": SIGNS,
            "cautions": [
                {
                    "id": "clot",
                    "name": "Clot",
                    "question": "Calf pain and swelling?",
                    "details": ["or recent immobility"],
                    **caution,
                },
                {"id": "locked-knee", "name": "Locked", "question": "Is it locked?", **caution},
            ],
            "stop_rules": [],
            "drivers": [],
            "exercises": [],
            "leave_out": [],
            "sources": [
                {"id": "practice", "provenance": "common practice, no source", "title": "Practice"}
            ],
        }
    )
