"""Why a trial ended, and why one is void: what the Test page offers."""

from __future__ import annotations

from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import SKIP_REASONS
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


# The words the program offers to choose from; what is not among them was typed by somebody.


def offered_words(protocol: ScreenProtocol) -> frozenset[str]:
    """Reasons to end, strike out, skip and stop, choices of every set-up, and the history's ids."""
    endings = {*reason_labels(), CAP}
    of_rows = {
        ending
        for test in protocol.tests
        for row in test.findings
        if row.when is not None
        for ending in row.when.ended_any
    }
    set_ups = {word for test in protocol.tests for one in test.set_up for word in one.choices}
    stops = {rule.text for rule in protocol.stop_rules}
    stops |= {words for caution in protocol.cautions for words in caution.stop_words}
    asked = {question.id for question in protocol.history}
    answers = {answer.id for question in protocol.history for answer in question.answers}
    strikes = {*STRIKE_REASONS, NOT_WATCHED}
    return frozenset(
        {*endings, *of_rows, *set_ups, *stops, *strikes, *asked, *answers, *SKIP_REASONS}
    )
