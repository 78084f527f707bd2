"""One invented screen with everything a note has to say, and its meaning written by hand."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from typing import Any

from screen_tui.engine.results import (
    Assessment,
    CautionRaised,
    DriverResult,
    Finding,
    Left,
    LineUsed,
    NextTest,
    Plan,
    ReferenceUsed,
    Result,
    Start,
)
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import Session
from support import small_protocol as small
from support.protocol_folder import completed
from support.small_protocol import exercise, line, measure, protocol, test_spec

CET = timezone(timedelta(hours=1))
WRITTEN = datetime(2026, 3, 2, 9, 47, tzinfo=CET)

SOURCES = [
    {"id": "judgement", "provenance": "clinical judgement", "title": "Invented for tests"},
    {
        "id": "stance-study",
        "provenance": "published",
        "authors": "Invented A, Invented B",
        "year": 2001,
        "title": "A study that does not exist",
        "journal": "Journal of Invented Results 1:1-2",
        "note": "Table 1.",
    },
    {"id": "recalled", "provenance": "from memory", "title": "A table somebody remembers"},
    {"id": "never-cited", "provenance": "common practice, no source", "title": "Not used"},
]


def note_protocol() -> ScreenProtocol:
    """Three tests: a stance on each leg, rises with both, and a step-down that is watched."""
    stance = test_spec(
        "stance",
        name="Single-leg stance",
        trials=3,
        cues=[{"id": "pelvis-level", "say": "Keep the pelvis level."}],
        lines=[line("value", "at least", 10.0, source="stance-study")],
        measures=[measure(label="Time held")],
        findings=[small.finding("pelvis-drops", none=5, hip=60, trait="pelvis-control")],
        errors=[
            {
                "measure": "value",
                "kind": "SEM",
                "value": 1.5,
                "between": between,
                "from_age": 18,
                "to_age": 110,
                "population": "invented",
                "source": "stance-study",
            }
            for between in ("trials", "visits")
        ],
    )
    rises = test_spec(
        "rises",
        name="Five chair rises",
        sides="both",
        load="both-legs",
        timer={"kind": "time-for-count", "count": 5, "min_split_s": 0.4, "end_point": "sit"},
        signs=["hands-used", "drops-to-seat"],
        measures=[measure(label="Time for five", better="lower", over_trials="mean")],
    )
    step_down = test_spec(
        "step-down",
        name="Step-down",
        timer={"kind": "quality", "repetitions": 3},
        measures=[],
        not_judged_because="It is watched; there is no published line.",
    )
    floor = test_spec("floor-rise", name="Floor rise", sides="both", load="floor")
    walk = test_spec("walk", name="Walk over 4 m", sides="both", load="both-legs")
    whole = protocol(
        stance,
        rises,
        step_down,
        floor,
        walk,
        battery={
            "id": "small",
            "name": "Small battery",
            "items": [
                {"test": "stance"},
                {"test": "rises"},
                {"test": "step-down"},
                {"test": "floor-rise"},
                {"test": "walk", "goals": ["walking"]},
            ],
        },
        sources=SOURCES,
        exercises=[exercise("side-lift", "hip-control")],
        leave_out=[
            {
                "id": "jumps",
                "name": "Jumping",
                "when": "always",
                "reason": "Control comes first.",
                "source": "judgement",
            }
        ],
        stop_rules=[{"text": "chest pain", "source": "judgement"}],
    )
    return completed(whole)


def note_session(**more: Any) -> Session:
    """An invented person with a struck-out trial, a cued one, and a test that was skipped."""
    base: dict[str, Any] = {
        "id": "2026-03-02-0915-7f3a",
        "protocol": "small",
        "started": datetime(2026, 3, 2, 9, 15, tzinfo=CET),
        "finished": datetime(2026, 3, 2, 9, 41, tzinfo=CET),
        "synthetic": True,
        "client": {"label": "K-014", "age": 67, "sex": "female", "height_cm": 164.0},
        "intake": {
            "complaints": ["pain", "giving-way"],
            "side": "left",
            "goals": ["stairs"],
            "note": "Genou g\u00eanant \u2014 worse on stairs; bends to 110\u00b0.",
        },
        "trials": [
            {
                "test": "stance",
                "side": "left",
                "value": 6.2,
                "signs": ["pelvis-drops"],
                "ended": "foot-down",
                "pain": 3,
            },
            {
                "test": "stance",
                "side": "left",
                "value": 1.0,
                "void": "talked to",
                "trust": ["lost-focus"],
            },
            {"test": "stance", "side": "left", "value": 9.4, "cue": "pelvis-level", "pain": 2},
            {"test": "stance", "side": "right", "value": 45.0, "ended": "cap", "pain": 0},
            {"test": "rises", "value": 14.8, "signs": ["hands-used"], "pain": 0},
            {"test": "step-down", "side": "left", "signs": ["pelvis-drops"], "pain": 6},
        ],
        "skipped": [{"test": "floor-rise", "reason": "not safe today"}],
    }
    return Session.model_validate(base | more)


_STANCE_LINE = LineUsed(
    "line",
    "at least",
    10.0,
    "below it falls are more common",
    "invented adults",
    "stance-study",
    "percentile",
)
_RISES_LINE = LineUsed(
    "rises-line", "at most", 14.0, "slower means weak legs", "invented adults", "recalled", "risk"
)


def result(**more: Any) -> Result:
    """A graded stance on the left, with what the test at hand is about changed."""
    base: dict[str, Any] = {
        "test": "stance",
        "side": "left",
        "measure": "value",
        "label": "Time held",
        "value": 6.2,
        "unit": "s",
        "decimals": 1,
        "standing": "short of the line",
        "short": True,
        "why_not": "",
        "line": _STANCE_LINE,
        "flags": (),
        "reference": None,
        "near_within": 1.5,
        "symmetry_percent": 13.8,
        "slowing_percent": None,
        "trials": (6.2,),
    }
    return Result(**(base | more))


def finding(**more: Any) -> Finding:
    """What a dropped pelvis says, with what the test at hand is about changed."""
    base: dict[str, Any] = {
        "test": "stance",
        "side": "left",
        "leg": "left",
        "what": "pelvis-drops",
        "words": "pelvis drops",
        "there": True,
        "factor": 6.0,
        "weight": 1.0,
        "trait": "pelvis-control",
        "source": "judgement",
        "in_pain": False,
        "undone": False,
    }
    return Finding(**(base | more))


def driver(**more: Any) -> DriverResult:
    """A likely driver, with what the test at hand is about changed."""
    base: dict[str, Any] = {
        "driver": "hip-control",
        "side": "left",
        "standing": "likely",
        "chance": 0.87,
        "before": 0.2,
        "least": 0.48,
        "speaks_for": (),
        "speaks_against": (),
        "without": {"stance": 0.48, "step-down": 0.62},
        "after": {"stance": 0.62, "step-down": 0.87},
        "supported_by": ("stance", "step-down"),
        "rests_on": ("stance", "step-down"),
    }
    return DriverResult(**(base | more))


def note_assessment(**more: Any) -> Assessment:
    """The meaning of `note_session`, written by hand so that the note alone is tested."""
    short = finding(
        what="value", words="time held 6.2 s: short for the age", factor=3.2, trait="hold",
        source="stance-study",
    )  # fmt: skip
    again = finding(test="step-down", factor=2.4, weight=0.6)
    little = finding(what="unsteady", words="unsteady", factor=1.1, trait="steadiness")
    cued = finding(
        what="pelvis-level/pelvis-drops",
        cue="pelvis-level",
        words="with the cue pelvis level: pelvis drops gone",
        factor=1.9,
        trait="cue-pelvis-level",
    )
    against = finding(
        test="step-down", what="trunk-leans", words="trunk leans not seen", there=False, factor=0.7,
        weight=0.25, trait="trunk",
    )  # fmt: skip
    leader = driver(speaks_for=(finding(), short, again, cued, little), speaks_against=(against,))
    foot = driver(
        driver="foot-ankle-control",
        standing="not-supported",
        chance=0.24,
        before=0.2,
        least=0.21,
        speaks_against=(finding(factor=0.8),),
        without={"stance": 0.27},
        after={"stance": 0.21, "step-down": 0.24},
        supported_by=(),
        rests_on=(),
    )
    base: dict[str, Any] = {
        "outcome": "likely",
        "headline": "Likely driver: hip control (left).",
        "leading": (leader,),
        "results": (
            result(),
            result(
                side="right",
                value=45.0,
                standing="meets",
                short=False,
                trials=(45.0,),
                reference=ReferenceUsed(
                    26.9, 16.6, 86.2, "invented adults 60-69", "stance-study", False
                ),
            ),
            result(
                test="rises",
                side=None,
                label="Time for five",
                value=14.8,
                standing="not judged",
                short=False,
                why_not="hands were used",
                line=None,
                flags=(_RISES_LINE,),
                near_within=None,
                symmetry_percent=None,
                slowing_percent=21.4,
                trials=(14.8,),
                reference=ReferenceUsed(12.1, None, None, "invented adults", "recalled", True),
            ),
        ),
        "drivers": (leader, foot),
        "next_tests": (
            NextTest(
                "step-down",
                "left",
                "pelvis-level",
                "",
                0.5,
                (("hip-control", "left"), ("foot-ankle-control", "left")),
                0.21,
                0.42,
            ),
        ),
        "plan": Plan(
            start=(
                Start(
                    exercise="side-lift",
                    driver="hip-control",
                    side="left",
                    name="Side lift",
                    position="Lying on the side.",
                    dose="3 x 8",
                    cue="Heel first.",
                    feel="The side of the hip.",
                    stop="Pain above 5 of 10.",
                    progress_when="3 x 12 are easy.",
                    progress_to="Standing.",
                    source="judgement",
                ),
            ),
            leave_out=(Left("jumps", "Jumping", "Control comes first.", "judgement"),),
        ),
        "cautions": (),
        "cue_effects": (),
        "not_done": (("floor-rise", None, "not safe today"),),
        "remarks": (),
    }
    return Assessment(**(base | more))


def refer_first_assessment() -> Assessment:
    """What a yes to a safety question means."""
    return note_assessment(
        outcome="refer-first",
        headline="Refer first, today: a doctor sees this person, according to local policy. "
        "A safety question was answered yes; no driver is suggested.",
        leading=(),
        results=(),
        drivers=(),
        next_tests=(),
        plan=Plan(),
        not_done=(),
        cautions=(
            CautionRaised(
                "clot",
                "Possible clot",
                "today",
                "A clot must be ruled out.",
                "Refer the same day, by local policy.",
                "judgement",
            ),
        ),
    )
