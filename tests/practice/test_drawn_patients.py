"""Patients drawn from the network: the same for a seed, believable, and to be solved."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from statistics import fmean

import pytest
from support.clinician import HOW_SOON, Clinician
from support.practice_case import PROTOCOL
from support.students import (
    perfect_commitment,
    perfect_session,
    sloppy_commitment,
    sloppy_session,
    thorough_interview,
)
from support.thorough import examples

from screen_tui.engine.assess import assess
from screen_tui.engine.observe import contradiction
from screen_tui.files.toml import parse_toml
from screen_tui.practice.case import Case, Interview, Shown, true_intake
from screen_tui.practice.case_check import mismatches
from screen_tui.practice.drawn import (
    AFTER_SURGERY,
    DIFFICULTIES,
    REFERRAL,
    Difficulty,
    drawn_case,
    driver_of,
)
from screen_tui.practice.drawn_words import ALARMS
from screen_tui.practice.files import case_in, case_text
from screen_tui.practice.scoring import Commitment, agreement, program_answers, score
from screen_tui.practice.staging import Scene, timeline_of, true_session, true_trial
from screen_tui.session.model import Trial

DRIVERS = [driver.id for driver in PROTOCOL.drivers]
EASY_SEEDS = range(max(6, examples(20)))
"""Twenty of each driver in `.ci/run`; a hundred with SCREEN_TUI_FUZZ=100 take six minutes."""
OTHER_SEEDS = range(len(EASY_SEEDS) // 5 + 1)
FOUND_IN = 0.85
"""In how many easy patients a student without any error finds the driver."""

every_driver = pytest.mark.parametrize("driver", DRIVERS)
every_difficulty = pytest.mark.parametrize("difficulty", DIFFICULTIES)


@cache
def patient(driver: str, difficulty: Difficulty, seed: int) -> Case:
    return drawn_case(PROTOCOL, difficulty, seed, driver)


def patients(driver: str) -> list[Case]:
    easy = [patient(driver, "easy", seed) for seed in EASY_SEEDS]
    rest = [patient(driver, how, s) for how in DIFFICULTIES[1:] for s in OTHER_SEEDS]
    return [*easy, *rest]


@every_difficulty
def test_the_same_seed_gives_the_same_patient(difficulty: Difficulty) -> None:
    one = patient("balance", difficulty, 7)
    assert drawn_case(PROTOCOL, difficulty, 7, "balance") == one
    assert patient("balance", difficulty, 8) != one


def test_a_driver_that_is_not_named_follows_from_the_seed_and_all_come_up() -> None:
    hidden = drawn_case(PROTOCOL, "easy", 3)
    assert hidden == drawn_case(PROTOCOL, "easy", 3)
    (named,) = {one.driver for one in hidden.truth.drivers}
    assert hidden == drawn_case(PROTOCOL, "easy", 3, named)
    kinds = [driver_of(PROTOCOL, "easy", seed) for seed in range(400)]
    assert set(kinds) == {*DRIVERS, REFERRAL}
    assert 0.08 <= kinds.count(REFERRAL) / len(kinds) <= 0.18


def test_a_sign_looks_as_the_protocol_says_and_one_that_looks_like_nothing_is_not_drawn() -> None:
    own = {"pelvis-drops": ("It tips.", ""), "trunk-leans": ("", "")}
    signs = [
        one.model_copy(update=dict(zip(("from_front", "from_side"), own[one.id], strict=True)))
        if one.id in own
        else one
        for one in PROTOCOL.signs
    ]
    protocol = PROTOCOL.model_copy(update={"signs": tuple(signs)})
    drawn = [drawn_case(protocol, "easy", seed, "hip-control") for seed in range(4)]
    seen = [sight for case in drawn for one in case.shown for sight in one.signs]
    assert {one.from_front for one in seen if one.sign == "pelvis-drops"} == {"It tips."}
    assert "trunk-leans" not in {one.sign for one in seen}
    was = patient("hip-control", "easy", 0)
    assert "trunk-leans" in {sight.sign for one in was.shown for sight in one.signs}


def test_an_unknown_driver_is_refused() -> None:
    with pytest.raises(KeyError):
        drawn_case(PROTOCOL, "easy", 1, "no-such-driver")


@every_driver
def test_patients_check_clean_and_are_read_back_from_their_files(driver: str) -> None:
    for case in patients(driver):
        assert not list(mismatches(case, PROTOCOL))
        path = Path(f"{case.id}.toml")
        assert case_in(parse_toml(case_text(case).encode(), path), PROTOCOL) == case


@every_driver
def test_nothing_a_student_reads_before_names_the_driver(driver: str) -> None:
    for case in patients(driver):
        told = f"{case.id} {case.title} {case.story}".lower()
        assert driver not in told
        assert PROTOCOL.driver(driver).name.lower() not in told


# Seconds, repetitions and degrees between which a patient's numbers must lie, from the quickest
# adults to the slowest in the samples that the tests' own files name (the ends from memory).
def _other_test(one: Shown) -> bool:
    """Broken off, or done with the hands, which counts none of the half minute's stands."""
    stopped = one.ended not in ("", "cap", "foot-down", "stance-foot-moved")
    return stopped or "hands-used" in signs_of(one)


