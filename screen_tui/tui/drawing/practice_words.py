"""Small wordings of the practice screens."""

from __future__ import annotations

from collections.abc import Sequence

from screen_tui.practice.case import TrueDriver, TrueTest
from screen_tui.practice.commitment import Commitment, Wanted
from screen_tui.practice.run import PracticeRun
from screen_tui.protocol.whole import Protocol
from screen_tui.report import words
from screen_tui.trial.intake_questions import questions_of
from screen_tui.tui.drawing.words import test_name

OUTCOMES = {
    "likely": "a likely driver",
    "mixed": "two drivers that cannot be told apart",
    "possible": "a possible driver",
    "undetermined": "undetermined",
    "nothing-found": "nothing found",
    "refer-first": "refer first",
    "unloaded-only": "only what is done without load can be answered",
}
"""Outcomes in words of the student's own question."""

NOTHING = "nothing"


def drivers_words(protocol: Protocol, drivers: Sequence[TrueDriver]) -> str:
    """Drivers with their sides; "none" for none."""
    return " or ".join(_driver(protocol, one) for one in drivers) or "none"


def _driver(protocol: Protocol, one: TrueDriver) -> str:
    name = words.driver_name(protocol, one.driver)
    return name if one.side is None else f"{name}, {one.side}"


def given_words(given: Commitment) -> str:
    """The kind of answer a student gave."""
    if given.answer != "driver":
        return OUTCOMES[given.answer]
    return "a likely driver" if len(given.drivers) == 1 else OUTCOMES["mixed"]


def wanted_words(wanted: Wanted) -> str:
    """The kind of answer somebody else gives."""
    return OUTCOMES[wanted.outcome]


def tests_words(protocol: Protocol, tests: Sequence[TrueTest]) -> str:
    """Tests with their legs and cues; any of them will do."""
    return "; ".join(_test(protocol, one) for one in tests) or NOTHING


def _test(protocol: Protocol, one: TrueTest) -> str:
    name = test_name(protocol, one.test, one.side)
    return f"{name} with the cue {words.spaced(one.cue)}" if one.cue else name


def started_words(protocol: Protocol, ids: Sequence[str]) -> str:
    """Names of exercises."""
    return _names({one.id: one.name for one in protocol.exercises}, ids)


def left_out_words(protocol: Protocol, ids: Sequence[str]) -> str:
    """Names of what is left out for now."""
    return _names({one.id: one.name for one in protocol.leave_out}, ids)


def _names(known: dict[str, str], ids: Sequence[str]) -> str:
    return "; ".join(known.get(one, words.spaced(one)) for one in ids) or NOTHING


def question_words(protocol: Protocol, question: str) -> str:
    """A question before testing in a few words."""
    known = {one.id: one.short for one in questions_of(protocol)}
    return known.get(question, words.spaced(question))


def runs_words(runs: Sequence[PracticeRun]) -> str:
    """How often a case was done, and how well."""
    if not runs:
        return "not done yet"
    times = "once" if len(runs) == 1 else f"{len(runs)} times"
    right = sum(run.result.right for run in runs)
    last = runs[-1]
    safe = not last.result.refer_missed and not last.result.unsafe
    how = "right" if last.result.right else "not right"
    return f"done {times}, {right} right; last {how}, {'safe' if safe else 'NOT SAFE'}"
