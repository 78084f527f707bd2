"""The words the program offers to choose from; what is not among them was typed by somebody."""

from __future__ import annotations

from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import SKIP_REASONS
from screen_tui.timing.kinds import reason_labels
from screen_tui.timing.spec import CAP
from screen_tui.trial.ending import NOT_WATCHED, STRIKE_REASONS


def offered_words(protocol: ScreenProtocol) -> frozenset[str]:
    """Reasons to end, strike out, skip and stop, and the choices of every set-up."""
    endings = {*reason_labels(), CAP}
    of_rules = {
        ending
        for test in protocol.tests
        for rule in test.evidence
        for ending in rule.when.ended_any
    }
    set_ups = {word for test in protocol.tests for one in test.set_up for word in one.choices}
    stops = {rule.text for rule in protocol.stop_rules}
    stops |= {words for caution in protocol.cautions for words in caution.stop_words}
    answers = {
        word
        for rule in protocol.precautions
        for one in rule.any_of
        for question, given in one.history.items()
        for word in (question, *given)
    }
    strikes = {*STRIKE_REASONS, NOT_WATCHED}
    return frozenset({*endings, *of_rules, *set_ups, *stops, *strikes, *answers, *SKIP_REASONS})