REACH = {
    "tandem-stance": (1, 10),
    "single-leg-stance": (0.5, 45),
    "walk-4m": (2.0, 12),
    "timed-up-and-go": (5, 26),
    "five-chair-stands": (5, 33),
    "chair-stands-30s": (1, 25),
    "stair-steps": (2.5, 20),
    "floor-rise": (2.5, 20),
}


@every_driver
def test_times_are_possible_and_within_what_people_take(driver: str) -> None:
    for case in patients(driver):
        for one in case.shown:
            spec = PROTOCOL.test(one.test)
            scene = Scene(one.test, one.side, one.cue, one.direction)
            timeline = timeline_of(case, PROTOCOL, scene, 0, 11)
            assert timeline is not None
            trial = true_trial(spec, timeline)
            assert not contradiction(spec, trial), (case.id, scene)
            if one.test in REACH and trial.value is not None and not _other_test(one):
                low, high = REACH[one.test]
                assert low <= trial.value <= high, (case.id, scene, trial.value)


@every_driver
def test_a_hold_with_a_cue_that_helps_is_no_shorter(driver: str) -> None:
    for case in patients(driver):
        plain = {(one.test, one.side): one for one in case.shown if not one.cue}
        for cued in (one for one in case.shown if one.cue):
            before = plain[cued.test, cued.side]
            assert {s.sign for s in cued.signs} <= {s.sign for s in before.signs}
            assert (cued.pain or 0) <= (before.pain or 0)


@every_driver
def test_what_a_patient_says_does_not_contradict_itself(driver: str) -> None:
    for case in patients(driver):
        intake = true_intake(case)
        history = {question: set(answers) for question, answers in intake.history.items()}
        assert set(history) == {question.id for question in PROTOCOL.history}
        assert ("giving-way" in intake.complaints) == (history["giving-way"] != {"none"})
        assert ("stiffness" in intake.complaints) == (history["morning-stiffness"] != {"none"})
        assert "within-6-h" not in history["swelling"]
        assert "two-or-more" not in history["falls"]
        assert all(answers == {"none"} or "none" not in answers for answers in history.values())
        if history["onset"] == {"more-load"}:
            assert history["load-change"] == {"up"}
        if "running" in history["worse-with"]:
            assert history["activity"] == {"running-or-jumping"}
        if history["activity"] == {"running-or-jumping"}:
            assert case.patient.age <= 60
            assert history["falls"] == {"none"}
        if "weeks ago" in case.story:
            assert history["load-change"] == {"down"}
            assert history["activity"] != {"running-or-jumping"}
            assert intake.recent_surgery_weeks is not None
        if any(name in case.truth.reasons[0] for name in ("Balance", "Deconditioning")):
            assert case.patient.age >= 55
            assert history["activity"] != {"running-or-jumping"}
        assert intake.goals
        assert intake.pain_now is not None
        assert intake.pain_worst is not None
        assert intake.pain_now < intake.pain_worst <= 7
        assert not intake.cautions
        sides = {named.side for named in case.truth.drivers} - {None}
        assert sides <= {intake.side}


