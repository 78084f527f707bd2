"""Practice as it is drawn: the patient beside questions and number, the answers, the scores."""

from __future__ import annotations

from dataclasses import replace

import pytest
from support.practice_case import PROTOCOL
from support.students import (
    perfect_commitment,
    perfect_session,
    sloppy_commitment,
    sloppy_session,
    thorough_interview,
)
from support.trial_hands import TrialHands

from screen_tui.files.places import practice_cases_folder
from screen_tui.practice.case import Case, Interview, Shown
from screen_tui.practice.files import load_practice
from screen_tui.practice.player import at
from screen_tui.practice.score_report import answers_document, scores_document
from screen_tui.practice.scoring import Commitment, Score, score
from screen_tui.practice.staging import Scene, timeline_of
from screen_tui.protocol.tests import TestSpec
from screen_tui.timing.kinds.measure import Measure
from screen_tui.tui.drawing.document import draw_document
from screen_tui.tui.drawing.practice_run import draw_interview, draw_practice_test, seen_of
from screen_tui.tui.drawing.rows import Row, plain, row_cells
from screen_tui.tui.practising import form_of_case

WIDTH, HEIGHT = 58, 16
"""Of the body of a window of 60 columns and 20 rows, with two rows of keys and a notice."""

SHIPPED = load_practice([practice_cases_folder()], PROTOCOL).patients
CASES = [one for one in SHIPPED if isinstance(one, Case)]
SHOWN = [(case, shown) for case in CASES for shown in case.shown]


def one_line(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.id)
def test_all_a_patient_says_is_below_the_whole_question(case: Case) -> None:
    form = form_of_case(PROTOCOL, case)
    for question in form.questions:
        if question.id in ("note", "ready") or not question.asked(form.answers):
            continue
        interview = Interview(case)
        while interview.may_know_more(question.id):
            interview = interview.ask(question.id)
            heard = interview.heard(question.id)
            page = replace(form, at=question.id).page()
            rows = draw_interview(page, heard, WIDTH, HEIGHT, None, lambda _: ())
            text = one_line(plain(rows))
            assert len(rows) <= HEIGHT
            for wanted in (question.text, *heard, *(label for _, label in question.options)):
                assert one_line(wanted) in text, (question.id, wanted)


@pytest.mark.parametrize(
    ("case", "shown"), SHOWN, ids=[f"{case.id}-{n}" for n, (case, _) in enumerate(SHOWN)]
)
def test_all_that_can_be_seen_is_named_whole_beside_the_number(case: Case, shown: Shown) -> None:
    spec = PROTOCOL.test(shown.test)
    scene = Scene(shown.test, shown.side, shown.cue, shown.direction)
    timeline = timeline_of(case, PROTOCOL, scene, 0, seed=1)
    view = TrialHands.at(spec, shown.side, PROTOCOL.signs, (), shown.cue).view(0.0)
    fields = spec.timer.fields if isinstance(spec.timer, Measure) else ()
    wanted: set[str] = set()
    told: set[str] = set()
    for tenths in range(-40, round(timeline.over_s * 10) + 20, 10):
        frame = at(timeline, tenths / 10)
        for place in ("front", "side"):
            patient = seen_of(
                frame, place, WIDTH, labels={one.id: one.label for one in fields}, pain=None
            )
            rows = draw_practice_test(view, patient, WIDTH, HEIGHT)
            assert len(rows) <= HEIGHT
            assert max(map(row_cells, rows)) <= WIDTH
            text = one_line("\n".join(line[: WIDTH - 14] for line in plain(rows).split("\n")))
            wanted |= set(patient.texts)
            told |= {one for one in patient.texts if one in text}
            assert all(_drawn(line, rows) for line in patient.picture)
            assert all(sign.label in plain(rows) for sign in view.signs)
    assert wanted == told


@pytest.mark.parametrize("size", [(78, 20), (58, 16), (118, 36)])
@pytest.mark.parametrize("spec", PROTOCOL.tests, ids=lambda spec: spec.id)
def test_what_is_read_before_the_start_is_whole_or_left_out(
    spec: TestSpec, size: tuple[int, int]
) -> None:
    width, height = size
    view = TrialHands.at(spec, "left" if spec.sided else None, PROTOCOL.signs, ()).view(0.0)
    assert view.before is not None
    patient = seen_of(None, "front", width, labels={}, pain=None)
    text = one_line(plain(draw_practice_test(view, patient, width, height)))
    for label, whole in (("Say", view.before.say), ("Safety", view.before.safety)):
        assert f"{label}: " not in text or one_line(f"{label}: {whole}") in text


def _drawn(line: str, rows: list[Row]) -> bool:
    return any(span.text == line for drawn in rows for span in drawn)


