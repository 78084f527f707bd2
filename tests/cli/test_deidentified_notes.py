"""A note to be passed on: no label, no id, no date, no age over 89, and nobody's own words."""

from __future__ import annotations

import csv
import io
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel
from support import small_protocol as small
from support.note_case import note_protocol, note_session
from support.protocol_folder import write_session

from screen_tui.cli import main as cli
from screen_tui.engine.assess import assess
from screen_tui.files.places import demo_folder, protocols_folder
from screen_tui.files.text import first_control_character
from screen_tui.protocol.loader import DEFAULT_BATTERY, load_protocol
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.deidentify import Deidentified, deidentified
from screen_tui.report.fhir.bundle import write_bundle
from screen_tui.report.note import write_note
from screen_tui.report.table import session_rows, write_table
from screen_tui.report.text import fold
from screen_tui.session.file import load_session
from screen_tui.session.model import (
    Addendum,
    Cleared,
    Client,
    Intake,
    PlanEdit,
    Session,
    Skip,
    Trial,
    what_it_tells,
)
from screen_tui.trial.record import offered_words

PROTOCOL = note_protocol()
WRITTEN = datetime(2031, 5, 17, 9, 47, tzinfo=UTC)
MARK = "Zq"
"""Begins every word of somebody's own here, and stands nowhere in the protocol."""

letters = st.characters(exclude_categories=("Cc", "Cs", "Cf", "Zl", "Zp", "Co", "Cn"))
own_words = st.text(
    letters.filter(lambda letter: first_control_character(letter) is None), max_size=30
).map(lambda text: f"{MARK}{text}")
labels = own_words.filter(lambda text: not what_it_tells(text))
own_ids = st.text("abcdefgh0123456789", min_size=4, max_size=12).map(lambda text: f"zq{text}")
moments = st.integers(0, 40 * 365 * 24 * 60).map(
    lambda minutes: datetime(1990, 1, 1, tzinfo=UTC) + timedelta(minutes=minutes)
)


@st.composite
def told_in_own_words(draw: st.DrawFn) -> Session:
    """A screen in which every field that can hold somebody's own words does."""
    started = draw(moments)
    trial: dict[str, Any] = {
        "void": draw(st.just("") | own_words),
        "ended": draw(own_words),
        "note": draw(own_words),
        "correction": draw(own_words),
        "aid": draw(st.just("") | own_ids),
        "footwear": draw(own_ids),
        "trust": [draw(own_ids), "stall"],
        "recorded": started + timedelta(minutes=3),
    }
    stance = {"test": "stance", "side": "left", "value": 6.2, "signs": ["pelvis-drops"]}
    return Session.model_validate(
        {
            "id": draw(own_ids),
            "protocol": "small",
            "protocol_digest": draw(own_words),
            "started": started,
            "finished": draw(st.none() | st.just(started + timedelta(minutes=26))),
            "stopped": draw(st.just("") | own_words),
            "client": {"label": draw(labels), "age": draw(st.integers(5, 110))},
            "intake": {
                "goals": ["walking"],
                "side": "left",
                "note": draw(own_words),
                "history": {draw(own_ids): [draw(own_ids)]},
                "cleared": [
                    {
                        "caution": "clot",
                        "by": draw(own_words),
                        "when": draw(own_words),
                        "words": draw(own_words),
                    }
                ],
            },
            "trials": [
                {**stance, **trial},
                {**stance, **trial, "void": "", "cue": "pelvis-level", "value": 9.1},
            ],
            "under_way": {**stance, **trial},
            "set_up_said": {"footwear": trial["footwear"]},
            "skipped": [{"test": "floor-rise", "reason": draw(own_words)}],
            "plan": {
                "doses": {"side-lift": draw(own_words)},
                "own": [draw(own_words)],
                "next_visit": draw(own_words),
            },
            "follows": draw(own_ids),
            "addenda": [
                {
                    "written": started + timedelta(days=3),
                    "reason": draw(own_words),
                    "text": draw(own_words),
                },
                {
                    "written": started + timedelta(days=9),
                    "reason": draw(own_words),
                    "trial": 2,
                    **draw(st.sampled_from([{"value": 8.0}, {"struck_out": True}])),
                },
            ],
        }
    )


def view_of(session: Session, protocol: ScreenProtocol = PROTOCOL) -> Deidentified:
    return deidentified(session, WRITTEN, offered_words(protocol))


def note_of(session: Session, protocol: ScreenProtocol = PROTOCOL, **more: Any) -> str:
    view = view_of(session, protocol)
    assessment = view.assessed(protocol)
    return write_note(protocol, view.session, assessment, WRITTEN, head=view.head, **more)