def signs_of(one: Shown) -> set[str]:
    return {sighting.sign for sighting in one.signs}


@every_driver
def test_signs_that_exclude_each_other_are_not_shown_together(driver: str) -> None:
    for case in patients(driver):
        for one in case.shown:
            assert not {"pelvis-drops", "hip-hikes"} <= signs_of(one)
            assert not {"knee-moves-in", "knee-past-foot"} <= signs_of(one)
            assert not {"no-contraction", "extension-lag"} <= signs_of(one)


@every_driver
def test_a_patient_shows_all_that_can_be_asked_for(driver: str) -> None:
    for case in patients(driver)[:4]:
        assert not true_session(case, PROTOCOL, 0).skipped
        assert {one.test for one in case.shown} == {item.test for item in PROTOCOL.battery.items}


@every_driver
def test_a_student_without_errors_finds_the_driver_of_easy_patients(driver: str) -> None:
    found = 0
    for seed in EASY_SEEDS:
        case = patient(driver, "easy", seed)
        assert [named.driver for named in case.truth.drivers] == [driver]
        # Another run than the one the patient was drawn by: every time differs a little.
        answer = program_answers(
            assess(PROTOCOL, perfect_session(case, PROTOCOL, 1000 + seed)), PROTOCOL
        )
        committed = Commitment(
            answer=answer.answer,
            drivers=answer.drivers[:2] if answer.answer == "driver" else (),
            confidence=4,
        )
        found += agreement(committed, case.truth).right
    assert found >= FOUND_IN * len(EASY_SEEDS)


def test_a_clinician_with_plain_rules_finds_the_driver_of_easy_patients() -> None:
    """Its rules know nothing of the rows, so that nobody only finds what they put in themselves.

    Of a hundred of each driver (seeds 0 to 99) it found 90 with a weak thigh, 96 hip, 99 foot, 97
    extension, 91 strategy, 82 deconditioning and 100 balance, in all 94 in 100; its rules had been
    set on seeds 500 to 529.
    """
    found = {
        driver: fmean(
            agreement(
                Clinician(perfect_session(case, PROTOCOL, 1000 + seed)).decides(),
                case.truth,
            ).right
            for seed in EASY_SEEDS
            for case in [patient(driver, "easy", seed)]
        )
        for driver in DRIVERS
    }
    assert fmean(found.values()) >= FOUND_IN, found
    assert min(found.values()) >= 0.6, found


# ------------------------------------------------------------------ who must be referred

every_alarm = pytest.mark.parametrize("seed", range(20))


@every_alarm
def test_who_must_be_referred_first_is_believable_and_found_by_plain_rules(seed: int) -> None:
    how = DIFFICULTIES[seed % 3]
    case = patient(REFERRAL, how, seed)
    assert not list(mismatches(case, PROTOCOL))
    assert (case.truth.outcome, case.truth.drivers) == ("refer-first", ())
    (alarm,) = true_intake(case).cautions
    yes = next(said for said in case.said if said.question == alarm)
    assert bool(yes.only_when_asked) == (how != "easy")
    name = PROTOCOL.caution(yes.question).name.lower()
    assert name not in f"{case.title} {case.story} {yes.says} {yes.only_when_asked}".lower()
    intake = true_intake(case)
    assert {question.id for question in PROTOCOL.history} == set(intake.history)
    assert intake.history["activity"] != ("running-or-jumping",)
    session = perfect_session(case, PROTOCOL, seed)
    assert not session.trials
    given = Clinician(session).decides()
    found = score(case, PROTOCOL, seed, session, given, thorough_interview(case))
    assert found.with_author.right
    assert found.safety.soon_enough
    assert found.safety.safe


