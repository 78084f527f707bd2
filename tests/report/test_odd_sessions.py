"""Sessions nobody plans: each page and paper of them is right, short and says what is odd.

All trials void, one trial, two hundred trials, and a test set that this program does not have.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from support.every_session import judged, shipped_protocol
from support.many_trials import many_trials
from support.protocol_folder import write_session

from screen_tui.cli import main as cli
from screen_tui.engine.assess import assess
from screen_tui.engine.visits import history_of
from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_drawings
from screen_tui.report.answer import details_document
from screen_tui.report.explain import write_explanation
from screen_tui.report.fhir.bundle import screen_bundle
from screen_tui.report.machine import assessment_as_dict, changes_as_dict, history_as_dict
from screen_tui.report.note import MOST_LINES, write_note
from screen_tui.report.patient_sheet import write_patient_html, write_patient_sheet
from screen_tui.report.plan import plan_document
from screen_tui.report.table import session_rows, write_table
from screen_tui.report.visits import write_visits
from screen_tui.session.model import Session
from screen_tui.tui.drawing.document import draw_answer, draw_document
from screen_tui.tui.drawing.rows import plain, row_cells

PROTOCOL = shipped_protocol()
DRAWINGS = load_drawings([protocols_folder()])
WRITTEN = datetime(2026, 11, 1, tzinfo=UTC)
LINES_OF_A_PAGE, EXERCISES_ON_TWO_PAGES = 60, 6
"""In large type; a plan of more exercises than that takes a third page."""


def _usual() -> Session:
    return judged("runner-left-hip")[1]


def all_void() -> Session:
    usual = _usual()
    void = (trial.model_copy(update={"void": "wrong leg"}) for trial in usual.trials)
    return usual.model_copy(update={"trials": tuple(void)})


def one_trial() -> Session:
    usual = _usual()
    stance = next(one for one in usual.trials if one.test == "single-leg-stance")
    return usual.model_copy(update={"trials": (stance,)})


def two_hundred() -> Session:
    return many_trials("all tests", 200)


def another_set() -> Session:
    """A session of a test set this program does not have, with tests it does not know."""
    usual = _usual()
    old = (trial.model_copy(update={"test": f"old-{trial.test}"}) for trial in usual.trials)
    return usual.model_copy(update={"protocol": "of-another-clinic", "trials": tuple(old)})


ODD: dict[str, Callable[[], Session]] = {
    "all void": all_void,
    "one trial": one_trial,
    "two hundred trials": two_hundred,
    "another test set": another_set,
}
every_one = pytest.mark.parametrize("name", ODD)


def flat(text: str) -> str:
    return " ".join(text.split())


def papers(session: Session) -> dict[str, str]:
    """Every page and paper of a session as text."""
    one = PROTOCOL, session, assess(PROTOCOL, session)
    later = session.model_copy(
        update={"id": "later", "started": session.started + timedelta(weeks=6)}
    )
    visits = history_of(PROTOCOL, (session, later))
    bundle = screen_bundle(*one)
    return {
        "answer": plain(draw_answer(*one, 78, 21)),
        "details": plain(draw_document(PROTOCOL, details_document(*one), 78)),
        "plan": plain(draw_document(PROTOCOL, plan_document(*one), 78)),
        "note": write_note(*one, WRITTEN),
        "full": write_note(*one, WRITTEN, full=True),
        "explain": write_explanation(*one),
        "sheet": write_patient_sheet(*one),
        "html": write_patient_html(*one, DRAWINGS),
        "json": json.dumps(assessment_as_dict(*one), allow_nan=False),
        "csv": write_table(session_rows(*one)),
        "fhir": json.dumps(bundle, allow_nan=False),
        "change": json.dumps(changes_as_dict(PROTOCOL, session, later), allow_nan=False),
        "visits": write_visits(PROTOCOL, visits, WRITTEN),
        "visits json": json.dumps(history_as_dict(PROTOCOL, visits), allow_nan=False),
    }


@every_one
def test_every_page_and_paper_is_short(name: str) -> None:
    session = ODD[name]()
    assessment = assess(PROTOCOL, session)
    for width, height in ((58, 17), (78, 21), (118, 37)):
        rows = draw_answer(PROTOCOL, session, assessment, width, height)
        assert len(rows) <= height
        assert max(map(row_cells, rows)) <= width
    text = papers(session)
    assert text["note"].count("\n") <= MOST_LINES
    pages = 2 if len(assessment.plan.start) <= EXERCISES_ON_TWO_PAGES else 3
    assert text["sheet"].count("\n") <= pages * LINES_OF_A_PAGE
    assert text["plan"].count("\n") < 200
    assert text["details"].count("\n") < 400
    for name_of in ("note", "full", "explain", "visits"):
        assert max(map(len, text[name_of].split("\n"))) <= 78
    assert [name_of for name_of, made in text.items() if "None" in flat(made)] == []


@every_one
def test_every_page_and_paper_has_the_same_verdict(name: str) -> None:
    text = papers(ODD[name]())
    outcome = json.loads(text["json"])["outcome"]
    word = outcome.upper().replace("-", " ")
    for name_of in ("answer", "note", "full", "explain", "visits"):
        assert word in text[name_of]
    assert {row["outcome"] for row in rows_of(text)} == {outcome}
    assert f"outcome/{outcome}" in text["fhir"]


def rows_of(text: Mapping[str, str]) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text["csv"])))


def values_in(text: Mapping[str, str]) -> list[Any]:
    """The values of the tests in the bundle."""
    made = [entry["resource"] for entry in json.loads(text["fhir"])["entry"]]
    exams = [one for one in made if one.get("category", [{}])[0].get("text") == "Exam"]
    return [one["valueQuantity"]["value"] for one in exams if "valueQuantity" in one]


def test_void_trials_give_no_number_anywhere_and_their_reason_in_the_note() -> None:
    text = papers(all_void())
    data = json.loads(text["json"])
    assert (data["outcome"], data["results"], data["cue_effects"]) == ("undetermined", [], [])
    assert "Nothing was measured." in text["details"]
    assert "void (wrong leg)" in text["note"]
    assert text["full"].count("void (wrong leg):") == len(all_void().trials)
    assert {row["value"] for row in rows_of(text)} == {""}
    assert values_in(text) == []
    assert json.loads(text["change"])["changes"] == []
    assert "No measure has two numbers yet." in text["visits"]
    assert text["visits"].count("every trial void") == 2
    assert "No exercises for now" in text["html"]
    assert "1. " not in text["sheet"]


def test_one_trial_gives_its_own_number_alone() -> None:
    session = one_trial()
    text = papers(session)
    (trial,) = session.trials
    data = json.loads(text["json"])
    assert {(one["test"], one["side"]) for one in data["results"]} == {(trial.test, trial.side)}
    assert [one["value"] for one in data["results"]] == [trial.value]
    assert [row["value"] for row in rows_of(text) if row["value"]] == [str(trial.value)]
    assert trial.value in values_in(text)
    table = text["note"].split("O Test")[1].split("\n")
    assert table[1].split("  ")[1] == "Single-leg stance"
    assert "Not done" in table[2]
    assert "Trial 2" not in text["full"]
    (change,) = json.loads(text["change"])["changes"]
    assert (change["then"]["value"], change["now"]["value"]) == (trial.value, trial.value)


def test_of_two_hundred_trials_each_is_in_the_appendix_and_a_number_a_measure_elsewhere() -> None:
    session = two_hundred()
    text = papers(session)
    assert all(f"Trial {n}" in text["full"] for n in range(1, 201))
    data = json.loads(text["json"])
    places = [(one["test"], one["side"], one["measure"]) for one in data["results"]]
    assert len(places) == len(set(places)) > 20
    numbers = [row for row in rows_of(text) if row["measure"] and not row["cue"]]
    rows = [(row["test"], row["side"], row["measure"]) for row in numbers]
    assert rows == [(test, side or "both", measure) for test, side, measure in places]
    known = sum(one["value"] is not None for one in data["results"])
    assert known <= len(values_in(text))
    assert {one["verdict"] for one in json.loads(text["change"])["changes"]} <= {
        "within error",
        "not comparable",
        "no published error",
    }


def test_a_session_of_another_test_set_is_read_with_a_remark() -> None:
    text = papers(another_set())
    remark = "The session was made with the test set of-another-clinic"
    for name in ("details", "note", "full", "explain", "json", "fhir"):
        assert remark in flat(text[name]), name
    data = json.loads(text["json"])
    assert (data["outcome"], data["results"]) == ("undetermined", [])
    assert "old knee extension" in text["note"]
    assert "the test is not in this protocol" in flat(text["full"])
    assert {row["value"] for row in rows_of(text)} == {""}
    assert json.loads(text["change"])["changes"] == []


@pytest.mark.parametrize(
    "command", [["assess"], ["note"], ["sheet"], ["explain"], ["export", "--fhir"]]
)
def test_a_file_of_a_test_set_that_is_not_there_is_refused_with_what_to_do(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], command: list[str]
) -> None:
    file = write_session(another_set(), tmp_path / "x.toml")
    assert cli.main([command[0], str(file), *command[1:]]) in (3, 4)
    out, err = capsys.readouterr()
    assert out == ""
    assert "of-another-clinic" in err
    assert "mistake of its own" not in err


def test_a_note_says_that_results_were_cut_where_they_were_and_nowhere_else() -> None:
    session = two_hundred()
    asked = PROTOCOL, session, assess(PROTOCOL, session), WRITTEN
    shortened = "Shortened: the full note holds all results and addenda."
    assert write_note(*asked).endswith(f"{shortened}\n")
    assert shortened not in write_note(*asked, width=58)
    assert shortened not in write_note(*asked, full=True)
