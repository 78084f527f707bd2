"""What the note tells of pain, history, kind of surgery and what was cleared."""

from __future__ import annotations

from typing import Any

from support.note_case import WRITTEN, note_assessment, note_protocol, note_session
from support.visit_case import visit

from screen_tui.protocol.knowledge import HistoryQuestion
from screen_tui.report.note import write_note
from screen_tui.session.model import Session
from screen_tui.trial.record import offered_words

QUESTION = {
    "id": "site",
    "label": "Where it hurts",
    "answers": [
        {"id": "front", "label": "front", "key": "1"},
        {"id": "all-over", "label": "all of it", "key": "2"},
    ],
}
PROTOCOL = note_protocol().model_copy(
    update={"history": (HistoryQuestion.model_validate(QUESTION),)}
)


def said(**intake: Any) -> str:
    session = note_session(intake={"side": "left", **intake})
    note = write_note(PROTOCOL, session, note_assessment(), WRITTEN)
    return " ".join(note.split("\nS ")[1].split("Safety questions:")[0].split())


def test_what_was_not_asked_is_not_told() -> None:
    told = said()
    for label in ("pain 0-10", "where it hurts", "alone"):
        assert label not in told


def test_what_was_asked_is_told_in_the_words_of_the_protocol() -> None:
    told = said(
        recent_surgery_weeks=6,
        surgery="meniscus",
        pain_now=0,
        pain_worst=7,
        history={"gone-since": ["a-b"], "site": ["all-over"]},
        alone_at_home=False,
    )
    assert "meniscus surgery 6 weeks ago" in told
    assert "pain 0-10: now 0, worst 7" in told
    assert "where it hurts: all of it; gone since: a b" in told
    assert "not alone at home" in told


def test_what_a_retest_took_over_has_the_day_it_was_said() -> None:
    taken = {"site": ["front"]}
    first = visit(1, intake={"history": taken | {"gone-since": ["a-b"]}})
    second = visit(2, follows=first.id, intake={"history": taken})
    third = visit(
        3, follows=second.id, intake={"history": taken | {"falls": ["none"], "gone-since": ["c"]}}
    )
    fell = HistoryQuestion.model_validate(QUESTION | {"id": "falls", "at_retest": "asked"})
    protocol = PROTOCOL.model_copy(update={"history": (*PROTOCOL.history, fell)})

    def history(*before: Session) -> str:
        note = write_note(protocol, third, note_assessment(), WRITTEN, earlier=before)
        return " ".join(note.split("History: ")[1].split("Safety questions:")[0].split())

    assert history(second, first).endswith(
        "where it hurts: none; gone since: c; as on 2026-03-02: where it hurts: front"
    )
    assert history(second).endswith("as on 2026-04-06: where it hurts: front")
    # What was asked anew is of today, and so is what another visit is not there to compare with.
    other = second.model_copy(
        update={"intake": second.intake.model_copy(update={"history": {"site": ("all-over",)}})}
    )
    for before in ((), (first,), (other, first)):
        assert "as on" not in history(*before)


def test_what_was_cleared_is_no_no() -> None:
    protocol = note_protocol()
    caution = protocol.cautions[0]
    cleared = {"caution": caution.id, "by": "the surgeon", "when": "Monday"}
    session = note_session(intake={"cleared": [cleared]})
    note = " ".join(write_note(protocol, session, note_assessment(), WRITTEN).split())
    assert f"known and cleared by the surgeon, Monday: {caution.name}" in note


def test_the_ids_of_the_history_are_words_the_program_offers() -> None:
    assert {"site", "front", "all-over"} <= offered_words(PROTOCOL)
