"""Why a trial ended, and why one is struck out: what the Test screen offers."""

from __future__ import annotations

_OF_ANY = (
    ("pain", "pain"),
    ("fatigue", "fatigue"),
    ("breathless", "breathless"),
    ("unsafe", "unsafe"),
    ("asked-to-stop", "asked to stop"),
)
_OF_HOLDS = (
    ("foot-down", "foot down"),
    ("arms-left-place", "arms left their place"),
    ("stance-foot-moved", "stance foot moved"),
    ("support-touched", "support touched"),
)
_OF_TASKS = (("unable", "could not go on"),)

CAP = "cap"
_LABELS = {**dict(_OF_HOLDS), **dict(_OF_ANY), **dict(_OF_TASKS), CAP: "full time reached"}

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


def end_reasons(kind: str, *, capped: bool) -> tuple[str, ...]:
    """Give the ids that fit, the most likely first.

    Args:
        kind: The kind of the timer.
        capped: The full time was reached, so that nothing ended the trial before.
    """
    if kind == "hold":
        first = () if capped else _OF_HOLDS
        return tuple(reason for reason, _ in (*first, *_OF_ANY))
    return tuple(reason for reason, _ in (*_OF_ANY, *_OF_TASKS))


def reason_label(reason: str) -> str:
    """Give a reason in words."""
    return _LABELS.get(reason, reason)
