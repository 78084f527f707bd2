"""Why a trial ended, and why one is void: what the Test page offers."""

from __future__ import annotations

from screen_tui.timing.kinds import reason_labels
from screen_tui.timing.spec import CAP, OF_ANY, TimingSpec
from screen_tui.timing.timer import FULL_TIME

_LABELS = {**reason_labels(), CAP: FULL_TIME}

COULD_DO_NO_MORE = frozenset({"fatigue", "breathless", "unable"})
"""Reasons after which what was counted so far is the result; others cut the trial short."""

STRIKE_REASONS = (
    "false start",
    "wrong key pressed",
    "instruction not followed",
    "helped or touched",
    "disturbed",
)

NOT_WATCHED = "not watched to the end"
"""Why a trial is struck out that the computer stood still in, and nobody confirms."""


def end_reasons(timer: TimingSpec, *, capped: bool) -> tuple[str, ...]:
    """Give the ids that fit, the most likely first, as many as there are digits.

    Args:
        timer: How the test is timed.
        capped: The full time was reached, so that nothing of the kind ended the trial before.
    """
    return tuple(OF_ANY) if capped else timer.end_reasons


def reason_label(reason: str) -> str:
    """Give a reason in words."""
    return _LABELS.get(reason, reason)
