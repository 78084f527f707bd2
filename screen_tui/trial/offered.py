"""The words the program offers to choose from; what is not among them was typed by somebody."""

from __future__ import annotations

from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import SKIP_REASONS
from screen_tui.timing.kinds import reason_labels
from screen_tui.timing.spec import CAP
from screen_tui.trial.ending import NOT_WATCHED, STRIKE_REASONS


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
