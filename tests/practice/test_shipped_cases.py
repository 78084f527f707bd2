"""The cases that come with the program, played by a perfect student and by a sloppy one."""

from __future__ import annotations

import pytest
from support.practice_case import PROTOCOL
from support.students import (
    LATE_S,
    perfect_commitment,
    perfect_session,
    sloppy_commitment,
    sloppy_session,
    thorough_interview,
)

from screen_tui.engine import assess
from screen_tui.files.places import practice_cases_folder
from screen_tui.practice.case import Case, Interview, true_intake
from screen_tui.practice.files import load_practice
from screen_tui.practice.scoring import program_answers, score
from screen_tui.practice.staging import chosen_in, true_session
from screen_tui.trial.battery import plan_battery

FOUND = load_practice([practice_cases_folder()], PROTOCOL)
CASES = [one for one in FOUND.patients if isinstance(one, Case)]
SEEDS = range(8)

every_case = pytest.mark.parametrize("case", CASES, ids=lambda case: case.id)


def test_there_are_at_least_ten_over_all_drivers_and_outcomes() -> None:
    assert not FOUND.problems
    assert len(CASES) >= 10
    named = {driver.driver for case in CASES for driver in case.truth.drivers}
    assert named == {driver.id for driver in PROTOCOL.drivers}
    answered = {case.truth.outcome for case in CASES}
    # What the author takes for likely, the engine may call possible; that case is among them.
    differing = {
        assess(PROTOCOL, perfect_session(case, PROTOCOL, 0)).outcome
        for case in CASES
        if case.truth.engine_differs
    }
    assert answered | differing == {
        "likely", "mixed", "possible", "undetermined", "nothing-found", "refer-first",
        "unloaded-only",
    }  # fmt: skip


def test_cases_differ_by_label_and_title() -> None:
    assert len({case.patient.label for case in CASES}) == len(CASES)
    assert len({case.title for case in CASES}) == len(CASES)


@every_case
def test_no_title_story_or_id_gives_the_answer_away(case: Case) -> None:
    told = f"{case.id.replace('-', ' ')} {case.title} {case.story}".lower()
    for named in case.truth.drivers:
        assert PROTOCOL.driver(named.driver).name.lower() not in told
    for caution in PROTOCOL.cautions:
        assert caution.name.lower() not in told


@every_case
def test_a_patient_answers_every_question_of_the_history(case: Case) -> None:
    answered = {said.question for said in case.said}
    assert {question.id for question in PROTOCOL.history} <= answered


@every_case
def test_a_case_shows_all_that_the_program_would_offer(case: Case) -> None:
    # What the case does not show is left out, with a reason.
    assert not true_session(case, PROTOCOL, 0).skipped


@every_case
@pytest.mark.parametrize("seed", SEEDS)
def test_the_engine_agrees_with_the_author_or_the_case_says_why_not(case: Case, seed: int) -> None:
    found = assess(PROTOCOL, perfect_session(case, PROTOCOL, seed))
    wanted, by_engine = case.truth, program_answers(found, PROTOCOL)
    if case.truth.engine_differs:
        assert found.outcome != case.truth.outcome
        assert by_engine.drivers == wanted.drivers
        return
    assert found.outcome == case.truth.outcome
    assert set(by_engine.drivers) == set(wanted.drivers)
    assert not found.remarks


@every_case
def test_a_perfect_student_is_scored_perfect(case: Case) -> None:
    session = perfect_session(case, PROTOCOL, 5)
    found = score(case, PROTOCOL, 5, session, perfect_commitment(case), thorough_interview(case))
    assert all(abs(pair.error) < 1e-6 for pair in found.pairs)
    assert all(pair.there == pair.marked for pair in found.signs)
    assert (found.ends, found.wrong_ticks, found.unasked) == ((), (), ())
    assert found.safety.safe
    assert (found.safety.missed, found.safety.raised_without_need) == ((), ())
    assert found.with_author.right
    assert found.with_author.next_test
    assert (found.with_author.start, found.with_author.leave_out) == (1, 1)
    assert found.engine_on_record == found.engine_on_case
    assert found.brier == pytest.approx(0.01)


@every_case
def test_a_sloppy_student_falls_in_everything(case: Case) -> None:
    session = sloppy_session(case, PROTOCOL, 5)
    found = score(case, PROTOCOL, 5, session, sloppy_commitment(case), Interview(case))
    limits = found.limits("s")
    if limits is not None:
        assert limits.bias >= LATE_S - 0.01
    counts = found.sign_counts
    assert counts.hits == 0
    assert counts.sensitivity in (None, 0)
    if session.trials and case.truth.outcome != "refer-first":
        assert counts.false_alarms > 0
        assert counts.kappa is not None
        assert counts.kappa <= 0
    assert not found.with_author.right
    assert found.brier == pytest.approx(0.81)
    details = any(said.only_when_asked for said in case.said)
    assert bool(found.unasked) == details
    if case.truth.outcome == "refer-first":
        assert found.safety.refer_missed
        assert found.safety.missed
        assert found.safety.unsafe
    if case.truth.outcome == "unloaded-only":
        assert "weight_bearing" in found.wrong_ticks


def test_who_must_be_referred_hides_it_until_asked() -> None:
    referred = [case for case in CASES if case.truth.outcome == "refer-first"]
    assert referred
    for case in referred:
        (raised,) = [said for said in case.said if said.truth is True]
        assert raised.only_when_asked


@every_case
def test_of_tests_that_overlap_the_case_is_asked_for_the_one_it_shows(case: Case) -> None:
    age, asked = case.patient.age, chosen_in(case, PROTOCOL)
    shown = {one.test for one in case.shown}
    chairs = {"five-chair-stands", "chair-stands-30s"}
    offered = {item.test for item in plan_battery(PROTOCOL, true_intake(case), age, asked)}
    assert offered & chairs <= shown