@given(told_in_own_words())
def test_nobodys_own_words_label_id_or_date_get_into_the_note(session: Session) -> None:
    for ascii_only in (True, False):
        note = note_of(session, ascii_only=ascii_only, full=True)
        assert MARK.lower() not in note.lower()
        assert not re.search(r"\d{4}-\d\d|(?<!\d)\d\d?:\d\d|\d\d?[./]\d\d?[./]\d\d", note)
        assert f"; {session.started.year};" in note
    # Nor into what is said beside it.
    view = view_of(session)
    assert MARK.lower() not in " ".join((*view.removed, *view.kept)).lower()
    assert "the patient code" in view.removed


@given(told_in_own_words())
def test_the_session_to_write_from_holds_none_of_it_either(session: Session) -> None:
    kept = view_of(session).session
    assert MARK.lower() not in kept.model_dump_json().lower()
    for moment in (kept.started, kept.finished or kept.started):
        assert (moment.month, moment.day, moment.hour, moment.minute) == (1, 1, 0, 0)


DECIDED = {
    Session: "format id protocol protocol_digest started finished stopped synthetic follows client "
    "intake trials under_way set_up_said skipped plan addenda",
    Client: "label age sex height_cm mass_kg",
    Intake: "complaints side goals weight_bearing one_leg_confirmed recent_surgery_weeks "
    "surgery precautions cautions safety_asked cut_short cleared pain_now pain_worst history "
    "alone_at_home note",
    Cleared: "caution by when words",
    PlanEdit: "drop doses order own next_visit",
    Trial: "test side value raw_value splits signs sign_times sign_counts sign_legs watched "
    "repetitions corrected_from correction ended pain cue void direction steps passive_deg "
    "active_deg seat_cm step_cm riser_cm aid footwear trust note recorded",
    Skip: "test side reason",
    Addendum: "written reason text trial value struck_out",
}


@pytest.mark.parametrize("model", DECIDED, ids=lambda model: model.__name__)
def test_of_every_field_it_was_decided_whether_it_may_be_told(model: type[BaseModel]) -> None:
    """A new field fails here: `report/deidentify.py` and `told_in_own_words` must know it."""
    assert set(model.model_fields) == set(DECIDED[model].split())


@given(told_in_own_words())
def test_the_answer_is_the_same_as_that_of_the_full_session(session: Session) -> None:
    full, view = assess(PROTOCOL, session), view_of(session)
    less = assess(PROTOCOL, view.session, view.saved)
    assert (less.headline, less.drivers, less.results) == (
        full.headline,
        full.drivers,
        full.results,
    )
    planned = [[one.exercise for one in found.plan.start if one.exercise] for found in (full, less)]
    assert planned[0] == planned[1]
    assert [place[:2] for place in less.not_done] == [place[:2] for place in full.not_done]


def test_the_plan_is_that_of_the_day_whatever_was_corrected() -> None:
    session = note_session(
        addenda=[{"written": WRITTEN, "reason": "x", "trial": 1, "struck_out": True}]
    )
    as_saved = assess(PROTOCOL, note_session()).plan
    assert as_saved.start
    assert view_of(session).assessed(PROTOCOL).plan == as_saved


@given(told_in_own_words(), st.integers(90, 110), st.integers(90, 110))
def test_two_ages_over_89_cannot_be_told_apart(session: Session, one: int, other: int) -> None:
    first, second = (
        note_of(
            session.model_copy(update={"client": session.client.model_copy(update={"age": n})}),
            full=True,
        )
        for n in (one, other)
    )
    assert first == second
    assert "\n90+ years, " in first
    assert not re.search(r"\bage (9\d|1[01]\d)\b(?!\+)", first)


@pytest.mark.parametrize(("age", "told"), [(88, "88"), (89, "89"), (90, "90+"), (110, "90+")])
def test_exactly_89_is_still_told(age: int, told: str) -> None:
    note = note_of(note_session(client={"label": "K-014", "age": age, "sex": "female"}))
    assert f"\n{told} years, " in note


def test_the_engine_judges_by_the_true_age() -> None:
    stance = small.test_spec(
        "stance",
        measures=[small.measure()],
        lines=[small.line("value", "at least", 10.0, from_age=90, to_age=94)],
    )
    protocol = small.protocol(stance)
    trial = {"test": "stance", "side": "left", "value": 6.2}
    judged = note_of(small.session(trial, client={"age": 92}), protocol)
    assert "6.2, worse than 10.0 s" in judged
    old = small.session(trial, client={"age": 96})
    beyond = " ".join(note_of(old, protocol, full=True).split())
    assert "no published reference for age 90+" in beyond


def test_what_the_program_offers_stays() -> None:
    session = note_session(
        stopped="chest pain",
        trials=[
            {"test": "stance", "side": "left", "value": 3.0, "ended": "foot-down"},
            {"test": "stance", "side": "left", "value": 1.0, "void": "false start"},
        ],
        skipped=[{"test": "floor-rise", "reason": "not safe today"}],
    )
    note = " ".join(note_of(session, full=True).split())
    for words in (
        "TESTING STOPPED chest pain",
        "ended: foot down",
        "false start",
        "not safe today",
    ):
        assert words in note
    assert "own words, left out" not in note


