"""Why a trial ended, and why one is void: the words that are offered to choose from."""

from __future__ import annotations

from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import SKIP_REASONS
from screen_tui.timing.kinds import REASONS

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
"""Why a trial is void in which the computer did nothing for a while, and nobody confirms it."""


def offered_words(protocol: ScreenProtocol) -> frozenset[str]:
    """All words that can be chosen, and the ids of the history; others were typed by somebody."""
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
    words = REASONS.keys() | of_rows | set_ups | stops | asked | answers
    return frozenset((*words, *STRIKE_REASONS, NOT_WATCHED, *SKIP_REASONS))
