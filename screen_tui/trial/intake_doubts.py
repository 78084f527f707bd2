"""Answers before testing that hardly go together: each pair is asked about before it is saved.

Clinical judgement where no source is named. None of them refuses an answer: what is unusual may be
so, and one key says that it is.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from screen_tui.trial.numbers import height_cm, mass_kg

Answers = Mapping[str, bool | str | tuple[str, ...]]
"""As in the form: by question id, what was chosen or typed."""

LEAST_BMI, MOST_BMI = 13, 60
"""Kilograms a square metre outside which a height or a mass was more likely mistyped."""
YOUNG_FOR_REPLACEMENT = 40
ADULT = 18
OTTAWA_AGE = 55
"""Years from which the age alone meets the Ottawa knee rule (Stiell 1996, JAMA)."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """Answers that hardly go together: a short line among the answers, and what is asked of them.

    It is about the answers to these questions, the likelier mistake first.
    """

    id: str
    about: tuple[str, ...]
    short: str
    sentence: str
    arises: Callable[[Answers], bool]


def _number(answers: Answers, question: str) -> int | None:
    typed = answers.get(question)
    return int(typed) if isinstance(typed, str) and typed.strip().isdecimal() else None


def _between(answers: Answers, question: str, least: int = 0, most: int = sys.maxsize) -> bool:
    number = _number(answers, question)
    return number is not None and least <= number <= most


def _holds(answers: Answers, question: str, *values: str) -> bool:
    given = answers.get(question)
    return bool(set(given) & set(values)) if isinstance(given, tuple) else given in values


def _raised(answers: Answers, caution: str) -> bool:
    """Whether a safety question was answered yes, known and cleared ones too."""
    return answers.get(caution, False) is not False


def _worst_below_now(answers: Answers) -> bool:
    now, worst = _number(answers, "pain_now"), _number(answers, "pain_worst")
    return now is not None and worst is not None and worst < now


def _size_is_odd(answers: Answers) -> bool:
    typed_height, typed_mass = answers.get("height_cm"), answers.get("mass_kg")
    if not isinstance(typed_height, str) or not isinstance(typed_mass, str):
        return False
    height, mass = height_cm(typed_height), mass_kg(typed_mass)
    if not height or not mass:
        return False
    return not LEAST_BMI <= mass / (height / 100) ** 2 <= MOST_BMI


DOUBTS = (
    Doubt(
        "swelling-and-no-injury",
        ("swelling-after-injury", "swelling"),
        "Swelling within 6 h, no injury",
        "The history says swelling within 6 h of an injury; the safety question on bleeding or "
        "dislocation after an injury is answered no. Was the injury not recent?",
        lambda answers: (
            answers.get("swelling-after-injury") is False
            and _holds(answers, "swelling", "within-6-h")
        ),
    ),
    Doubt(
        "swelling-and-slow-onset",
        ("onset", "swelling"),
        "Swelling within 6 h, slow onset",
        "The history says swelling within 6 h of an injury, and that it began without one. "
        "Are both right?",
        lambda answers: (
            _holds(answers, "swelling", "within-6-h")
            and _holds(answers, "onset", "slow", "more-load")
        ),
    ),
    Doubt(
        "ottawa-age",
        ("fracture-rule", "age"),
        "Injury at 55 or over, Ottawa rule no",
        "After a recent injury an age of 55 or over meets the Ottawa knee rule by itself; it is "
        "answered no. Is it older than 7 days?",
        lambda answers: (
            _raised(answers, "swelling-after-injury")
            and answers.get("fracture-rule") is False
            and _between(answers, "age", OTTAWA_AGE)
        ),
    ),
    Doubt(
        "falls-and-no-to-falls",
        ("repeated-falls", "falls"),
        "Two falls or more, safety question no",
        "The history says two falls or more within a year; the safety question on falls is "
        "answered no. Are both right?",
        lambda answers: (
            answers.get("repeated-falls") is False and _holds(answers, "falls", "two-or-more")
        ),
    ),
    Doubt(
        "no-falls-and-yes-to-falls",
        ("falls", "repeated-falls"),
        "No falls, safety question yes",
        "The safety question on falls is answered yes; the history says no fall within a year. "
        "Are both right?",
        lambda answers: _raised(answers, "repeated-falls") and _holds(answers, "falls", "none"),
    ),
    Doubt(
        "giving-way-and-none",
        ("giving-way", "complaints"),
        "Complaint giving way, history none",
        "Giving way is a complaint, and the history says none. Are both right?",
        lambda answers: (
            _holds(answers, "complaints", "giving-way") and _holds(answers, "giving-way", "none")
        ),
    ),
    Doubt(
        "pain-and-none",
        ("pain_worst", "complaints"),
        "Complaint pain, worst pain 0",
        "Pain is a complaint, and at its worst in the last week it was 0. Are both right?",
        lambda answers: _holds(answers, "complaints", "pain") and answers.get("pain_worst") == "0",
    ),
    Doubt(
        "worst-pain-below-now",
        ("pain_worst", "pain_now"),
        "Worst pain below pain now",
        "Pain now is above its worst in the last week. Is it worse today than all week?",
        _worst_below_now,
    ),
    Doubt(
        "surgery-long-ago",
        ("recent_surgery_weeks",),
        "Surgery more than a year ago",
        "More than 52 weeks since surgery: the question is on surgery within a year. Record it "
        "all the same?",
        lambda answers: _between(answers, "recent_surgery_weeks", 53),
    ),
    Doubt(
        "young-replacement",
        ("surgery", "age"),
        f"Joint replacement below {YOUNG_FOR_REPLACEMENT}",
        f"A joint replacement below the age of {YOUNG_FOR_REPLACEMENT} is possible and rare. "
        "Are both right?",
        lambda answers: (
            bool(answers.get("recent_surgery_weeks"))
            and _holds(answers, "surgery", "replacement")
            and _between(answers, "age", most=YOUNG_FOR_REPLACEMENT - 1)
        ),
    ),
    Doubt(
        "child",
        ("age",),
        f"Age below {ADULT}",
        f"Below {ADULT} most cut-offs do not apply, and a hip is often felt at the knee: examine "
        "it first. Is the age right?",
        lambda answers: _between(answers, "age", most=ADULT - 1),
    ),
    Doubt(
        "size",
        ("mass_kg", "height_cm"),
        "Height and mass",
        "This height and this mass hardly belong to one person. Are both right, and their units?",
        _size_is_odd,
    ),
)
"""In the order in which they are asked."""