def run(*arguments: object) -> int:
    return cli.main([str(argument) for argument in arguments])


def test_the_command_says_what_it_left_out_and_what_it_kept(
    tmp_path: Path, protocols: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert protocols.is_dir()
    session = note_session(
        client={"label": "K-014", "age": 93, "height_cm": 164.0, "mass_kg": 60.0},
        stopped="felt faint on the way to Elm Street",
    )
    file = write_session(session, tmp_path / "session.toml")
    assert run("note", file, "--deidentify", "-o", tmp_path / "out.txt") == 0
    out, err = capsys.readouterr()
    note = (tmp_path / "out.txt").read_text("ascii")
    assert out == ""
    assert "De-identified" in note
    for text in (note, err):
        for secret in (
            "K-014",
            "93 years",
            "age 93",
            "7f3a",
            "Elm Street",
            "talked to",
            "2026-03-02",
        ):
            assert secret not in text
    told = " ".join(err.split())
    assert "left out: the patient code, the session id, days and times (the year stays), " in told
    assert "the age, written as 90+, 1 note, 2 reasons in own words." in told
    assert "left in: sex, height, mass, " in told
    assert ", 164 cm, 60 kg" in note


def test_without_the_option_the_note_is_in_full(
    session_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("note", session_file) == 0
    out = capsys.readouterr().out
    assert "K-014, 67 years" in out
    assert "De-identified" not in out


@pytest.mark.parametrize("path", sorted(demo_folder().glob("*.toml")), ids=lambda path: path.stem)
def test_no_demo_is_told_by_its_label_id_or_notes(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    session = load_session(path)
    assert run("note", path, "--deidentify") == 0
    out, err = (" ".join(text.split()) for text in capsys.readouterr())
    typed = [session.intake.note, *(trial.note for trial in session.trials)]
    for words in (session.client.label, session.id, *filter(None, typed)):
        assert fold(words) not in out
        assert words not in err


@given(told_in_own_words())
def test_nobodys_own_words_label_id_or_day_get_into_an_export(session: Session) -> None:
    view = view_of(session)
    assessment = view.assessed(PROTOCOL)
    shown = view.to_show("session-1", "patient-1")
    assert shown.client.age == min(session.client.age, 90)
    for text in (
        write_bundle(PROTOCOL, shown, assessment),
        write_table(session_rows(PROTOCOL, shown, assessment)),
    ):
        assert MARK.lower() not in text.lower()
        days = set(re.findall(r"\d{4}-\d\d-\d\d", text))
        assert all(day.endswith("-01-01") for day in days)


def test_no_range_of_an_export_tells_an_age_over_89() -> None:
    protocol = load_protocol([protocols_folder()], DEFAULT_BATTERY)
    session = load_session(demo_folder() / "unsteady-at-home-88.toml")
    ages = {}
    for age in (88, 93):
        client = session.client.model_copy(update={"age": age})
        view = view_of(session.model_copy(update={"client": client}), protocol)
        ages[age] = '"age": {' in write_bundle(protocol, view.to_show(), view.assessed(protocol))
    assert ages == {88: True, 93: False}


@pytest.mark.parametrize("path", sorted(demo_folder().glob("*.toml")), ids=lambda path: path.stem)
def test_no_demo_is_told_by_its_bundle(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    session = load_session(path)
    assert run("export", path, "--fhir", "--deidentify") == 0
    out, err = capsys.readouterr()
    assert "left out: the patient code, the session id" in err
    typed = [session.intake.note, *(trial.note for trial in session.trials)]
    for words in (session.client.label, session.id, *filter(None, typed)):
        assert words not in out


def test_a_table_numbers_patients_and_sessions(
    tmp_path: Path, protocols: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert protocols.is_dir()
    (tmp_path / "folder").mkdir()
    for at, label in enumerate(("K-014", "K-015", "k-014")):
        made = note_session(id=f"s-{at}", client={"label": label, "age": 93})
        made = made.model_copy(update={"started": made.started + timedelta(days=at)})
        write_session(made, tmp_path / "folder" / f"s-{at}.toml")
    assert run("table", tmp_path / "folder", "--csv", "--deidentify") == 0
    out, err = capsys.readouterr()
    rows = list(csv.DictReader(io.StringIO(out)))
    seen = dict.fromkeys((row["session"], row["label"], row["age"]) for row in rows)
    assert list(seen) == [
        ("session-1", "patient-1", "90"),
        ("session-2", "patient-2", "90"),
        ("session-3", "patient-1", "90"),
    ]
    assert {row["started"][:10] for row in rows} == {"2026-01-01"}
    assert "K-01" not in out + err