CASES = {one.id: one for one in SHIPPED if isinstance(one, Case)}
every_case = pytest.mark.parametrize("case", CASES.values(), ids=list(CASES))
WIDTH = 500
"""So wide that nothing is wrapped."""


def run_of(case: Case, *, sloppy: bool) -> tuple[Commitment, Score]:
    """What a student commits to, and how that scores."""
    session = (sloppy_session if sloppy else perfect_session)(case, PROTOCOL, 2)
    commitment = (sloppy_commitment if sloppy else perfect_commitment)(case)
    interview = Interview(case) if sloppy else thorough_interview(case)
    return commitment, score(case, PROTOCOL, 2, session, commitment, interview)


def scores_of(case: Case, given: Commitment, found: Score) -> str:
    document = scores_document(PROTOCOL, case, given, found, "words")
    return plain(draw_document(PROTOCOL, document, WIDTH))


def scores(case: Case, *, sloppy: bool) -> str:
    return scores_of(case, *run_of(case, sloppy=sloppy))


def answers(case: Case, *, sloppy: bool) -> str:
    document = answers_document(PROTOCOL, case, *run_of(case, sloppy=sloppy))
    return plain(draw_document(PROTOCOL, document, WIDTH))


@every_case
def test_who_errs_in_nothing_reads_of_no_error(case: Case) -> None:
    text = scores(case, sloppy=False)
    assert "UNSAFE" not in text
    assert "not ticked" not in text
    assert "without need" not in text
    assert "Ticked otherwise than meant: none." in text
    assert "Left unasked, with more behind it: nothing." in text
    assert "Missed: none." in text
    assert ("Referred first, as had to be." in text) == (case.truth.outcome == "refer-first")
    assert "Your answer: As the author's." in answers(case, sloppy=False)


@every_case
@pytest.mark.parametrize("sloppy", [False, True])
def test_nothing_is_an_empty_heading_or_steers_the_terminal(case: Case, sloppy: bool) -> None:
    for text in (scores(case, sloppy=sloppy), answers(case, sloppy=sloppy)):
        assert all(line.isprintable() for line in text.splitlines())
        assert not any(line.rstrip().endswith("-") for line in text.splitlines())


def test_a_missed_referral_is_first_and_says_what_was_left_unasked() -> None:
    text = scores(CASES["back-from-far-away"], sloppy=True)
    assert text.splitlines()[1] == "MISSED: this person had to be referred first."
    assert "- Safety question not ticked: Deep vein thrombosis." in text
    assert "- UNSAFE: Quad set, left was begun." in text
    assert "- Deep vein thrombosis: “Well, yes, that calf is thicker." in text


def test_load_that_the_leg_may_not_bear_is_unsafe_though_no_test_was_begun() -> None:
    case = CASES["four-weeks-on-crutches"]
    commitment, found = run_of(case, sloppy=False)
    loaded = replace(found, safety=replace(found.safety, more_load=True))
    text = scores_of(case, commitment, loaded)
    assert "- UNSAFE: more load was ticked than this leg may bear." in text
    assert "UNSAFE" not in scores_of(case, commitment, found)


def test_a_caution_that_was_none_is_named() -> None:
    case = CASES["hill-runner"]
    commitment, found = run_of(case, sloppy=False)
    careful = replace(found, safety=replace(found.safety, raised_without_need=("clot",)))
    text = scores_of(case, commitment, careful)
    assert "- Ticked without need: Deep vein thrombosis." in text


def test_figures_come_with_their_limits() -> None:
    text = scores(CASES["hill-runner"], sloppy=True)
    assert "Missed: pelvic drop (Single-leg stance, left); " in text
    assert "Brier score 0.81" in text
    assert "Kappa -0.11" in text


def test_a_trial_that_ended_for_another_reason_is_named() -> None:
    commitment, found = run_of(CASES["hill-runner"], sloppy=False)
    stance = Scene("single-leg-stance", "left")
    ended = replace(found, ends=((stance, "foot-down", "pain"), (stance, "foot-down", "")))
    text = scores_of(CASES["hill-runner"], commitment, ended)
    assert "Why it ended: Single-leg stance, left, pain; true foot down." in text
    assert "Why it ended: Single-leg stance, left, no reason; true foot down." in text
    assert "Why it ended" not in scores_of(CASES["hill-runner"], commitment, found)


def test_where_author_and_program_differ_the_reason_is_named() -> None:
    case = CASES["armchair-short-visit"]
    assert case.truth.engine_differs in answers(case, sloppy=False)


def test_drivers_are_named_with_their_sides() -> None:
    text = answers(CASES["dancer-on-landing"], sloppy=False)
    assert "Hip control, right or Foot and ankle control, right" in text
