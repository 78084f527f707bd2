"""The plan as the clinician edited it; the session file holds the edit, every paper follows it."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from support.every_session import judged

from screen_tui.engine.assess import assess
from screen_tui.engine.plan import OWN, edited
from screen_tui.files.toml import parse_toml
from screen_tui.report.fhir.bundle import write_bundle
from screen_tui.report.note import write_note
from screen_tui.report.patient_sheet import write_patient_sheet
from screen_tui.session.file import session_in, session_text
from screen_tui.session.model import PlanEdit, Session

PROTOCOL, SESSION, PLAIN = judged("thigh-right-after-knee-replacement")
PLAN = PLAIN.plan
FIRST, SECOND, THIRD, FOURTH = (one.exercise for one in PLAN.start)


def changed(**edit: Any) -> list[str]:
    return [one.exercise for one in edited(PLAN, PlanEdit(**edit)).start]


def test_without_an_edit_the_plan_is_as_suggested() -> None:
    assert edited(PLAN, None) == PLAN
    assert edited(PLAN, PlanEdit()) == PLAN


def test_what_is_dropped_goes_and_what_is_put_in_order_comes_first() -> None:
    assert changed(drop=(SECOND,)) == [FIRST, THIRD, FOURTH]
    assert changed(order=(THIRD, FIRST)) == [THIRD, FIRST, SECOND, FOURTH]
    assert changed(drop=("gone-since",), order=("gone-since",)) == [FIRST, SECOND, THIRD, FOURTH]


def test_another_dose_and_own_lines() -> None:
    plan = edited(PLAN, PlanEdit(doses={FIRST: "twice a day"}, own=("Cycle 10 min.",)))
    assert plan.start[0].dose == "twice a day"
    assert plan.start[0].name == PLAN.start[0].name
    assert (plan.start[-1].name, plan.start[-1].why) == ("Cycle 10 min.", OWN)
    assert plan.leave_out == PLAN.leave_out


def with_edit() -> Session:
    edit = PlanEdit(
        drop=(SECOND,),
        doses={FIRST: "5 times a day; slowly"},
        own=("Cycle 10 min.",),
        next_visit="25 March, 10:00",
    )
    return SESSION.model_copy(update={"plan": edit})


def test_the_file_holds_the_edit() -> None:
    session = with_edit()
    assert session_in(parse_toml(session_text(session).encode(), Path("x.toml"))) == session


def test_note_sheet_and_export_follow() -> None:
    session = with_edit()
    found = assess(PROTOCOL, session)
    assert found.drivers == PLAIN.drivers
    first, dropped = PLAN.start[0].name, PLAN.start[1].name
    for full in (False, True):
        written = datetime(2026, 4, 1, tzinfo=UTC)
        note = " ".join(write_note(PROTOCOL, session, found, written, full=full).split())
        assert f"{first}, right: 5 times a day; slowly" in note
        assert "Cycle 10 min." in note
        assert "Next visit: 25 March, 10:00" in note
        assert dropped not in note
    sheet = " ".join(write_patient_sheet(PROTOCOL, session, found).split())
    assert "How much: 5 times a day; slowly" in sheet
    assert "4. FROM YOUR THERAPIST Cycle 10 min." in sheet
    assert "Date and time: 25 March, 10:00" in sheet
    bundle = write_bundle(PROTOCOL, session, found)
    assert "Cycle 10 min." in bundle
    assert dropped not in bundle


def test_an_edit_starts_nothing_where_a_referral_comes_first() -> None:
    protocol, session, _ = judged("fall-on-the-stairs-refer-first")
    own = session.model_copy(update={"plan": PlanEdit(own=("Squats.",))})
    assert assess(protocol, own).plan.start == ()
