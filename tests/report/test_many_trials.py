"""A session of very many trials is judged and told in time with their number, not its square."""

from __future__ import annotations

import gc
import sys
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from types import FrameType

import pytest
from support.every_session import shipped_protocol
from support.many_trials import AMENDED, KINDS, many_trials

from screen_tui.engine import assess
from screen_tui.files.toml import parse_toml
from screen_tui.report.deidentify import deidentified
from screen_tui.report.explain import write_explanation
from screen_tui.report.fhir.bundle import write_bundle
from screen_tui.report.machine import assessment_as_dict
from screen_tui.report.note import write_note
from screen_tui.report.patient_sheet import write_patient_sheet
from screen_tui.report.table import session_rows
from screen_tui.session.file import session_in, session_text
from screen_tui.session.model import MOST_TRIALS, Session
from screen_tui.trial.record import offered_words

WRITTEN = datetime(2026, 11, 1, tzinfo=UTC)


def read_and_told(text: str) -> None:
    """All that the command line does with a session, from its file to what is written of it."""
    session, protocol = read(text), shipped_protocol()
    found = assess(protocol, session)
    for write in (write_explanation, assessment_as_dict, session_rows, write_bundle):
        write(protocol, session, found)
    write_patient_sheet(protocol, session, found)
    write_note(protocol, session, found, WRITTEN)
    view = deidentified(session, WRITTEN, offered_words(protocol))
    write_note(protocol, view.session, view.assessed(protocol), WRITTEN, head=view.head)


def read(text: str) -> Session:
    return session_in(parse_toml(text.encode(), Path("many.toml")))


def calls_of(do: Callable[[], object]) -> int:
    """How many functions of Python and of its libraries are called, which no other job changes."""
    calls = 0

    def count(_frame: FrameType, event: str, _argument: object) -> None:
        nonlocal calls
        calls += event in ("call", "c_call")

    sys.setprofile(count)
    try:
        do()
    finally:
        sys.setprofile(None)
    return calls


def seconds_of(do: Callable[[], object]) -> float:
    """The least of three, of the processor, with nothing of other tests collected meanwhile."""
    taken = []
    gc.collect()
    gc.disable()
    try:
        for _ in range(3):
            before = time.process_time()
            do()
            taken.append(time.process_time() - before)
    finally:
        gc.enable()
    return min(taken)


@pytest.mark.parametrize("kind", [*KINDS, AMENDED])
def test_four_times_the_trials_take_four_times_the_calls(kind: str) -> None:
    few, many = (session_text(many_trials(kind, count)) for count in (100, 400))
    read_and_told(few)  # what is made once, such as patterns, is not counted
    assert calls_of(lambda: read_and_told(many)) < 4.4 * calls_of(lambda: read_and_told(few))


@pytest.mark.parametrize("kind", ["every seat another", AMENDED])
def test_the_most_trials_take_seconds(kind: str) -> None:
    """Comparing within the language's own functions shows in no count of calls."""
    few, many = (session_text(many_trials(kind, count)) for count in (500, MOST_TRIALS))
    assert seconds_of(lambda: read_and_told(many)) < 6 * max(
        seconds_of(lambda: read_and_told(few)), 0.15
    )


def test_as_many_as_can_be_done_can_be_read() -> None:
    session = many_trials("several tests", MOST_TRIALS)
    assert read(session_text(session)) == session
