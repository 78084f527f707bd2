"""The note of a screen that was added to: what was kept, what was added, and what is judged."""

from __future__ import annotations

import re
from datetime import datetime
from typing import Any

from support.note_case import CET, WRITTEN, note_protocol, note_session

from screen_tui.engine.assess import assess
from screen_tui.report.explain import write_explanation
from screen_tui.report.fhir.bundle import write_bundle
from screen_tui.report.note import write_note
from screen_tui.report.table import session_rows
from screen_tui.session.model import Session

ADDED = datetime(2026, 3, 3, 8, 10, tzinfo=CET)
CORRECTED = {"written": ADDED, "reason": "key pressed too late", "trial": 1, "value": 5.8}
STRUCK_OUT = {"written": ADDED, "reason": "helped", "trial": 6, "struck_out": True}
WORDS = {"written": ADDED, "reason": "asked by phone", "text": "The floor was wet."}
ABOUT = {"written": ADDED, "reason": "asked", "trial": 5, "text": "The seat had an armrest."}


def note(*addenda: dict[str, Any], **more: Any) -> str:
    session = note_session(addenda=list(addenda), **more)
    protocol = note_protocol()
    return write_note(protocol, session, assess(protocol, session), WRITTEN, full=True)


def flat(text: str) -> str:
    return " ".join(text.split())


def block(text: str) -> str:
    """What is under the heading ADDENDA."""
    return re.split(r"\n\n(?=[A-Z ]+\n)", text.split("\nADDENDA\n", 1)[1], maxsplit=1)[0]


def test_a_note_without_addenda_says_nothing_of_them() -> None:
    assert "addend" not in note().lower()
    assert "amended" not in note()


def test_the_short_note_has_its_day_reason_and_words() -> None:
    short = flat(note(WORDS).split("\nAppendix\n")[0])
    assert "Addendum: 1, 2026-03-03 08:10 +01:00: asked by phone; The floor was wet." in short


def test_each_is_told_with_its_time_its_reason_and_what_it_changed() -> None:
    told = flat(block(note(CORRECTED, STRUCK_OUT, WORDS, ABOUT)))
    assert (
        "Addendum 1, written: 2026-03-03 08:10 +01:00 Reason: key pressed too late "
        "Trial 1: 6.2 s before, 5.8 s as corrected" in told
    )
    assert "Reason: helped Trial 6: no value recorded; void" in told
    assert "Reason: asked by phone Added: The floor was wet." in told
    assert "Trial 5: a remark; nothing of it is changed" in told
    assert "Added: The seat had an armrest." in told


def test_the_trials_stand_as_they_were_kept_and_say_what_counts() -> None:
    told = flat(note(CORRECTED, STRUCK_OUT))
    assert "Trial 1: 6.2 s; ended: foot down" in told
    assert "as amended: 5.8 s (addendum 1)" in told
    assert "as amended: void (addendum 2)" in told
    assert told.count("as amended:") == 2


def test_what_is_judged_is_the_amended_screen() -> None:
    before, after = flat(note()), flat(note(CORRECTED))
    assert "stance 6.2, worse than 10.0 s" in before
    assert "stance 5.8, worse than 10.0 s" in after
    assert "Remarks: Addendum 1 corrects the value of trial 1" in after
    assert "the trials are listed as they were saved" in after
    assert "the trials are listed as they were saved" not in flat(note(WORDS))


def test_two_for_the_same_trial_are_told_one_after_the_other() -> None:
    told = flat(note(CORRECTED, CORRECTED | {"value": 7.0}))
    assert "6.2 s before, 5.8 s as corrected" in told
    assert "5.8 s before, 7.0 s as corrected" in told
    assert "as amended: 7.0 s (addenda 1, 2)" in told


def test_of_two_that_contradict_each_other_the_note_has_the_one_that_holds() -> None:
    other = CORRECTED | {"reason": "read from the film", "value": 7.0}
    short, appendix = map(flat, note(CORRECTED, other).split("\nAppendix\n"))
    assert "corrects the value of trial 1 (Single-leg stance, left) to 7." in short
    assert "read from the film" in short
    assert "Addendum 1" not in short
    assert "key pressed too late" not in short
    assert "6.2 s before, 5.8 s as corrected; addendum 2 replaces it" in appendix
    # What was said beside it in words is still said; a trial that is void has no other value.
    assert "The light was poor." in flat(note(CORRECTED | {"text": "The light was poor."}, other))
    void = flat(note(CORRECTED | {"trial": 6}, STRUCK_OUT).split("\nAppendix\n")[0])
    assert "Addendum 2 voids trial 6" in void
    assert "Addendum 1" not in void


def test_what_follows_from_the_trials_follows_from_the_amended_ones() -> None:
    # The step-down was the only trial with a pain above 5.
    assert "pain up to 6 of 10" in note()
    assert "pain up to 6 of 10" not in note(STRUCK_OUT)
    right = {"written": ADDED, "reason": "helped", "trial": 4, "struck_out": True}
    assert "Sides tested: left, right" in note()
    assert "Sides tested: left, both legs together" in flat(note(right))


def test_the_explanation_counts_trials_as_addenda_do_and_tells_what_was_kept() -> None:
    session = note_session(addenda=[CORRECTED])
    told = flat(write_explanation(note_protocol(), session, assess(note_protocol(), session)))
    assert "Trial 1: 6.2 s; " in told
    assert "as amended: 5.8 s (addendum 1)" in told


def test_exports_give_the_amended_numbers() -> None:
    def values(session: Session) -> list[Any]:
        rows = session_rows(note_protocol(), session, assess(note_protocol(), session))
        plain = [row for row in rows if not row.get("cue")]
        return [row["value"] for row in plain if (row["test"], row["side"]) == ("stance", "left")]

    assert values(note_session()) == [6.2]
    amended = note_session(addenda=[CORRECTED])
    assert values(amended) == [5.8]
    bundle = write_bundle(note_protocol(), amended, assess(note_protocol(), amended))
    assert '"value": 5.8' in bundle
    assert '"value": 6.2' not in bundle