def test_every_alarm_comes_up_and_its_words_are_of_a_question_there_is() -> None:
    drawn = [patient(REFERRAL, DIFFICULTIES[seed % 3], seed) for seed in range(40)]
    raised = {alarm for case in drawn for alarm in true_intake(case).cautions}
    assert raised == set(ALARMS) == set(HOW_SOON)
    assert raised <= {one.id for one in PROTOCOL.cautions}
    assert {PROTOCOL.caution(one).urgency for one in raised} == {"now", "today", "days"}
    assert all(PROTOCOL.caution(one).urgency == soon for one, soon in HOW_SOON.items())


def test_a_student_who_tests_somebody_to_be_referred_is_scored_unsafe() -> None:
    case = patient(REFERRAL, "hard", 2)
    session, given = sloppy_session(case, PROTOCOL, 5), sloppy_commitment(case)
    found = score(case, PROTOCOL, 5, session, given, Interview(case))
    assert found.safety.refer_missed
    assert found.safety.unsafe


# ------------------------------------------------------------------ after surgery


def operated() -> list[Case]:
    easy = [patient(driver, "easy", seed) for driver in AFTER_SURGERY for seed in range(12)]
    cases = [*easy, patient("quad-weakness", "hard", 2)]
    return [case for case in cases if true_intake(case).surgery is not None]


def test_some_come_after_surgery_and_say_so_in_the_story() -> None:
    cases = operated()
    assert cases
    for case in cases:
        intake = true_intake(case)
        assert f"{intake.recent_surgery_weeks} weeks ago" in case.story
        assert not list(mismatches(case, PROTOCOL))
        low, high = {"replacement": (58, 82), "ligament": (18, 42)}[str(intake.surgery)]
        assert low <= (case.patient.age or 0) <= high
        frail = any(name in case.truth.reasons[0] for name in ("Balance", "Deconditioning"))
        assert not frail or low >= 55


def test_early_after_surgery_no_test_on_one_leg_is_offered_and_one_begun_is_unsafe() -> None:
    early = [case for case in operated() if "Not on that leg" in str(case.said)]
    assert early
    for case in early:
        session = perfect_session(case, PROTOCOL, 3)
        loads = {PROTOCOL.test(trial.test).load for trial in session.trials}
        assert loads
        assert not loads & {"one-leg", "floor"}
        reckless = session.with_trial(Trial(test="step-down", side=session.intake.side))
        found = score(case, PROTOCOL, 3, reckless, perfect_commitment(case), Interview(case))
        assert [one.test for one in found.safety.unsafe] == ["step-down"]


@every_driver
def test_a_perfect_student_is_scored_perfect(driver: str) -> None:
    case = patient(driver, "easy", 0)
    session = perfect_session(case, PROTOCOL, 5)
    found = score(case, PROTOCOL, 5, session, perfect_commitment(case), thorough_interview(case))
    assert found.with_author.right
    assert found.safety.safe
    assert (found.wrong_ticks, found.unasked) == ((), ())


def test_what_is_hard_has_a_second_driver_and_hides_some_answers() -> None:
    hard = [patient(driver, "hard", seed) for driver in DRIVERS for seed in OTHER_SEEDS]
    assert all("and" in case.truth.reasons[0] for case in hard)
    hiding = [any(said.only_when_asked for said in case.said) for case in hard]
    assert sum(hiding) > len(hiding) * 0.9
    easy = [patient(driver, "easy", 0) for driver in DRIVERS]
    assert not any(said.only_when_asked for case in easy for said in case.said)
