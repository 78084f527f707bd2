"""Why a test is not done: the reasons offered, and which of them speak of what is safe."""

from __future__ import annotations

AGAINST_TESTING = ("not safe today", "too painful", "too tired")
"""Reasons that hold all the more for a harder test."""

BESIDE_THE_POINT = (
    "does not want to",
    "no room or equipment",
    "not enough time",
    "not needed for this person",
)
"""Reasons that say nothing about what the person could safely do."""

SKIP_REASONS = (*AGAINST_TESTING, *BESIDE_THE_POINT)


def speaks_against_harder_tests(reason: str) -> bool:
    """Whether what is harder is better withheld too.

    A reason in own words may be one of safety, and nobody here can tell, so it counts as one: the
    clinician can start a withheld test all the same.
    """
    return reason not in BESIDE_THE_POINT
